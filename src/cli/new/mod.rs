//! `quarterturn new`: a survey file for a machine.
//!
//! `answers` is what is known of the machine, `limits` what it must keep, `questions` asks for the rest, `sheet`
//! writes it down.

mod answers;
mod limits;
mod questions;
mod sheet;

use std::path::PathBuf;

use anstream::ColorChoice;
use clap::Args;

use self::answers::Answers;
use self::questions::Asked;
use super::failure::{self, Failure};
use super::source::shell_word;
use super::typing::Typing;
use super::{Done, forecast, output, survey_file};
use crate::geometry;
use crate::geometry::stations;
use crate::plan::first_passes;
use crate::report::text::{Page, Prose, Scale, place};
use crate::survey::edit::{Draft, append_pass};
use crate::survey::units::short_number;
use crate::survey::{Diagnostic, LengthUnit, Level, Line, Pass, Survey, read};

/// Begin a survey: asks for what it needs, or takes it from the options
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    /// The survey file to write; it must not be there yet
    #[arg(value_name = "SURVEY")]
    file: PathBuf,

    #[command(flatten)]
    answers: Answers,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn new lathe.toml            asks, and says how to measure each
  quarterturn new lathe.toml --length 2900 --way-spacing 380 --feet-at 120,980,1840,2700 --lift-per-turn 1.5 \
--division \"0.02 mm/m\" --base 200
                                        asks nothing: bed, feet, lift and division are all it needs

Lengths are in the unit of the survey, or carry their own, as in \"23 5/8 in\". The file holds a first pass with \
good stations and no readings yet; `quarterturn readings` fills it.";

/// Writes a survey file.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let name = arguments.file.display().to_string();
    if arguments.file.as_os_str() == "-" {
        return Err(failure::no_file());
    }
    if std::fs::symlink_metadata(&arguments.file).is_ok() {
        return Err(failure::exists(&name));
    }
    let mut answers = arguments.answers.clone();
    if questions::first_missing(&answers).is_some() {
        let mut typing = Typing::new();
        let asked = questions::ask(&mut answers, &mut typing, output::width())?;
        if let Asked::Interrupted(answered) = asked {
            output::print(&again(&answers, &answered), ColorChoice::Auto)?;
            return Ok(Done::Well);
        }
    }
    let mistakes = |text: &str, found: Vec<Diagnostic>| {
        failure::options(
            found
                .into_iter()
                .map(|mistake| (answers::option_at(text, mistake.span.start), mistake)),
        )
    };
    let machine = answers.text();
    let bed = read(&machine).map_err(|found| mistakes(&machine, found))?;
    let (twist, crown) = usual_limits(&bed);
    let text = machine + &answers.limits(&twist, &crown);
    let survey = read(&text).map_err(|found| mistakes(&text, found))?;
    let ways = first_passes(&survey);
    let first = ways.first().ok_or_else(failure::no_passes)?;
    let draft = Draft {
        level: &first.level.name,
        readings: &stations::readings(&first.stations),
        planned: true,
        ..Draft::default()
    };
    let text = append_pass(&text, survey.units, &draft)
        .map_err(|reason| failure::cannot_edit(&name, reason))?;
    let survey = read(&text).map_err(|found| mistakes(&text, found))?;
    survey_file::create(&arguments.file, &text)?;
    output::print(&told(&name, &survey, &answers), ColorChoice::Auto)?;
    Ok(Done::Well)
}

