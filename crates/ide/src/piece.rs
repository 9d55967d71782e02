//! Quantities and questions in a statement, and where they stand.

use barm_quantity::Measure;
use barm_syntax::Span;
use barm_syntax::ast::{Amount, AmountKind, Asked, Counted, Kind, Measured, Quantity, Statement};

/// What a measure is of, where its unit alone does not tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Of {
    /// What its unit measures.
    Itself,
    /// Carbon dioxide in beer: g/L of it are no dose.
    Gas,
    /// A flavour: mg/L of it are no oxygen.
    Flavour,
}

/// A part of a statement that is no name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Piece {
    /// A value as written; of `12 × 330 mL` all of it.
    Quantity(Measure, Of),
    /// An amount that is no value: `2 packs`, `1/4`, `all`.
    Amount,
    /// A `?`.
    Question,
    /// A date.
    Date,
    /// Free text.
    Text,
}

struct Pieces<'f, F: FnMut(Span, Piece)>(&'f mut F);

impl<F: FnMut(Span, Piece)> Pieces<'_, F> {
    fn quantity(&mut self, quantity: &Quantity) {
        self.quantity_of(quantity, Of::Itself);
    }
    fn quantity_of(&mut self, quantity: &Quantity, of: Of) {
        (self.0)(quantity.span, Piece::Quantity(quantity.measure, of));
    }
    fn perhaps<'q>(&mut self, quantities: impl IntoIterator<Item = &'q Option<Quantity>>) {
        quantities.into_iter().flatten().for_each(|quantity| self.quantity(quantity));
    }
    fn asked(&mut self, asked: &Asked<Quantity>) {
        match asked {
            Asked::Known(quantity) => self.quantity(quantity),
            Asked::Asked(span) => (self.0)(*span, Piece::Question),
        }
    }
    fn amount(&mut self, amount: &Amount) {
        let piece = match amount.kind {
            AmountKind::Asked => Piece::Question,
            AmountKind::Measured(measure) => Piece::Quantity(measure, Of::Itself),
            AmountKind::Times(times, each) => Piece::Quantity(each.times(times), Of::Itself),
            AmountKind::All | AmountKind::Counted(..) | AmountKind::Share(_) => Piece::Amount,
        };
        (self.0)(amount.span, piece);
    }
}

/// Meets the pieces of a statement; their spans count in its block.
pub(crate) fn of_statement(statement: &Statement, met: &mut impl FnMut(Span, Piece)) {
    let mut pieces = Pieces(met);
    match &statement.kind {
        Kind::Range(q)
        | Kind::Attenuates(q)
        | Kind::Tolerates(q)
        | Kind::Needs(q)
        | Kind::Rate(q)
        | Kind::Generation(q)
        | Kind::Loses(q)
        | Kind::Hold(q)
        | Kind::Hops(q)
        | Kind::Target(q)
        | Kind::Holds(q)
        | Kind::LosesHeat(q) => pieces.quantity(q),
        Kind::Reuse(q) | Kind::Crash(q) | Kind::Boil(q) => q.iter().for_each(|q| pieces.quantity(q)),
        Kind::Makes(makes) => {
            makes.concentration.iter().for_each(|much| pieces.quantity_of(much, Of::Flavour));
            pieces.perhaps([&makes.at]);
        }
        Kind::Pack(pack) => pieces.quantity(&pack.cells),
        Kind::Sachet(sachet) => {
            pieces.quantity(&sachet.mass);
            pieces.perhaps([&sachet.cells]);
        }
        Kind::Slurry(slurry) => {
            pieces.amount(&slurry.amount);
            pieces.perhaps([&slurry.cells]);
        }
        Kind::Vial(vial) => pieces.quantity(&vial.volume),
        Kind::Dated(dated) => (pieces.0)(dated.span, Piece::Date),
        Kind::Wort(wort) => {
            pieces.asked(&wort.volume);
            pieces.asked(&wort.gravity);
        }
        Kind::WortOf(wort) => pieces.quantity(&wort.volume),
        Kind::Readings(readings) => (pieces.0)(readings.file.span, Piece::Text),
        Kind::Kept(kept) => pieces.quantity(&kept.temperature),
        Kind::Aerate(aerate) => {
            if let Some(duration) = &aerate.duration {
                pieces.asked(duration);
            }
            pieces.perhaps([&aerate.flow]);
        }
        Kind::Pitch(pitch) => {
            pitch.amount.iter().for_each(|amount| pieces.amount(amount));
            pieces.perhaps([&pitch.at]);
        }
        Kind::Reading(reading) => {
            let of = if reading.what == Measured::CarbonDioxide { Of::Gas } else { Of::Itself };
            pieces.quantity_of(&reading.value(statement.span), of);
            reading.at().iter().for_each(|at| pieces.quantity(at));
        }
        Kind::Set(set) => {
            pieces.quantity(&set.to);
            pieces.perhaps([&set.over]);
        }
        Kind::Add(add) => {
            pieces.amount(&add.amount);
            pieces.perhaps([&add.at]);
            add.wanted.iter().for_each(|wanted| pieces.quantity_of(wanted, Of::Gas));
        }
        Kind::Harvest(harvest) => pieces.amount(&harvest.amount),
        Kind::Count(count) => {
            if let Counted::Density(q) = &count.what {
                pieces.quantity(q);
            }
        }
        Kind::Viability(of) => pieces.quantity(&of.value),
        Kind::Wash(wash) => pieces.perhaps([&wash.ph, &wash.duration, &wash.at]),
        Kind::Rack(rack) => rack.amount.iter().for_each(|amount| pieces.amount(amount)),
        Kind::Decant(of) | Kind::Dump(of) => of.amount.iter().for_each(|amount| pieces.amount(amount)),
        Kind::Package(package) => {
            package.amount.iter().for_each(|amount| pieces.amount(amount));
            for with in &package.with {
                pieces.amount(&with.amount);
                pieces.perhaps([&with.at]);
            }
            let gas = [&package.for_co2, &package.rated];
            gas.into_iter().flatten().for_each(|q| pieces.quantity_of(q, Of::Gas));
            let filled_at = [&package.at_temperature, &package.at_pressure];
            filled_at.into_iter().flatten().for_each(|q| pieces.quantity(q));
        }
        Kind::Test(test) => pieces.perhaps([&test.value]),
        Kind::Taste(words) => words.iter().for_each(|word| (pieces.0)(*word, Piece::Text)),
        Kind::Note => (pieces.0)(Span::new(statement.span.start + 4, statement.span.end), Piece::Text),
        Kind::Organism(_)
        | Kind::Flocculates(_)
        | Kind::Diastatic
        | Kind::Slant
        | Kind::In(_)
        | Kind::Shaken
        | Kind::Stirred
        | Kind::Shape(_)
        | Kind::Krausen(_)
        | Kind::Clean(_)
        | Kind::Infected(_) => {}
    }
}
