//! Values and amounts: what an item wants, what was written, and whether anybody can have measured it.

use barm_quantity::{Dimension, Measure, Unit, plain};

use crate::ast::{Amount, AmountKind, Asked, Container, Quantity};
use crate::grammar::{Piece, Pieces, Rule};
use crate::sink::Sink;
use crate::{Fix, Problem, ProblemKind, Span};

/// The most digits that a number may have.
const DIGITS: usize = 15;

/// So few sachets or packs are counted; from here on it may be what a sachet weighs in grams (common practice).
const LIGHTEST_SACHET: f64 = 5.0;

/// What an item wants at a place.
#[derive(Debug, PartialEq)]
pub(crate) struct Want {
    /// "a temperature"
    what: &'static str,
    dimensions: &'static [Dimension],
    /// The unit of a bare number, where one may stand.
    bare: Option<Unit>,
    /// The units that a forgotten one is likely to be, likeliest first.
    likely: &'static [Unit],
    example: &'static str,
}

use Dimension as D;
use Unit as U;

macro_rules! wants {
    ($( $name:ident $what:literal $dimensions:expr, $bare:expr, $likely:expr, $example:literal; )+) => {
        impl Want { $(
            pub(crate) const $name: Self = Self {
                what: $what, dimensions: &$dimensions, bare: $bare, likely: &$likely, example: $example,
            };
        )+ }
    };
}

wants! {
    TEMPERATURE "a temperature" [D::Temperature], None, [U::Celsius, U::Fahrenheit], "18 °C";
    SAMPLE "a temperature" [D::Temperature], None, [U::Celsius, U::Fahrenheit], "20 °C";
    KEPT "a temperature" [D::Temperature], None, [U::Celsius, U::Fahrenheit], "4 °C";
    VOLUME "a volume" [D::Volume], None, [U::Litre, U::UsGallon], "21 L";
    SMALL_VOLUME "a volume" [D::Volume], None, [U::Millilitre, U::Litre], "35 mL";
    MASS "a mass" [D::Mass], None, [U::Gram, U::Ounce], "11 g";
    GRAVITY "a gravity" [D::Gravity], Some(U::SpecificGravity), [], "1.048";
    ADDED_AT "a gravity, or the alpha acid of hops" [D::Gravity, D::Share], Some(U::SpecificGravity), [], "1.048";
    ADDED_FOR "a gravity, a bitterness or a carbonation" [D::Gravity, D::Bitterness, D::Carbonation, D::MassPerVolume], Some(U::SpecificGravity), [], "1.044";
    BRIX "a refractometer's reading" [D::Gravity], Some(U::Brix), [], "6.2 Bx";
    ACIDITY "a pH" [D::Number], Some(U::Bare), [], "4.4";
    NUMBER "a number" [D::Number], Some(U::Bare), [], "3";
    CELLS "a number of cells" [D::Cells], None, [U::BillionCells], "100 B";
    DENSITY "cells in a millilitre" [D::CellsPerVolume], None, [U::MillionPerMillilitre, U::BillionPerMillilitre], "1.2 B/mL";
    CELLS_IN_MASS "cells in a gram" [D::CellsPerMass], None, [U::BillionPerGram], "6 B/g";
    RATE "a pitching rate" [D::PitchRate, D::CellsPerVolume, D::MassPerVolume], None, [U::MillionPerMillilitrePerPlato], "0.75 M/mL/°P";
    FLOW "a gas flow" [D::Flow], None, [U::LitrePerMinute], "1 L/min";
    DURATION "a length of time" [D::Duration], None, [U::Minute, U::Hour], "10 min";
    LONG_DURATION "a length of time" [D::Duration], None, [U::Hour, U::Day], "3 d";
    SHORT_DURATION "a length of time" [D::Duration], None, [U::Second, U::Minute], "60 s";
    OXYGEN "dissolved oxygen" [D::Oxygen], None, [U::PartsPerMillion], "9 ppm";
    CONCENTRATION "a concentration" [D::Oxygen], None, [U::MilligramPerLitre], "0.3 mg/L";
    BITTERNESS "a bitterness" [D::Bitterness], None, [U::InternationalBitternessUnit], "32 IBU";
    PRESSURE "a pressure" [D::Pressure], None, [U::Bar, U::Psi], "0.8 bar";
    CARBONATION "a carbonation" [D::Carbonation, D::MassPerVolume], None, [U::Volumes, U::GramPerLitre], "2.4 vol";
    RATING "a carbonation or a pressure" [D::Carbonation, D::MassPerVolume, D::Pressure], None, [U::Volumes, U::Bar], "4 vol";
    SHARE "a share in per cent" [D::Share], None, [U::Percent], "75 %";
    // An apparent one is over 100 % where a beer ends below water's gravity.
    ATTENUATION "an attenuation in per cent" [D::Share], None, [U::Percent], "75 %";
    ALCOHOL "an alcohol content" [D::Alcohol], None, [U::PercentAlcoholByVolume], "9 %ABV";
    GENERATIONS "a number of generations" [D::Generations], Some(U::Generation), [], "8 generations";
    LOSS "a loss by the month or by the kelvin" [D::LossRate, D::HeatLoss], None, [U::PercentPerMonth, U::WattPerKelvin], "20 %/month";
    SET_POINT "a temperature or a pressure" [D::Temperature, D::Pressure], None, [U::Celsius, U::Fahrenheit, U::Bar], "24 °C";
    PACKAGE_AT "a temperature, a pressure or a gravity" [D::Temperature, D::Pressure, D::Gravity], Some(U::SpecificGravity), [], "20 °C";
    // Behind a wort.
    WORT_AT "a temperature, a pressure or a gravity" [D::Temperature, D::Pressure, D::Gravity], Some(U::SpecificGravity), [], "1.048";
    ANYTHING "a value" [
        D::Temperature, D::Volume, D::Mass, D::Gravity, D::Cells, D::CellsPerVolume, D::CellsPerMass, D::PitchRate,
        D::MassPerVolume, D::Flow, D::Duration, D::Oxygen, D::Bitterness, D::Pressure, D::Carbonation, D::HeatLoss,
        D::Share, D::LossRate, D::Alcohol, D::Generations, D::Number,
    ], Some(U::Bare), [], "1.009";
    // Amounts
    BEER "an amount of beer" [D::Volume], None, [U::Litre, U::UsGallon], "19 L";
    // In one of several.
    EACH "an amount of beer" [D::Volume], None, [U::Litre, U::UsGallon], "500 mL";
    DUMPED "a volume or a mass" [D::Volume, D::Mass, D::Cells], None, [U::Litre, U::Millilitre, U::Gram], "450 mL";
    SLURRY "a volume or a mass" [D::Volume, D::Mass], None, [U::Millilitre, U::Gram], "450 mL";
    YEAST "an amount of yeast" [D::Volume, D::Mass, D::Cells, D::MassPerVolume], None, [U::Millilitre, U::Gram, U::BillionCells], "60 mL";
    ADDITION "an amount" [D::Volume, D::Mass, D::Cells, D::MassPerVolume], None, [U::Gram, U::Litre], "110 g";
}

