//! What a logger wrote down, among what was read by hand.

use std::fmt::Write as _;
use std::sync::Arc;

use barm_reckoning::{Batch, Fault, Logged, LoggerFile, Loggers, RowFault, Season, Settings};

use crate::source;

fn file(columns: &[&str]) -> LoggerFile {
    let columns = columns.iter().map(|column| Arc::from(*column)).collect();
    LoggerFile { log: "a.barm".into(), name: "tank.csv".into(), columns }
}

fn read(text: &str, columns: &[&str]) -> Logged {
    file(columns).read(text.as_bytes()).unwrap_or_else(|why| panic!("{why}"))
}

fn temperatures(logged: &Logged) -> Vec<(String, f64)> {
    logged
        .temperatures
        .iter()
        .map(|(at, value)| (at.to_string(), (value * 1000.0).round() / 1000.0))
        .collect()
}

/// A brew with the lines of `log` below its wort, and `csv` for the file that they name.
fn brewed(log: &str, csv: &str) -> Season {
    let text = format!(
        "culture p\n  kind ale\n  range 17..20 °C\n  pack 2 × 100 B\n  made 2026-08-20\n\n\
         brew b\n  wort 20 L at 1.048\n{log}"
    );
    let sources = vec![source("a.barm", &text)];
    let mut loggers = Loggers::default();
    for file in sources.iter().flat_map(|source| LoggerFile::of_log(&source.path, &source.log)) {
        let logged = file.read(csv.as_bytes()).map(Arc::new);
        loggers.insert(file, logged);
    }
    assert!(!loggers.is_empty());
    Season::reckon_with(sources, loggers, Settings::default())
}

fn brew(season: &Season) -> &Batch {
    crate::brew(season, "b")
}

#[test]
fn what_parts_the_cells_and_the_decimals() {
    let wanted = [("2026-09-12 14:00".to_owned(), 18.2), ("2026-09-12 16:00".to_owned(), 18.5)];
    for text in [
        "time,temp/°C\n2026-09-12 14:00,18.2\n2026-09-12 16:00,18.5\n",
        "time;temp/°C\n2026-09-12 14:00;18,2\n2026-09-12 16:00;18.5\n",
        "time\ttemp (°C)\n2026-09-12T14:00\t18,2\n2026-09-12T16:00:00\t18,5\n",
        "\u{FEFF}\"Time\",\"Battery, V\",\"Temp [C]\"\r\n\"2026-09-12 14:00\",3.1,\"18.2\"\r\n\r\n2026-09-12 16:00,3.1,18.5",
        "# exported by a box on the wall\nTemp (°F);time\n64,76;2026-09-12 14:00\n65,3;2026-09-12 16:00\n",
    ] {
        let logged = read(text, &[]);
        assert_eq!(temperatures(&logged), wanted, "{text}");
        assert!(logged.problems.is_empty(), "{text}: {:?}", logged.problems);
        assert_eq!(logged.rows, 2, "{text}");
    }
    // The degree sign of an older logger is one byte.
    let latin = b"time;temp/\xB0C\n2026-09-12 14:00;18,2\n2026-09-12 16:00;18,5\n";
    assert_eq!(temperatures(&file(&[]).read(&latin[..]).unwrap()), wanted);
}

#[test]
fn columns_as_the_log_states_them() {
    let with_heading = "when,fridge,beer,sg\n2026-09-12 14:00,4,18.2,1.048\n2026-09-12 16:00,4,18.5,1.046\n";
    let without = with_heading.split_once('\n').unwrap().1;
    for text in [with_heading, without] {
        let logged = read(text, &["time", "-", "temp/°C", "gravity"]);
        assert_eq!(temperatures(&logged).len(), 2);
        assert_eq!((logged.rows, logged.gravities.len(), logged.problems.len()), (2, 1, 0));
        assert!((logged.gravities[0].1 - 1.047).abs() < 1e-9);
    }
    let strong = read("2026-09-12 14:00;60,5\n2026-09-12 15:00;12,0\n", &["time", "gravity/°P"]);
    assert_eq!((strong.problems[0].what, strong.problems[0].line), (RowFault::Impossible, 1));
    assert!((strong.gravities[0].1 - 1.0484).abs() < 0.0005, "{strong:?}");
}

