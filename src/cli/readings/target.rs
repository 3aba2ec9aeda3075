//! Which pass is typed: the one that was begun, the one that is planned, or a new one.

use jiff::ZonedDateTime;
use toml::value::Datetime;

use super::is_read;
use super::walk::Walk;
use crate::cli::failure::{self, Failure};
use crate::cli::source::Source;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::stations::{self, readings};
use crate::plan::{NextPass, ToRead, plan, to_read};
use crate::survey::edit::{self, CannotEdit, Draft, OpenList};
use crate::survey::units::LENGTH;
use crate::survey::{Entry, Level, Line, Packing, Pass, Reading, Survey, read};

/// The lines of a pass.
const LINES: [Line; 3] = [Line::Cross, Line::Front, Line::Rear];

/// The pass that is typed.
#[derive(Debug)]
pub(super) struct Target {
    /// Its index in the file.
    pub index: usize,
    /// Name of its level.
    pub level: String,
    /// Its readings line by line, in the order of the lists in the file.
    pub readings: Vec<Reading>,
    /// Whether each of them is open.
    pub open: Vec<bool>,
    /// The way round.
    pub walk: Walk,
    /// What lies under one end of the level.
    pub packing: Packing,
    /// What is still to be written before the first reading can be.
    pub begin: Begin,
    /// What it is likely to take, minutes, where only those places are read that are likely to decide.
    pub proposed: Option<f64>,
}

/// How a pass comes into the file.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Begin {
    /// Its lists are there.
    Begun,
    /// Its places are there and its lists are not.
    Planned {
        /// When it is taken, as a TOML date, where it does not say so.
        taken: Option<String>,
    },
    /// It is there with fewer places, these come after them.
    More(Vec<Reading>),
    /// Nothing of it is there.
    New {
        /// When it is taken, as a TOML date.
        taken: Option<String>,
    },
}

/// What the command line says about the pass.
#[derive(Debug, Default)]
pub(in crate::cli) struct Wishes<'a> {
    pub order: Option<&'a Walk>,
    pub stations: Option<&'a str>,
    pub level: Option<&'a str>,
    pub taken: Option<Datetime>,
    pub new: bool,
    pub reversed: bool,
    pub all: bool,
}

impl Wishes<'_> {
    fn shape_the_pass(&self) -> bool {
        self.stations.is_some() || self.level.is_some() || self.taken.is_some() || self.reversed
    }

    /// Whether they say where to read.
    fn say_where(&self) -> bool {
        self.stations.is_some() || self.reversed || self.all
    }
}

impl Target {
    /// Finds the pass to type.
    pub fn of(source: &Source, wishes: &Wishes<'_>) -> Result<Self, Failure> {
        let survey = &source.survey;
        let last = survey.passes.len().checked_sub(1);
        if let Some(index) = last.filter(|_| !wishes.new) {
            let pass = &survey.passes[index];
            let lists = lists(source, index)?;
            if goes_on(pass, &lists) {
                if wishes.shape_the_pass() {
                    return Err(failure::pass_begun(index + 1));
                }
                return Ok(if lists.is_empty() {
                    Self::planned(index, survey, pass, wishes)
                } else {
                    Self::begun(index, pass, &lists, wishes)
                });
            }
        }
        if let (Some(index), true) = (last, wishes.all && !wishes.new) {
            let lists = lists(source, index)?;
            if let Some(more) = Self::rest(survey, index, &lists) {
                return Ok(more);
            }
        }
        if !wishes.say_where()
            && let ToRead::Pass(next) = to_read(survey)
            && wishes.level.is_none_or(|level| level == next.level)
        {
            let target = Self::proposed(survey, next, wishes);
            if !target.readings.is_empty() {
                return Ok(target);
            }
        }
        Self::new(survey, wishes)
    }

    /// What a pass of few places lacks of all there are to read; nothing where something was turned after it.
    pub fn rest(survey: &Survey, index: usize, lists: &[OpenList]) -> Option<Self> {
        let pass = &survey.passes[index];
        let level = survey.level_of(pass)?;
        if pass.turned.is_some() || !is_read(pass) {
            return None;
        }
        let is_lacking = |place: &Reading| {
            let mut taken = pass.readings.iter();
            let is_there =
                |r: &Reading| r.line == place.line && (r.at - place.at).abs() < SAME_PLACE;
            !place.reversed && !taken.any(is_there)
        };
        let all = all_places(survey, level)?;
        let more: Vec<Reading> = all.into_iter().filter(is_lacking).collect();
        (!more.is_empty()).then(|| Self::extended(index, pass, lists, more))
    }

