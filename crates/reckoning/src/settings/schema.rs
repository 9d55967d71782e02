//! The keys as a JSON schema for editors, and as a `barm.toml` that says what it holds.

use std::fmt::Write as _;

use barm_quantity::{Dimension, Unit};
use serde_json::{Map, Value, json};

use super::keys::{Form, KEYS, Key, Names};
use super::read::{MOST_LOST, daily};
use super::{KnownRules, range};

/// The schema of a `barm.toml`.
pub(super) fn schema(rules: KnownRules<'_>) -> Value {
    let mut out = Map::new();
    out.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
    out.insert("title".to_owned(), json!("barm.toml"));
    out.insert("description".to_owned(), json!("What is true of a brewhouse and not of one log."));
    out.extend(table(&[], rules));
    Value::Object(out)
}

/// The schema of a table and those within it.
fn table(path: &[&str], rules: KnownRules<'_>) -> Map<String, Value> {
    let mut properties = Map::new();
    for key in KEYS.iter().filter(|key| key.path.starts_with(path)) {
        match key.path.get(path.len()..) {
            Some(["*"]) => {
                let known = if key.names() == Some(Names::Rules) { rules.all } else { rules.limited };
                properties.extend(known.iter().map(|rule| {
                    let mut value = value(key);
                    if let (Some(most), Some(value)) = (key.most(rule, Some(rules)), value.as_object_mut()) {
                        value.insert("maximum".to_owned(), json!(most));
                    }
                    ((*rule).to_owned(), value)
                }));
            }
            Some([own]) => {
                properties.insert((*own).to_owned(), value(key));
            }
            Some([inner, ..]) if !properties.contains_key(*inner) => {
                let path = key.path.get(..=path.len()).unwrap_or_default();
                properties.insert((*inner).to_owned(), Value::Object(table(path, rules)));
            }
            _ => {}
        }
    }
    let table = [
        ("type", json!("object")),
        ("properties", Value::Object(properties)),
        ("additionalProperties", json!(false)),
    ];
    table.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

fn value(key: &Key) -> Value {
    let shown = if key.holds() { key.default } else { key.example() };
    let example: Value = toml::from_str::<Map<String, Value>>(&format!("value = {shown}"))
        .ok()
        .and_then(|mut table| table.remove("value"))
        .unwrap_or_default();
    let mut out = match &key.form {
        Form::Word { words, .. } => json!({ "enum": words }),
        Form::Quantity { dimension: Dimension::Number, limits: (low, high), .. } => {
            let units = [Spelt { spellings: vec![String::new()], low: *low, high: *high }];
            let mut out = json!({ "type": ["string", "number"], "minimum": low, "maximum": high });
            add(&mut out, text(&units));
            out
        }
        Form::Quantity { dimension, distance, limits, .. } => {
            let mut out = json!({ "type": "string" });
            add(&mut out, text(&spelt(*dimension, *distance, *limits)));
            out
        }
        Form::Loss { .. } => {
            let mut units = spelt(Dimension::LossRate, false, (0.0, MOST_LOST));
            let spellings = vec![in_any_case("%/day")];
            units.push(Spelt { spellings, low: 0.0, high: 100.0 * daily(MOST_LOST) });
            let mut out = json!({ "type": "string" });
            add(&mut out, text(&units));
            out
        }
        Form::Number { limits: (low, high), .. } => {
            json!({ "type": "number", "minimum": low, "maximum": high })
        }
    };
    if let Some(out) = out.as_object_mut() {
        out.insert("description".to_owned(), json!(key.says));
        if key.holds() {
            out.insert("default".to_owned(), example);
        } else {
            out.insert("examples".to_owned(), json!([example]));
        }
    }
    out
}

/// A unit as it may be spelt, and what a number of it may be.
struct Spelt {
    spellings: Vec<String>,
    low: f64,
    high: f64,
}

/// The units of a dimension, in any of their spellings and any letter case; limits are in base units.
fn spelt(dimension: Dimension, distance: bool, (low, high): (f64, f64)) -> Vec<Spelt> {
    let units = Unit::ALL.iter().filter(|unit| unit.dimension() == dimension);
    units
        .map(|unit| {
            let from = |base| if distance { unit.distance_from_base(base) } else { unit.from_base(base) };
            let spellings = unit.spellings().iter().map(|spelling| as_read(*unit, spelling)).collect();
            Spelt { spellings, low: from(low), high: from(high) }
        })
        .collect()
}

/// A text that is a number with one of some units, and in its range.
fn text(units: &[Spelt]) -> Value {
    let choices: Vec<Value> = units
        .iter()
        .map(|unit| {
            let spelt = unit.spellings.join("|");
            let patterns = range::patterns(unit.low, unit.high).into_iter();
            let patterns = patterns.map(|number| format!("^\\s*{number}\\s*({spelt})\\s*$"));
            let all = patterns.chain(["[0-9]".to_owned()]).map(|pattern| json!({ "pattern": pattern }));
            json!({ "allOf": all.collect::<Vec<Value>>() })
        })
        .collect();
    json!({ "anyOf": choices })
}

fn add(out: &mut Value, more: Value) {
    if let (Some(out), Value::Object(more)) = (out.as_object_mut(), more) {
        out.extend(more);
    }
}

/// In any letter case, unless it is another unit in another: `M` is no metre.
fn as_read(unit: Unit, spelling: &str) -> String {
    let cases = [spelling.to_ascii_uppercase(), spelling.to_ascii_lowercase()];
    let same = cases.iter().all(|case| Unit::read(case) == Some(unit));
    if same { in_any_case(spelling) } else { spelling.to_owned() }
}

fn in_any_case(spelling: &str) -> String {
    let mut out = String::new();
    for c in spelling.chars() {
        if c.is_ascii_alphabetic() {
            let _ = write!(out, "[{}{}]", c.to_ascii_uppercase(), c.to_ascii_lowercase());
        } else {
            out.push(c);
        }
    }
    out
}

/// Every key with what holds without it, as a `barm.toml` would say it.
pub(super) fn explained() -> String {
    let mut out = String::from("# What holds unless a barm.toml says otherwise.\n\n");
    let mut last: &[&str] = &[];
    for key in KEYS {
        let Some((own, tables)) = key.path.split_last() else { continue };
        if tables != last {
            let _ = write!(out, "\n[{}]\n", tables.join("."));
            last = tables;
        }
        let _ = writeln!(out, "# {}", key.says);
        let _ = match *own {
            "*" => writeln!(out, "# {}", key.default),
            own if key.holds() => writeln!(out, "{own} = {}", key.default),
            own => writeln!(out, "# {own} = {}", key.default),
        };
    }
    out
}

#[cfg(test)]
mod tests {
    use barm_quantity::plain;

    use super::*;
    use crate::Settings;

    const RULES: KnownRules<'_> =
        KnownRules { all: &["underpitched"], limited: &["underpitched"], shares: &[] };

    /// Each limit of a key: a value just within and one just beyond, as TOML has them.
    fn at_limits(key: &Key) -> Vec<(String, String)> {
        let near = |limit: f64, out: f64, unit: &str| {
            let step = |part: f64| plain(limit + out * (limit.abs() * part).max(part * 1e-3), 12);
            let written = |number: String| match unit {
                "" => number,
                unit => format!("\"{number} {unit}\""),
            };
            (written(plain(limit - out * limit.abs() * 1e-6, 12)), written(step(1e-4)))
        };
        let both = |(low, high): (f64, f64), unit: &str| [near(low, -1.0, unit), near(high, 1.0, unit)];
        let units = |dimension| Unit::ALL.iter().filter(move |unit| unit.dimension() == dimension);
        let quoted =
            |(within, beyond): (String, String)| [within, beyond].map(|number| format!("\"{number}\""));
        match &key.form {
            Form::Word { .. } => Vec::new(),
            Form::Number { limits, .. } => both(*limits, "").to_vec(),
            Form::Quantity { dimension: Dimension::Number, limits, .. } => {
                let texts = both(*limits, "").map(quoted).map(|[within, beyond]| (within, beyond));
                both(*limits, "").into_iter().chain(texts).collect()
            }
            Form::Quantity { dimension, distance, limits: (low, high), .. } => units(*dimension)
                .flat_map(|unit| {
                    let from =
                        |base| if *distance { unit.distance_from_base(base) } else { unit.from_base(base) };
                    both((from(*low), from(*high)), unit.symbol())
                })
                .collect(),
            Form::Loss { .. } => {
                let month = both((0.0, 100.0 * MOST_LOST), "%/month");
                month.into_iter().chain(both((0.0, 100.0 * daily(MOST_LOST)), "%/day")).collect()
            }
        }
    }

    #[test]
    fn program_and_schema_draw_each_limit_at_the_same_place() {
        let validator = jsonschema::validator_for(&schema(RULES)).unwrap();
        let mut limits = 0;
        for key in KEYS {
            let path = key.path.join(".").replace('*', "underpitched");
            for (within, beyond) in at_limits(key) {
                limits += 1;
                for (value, good) in [(within, true), (beyond, false)] {
                    let text = format!("{path} = {value}\n");
                    let read = Settings::read_knowing(&text, RULES);
                    assert_eq!(read.is_ok(), good, "{text}{read:?}");
                    let document: Value = toml::from_str(&text).unwrap();
                    assert_eq!(validator.is_valid(&document), good, "{text}");
                }
            }
        }
        assert!(limits > 50, "{limits}");
    }

    #[test]
    fn a_number_may_be_written_in_every_way_that_is_read() {
        let validator = jsonschema::validator_for(&schema(RULES)).unwrap();
        for (value, good) in [
            ("0340 m", true),
            ("340.50m", true),
            (" .5 m ", true),
            ("340 M", false),
            ("-499.9 m", true),
            ("6000.000 m", true),
            ("6000.001 m", false),
            ("5999.999 m", true),
            ("60000 m", false),
            ("m", false),
            (". m", false),
            ("1.2.3 m", false),
            ("340", false),
            ("5000 ft", true),
            ("5000 FT", true),
            ("20000 ft", false),
        ] {
            let document = json!({ "elevation": value });
            assert_eq!(validator.is_valid(&document), good, "{value}");
            let text = format!("elevation = \"{value}\"\n");
            assert_eq!(Settings::read_knowing(&text, RULES).is_ok(), good, "{value}");
        }
    }
}
