//! The page itself. The templates escape every text; what comes from a log is made visible before.

use std::io;

use askama::Template;
use barm_reckoning::{Figure, Settings, StockCourse, unit_of, with_unit};
use barm_report::{BANK_COLUMNS, Tally, bank_row, enough_for, lineage, visible, with_range};
use barm_rules::{Finding, Level};

use crate::Part;
use crate::draw::{self, For, Picture, counted, line_of};
use crate::family::{Member, is_brew};
use crate::glance::{Brew, Glance, courses};

#[derive(Template)]
#[template(path = "season.html")]
struct Page {
    title: String,
    tally: String,
    workspaces: Vec<Workspace>,
    /// Whether each workspace is headed by its name: there are several.
    several: bool,
}

struct Workspace {
    name: String,
    /// Makes its anchors differ from those of another workspace.
    id: usize,
    summary: String,
    brews: Vec<BrewRow>,
    bank: Option<BankTable>,
    jars: Vec<Jar>,
    families: Vec<Family>,
    months: MonthTable,
    by_verdict: Relation,
    by_attenuation: Relation,
}

struct BrewRow {
    name: String,
    title: String,
    place: String,
    date: String,
    yeast: String,
    generation: String,
    pitch: Option<Picture>,
    pitch_text: Cell,
    oxygen: Cell,
    temperature: Option<Picture>,
    gravity: Option<Picture>,
    attenuation: Cell,
    alcohol: Cell,
    found: String,
    worst: &'static str,
    verdict: &'static str,
    taste: String,
    large: Vec<Large>,
    figures: Vec<FigureRow>,
    missing: Vec<String>,
    findings: Vec<Told>,
    cautions: Vec<Told>,
}

/// A large plot of a brew, with its caption.
struct Large {
    picture: Picture,
    title: String,
}

/// A figure in a row: best value with its unit, and the range below.
struct Cell {
    value: String,
    range: String,
}

struct FigureRow {
    name: String,
    value: String,
    range: String,
    unit: &'static str,
    from: String,
}

struct Told {
    level: &'static str,
    rule: &'static str,
    message: String,
    notes: Vec<String>,
    place: String,
}

