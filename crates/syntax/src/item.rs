//! From the pieces that the grammar found in an item to what the item says.

use crate::ast::*;
use crate::cut::is_space;
use crate::explain::time::{Context, bad_date};
use crate::explain::{
    about_for_lot, asks_at, by_eye, dose_in_words, fraction_problem, in_holder, is_form, is_piece, is_sweet,
    may_be_a_note, misspelt, of_one_size, of_two_lands, semicolon, unit_problem,
};
use crate::grammar::{self, Piece, Pieces, Rule};
use crate::place::skip_spaces;
use crate::value::{Values, Want, unit};
use crate::words::{Means, WORDS, Word};
use crate::{Fix, Problem, ProblemKind, Span, date};
use barm_quantity::{Dimension, Unit};

/// Whether a name is a word of the language.
pub(crate) fn is_reserved(name: &str) -> bool {
    name.eq_ignore_ascii_case("all") || name.eq_ignore_ascii_case("rest")
}

/// The longest name, in characters.
const NAME_LENGTH: usize = 64;

impl Values<'_> {
    /// What an item says; `None` where something in it is wrong, which is then reported.
    pub(crate) fn kind(&mut self, word: &'static Word, mut pieces: Pieces<'_>) -> Option<Kind> {
        let pieces = &mut pieces;
        Some(match word.means {
            Means::Organism => Kind::Organism(self.choice(pieces, &ORGANISMS)?),
            Means::Range => Kind::Range(self.boxed(pieces, &Want::TEMPERATURE)?),
            Means::Attenuates => Kind::Attenuates(self.boxed(pieces, &Want::ATTENUATION)?),
            Means::Tolerates => Kind::Tolerates(self.boxed(pieces, &Want::ALCOHOL)?),
            Means::Flocculates => Kind::Flocculates(self.choice(pieces, &FLOCCULATIONS)?),
            Means::Needs => Kind::Needs(self.boxed(pieces, &Want::OXYGEN)?),
            Means::Rate => Kind::Rate(self.boxed(pieces, &Want::RATE)?),
            Means::Reuse => match pieces.next()? {
                piece if piece.as_rule() == Rule::any => Kind::Reuse(None),
                piece => Kind::Reuse(Some(Box::new(self.known(piece, &Want::GENERATIONS)?))),
            },
            Means::Diastatic => Kind::Diastatic,
            Means::Makes => self.makes(pieces)?,
            Means::Pack | Means::Sachet | Means::Vial => self.packed(word.means, pieces)?,
            Means::Slurry => self.slurry(pieces)?,
            Means::Slant => Kind::Slant,
            Means::Dated(what) => self.dated(what, &pieces.next()?)?,
            Means::Generation => Kind::Generation(self.boxed(pieces, &Want::NUMBER)?),
            Means::Loses => match self.boxed(pieces, &Want::LOSS)? {
                loss if loss.measure.dimension() == Dimension::HeatLoss => Kind::LosesHeat(loss),
                loss => Kind::Loses(loss),
            },
            Means::Wort => self.wort(pieces)?,
            Means::Hold => Kind::Hold(self.boxed(pieces, &Want::TEMPERATURE)?),
            Means::In => Kind::In(Box::new(self.name(&pieces.next()?)?)),
            Means::Hops => Kind::Hops(self.boxed(pieces, &Want::BITTERNESS)?),
            Means::Target => Kind::Target(self.boxed(pieces, &Want::RATE)?),
            Means::Shaken => Kind::Shaken,
            Means::Stirred => Kind::Stirred,
            Means::Readings => self.readings(pieces)?,
            Means::Holds => Kind::Holds(self.boxed(pieces, &Want::VOLUME)?),
            Means::Shape => Kind::Shape(self.choice(pieces, &SHAPES)?),
            Means::Kept => {
                let temperature = self.single(pieces, &Want::KEPT);
                let lot = self.lot(pieces);
                Kind::Kept(Box::new(Kept { temperature: temperature?, lot: lot? }))
            }
            Means::Aerate => self.aerate(pieces)?,
            Means::Pitch => self.pitch(pieces)?,
            Means::Reading(what) => self.reading(what, pieces)?,
            Means::Set => {
                let to = self.single(pieces, &Want::SET_POINT);
                let over = self.within(pieces.next_if(Rule::over), &Want::LONG_DURATION);
                Kind::Set(Box::new(Set { to: to?, over: over? }))
            }
            Means::Crash => Kind::Crash(self.perhaps(pieces, &Want::TEMPERATURE)?.map(Box::new)),
            Means::Krausen => Kind::Krausen(self.choice(pieces, &KRAUSEN)?),
            Means::Add => self.add(pieces)?,
            Means::Harvest => self.harvest(pieces)?,
            Means::Count => self.counting(pieces)?,
            Means::Viability => {
                let lot = self.lot(pieces);
                let value = self.single(pieces, &Want::SHARE);
                Kind::Viability(Box::new(OfLot { lot: lot?, value: value? }))
            }
            Means::Wash => self.wash(pieces)?,
            Means::Rack => {
                let amount = self.amount_or_all(pieces, &Want::BEER, false);
                let to = match pieces.next_if(Rule::to) {
                    Some(piece) => self.name_within(piece).map(Some),
                    None => Some(None),
                };
                Kind::Rack(Box::new(Rack { amount: amount?, to: to? }))
            }
            Means::Decant => Kind::Decant(Box::new(self.part_of_lot(pieces, &Want::BEER)?)),
            Means::Dump => Kind::Dump(Box::new(self.part_of_lot(pieces, &Want::DUMPED)?)),
            Means::Boil => Kind::Boil(self.perhaps(pieces, &Want::DURATION)?.map(Box::new)),
            Means::Clean => Kind::Clean(self.lot(pieces)?.map(Box::new)),
            Means::Package(kind) => self.package(kind, pieces)?,
            Means::Test => self.test(pieces)?,
            Means::Infected => Kind::Infected(self.lot(pieces)?.map(Box::new)),
            // These take the rest of the line, which no rule reads.
            Means::Taste | Means::Note => return None,
        })
    }

    fn part_of_lot(&mut self, pieces: &mut Pieces<'_>, want: &'static Want) -> Option<PartOfLot> {
        let lot = self.lot(pieces);
        let amount = self.amount_or_all(pieces, want, false);
        Some(PartOfLot { lot: lot?, amount: amount? })
    }

    fn single(&mut self, pieces: &mut Pieces<'_>, want: &'static Want) -> Option<Quantity> {
        self.known(pieces.next()?, want)
    }

    fn boxed(&mut self, pieces: &mut Pieces<'_>, want: &'static Want) -> Option<Box<Quantity>> {
        self.single(pieces, want).map(Box::new)
    }

    /// The outer `None` says that it is there and wrong.
    #[expect(clippy::option_option, reason = "wrong, missing and there are three things")]
    fn perhaps(&mut self, pieces: &mut Pieces<'_>, want: &'static Want) -> Option<Option<Quantity>> {
        match pieces.next_if(Rule::measure).or_else(|| pieces.next_if(Rule::ask)) {
            Some(piece) => self.known(piece, want).map(Some),
            None => Some(None),
        }
    }

    /// The value in `at …`, `for …`, `over …`.
    #[expect(clippy::option_option, reason = "wrong, missing and there are three things")]
    fn within(&mut self, piece: Option<Piece<'_>>, want: &'static Want) -> Option<Option<Quantity>> {
        match piece {
            Some(piece) => self.known(Pieces::of(piece).next()?, want).map(Some),
            None => Some(None),
        }
    }

    #[expect(clippy::option_option, reason = "wrong, missing and there are three things")]
    fn amount_or_all(
        &mut self,
        pieces: &mut Pieces<'_>,
        want: &'static Want,
        may_ask: bool,
    ) -> Option<Option<Amount>> {
        match pieces.next_if(Rule::amount) {
            Some(piece) => self.amount(piece, want, may_ask).map(Some),
            None => Some(None),
        }
    }

    /// A name, not too long.
    pub(crate) fn name(&mut self, piece: &Piece<'_>) -> Option<Name> {
        let span = self.span(piece);
        if is_reserved(piece.as_str()) {
            self.sink.report(|| {
                let message = format!("`{}` is a word of the language and no name", piece.as_str());
                Problem::new(ProblemKind::UnreadableLine, span, message)
                    .help("it says all that is left of a lot")
                    .fix(Fix::replace(span, format!("{}-1", piece.as_str())))
            });
            return None;
        }
        if piece.as_str().len() > NAME_LENGTH && piece.as_str().chars().count() > NAME_LENGTH {
            self.sink.report(|| {
                let message = format!("a name has at most {NAME_LENGTH} characters");
                Problem::new(ProblemKind::UnreadableLine, span, message)
                    .help("what else there is to say fits in a \"Title\" or a note")
            });
            return None;
        }
        Some(Name { span, text: piece.as_str().into() })
    }

    /// Words, single spaces between them.
    fn words(&self, piece: &Piece<'_>) -> Name {
        let text = piece.as_str();
        let joined: String = if text.contains(|c: char| c.is_whitespace()) {
            text.split_whitespace().collect::<Vec<_>>().join(" ")
        } else {
            text.to_owned()
        };
        Name { span: self.span(piece), text: joined.into() }
    }

    #[expect(clippy::option_option, reason = "wrong, missing and there are three things")]
    fn lot(&mut self, pieces: &mut Pieces<'_>) -> Option<Option<Name>> {
        match pieces.next_if(Rule::name) {
            Some(piece) => self.name(&piece).map(Some),
            None => Some(None),
        }
    }

    /// The name in `to …`, `in …`.
    fn name_within(&mut self, piece: Piece<'_>) -> Option<Name> {
        self.name(&Pieces::of(piece).next()?)
    }

    /// One of a few words.
    fn choice<T: Copy>(&mut self, pieces: &mut Pieces<'_>, choices: &Choices<T>) -> Option<T> {
        let piece = pieces.next()?;
        let (span, text, word) = (self.span(&piece), piece.as_str(), self.word);
        if let Some((_, value)) = choices.words.iter().find(|(word, _)| word.eq_ignore_ascii_case(text)) {
            return Some(*value);
        }
        self.sink.report(|| choices.refused(word, text, span));
        None
    }

    /// A part that an item has once. Says so where it stands twice.
    fn once<T>(&mut self, slot: &mut Option<T>, piece: &Piece<'_>, read: Option<T>) -> Option<()> {
        if slot.is_some() {
            let (span, word) = (self.span(piece), self.word);
            self.sink.report(|| {
                let message = format!("`{}` is said a second time in one `{word}`", shown(piece.as_str()));
                Problem::new(ProblemKind::UnreadableLine, span, message).help("take one of the two out")
            });
            return None;
        }
        *slot = Some(read?);
        Some(())
    }

    fn makes(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let flavour = self.words(&pieces.next()?);
        let concentration = self.perhaps(pieces, &Want::CONCENTRATION);
        let at = self.within(pieces.next_if(Rule::at), &Want::TEMPERATURE);
        Some(Kind::Makes(Box::new(Makes { flavour, concentration: concentration?, at: at? })))
    }

    fn packed(&mut self, means: Means, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let want = match means {
            Means::Pack => &Want::CELLS,
            Means::Sachet => &Want::MASS,
            _ => &Want::SMALL_VOLUME,
        };
        let packs = pieces.next().and_then(|piece| self.packs(piece, want));
        let cells = match pieces.next_if(Rule::measure) {
            Some(piece) if means == Means::Sachet => self.known(piece, &Want::CELLS_IN_MASS).map(Some),
            Some(piece) => {
                let (span, word) = (self.span(&piece), self.word);
                self.sink.report(|| {
                    let message = format!("`{}` is one value too many for a `{word}`", piece.as_str());
                    Problem::new(ProblemKind::UnreadableLine, span, message)
                });
                None
            }
            None => Some(None),
        };
        let ((count, each), cells) = (packs?, cells?);
        Some(match means {
            Means::Pack => Kind::Pack(Box::new(Pack { count, cells: each })),
            Means::Sachet => Kind::Sachet(Box::new(Sachet { count, mass: each, cells })),
            _ => Kind::Vial(Box::new(Vial { count, volume: each })),
        })
    }

    fn slurry(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let amount = pieces.next().and_then(|piece| self.amount(piece, &Want::SLURRY, false));
        let thickness = pieces.next_if(Rule::thickness).map(|piece| thickness(&piece));
        let cells = match pieces.next_if(Rule::measure) {
            Some(piece) => self.known(piece, &Want::DENSITY).map(Some),
            None => Some(None),
        };
        Some(Kind::Slurry(Box::new(Slurry { amount: amount?, thickness, cells: cells? })))
    }

    fn dated(&mut self, what: DatedWhat, piece: &Piece<'_>) -> Option<Kind> {
        let (span, text) = (self.span(piece), piece.as_str());
        if let Some((month, day)) = about_a_day(text) {
            let word = self.word;
            self.sink.report(|| {
                let message = format!("`{word}` takes no `~`: a month is half of one either way, `{month}`");
                Problem::new(ProblemKind::UnreadableLine, span, message)
                    .fix(Fix::replace(span, month))
                    .fix(Fix::replace(span, day))
            });
            return None;
        }
        let read = match date::read_month(text) {
            Some(month) => month,
            None => date::read(text).map(|date| (date, 0)),
        };
        match read {
            Ok((date, days_either_way)) => Some(Kind::Dated(Dated { what, date, days_either_way, span })),
            Err(fault) => {
                self.sink
                    .report(|| bad_date(fault, span, text, Context { months: true, ..Context::default() }));
                None
            }
        }
    }

    fn wort(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let volume = pieces.next().and_then(|piece| self.asked(piece, &Want::VOLUME));
        let behind = pieces.next()?;
        if behind.as_rule() == Rule::of_brew {
            let brew = self.name_within(behind);
            let volume = match volume? {
                Asked::Known(volume) => Some(volume),
                Asked::Asked(span) => {
                    self.sink.report(|| {
                        Problem::new(ProblemKind::UnreadableLine, span, "how much of that wort went in here?")
                            .help("a part of another brew's wort needs its volume, such as `wort 10 L of porter-1`")
                    });
                    None
                }
            };
            return Some(Kind::WortOf(Box::new(WortOf { volume: volume?, brew: brew? })));
        }
        let gravity = Pieces::of(behind).next().and_then(|piece| self.asked(piece, &Want::GRAVITY));
        let (volume, gravity) = (volume?, gravity?);
        if let Some(known) = volume.known().filter(|known| known.measure.high <= 0.0) {
            self.nothing(known.span);
            return None;
        }
        Some(Kind::Wort(Box::new(Wort { volume, gravity })))
    }

    fn readings(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let quote = pieces.next()?;
        let span = self.span(&quote);
        let file = Name { span, text: quote.as_str().trim_matches('"').into() };
        let mut columns = Vec::new();
        let mut good = true;
        if file.text.trim().is_empty() {
            self.sink
                .report(|| Problem::new(ProblemKind::UnreadableLine, span, "which file? its name is empty"));
            good = false;
        }
        while let Some(piece) = pieces.next_if(Rule::column) {
            good &= self.column(&piece);
            columns.push(Name { span: self.span(&piece), text: piece.as_str().into() });
        }
        good.then(|| Kind::Readings(Box::new(Readings { file, columns })))
    }

    /// Whether a column is `time`, `-`, or a reading's word with a unit that fits it: `temp/°C`.
    fn column(&mut self, piece: &Piece<'_>) -> bool {
        let text = piece.as_str();
        let (name, unit) = match text.split_once('/') {
            Some((name, unit)) => (name, Some(unit)),
            None => (text, None),
        };
        if matches!(text, "-" | "–") || name.eq_ignore_ascii_case("time") {
            return true;
        }
        let want = WORDS.iter().find_map(|entry| match entry.means {
            Means::Reading(what) if entry.word.eq_ignore_ascii_case(name) => Some(wanted(what)),
            _ => None,
        });
        let fits = want.is_some_and(|want| match unit {
            Some(unit) => Unit::read(unit).is_some_and(|unit| want.accepts(unit)),
            None => want.is_bare(),
        });
        if !fits {
            let span = self.span(piece);
            self.sink.report(|| {
                let message = match want {
                    Some(want) => format!("the column `{}` needs the unit of {}", shown(text), want.what()),
                    None => format!("`{}` is no column that a logger's file can have here", shown(text)),
                };
                Problem::new(ProblemKind::UnreadableLine, span, message)
                    .help("a column is `time`, a reading with its unit such as `temp/°C`, or `-` to skip it")
            });
        }
        fits
    }

    fn aerate(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let method = match pieces.next()?.as_str().to_ascii_lowercase().as_str() {
            "shake" => Aeration::Shake,
            "splash" => Aeration::Splash,
            "air" => Aeration::Air,
            _ => Aeration::Oxygen,
        };
        let duration = match pieces.next_if(Rule::measure).or_else(|| pieces.next_if(Rule::ask)) {
            Some(piece) => self.asked(piece, &Want::SHORT_DURATION).map(Some),
            None => Some(None),
        };
        let flow = self.within(pieces.next_if(Rule::at), &Want::FLOW);
        Some(Kind::Aerate(Box::new(Aerate { method, duration: duration?, flow: flow? })))
    }

    fn pitch(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let lot = self.name(&pieces.next()?);
        let (mut amount, mut dry, mut at) = (None, None, None);
        let mut good = true;
        for piece in pieces {
            good &= match piece.as_rule() {
                Rule::amount => {
                    let read = self.amount(piece.clone(), &Want::YEAST, true);
                    self.once(&mut amount, &piece, read)
                }
                Rule::dry => {
                    let rehydrated = piece.as_str().eq_ignore_ascii_case("rehydrated");
                    let how = if rehydrated { DryPitch::Rehydrated } else { DryPitch::Sprinkled };
                    self.once(&mut dry, &piece, Some(how))
                }
                Rule::at => {
                    let read = self.within(Some(piece.clone()), &Want::TEMPERATURE).flatten();
                    self.once(&mut at, &piece, read)
                }
                _ => Some(()),
            }
            .is_some();
        }
        let lot = lot?;
        good.then(|| Kind::Pitch(Box::new(Pitch { lot, amount, dry, at })))
    }

    fn reading(&mut self, what: Measured, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let mut lot = self.lot(pieces);
        let next = pieces.peek().map(|piece| self.span(&piece));
        if let (Some(Some(name)), Some(value)) = (&lot, next)
            && let Some(problem) = about_for_lot(name, value)
        {
            self.sink.report(|| problem);
            lot = Some(None);
        }
        let value = self.single(pieces, wanted(what));
        let at = match pieces.next_if(Rule::at) {
            None => Some(None),
            at => self.within(at, &Want::SAMPLE),
        };
        Some(Kind::Reading(Reading::new(what, value?, self.start, lot?, at?)))
    }

    fn add(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let (amount, what) = self.amount_of(pieces, None)?;
        let (mut at, mut wanted) = (None, None);
        let mut good = true;
        for piece in pieces {
            let (slot, want) = match piece.as_rule() {
                Rule::at if is_wort(&what.text) => (&mut at, &Want::GRAVITY),
                Rule::at => (&mut at, &Want::ADDED_AT),
                Rule::r#for => (&mut wanted, &Want::ADDED_FOR),
                _ => continue,
            };
            let read = self.within(Some(piece.clone()), want).flatten();
            good &= self.once(slot, &piece, read).is_some();
        }
        let amount = amount?;
        good.then(|| Kind::Add(Box::new(Add { amount, what, at, wanted })))
    }

    fn harvest(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let name = self.name(&pieces.next()?);
        let amount = pieces.next().and_then(|piece| self.amount(piece, &Want::SLURRY, false));
        let (mut thick, mut from, mut vessel) = (None, None, None);
        let mut good = true;
        for piece in pieces {
            good &= match piece.as_rule() {
                Rule::thickness => self.once(&mut thick, &piece, Some(thickness(&piece))),
                Rule::from => {
                    let top = piece.as_str().to_ascii_lowercase().ends_with("top");
                    let end = if top { HarvestFrom::Top } else { HarvestFrom::Bottom };
                    self.once(&mut from, &piece, Some(end))
                }
                Rule::inside => {
                    let read = self.name_within(piece.clone());
                    self.once(&mut vessel, &piece, read)
                }
                _ => Some(()),
            }
            .is_some();
        }
        let (name, amount) = (name?, amount?);
        good.then(|| Kind::Harvest(Box::new(Harvest { name, amount, thickness: thick, from, vessel })))
    }

    fn counting(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let lot = self.lot(pieces);
        let piece = pieces.next()?;
        let what = if piece.as_rule() == Rule::squares {
            self.squares(piece)
        } else {
            self.known(piece, &Want::DENSITY).map(Counted::Density)
        };
        Some(Kind::Count(Box::new(Count { lot: lot?, what: what? })))
    }

    fn squares(&mut self, piece: Piece<'_>) -> Option<Counted> {
        let whole = self.span(&piece);
        let mut pieces = Pieces::of(piece);
        let first = pieces.next()?;
        let mut good = true;
        let mut live = Vec::new();
        let mut squares = None;
        let singly = first.as_rule() == Rule::singly;
        let (mut counts, mut dead, mut diluted) = (None, None, None);
        if singly {
            counts = Some(first);
        } else {
            squares = Pieces::of(first).next().and_then(|piece| self.whole(&piece));
            good = squares.is_some();
        }
        for piece in pieces {
            match piece.as_rule() {
                Rule::live => counts = Some(piece),
                Rule::dead => dead = Pieces::first(piece).and_then(|piece| self.whole(&piece)),
                _ => diluted = Some(piece),
            }
        }
        for count in Pieces::of(counts?) {
            match self.whole(&count) {
                Some(count) => live.push(count),
                None => good = false,
            }
        }
        live.shrink_to_fit();
        let squares = squares.or_else(|| u32::try_from(live.len()).ok());
        let is_diluted = diluted.is_some();
        let dilution = diluted.map_or(Some(1.0), |piece| self.dilution(piece));
        if squares == Some(0) {
            self.sink.report(|| {
                Problem::new(ProblemKind::ImpossibleValue, whole, "a count has at least one square")
                    .help("such as `count 5 squares 231 live 9 dead 1:200`")
            });
            return None;
        }
        let (squares, dead, dilution) = (squares?, dead?, dilution?);
        if good && dead == 0 && live.iter().all(|count| *count == 0) {
            self.sink.report(|| {
                Problem::new(ProblemKind::ImpossibleValue, whole, "a count of no cells tells nothing")
                    .help("count more squares, or thin the sample less")
            });
            return None;
        }
        good.then_some(Counted::Squares { live, singly, squares, dead, dilution, diluted: is_diluted })
    }

    fn wash(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let lot = self.lot(pieces);
        let (mut ph, mut duration, mut at) = (None, None, None);
        let mut good = true;
        for piece in pieces {
            let (slot, want) = match piece.as_rule() {
                Rule::ph => (&mut ph, &Want::ACIDITY),
                Rule::r#for => (&mut duration, &Want::DURATION),
                Rule::at => (&mut at, &Want::TEMPERATURE),
                _ => continue,
            };
            let read = self.within(Some(piece.clone()), want).flatten();
            good &= self.once(slot, &piece, read).is_some();
        }
        let lot = lot?;
        good.then(|| Kind::Wash(Box::new(Wash { lot, ph, duration, at })))
    }

    fn package(&mut self, kind: PackageKind, pieces: &mut Pieces<'_>) -> Option<Kind> {
        // How many they are is known even where it is not what each holds.
        let bottles = pieces.peek().and_then(|piece| number_of_times(&piece));
        let amount = match pieces.next_if(Rule::amount) {
            Some(piece) if is_number_of(&piece, pieces.peek()) => self.of_which_size(&piece, kind),
            Some(piece) if is_number_of_sizes(&piece, pieces.peek()) => {
                let sizes = pieces.next()?;
                self.without_times(&piece, &sizes)
            }
            Some(piece) => self.amount(piece, &Want::BEER, false).map(Some),
            None => Some(None),
        };
        let mut good = amount.is_some();
        // What goes in, if it could not be read, may be what a gravity is of.
        let mut lost = false;
        let mut package = Package {
            kind,
            amount: amount.flatten(),
            with: Vec::new(),
            for_co2: None,
            at_temperature: None,
            at_pressure: None,
            rated: None,
            holder: None,
        };
        for piece in pieces {
            good &= match piece.as_rule() {
                Rule::holder => {
                    package.holder = holder(piece.as_str());
                    Some(())
                }
                Rule::priming => {
                    let read = self.priming(piece, bottles, &mut package);
                    lost |= read.is_none();
                    read
                }
                Rule::r#for => {
                    let read = self.within(Some(piece.clone()), &Want::CARBONATION).flatten();
                    self.once(&mut package.for_co2, &piece, read.map(Box::new))
                }
                Rule::rated => {
                    let read = self.within(Some(piece.clone()), &Want::RATING).flatten();
                    self.once(&mut package.rated, &piece, read.map(Box::new))
                }
                Rule::at => self.package_at(&mut package, &piece, lost),
                Rule::semicolon => {
                    let span = self.span(&piece);
                    self.sink.report(|| semicolon(span, true));
                    Some(())
                }
                _ => Some(()),
            }
            .is_some();
        }
        package.with.shrink_to_fit();
        good.then(|| Kind::Package(Box::new(package)))
    }

    /// `48 bottles`, and nobody knows how much beer that is.
    #[expect(clippy::option_option, reason = "an amount of it that is wrong")]
    fn of_which_size(&mut self, piece: &Piece<'_>, kind: PackageKind) -> Option<Option<Amount>> {
        let span = self.span(piece);
        self.sink.report(|| {
            let size = if kind == PackageKind::Bottle { "500 mL" } else { "19 L" };
            let message = format!("{} of which size? Such as `{0} × {size}`", piece.as_str());
            Problem::new(ProblemKind::MissingUnit, span, message).help("or all together, as `19 L`")
        });
        None
    }

    /// `48 12 oz bottles`
    #[expect(clippy::option_option, reason = "an amount of it that is wrong")]
    fn without_times(&mut self, count: &Piece<'_>, sizes: &Piece<'_>) -> Option<Option<Amount>> {
        let size = Pieces::first(sizes.clone())?;
        let span = self.span(count).to(self.span(&size));
        let text = size.as_str();
        let weighed = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        // Beer is not weighed.
        let size = match unit(weighed.trim_start_matches(is_space)) {
            Some(Unit::Ounce) => format!("{} fl-oz", text.get(..text.len() - weighed.len())?),
            _ => text.to_owned(),
        };
        let meant = format!("{} × {size}", count.as_str());
        self.sink.report(|| {
            let message = format!("a sign stands between how many and their size: `{meant}`");
            Problem::new(ProblemKind::UnreadableLine, span, message).fix(Fix::replace(span, meant))
        });
        None
    }

    /// `at` a temperature or pressure is said of the beer, `at` a gravity of what was added last.
    fn package_at(&mut self, package: &mut Package, piece: &Piece<'_>, lost: bool) -> Option<()> {
        if let Some(ask) = Pieces::of(piece.clone()).next().filter(|value| value.as_rule() == Rule::ask) {
            let (span, word) = (self.span(&ask), self.word);
            self.sink.report(|| asks_at(span, word));
            return None;
        }
        let behind_wort = package.with.last().is_some_and(|priming| is_wort(&priming.what.text));
        let want = if behind_wort { &Want::WORT_AT } else { &Want::PACKAGE_AT };
        let read = self.within(Some(piece.clone()), want).flatten()?;
        match read.measure.dimension() {
            Dimension::Temperature => self.once(&mut package.at_temperature, piece, Some(Box::new(read))),
            Dimension::Pressure => self.once(&mut package.at_pressure, piece, Some(Box::new(read))),
            _ => match package.with.last_mut() {
                Some(priming) => {
                    let mut slot = priming.at.take();
                    let done = self.once(&mut slot, piece, Some(read));
                    priming.at = slot;
                    done
                }
                None if lost => None,
                None => {
                    let span = read.span;
                    self.sink.report(|| {
                        let message = "a gravity here belongs behind what was added";
                        Problem::new(ProblemKind::UnreadableLine, span, message)
                            .help("such as `bottle 19 L, 1.5 L wort at 1.048`; a temperature or pressure needs its unit")
                    });
                    None
                }
            },
        }
    }

    /// What goes in, and the water that it is dissolved in.
    fn priming(&mut self, piece: Piece<'_>, bottles: Option<f64>, package: &mut Package) -> Option<()> {
        let whole = self.span(&piece);
        let gas = Pieces::of(piece.clone()).nth(1);
        let pieces = &mut Pieces::of(piece);
        // `2.4 vol of CO2`
        if let (Some(amount), Some(what)) = (pieces.peek(), gas)
            && ["CO2", "CO₂"].iter().any(|gas| gas.eq_ignore_ascii_case(what.as_str()))
        {
            let span = Span::new(whole.start, self.span(&amount).end);
            self.sink.report(|| {
                let meant = format!("for {}", shown(amount.as_str()));
                let message = format!("what the beer is to have is written `{meant}`");
                Problem::new(ProblemKind::UnreadableLine, span, message).fix(Fix::replace(span, meant))
            });
            return None;
        }
        let (amount, what) = self.amount_of(pieces, bottles)?;
        // `24 × 330 mL, 12 × 750 mL bottles`
        let is_size = amount.as_ref().is_some_and(|amount| match amount.kind {
            AmountKind::Measured(each) | AmountKind::Times(_, each) => each.dimension() == Dimension::Volume,
            _ => false,
        });
        if is_size && are_holders(&what.text) {
            self.sink.report(|| of_one_size(whole));
            return None;
        }
        package.with.push(Priming { amount: amount?, what, at: None });
        if let Some(dissolved) = pieces.next_if(Rule::dissolved) {
            let (amount, what) = self.amount_of(&mut Pieces::of(dissolved), None)?;
            package.with.push(Priming { amount: amount?, what, at: None });
        }
        Some(())
    }

    /// An amount and what it is of, into so many bottles. A unit that is spelt out has been read as a word of the
    /// latter.
    fn amount_of(&mut self, pieces: &mut Pieces<'_>, bottles: Option<f64>) -> Option<(Option<Amount>, Name)> {
        let (amount, what) = (pieces.next()?, pieces.next()?);
        let all = self.span(&amount).to(self.span(&what));
        let first = what.as_str().split(is_space).next().unwrap_or("");
        let start = self.span(&what).start;
        let span = Span::new(start, start.saturating_add(Span::of(0..first.len()).end));
        // With a unit it is weighed or measured, as most are.
        let is_bare = amount.as_str().ends_with(|last: char| last.is_ascii_digit());
        // `1 tsp sugar each`
        if is_bare
            && !is_piece(what.as_str())
            && let Some(problem) = by_eye(first, span).or_else(|| in_holder(first, span))
        {
            let behind = what.as_str().get(first.len()..).unwrap_or("").trim_start_matches(is_space);
            let thing = behind.strip_prefix("of ").unwrap_or(behind);
            let spooned = by_eye(first, span).is_some() && !["cup", "cups"].contains(&&*first.to_lowercase());
            let little = if spooned { "5 g" } else { "500 g" };
            let is_other = self.word == "add"
                && !thing.is_empty()
                && (by_eye(first, span).is_none() || !is_sweet(thing));
            self.sink.report(|| {
                if is_other {
                    problem.help(format!("such as `add {little} {}`", shown(thing)))
                } else {
                    problem
                }
            });
            return None;
        }
        if let Some(problem) = dose_in_words(amount.as_str(), what.as_str(), all, bottles) {
            self.sink.report(|| problem);
            return None;
        }
        let number = amount.as_str();
        if self.word == "add"
            && is_bare
            && is_piece(what.as_str())
            && let Some(pieces) = self.pieces(&amount)
        {
            return Some((Some(pieces), self.words(&what)));
        }
        if number.ends_with(|c: char| c.is_ascii_digit()) {
            let whole = self.span(&amount).to(span);
            let fits =
                |word: &str| is_form(word) || unit(word).is_some_and(|unit| Want::ADDITION.accepts(unit));
            let near = || misspelt(first, span, fits).filter(|_| first.len() < what.as_str().len());
            // `38 carbonation drops`
            let last = what.as_str().rsplit(is_space).next().unwrap_or("");
            let pieces = || by_eye(last, self.span(&what));
            if let Some(problem) = of_two_lands(number, first, whole)
                .or_else(|| unit_problem(first, span))
                .or_else(|| fraction_problem(number, first, whole))
                .or_else(near)
                .or_else(pieces)
            {
                self.sink.report(|| problem);
                return None;
            }
        }
        let mut named = self.words(&what);
        // `? g sugar`: the answer brings its own.
        if number == "?" && unit(first).is_some_and(|unit| Want::ADDITION.accepts(unit)) {
            let rest = what.as_str().get(first.len()..).unwrap_or("").trim_start_matches(is_space);
            if !rest.is_empty() {
                let end = self.span(&what).end;
                let start = end.saturating_sub(Span::of(0..rest.len()).end);
                self.sink.report(|| {
                    Problem::new(
                        ProblemKind::WrongUnit,
                        span,
                        format!("the answer brings its unit: `? {}`", shown(rest)),
                    )
                    .fix(Fix::replace(Span::new(span.start, start), "").titled("take the unit out").safe())
                });
                named = Name { span: Span::new(start, end), text: rest.into() };
            }
        }
        Some((self.amount(amount, &Want::ADDITION, true), named))
    }

    fn test(&mut self, pieces: &mut Pieces<'_>) -> Option<Kind> {
        let what = self.words(&pieces.next()?);
        let passed = pieces.next_if(Rule::verdict).map(|piece| piece.as_str().eq_ignore_ascii_case("pass"));
        let forced = what.text.eq_ignore_ascii_case("forced");
        let value = self.perhaps(pieces, if forced { &Want::GRAVITY } else { &Want::ANYTHING });
        Some(Kind::Test(Box::new(Test { what, passed, value: value? })))
    }
}

