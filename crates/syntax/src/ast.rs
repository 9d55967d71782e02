//! What a log says, typed, before anybody asks what it means.
//!
//! Every span in a [`Block`] counts from the block's first byte, so that typing above a block leaves it as it is.
//! A [`Statement`] is kept small (a 50 MB log has millions): what is rare or large stands in a box.

use std::num::NonZeroU32;
use std::sync::Arc;

use barm_quantity::{Measure, Unit};
use jiff::civil::Date;

use crate::{Problem, Span};

/// A log file as read: every byte of it lies in one block, what could not be read lies beside it in `problems`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Log {
    /// The blocks in order.
    pub blocks: Vec<Placed>,
    /// What could not be read, in order of place, by file offsets; at most 100.
    pub problems: Vec<Problem>,
    /// How many more there were.
    pub problems_left_out: u32,
}

/// A block and where it begins in its file.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Offset of the block's first byte in the file.
    pub start: u32,
    /// The block.
    pub block: Arc<Block>,
}

/// What a block describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BlockKind {
    /// An organism.
    Strain,
    /// A lot of yeast from outside, or one more timeline for a harvest.
    Culture,
    /// A small wort grown to raise yeast.
    Starter,
    /// A batch of beer.
    Brew,
    /// A fermenter, brink or cask.
    Vessel,
    /// A header that could not be read: its lines belong to nobody, so that they do not fall to the block above.
    Unknown,
    /// The lines of a file before its first block.
    Loose,
}

impl BlockKind {
    /// The word that opens such a block.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Strain => "strain",
            Self::Culture => "culture",
            Self::Starter => "starter",
            Self::Brew => "brew",
            Self::Vessel => "vessel",
            Self::Unknown | Self::Loose => "block",
        }
    }
}

/// One block: a header and the facts and events below it.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// What it describes.
    pub kind: BlockKind,
    /// Its length in bytes, up to where the next begins.
    pub len: u32,
    /// The header without its comment; empty for [`BlockKind::Loose`].
    pub header: Span,
    /// Its name, where one could be read.
    pub name: Option<Name>,
    /// The `"Title"` behind the name, quotes included.
    pub title: Option<Span>,
    /// The strains of `culture NAME of A + B`.
    pub strains: Vec<Name>,
    /// The days opened by `on`, in order of lines.
    pub days: Vec<Day>,
    /// Facts and events in order of lines.
    pub statements: Vec<Statement>,
    /// `# accept …` comments.
    pub acceptances: Vec<Acceptance>,
    /// What could not be read, by block offsets; at most 100, in order of place.
    pub problems: Vec<Problem>,
    /// How many more there were.
    pub problems_left_out: u32,
    /// What stands in it and tells nothing, because it could not be read; at most 100, in order of lines.
    pub lost: Vec<Lost>,
    /// A merge conflict stands in it: reported, and both sides left out of `statements`.
    pub in_conflict: bool,
}

impl Block {
    /// The lots that lines of it would declare if they could be read.
    pub fn lost_lots(&self) -> impl Iterator<Item = &Name> {
        let declares = |lost: &&Lost| matches!(lost.word, Some("culture" | "starter" | "brew" | "harvest"));
        self.lost.iter().filter(declares).filter_map(|lost| lost.name.as_ref())
    }
}

/// A name as written.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Name {
    /// Where it stands.
    pub span: Span,
    /// The name as typed (names are compared without letter case, in Unicode form NFC).
    pub text: Box<str>,
}

/// A header or an item that could not be read, or that stands under no day: what it would have told is not missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lost {
    /// Where it stands.
    pub span: Span,
    /// Its first word, or the one that it nearly has; `None` where nobody can tell.
    pub word: Option<&'static str>,
    /// The name that it would declare.
    pub name: Option<Name>,
}

/// `on DATE [HH:MM]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// From `on` to the date or time.
    pub span: Span,
    /// The date; `None` for `on ?`, and for one that could not be read, so that what happened on it has no date.
    pub date: Option<Date>,
    /// Whether it is `on ?`.
    pub asked: bool,
    /// The date as written.
    pub date_span: Span,
    /// Whether a `~` stands before it.
    pub about: bool,
    /// The time on the same line.
    pub time: Option<Clock>,
}