/// Nobody opens more packs at once, and no pack holds so few thousand million cells (judgement).
const MOST_PACKS: f64 = 12.0;

/// Nobody pitches so many millions of cells for each °P (judgement): in a millilitre it is meant, or may be.
const MOST_BY_PLATO: f64 = 3.0;

/// The units that a bottle's size is likely to be in, by its number (common sizes).
const fn likely_bottle(size: f64) -> [Unit; 2] {
    match size {
        50.0.. => [U::Millilitre, U::Litre],
        5.0.. => [U::UsFluidOunce, U::Litre],
        _ => [U::Litre, U::UsGallon],
    }
}

impl Want {
    /// Whether a value may be in this unit.
    pub(crate) fn accepts(&self, unit: Unit) -> bool {
        self.dimensions.contains(&unit.dimension())
    }

    /// Whether it may go without a unit.
    pub(crate) const fn is_bare(&self) -> bool {
        self.bare.is_some()
    }

    /// "a temperature"
    pub(crate) const fn what(&self) -> &'static str {
        self.what
    }
}

/// What makes a number unreadable.
#[derive(Debug, Clone, Copy, PartialEq)]
enum BadNumber {
    /// A comma in it. Read as a decimal sign it says the one, as a sign of thousands the other.
    Comma {
        decimal: Option<f64>,
        thousands: Option<f64>,
    },
    TooLong,
    /// `1.2.3`
    Form,
}

/// Reads a run of digits with points and commas.
fn number(text: &str) -> Result<f64, BadNumber> {
    let (mut points, mut commas, mut digits) = (0_usize, 0_usize, 0_usize);
    for byte in text.bytes() {
        match byte {
            b'.' => points += 1,
            b',' => commas += 1,
            b'0'..=b'9' => digits += 1,
            _ => {}
        }
    }
    if digits > DIGITS {
        return Err(BadNumber::TooLong);
    }
    let minus = text.trim_start_matches(['-', '−']);
    let parse = |text: &str| text.parse::<f64>().ok();
    let signed = |value: f64| if minus.len() < text.len() { -value } else { value };
    if commas == 0 {
        return parse(minus).map(signed).ok_or(BadNumber::Form);
    }
    let groups_of_three = |whole: &str, sign: char| {
        let mut groups = whole.split(sign);
        let first = groups.next().unwrap_or("");
        (1..=3).contains(&first.len()) && !first.starts_with('0') && groups.all(|group| group.len() == 3)
    };
    let last_comma = minus.rfind(',').unwrap_or(0);
    let (before, after) = (minus.get(..last_comma).unwrap_or(""), minus.get(last_comma + 1..).unwrap_or(""));
    // `1,500.5`, `1,500,000`: thousands. `1.500,5`: the other way round. `1,500`: either. `20,5`: decimal.
    let whole = minus.split('.').next().unwrap_or(minus);
    let thousands =
        (points <= 1 && groups_of_three(whole, ',') && !after.contains(',') && whole.contains(','))
            .then(|| parse(&minus.replace(',', "")))
            .flatten();
    let decimal = (commas == 1 && !after.contains('.') && (points == 0 || groups_of_three(before, '.')))
        .then(|| parse(&format!("{}.{after}", before.replace('.', ""))))
        .flatten();
    match (decimal, thousands) {
        (None, None) => Err(BadNumber::Form),
        _ => Err(BadNumber::Comma { decimal: decimal.map(signed), thousands: thousands.map(signed) }),
    }
}

