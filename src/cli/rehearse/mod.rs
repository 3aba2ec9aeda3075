//! `quarterturn rehearse`: a made-up bed behind a survey file.
//!
//! The bed itself is nowhere on disk: it follows from the seed, which the passes' notes remember, and from what
//! the file says was turned. `practice` reads and writes that note, `replay` plays the file up to now, `slip`
//! spoils a reading on request, and `truth` shows the bed in the end.

mod practice;
mod replay;
mod slip;
mod truth;

use std::hash::{BuildHasher, Hasher, RandomState};
use std::path::PathBuf;

use anstream::ColorChoice;
use clap::{Args, ValueEnum};

use self::practice::Practice;
pub(super) use self::practice::is_rehearsed;
use self::replay::Replay;
use super::failure::{self, Failure};
use super::findings::Findings;
use super::readings::{all_places, is_read, next_packing, now};
use super::source::Source;
use super::survey_file::SurveyFile;
use super::{Done, output};
use crate::geometry::stations;
use crate::geometry::{Passes, ReferenceLine};
use crate::plan::{self, Action, Advice, ToRead, TurnPlan, to_read};
use crate::rehearse::Stations;
use crate::report::text::scale::place;
use crate::report::text::{Page, Prose};
use crate::survey::edit::{self, CannotEdit, Draft};
use crate::survey::units::short_number;
use crate::survey::{Entry, Level, Pass, Reading, Survey, format_entry, read};

/// Practise the whole loop: a made-up bed answers your turns with readings
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    /// A survey file without readings, as `quarterturn new` writes it, or one that is being rehearsed
    #[arg(value_name = "SURVEY")]
    file: PathBuf,

    /// Which made-up bed; without it one by chance. The file remembers it
    #[arg(long, value_name = "NUMBER")]
    seed: Option<u64>,

    /// How the machine stands; without it near what it should be. The file remembers it
    #[arg(long, value_enum)]
    floor: Option<Floor>,

    /// Write one reading of the pass down wrongly, as people do
    #[arg(long)]
    slips: bool,

    /// Name of the level for the next pass; without it that of the last one
    #[arg(long, value_name = "NAME")]
    level: Option<String>,

    /// Show the true bed now, beside what the last pass makes believe, and take no pass
    #[arg(long)]
    truth: bool,
}

/// How a made-up machine stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Floor {
    /// Roughly level already
    Near,
    /// Just set down: the floor leans by millimetres to the metre, the feet are out by half a millimetre
    Fresh,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn rehearse practice.toml --seed 7     writes the first pass of a made-up machine into the file
  quarterturn rehearse practice.toml              after your turns: the next pass; at the end, the true bed
  quarterturn rehearse practice.toml --truth      gives up and looks
  quarterturn rehearse fresh.toml --floor fresh   a machine as it came off the lorry

A rehearsal from the beginning:
  quarterturn new practice.toml --length 2900 --way-spacing 380 --feet-at 120,980,1840,2700 \
--lift-per-turn 1.5 --division \"0.02 mm/m\" --base 200
  quarterturn rehearse practice.toml --seed 7
then, until the bed is inside its limits:
  quarterturn turns practice.toml
  quarterturn turned practice.toml as-planned
  quarterturn rehearse practice.toml

Where you record what the card says, a hand follows the card and watches the bubble; anything else that you \
record is turned by count. Threads, hands, feet and the level are as imperfect as real ones.";

/// Writes the next pass of a rehearsal, or shows how it ended.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let mut file = SurveyFile::open(&arguments.file)?;
    let mut source = file.read()?;
    let before = Practice::of_survey(&source.survey)?;
    let practice = practice(arguments, before)?;
    let mut replay = play(&source.survey, practice)?;
    let mut page = Page::new(output::width());
    let last = source.survey.passes.iter().rposition(is_read);
    let is_due = last.is_none_or(|last| is_turned(&source.survey.passes[last]));
    if is_due && !arguments.truth {
        let pass = next_pass(
            &source.survey,
            arguments.level.as_deref(),
            &mut replay,
            practice,
        )?;
        source = file.change(|source| written(source, &pass))?;
        hand(&mut page, &source.survey, &replay);
        page.paragraph(
            &Prose::new()
                .strong(format!("Pass {} is written", source.survey.passes.len()))
                .plain(format!(
                    ": {} readings of made-up bed {}.",
                    pass.readings.len(),
                    practice.seed
                )),
        );
        // Played again with the new pass in it, so that slips are found beside it.
        replay = play(&source.survey, practice)?;
    }
    let Some(index) = source.survey.passes.iter().rposition(is_read) else {
        return Err(failure::no_readings(1));
    };
    let plan = plan::plan(&source.survey, index).ok();
    let is_done = plan
        .as_ref()
        .is_some_and(|plan| plan.advice.contains(&Advice::Done));
    if is_done || arguments.truth {
        reveal(&mut page, &source.survey, index, &replay)?;
    } else {
        page.gap();
        page.hanging("Next   ", &Prose::from(next(plan.as_ref(), &source.name)));
    }
    output::print(&page.finish(), ColorChoice::Auto)?;
    Ok(Done::Well)
}