#[test]
fn files_that_cannot_be_read_say_why() {
    let why = |text: &str, columns: &[&str]| file(columns).read(text.as_bytes()).unwrap_err();
    for (text, columns, said) in [
        ("when,temp/°C\n2026-09-12 14:00,18\n", &[][..], "its heading has no `time`"),
        ("time,battery\n2026-09-12 14:00,18\n", &[], "no `temp`, `gravity`"),
        ("time,temp\n2026-09-12 14:00,18\n", &[], "`temp` needs its unit"),
        ("2026-09-12 14:00,18\n", &["temp/°C", "-"], "`columns` has no `time`"),
        ("2026-09-12T14:00Z,18\n", &["time", "temp/°C"], "its times carry a zone (`2026-09-12T14:00Z`)"),
        ("2026-09-12T14:00+02:00,18\n", &["time", "temp/°C"], "`columns time/+02:00 …`"),
        ("PK\u{3}\u{4}\0\0", &["time", "temp/°C"], "it is no text"),
    ] {
        assert!(why(text, columns).contains(said), "{text}: {}", why(text, columns));
    }
    for nothing in ["", "time;temp/°C\n"] {
        let empty = read(nothing, &[]);
        assert_eq!((empty.rows, empty.problems[0].what), (0, RowFault::Nothing), "{nothing}");
    }
}

#[test]
fn a_zone_is_reckoned_with_where_the_brewhouse_states_its_own() {
    let logged = read("2026-09-12T22:30:00Z,18\n2026-09-12T23:30:00Z,19\n", &["time/+02:00", "temp/°C"]);
    let times: Vec<String> = temperatures(&logged).into_iter().map(|(at, _)| at).collect();
    assert_eq!(times, ["2026-09-13 00:30", "2026-09-13 01:30"]);
}

#[test]
fn rows_that_cannot_be_used_are_counted_and_the_first_is_shown() {
    let text = "time;temp/°C\n\
        2026-09-12 14:00;18,2\n\
        2026-09-12 14:00;18,3\n\
        2026-09-12 13:00;18,2\n\
        12.09.2026 15:00;18,2\n\
        2026-09-12 15:00\n\
        2026-09-12 16:00;n/a\n\
        2026-09-12 17:00;180\n\
        2026-09-12 18:00;-127\n\
        2026-09-12 19:00;\n\
        2026-09-14 20:00;18,4\n";
    let logged = read(text, &[]);
    let problems: Vec<(RowFault, u64, u64)> =
        logged.problems.iter().map(|p| (p.what, p.count, p.line)).collect();
    assert_eq!(
        problems,
        [
            (RowFault::TooShort, 1, 6),
            (RowFault::Time, 1, 5),
            (RowFault::Repeated, 1, 3),
            (RowFault::RunsBack, 1, 4),
            (RowFault::NotANumber, 1, 7),
            (RowFault::Impossible, 2, 8),
            (RowFault::Gap, 1, 11),
        ]
    );
    assert_eq!(logged.problems[5].text, "2026-09-12 17:00;180");
    assert_eq!(temperatures(&logged).len(), 2);
    let flood = format!("time,temp/°C\n2026-09-12 14:00,{}\n", "9".repeat(1 << 20));
    let logged = read(&flood, &[]);
    assert_eq!((logged.problems[0].what, logged.problems[0].count), (RowFault::TooLong, 1));
    assert!(logged.problems[0].text.chars().count() <= 81);
    // A row that was sent twice, all alike, is one row.
    let logged = read("time,temp/°C\n2026-09-12 14:00,18\n2026-09-12 14:00,18\n2026-09-12 15:00,19\n", &[]);
    assert_eq!((logged.problems.len(), temperatures(&logged).len()), (0, 2));
    // A quote that is never closed ends with its line.
    let logged = read("time,temp/°C\n2026-09-12 14:00,\"18\n2026-09-12 15:00,19\n", &[]);
    assert_eq!(temperatures(&logged).len(), 2);
}

#[test]
fn a_reading_by_hand_wins() {
    let season = brewed(
        "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p, temp 18 °C\n  on 2026-09-12 14:00  temp 21 °C\n",
        "time,temp/°C\n2026-09-12 13:00,18.0\n2026-09-12 13:40,18.3\n2026-09-12 14:20,18.4\n2026-09-12 15:00,18.0\n",
    );
    let read: Vec<(String, f64)> =
        brew(&season).temperatures.iter().map(|(at, t, _)| (at.to_string(), *t)).collect();
    let wanted = [(12, 18.0), (13, 18.0), (14, 21.0), (15, 18.0)];
    assert_eq!(read, wanted.map(|(hour, t)| (format!("2026-09-12 {hour}:00"), t)));
    assert!(season.faults.is_empty(), "{:?}", season.faults);
    // What the logger read stands at the file's name.
    let places: Vec<&str> =
        brew(&season).temperatures.iter().map(|(.., place)| season.text(*place)).collect();
    assert_eq!(places[1], "\"tank.csv\"");
}

