//! The keys as a JSON schema for editors, and as a `barm.toml` that says what it holds.

use std::fmt::Write as _;

use barm_quantity::{Dimension, Unit};
use serde_json::{Map, Value, json};

use super::KnownRules;
use super::keys::{Form, KEYS, Key, Names};

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
                properties.extend(known.iter().map(|rule| ((*rule).to_owned(), value(key))));
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
        Form::Quantity { dimension: Dimension::Number, .. } => {
            json!({ "type": ["string", "number"], "pattern": NUMBER.to_owned() + "$" })
        }
        Form::Quantity { dimension, .. } => json!({ "type": "string", "pattern": pattern(*dimension, "") }),
        Form::Loss { .. } => {
            json!({ "type": "string", "pattern": pattern(Dimension::LossRate, &format!("|{}", in_any_case("%/day"))) })
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

const NUMBER: &str = "^\\s*-?[0-9]*\\.?[0-9]*\\s*";

/// A number and a unit of a dimension, in any of its spellings and any letter case.
fn pattern(dimension: Dimension, more: &str) -> String {
    let units = Unit::ALL.iter().filter(|unit| unit.dimension() == dimension);
    let spellings: Vec<String> =
        units.flat_map(|unit| unit.spellings()).map(|spelling| in_any_case(spelling)).collect();
    format!("{NUMBER}({}{more})\\s*$", spellings.join("|"))
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
