//! How long each step took.

use std::io::{self, Write as _};
use std::time::{Duration, Instant};

/// A stopwatch that names its laps.
pub(crate) struct Timings {
    begun: Instant,
    lap: Instant,
    laps: Vec<(&'static str, Duration)>,
    logs: usize,
    bytes: usize,
}

impl Timings {
    /// Starts.
    pub(crate) fn new() -> Self {
        let now = Instant::now();
        Self { begun: now, lap: now, laps: Vec::new(), logs: 0, bytes: 0 }
    }

    /// The step `name` has just ended; a step that comes again adds up.
    pub(crate) fn lap(&mut self, name: &'static str) {
        let took = self.lap.elapsed();
        self.lap = Instant::now();
        match self.laps.iter_mut().find(|(known, _)| *known == name) {
            Some((_, sum)) => *sum += took,
            None => self.laps.push((name, took)),
        }
    }

    /// So much was read.
    pub(crate) fn read(&mut self, logs: usize, bytes: usize) {
        self.logs += logs;
        self.bytes += bytes;
    }

    /// Says it on standard error.
    pub(crate) fn tell(&self) -> io::Result<()> {
        let total = self.begun.elapsed();
        #[expect(clippy::cast_precision_loss, reason = "counts far below 2^52")]
        let (logs, megabytes) = (self.logs as f64, self.bytes as f64 / 1e6);
        let mut out = io::stderr().lock();
        writeln!(out, "{} logs, {megabytes:.1} MB", self.logs)?;
        for (name, took) in &self.laps {
            writeln!(out, "{name:>8} {:>9.1} ms", took.as_secs_f64() * 1e3)?;
        }
        let seconds = total.as_secs_f64().max(1e-9);
        let (logs, megabytes) = (logs / seconds, megabytes / seconds);
        writeln!(out, "{:>8} {:>9.1} ms  {logs:.0} logs/s, {megabytes:.1} MB/s", "all", seconds * 1e3)
    }
}