#[test]
fn a_logger_that_reads_on_when_the_beer_is_gone_reads_no_beer() {
    let rows = "time,gravity,temp/°C\n2026-09-12 14:00,1.048,18\n2026-09-20 14:00,1.012,18\n2026-09-22 14:00,1.012,18\n\
                2026-09-24 15:00,1.001,40\n2026-09-25 14:00,1.060,20\n";
    let read = |packaged: &str| {
        let log = "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n  on 2026-09-24 10:00  ";
        let season = brewed(&format!("{log}{packaged}\n"), rows);
        (brew(&season).gravities.len(), brew(&season).temperatures.len())
    };
    for all in ["bottle", "keg all", "bottle 18 L", "keg 10 L, bottle 16 × 500 mL"] {
        assert_eq!(read(all), (3, 3), "{all}");
    }
    // The rest of it is still there.
    for some in ["keg 10 L", "note tasted", "rack"] {
        assert_eq!(read(some), (5, 5), "{some}");
    }
}

#[test]
fn a_logger_that_leaps_is_no_slow_start_and_no_well_kept_day() {
    let season = brewed(
        "  readings \"tank.csv\"\n  on 2026-09-12 14:00  pitch p\n",
        "time,gravity,temp/°C\n2026-09-12 13:00,1.0483,18\n2026-09-13 03:00,1.0453,18\n2026-09-13 15:00,1.0561,18\n\
         2026-09-14 15:00,1.0264,18\n",
    );
    let brew = brew(&season);
    assert!(brew.fermentation.as_ref().unwrap().idle.iter().all(|idle| idle.hours < 24.0));
    assert!(!brew.record.day_kept);
}

#[test]
fn a_row_with_more_cells_than_columns_is_left_out() {
    let comma = "time,gravity\n2026-09-12 14:00,1,020\n2026-09-13 14:00,1.018\n2026-09-14 14:00,1.016,\n";
    for (text, columns) in [
        (comma, &[][..]),
        (comma, &["time", "gravity"]),
        (comma.split_once('\n').unwrap().1, &["time", "gravity"]),
    ] {
        let logged = read(text, columns);
        let told: Vec<(RowFault, u64)> = logged.problems.iter().map(|told| (told.what, told.count)).collect();
        assert_eq!(told, [(RowFault::TooWide, 1)], "{text} {columns:?}");
        assert_eq!(logged.gravities.len(), 2, "{:?}", logged.gravities);
    }
    // What the heading names and the log does not use is no fault.
    let more = read("time,gravity,battery\n2026-09-12 14:00,1.020,3.1\n", &["time", "gravity"]);
    assert!(more.problems.is_empty() && more.gravities.len() == 1, "{more:?}");
}

#[test]
fn a_gravity_by_hand_stands_for_the_half_day_that_a_logger_averages() {
    let season = brewed(
        "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n  on 2026-09-20 10:00  gravity 1.020\n",
        "time,gravity\n2026-09-18 09:00,1.012\n2026-09-19 09:00,1.012\n2026-09-20 11:00,1.012\n",
    );
    let read: Vec<f64> = brew(&season).gravities.iter().map(|read| read.gravity.as_specific()).collect();
    assert_eq!(read, [1.012, 1.012, 1.020]);
}