/// How to go on another time: the command that says what was answered.
fn again(answers: &Answers, answered: &[(&'static str, String)]) -> String {
    let mut page = Page::new(output::width());
    page.gap();
    page.paragraph(&Prose::from(if questions::first_missing(answers).is_some() {
        "Nothing is written yet. This goes on where you stopped:"
    } else {
        "Nothing is written yet. This writes it with what you answered, and what is usual for the rest:"
    }));
    let said = std::env::args()
        .skip(1)
        .map(|word| shell_word(&word))
        .chain(
            answered
                .iter()
                .map(|(option, words)| format!("{option}={}", shell_word(words))),
        );
    let command: Vec<String> = std::iter::once("quarterturn".to_owned())
        .chain(said)
        .collect();
    page.finish() + &command.join(" ") + "\n"
}

/// Limits for a bed of this length, as they stand in the file: ISO 1708 test G1, ordinary lathes, from memory. Twist
/// 0.04 mm/m; crown, convex only, 0.01 mm to 500 mm, 0.02 mm to 1000 mm, 0.01 mm more for each further metre.
fn usual_limits(survey: &Survey) -> (String, String) {
    let twist = match survey.units {
        LengthUnit::Millimetre => "\"0.04 mm/m\"",
        LengthUnit::Inch => "\"0.0005 in/ft\"",
    };
    let length = survey.bed.length;
    let hundredths = if length <= 0.5 {
        1.0
    } else {
        1.0 + length.max(1.0).ceil()
    };
    // As finely as such limits are written.
    let decimals = match survey.units {
        LengthUnit::Millimetre => 2,
        LengthUnit::Inch => 4,
    };
    let highest = survey.units.length().from_si(hundredths * 1e-5);
    let crown = format!("[0, {}]", short_number(highest, decimals));
    (twist.to_owned(), crown)
}

/// What was written, what it will tell, and what comes next.
fn told(name: &str, survey: &Survey, answers: &Answers) -> String {
    let mut page = Page::new(output::width());
    page.gap();
    page.paragraph(&Prose::new().strong(format!("{name} is written.")));
    let Some(pass) = survey.passes.first() else {
        return page.finish();
    };
    let across = pass
        .readings
        .iter()
        .filter(|r| r.line == Line::Cross)
        .count();
    let along = pass
        .readings
        .iter()
        .filter(|r| r.line == Line::Front)
        .count();
    let level_named = if survey.levels.len() > 1 {
        format!(" with level {}", pass.level)
    } else {
        String::new()
    };
    let words = format!("The first pass is planned{level_named}: {across} readings across");
    let words = match (along, answers.has_base()) {
        (0, true) => {
            format!("{words}; the level is longer than the bed and cannot be laid along it.")
        }
        (0, false) => {
            format!(
                "{words}. A level without a base cannot be laid along the ways, so the crown stays unknown."
            )
        }
        _ => format!(
            "{words} and {along} along each way, {} in all: those that are likely to take least time until all is proven.",
            across + 2 * along
        ),
    };
    page.paragraph(&Prose::from(words));
    let Some(level) = survey.level_of(pass) else {
        return page.finish();
    };
    for words in forecast_in_words(survey, pass, level) {
        page.paragraph(&words);
    }
    page.gap();
    page.paragraph(&Prose::from(format!(
        "Next: `quarterturn readings {name}` at the machine. To practise before: `quarterturn rehearse` in a survey \
         file of its own."
    )));
    page.finish()
}

/// What the planned pass will tell of everything that has a limit.
fn forecast_in_words(survey: &Survey, pass: &Pass, level: &Level) -> Vec<Prose> {
    let (bed, units, limits) = (&survey.bed, survey.units, &survey.limits);
    let places = forecast::stations(pass, level);
    let forecast =
        geometry::forecast(&places, level, bed.length, bed.way_spacing, limits).unwrap_or_default();
    let mut told = Vec::new();
    if let Some(u95) = forecast.twist {
        told.push(tell("twist", u95, limits.twist, &Scale::slopes(units, u95)));
    }
    if let Some(u95) = forecast.twist_per_metre {
        let scale = Scale::slopes(units, u95);
        told.push(tell(
            "twist over any metre",
            u95,
            limits.twist_per_metre,
            &scale,
        ));
    }
    let ways = forecast.front.iter().chain(&forecast.rear);
    if let Some(u95) = ways.map(|way| way.crown).reduce(f64::max) {
        let room = limits
            .crown
            .map(|[lowest, highest]| (highest - lowest) / 2.0);
        told.push(tell("crown", u95, room, &Scale::lengths(units, u95)));
    }
    for local in &forecast.local {
        let ways = [local.front, local.rear].into_iter().flatten();
        if let Some(u95) = ways.reduce(f64::max) {
            let figure = format!("straightness over any {}", place(local.limit.over, units));
            let scale = Scale::lengths(units, u95);
            told.push(tell(&figure, u95, Some(local.limit.height), &scale));
        }
    }
    told
}

/// How well a figure will be known, and whether that is enough: `room` is how far the best value is from the
/// nearest limit.
fn tell(figure: &str, u95: f64, room: Option<f64>, scale: &Scale) -> Prose {
    let known = format!(
        "It will tell the {figure} to within {}",
        scale.with_unit(u95)
    );
    let Some(room) = room else {
        return Prose::from(known + ".");
    };
    let against = format!("{known}; the limits leave room for {}", scale.limit(room));
    if u95 < room {
        Prose::from(against + ".")
    } else {
        Prose::from(against + ", so this pass says what to turn, and a later one is to prove.")
    }
}
