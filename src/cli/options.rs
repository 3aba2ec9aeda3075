//! What the commands share on the command line.

use std::num::NonZeroUsize;
use std::path::PathBuf;

use anstream::ColorChoice;
use clap::{Args, ValueEnum};

use super::failure::Failure;
use super::output;
use super::source::Source;
use crate::report::text::Telling;
use crate::survey::{LengthUnit, Survey};

/// Which survey, which pass, and how to print.
#[derive(Debug, Args)]
pub struct Shared {
    /// The survey file; `-` or none at all reads it from a pipe
    #[arg(value_name = "SURVEY")]
    pub file: Option<PathBuf>,

    /// Number of the pass, from 1; without it the last one
    #[arg(long, value_name = "N")]
    pub pass: Option<NonZeroUsize>,

    /// Print one JSON object, for other programs: mm and mm/m whatever the units
    #[arg(long)]
    pub json: bool,

    /// Print in these units rather than the survey's own
    #[arg(long, value_enum)]
    pub units: Option<Units>,

    /// Colour: auto is on a terminal only, and never if `NO_COLOR` is set
    #[arg(
        long,
        alias = "colour",
        value_enum,
        default_value_t,
        value_name = "WHEN"
    )]
    pub color: Colour,
}

/// Units to print in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// Millimetres and mm/m
    Mm,
    /// Inches and in/ft
    In,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum Colour {
    /// On a terminal
    #[default]
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

impl Shared {
    /// Whether what is printed may carry colour.
    pub fn colour(&self) -> ColorChoice {
        match self.color {
            Colour::Auto => ColorChoice::Auto,
            Colour::Always => ColorChoice::Always,
            Colour::Never => ColorChoice::Never,
        }
    }

    /// How to tell the result of this survey.
    pub fn telling<'a>(&self, source: &'a Source) -> Telling<'a> {
        Telling {
            width: output::width(),
            units: match self.units {
                None => source.survey.units,
                Some(Units::Mm) => LengthUnit::Millimetre,
                Some(Units::In) => LengthUnit::Inch,
            },
            file: &source.name,
            plots: None,
        }
    }

    /// Index of the pass that is asked for: the last one unless another was named.
    pub fn pass(&self, survey: &Survey) -> Result<usize, Failure> {
        pass(self.pass, survey)
    }
}

/// Index of the pass of this number, or of the last one.
pub fn pass(number: Option<NonZeroUsize>, survey: &Survey) -> Result<usize, Failure> {
    let passes = survey.passes.len();
    let number = number.map_or(passes, NonZeroUsize::get);
    match number.checked_sub(1) {
        None => Err(Failure::NoPasses),
        Some(index) if index < passes => Ok(index),
        Some(_) if passes == 0 => Err(Failure::NoPasses),
        Some(_) => Err(Failure::NoSuchPass { number, passes }),
    }
}