/// Whether all turns after a pass are made.
fn is_turned(pass: &Pass) -> bool {
    pass.turned.is_some() && !pass.conditions.unfinished
}

/// Writes the next pass of a rehearsal that was begun.
pub(super) fn read_next(file: &mut SurveyFile, level: Option<&str>) -> Result<Source, Failure> {
    let source = file.read()?;
    let practice = Practice::of_survey(&source.survey)?.ok_or_else(failure::no_passes)?;
    let mut replay = play(&source.survey, practice)?;
    let pass = next_pass(&source.survey, level, &mut replay, practice)?;
    file.change(|source| written(source, &pass))
}

/// The rehearsal of this file, or a new one.
fn practice(arguments: &Arguments, before: Option<Practice>) -> Result<Practice, Failure> {
    let seed = match (arguments.seed, before) {
        (Some(seed), Some(before)) if seed != before.seed => {
            return Err(failure::seed_chosen(seed, before.seed));
        }
        (Some(seed), _) => seed,
        (None, Some(before)) => before.seed,
        (None, None) => by_chance(),
    };
    if let (Some(floor), Some(before)) = (arguments.floor, before)
        && (floor == Floor::Fresh) != before.fresh
    {
        return Err(failure::floor_chosen(before.fresh));
    }
    Ok(Practice {
        seed,
        fresh: before.map_or(arguments.floor == Some(Floor::Fresh), |before| before.fresh),
        slips: arguments.slips || before.is_some_and(|before| before.slips),
    })
}

/// A number by chance, short enough to be told to somebody else.
fn by_chance() -> u64 {
    RandomState::new().build_hasher().finish() % 10_000
}

fn play(survey: &Survey, practice: Practice) -> Result<Replay, Failure> {
    Replay::of(survey, practice).map_err(|reason| failure::cannot_stand(&reason))
}

/// The next pass of the made-up bed: of the planned places if there are some, else where it is likely to decide soonest.
fn next_pass(
    survey: &Survey,
    level: Option<&str>,
    replay: &mut Replay,
    practice: Practice,
) -> Result<Pass, Failure> {
    let planned = survey.passes.last().filter(|last| !is_read(last));
    let proposed = match to_read(survey) {
        ToRead::Pass(next) if planned.is_none() => Some(next),
        _ => None,
    };
    let proposed = proposed.filter(|next| level.is_none_or(|level| level == next.level));
    let of_last = survey.passes.last().and_then(|last| survey.level_of(last));
    let level = match (level, &proposed) {
        (Some(name), _) => survey.levels.get(name),
        (None, Some(next)) => survey.levels.get(&next.level),
        (None, None) => of_last.or_else(|| survey.levels.values().next()),
    }
    .ok_or_else(|| failure::which_level(survey))?;
    let (places, packing) = match (planned, proposed) {
        (Some(planned), _) => (planned.readings.clone(), next_packing(survey, level)),
        (None, Some(next)) => (stations::readings(&next.stations), next.packing),
        (None, None) => {
            let all = all_places(survey, level);
            let all = all.unwrap_or_else(|| stations::suggested(survey, level));
            (all, next_packing(survey, level))
        }
    };
    replay.bed.pack(packing);
    let mut pass = replay.bed.take_pass(level, &stations_of(&places, level));
    if practice.slips {
        slip::make_one(&mut pass, practice.seed, survey.passes.len());
    }
    pass.note = Some(practice.note());
    Ok(pass)
}

/// The places where this level can be laid.
fn stations_of(places: &[Reading], level: &Level) -> Stations {
    use crate::survey::Line::{Cross, Front, Rear};
    let of = |line, reversed| {
        places
            .iter()
            .filter(|reading| (reading.line, reading.reversed) == (line, reversed))
            .filter(|_| line == Cross || level.base.is_some())
            .map(|reading| reading.at)
            .collect()
    };
    Stations {
        cross: of(Cross, false),
        cross_reversed: of(Cross, true),
        front: of(Front, false),
        rear: of(Rear, false),
    }
}