/// Which of [`Block::days`] a statement stands under: kept as one more than its position, so that an `Option` of it
/// needs no room of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayIndex(NonZeroU32);

impl DayIndex {
    /// The last of so many days; `None` of none.
    pub(crate) fn last_of(days: usize) -> Option<Self> {
        u32::try_from(days).ok().and_then(NonZeroU32::new).map(Self)
    }

    /// The position in [`Block::days`].
    #[must_use]
    pub const fn position(self) -> usize {
        self.0.get() as usize - 1
    }
}

/// A wall-clock time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Clock {
    /// Minutes since midnight, 0..1440.
    pub minutes: u16,
    /// Whether a `~` stands before it.
    pub about: bool,
}

/// A fact or an event.
#[derive(Debug, Clone, PartialEq)]
pub struct Statement {
    /// Where it stands, without its time and without the comma behind it.
    pub span: Span,
    /// Which of [`Block::days`]; `None` above the first `on`.
    pub day: Option<DayIndex>,
    /// The time before it on its line (shared by all events of the line).
    pub time: Option<Clock>,
    /// What it says.
    pub kind: Kind,
}

/// A quantity and where it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The value as written.
    pub measure: Measure,
    /// From its `~` or first digit to the end of its unit.
    pub span: Span,
}

/// Something known, or a `?`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Asked<T> {
    /// Written.
    Known(T),
    /// A question, and where it stands.
    Asked(Span),
}

impl<T> Asked<T> {
    /// What is known.
    #[must_use]
    pub const fn known(&self) -> Option<&T> {
        match self {
            Self::Known(value) => Some(value),
            Self::Asked(_) => None,
        }
    }
}

/// What a statement says. Facts first, then events.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    // --- facts of a strain (or of a culture or brew whose strain is unknown)
    /// `kind ale|lager|wild|bacteria`
    Organism(Organism),
    /// `range T`
    Range(Box<Quantity>),
    /// `attenuates N %`
    Attenuates(Box<Quantity>),
    /// `tolerates N %ABV`
    Tolerates(Box<Quantity>),
    /// `flocculates low|medium|high`
    Flocculates(Flocculation),
    /// `needs N ppm`
    Needs(Box<Quantity>),
    /// `rate R`
    Rate(Box<Quantity>),
    /// `reuse N generations`, or `None` for `reuse any`
    Reuse(Option<Box<Quantity>>),
    /// `diastatic`
    Diastatic,
    /// `makes FLAVOUR [C] [at T]`
    Makes(Box<Makes>),

    // --- facts of a culture
    /// `pack N × CELLS` (`count` may be a question only in amounts)
    Pack(Box<Pack>),
    /// `sachet N × MASS [CELLS/g]`
    Sachet(Box<Sachet>),
    /// `slurry V|MASS [thin|medium|thick|CELLS/mL]`
    Slurry(Box<Slurry>),
    /// `slant`
    Slant,
    /// `vial N × V`
    Vial(Box<Vial>),
    /// `made|best-before|harvested DATE|MONTH`
    Dated(Dated),
    /// `generation N`
    Generation(Box<Quantity>),
    /// `loses N %/month`
    Loses(Box<Quantity>),

    // --- facts of a starter or brew
    /// `wort V at G`, with either a question: `wort ? at 1.037`
    Wort(Box<Wort>),
    /// `wort V of BREW`
    WortOf(Box<WortOf>),
    /// `hold T`
    Hold(Box<Quantity>),
    /// `in VESSEL`
    In(Box<Name>),
    /// `hops N IBU`
    Hops(Box<Quantity>),
    /// `target R`
    Target(Box<Quantity>),
    /// `shaken`
    Shaken,
    /// `stirred`
    Stirred,
    /// `readings "FILE.csv" [columns C …]`
    Readings(Box<Readings>),

    // --- facts of a vessel
    /// `holds V`
    Holds(Box<Quantity>),
    /// `loses W/K`
    LosesHeat(Box<Quantity>),
    /// `shape flat|conical`
    Shape(Shape),

    // --- a fact before the first `on`, an event after it
    /// `kept T [LOT]`
    Kept(Box<Kept>),

    // --- events
    /// `aerate …`
    Aerate(Box<Aerate>),
    /// `pitch LOT …`
    Pitch(Box<Pitch>),
    /// `temp`, `gravity` … `[LOT] VALUE`
    Reading(Reading),
    /// `set T|PRESSURE [over DURATION]`
    Set(Box<Set>),
    /// `crash [T]`
    Crash(Option<Box<Quantity>>),
    /// `krausen …`
    Krausen(Krausen),
    /// `add AMOUNT [of] WHAT [at G] [for G]`
    Add(Box<Add>),
    /// `harvest NAME AMOUNT …`
    Harvest(Box<Harvest>),
    /// `count …`
    Count(Box<Count>),
    /// `viability [LOT] N %`
    Viability(Box<OfLot<Quantity>>),
    /// `wash [LOT] [ph N] [for DURATION] [at T]`
    Wash(Box<Wash>),
    /// `rack [AMOUNT] [to VESSEL]`
    Rack(Box<Rack>),
    /// `decant [LOT] [V]`
    Decant(Box<PartOfLot>),
    /// `dump [LOT] [AMOUNT]`, `decant [LOT] [VOLUME]`
    Dump(Box<PartOfLot>),
    /// `boil [DURATION]`
    Boil(Option<Box<Quantity>>),
    /// `clean [VESSEL]`
    Clean(Option<Box<Name>>),
    /// `bottle|keg|cask …`
    Package(Box<Package>),
    /// `test WHAT [pass|fail] [VALUE]`
    Test(Box<Test>),
    /// `infected [LOT or VESSEL]`
    Infected(Option<Box<Name>>),
    /// `taste WORDS, WORDS …`: a span for each comma-separated part
    Taste(Box<[Span]>),
    /// `note free text`; needs no day
    Note,
}

