//! The command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// A plain-text brewing log that answers back.
#[derive(Debug, Parser)]
#[command(name = "barm", version, disable_help_subcommand = true, after_help = EXIT)]
pub(crate) struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

const EXIT: &str = "Exit status: 0 nothing at or above --fail-on, 1 something was, 2 barm could not run.\n\
                    barm reckons; it does not know your brewhouse. With oxygen, pressure, glass, carbon dioxide, boiling \
                    wort and caustic follow your local codes, the maker's instructions and licensed practice.";

const SEASON: &str = "\
The page is one file without a script; it asks for nothing else, and prints as it stands, with the brews that are open.

JSON: {version, workspaces: [{folder, brews, stocks, descent, findings_by_month, on, bank}]}
- a brew: {lot, title, file, line, column, pitched, yeasts, verdict, taste, figures, missing, findings, temperatures, \
temperature_range, gravities, acidity}; figures and missing as `barm figures` has them, findings as `barm check` has them; readings \
are {at, value} and corners of the range {at, low, high}, in °C, specific gravity and pH
- a stock: {lot, live_share, draws, emptied}; live_share is [{at, value, low, high}] in per cent, two at one moment where it \
was measured; a draw is {at, into, taken, left, unit, live_share}
- descent: [{lot, kind, from, generation, begun, went_wrong}], each below what it came from
- findings_by_month: {months, rules: [{rule, counts, undated}]}
- on and bank as `barm bank` has them
A moment is \"2026-03-14 18:00\"; what is not known is null; a number has six digits.

CSV: a line a brew, each figure with the ends of its range; what is not known is empty.";

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Read the logs of a workspace and say what is wrong or worth knowing
    Check(Check),
    /// Mend what can be mended without a look, and check again until nothing changes
    Fix(Fix),
    /// Set logs anew: indentation, columns, units, blank lines; what they say stays as it is
    Fmt(Fmt),
    /// Show every figure that is reckoned, and from what
    Figures(Figures),
    /// List the yeast that there is on a day, what it is enough for and how long it keeps
    Bank(Bank),
    /// Show a season on one page: brews with their curves, yeast, findings, verdicts
    Season(Season),
    /// Explain a rule, or say why it spoke or kept silent of a lot
    Why(Why),
    /// List the rules
    Rules(Rules),
    /// Serve an editor: the language server, on standard input and output
    Serve(Serve),
    /// Show what barm.toml may say of a brewhouse, and what holds without it
    Settings(Settings),
    /// Start a workspace, a culture or a brew, from questions or from options
    New(New),
    /// Print completions for a shell
    Completions(Completions),
    /// Write the manual's pages
    Man(Man),
}

/// Where the logs are and what holds for them.
#[derive(Debug, Args)]
pub(crate) struct Input {
    /// Logs or folders; `-` reads standard input; nothing: the current folder
    #[arg(value_name = "PATH")]
    pub(crate) paths: Vec<PathBuf>,
    /// Settings to use in place of the workspace's barm.toml
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// The file that standard input stands for
    #[arg(long, value_name = "PATH")]
    pub(crate) stdin_name: Option<PathBuf>,
}

/// `barm check`
#[derive(Debug, Args)]
pub(crate) struct Check {
    #[command(flatten)]
    /// Where the logs are.
    pub(crate) input: Input,
    /// From which level on to exit with 1; cautions never count
    #[arg(long, value_enum, value_name = "LEVEL", default_value_t = FailOn::Error)]
    pub(crate) fail_on: FailOn,
    /// Check again whenever something was saved, until Ctrl-C
    #[arg(long)]
    pub(crate) watch: bool,
    /// Say on standard error how long each step took
    #[arg(long)]
    pub(crate) timings: bool,
    /// Only these rules
    #[arg(long, value_name = "RULE", value_delimiter = ',', help_heading = "What is told")]
    pub(crate) select: Vec<String>,
    /// Not these rules
    #[arg(long, value_name = "RULE", value_delimiter = ',', help_heading = "What is told")]
    pub(crate) ignore: Vec<String>,
    /// Also what `# accept` silences
    #[arg(long, help_heading = "What is told")]
    pub(crate) no_accept: bool,
    /// Only what stands on lines, or in logs, that changed since a git revision
    #[arg(long, value_name = "REV", help_heading = "What is told")]
    pub(crate) since: Option<String>,
    /// Only what this baseline does not know
    #[arg(long, value_name = "FILE", help_heading = "What is told")]
    pub(crate) baseline: Option<PathBuf>,
    /// Write all that is found into a baseline, and tell nothing
    #[arg(
        long,
        value_name = "FILE",
        help_heading = "What is told",
        conflicts_with_all = ["baseline", "since", "watch", "statistics", "format"]
    )]
    pub(crate) write_baseline: Option<PathBuf>,
    /// How to write the findings
    #[arg(long, value_enum, default_value_t = Format::Text, help_heading = "How it is told")]
    pub(crate) format: Format,
    /// Count the findings by rule instead
    #[arg(long, help_heading = "How it is told")]
    pub(crate) statistics: bool,
    /// When to colour
    #[arg(long, value_enum, value_name = "WHEN", default_value_t = Colour::Auto, help_heading = "How it is told")]
    pub(crate) color: Colour,
}