/// The file with the pass in it.
fn written(source: &Source, pass: &Pass) -> Result<String, CannotEdit> {
    let survey = &source.survey;
    let hanging: Vec<&str> = pass
        .hanging
        .iter()
        .filter_map(|foot| survey.feet.get(*foot))
        .map(|foot| foot.name.as_str())
        .collect();
    if let Some(index) = survey.passes.len().checked_sub(1)
        && !is_read(&survey.passes[index])
        && edit::lists(&source.text, index)?.is_empty()
    {
        let mut text = edit::begin_pass(&source.text, index, &pass.readings)?;
        if !hanging.is_empty() {
            text = edit::set_felt(&text, index, "hanging", &hanging)?;
        }
        return edit::set_note(&text, index, pass.note.as_deref().unwrap_or_default());
    }
    let append = |taken: Option<String>| {
        let draft = Draft {
            taken,
            level: &pass.level,
            readings: &pass.readings,
            hanging: hanging.clone(),
            note: pass.note.as_deref(),
            packing: pass.conditions.packing,
            planned: false,
        };
        edit::append_pass(&source.text, survey.units, &draft)
    };
    let text = append(Some(now()))?;
    // A clock that is behind the one of the pass before is not believed.
    if read(&text).is_ok() {
        Ok(text)
    } else {
        append(None)
    }
}

/// What the hand did, where it did not do just what is recorded.
fn hand(page: &mut Page, survey: &Survey, replay: &Replay) {
    let moves: Vec<String> = replay
        .hand
        .iter()
        .filter(|done| done.watched)
        .filter_map(|done| {
            let foot = survey.feet.get(done.foot)?;
            Some(format!(
                "{} {} for {}",
                foot.name,
                in_degrees(done.counted),
                in_degrees(done.recorded)
            ))
        })
        .collect();
    if !moves.is_empty() {
        page.paragraph(&Prose::from(format!(
            "The hand watched the bubble and turned {}.",
            moves.join(", ")
        )));
    }
}

/// A number of quarter-turns in whole degrees of the wrench, which is as well as a hand counts.
fn in_degrees(quarter_turns: f64) -> String {
    let degrees = short_number(quarter_turns * 90.0, 0);
    let sign = if quarter_turns > 0.0 && degrees != "0" {
        "+"
    } else {
        ""
    };
    format!("{sign}{degrees}°")
}

/// What to do next, in a rehearsal that goes on.
fn next(plan: Option<&TurnPlan>, name: &str) -> String {
    let turns = plan.is_none_or(|plan| plan.lines.iter().any(|line| line.action != Action::Leave));
    if turns {
        format!(
            "`quarterturn turns {name}` says what to turn. Then record it, as in `quarterturn turned {name} \
             as-planned`, and come back with `quarterturn rehearse {name}`."
        )
    } else {
        format!(
            "the readings say to turn nothing and prove nothing yet: `quarterturn turns {name}` says why. `quarterturn \
             turned {name} nothing`, then `quarterturn rehearse {name}` reads again; with `--truth` it shows the bed."
        )
    }
}

/// The true bed, and the slips that were made on the way.
fn reveal(page: &mut Page, survey: &Survey, index: usize, replay: &Replay) -> Result<(), Failure> {
    let passes = Passes::of(survey);
    let findings = Findings::of(&passes, index, ReferenceLine::EndPoints)?;
    let report = findings.report(survey);
    page.gap();
    let rounds = survey
        .passes
        .iter()
        .filter_map(|pass| pass.turned.as_ref())
        .filter(|turned| !turned.is_empty())
        .count();
    page.paragraph(&Prose::from(match rounds {
        0 => "Nothing was turned so far.".to_owned(),
        1 => "After 1 round of turns:".to_owned(),
        _ => format!("After {rounds} rounds of turns:"),
    }));
    truth::tell(page, survey, report.shape, &replay.bed);
    let mut slips = Vec::new();
    for (pass_index, honest) in &replay.honest {
        let pass = &survey.passes[*pass_index];
        for (reading, other) in slip::found(pass, honest) {
            let reading = &pass.readings[reading];
            let words = |entry: &Entry| format_entry(reading.line, entry);
            slips.push(format!(
                "pass {}, {} at {}: {} is written, the level showed {}",
                pass_index + 1,
                reading.line.name(),
                place(reading.at, survey.units),
                words(&reading.entry),
                words(&honest.readings[other].entry)
            ));
        }
    }
    if !slips.is_empty() {
        page.heading("Slips");
        for slip in slips {
            page.paragraph(&Prose::from(slip));
        }
    }
    Ok(())
}