impl Kind {
    /// What is said where the same words stand so many bytes further on; `None` where it is as well read again.
    pub(crate) fn moved(&self, by: i64) -> Option<Self> {
        match self {
            _ if by == 0 => Some(self.clone()),
            Self::Reading(reading) => reading.moved(by).map(Self::Reading),
            Self::Organism(_)
            | Self::Flocculates(_)
            | Self::Reuse(None)
            | Self::Diastatic
            | Self::Slant
            | Self::Shaken
            | Self::Stirred
            | Self::Shape(_)
            | Self::Crash(None)
            | Self::Krausen(_)
            | Self::Boil(None)
            | Self::Clean(None)
            | Self::Infected(None)
            | Self::Note => Some(self.clone()),
            _ => None,
        }
    }

    /// Whether it happens at a moment, and so needs a day above it. `note` does not; `kept` may stand on either side.
    #[must_use]
    pub const fn is_event(&self) -> bool {
        matches!(
            self,
            Self::Aerate(_)
                | Self::Pitch(_)
                | Self::Reading(_)
                | Self::Set(_)
                | Self::Crash(_)
                | Self::Krausen(_)
                | Self::Add(_)
                | Self::Harvest(_)
                | Self::Count(_)
                | Self::Viability(_)
                | Self::Wash(_)
                | Self::Rack(_)
                | Self::Decant(_)
                | Self::Dump(_)
                | Self::Boil(_)
                | Self::Clean(_)
                | Self::Package(_)
                | Self::Test(_)
                | Self::Infected(_)
                | Self::Taste(_)
        )
    }
}

/// The kinds of organism.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum Organism {
    Ale,
    Lager,
    Wild,
    Bacteria,
}

/// How a strain flocculates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum Flocculation {
    Low,
    Medium,
    High,
}

/// A flavour that a strain makes.
#[derive(Debug, Clone, PartialEq)]
pub struct Makes {
    /// The flavour word.
    pub flavour: Name,
    /// How much, where it is known.
    pub concentration: Option<Quantity>,
    /// At which temperature.
    pub at: Option<Quantity>,
}

/// `pack N × CELLS`
#[derive(Debug, Clone, PartialEq)]
pub struct Pack {
    /// How many packs.
    pub count: f64,
    /// What the label says of each.
    pub cells: Quantity,
}

/// `sachet N × MASS [CELLS/g]`
#[derive(Debug, Clone, PartialEq)]
pub struct Sachet {
    /// How many sachets.
    pub count: f64,
    /// The mass of each.
    pub mass: Quantity,
    /// What the maker says of the cells.
    pub cells: Option<Quantity>,
}

/// How thick a slurry is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum Thickness {
    Thin,
    Medium,
    Thick,
}

