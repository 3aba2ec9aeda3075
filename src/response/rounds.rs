//! The passes of a file that can be tied to the last one, and the lifts recorded between them.

use std::collections::BTreeMap;

use nalgebra::DVector;

use super::history::NoHistory;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::observation::ZERO_OF_A_LEVEL;
use crate::geometry::stations::lacking;
use crate::geometry::{
    Adjustment, Change, Layout, Observation, Passes, Rise, Roughness, Slip, Suspects, Untold,
    Warmth,
};
use crate::survey::{Level, Line, PLACE_ROUNDING, Pass, Survey};

/// Passes before the last one that are still asked; older ones have been turned away from too often.
const PASSES_REMEMBERED: usize = 7;

/// How many times less exact than the others a reading is taken that is suspected.
const SUSPECTED: f64 = 1e3;

/// One pass as rows on heights at the layout's places.
pub(super) struct Block {
    /// What the level lay on at each of its readings.
    pub under: Vec<Rise>,
    pub observations: Vec<Observation>,
    pub half_base: f64,
    /// What packing adds to its readings across and along, m/m.
    pub packed: [f64; 2],
    /// Lifts recorded since, m by foot, one entry for every round.
    pub rounds_since: std::ops::Range<usize>,
}

/// All of them on one layout.
pub(super) struct Rounds<'a> {
    pub survey: &'a Survey,
    /// Index of the pass before the first of these rounds.
    pub first: usize,
    /// Index of the pass after which the bed moved by itself, where they begin because of that.
    pub moved_after: Option<usize>,
    pub layout: Layout,
    /// Of the bed, by the last pass that tells of it.
    pub roughness: Roughness,
    /// Half the length of the last pass's level, m.
    pub half_base: f64,
    /// One graduation of it, m/m.
    pub division: f64,
    /// Standard deviation of one of its readings, m/m.
    pub reading_deviation: f64,
    /// The bow of a warm bed that was taken off it.
    pub warmth: Option<Warmth>,
    /// Standard deviation of the zero error of the last pass's level before it is reversed, m/m.
    pub zero_deviation: f64,
    pub blocks: Vec<Block>,
    /// Lifts of every round that a bed answers in proportion, m by foot, oldest first: none on a bed that only rests on
    /// its feet.
    pub lifts: Vec<DVector<f64>>,
    /// Lifts that were recorded in every round, m by foot, oldest first.
    pub recorded: Vec<DVector<f64>>,
    /// Which feet were touched in every round.
    pub touched: Vec<Vec<bool>>,
}