/// A number whose comma can be a decimal one.
fn decimal(text: &str) -> Option<f64> {
    match number(text) {
        Ok(value) => Some(value),
        Err(BadNumber::Comma { decimal, .. }) => decimal,
        Err(_) => None,
    }
}

/// The unit of a text that the grammar has read as one.
pub(crate) fn unit(text: &str) -> Option<Unit> {
    Some(match text {
        "°C" | "C" => U::Celsius,
        "L" => U::Litre,
        "mL" => U::Millilitre,
        "g" => U::Gram,
        "%" => U::Percent,
        "B" => U::BillionCells,
        "°F" | "F" => U::Fahrenheit,
        // No line of a log is about lengths: a small `m` is the cell counter's million.
        "m" | "M" => U::MillionCells,
        _ => return Unit::read(text).or_else(|| Unit::read(&text.replace(' ', ""))),
    })
}

/// Reads the values of one item. All spans count from the block's start.
pub(crate) struct Values<'s> {
    /// Where the item begins.
    pub(crate) start: u32,
    /// Where the text that the grammar saw begins.
    pub(crate) at: usize,
    /// What the item is called in messages: `temp`.
    pub(crate) word: &'static str,
    pub(crate) sink: &'s mut Sink,
}

impl Values<'_> {
    pub(crate) fn span(&self, piece: &Piece<'_>) -> Span {
        let span = piece.as_span();
        Span::of(span.start() + self.at..span.end() + self.at)
    }

    /// A number that counts something; it must be above zero.
    pub(crate) fn count(&mut self, piece: &Piece<'_>) -> Option<f64> {
        let span = self.span(piece);
        let value = self.number(piece, "")?;
        if value <= 0.0 {
            self.sink.report(|| {
                Problem::new(
                    ProblemKind::ImpossibleValue,
                    span,
                    format!("{} of something is none", plain(value, 3)),
                )
                .help("write how many, such as `2`")
            });
            return None;
        }
        Some(value)
    }

    /// A whole number from zero on.
    pub(crate) fn whole(&mut self, piece: &Piece<'_>) -> Option<u32> {
        let span = self.span(piece);
        let value = self.number(piece, "")?;
        if value.fract() != 0.0 || !(0.0..=4e9).contains(&value) {
            self.sink.report(|| {
                let message = format!("`{}` cannot be counted: whole numbers only", piece.as_str());
                Problem::new(ProblemKind::ImpossibleValue, span, message)
            });
            return None;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked above")]
        Some(value as u32)
    }

    /// A number as written. `unit` follows it in the text and is put into the questions about it.
    fn number(&mut self, piece: &Piece<'_>, unit: &str) -> Option<f64> {
        let text = piece.as_str();
        let fault = match number(text) {
            Ok(value) => return Some(value),
            Err(fault) => fault,
        };
        let span = self.span(piece);
        self.sink.report(|| bad_number(fault, span, text, unit));
        None
    }

    /// A value that may be a question.
    pub(crate) fn asked(&mut self, piece: Piece<'_>, want: &'static Want) -> Option<Asked<Quantity>> {
        if piece.as_rule() == Rule::ask {
            return Some(Asked::Asked(self.span(&piece)));
        }
        self.measure(piece, want).map(Asked::Known)
    }

    /// A value that may not be a question.
    pub(crate) fn known(&mut self, piece: Piece<'_>, want: &'static Want) -> Option<Quantity> {
        if piece.as_rule() == Rule::ask {
            let (span, word) = (self.span(&piece), self.word);
            self.sink.report(|| {
                Problem::new(ProblemKind::UnreadableLine, span, format!("the log cannot answer this `{word}`"))
                    .help(format!(
                        "a `?` can ask for an amount to pitch or add, a starter's wort, how long to aerate, or a day; \
                         here write {}, such as `{}`",
                        want.what, want.example
                    ))
            });
            return None;
        }
        self.measure(piece, want)
    }

    /// A measure, and all that is wrong with it.
    fn measure(&mut self, piece: Piece<'_>, want: &'static Want) -> Option<Quantity> {
        let whole = self.span(&piece);
        let text = piece.as_str();
        let (mut low, mut high, mut error, mut unit_piece) = (None, None, None, None);
        let (mut about, mut unsure) = (false, None);
        for part in Pieces::of(piece) {
            match part.as_rule() {
                Rule::low => low = Some(part),
                Rule::high => high = Some(part),
                Rule::error => error = Some(part),
                Rule::unit => unit_piece = Some(part),
                Rule::about => about = true,
                _ => unsure = Some(self.span(&part)),
            }
        }
        let low_piece = low?;
        let numbers = || [Some(&low_piece), high.as_ref(), error.as_ref()].into_iter().flatten();
        let slips = unit_piece.is_none()
            && want.bare.is_none()
            && numbers().any(|piece| piece.as_str().contains(','))
            && numbers().all(|piece| decimal(piece.as_str()).is_some());
        if slips {
            self.missing_unit(want, whole, text, decimal(low_piece.as_str()));
            return None;
        }
        let unit_text = unit_piece.as_ref().map_or("", |unit| unit.as_str());
        let low = self.number(&low_piece, unit_text);
        let high_text = high.as_ref().map(Piece::as_str);
        let high = high.map_or(low, |piece| self.number(&piece, unit_text));
        let plus_minus = error.map_or(Some(0.0), |piece| self.number(&piece, unit_text));
        let unit = match &unit_piece {
            None => self.missing_unit(want, whole, text, low),
            Some(piece) => self.right_unit(want, self.span(piece), whole, text, piece.as_str(), low),
        };
        if let Some(mark) = unsure {
            self.sink.report(|| {
                let sure = text.replace('?', "");
                let sure = sure.trim_end();
                Problem::new(ProblemKind::UnreadableLine, mark, "a `?` behind a value is not read")
                    .help("a `?` alone asks the log for the value; an unsure reading is written with `~` before it")
                    .fix(Fix::replace(whole, format!("~{}", sure.trim_start_matches('~'))))
            });
            return None;
        }
        let (low, high, plus_minus, unit) = (low?, high?, plus_minus?, unit?);
        if let Some(high_text) = high_text.filter(|_| high < low) {
            self.sink.report(|| runs_back(whole, text, low_piece.as_str(), high_text));
            return None;
        }
        #[expect(clippy::cast_possible_truncation, reason = "an error needs no more digits")]
        let measure = Measure { low, high, plus_minus: plus_minus.abs() as f32, unit, about };
        if let Some(message) = impossible(&measure, want) {
            self.sink.report(|| {
                let mut problem = Problem::new(ProblemKind::ImpossibleValue, whole, message);
                if unit == Unit::SpecificGravity && high_text.is_none() {
                    // `at 24`: more likely the beer's temperature than the gravity of what went in.
                    let degrees = format!("{} °C", plain(low, 0));
                    let is_warm = [Want::PACKAGE_AT, Want::WORT_AT].contains(want)
                        && low.fract() == 0.0
                        && (1.0..45.0).contains(&low);
                    if is_warm {
                        problem = problem.fix(Fix::replace(whole, degrees.clone()));
                    }
                    problem = gravity_hints(problem, whole, low, low_piece.as_str());
                    if is_warm {
                        problem = problem.help(format!("a temperature has its unit: is it `{degrees}`?"));
                    }
                }
                let other = match unit {
                    Unit::Bar => Some(Unit::Psi),
                    Unit::Celsius => Some(Unit::Fahrenheit),
                    _ => None,
                };
                let likely = other.map(|unit| Measure { unit, ..measure });
                if let Some(likely) = likely.filter(|likely| impossible(likely, want).is_none()) {
                    let likely = likely.to_string();
                    problem = problem.help(format!("is it `{likely}`?")).fix(Fix::replace(whole, likely));
                }
                if problem.fixes.is_empty() {
                    problem = problem.help(format!("such as `{}`", want.example));
                }
                problem
            });
            return None;
        }
        Some(Quantity { measure, span: Span::new(whole.start, whole.end) })
    }

    /// A bare number stands here: its unit, if it may go without. A small one behind `pack` counts packs.
    fn missing_unit(
        &mut self,
        want: &'static Want,
        whole: Span,
        text: &str,
        low: Option<f64>,
    ) -> Option<Unit> {
        if want.bare.is_some() {
            return want.bare;
        }
        let word = self.word;
        self.sink.report(|| {
            let number = text.trim_end_matches('?').trim_end();
            if word == "pack" && low.is_some_and(|packs| packs <= MOST_PACKS) {
                let message = format!("a pack is written with what it holds: `{number} × 100 B`?");
                return Problem::new(ProblemKind::MissingUnit, whole, message).help(
                    "its maker says how many live cells it had when it was made, in B (thousand million)",
                );
            }
            let counted = low.is_some_and(|count| count.fract() == 0.0 && count < LIGHTEST_SACHET);
            if word == "sachet" && counted {
                let message = format!("a sachet is written with what it weighs: `{number} × 11 g`?");
                return Problem::new(ProblemKind::MissingUnit, whole, message)
                    .help("its label says how much");
            }
            let end = whole.start.saturating_add(Span::of(0..number.len()).end);
            let mut likely = want.likely.to_vec();
            // Nobody brews at 64 °C, and hardly anybody at 18 °F.
            if low.is_some_and(|value| value > 45.0) && want.dimensions.contains(&D::Temperature) {
                likely.sort_by_key(|unit| *unit != U::Fahrenheit);
            }
            if *want == Want::RATE && low.is_some_and(|rate| rate >= MOST_BY_PLATO) {
                likely.insert(0, U::MillionPerMillilitre);
            }
            if *want == Want::EACH && word == "bottle" {
                likely = likely_bottle(low.unwrap_or(0.0)).to_vec();
            }
            // A decimal comma is mended with it, so that two slips in one value are told once.
            let meant = number.replace(',', ".");
            if let Some(hundredths) =
                want.dimensions.contains(&D::Share).then(|| in_hundredths(&meant)).flatten()
            {
                let what = want.what.trim_end_matches(" in per cent");
                let message = format!("{what} is written in per cent: `{hundredths}`?");
                return Problem::new(ProblemKind::MissingUnit, whole, message)
                    .help(format!("`{word}` wants {}, such as `{}`", want.what, want.example))
                    .fix(Fix::replace(Span::new(whole.start, end), hundredths));
            }
            let mut units: Vec<&str> = likely.iter().map(|unit| unit.symbol()).collect();
            if *want == Want::YEAST && counted {
                units.insert(0, if low == Some(1.0) { "pack" } else { "packs" });
            }
            let choice: Vec<String> = units.iter().map(|unit| format!("`{meant} {unit}`")).collect();
            let comma = if meant == number { "" } else { ", and the decimal sign is a point" };
            let message = format!("{} needs its unit{comma}: {}?", want.what, choice.join(" or "));
            let bottles = if word == "bottle" && *want != Want::EACH { " or `48 × 330 mL`" } else { "" };
            let mut problem = Problem::new(ProblemKind::MissingUnit, whole, message)
                .help(format!("`{word}` wants {}, such as `{}`{bottles}", want.what, want.example));
            let only = units.len() == 1;
            for unit in units {
                let title = format!("write `{meant} {unit}`");
                let fix = if meant == number {
                    Fix::insert(end, format!(" {unit}"), title)
                } else {
                    Fix::replace(Span::new(whole.start, end), format!("{meant} {unit}")).titled(title)
                };
                problem = problem.fix(if only { fix.safe() } else { fix });
            }
            problem
        });
        None
    }

    /// A unit stands here: whether it is of the kind that is wanted.
    fn right_unit(
        &mut self,
        want: &'static Want,
        place: Span,
        whole: Span,
        text: &str,
        unit_text: &str,
        low: Option<f64>,
    ) -> Option<Unit> {
        let unit = unit(unit_text);
        if let Some(unit) = unit.filter(|unit| want.accepts(*unit)) {
            return Some(unit);
        }
        let word = self.word;
        self.sink.report(|| {
            let is = unit.map_or("no unit that this log knows", |unit| unit.dimension().described());
            let message = match unit {
                Some(U::Ounce) if want.accepts(U::UsFluidOunce) => {
                    let number = text.trim_end_matches(char::is_alphabetic).trim_end();
                    format!("`{text}` is a mass; measured it is `{number} fl-oz`")
                }
                _ => format!("`{text}` is {is}; `{word}` wants {}", want.what),
            };
            let problem =
                Problem::new(ProblemKind::WrongUnit, place, message).help(match unit.map(Unit::dimension) {
                    Some(D::Carbonation)
                        if [Want::PACKAGE_AT.what, Want::ADDITION.what].contains(&want.what) =>
                    {
                        "what the beer is to have is written `for 2.4 vol`".to_owned()
                    }
                    Some(D::Mass) if unit == Some(U::Ounce) && want.accepts(U::UsFluidOunce) => String::new(),
                    _ => format!("such as `{}`", want.example),
                });
            let write = |unit: Unit| {
                Fix::replace(place, unit.symbol()).titled(format!("write `{}` for the unit", unit.symbol()))
            };
            let (start, word_end) = (self.start, self.start.saturating_add(Span::of(0..word.len()).end));
            let write_word = |word: &str| Fix::replace(Span::new(start, word_end), word);
            match unit {
                Some(U::Gram | U::Ounce | U::Milligram) if word == "pack" => {
                    problem.help("dry yeast, which is weighed, is a `sachet`").fix(write_word("sachet"))
                }
                Some(U::BillionCells | U::MillionCells) if word == "sachet" => {
                    problem.help("yeast whose cells are counted is a `pack`").fix(write_word("pack"))
                }
                // Beer by the ounce is measured, and no ounce of it weighed.
                Some(U::Ounce) if want.accepts(U::UsFluidOunce) => problem.fix(write(U::UsFluidOunce)),
                Some(U::Percent) if [Want::BEER, Want::DUMPED, Want::YEAST].contains(want) => {
                    match share_of(text) {
                        Some(share) => problem
                            .help(format!("a share of what is left is written `{share}`"))
                            .fix(Fix::replace(whole, share)),
                        None => problem.help("a share of what is left is written `1/4`"),
                    }
                }
                Some(U::Percent) if want.accepts(U::PercentAlcoholByVolume) => {
                    problem.fix(write(U::PercentAlcoholByVolume))
                }
                Some(U::PercentAlcoholByVolume) if want.accepts(U::Percent) => problem.fix(write(U::Percent)),
                Some(U::Percent) if want.accepts(U::PercentPerMonth) => {
                    problem.fix(write(U::PercentPerMonth))
                }
                Some(U::Gram) if want.accepts(U::GramPerLitre) && low.is_some() => {
                    problem.fix(write(U::GramPerLitre))
                }
                Some(U::MillionPerMillilitre | U::BillionPerMillilitre) if want.accepts(U::BillionCells) => {
                    problem.fix(write(U::BillionCells))
                }
                Some(U::Percent) if want.bare == Some(U::Bare) => {
                    let bare = Span::new(whole.start, place.start);
                    let number = bare.len() as usize;
                    let number = text.get(..number).unwrap_or(text).trim_end().to_owned();
                    problem.fix(Fix::replace(whole, number))
                }
                _ => problem,
            }
        });
        None
    }

    /// An amount. Where it may not be asked for, a `?` is no question that can be answered.
    pub(crate) fn amount(&mut self, piece: Piece<'_>, want: &'static Want, may_ask: bool) -> Option<Amount> {
        let span = self.span(&piece);
        let mut parts = Pieces::of(piece.clone());
        let first = parts.next()?;
        let kind = match (first.as_rule(), parts.next()) {
            (Rule::ask, _) if may_ask => AmountKind::Asked,
            (Rule::ask, _) => return self.known(first, want).and(None),
            (Rule::all, _) => AmountKind::All,
            (_, Some(behind)) if behind.as_rule() == Rule::whole => {
                AmountKind::Share(self.share(&piece, &first, &behind)?)
            }
            (_, Some(behind)) if behind.as_rule() == Rule::container => {
                let count = self.count(&first)?;
                AmountKind::Counted(count, container(behind.as_str()))
            }
            (_, Some(behind)) if behind.as_rule() == Rule::measure => {
                let want = if *want == Want::BEER { &Want::EACH } else { want };
                let (count, each) = self.times(&first, behind, want)?;
                AmountKind::Times(count, each.measure)
            }
            _ => AmountKind::Measured(self.some(piece, want)?.measure),
        };
        Some(Amount { span, kind })
    }

    /// `2` of something, or `1/2` of one, that goes by the piece.
    pub(crate) fn pieces(&mut self, piece: &Piece<'_>) -> Option<Amount> {
        let span = self.span(piece);
        let mut parts = Pieces::of(piece.clone());
        let count = match (parts.next()?, parts.next()) {
            (count, None) if count.as_rule() == Rule::low => self.count(&count)?,
            (part, Some(whole)) if whole.as_rule() == Rule::whole => self.share(piece, &part, &whole)?,
            _ => return None,
        };
        Some(Amount { span, kind: AmountKind::Counted(count, Container::Piece) })
    }

    /// `2 × 100 B`, or `100 B` once: how many, and what each holds.
    pub(crate) fn packs(&mut self, piece: Piece<'_>, want: &'static Want) -> Option<(f64, Quantity)> {
        let mut parts = Pieces::of(piece.clone());
        match (parts.next()?, parts.next()) {
            (count, Some(each)) if each.as_rule() == Rule::measure => self.times(&count, each, want),
            (_, Some(behind)) if !matches!(behind.as_rule(), Rule::whole | Rule::container) => {
                Some((1.0, self.some(piece, want)?))
            }
            (first, None) if first.as_rule() == Rule::low => Some((1.0, self.some(piece, want)?)),
            _ => {
                let (span, word) = (self.span(&piece), self.word);
                self.sink.report(|| {
                    let message = format!("`{}` does not say how much is in a `{word}`", piece.as_str());
                    Problem::new(ProblemKind::UnreadableLine, span, message)
                        .help(format!("such as `{word} 2 × {}`", want.example))
                });
                None
            }
        }
    }

    fn times(&mut self, count: &Piece<'_>, each: Piece<'_>, want: &'static Want) -> Option<(f64, Quantity)> {
        let count = self.count(count);
        let each = self.some(each, want);
        Some((count?, each?))
    }

    /// A measure of more than nothing.
    fn some(&mut self, piece: Piece<'_>, want: &'static Want) -> Option<Quantity> {
        let quantity = self.measure(piece, want)?;
        if quantity.measure.high <= 0.0 {
            self.nothing(quantity.span);
            return None;
        }
        Some(quantity)
    }

    /// An amount of nothing.
    pub(crate) fn nothing(&mut self, span: Span) {
        let word = self.word;
        self.sink.report(|| {
            Problem::new(ProblemKind::ImpossibleValue, span, "an amount of nothing")
                .help(format!("leave the `{word}` out, or write how much"))
        });
    }

    /// `1/4`: above zero, at most one.
    fn share(&mut self, piece: &Piece<'_>, part: &Piece<'_>, whole: &Piece<'_>) -> Option<f64> {
        let (part, whole) = (self.number(part, ""), self.number(whole, ""));
        let (part, whole) = (part?, whole?);
        if part > 0.0 && part <= whole {
            return Some(part / whole);
        }
        let (span, text) = (self.span(piece), piece.as_str());
        self.sink.report(|| {
            let message = format!("`{text}` is no share of what is left: a share lies between 0 and 1");
            Problem::new(ProblemKind::ImpossibleValue, span, message).help("such as `1/4`, or `all`")
        });
        None
    }

    /// `1:10`, one part made up to ten: the ten.
    pub(crate) fn dilution(&mut self, piece: Piece<'_>) -> Option<f64> {
        let (span, text) = (self.span(&piece), piece.as_str());
        let mut parts = Pieces::of(piece);
        let part = parts.next().and_then(|piece| self.count(&piece));
        let whole = parts.next().and_then(|piece| self.count(&piece));
        let (part, whole) = (part?, whole?);
        if whole >= part {
            return Some(whole / part);
        }
        self.sink.report(|| {
            Problem::new(
                ProblemKind::ImpossibleValue,
                span,
                format!("`{text}` makes the sample stronger, not thinner"),
            )
            .help("`1:N` is one part made up to N parts, such as `1:10`")
        });
        None
    }
}