/// `slurry V|MASS [thin|medium|thick|CELLS/mL]`
#[derive(Debug, Clone, PartialEq)]
pub struct Slurry {
    /// How much.
    pub amount: Amount,
    /// How thick, by word.
    pub thickness: Option<Thickness>,
    /// How thick, counted (total cells).
    pub cells: Option<Quantity>,
}

/// `vial N × V`
#[derive(Debug, Clone, PartialEq)]
pub struct Vial {
    /// How many.
    pub count: f64,
    /// The volume of each.
    pub volume: Quantity,
}

/// A date in a culture's life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dated {
    /// Which date it is.
    pub what: DatedWhat,
    /// The date; for a month, its middle.
    pub date: Date,
    /// Days either way: 15 for a month, 0 for a date.
    pub days_either_way: u8,
    /// Where the date stands.
    pub span: Span,
}

/// Which date in a culture's life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum DatedWhat {
    Made,
    BestBefore,
    Harvested,
}

/// `wort V at G`
#[derive(Debug, Clone, PartialEq)]
pub struct Wort {
    /// How much.
    pub volume: Asked<Quantity>,
    /// How strong.
    pub gravity: Asked<Quantity>,
}

/// `wort V of BREW`
#[derive(Debug, Clone, PartialEq)]
pub struct WortOf {
    /// How much.
    pub volume: Quantity,
    /// Of which brew's wort.
    pub brew: Name,
}

/// `readings "FILE.csv" [columns C …]`
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// The file's name, without its quotes.
    pub file: Name,
    /// The columns, as written; empty: the heading is used.
    pub columns: Vec<Name>,
}

/// A vessel's shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum Shape {
    Flat,
    Conical,
}

/// `kept T [LOT]`
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// At which temperature.
    pub temperature: Quantity,
    /// Which lot; left out: the block itself, or the lot of the `harvest` or `bottle` before it on the line.
    pub lot: Option<Name>,
}

/// How oxygen got in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum Aeration {
    Shake,
    Splash,
    Air,
    Oxygen,
}

/// `aerate METHOD [DURATION] [at FLOW]`
#[derive(Debug, Clone, PartialEq)]
pub struct Aerate {
    /// How.
    pub method: Aeration,
    /// How long.
    pub duration: Option<Asked<Quantity>>,
    /// At which flow.
    pub flow: Option<Quantity>,
}

/// An amount of something.
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// Where it stands.
    pub span: Span,
    /// What it says.
    pub kind: AmountKind,
}

/// The forms of an amount.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AmountKind {
    /// `?`
    Asked,
    /// `all`, `rest`
    All,
    /// A volume, mass, number of cells, or a dose (`6 g/L`).
    Measured(Measure),
    /// `2 × 11 g`, `12 x 330 mL`
    Times(f64, Measure),
    /// `2 packs`, `1 sachet`, `1 vial`, `1 loop`
    Counted(f64, Container),
    /// `1/4` of what is left
    Share(f64),
}

/// What yeast is sold or kept in, and what is counted for want of a balance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum Container {
    Pack,
    Sachet,
    Vial,
    Loop,
    /// A tablet, a pod, a pinch: nothing that extract or yeast is reckoned from.
    Piece,
}

/// `pitch LOT [AMOUNT] [rehydrated|sprinkled] [at T]`
#[derive(Debug, Clone, PartialEq)]
pub struct Pitch {
    /// What is pitched.
    pub lot: Name,
    /// How much; left out: all that is left.
    pub amount: Option<Amount>,
    /// How dry yeast went in.
    pub dry: Option<DryPitch>,
    /// The yeast's temperature.
    pub at: Option<Quantity>,
}

/// How dry yeast went in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum DryPitch {
    Rehydrated,
    Sprinkled,
}

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Measured {
    /// `temp`: the beer.
    Temperature,
    /// `ambient`: the air around it.
    Ambient,
    /// `gravity`
    Gravity,
    /// `brix`: a refractometer's reading.
    Brix,
    /// `ph`
    Acidity,
    /// `volume`
    Volume,
    /// `pressure`
    Pressure,
    /// `oxygen`: dissolved.
    Oxygen,
    /// `co2`: carbonation.
    CarbonDioxide,
}