/// Whether what is added is a wort, and no syrup.
fn is_wort(what: &str) -> bool {
    let words = ["wort", "speise", "gyle", "beer", "starter"];
    what.split([' ', '-']).any(|word| words.iter().any(|known| known.eq_ignore_ascii_case(word)))
}

/// Of `40 × 330 mL`, the number.
fn number_of_times(amount: &Piece<'_>) -> Option<f64> {
    let mut parts = Pieces::of(amount.clone());
    let (count, each) = (parts.next()?, parts.next()?);
    count.as_str().parse().ok().filter(|_| each.as_rule() == Rule::measure)
}

/// What bottles are called that hold more or less than beer glass does.
fn holder(words: &str) -> Option<Holder> {
    let has = |known: &[&str]| {
        let is_of = |word: &str| known.iter().any(|known| known.eq_ignore_ascii_case(word));
        words.split(is_space).any(|word| is_of(word) || is_of(word.trim_end_matches(['s', 'S'])))
    };
    if has(&["PET"]) {
        Some(Holder::Plastic)
    } else if has(STILL) && !has(SPARKLING) {
        Some(Holder::Still)
    } else if has(&["flagon", "growler", "jug"]) {
        Some(Holder::Growler)
    } else {
        has(&["plastic"]).then_some(Holder::Plastic)
    }
}