    /// A pass that goes on with more places.
    pub fn extended(index: usize, pass: &Pass, lists: &[OpenList], more: Vec<Reading>) -> Self {
        let walk = Walk::default().over(|line| more.iter().any(|reading| reading.line == line));
        let mut lines: Vec<(Line, bool)> = lists.iter().map(|l| (l.line, l.reversed)).collect();
        lines.extend(
            LINES
                .map(|line| (line, false))
                .into_iter()
                .filter(|line| !lines.contains(line))
                .collect::<Vec<_>>(),
        );
        let mut readings = Vec::new();
        let mut open = Vec::new();
        for (line, reversed) in lines {
            let of = |reading: &&Reading| (reading.line, reading.reversed) == (line, reversed);
            let (old, new) = (pass.readings.iter().filter(of), more.iter().filter(of));
            open.extend(old.clone().map(|_| false).chain(new.clone().map(|_| true)));
            readings.extend(old.chain(new).cloned());
        }
        Self {
            index,
            level: pass.level.clone(),
            readings,
            open,
            walk,
            packing: pass.conditions.packing,
            begin: Begin::More(more),
            proposed: None,
        }
    }

    fn proposed(survey: &Survey, next: NextPass, wishes: &Wishes<'_>) -> Self {
        let places = readings(&next.stations);
        let walk = wishes.order.cloned().unwrap_or_default();
        let walk = walk.over(|line| places.iter().any(|reading| reading.line == line));
        let readings = in_order(&walk, &places);
        Self {
            index: survey.passes.len(),
            level: next.level,
            open: vec![true; readings.len()],
            readings,
            walk,
            packing: next.packing,
            begin: Begin::New {
                taken: Some(wishes.taken.map_or_else(now, |taken| taken.to_string())),
            },
            proposed: Some(next.expected_minutes),
        }
    }

    fn begun(index: usize, pass: &Pass, lists: &[OpenList], wishes: &Wishes<'_>) -> Self {
        let walk = wishes
            .order
            .cloned()
            .unwrap_or_else(|| Walk::of_lists(lists))
            .over(|line| lists.iter().any(|list| list.line == line));
        let mut seen: Vec<(Line, bool)> = Vec::new();
        let open = pass
            .readings
            .iter()
            .map(|reading| {
                let key = (reading.line, reading.reversed);
                let place = seen.iter().filter(|other| **other == key).count();
                seen.push(key);
                lists.iter().any(|list| {
                    (list.line, list.reversed) == key
                        && list.open.get(place).copied().unwrap_or(false)
                })
            })
            .collect();
        Self {
            index,
            level: pass.level.clone(),
            readings: pass.readings.clone(),
            open,
            walk,
            packing: pass.conditions.packing,
            begin: Begin::Begun,
            proposed: None,
        }
    }

    fn planned(index: usize, survey: &Survey, pass: &Pass, wishes: &Wishes<'_>) -> Self {
        let walk = wishes.order.cloned().unwrap_or_default().over(|line| {
            pass.readings.iter().any(|reading| reading.line == line)
                && can_read(line, survey.level_of(pass))
        });
        let readings = in_order(&walk, &pass.readings);
        Self {
            index,
            level: pass.level.clone(),
            open: vec![true; readings.len()],
            readings,
            walk,
            packing: pass.conditions.packing,
            begin: Begin::Planned {
                taken: pass.taken.is_none().then(now),
            },
            proposed: None,
        }
    }