/// `barm fix`
#[derive(Debug, Args)]
pub(crate) struct Fix {
    #[command(flatten)]
    /// Where the logs are.
    pub(crate) input: Input,
    /// Show what would change and write nothing; exit with 1 if anything would
    #[arg(long)]
    pub(crate) diff: bool,
    /// Also what should be looked at first, where there is only one way to mend it
    #[arg(long)]
    pub(crate) r#unsafe: bool,
}

/// `barm fmt`
#[derive(Debug, Args)]
pub(crate) struct Fmt {
    /// Logs or folders; `-` sets standard input to standard output; nothing: the current folder
    #[arg(value_name = "PATH")]
    pub(crate) paths: Vec<PathBuf>,
    /// The file that standard input stands for
    #[arg(long, value_name = "PATH")]
    pub(crate) stdin_name: Option<PathBuf>,
    /// Name the logs that would change and write nothing; exit with 1 if any would
    #[arg(long)]
    pub(crate) check: bool,
    /// Show what would change and write nothing; exit with 1 if anything would
    #[arg(long)]
    pub(crate) diff: bool,
}

/// `barm figures`
#[derive(Debug, Args)]
pub(crate) struct Figures {
    #[command(flatten)]
    /// Where the logs are.
    pub(crate) input: Input,
    /// Only this lot; may be given again
    #[arg(long, value_name = "NAME")]
    pub(crate) lot: Vec<String>,
    /// How to write the figures
    #[arg(long, value_enum, default_value_t = Plain::Text)]
    pub(crate) format: Plain,
}

/// `barm bank`
#[derive(Debug, Args)]
pub(crate) struct Bank {
    #[command(flatten)]
    /// Where the logs are.
    pub(crate) input: Input,
    /// The day, with all its events; nothing: that of the last dated event
    #[arg(long, value_name = "DATE")]
    pub(crate) on: Option<String>,
    /// Say of each lot whether it is enough for this wort: "21 L at 1.060"
    #[arg(long, value_name = "WORT")]
    pub(crate) r#for: Option<String>,
    /// How to write the list
    #[arg(long, value_enum, default_value_t = Plain::Text)]
    pub(crate) format: Plain,
}

/// `barm season`
#[derive(Debug, Args)]
#[command(after_long_help = SEASON)]
pub(crate) struct Season {
    #[command(flatten)]
    /// Where the logs are.
    pub(crate) input: Input,
    /// Where to write it; `-` or nothing: standard output
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// The day of the yeast at hand, with all its events; nothing: that of the last dated event
    #[arg(long, value_name = "DATE")]
    pub(crate) on: Option<String>,
    /// How to write it
    #[arg(long, value_enum, default_value_t = Page::Html)]
    pub(crate) format: Page,
}

/// `barm why`
#[derive(Debug, Args)]
pub(crate) struct Why {
    /// The rule's name
    pub(crate) rule: String,
    /// Why the rule spoke, or kept silent, of this lot
    #[arg(long, value_name = "NAME")]
    pub(crate) lot: Option<String>,
    #[command(flatten)]
    /// Where the logs are.
    pub(crate) input: Input,
    /// When to colour
    #[arg(long, value_enum, value_name = "WHEN", default_value_t = Colour::Auto)]
    pub(crate) color: Colour,
}

/// `barm rules`
#[derive(Debug, Args)]
pub(crate) struct Rules {
    /// How to write the list
    #[arg(long, value_enum, default_value_t = Plain::Text)]
    pub(crate) format: Plain,
}

/// `barm settings`
#[derive(Debug, Args)]
pub(crate) struct Settings {
    /// Print a JSON schema of barm.toml instead, for an editor that completes and checks it
    #[arg(long)]
    pub(crate) schema: bool,
}

/// `barm new`
#[derive(Debug, Args)]
pub(crate) struct New {
    /// What to start.
    #[command(subcommand)]
    pub(crate) what: Start,
}

/// What `barm new` starts.
#[derive(Debug, Subcommand)]
pub(crate) enum Start {
    /// A folder for logs: its barm.toml says what is true of the brewhouse
    #[command(
        after_help = "Example: barm new workspace cellar --elevation \"340 m\" --refrigerator \"4 °C\""
    )]
    Workspace(NewWorkspace),
    /// Yeast that came into the house, in a log
    #[command(after_help = "Example: barm new culture tide-a --of tidemill-ale --yeast \"pack 2 × 100 B\" \
                            --age \"made 2026-08-14\" --kept \"4 °C\"")]
    Culture(NewCulture),
    /// A brew, planned or done, in a log
    #[command(after_help = "Example: barm new brew slack-4 --wort \"21 L at 1.048\" --on 2026-09-12 \
                            --pitch \"tide-a ?\"")]
    Brew(NewBrew),
}