/// A reading. Most statements of a log are readings of one plain number: that stands here, packed, and what fewer say
/// besides stands in a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was measured.
    pub what: Measured,
    unit: Unit,
    about: bool,
    place: ShortSpan,
    low: f64,
    more: Option<Box<More>>,
}

/// A place that counts from the first byte of its statement; lines are short enough for that.
#[derive(Debug, Clone, Copy, PartialEq)]
struct ShortSpan {
    start: u16,
    len: u16,
}

/// What a reading may say besides one plain number.
#[derive(Debug, Clone, PartialEq)]
struct More {
    high: f64,
    plus_minus: f32,
    lot: Option<Box<Name>>,
    at: Option<Quantity>,
}

impl Reading {
    /// A reading in a statement that begins at `start`.
    pub(crate) fn new(
        what: Measured,
        value: Quantity,
        start: u32,
        lot: Option<Name>,
        at: Option<Quantity>,
    ) -> Self {
        let Measure { low, high, plus_minus, unit, about } = value.measure;
        let short = |length: u32| u16::try_from(length).unwrap_or(u16::MAX);
        let place =
            ShortSpan { start: short(value.span.start.saturating_sub(start)), len: short(value.span.len()) };
        let plain = low == high && plus_minus == 0.0 && lot.is_none() && at.is_none();
        let more = (!plain).then(|| Box::new(More { high, plus_minus, lot: lot.map(Box::new), at }));
        Self { what, unit, about, place, low, more }
    }

    /// The same where it stands so many bytes further on; its own value is counted from its statement.
    fn moved(&self, by: i64) -> Option<Self> {
        let mut moved = self.clone();
        if let Some(more) = &mut moved.more {
            if let Some(at) = &mut more.at {
                at.span = at.span.moved(by)?;
            }
            if let Some(lot) = &mut more.lot {
                lot.span = lot.span.moved(by)?;
            }
        }
        Some(moved)
    }

    /// The value as written.
    #[must_use]
    pub fn measure(&self) -> Measure {
        let (high, plus_minus) = self.more.as_ref().map_or((self.low, 0.0), |m| (m.high, m.plus_minus));
        Measure { low: self.low, high, plus_minus, unit: self.unit, about: self.about }
    }

    /// The value and where it stands, in the statement that lies at `statement`.
    #[must_use]
    pub fn value(&self, statement: Span) -> Quantity {
        let start = statement.start + u32::from(self.place.start);
        Quantity { measure: self.measure(), span: Span::new(start, start + u32::from(self.place.len)) }
    }

    /// Of which lot; left out: the block itself.
    #[must_use]
    pub fn lot(&self) -> Option<&Name> {
        self.more.as_ref()?.lot.as_deref()
    }

    /// The sample's temperature (`gravity 1.012 at 18 °C`).
    #[must_use]
    pub fn at(&self) -> Option<&Quantity> {
        self.more.as_ref()?.at.as_ref()
    }
}

/// `set T|PRESSURE [over DURATION]`
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// The set-point.
    pub to: Quantity,
    /// Reached over so long.
    pub over: Option<Quantity>,
}

/// How high the krausen stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum Krausen {
    None,
    Rising,
    High,
    Fallen,
}

/// `add AMOUNT [of] WHAT [at G] [for G]`
#[derive(Debug, Clone, PartialEq)]
pub struct Add {
    /// How much.
    pub amount: Amount,
    /// What, words joined by single spaces as written.
    pub what: Name,
    /// Its gravity (`add 2 L wort at 1.048`), or the alpha acid of hops (`at 5 %`).
    pub at: Option<Quantity>,
    /// The gravity wanted (`add ? water for 1.044`), the bitterness (`for 10 IBU`) or the carbonation (`for 2.3 vol`).
    pub wanted: Option<Quantity>,
}

/// Where yeast is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum HarvestFrom {
    Top,
    Bottom,
}

/// `harvest NAME AMOUNT [thin|medium|thick] [from top|bottom] [in VESSEL]`
#[derive(Debug, Clone, PartialEq)]
pub struct Harvest {
    /// The new lot's name.
    pub name: Name,
    /// How much.
    pub amount: Amount,
    /// How thick.
    pub thickness: Option<Thickness>,
    /// From where.
    pub from: Option<HarvestFrom>,
    /// In which jar.
    pub vessel: Option<Name>,
}