fn container(text: &str) -> Container {
    match text.as_bytes().first().map(u8::to_ascii_lowercase) {
        Some(b'p') => Container::Pack,
        Some(b's') => Container::Sachet,
        Some(b'v') => Container::Vial,
        _ => Container::Loop,
    }
}

fn bad_number(fault: BadNumber, span: Span, text: &str, unit: &str) -> Problem {
    match fault {
        BadNumber::Form => Problem::new(ProblemKind::UnreadableLine, span, format!("`{text}` is no number"))
            .help("a number has one decimal point: `1.048`"),
        BadNumber::TooLong => {
            Problem::new(ProblemKind::ImpossibleValue, span, format!("a number has at most {DIGITS} digits"))
        }
        BadNumber::Comma { decimal, thousands } => {
            let after = text.len() - text.rfind(',').unwrap_or(0) - 1;
            let written = |value: f64| format!("{value:.after$}");
            let with_unit =
                |number: &str| if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") };
            // Nothing that is written without a unit runs into the thousands: `1,048` is a gravity.
            let thousands =
                thousands.filter(|_| !(unit.is_empty() && decimal.is_some())).map(|value| plain(value, 3));
            let decimal = decimal.map(written);
            let numbers: Vec<String> = decimal.into_iter().chain(thousands).collect();
            let choice: Vec<String> =
                numbers.iter().map(|number| format!("`{}`", with_unit(number))).collect();
            let message = match choice.as_slice() {
                [one] => format!("the decimal sign is a point: {one}"),
                _ => format!("the decimal sign is a point: is this {}?", choice.join(" or ")),
            };
            let only = numbers.len() == 1;
            let mut problem = Problem::new(ProblemKind::DecimalComma, span, message);
            for number in numbers {
                let title = format!("write `{}`", with_unit(&number));
                let fix = Fix::replace(span, number).titled(title);
                problem = problem.fix(if only { fix.safe() } else { fix });
            }
            problem
        }
    }
}