/// `barm new workspace`
#[derive(Debug, Args)]
pub(crate) struct NewWorkspace {
    /// The folder, made if need be; nothing: the current one
    #[arg(value_name = "FOLDER", default_value = ".")]
    pub(crate) folder: PathBuf,
    /// Measures of tables and answers, "metric" or "us"
    #[arg(long, value_name = "WORD")]
    pub(crate) units: Option<String>,
    /// Height above the sea, "340 m"
    #[arg(long, value_name = "HEIGHT")]
    pub(crate) elevation: Option<String>,
    /// How cold yeast is kept, "4 °C"
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) refrigerator: Option<String>,
}

/// Where a new block goes.
#[derive(Debug, Args)]
pub(crate) struct Into {
    /// Its name
    pub(crate) name: String,
    /// The log to put it at the end of, or to begin; nothing: NAME.barm
    #[arg(long, value_name = "FILE")]
    pub(crate) file: Option<PathBuf>,
}

/// `barm new culture`
#[derive(Debug, Args)]
pub(crate) struct NewCulture {
    #[command(flatten)]
    /// Where it goes.
    pub(crate) into: Into,
    /// Its strain
    #[arg(long, value_name = "STRAIN")]
    pub(crate) of: Option<String>,
    /// How much yeast, as the log says it: "pack 2 × 100 B", "sachet 11 g", "slurry 300 mL thick"
    #[arg(long, value_name = "LINE")]
    pub(crate) yeast: Option<String>,
    /// How old, as the log says it: "made 2026-08-14", "best-before 2027-01", "harvested 2026-09-02"
    #[arg(long, value_name = "LINE")]
    pub(crate) age: Option<String>,
    /// Its kind, where no strain says it: ale, lager, wild or bacteria
    #[arg(long, value_name = "WORD")]
    pub(crate) kind: Option<String>,
    /// How it is stored: "4 °C"
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) kept: Option<String>,
}

/// `barm new brew`
#[derive(Debug, Args)]
pub(crate) struct NewBrew {
    #[command(flatten)]
    /// Where it goes.
    pub(crate) into: Into,
    /// A title
    #[arg(long, value_name = "WORDS")]
    pub(crate) title: Option<String>,
    /// How much wort, and how strong: "21 L at 1.048"
    #[arg(long, value_name = "WORT")]
    pub(crate) wort: Option<String>,
    /// The vessel that it ferments in
    #[arg(long, value_name = "VESSEL")]
    pub(crate) vessel: Option<String>,
    /// The day of pitching
    #[arg(long, value_name = "DATE")]
    pub(crate) on: Option<String>,
    /// The beer's temperature at pitching: "18 °C"
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) temp: Option<String>,
    /// How oxygen gets in: "oxygen 60 s at 1 L/min", "shake 3 min"
    #[arg(long, value_name = "WAY")]
    pub(crate) aerate: Option<String>,
    /// The yeast, and how much; `?` asks: "tide-a 2 packs", "tide-a ?"
    #[arg(long, value_name = "LOT")]
    pub(crate) pitch: Option<String>,
}

/// `barm completions`
#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell
    pub(crate) shell: clap_complete::Shell,
}

/// `barm man`
#[derive(Debug, Args)]
pub(crate) struct Man {
    /// The folder to write them to, made if need be
    #[arg(value_name = "FOLDER")]
    pub(crate) folder: PathBuf,
}

/// How findings are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// With the lines that they are about
    Text,
    /// One line each
    Short,
    /// For other programs
    Json,
    /// The same, one finding a line
    Ndjson,
    /// SARIF 2.1.0, for services that collect findings
    Sarif,
    /// A JUnit report, for build servers
    Junit,
    /// Workflow commands, for GitHub Actions
    Github,
}

/// How a list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Plain {
    /// To be read
    Text,
    /// For other programs
    Json,
}

/// How a season is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Page {
    /// One file for a browser, that asks for nothing else
    Html,
    /// For other programs
    Json,
    /// A line a brew, for a spreadsheet
    Csv,
}

/// The level that fails a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum FailOn {
    /// It cannot be read or reckoned, or somebody may be hurt
    Error,
    /// It is worth acting on
    Warning,
    /// It is worth knowing
    Note,
}

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Colour {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// `barm serve`
#[derive(Debug, Args)]
pub(crate) struct Serve {
    /// Where to tell what goes on, in place of standard error
    #[arg(long, value_name = "FILE")]
    pub(crate) log: Option<PathBuf>,
    /// Editors say so; there is no other way
    #[arg(long, hide = true)]
    stdio: bool,
    /// Editors add it
    #[arg(long = "clientProcessId", value_name = "N", hide = true)]
    client_process_id: Option<u64>,
}