/// What is bottled without gas, and what holds that.
const STILL: &[&str] = &[
    "carboy", "demijohn", "gin", "jar", "juice", "liqueur", "liquor", "mason", "milk", "rum", "spirit",
    "vodka", "whiskey", "whisky", "wine",
];
const SPARKLING: &[&str] = &["cava", "champagne", "prosecco", "sparkling"];

/// Whether an amount is a bare number of the holders behind it.
fn is_number_of(amount: &Piece<'_>, next: Option<Piece<'_>>) -> bool {
    next.is_some_and(|next| next.as_rule() == Rule::holder)
        && amount.as_str().bytes().all(|byte| byte.is_ascii_digit())
}

/// Whether an amount is a bare number of what is taken for an addition: `12 oz bottles`.
fn is_number_of_sizes(amount: &Piece<'_>, next: Option<Piece<'_>>) -> bool {
    let of_what =
        next.filter(|next| next.as_rule() == Rule::priming).and_then(|next| Pieces::of(next).nth(1));
    of_what.is_some_and(|what| are_holders(what.as_str()))
        && amount.as_str().bytes().all(|byte| byte.is_ascii_digit())
}

/// Whether what is taken for an addition is what beer is filled into.
fn are_holders(what: &str) -> bool {
    grammar::read(Rule::holders, what).is_ok()
}

