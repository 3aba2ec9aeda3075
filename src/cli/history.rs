//! `quarterturn history`: every pass and what was turned after it.

use clap::Args;

use super::failure::Failure;
use super::options::Shared;
use super::{Done, output, source};
use crate::geometry::{Passes, Told};
use crate::report::draw::Round;
use crate::report::{json, text};

/// Every pass and what was turned after it
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    #[command(flatten)]
    pub shared: Shared,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn history lathe.toml            all passes in the file
  quarterturn history lathe.toml --pass 3   the first three

Each pass by itself: what `quarterturn shape` says of it.";

/// Prints all rounds.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let shared = &arguments.shared;
    let source = source::read(shared.file.as_deref())?;
    let survey = &source.survey;
    let last = shared.pass(survey)?;
    let passes = Passes::of(survey);
    let rounds: Vec<Round> = survey.passes[..=last]
        .iter()
        .enumerate()
        .map(|(index, pass)| Round {
            pass,
            shape: passes.told(index).ok().map(Told::shape),
        })
        .collect();
    let printed = if shared.json {
        json::to_text(&json::history::HistoryObject::of(survey, &rounds))
    } else {
        text::history::tell(survey, &rounds, &shared.telling(&source))
    };
    output::print(&printed, shared.colour())?;
    Ok(Done::Well)
}