    fn new(survey: &Survey, wishes: &Wishes<'_>) -> Result<Self, Failure> {
        let last = survey.passes.last();
        let level = level(survey, last, wishes.level)?;
        let places = all_places(survey, level);
        let walk = match wishes.order {
            Some(walk) => {
                if let Some(leg) = walk.0.iter().find(|leg| !can_read(leg.line, Some(level))) {
                    return Err(failure::no_base(&level.name, leg.line));
                }
                walk.clone()
            }
            None => Walk::default().over(|line| {
                can_read(line, Some(level))
                    && (wishes.stations.is_some()
                        || places
                            .as_ref()
                            .is_none_or(|all| all.iter().any(|r| r.line == line)))
            }),
        };
        let readings = match (wishes.stations, places) {
            (Some(list), _) => typed_stations(list, survey, &walk)?,
            (None, Some(places)) => along_the_walk(&places, &walk),
            (None, None) => in_order(&walk, &stations::suggested(survey, level)),
        };
        let readings = if wishes.reversed {
            with_reversed(&readings)
        } else {
            readings
        };
        if readings.is_empty() {
            return Err(failure::no_stations());
        }
        Ok(Self {
            index: survey.passes.len(),
            level: level.name.clone(),
            open: vec![true; readings.len()],
            readings,
            walk,
            packing: next_packing(survey, level),
            begin: Begin::New {
                taken: Some(wishes.taken.map_or_else(now, |taken| taken.to_string())),
            },
            proposed: None,
        })
    }

    /// Checks that the pass, read in full, would make a good survey; a clock that is behind the one of the pass
    /// before is not believed.
    pub fn check(&mut self, source: &Source, wishes: &Wishes<'_>) -> Result<(), Failure> {
        let read_in_full: Vec<Reading> = self
            .readings
            .iter()
            .map(|reading| Reading {
                entry: Entry::Read(vec![0.0]),
                ..reading.clone()
            })
            .collect();
        if self.begin == Begin::Begun {
            return Ok(());
        }
        let attempt = |target: &Self| {
            let text = target.begun_with(&source.text, &source.survey, &read_in_full);
            text.map(|text| read(&text).err())
        };
        let spoiled = |reason| failure::cannot_edit(&source.name, reason);
        let mut mistakes = attempt(self).map_err(spoiled)?;
        if mistakes.is_some()
            && wishes.taken.is_none()
            && let Begin::New { taken } | Begin::Planned { taken } = &mut self.begin
        {
            *taken = None;
            mistakes = attempt(self).map_err(spoiled)?;
        }
        match mistakes {
            None => Ok(()),
            Some(mut mistakes) => Err(failure::would_spoil(&source.name, &mistakes.swap_remove(0))),
        }
    }

    /// The text with the pass in it, ready to take the first reading.
    pub fn begun_in(&self, source: &Source) -> Result<String, CannotEdit> {
        self.begun_with(&source.text, &source.survey, &self.readings)
    }

    fn begun_with(
        &self,
        text: &str,
        survey: &Survey,
        readings: &[Reading],
    ) -> Result<String, CannotEdit> {
        match &self.begin {
            Begin::Begun => Ok(text.to_owned()),
            Begin::Planned { taken: None } => edit::begin_pass(text, self.index, readings),
            Begin::Planned { taken: Some(taken) } => {
                let dated = edit::set_taken(text, self.index, taken)?;
                edit::begin_pass(&dated, self.index, readings)
            }
            Begin::More(more) => edit::extend_pass(text, survey.units, self.index, more),
            Begin::New { taken } => edit::append_pass(
                text,
                survey.units,
                &Draft {
                    taken: taken.clone(),
                    level: &self.level,
                    readings,
                    packing: self.packing,
                    ..Draft::default()
                },
            ),
        }
    }
}

/// Whether places of a pass are still to be read; those that were open when something was turned stay so.
pub(super) fn goes_on(pass: &Pass, lists: &[OpenList]) -> bool {
    let is_turned = pass
        .turned
        .as_ref()
        .is_some_and(|turned| !turned.is_empty());
    let is_planned = lists.is_empty() && !pass.readings.is_empty();
    (is_planned || has_open(lists)) && !is_turned
}

/// Whether any place of the lists is open.
pub(super) fn has_open(lists: &[OpenList]) -> bool {
    lists.iter().any(|list| list.open.contains(&true))
}

/// The lists of a pass in the file.
pub(super) fn lists(source: &Source, index: usize) -> Result<Vec<OpenList>, Failure> {
    edit::lists(&source.text, index).map_err(|reason| failure::cannot_edit(&source.name, reason))
}