/// `~2026-05-01`: its month, and the day.
fn about_a_day(text: &str) -> Option<(&str, &str)> {
    let day = text.strip_prefix('~')?.trim_start_matches(is_space);
    let month = day.get(.."2026-05".len())?;
    date::read(day).is_ok().then_some((month, day))
}

/// The name that stands from `at` on in a line that could not be read.
pub(crate) fn first_name(content: &str, at: usize, line_start: usize) -> Option<Name> {
    let start = skip_spaces(content, at);
    let name = content.get(start..)?.split(is_space).next()?;
    let plain = name.starts_with(char::is_alphabetic) && name.chars().count() <= NAME_LENGTH;
    let reads = plain && !is_reserved(name) && grammar::read(Rule::named, name).is_ok();
    let span = Span::of(line_start + start..line_start + start + name.len());
    reads.then(|| Name { span, text: name.into() })
}

fn thickness(piece: &Piece<'_>) -> Thickness {
    match piece.as_str().to_ascii_lowercase().as_str() {
        "thin" => Thickness::Thin,
        "medium" => Thickness::Medium,
        _ => Thickness::Thick,
    }
}

/// What a reading is read as.
const fn wanted(what: Measured) -> &'static Want {
    match what {
        Measured::Temperature | Measured::Ambient => &Want::TEMPERATURE,
        Measured::Gravity => &Want::GRAVITY,
        Measured::Brix => &Want::BRIX,
        Measured::Acidity => &Want::ACIDITY,
        Measured::Volume => &Want::VOLUME,
        Measured::Pressure => &Want::PRESSURE,
        Measured::Oxygen => &Want::OXYGEN,
        Measured::CarbonDioxide => &Want::CARBONATION,
    }
}

