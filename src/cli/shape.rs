//! `quarterturn shape`: how the bed lies.

use clap::{Args, ValueEnum};

use super::failure::Failure;
use super::findings::Findings;
use super::options::Shared;
use super::plots::Plots;
use super::progress::Progress;
use super::{Done, forecast, output, source};
use crate::geometry::{Passes, ReferenceLine};
use crate::report::json;
use crate::report::text::{self, Telling};

/// Twist and crown of a pass, and whether the bed is inside its limits
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    #[command(flatten)]
    pub shared: Shared,

    #[command(flatten)]
    plots: Plots,

    /// The line that crown and straightness are measured from (ISO 230-1)
    #[arg(long, value_enum, default_value_t, value_name = "LINE")]
    reference: Reference,

    /// Tell the statistics too: heights, misfits, zero error of the level
    #[arg(long)]
    details: bool,

    /// Say what a pass at the places of this one will tell, before it is taken: readings may still be `-`
    #[arg(long, conflicts_with_all = ["details", "fail_outside", "reference"])]
    forecast: bool,

    /// Exit with status 3 unless every limit is proven kept
    #[arg(long)]
    fail_outside: bool,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn shape lathe.toml                the last pass in the file
  quarterturn shape lathe.toml --pass 1       the first one
  quarterturn shape lathe.toml --units in     in inches and in/ft
  quarterturn shape lathe.toml --forecast     how much its places can tell at best";

/// A reference line by its name on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Reference {
    /// Through the way's two end places
    #[default]
    EndPoints,
    /// Least squares
    LeastSquares,
    /// The two parallel lines that hold the way most closely
    MinimumZone,
}

impl From<Reference> for ReferenceLine {
    fn from(reference: Reference) -> Self {
        match reference {
            Reference::EndPoints => Self::EndPoints,
            Reference::LeastSquares => Self::LeastSquares,
            Reference::MinimumZone => Self::MinimumZone,
        }
    }
}

/// Prints the shape of a pass.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let shared = &arguments.shared;
    let source = source::read(shared.file.as_deref())?;
    if arguments.forecast {
        return forecast::run(shared, &source);
    }
    let survey = &source.survey;
    let working = Progress::begins();
    let passes = Passes::of(survey);
    let findings = Findings::of(&passes, shared.pass(survey)?, arguments.reference.into())?;
    let report = findings.report_with_remedies(survey);
    let text = if shared.json {
        json::to_text(&json::shape::ShapeObject::of(&report))
    } else {
        let telling = Telling {
            plots: arguments.plots.characters(),
            ..shared.telling(&source)
        };
        text::shape::tell(&report, &telling, arguments.details)
    };
    drop(working);
    output::print(&text, shared.colour())?;
    if arguments.fail_outside && !report.judgement.proven(&survey.limits) {
        return Ok(Done::NotProven);
    }
    Ok(Done::Well)
}