impl<'a> Rounds<'a> {
    /// What the passes up to this one tell, the last of them included.
    pub fn of(told: &Passes<'a>, pass: usize) -> Result<Self, NoHistory> {
        let survey = told.survey();
        let passes = &survey.passes[..=pass.min(survey.passes.len().saturating_sub(1))];
        let remembered = first_remembered(passes);
        let moved_after = moved_after(told, remembered, passes);
        let first = moved_after.map_or(remembered, |pass| pass + 1);
        let length = survey.bed.length;
        let spacing = survey.bed.way_spacing;
        let mut adjusted: Vec<(usize, &Adjustment)> = Vec::new();
        let mut suspects: Vec<&Suspects> = Vec::new();
        for index in first..passes.len() {
            match told.told(index) {
                Ok(told) => {
                    adjusted.push((index, &told.adjustment));
                    suspects.push(told.suspects());
                }
                Err(Untold::NoLevel) => return Err(NoHistory::NoLevel),
                // A round without readings between two passes still turned the feet.
                Err(_) if index + 1 < passes.len() => {}
                Err(_) => return Err(NoHistory::NoReadings),
            }
        }
        let Some((index, last)) = adjusted.last() else {
            return Err(NoHistory::NoReadings);
        };
        let level = survey.level_of(&passes[*index]);
        let layout = Layout::new(
            adjusted
                .iter()
                .flat_map(|(_, adjustment)| adjustment.layout().at().to_vec())
                .chain(to_come(survey, passes))
                .collect(),
            length,
        );
        let rounds = &passes[first..passes.len() - 1];
        let recorded: Vec<DVector<f64>> = rounds
            .iter()
            .map(|pass| lifts(survey, pass.turned.as_ref()))
            .collect();
        let lifts = if survey.bed.held_down() {
            recorded.clone()
        } else {
            vec![DVector::zeros(survey.feet.len()); rounds.len()]
        };
        let touched = rounds.iter().map(|pass| touched(survey, pass)).collect();
        let blocks = adjusted
            .iter()
            .zip(suspects)
            .map(|((index, adjustment), suspects)| {
                let observations: Vec<Observation> = adjustment
                    .steering()
                    .iter()
                    .map(|&i| believed(&adjustment.observations().rows[i], suspects))
                    .collect();
                let half = adjustment.observations().half_base;
                let under = observations
                    .iter()
                    .filter_map(|row| Rise::under(&layout, row, half, spacing))
                    .collect();
                Block {
                    half_base: half,
                    packed: [true, false].map(|across| {
                        let mut rows = observations.iter();
                        rows.find(|row| (row.line == Line::Cross) == across)
                            .map_or(0.0, |row| row.packed)
                    }),
                    under,
                    observations,
                    rounds_since: index - first..lifts.len(),
                }
            })
            .collect();
        Ok(Self {
            survey,
            first,
            moved_after,
            roughness: telling(&adjusted).roughness(),
            reading_deviation: last.observations().deviation(),
            warmth: last.observations().warmth,
            half_base: last.observations().half_base,
            division: last.observations().division,
            zero_deviation: ZERO_OF_A_LEVEL
                * level.map_or(1.0, Level::eyes)
                * last.observations().division,
            blocks,
            lifts,
            recorded,
            touched,
            layout,
        })
    }

    /// Places under the ends of the level on a way, or under its middle across, in order.
    pub fn ends(&self, line: Line) -> Vec<f64> {
        let mut places: Vec<f64> = self
            .blocks
            .iter()
            .flat_map(|block| {
                let half = if line == Line::Cross {
                    0.0
                } else {
                    block.half_base
                };
                block
                    .observations
                    .iter()
                    .filter(move |row| row.line == line)
                    .flat_map(move |row| [row.at - half, row.at + half])
            })
            .collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        places
    }
}

/// Places under the ends of every level at those that these passes lack, and where they were read with another one, m: the next
/// pass may be read there.
fn to_come(survey: &Survey, passes: &[Pass]) -> Vec<f64> {
    let levels = survey.levels.values();
    let ends = levels.flat_map(|level| {
        let base = level.base.unwrap_or(0.0);
        let more = lacking(survey, level, passes);
        let others = passes.iter().filter(|pass| pass.level != level.name);
        let read = others.flat_map(|pass| &pass.readings);
        let read = read.filter(|reading| reading.line != Line::Cross);
        let fits = move |at: &f64| survey.bed.overhang(base, *at) <= PLACE_ROUNDING;
        let along = more.front.into_iter().chain(more.rear);
        let along = along.chain(read.map(|reading| reading.at).filter(fits));
        let along = along.flat_map(move |at| [at - base / 2.0, at + base / 2.0]);
        let along = along.filter(|_| level.base.is_some());
        more.cross.into_iter().chain(along)
    });
    ends.collect()
}

