//! `quarterturn sheet`: a page to print, or one drawing of it.

use std::io::{self, IsTerminal};
use std::num::NonZeroUsize;
use std::path::PathBuf;

use anstream::ColorChoice;
use clap::{Args, ValueEnum};

use super::failure::{self, Failure};
use super::findings::Findings;
use super::options::{self, Colour, Units};
use super::progress::Progress;
use super::readings::{all_places, is_read};
use super::written::{is_input, write_aside};
use super::{Done, output, source};
use crate::geometry::stations::readings as places_of;
use crate::geometry::{Passes, ReferenceLine};
use crate::plan::{self, ExpectedShape, ToRead, to_read};
use crate::report::draw::{
    Drawing, Round, Seen, bed, bubble, chart_drawing, plan_view, rounds, stations, svg,
};
use crate::report::sheet::{ReadingSheet, RecordReport, card, readings, record};
use crate::report::{ShapeReport, TurnsReport};
use crate::survey::{LengthUnit, Reading, Survey};

/// A page to print: blank reading sheet, turn card, or record of the bed as left
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    /// The survey file; `-` or none at all reads it from a pipe
    #[arg(value_name = "SURVEY")]
    file: Option<PathBuf>,

    /// Which page
    #[arg(
        long,
        value_enum,
        required_unless_present = "svg",
        conflicts_with = "svg"
    )]
    kind: Option<Kind>,

    /// One drawing as SVG instead of a page
    #[arg(long, value_enum, value_name = "DRAWING")]
    svg: Option<Picture>,

    /// The file to write; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Replace the file if it is there already
    #[arg(long)]
    force: bool,

    /// Number of the pass, from 1; without it the last one
    #[arg(long, value_name = "N")]
    pass: Option<NonZeroUsize>,

    /// Number of the pass that shows the bed before, for the record; without it the first one
    #[arg(long, value_name = "N")]
    from: Option<NonZeroUsize>,

    /// Print in these units rather than the survey's own
    #[arg(long, value_enum)]
    units: Option<Units>,

    /// Colour of messages: auto is on a terminal only, and never if `NO_COLOR` is set
    #[arg(
        long,
        alias = "colour",
        value_enum,
        default_value_t,
        value_name = "WHEN"
    )]
    color: Colour,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn sheet lathe.toml --kind readings -o readings.html    boxes to fill in at the machine
  quarterturn sheet lathe.toml --kind card -o card.html            what to turn, to tick off
  quarterturn sheet lathe.toml --kind record -o record.html        before and after, to sign and keep
  quarterturn sheet lathe.toml --svg bed -o bed.svg                one drawing, for a report

The page is one file that needs nothing else: open it in a browser, look at it, print it.";

/// A page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kind {
    /// Blank boxes in walking order, and where the level goes
    Readings,
    /// Every foot with its turn and what to watch, to tick off
    Card,
    /// Before and after, verdicts, readings as left, lines to sign
    Record,
}

/// A drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Picture {
    /// Both ways in three dimensions, exaggerated, with the feet and what was or is to be turned
    Bed,
    /// The feet from above with the way every screw goes round
    Plan,
    /// The cross slope along the bed
    Cross,
    /// The front way off its line
    Front,
    /// The rear way off its line
    Rear,
    /// The twist from pass to pass
    RoundsTwist,
    /// Crown and sag from pass to pass
    RoundsCrown,
    /// Where the level goes
    Stations,
    /// How a bubble is written down
    Bubble,
}

impl Arguments {
    /// Whether messages may carry colour.
    pub fn colour(&self) -> ColorChoice {
        self.color.choice()
    }
}

/// Writes the page or the drawing.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let source = source::read(arguments.file.as_deref())?;
    let working = Progress::begins();
    let job = Job {
        arguments,
        survey: &source.survey,
        units: Units::or(arguments.units, source.survey.units),
    };
    let text = match (arguments.svg, arguments.kind) {
        (Some(picture), _) => svg::standalone(&job.picture(picture)?),
        (None, Some(Kind::Card)) => job.card()?,
        (None, Some(Kind::Record)) => job.record(record::page)?,
        (None, _) => readings::page(&job.reading_sheet()?),
    };
    drop(working);
    match arguments.output.as_deref() {
        Some(file) if file.as_os_str() != "-" => {
            if is_input(file, arguments.file.as_deref()) {
                let name = file.display().to_string();
                return Err(failure::is_the_survey(&name));
            }
            write_aside(file, text.as_bytes(), arguments.force)?;
        }
        None if io::stdout().is_terminal() => return Err(failure::no_output()),
        _ => output::print(&text, ColorChoice::Never)?,
    }
    Ok(Done::Well)
}

/// What is asked for.
struct Job<'a> {
    arguments: &'a Arguments,
    survey: &'a Survey,
    units: LengthUnit,
}