/// `20..18 °C`.
fn runs_back(whole: Span, text: &str, low: &str, high: &str) -> Problem {
    let numbers_end = text.rfind(|c: char| c.is_ascii_digit()).map_or(text.len(), |at| at + 1);
    let turned = format!("{high}..{low}{}", text.get(numbers_end..).unwrap_or(""));
    Problem::new(ProblemKind::ImpossibleValue, whole, format!("the range runs back: is it `{turned}`?"))
        .help("the lower end comes first")
        .fix(Fix::replace(whole, turned))
}

/// `0.75` and `0.73..0.77` in per cent: a share that is no more than one is of the whole.
fn in_hundredths(number: &str) -> Option<String> {
    let parts: Option<Vec<f64>> = number.split("..").map(|part| part.trim().parse().ok()).collect();
    let parts = parts.filter(|parts| parts.iter().all(|part| (0.01..=1.0).contains(part)))?;
    let parts: Vec<String> = parts.iter().map(|part| plain(part * 100.0, 1)).collect();
    Some(format!("{} %", parts.join("..")))
}

/// `25 %` as a share of what is left: `1/4`.
fn share_of(text: &str) -> Option<String> {
    let part: u8 =
        text.trim_end_matches('%').trim_end().parse().ok().filter(|part| (1..=100).contains(part))?;
    let common = (1..=part).rev().find(|by| part.is_multiple_of(*by) && 100_u8.is_multiple_of(*by))?;
    Some(if part == 100 { "all".to_owned() } else { format!("{}/{}", part / common, 100 / common) })
}