/// The words that may stand at a place, and what people write instead.
struct Choices<T: 'static> {
    words: &'static [(&'static str, T)],
    hints: &'static [(&'static str, &'static str)],
}

impl<T> Choices<T> {
    /// What stands behind `word` and is none of them.
    fn refused(&self, word: &str, text: &str, span: Span) -> Problem {
        let all: Vec<&str> = self.words.iter().map(|(word, _)| *word).collect();
        let all = match all.split_last() {
            Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
            None => String::new(),
        };
        let small = text.to_lowercase();
        let hint = self.hints.iter().find(|(typed, _)| small.split(' ').any(|part| part == *typed));
        let meant = hint.map(|(_, meant)| *meant).or_else(|| {
            let near = |part| self.words.iter().find(|(word, _)| strsim::osa_distance(word, part) <= 1);
            small.split(' ').find_map(near).map(|(word, _)| *word)
        });
        let message = format!("`{word}` is one of {all}, not `{}`", shown(text));
        let problem = Problem::new(ProblemKind::UnreadableLine, span, message);
        match meant {
            // A number among them may be a reading, which must not go.
            Some(meant) if may_be_a_note(text) => problem.fix(Fix::replace(span, meant)),
            _ => problem,
        }
    }
}

/// The same of several words, where one is wanted.
pub(crate) fn several_for_one(word: &Word, text: &str, span: Span) -> Option<Problem> {
    Some(match word.means {
        Means::Organism => ORGANISMS.refused(word.word, text, span),
        Means::Flocculates => FLOCCULATIONS.refused(word.word, text, span),
        Means::Shape => SHAPES.refused(word.word, text, span),
        Means::Krausen => KRAUSEN.refused(word.word, text, span),
        _ => return None,
    })
}