impl Job<'_> {
    fn index(&self) -> Result<usize, Failure> {
        options::pass(self.arguments.pass, self.survey)
    }

    /// Places as in the pass that is asked for or planned, else those that are likely to decide soonest.
    fn reading_sheet(&self) -> Result<ReadingSheet<'_>, Failure> {
        let survey = self.survey;
        let like =
            |level, readings: &[Reading]| ReadingSheet::like(survey, level, readings, self.units);
        let is_planned = survey.passes.last().is_some_and(|last| !is_read(last));
        if self.arguments.pass.is_none() && !is_planned {
            if let ToRead::Pass(next) = to_read(survey) {
                let level = survey.levels.get(&next.level);
                return Ok(ReadingSheet {
                    packing: next.packing,
                    ..like(level, &places_of(&next.stations))
                });
            }
            if survey.passes.is_empty() {
                return Err(failure::no_passes());
            }
        }
        let pass = &survey.passes[self.index()?];
        let level = survey.level_of(pass);
        let all = level.and_then(|level| all_places(survey, level));
        let all = all.filter(|_| self.arguments.pass.is_none() && !is_planned);
        Ok(like(level, &all.unwrap_or_else(|| pass.readings.clone())))
    }

    /// The turns after the pass, and what they should leave.
    fn turns<T>(
        &self,
        told: impl FnOnce(&TurnsReport, Option<&ExpectedShape>) -> T,
    ) -> Result<T, Failure> {
        let survey = self.survey;
        let index = self.index()?;
        let passes = Passes::of(survey);
        let findings = Findings::of(&passes, index, ReferenceLine::default())?;
        let plan =
            plan::after(&passes, index).map_err(|reason| failure::no_plan(reason, index + 1))?;
        let shape = findings.report(survey);
        let expected =
            ExpectedShape::after(survey, index, shape.shape, &plan, shape.reference).ok();
        let report = TurnsReport { shape, plan: &plan };
        Ok(told(&report, expected.as_ref()))
    }

    fn card(&self) -> Result<String, Failure> {
        self.turns(|report, expected| card::page(report, expected, self.units))
    }

    /// Everything up to the pass.
    fn record<T>(&self, told: impl FnOnce(&RecordReport, LengthUnit) -> T) -> Result<T, Failure> {
        let survey = self.survey;
        let index = self.index()?;
        let passes = Passes::of(survey);
        let now = Findings::of(&passes, index, ReferenceLine::default())?;
        let earlier: Vec<Option<Findings>> = (0..index)
            .map(|index| Findings::of(&passes, index, ReferenceLine::default()).ok())
            .collect();
        let before = match self.arguments.from {
            Some(number) => {
                let before = options::pass(Some(number), survey)?;
                if before > index {
                    return Err(failure::before_after(before + 1, index + 1));
                }
                match earlier.get(before) {
                    None => None,
                    Some(Some(found)) => Some(found),
                    Some(None) => return Err(failure::no_readings(before + 1)),
                }
            }
            None => earlier.iter().flatten().next(),
        };
        let reports: Vec<Option<ShapeReport>> = earlier
            .iter()
            .map(|found| found.as_ref().map(|found| found.report(survey)))
            .chain([Some(now.report(survey))])
            .collect();
        let rounds: Vec<Round> = survey
            .passes
            .iter()
            .zip(&reports)
            .map(|(pass, report)| Round {
                pass,
                shape: report.as_ref().map(|report| report.shape),
            })
            .collect();
        let plan = plan::after(&passes, index).ok();
        let report = RecordReport {
            now: now.report(survey),
            before: before.map(|found| found.report(survey)),
            rounds: &rounds,
            plan: plan.as_ref(),
        };
        Ok(told(&report, self.units))
    }

    fn picture(&self, picture: Picture) -> Result<Drawing, Failure> {
        let survey = self.survey;
        let units = self.units;
        let found = match picture {
            Picture::Bubble => Some(bubble()),
            Picture::Stations => {
                let sheet = self.reading_sheet()?;
                let base = sheet.level.and_then(|level| level.base);
                Some(stations(survey, &sheet.legs, base, units))
            }
            Picture::Plan => {
                Some(self.turns(|report, _| plan_view(survey, &report.plan.lines, units))?)
            }
            Picture::Bed => self.record(|report, units| {
                let turned = report.turned();
                bed(&report.seen(units), turned.as_deref())
            })?,
            Picture::RoundsTwist | Picture::RoundsCrown => {
                let name = match picture {
                    Picture::RoundsTwist => "rounds-twist",
                    _ => "rounds-crown",
                };
                self.record(|report, units| {
                    rounds(survey, report.rounds, units)
                        .iter()
                        .find(|chart| chart.name == name)
                        .map(chart_drawing)
                })?
            }
            Picture::Cross | Picture::Front | Picture::Rear => {
                let index = self.index()?;
                let passes = Passes::of(survey);
                let findings = Findings::of(&passes, index, ReferenceLine::default())?;
                let seen = Seen {
                    survey,
                    units,
                    shape: findings.report(survey).shape,
                    before: None,
                    expected: None,
                };
                let chart = match picture {
                    Picture::Cross => seen.cross(),
                    Picture::Front => seen.way(crate::survey::Side::Front),
                    _ => seen.way(crate::survey::Side::Rear),
                };
                chart.as_ref().map(chart_drawing)
            }
        };
        found.ok_or_else(failure::nothing_to_draw)
    }
}