/// The last pass that read no line at much fewer places than the fullest did: a few tell little of how rough a bed is.
fn telling<'p>(adjusted: &[(usize, &'p Adjustment)]) -> &'p Adjustment {
    let places = |adjustment: &Adjustment| {
        let used = adjustment.used();
        [Line::Cross, Line::Front, Line::Rear].map(|line| {
            let rows = used.iter().map(|&i| &adjustment.observations().rows[i]);
            let mut at: Vec<f64> = rows
                .filter(|row| row.line == line)
                .map(|row| row.at)
                .collect();
            at.sort_by(f64::total_cmp);
            at.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
            at.len()
        })
    };
    let all = adjusted.iter().map(|(_, pass)| places(pass));
    let most = all.fold([0; 3], |most, places| {
        [0, 1, 2].map(|line| most[line].max(places[line]))
    });
    let full = |pass: &&Adjustment| {
        let places = places(pass);
        (0..3).all(|line| 2 * places[line] >= most[line])
    };
    let mut latest = adjusted.iter().rev().map(|(_, pass)| *pass);
    let fullest = adjusted
        .iter()
        .max_by_key(|(_, pass)| places(pass).iter().sum::<usize>());
    // There is a last pass.
    let fallback = fullest.map_or(adjusted[adjusted.len() - 1].1, |(_, pass)| *pass);
    latest.find(full).unwrap_or(fallback)
}

/// A reading as far as it is to be believed: one that is suspected counts for next to nothing until it has been looked at again,
/// so that what is planned holds whether it is right or wrong.
fn believed(row: &Observation, suspects: &Suspects) -> Observation {
    let mut row = row.clone();
    let doubted = suspects.found.iter().any(|suspect| {
        // A whole line read with another zero still tells its shape.
        suspect.slip != Slip::TurnedBetweenLines
            && (suspect.reading == row.reading || suspect.partner == Some(row.reading))
    });
    if doubted {
        row.deviation *= SUSPECTED;
    }
    row
}

/// The first pass that can be tied to the last one: not too far back, every round since recorded, and the anchors not touched
/// since: what they pull stands in no record.
fn first_remembered(passes: &[Pass]) -> usize {
    let last = passes.len().saturating_sub(1);
    let recorded = (0..last)
        .rev()
        .take_while(|&k| {
            passes[k].turned.is_some() && !passes[k + 1].anchors_changed_since(&passes[k])
        })
        .last()
        .unwrap_or(last);
    recorded.max(last.saturating_sub(PASSES_REMEMBERED))
}

/// The last of these passes from the first one remembered on after which nothing was turned and the bed moved all the same, as two
/// passes tell that can be compared.
fn moved_after(told: &Passes, remembered: usize, passes: &[Pass]) -> Option<usize> {
    let changes: Vec<(usize, Change)> = (remembered..passes.len().saturating_sub(1))
        .filter(|&pass| lifted(&passes[pass]).next().is_none())
        .filter_map(|pass| {
            let [before, after] = [pass, pass + 1].map(|pass| told.told(pass).ok());
            let change = Change::between(&before?.adjustment, &after?.adjustment)?;
            Some((pass, change))
        })
        .collect();
    let asked = changes.len();
    let real = |change: Change| Change { asked, ..change }.is_real();
    let mut latest = changes.into_iter().rev();
    latest
        .find(|(_, change)| real(*change))
        .map(|(pass, _)| pass)
}

/// Feet turned after a pass.
fn lifted(pass: &Pass) -> impl Iterator<Item = usize> {
    let turned = pass.turned.iter().flatten();
    turned
        .filter(|(_, quarters)| **quarters != 0.0)
        .map(|(foot, _)| *foot)
}

/// Lifts that were recorded, m by foot; those of feet that are not named are 0.
pub fn lifts(survey: &Survey, turned: Option<&BTreeMap<usize, f64>>) -> DVector<f64> {
    let mut lifts = DVector::zeros(survey.feet.len());
    for (foot, quarters) in turned.into_iter().flatten() {
        lifts[*foot] = quarters * survey.feet[*foot].lift_per_quarter();
    }
    lifts
}

/// Feet that were touched after a pass. One that was turned both ways may be written down as nothing and yet not
/// stand where it stood; a list of nothing but noughts says that nothing was turned.
fn touched(survey: &Survey, pass: &Pass) -> Vec<bool> {
    let turned = pass.turned.as_ref();
    let turned = turned.filter(|turned| turned.values().any(|quarters| *quarters != 0.0));
    (0..survey.feet.len())
        .map(|foot| turned.is_some_and(|turned| turned.contains_key(&foot)))
        .collect()
}
