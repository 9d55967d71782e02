//! Reads a `barm.toml` by the list of keys.

use std::ops::Range;

use barm_quantity::{Dimension, Share, Unit, plain};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{Form, KEYS, Key, Names};
use super::{KnownRules, Settings, SettingsError};
use crate::near::nearest;

/// Reads a whole file; of what is wrong the first is told.
pub(super) fn read(text: &str, rules: Option<KnownRules<'_>>) -> Result<Settings, SettingsError> {
    let document = DeTable::parse(text).map_err(|error| SettingsError {
        span: error.span().unwrap_or(0..0),
        message: error.message().to_owned(),
    })?;
    let mut reader = Reader { settings: Settings::default(), rules, wrong: None };
    reader.table(&[], document.get_ref());
    match reader.wrong {
        Some(error) => Err(error),
        None => Ok(reader.settings),
    }
}

struct Reader<'r> {
    settings: Settings,
    rules: Option<KnownRules<'r>>,
    /// What is wrong first in the file.
    wrong: Option<SettingsError>,
}

impl Reader<'_> {
    fn wrong(&mut self, span: Range<usize>, message: String) {
        if self.wrong.as_ref().is_none_or(|first| span.start < first.span.start) {
            self.wrong = Some(SettingsError { span, message });
        }
    }

    /// Reads a table; `path` says where it lies. No key lies deeper than two tables.
    fn table(&mut self, path: &[&str], table: &DeTable<'_>) {
        let here: Vec<&Key> = KEYS.iter().filter(|key| key.path.starts_with(path)).collect();
        for (name, value) in table.iter() {
            let written = name.get_ref().as_ref();
            let same = |key: &&&Key| key.path.get(path.len()).is_some_and(|own| *own == written);
            let any = here.iter().find(|key| key.path.get(path.len()) == Some(&"*"));
            match (here.iter().find(same).or(any), value.get_ref()) {
                (Some(key), DeValue::Table(inner)) if key.path.len() > path.len() + 1 => {
                    let own = key.path.get(..=path.len()).unwrap_or_default();
                    self.table(own, inner);
                }
                (Some(key), _) if key.path.len() > path.len() + 1 => {
                    let keys = key.path.get(path.len() + 1).copied().unwrap_or_default();
                    self.wrong(
                        value.span(),
                        format!(
                            "`{written}` is a table; write `{keys} = …` below `[{}]`",
                            joined(path, written)
                        ),
                    );
                }
                (Some(key), _) => {
                    if let Some(why) = self.unknown_name(key, written) {
                        self.wrong(name.span(), why);
                    } else if let Err(why) = self.value(key, written, value) {
                        self.wrong(value.span(), why);
                    }
                }
                (None, _) => {
                    let known = here.iter().filter_map(|key| key.path.get(path.len()).copied());
                    let mut known: Vec<&str> = known.collect();
                    known.dedup();
                    let place =
                        if path.is_empty() { String::new() } else { format!(" in `[{}]`", path.join(".")) };
                    let hint = hint(written, &known);
                    self.wrong(name.span(), format!("there is no key `{written}`{place}; {hint}"));
                }
            }
        }
    }

    /// Why no rule is meant by a name.
    fn unknown_name(&self, key: &Key, written: &str) -> Option<String> {
        let rules = self.rules?;
        let names = key.names()?;
        if !rules.all.contains(&written) {
            let known = if names == Names::Rules { rules.all } else { rules.limited };
            let hint = match nearest(written, known.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "`barm rules` lists them".to_owned(),
            };
            return Some(format!("there is no rule `{written}`; {hint}"));
        }
        let limited = names == Names::Rules || rules.limited.contains(&written);
        (!limited).then(|| format!("the rule `{written}` has no limit of its own"))
    }

    fn value(&mut self, key: &Key, name: &str, value: &Spanned<DeValue<'_>>) -> Result<(), String> {
        let example = key.example();
        let wanted = |what: &str| format!("`{name}` is {what}; write {example}");
        let settings = &mut self.settings;
        match (&key.form, value.get_ref()) {
            (Form::Word { words, set }, DeValue::String(word)) => {
                let word = words
                    .iter()
                    .find(|known| **known == &**word)
                    .ok_or_else(|| format!("`{name}` cannot be `{word}`; {}", hint(word, words)))?;
                set(settings, name, word);
            }
            (Form::Word { words, .. }, _) => return Err(wanted(&format!("one of {}", listed(words)))),
            (Form::Quantity { dimension, distance, limits, set }, DeValue::String(text)) => {
                let base =
                    base(text, *dimension, *distance).map_err(|why| format!("{why}; write {example}"))?;
                within(*limits, base, text).map_err(|why| {
                    match in_the_other_scale(text, *limits).filter(|_| !distance) {
                        Some(meant) => format!("{why}; was \"{meant}\" meant?"),
                        None => format!("{why}; write {example}"),
                    }
                })?;
                set(settings, name, base);
            }
            (Form::Quantity { dimension: Dimension::Number, limits, set, .. }, number) => {
                let number = bare(number).ok_or_else(|| wanted("a number"))?;
                within(*limits, number, &number.to_string())
                    .map_err(|why| format!("{why}; write {example}"))?;
                set(settings, name, number);
            }
            (Form::Quantity { dimension, .. }, _) => {
                return Err(wanted(&format!("{} with its unit, between quotes", dimension.described())));
            }
            (Form::Loss { set }, DeValue::String(text)) => {
                let loss = loss(text).map_err(|why| format!("{why}; write {example}"))?;
                set(settings, loss);
            }
            (Form::Loss { .. }, _) => return Err(wanted("a loss with its unit, between quotes")),
            (Form::Number { limits: (low, high), set }, number) => {
                let number = bare(number).ok_or_else(|| wanted("a number"))?;
                if let Some(most) = key.most(name, self.rules).filter(|most| number > *most) {
                    let share = number / 100.0;
                    let meant = format!("{} for {} %", plain(share, 4), plain(number, 2));
                    let example = if share <= most { meant } else { example.to_owned() };
                    return Err(format!(
                        "`{name}` is a share and not in per cent, and {} at the most; write {example}",
                        plain(most, 1)
                    ));
                }
                if !(*low..=*high).contains(&number) {
                    return Err(format!("`{name}` lies between {low} and {high}; write {example}"));
                }
                set(settings, name, number);
            }
        }
        Ok(())
    }
}