/// Why nobody can have measured this; `None` if somebody can.
fn impossible(measure: &Measure, want: &Want) -> Option<String> {
    // The widest that brewing knows, not what is wise: that is for the rules.
    let (low, high, why) = match (measure.dimension(), measure.unit) {
        (D::Temperature, _) if *want == Want::KEPT => (-90.0, 70.0, "neither yeast nor beer is kept at"),
        // As far as it is known how wort expands.
        (D::Temperature, _) if *want == Want::SAMPLE => {
            (-30.0, 60.0, "a gravity can be corrected from a sample of up to 60 °C, not of")
        }
        (D::Temperature, _) => (-30.0, 110.0, "nothing in a brewery is so cold or hot as"),
        // Honey and inverted sugar.
        (D::Gravity, U::SpecificGravity) if *want == Want::ADDED_AT || *want == Want::PACKAGE_AT => {
            (0.95, 1.45, "no wort or syrup has the gravity")
        }
        (D::Gravity, U::SpecificGravity) => (0.95, 1.2, "no wort or beer has the gravity"),
        // Syrup is told by its refractometer.
        (D::Gravity, _) if *want == Want::ADDED_AT || *want == Want::PACKAGE_AT => {
            (-10.0, 85.0, "no syrup has the gravity")
        }
        (D::Gravity, _) => (-10.0, 45.0, "no wort or beer has the gravity"),
        (D::Number, _) if *want == Want::ACIDITY => (0.0, 14.0, "a pH lies between 0 and 14, not at"),
        (D::Share, _) if *want == Want::ATTENUATION => {
            (0.1, 1.1, "an apparent attenuation lies between 10 and 110 %, not at")
        }
        (D::Share | D::LossRate | D::Alcohol, _) => (0.0, 1.0, "a share lies between 0 and 100 %, not at"),
        (D::Oxygen, _) if *want != Want::CONCENTRATION => {
            (0.0, 100.0, "no wort or beer holds so much oxygen as")
        }
        (D::Pressure, _) if *want == Want::RATING => (0.0, 20.0, "no vessel for beer holds a pressure of"),
        // Valves of kegs and tanks open below (common practice).
        (D::Pressure, _) => (-1.0, 6.0, "no beer is put under a pressure of"),
        (D::Carbonation, _) => (0.0, 10.0, "no beer holds so much carbonation as"),
        _ => (0.0, f64::INFINITY, "there is no"),
    };
    let inside = |value: f64| value >= low - 1e-9 && value <= high + 1e-9;
    if inside(measure.low_base()) && inside(measure.high_base()) {
        return None;
    }
    let odd = if inside(measure.low_base()) { measure.high } else { measure.low };
    let unit = measure.unit.symbol();
    Some(format!("{why} {}{}{unit}", plain(odd, 4), if unit.is_empty() { "" } else { " " }))
}