#[test]
fn no_beer_is_so_hot_as_a_loose_probe_or_the_other_scale() {
    let reckoned = |csv: &str| {
        let season = brewed("  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n", csv);
        let told = season.faults.iter().find_map(|fault| match fault {
            Fault::NoBeer { written, likely, .. } => {
                Some((written.to_string(), likely.map(|likely| likely.to_string())))
            }
            _ => None,
        });
        (told, brew(&season).temperatures.iter().map(|(_, celsius, _)| *celsius).collect::<Vec<_>>())
    };
    let loose = "time,temp/°C\n2026-09-13 09:00,19\n2026-09-13 09:10,70\n2026-09-13 09:20,19\n";
    assert_eq!(reckoned(loose), (Some(("70 °C".to_owned(), None)), vec![19.0, 19.0]));
    for (csv, written, likely) in [
        ("time,temp/°C\n2026-09-12 11:00,68\n2026-09-13 09:00,68\n2026-09-13 09:20,68\n", "68 °C", "68 °F"),
        ("time,temp/°F\n2026-09-12 11:00,20\n2026-09-13 09:00,20\n2026-09-13 09:20,20\n", "20 °F", "20 °C"),
    ] {
        let (told, celsius) = reckoned(csv);
        assert_eq!(told, Some((written.to_owned(), Some(likely.to_owned()))));
        assert!(celsius.iter().all(|celsius| (celsius - 20.0).abs() < 0.01), "{celsius:?}");
    }
    // Before the yeast it is wort that cools; what ferments warm, and what is chilled, is beer.
    for sound in [
        "time,temp/°C\n2026-09-12 11:00,80\n2026-09-12 11:40,25\n2026-09-13 09:00,40\n",
        "time,temp/°F\n2026-09-13 09:00,68\n2026-09-20 09:00,30\n",
    ] {
        assert_eq!(reckoned(sound).0, None, "{sound}");
    }
}

#[test]
fn the_pressure_that_a_logger_read_is_gas_in_the_beer() {
    let gas = |csv: &str, lines: &str| {
        let season = brewed(
            &format!(
                "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n  on 2026-09-20 10:00  temp 20 °C\n{lines}    15:00 bottle 19 L\n"
            ),
            &format!("time,pressure/bar\n{csv}"),
        );
        let (gas, _) = brew(&season).packages[0].carbonation();
        gas.as_volumes()
    };
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 0.01, "{found}, not {wanted}");
    let [open, pressed] =
        ["", "    12:00 pressure 2 bar\n"].map(|lines| gas("2026-09-12 13:00,0.02\n", lines));
    assert!(pressed > 2.4 && open < 0.9, "{pressed} {open}");
    near(gas("2026-09-20 12:00,2.0\n", ""), pressed);
    // What was let off to fill the bottles has not left the beer, and what was read later is not in them.
    near(gas("2026-09-20 12:00,2.0\n2026-09-20 14:50,0\n2026-09-20 16:00,3.0\n", ""), pressed);
    // A reading by hand stands against what the logger read beside it.
    near(gas("2026-09-20 12:10,1.0\n", "    12:00 pressure 2 bar\n"), pressed);
}

/// The same warm day read by hand every two hours and by a logger every second.
#[test]
fn degree_hours_come_out_as_by_hand() {
    let warmth = |hours: f64| 19.0 + 3.0 * (-((hours - 30.0) / 12.0).powi(2)).exp();
    let (mut by_hand, mut csv) = (String::new(), String::from("time,temp/°C\n"));
    for second in 0..72 * 3600 {
        let (day, second_of_day) = (12 + second / 86_400, second % 86_400);
        let (hour, minute) = (second_of_day / 3600, second_of_day / 60 % 60);
        let t = warmth(f64::from(second) / 3600.0);
        writeln!(csv, "2026-09-{day} {hour:02}:{minute:02}:{:02},{t:.3}", second % 60).unwrap();
        if second % 1800 == 0 {
            writeln!(by_hand, "  on 2026-09-{day} {hour:02}:{minute:02}  temp {t:.3} °C").unwrap();
        }
    }
    let pitch = "  on 2026-09-12 00:00  pitch p\n";
    let logged = brewed(&format!("  readings \"tank.csv\"\n{pitch}"), &csv);
    let hand = brewed(&format!("{pitch}{by_hand}  readings \"tank.csv\"\n"), "time,temp/°C\n");
    let area = |season: &Season| brew(season).temperature.as_ref().unwrap().warm[0].early;
    assert!(
        area(&hand) > 20.0 && (area(&logged) / area(&hand) - 1.0).abs() < 0.05,
        "{} {}",
        area(&logged),
        area(&hand)
    );
    assert!(brew(&logged).temperatures.len() < 400, "{}", brew(&logged).temperatures.len());
}

