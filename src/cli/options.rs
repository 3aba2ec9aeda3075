//! What the commands share on the command line.

use std::num::NonZeroUsize;
use std::path::PathBuf;

use anstream::ColorChoice;
use clap::{Args, ValueEnum};

use super::failure::{self, Failure};
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
        self.color.choice()
    }

    /// How to tell the result of this survey.
    pub fn telling<'a>(&self, source: &'a Source) -> Telling<'a> {
        Telling {
            width: output::width(),
            units: Units::or(self.units, source.survey.units),
            file: &source.name,
            plots: None,
        }
    }

    /// Index of the pass that is asked for: the last one unless another was named.
    pub fn pass(&self, survey: &Survey) -> Result<usize, Failure> {
        pass(self.pass, survey)
    }
}

impl Units {
    /// These units, or the survey's own where none were asked for.
    pub fn or(asked: Option<Self>, own: LengthUnit) -> LengthUnit {
        match asked {
            None => own,
            Some(Self::Mm) => LengthUnit::Millimetre,
            Some(Self::In) => LengthUnit::Inch,
        }
    }
}

impl Colour {
    /// Whether what is printed may carry colour.
    pub fn choice(self) -> ColorChoice {
        match self {
            Self::Auto => ColorChoice::Auto,
            Self::Always => ColorChoice::Always,
            Self::Never => ColorChoice::Never,
        }
    }
}

/// Index of the pass of this number, or of the last one.
pub fn pass(number: Option<NonZeroUsize>, survey: &Survey) -> Result<usize, Failure> {
    let passes = survey.passes.len();
    let number = number.map_or(passes, NonZeroUsize::get);
    match number.checked_sub(1) {
        None => Err(failure::no_passes()),
        Some(index) if index < passes => Ok(index),
        Some(_) if passes == 0 => Err(failure::no_passes()),
        Some(_) => Err(failure::no_such_pass(number, passes)),
    }
}
