//! A plain-text brewing log that answers back.

mod args;
mod bank;
mod baseline;
mod check;
mod failure;
mod figures;
mod fix;
mod fmt;
mod loggers;
mod manual;
mod names;
mod new;
mod output;
mod progress;
mod rules;
mod season;
mod serve;
mod settings;
mod since;
mod timings;
mod watch;
mod whole;
mod why;
mod workspace;
mod write;

use std::process::ExitCode;

use clap::Parser;

use crate::args::{Cli, Command};

/// A log is many small pieces of memory, of which many come and go with each keystroke.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    let done = match Cli::parse().command {
        Command::Check(args) => check::run(&args),
        Command::Fix(args) => fix::run(&args),
        Command::Fmt(args) => fmt::run(args),
        Command::Figures(args) => figures::run(&args),
        Command::Bank(args) => bank::run(&args),
        Command::Season(args) => season::run(&args),
        Command::Why(args) => why::run(&args),
        Command::Rules(args) => rules::run(&args),
        Command::Serve(args) => serve::run(&args),
        Command::Settings(args) => settings::run(&args),
        Command::New(args) => new::run(&args.what),
        Command::Completions(args) => manual::completions(&args),
        Command::Man(args) => manual::pages(&args),
    };
    done.unwrap_or_else(|failure| failure.tell())
}