#[test]
fn a_floating_hydrometer_shows_the_fall() {
    let mut csv = String::from("time,gravity\n");
    for quarter in 0..10 * 96 {
        let hours = f64::from(quarter) / 4.0;
        // Down from 1.048 to 1.012 by a logistic around 40 h, jumping by two points either way.
        let jump = if quarter % 2 == 0 { 0.002 } else { -0.002 };
        let gravity = 1.048 - 0.036 / (1.0 + (-(hours - 40.0) / 10.0).exp()) + jump;
        let (day, hour, minute) = (12 + quarter / 96, quarter / 4 % 24, quarter % 4 * 15);
        writeln!(csv, "2026-09-{day} {hour:02}:{minute:02},{gravity:.4}").unwrap();
    }
    let season = brewed("  readings \"tank.csv\"\n  on 2026-09-12 00:00  pitch p\n", &csv);
    let gravities: Vec<f64> = brew(&season).gravities.iter().map(|g| g.gravity.as_specific()).collect();
    assert_eq!(gravities.len(), 20);
    assert!(gravities.windows(2).all(|pair| pair[1] <= pair[0] + 1e-4), "{gravities:?}");
    assert!((gravities[19] - 1.012).abs() < 0.0005, "{gravities:?}");
    let half = brew(&season).temperature.as_ref().unwrap().half_gone;
    let hours = half.0.hours_since(brew(&season).pitched_at().unwrap());
    assert!(half.1 && (34.0..46.0).contains(&hours), "{hours}");
}

/// What a logger read shows that it works, as what was read by hand does, and hides nothing of that.
#[test]
fn work_begins_by_either_reading() {
    let by_hand = |line: &str| format!("  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n{line}");
    let began = |log: &str, csv: &str| {
        let season = brewed(log, csv);
        let began = brew(&season).fermentation.as_ref().unwrap().began;
        began.map(|(at, _)| at.hours_since(brew(&season).pitched_at().unwrap()))
    };
    let none = "  on 2026-09-15 06:00  krausen none\n";
    assert_eq!(began(&by_hand(none), "time,gravity\n2026-09-13 10:00,1.042\n"), Some(22.0));
    let fallen = "  on 2026-09-13 12:00  gravity 1.040\n";
    assert_eq!(began(&by_hand(fallen), "time,gravity\n2026-09-12 13:00,1.048\n"), Some(24.0));
}

/// One that hangs askew shows work by what it falls from where it began.
#[test]
fn a_logger_that_reads_high_is_compared_with_itself() {
    let began = |first: &str| {
        let csv = format!("time,gravity\n{first}2026-09-13 13:00,1.046\n2026-09-14 13:00,1.033\n");
        let season = brewed("  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n", &csv);
        let found = brew(&season).fermentation.as_ref().unwrap();
        (found.began.unwrap().0.hours_since(brew(&season).pitched_at().unwrap()), found.idle.len())
    };
    assert_eq!(began("2026-09-12 13:00,1.052\n"), (25.0, 0));
    assert_eq!(began("2026-09-12 13:00,1.048\n"), (49.0, 2));
    // It was put in when the beer may have worked for long.
    assert_eq!(began("2026-09-13 12:00,1.052\n").0, 49.0);
}

#[test]
fn a_million_rows_are_kept_as_a_few_thousand() {
    let mut csv = String::with_capacity(26 << 20);
    csv.push_str("time,temp/°C\n");
    for row in 0..1_000_000_u32 {
        let (minute, second) = (row / 20, row % 20 * 3);
        let (day, of_day) = (1 + minute / 1440, minute % 1440);
        let month = 2 + day / 28;
        let t = 18.0 + f64::from(row % 97) * 0.001 + (f64::from(minute) / 300.0).sin();
        let (day, hour) = (1 + day % 28, of_day / 60);
        writeln!(csv, "2026-{month:02}-{day:02} {hour:02}:{:02}:{second:02},{t:.2}", of_day % 60).unwrap();
    }
    let logged = read(&csv, &[]);
    assert_eq!((logged.rows, logged.problems.len()), (1_000_000, 0));
    assert!((100..4_000).contains(&logged.temperatures.len()), "{}", logged.temperatures.len());
}

#[test]
fn the_bank_of_a_day_knows_no_later_reading() {
    let season = brewed(
        "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n",
        "time,gravity\n2026-09-15 12:00,1.012\n2026-09-17 12:00,1.012\n2026-09-20 12:00,1.012\n",
    );
    let names = |day| {
        let bank = season.bank(Some(jiff::civil::date(2026, 9, day)), None).unwrap();
        bank.lots.into_iter().map(|lot| lot.name).collect::<Vec<_>>()
    };
    assert!(names(16).is_empty());
    assert_eq!(names(17), ["b"]);
}

