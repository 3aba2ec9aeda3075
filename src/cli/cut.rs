//! `quarterturn cut`: what a test cut says.

use std::num::NonZeroUsize;

use clap::Args;

use super::failure::{self, Failure};
use super::options::Shared;
use super::{Done, output, source};
use crate::cut::{Conclusion, Testimony};
use crate::report::{CutReport, json, text};

/// A test cut: its taper, what the bed's twist explains, and what is left for the headstock
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    #[command(flatten)]
    pub shared: Shared,

    /// Number of the cut, from 1, those between centres last; without it the last one
    #[arg(long, value_name = "N")]
    cut: Option<NonZeroUsize>,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn cut lathe.toml                the last cut, with the bed as the pass about then shows it
  quarterturn cut lathe.toml --cut 1        the first one
  quarterturn cut lathe.toml --pass 3       with the bed as in pass 3";

/// Prints what a cut says.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let shared = &arguments.shared;
    let source = source::read(shared.file.as_deref())?;
    let survey = &source.survey;
    let pass = shared.pass.map(|_| shared.pass(survey)).transpose()?;
    let cuts = survey.cuts.len();
    let number = arguments.cut.map_or(cuts, NonZeroUsize::get);
    let cut = number
        .checked_sub(1)
        .and_then(|index| survey.cuts.get(index))
        .ok_or_else(|| failure::no_such_cut(number, cuts))?;
    let conclusion = Conclusion::of(survey, cut, pass).map_err(|_| failure::no_taper(number))?;
    let report = CutReport {
        survey,
        number,
        cut,
        conclusion: &conclusion,
        testimony: &Testimony::all(survey, number - 1),
    };
    let text = if shared.json {
        json::to_text(&json::cut::CutObject::of(&report))
    } else {
        text::cut::tell(&report, &shared.telling(&source))
    };
    output::print(&text, shared.colour())?;
    Ok(Done::Well)
}