/// What a gravity without its point, or with a slipped one, may have been.
fn gravity_hints(problem: Problem, span: Span, value: f64, text: &str) -> Problem {
    let mut likely = Vec::new();
    let mut plato = false;
    if (950.0..=1200.0).contains(&value) {
        likely.push(value / 1000.0);
    } else if (9.5..12.0).contains(&value) && text.contains('.') {
        likely.push(value / 10.0);
        plato = true;
    } else if (1.2..2.0).contains(&value) {
        // 1.48 lost a nought behind its point.
        likely.push(1.0 + (value - 1.0) / 10.0);
    } else if (2.0..=45.0).contains(&value) {
        plato = true;
        if value.fract() == 0.0 {
            likely.push(1.0 + value / 1000.0);
        } else if value < 3.0 {
            // 2.048: one key too far.
            likely.push(1.0 + value.fract());
        }
    } else if (45.0..200.0).contains(&value) && value.fract() == 0.0 {
        likely.push(1.0 + value / 1000.0);
    }
    let mut fixes: Vec<String> =
        likely.iter().filter(|v| (0.95..=1.2).contains(*v)).map(|v| format!("{v:.3}")).collect();
    if plato {
        let as_plato = format!("{} °P", plain(value, 2));
        if text.contains('.') { fixes.push(as_plato) } else { fixes.insert(0, as_plato) }
    }
    let choice: Vec<String> = fixes.iter().map(|fix| format!("`{fix}`")).collect();
    let mut problem = problem;
    if !choice.is_empty() {
        problem = problem.help(format!("is it {}?", choice.join(" or ")));
    }
    for fix in fixes {
        problem = problem.fix(Fix::replace(span, fix));
    }
    problem
}
