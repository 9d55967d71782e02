//! How fast logs are read: `cargo bench -p barm-syntax`, or with a case and its size in MB as arguments
//! (`-- spaces 2`) one reading of it, for a profiler.

#![allow(clippy::print_stdout, clippy::disallowed_methods, reason = "a bench reads the clock and prints")]

use std::hint::black_box;
use std::time::Instant;

const SEASON: &str = include_str!("season.barm");

/// So many bytes, at least, of one case.
fn case(name: &str, bytes: usize) -> String {
    let line = |part: &str| format!("brew a\n  on 2026-01-01\n  {}\n", part.repeat(bytes / part.len()));
    let lines = |part: &str| format!("brew a\n  on 2026-01-01\n{}", part.repeat(bytes / part.len()));
    match name {
        "ordinary" => (0..)
            .map(|n| SEASON.replace("NR", &n.to_string()))
            .scan(0, |size, text| {
                let fits = *size < bytes;
                *size += text.len();
                fits.then_some(text)
            })
            .collect(),
        // One line far beyond the limit.
        "spaces" => line(" "),
        "commas" => line(", "),
        "quotes" => line("\""),
        "digits" => line("1"),
        // Lines within it, full of what makes readers go back and forth.
        "space-lines" => lines(&format!("  temp 18{}x\n", " ".repeat(60_000))),
        "comma-lines" => lines(&format!("  {}\n", "temp 18, ".repeat(7_000))),
        "join-lines" => lines(&format!("  {}\n", "count 1, 2 live, ".repeat(3_500))),
        "word-lines" => lines(&format!("  add 5 g {}\n", "at temp ".repeat(7_500))),
        "quote-lines" => lines(&format!("  {}\n", "\"# ".repeat(20_000))),
        "digit-lines" => lines(&format!("  temp {}\n", "1-".repeat(30_000))),
        "nonsense" => lines("xq zzzz, tmep 18, gravity 1,048\n"),
        "headers" => "brew\n".repeat(bytes / 5),
        "conflicts" => "<<<<<<<\nbrew a\n".repeat(bytes / 15),
        "returns" => "temp 18 °C\r".repeat(bytes / 12),
        _ => String::new(),
    }
}

const CASES: [&str; 16] = [
    "ordinary",
    "spaces",
    "commas",
    "quotes",
    "digits",
    "space-lines",
    "comma-lines",
    "join-lines",
    "word-lines",
    "quote-lines",
    "digit-lines",
    "nonsense",
    "headers",
    "conflicts",
    "returns",
    "none",
];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|argument| argument != "--bench").collect();
    if let [name, megabytes] = arguments.as_slice() {
        let text = case(name, megabytes.parse::<usize>().unwrap_or(1) * 1_000_000);
        black_box(barm_syntax::read(&text));
        return;
    }
    for name in CASES {
        let text = case(name, 10_000_000);
        let start = Instant::now();
        let log = black_box(barm_syntax::read(&text));
        let seconds = start.elapsed().as_secs_f64();
        let megabytes = text.len() as f64 / 1e6;
        let problems = log.problems.len() as u64 + u64::from(log.problems_left_out);
        println!("{name:12} {:7.1} MB/s, {problems} problems", megabytes / seconds);
    }
}