/// `count …`
#[derive(Debug, Clone, PartialEq)]
pub struct Count {
    /// Of which lot.
    pub lot: Option<Name>,
    /// What was counted.
    pub what: Counted,
}

/// What was counted.
#[derive(Debug, Clone, PartialEq)]
pub enum Counted {
    /// Cells under the microscope.
    Squares {
        /// Live cells, one number a square where given singly, otherwise one for all.
        live: Vec<u32>,
        /// Whether `live` is given square by square.
        singly: bool,
        /// How many squares.
        squares: u32,
        /// Dead (stained) cells in all squares.
        dead: u32,
        /// `1:N`: one part made up to N; 1 where none was written.
        dilution: f64,
        /// Whether a dilution was written.
        diluted: bool,
    },
    /// A density: total cells.
    Density(Quantity),
}

/// Something said of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct OfLot<T> {
    /// Of which lot; left out: the block itself.
    pub lot: Option<Name>,
    /// What.
    pub value: T,
}

/// `wash [LOT] [ph N] [for DURATION] [at T]`
#[derive(Debug, Clone, PartialEq)]
pub struct Wash {
    /// Which lot.
    pub lot: Option<Name>,
    /// The acid's pH; left out: water.
    pub ph: Option<Quantity>,
    /// How long.
    pub duration: Option<Quantity>,
    /// At which temperature.
    pub at: Option<Quantity>,
}

/// `rack [AMOUNT] [to VESSEL]`
#[derive(Debug, Clone, PartialEq)]
pub struct Rack {
    /// How much.
    pub amount: Option<Amount>,
    /// Where to.
    pub to: Option<Name>,
}

/// `dump [LOT] [AMOUNT]`
#[derive(Debug, Clone, PartialEq)]
pub struct PartOfLot {
    /// Which lot.
    pub lot: Option<Name>,
    /// How much; left out: all of it.
    pub amount: Option<Amount>,
}

/// What beer is packaged in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum PackageKind {
    Bottle,
    Keg,
    Cask,
}

/// `bottle|keg|cask AMOUNT [with AMOUNT WHAT [at G]] [for CO2] [at T] [at PRESSURE] [rated CO2|PRESSURE]`
#[derive(Debug, Clone, PartialEq)]
pub struct Package {
    /// Into what.
    pub kind: PackageKind,
    /// How much; left out: all.
    pub amount: Option<Amount>,
    /// What was added.
    pub with: Vec<Priming>,
    /// The carbonation wanted.
    pub for_co2: Option<Box<Quantity>>,
    /// The beer's warmest temperature since it worked, or what it is filled at under a pressure.
    pub at_temperature: Option<Box<Quantity>>,
    /// Pressure put on.
    pub at_pressure: Option<Box<Quantity>>,
    /// What the glass is made for.
    pub rated: Option<Box<Quantity>>,
    /// What bottles they are, where that matters to what they hold.
    pub holder: Option<Holder>,
}

/// Bottles that hold more or less than beer glass does: `10 × 1 L PET`, `6 × 2 L growlers`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holder {
    /// PET, as of soda.
    Plastic,
    /// A jug that is filled cold from the tap.
    Growler,
    /// Glass that is made for what has no gas: wine bottles, jars.
    Still,
}

/// What is added at packaging.
#[derive(Debug, Clone, PartialEq)]
pub struct Priming {
    /// How much.
    pub amount: Amount,
    /// What.
    pub what: Name,
    /// Its gravity.
    pub at: Option<Quantity>,
}

/// `test WHAT [pass|fail] [VALUE]`
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Which test.
    pub what: Name,
    /// How it went.
    pub passed: Option<bool>,
    /// What it showed.
    pub value: Option<Quantity>,
}

/// `# accept RULE, RULE: reason`
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acceptance {
    /// From `accept` to the end of the line.
    pub span: Span,
    /// The rules named.
    pub rules: Vec<Name>,
    /// The reason; `None` where none was given.
    pub reason: Option<Span>,
    /// Where it holds.
    pub covers: Covers,
}

/// Where an acceptance holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Covers {
    /// On a line, or in a whole block: where the finding's primary span begins.
    Span(Span),
    /// On the header of the block below: it stood alone on the last line of this one.
    NextHeader,
}