#[test]
fn what_is_wrong_with_a_file_is_told_at_its_name() {
    let season = brewed(
        "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n",
        "time,temp/°C\n2026-09-12 13:00,abc\n2026-09-12 13:10,18\n",
    );
    match season.faults.as_slice() {
        [Fault::BadRows { place, file, rows }] => {
            assert_eq!((season.text(*place), file.as_str()), ("\"tank.csv\"", "tank.csv"));
            assert_eq!((rows.what, rows.count, rows.line), (RowFault::NotANumber, 1, 2));
        }
        other => panic!("{other:?}"),
    }
    let season = brewed("  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n", "temp/°C\n18\n");
    assert!(matches!(season.faults.as_slice(), [Fault::Unread { .. }]), "{:?}", season.faults);
}

/// Whatever stands in a file: it is read to its end, what is kept is in order, and every row is accounted for.
#[test]
fn nonsense_is_read_to_its_end() {
    // xorshift: the same bytes everywhere.
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut next = |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        usize::try_from(state >> 33).unwrap() % below
    };
    let good = b"time;temp/\xC2\xB0C;gravity\n2026-09-12 14:00;18,2;1,048\n2026-09-12 15:00;18,4;\n\"2026-09-13T15:00\";18;1.04\n";
    let pieces: [&[u8]; 12] = [
        b"\n",
        b";",
        b",",
        b"\"",
        b"\t",
        b"9",
        b"-",
        b"\xFF",
        b"2026-09-14 10:00",
        b"e308",
        b"\r\n",
        b"time",
    ];
    for _ in 0..3_000 {
        let mut text = good.to_vec();
        for _ in 0..=next(8) {
            let at = next(text.len());
            let piece = pieces[next(pieces.len())];
            let until = (at + next(3)).min(text.len());
            text.splice(at..until, piece.iter().copied());
        }
        for columns in [&[][..], &["time", "temp/°C", "gravity/°P"], &["-", "time/Z", "temp/F"]] {
            let Ok(logged) = file(columns).read(&text[..]) else { continue };
            for kept in [&logged.temperatures, &logged.gravities] {
                assert!(
                    kept.windows(2).all(|pair| pair[0].0 < pair[1].0),
                    "{}",
                    String::from_utf8_lossy(&text)
                );
                assert!(kept.iter().all(|(_, value)| value.is_finite()));
            }
            let bad: u64 = logged.problems.iter().filter(|p| p.what != RowFault::Gap).map(|p| p.count).sum();
            assert!(bad <= logged.rows, "{bad} of {} rows", logged.rows);
        }
    }
}

#[test]
fn the_air_and_the_pressure_of_a_logger_count_as_if_read() {
    let season = brewed(
        "  range 17..20 °C\n  kind ale\n  readings \"tank.csv\"\n  on 2026-09-12 12:00  temp 18 °C, pitch p\n  on 2026-09-13 12:00  ambient 17 °C\n",
        "time;ambient/°C;pressure/psi;ph\n2026-09-12 13:00;24;0;5.2\n2026-09-13 12:10;30;0;4.6\n2026-09-14 12:00;24;14.5;4.4\n",
    );
    let batch = brew(&season);
    let air: Vec<f64> = batch.air.iter().map(|(_, celsius, _)| *celsius).collect();
    assert_eq!(air, [24.0, 17.0, 24.0], "a reading by hand wins");
    let peak = batch.heat.peak.as_deref().unwrap();
    assert_eq!(peak.air, barm_reckoning::Air::Read);
    let put_on = batch.fermentation.as_ref().unwrap().pressure.unwrap();
    assert_eq!(season.text(put_on), "\"tank.csv\"");
    let open = brewed(
        "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n",
        "time;pressure/bar\n2026-09-12 13:00;0.02\n",
    );
    assert!(brew(&open).fermentation.as_ref().unwrap().pressure.is_none());
}

/// What is read when all of the beer is packaged tells nothing of it, neither a wrong row nor a hot one.
#[test]
fn rows_behind_the_packaging_are_not_judged() {
    let told = |packaged: &str, rows: &str| {
        let log = format!(
            "  readings \"tank.csv\"\n  on 2026-09-12 12:00  pitch p\n  on 2026-09-24 10:00  {packaged}\n"
        );
        let csv =
            format!("time,temp/°C,gravity\n2026-09-12 14:00,18,1.048\n2026-09-24 09:00,18,1.012\n{rows}");
        brewed(&log, &csv).faults.len()
    };
    for row in
        ["2026-09-24 15:00,75,1.001\n", "2026-09-24 15:00,-127,1.012\n", "2026-09-24 15:00,18,1.4121\n"]
    {
        // The gap before the last of the beer is one of the beer.
        assert_eq!((told("bottle", row), told("note tasted", row)), (1, 2), "{row}");
    }
}