struct BankTable {
    on: String,
    columns: [&'static str; 9],
    lots: Vec<Banked>,
}

struct Banked {
    cells: [String; 9],
    enough: String,
    lineage: String,
}

struct Jar {
    name: String,
    picture: Picture,
    draws: Vec<String>,
    emptied: String,
}

struct Family {
    root: String,
    picture: Option<Picture>,
    members: Vec<Descendant>,
}

struct Descendant {
    /// Indentation, bounded.
    depth: usize,
    name: String,
    kind: &'static str,
    from: String,
    generation: String,
    begun: String,
    wrong: String,
    beer: bool,
}

struct MonthTable {
    columns: Vec<String>,
    rows: Vec<MonthRow>,
    undated: bool,
}

struct MonthRow {
    rule: &'static str,
    counts: Vec<Count>,
    undated: String,
    total: usize,
}

struct Count {
    text: String,
    /// How dark, 0 to 4.
    shade: usize,
}

struct Relation {
    picture: Option<Picture>,
    note: String,
}

/// Deeper descent than this is not indented any further.
const DEEPEST: usize = 12;
/// Up to here the note says that nothing follows from so few brews.
const FEW_BREWS: usize = 30;

/// The page: one file that asks for nothing else.
///
/// # Errors
/// When `out` cannot be written, or a plot cannot be drawn.
pub fn html(out: &mut dyn io::Write, parts: &[Part<'_>]) -> io::Result<()> {
    let courses = courses(parts);
    let mut workspaces = Vec::with_capacity(parts.len());
    let mut span = None;
    for (id, (part, course)) in parts.iter().zip(&courses).enumerate() {
        let glance = Glance::of(part, course);
        span = [span, glance.span()].into_iter().flatten().reduce(|(a, b), (c, d)| (a.min(c), b.max(d)));
        workspaces.push(workspace(part, &glance, id)?);
    }
    let title = match span {
        Some((first, last)) if first == last => format!("Brews of {first}"),
        Some((first, last)) => format!("Brews from {first} to {last}"),
        None => "Brews".to_owned(),
    };
    let checked: Vec<_> = parts.iter().map(|part| part.checked).collect();
    let tally = Tally::of(&checked).sentence();
    let page = Page { title, tally, several: workspaces.len() > 1, workspaces };
    page.write_into(&mut io::BufWriter::new(out)).map_err(io::Error::other)
}

fn workspace(part: &Part<'_>, glance: &Glance<'_>, id: usize) -> io::Result<Workspace> {
    let settings = &glance.season.settings;
    let brews = glance.brews.iter().map(|brew| brew_row(glance, brew)).collect::<io::Result<Vec<_>>>()?;
    let jars = glance.stocks.iter().map(|stock| jar(glance, stock));
    let jars = jars.filter_map(io::Result::transpose).collect::<io::Result<Vec<_>>>()?;
    let name = part.checked.base.path("");
    Ok(Workspace {
        name: seen(if name.is_empty() { "." } else { &name }),
        id,
        summary: format!(
            "{}, {}, {}",
            counted(glance.brews.len(), "brew"),
            counted(glance.stocks.len(), "lot of yeast").replace("lot of yeasts", "lots of yeast"),
            counted(glance.findings.len(), "finding")
        ),
        brews,
        bank: glance.bank.as_ref().map(|bank| BankTable {
            on: bank.on.to_string(),
            columns: BANK_COLUMNS,
            lots: bank
                .lots
                .iter()
                .map(|lot| Banked {
                    cells: bank_row(settings, lot),
                    enough: enough_for(settings, lot).unwrap_or_default(),
                    lineage: seen(&lineage(lot)),
                })
                .collect(),
        }),
        jars,
        families: families(glance)?,
        months: months(glance),
        by_verdict: relation(draw::by_verdict(glance)?, "a pitch with a target and a verdict"),
        by_attenuation: relation(
            draw::by_attenuation(glance)?,
            "a pitch with a target and a gravity after it",
        ),
    })
}

/// What comes from a log, fit to be seen.
fn seen(text: &str) -> String {
    visible(text).into_owned()
}

fn brew_row(glance: &Glance<'_>, brew: &Brew<'_>) -> io::Result<BrewRow> {
    let settings = &glance.season.settings;
    let cell = |name: &str| brew.figure(name).map_or_else(Cell::none, |figure| Cell::of(settings, figure));
    let mut large = Vec::new();
    let since = if brew.pitched.is_some() { "pitching" } else { "the first reading" };
    let pictures = [
        ("Temperature", draw::temperature(glance, brew, For::Reading)?),
        ("Gravity", draw::gravity(glance, brew, For::Reading)?),
    ];
    for (what, picture) in pictures {
        large
            .extend(picture.map(|picture| Large { picture, title: format!("{what} by time since {since}") }));
    }
    let counts = [(Level::Error, "error"), (Level::Warning, "warning"), (Level::Note, "note")];
    let counts: Vec<(&'static str, usize)> = counts
        .into_iter()
        .map(|(level, word)| (word, brew.count(level)))
        .filter(|(_, count)| *count > 0)
        .collect();
    let found: Vec<String> = counts.iter().map(|(word, count)| counted(*count, word)).collect();
    Ok(BrewRow {
        name: seen(&brew.figures.lot),
        title: brew.figures.title.as_deref().map_or_else(String::new, seen),
        place: seen(&line_of(glance, brew.figures.place)),
        date: brew.pitched.map_or_else(|| "not pitched".to_owned(), |at| at.date().to_string()),
        yeast: seen(&brew.yeasts().join(" + ")),
        generation: brew.figure("generation").map_or_else(String::new, Figure::value_text),
        pitch: draw::pitch(glance, brew)?,
        pitch_text: cell("pitch-ratio"),
        oxygen: cell("dissolved-oxygen"),
        temperature: draw::temperature(glance, brew, For::Row)?,
        gravity: draw::gravity(glance, brew, For::Row)?,
        attenuation: cell("attenuation"),
        alcohol: cell("alcohol"),
        found: found.join(", "),
        worst: counts.first().map_or("none", |(word, _)| word),
        verdict: brew.taste.verdict.map_or("", |verdict| verdict.word()),
        taste: seen(&brew.taste.words.join(", ")),
        large,
        figures: brew.figures.figures.iter().map(|figure| figure_row(settings, figure)).collect(),
        missing: brew.figures.missing.iter().map(|missing| seen(missing)).collect(),
        findings: brew.findings.iter().map(|finding| told(glance, finding)).collect(),
        cautions: brew.cautions.iter().map(|finding| told(glance, finding)).collect(),
    })
}

impl Cell {
    const fn none() -> Self {
        Self { value: String::new(), range: String::new() }
    }

    fn of(settings: &Settings, figure: &Figure) -> Self {
        let figure = figure.clone().spoken(settings);
        let unit = if figure.unit == "SG" { "" } else { figure.unit };
        Self {
            value: with_unit(&figure.value_text(), unit).trim_end().to_owned(),
            range: figure.range_text().unwrap_or_default(),
        }
    }
}

fn figure_row(settings: &Settings, figure: &Figure) -> FigureRow {
    let figure = figure.clone().spoken(settings);
    let value = figure.value_text();
    FigureRow {
        name: figure.name.replace('-', " "),
        unit: unit_of(&value, figure.unit),
        value,
        range: figure.range_text().unwrap_or_default(),
        from: seen(&figure.from),
    }
}

fn told(glance: &Glance<'_>, finding: &Finding) -> Told {
    Told {
        level: finding.level.word(),
        rule: finding.rule,
        message: seen(&finding.message),
        notes: finding.notes.iter().map(|note| seen(note)).collect(),
        place: seen(&line_of(glance, finding.place)),
    }
}

fn jar(glance: &Glance<'_>, stock: &StockCourse) -> io::Result<Option<Jar>> {
    let Some(picture) = draw::stock(glance, stock)? else { return Ok(None) };
    let settings = &glance.season.settings;
    let draws = stock.draws.iter().map(|draw| {
        let taken = Figure::plain("", draw.taken, 0.0, draw.unit, String::new());
        let into = draw.into.map_or("thrown away", |lot| glance.name(lot));
        let taken = if draw.taken > 0.0 && !draw.unit.is_empty() {
            with_range(settings, &taken)
        } else {
            "an amount not known".to_owned()
        };
        format!("{}: {taken}, {}", draw.at.date(), seen(into))
    });
    Ok(Some(Jar {
        name: seen(glance.name(stock.lot)),
        picture,
        draws: draws.collect(),
        emptied: stock.emptied.map_or_else(String::new, |at| at.date().to_string()),
    }))
}

fn families(glance: &Glance<'_>) -> io::Result<Vec<Family>> {
    let season = glance.season;
    let mut out = Vec::new();
    // Each root begins a family.
    let mut rest = glance.family.as_slice();
    while let Some(root) = rest.first() {
        let length =
            rest.iter().skip(1).position(|member| member.depth == 0).map_or(rest.len(), |next| next + 1);
        let (members, others) = rest.split_at(length);
        rest = others;
        out.push(Family {
            root: seen(glance.name(root.lot)),
            picture: draw::family(season, members)?,
            members: members.iter().map(|member| descendant(glance, member)).collect(),
        });
    }
    Ok(out)
}

fn descendant(glance: &Glance<'_>, member: &Member) -> Descendant {
    let from: Vec<&str> = member.from.iter().map(|lot| glance.name(*lot)).collect();
    Descendant {
        depth: member.depth.min(DEEPEST),
        name: seen(glance.name(member.lot)),
        kind: glance.season.lot(member.lot).map_or("", |lot| lot.kind.word()),
        from: seen(&from.join(" + ")),
        generation: member.generation.map_or_else(String::new, |generation| generation.to_string()),
        begun: member.begun.map_or_else(String::new, |at| at.date().to_string()),
        wrong: member.wrong.join(", "),
        beer: is_brew(glance.season, member.lot),
    }
}

fn months(glance: &Glance<'_>) -> MonthTable {
    let most = glance.months.rows.iter().flat_map(|(_, counts, _)| counts).copied().max().unwrap_or(0);
    let shade = |count: usize| if most == 0 { 0 } else { (count * 4).div_ceil(most) };
    let count = |count: usize| if count == 0 { String::new() } else { count.to_string() };
    let rows = glance.months.rows.iter().map(|(rule, counts, undated)| MonthRow {
        rule,
        counts: counts.iter().map(|one| Count { text: count(*one), shade: shade(*one) }).collect(),
        undated: count(*undated),
        total: counts.iter().sum::<usize>() + undated,
    });
    MonthTable {
        columns: glance.months.columns.clone(),
        rows: rows.collect(),
        undated: glance.months.rows.iter().any(|(_, _, undated)| *undated > 0),
    }
}

fn relation(found: draw::Compared, needs: &str) -> Relation {
    let brews = found.brews;
    let note = match brews {
        0 => format!("No brew has {needs}."),
        1 => format!("One brew has {needs}: it shows itself and proves nothing."),
        2..=FEW_BREWS => format!(
            "{brews} brews have {needs}. So few prove little: other yeast, wort and temperature went along with the pitch, \
             and chance does the rest."
        ),
        _ => format!(
            "{brews} brews have {needs}. What goes together here need not be cause and effect: other yeast, wort and \
             temperature went along with the pitch."
        ),
    };
    Relation { picture: found.picture, note }
}