fn joined(path: &[&str], name: &str) -> String {
    path.iter().chain([&name]).copied().collect::<Vec<_>>().join(".")
}

/// The nearest of some words, else all of them.
fn hint(written: &str, known: &[&str]) -> String {
    match nearest(written, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("there is {}", listed(known)),
    }
}

/// `a`, `b` or `c`
fn listed(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, first)) if !first.is_empty() => format!("{} or {last}", first.join(", ")),
        _ => quoted.concat(),
    }
}

/// A number without a unit.
fn bare(value: &DeValue<'_>) -> Option<f64> {
    let number = match value {
        #[expect(clippy::cast_precision_loss, reason = "what is too large is refused by its limits")]
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix()).ok()? as f64,
        DeValue::Float(float) => float.as_str().parse().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

/// The number and the unit of `340 m`.
fn parted(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-'))).unwrap_or(text.len());
    let (number, unit) = text.split_at_checked(end)?;
    Some((number.parse().ok()?, unit.trim()))
}

/// A number with its unit, in the base unit of what it measures.
fn base(text: &str, dimension: Dimension, distance: bool) -> Result<f64, String> {
    let wrong = || format!("`{text}` is not {} with its unit", dimension.described());
    let (number, unit) = parted(text).ok_or_else(wrong)?;
    let unit = match unit {
        "" => Unit::Bare,
        unit => Unit::read(unit).ok_or_else(wrong)?,
    };
    if unit.dimension() != dimension {
        return Err(match unit {
            Unit::Bare => format!("`{text}` has no unit"),
            _ => format!("`{text}` is {}, not {}", unit.dimension().described(), dimension.described()),
        });
    }
    Ok(if distance { unit.distance_to_base(number) } else { unit.to_base(number) })
}

/// A temperature in °C that lies within limits in °F: `60 °F` for `60 °C`.
fn in_the_other_scale(text: &str, limits: (f64, f64)) -> Option<String> {
    let (number, unit) = parted(text)?;
    let meant = format!("{} °F", plain(number, 2));
    (Unit::read(unit)? == Unit::Celsius).then_some(())?;
    within(limits, Unit::Fahrenheit.to_base(number), &meant).ok()?;
    Some(meant)
}

/// A loss as a share of the month: `20 %/month`, or compounded from `2 %/day`.
fn loss(text: &str) -> Result<Share, String> {
    let share = match parted(text) {
        Some((percent, unit)) if unit.replace(' ', "").eq_ignore_ascii_case("%/day") => {
            let daily = (percent / 100.0).clamp(-1.0, 2.0);
            if (0.0..1.0).contains(&daily) { 1.0 - (1.0 - daily).powf(DAYS) } else { daily }
        }
        _ => base(text, Dimension::LossRate, false)?,
    };
    within((0.0, MOST_LOST), share, text)?;
    Ok(Share::fraction(share))
}

/// Days of a month.
const DAYS: f64 = 30.44;
/// Nothing that is kept loses more in a month.
pub(super) const MOST_LOST: f64 = 0.99;

/// The loss of a day that comes to a loss of the month.
pub(super) fn daily(monthly: f64) -> f64 {
    1.0 - (1.0 - monthly).powf(1.0 / DAYS)
}

fn within((low, high): (f64, f64), base: f64, text: &str) -> Result<(), String> {
    if (low..=high).contains(&base) { Ok(()) } else { Err(format!("`{text}` is outside of what can be")) }
}
