//! `quarterturn settle`: what moved by itself.

use std::num::NonZeroUsize;

use clap::Args;

use super::failure::{self, Failure};
use super::options::Shared;
use super::progress::Progress;
use super::{Done, output, source};
use crate::report::{SettleReport, json, text};
use crate::settle::{NoSettlement, Settlement};

/// What moved by itself between passes, how fast, and when to look again
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    #[command(flatten)]
    pub shared: Shared,

    /// First pass to compare with; without it the first one since which nothing was turned
    #[arg(long, value_name = "N")]
    since: Option<NonZeroUsize>,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn settle lathe.toml                up to the last pass
  quarterturn settle lathe.toml --since 3      from pass 3 on
  quarterturn settle lathe.toml --pass 5       up to pass 5";

/// Prints what moved by itself up to a pass.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let shared = &arguments.shared;
    let source = source::read(shared.file.as_deref())?;
    let working = Progress::begins();
    let survey = &source.survey;
    let index = shared.pass(survey)?;
    let number = index + 1;
    let since = arguments.since.map(|since| since.get() - 1);
    let settlement = Settlement::of(survey, index, since).map_err(|why| match why {
        NoSettlement::NothingToCompare => failure::nothing_to_compare(number),
        NoSettlement::NotAdjusted => failure::no_readings(number),
    })?;
    let report = SettleReport {
        survey,
        number,
        settlement: &settlement,
    };
    let text = if shared.json {
        json::to_text(&json::settle::SettleObject::of(&report))
    } else {
        text::settle::tell(&report, &shared.telling(&source))
    };
    drop(working);
    output::print(&text, shared.colour())?;
    Ok(Done::Well)
}
