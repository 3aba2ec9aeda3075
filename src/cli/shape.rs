//! `quarterturn shape`: how the bed lies.

use clap::{Args, ValueEnum};

use super::failure::Failure;
use super::options::Shared;
use super::{Done, output, source};
use crate::geometry::{Adjustment, BedShape, Judgement, ReferenceLine, Refusal};
use crate::report::text::{self, Telling};
use crate::report::{ShapeReport, json};

/// Twist and crown of a pass, and whether the bed is inside its limits
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    #[command(flatten)]
    pub shared: Shared,

    /// The line that crown and straightness are measured from (ISO 230-1)
    #[arg(long, value_enum, default_value_t, value_name = "LINE")]
    reference: Reference,

    /// Tell the statistics too: heights, misfits, zero error of the level
    #[arg(long)]
    details: bool,

    /// Exit with status 3 unless every limit is proven kept
    #[arg(long)]
    fail_outside: bool,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn shape lathe.toml                the last pass in the file
  quarterturn shape lathe.toml --pass 1       the first one
  quarterturn shape lathe.toml --units in     in inches and in/ft";

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
    let survey = &source.survey;
    let index = shared.pass(survey)?;
    let (number, pass) = (index + 1, &survey.passes[index]);
    let level = survey
        .level_of(pass)
        .ok_or(Failure::NoReadings { number })?;
    let adjustment = Adjustment::of(pass, level, survey.bed.length, survey.bed.way_spacing)
        .map_err(|refusal| match refusal {
            Refusal::NoReadings => Failure::NoReadings { number },
        })?;
    let reference = arguments.reference.into();
    let shape = BedShape::of(&adjustment, reference);
    let report = ShapeReport {
        survey,
        number,
        pass,
        level,
        adjustment: &adjustment,
        shape: &shape,
        judgement: Judgement::of(&shape, &survey.limits),
        reference,
    };
    let text = if shared.json {
        json::to_text(&json::shape::ShapeObject::of(&report))
    } else {
        let telling = Telling {
            width: output::width(),
            units: shared.units(survey),
            file: &source.name,
        };
        text::shape::tell(&report, &telling, arguments.details)
    };
    output::print(&text, shared.colour())?;
    if arguments.fail_outside && !report.judgement.proven(&survey.limits) {
        return Ok(Done::NotProven);
    }
    Ok(Done::Well)
}