/// All places at which this level can be laid, each once: those of the pass that has the most, and of several the last one, for
/// a pass may have held only what was to be decided.
pub(in crate::cli) fn all_places(survey: &Survey, level: &Level) -> Option<Vec<Reading>> {
    let of = |pass: &Pass| -> Vec<Reading> {
        let mut places: Vec<Reading> = Vec::new();
        for reading in &pass.readings {
            let is_there = |place: &Reading| {
                (place.line, place.reversed) == (reading.line, reading.reversed)
                    && (place.at - reading.at).abs() < SAME_PLACE
            };
            if can_read(reading.line, Some(level)) && !places.iter().any(is_there) {
                places.push(Reading {
                    entry: Entry::Missing,
                    ..reading.clone()
                });
            }
        }
        places
    };
    survey.passes.iter().map(of).max_by_key(Vec::len)
}

/// Along a way only a level with a base can be read.
fn can_read(line: Line, level: Option<&Level>) -> bool {
    line == Line::Cross || level.is_some_and(|level| level.base.is_some())
}

fn level<'s>(
    survey: &'s Survey,
    last: Option<&Pass>,
    wished: Option<&str>,
) -> Result<&'s Level, Failure> {
    match (wished, last) {
        (Some(name), _) => survey.levels.get(name),
        (None, Some(pass)) => survey.level_of(pass),
        (None, None) if survey.levels.len() == 1 => survey.levels.values().next(),
        (None, None) => None,
    }
    .ok_or_else(|| failure::which_level(survey))
}

/// What the plan after the last pass that was read wants under this level in the next one.
pub(in crate::cli) fn next_packing(survey: &Survey, level: &Level) -> Packing {
    let last = survey.passes.iter().rposition(is_read);
    let plan = last.and_then(|last| plan(survey, last).ok());
    let next = plan.and_then(|plan| plan.next_pass);
    next.filter(|next| next.level == level.name)
        .map_or_else(Packing::default, |next| next.packing)
}

/// The places along the walk; a line that has none takes those of another.
fn along_the_walk(places: &[Reading], walk: &Walk) -> Vec<Reading> {
    let mut readings = Vec::new();
    for leg in &walk.0 {
        let of =
            |line: Line| -> Vec<&Reading> { places.iter().filter(|r| r.line == line).collect() };
        let others = match leg.line {
            Line::Cross => [Line::Cross, Line::Front, Line::Rear],
            Line::Front => [Line::Front, Line::Rear, Line::Cross],
            Line::Rear => [Line::Rear, Line::Front, Line::Cross],
        };
        let found = others.into_iter().map(of).find(|found| !found.is_empty());
        readings.extend(
            found
                .unwrap_or_default()
                .into_iter()
                .map(|reading| Reading {
                    line: leg.line,
                    reversed: reading.reversed,
                    at: reading.at,
                    entry: Entry::Missing,
                }),
        );
    }
    readings
}

/// The readings line by line in the order of the walk.
fn in_order(walk: &Walk, readings: &[Reading]) -> Vec<Reading> {
    walk.0
        .iter()
        .flat_map(|leg| readings.iter().filter(|reading| reading.line == leg.line))
        .cloned()
        .collect()
}

/// Every cross reading turned end for end too.
fn with_reversed(readings: &[Reading]) -> Vec<Reading> {
    let plain = readings.iter().filter(|reading| !reading.reversed);
    let turned = readings
        .iter()
        .filter(|reading| reading.line == Line::Cross && !reading.reversed)
        .map(|reading| Reading {
            reversed: true,
            ..reading.clone()
        });
    plain.cloned().chain(turned).collect()
}

/// The same typed places on every line of the walk.
fn typed_stations(list: &str, survey: &Survey, walk: &Walk) -> Result<Vec<Reading>, Failure> {
    let places = list
        .split([',', ' '])
        .filter(|word| !word.is_empty())
        .map(|word| {
            LENGTH
                .parse(word, Some(survey.units.length()))
                .map_err(|mistake| failure::stations(&mistake.title))
        })
        .collect::<Result<Vec<f64>, Failure>>()?;
    Ok(walk
        .0
        .iter()
        .flat_map(|leg| {
            places.iter().map(|at| Reading {
                line: leg.line,
                reversed: false,
                at: *at,
                entry: Entry::Missing,
            })
        })
        .collect())
}

/// Day and minute on the wall.
pub(in crate::cli) fn now() -> String {
    ZonedDateTime::now()
        .strftime("%Y-%m-%dT%H:%M:00")
        .to_string()
}