const ORGANISMS: Choices<Organism> = Choices {
    words: &[
        ("ale", Organism::Ale),
        ("lager", Organism::Lager),
        ("wild", Organism::Wild),
        ("bacteria", Organism::Bacteria),
    ],
    hints: &[
        ("brett", "wild"),
        ("brettanomyces", "wild"),
        ("mixed", "wild"),
        ("sour", "bacteria"),
        ("lacto", "bacteria"),
        ("lactobacillus", "bacteria"),
        ("pedio", "bacteria"),
        ("pediococcus", "bacteria"),
        ("top", "ale"),
        ("bottom", "lager"),
        ("wheat", "ale"),
        ("saison", "ale"),
        ("wine", "ale"),
        ("cider", "ale"),
        ("mead", "ale"),
    ],
};
const FLOCCULATIONS: Choices<Flocculation> = Choices {
    words: &[("low", Flocculation::Low), ("medium", Flocculation::Medium), ("high", Flocculation::High)],
    hints: &[("poor", "low"), ("poorly", "low"), ("well", "high"), ("good", "high"), ("middling", "medium")],
};
const SHAPES: Choices<Shape> = Choices {
    words: &[("flat", Shape::Flat), ("conical", Shape::Conical)],
    hints: &[("cone", "conical"), ("bucket", "flat"), ("cylindroconical", "conical")],
};
const KRAUSEN: Choices<Krausen> = Choices {
    words: &[
        ("none", Krausen::None),
        ("rising", Krausen::Rising),
        ("high", Krausen::High),
        ("fallen", Krausen::Fallen),
    ],
    hints: &[
        ("no", "none"),
        ("not", "none"),
        ("nothing", "none"),
        ("up", "rising"),
        ("started", "rising"),
        ("growing", "rising"),
        ("full", "high"),
        ("peak", "high"),
        ("down", "fallen"),
        ("falling", "fallen"),
        ("dropped", "fallen"),
        ("gone", "fallen"),
    ],
};

/// Log text as a message shows it: not too much of it.
pub(crate) fn shown(text: &str) -> String {
    const MOST: usize = 40;
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or("")),
        None => text.to_owned(),
    }
}
