//! What a bed may be wrong in: twist, the form of both ways and lean, each as a row on its heights with what it
//! should be and how much of it counts as one share.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::strip::most_packed;
use super::trips::LARGEST_TRIP;
use crate::geometry::Rise;
use crate::geometry::layout::SAME_PLACE;
use crate::response::History;
use crate::survey::{AimShape, Level, Line, Side, Survey};

/// Twist that counts as one share where the survey sets no limit, and lean of a bed that is to be level, m/m.
pub(super) const USUAL_TWIST: f64 = 0.02e-3;
/// Crown that counts as one share where the survey sets no limit, m.
const USUAL_CROWN: f64 = 10e-6;

/// From this share of the scale on a reading is near the end of it.
const NEAR_THE_END: f64 = 0.75;
/// To this share of it a bed is drawn back: the zero error of the next pass is another one, by a division or two.
const KEPT_ON_SCALE: f64 = 0.7;
/// To this share of the finest level's scale a bed is tipped in a rough round, read with a coarser level: what tipping costs
/// in accuracy such a round has not got, and the next one should not be rough again.
const WELL_ON_SCALE: f64 = 0.4;
/// Lean of this share of the scale counts as one share.
const ON_SCALE_SHARE: f64 = 0.25;

/// What one departure is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// Cross slope at a place, less its mean over the bed.
    Twist,
    /// Departure of a way from the line through its end places.
    OffLine(Side),
    /// Either of them where nothing was read, or only off the scale: what turns do to it is as bad as what was there.
    Unseen,
    /// Lean of the whole bed, where it is to be level.
    Lean,
    /// Readings near the end of the scale, where a bed may lean.
    Scale,
}

/// One departure before it is known whether the readings tell it.
pub(super) struct Row {
    pub heights: RowDVector<f64>,
    /// As a function of the history's unknowns where it is not one of the heights alone.
    pub function: Option<RowDVector<f64>>,
    pub target: f64,
    pub share: f64,
    pub kind: Kind,
    pub at: f64,
}

/// All departures of this bed, whether the readings tell them or not. Lifts that were tried (m by foot) show where it is to
/// be kept on the scale.
pub(super) fn departures(
    survey: &Survey,
    history: &History,
    level: &Level,
    tried: &[DVector<f64>],
) -> Vec<Row> {
    let mut rows = twist_rows(survey, history, &between(history, history.cross_stretch()));
    for side in [Side::Front, Side::Rear] {
        let at = between(history, history.stretch(side));
        rows.extend(way_rows(survey, history, side, &at));
        rows.extend(unseen(survey, unseen_way_rows(survey, history, side, &at)));
    }
    rows.extend(unseen(survey, unseen_twist_rows(survey, history)));
    let level_aim = survey.aim.shape == AimShape::Level;
    if level_aim {
        rows.extend(lean_rows(survey, history));
    }
    // Where a bubble is off its scale the lean is not known, and the way back is the same for every aim.
    if !level_aim || history.last_readings().iter().any(|reading| reading.bound) {
        rows.extend(on_scale_rows(survey, history, level, tried));
    }
    rows
}

/// Rows of which nothing is known: what is there should stay as it is. Of ways that nobody reads and nothing limits only a bend as
/// large as a walk counts.
fn unseen(survey: &Survey, rows: Vec<Row>) -> impl Iterator<Item = Row> {
    let limited = survey.limits.crown.is_some() || survey.limits.straightness.is_some();
    rows.into_iter().map(move |row| Row {
        share: match row.kind {
            Kind::OffLine(_) if !limited => LARGEST_TRIP,
            _ => row.share,
        },
        kind: Kind::Unseen,
        target: 0.0,
        ..row
    })
}

/// A way beyond the stretch that was read: off the line from the far end of that to its own end.
fn unseen_way_rows(survey: &Survey, history: &History, side: Side, read: &[f64]) -> Vec<Row> {
    let all = history.places();
    let (Some(&first), Some(&last)) = (read.first(), read.last()) else {
        return way_rows(survey, history, side, all);
    };
    let before = all.iter().copied().filter(|at| *at <= last);
    let after = all.iter().copied().filter(|at| *at >= first);
    let [before, after] = [before.collect(), after.collect()]
        .map(|at: Vec<f64>| way_rows(survey, history, side, &at));
    let beyond = |row: &Row| !(first..=last).contains(&row.at);
    before.into_iter().chain(after).filter(beyond).collect()
}

/// Twist beyond the stretch that was read across: against the end of that.
fn unseen_twist_rows(survey: &Survey, history: &History) -> Vec<Row> {
    let all = history.places();
    let read = between(history, history.cross_stretch());
    let (Some(&first), Some(&last)) = (read.first(), read.last()) else {
        return twist_rows(survey, history, all);
    };
    let row = |at: &f64| {
        let end = cross_row(survey, history, at.clamp(first, last))?;
        Some(Row {
            heights: cross_row(survey, history, *at)? - end,
            function: None,
            target: 0.0,
            share: twist_share(survey),
            kind: Kind::Twist,
            at: *at,
        })
    };
    let beyond = all.iter().filter(|at| !(first..=last).contains(*at));
    beyond.filter_map(row).collect()
}

/// Twist to either side of what is wanted that counts as one share, m/m.
fn twist_share(survey: &Survey) -> f64 {
    survey.limits.twist.map_or(USUAL_TWIST, |limit| limit / 2.0)
}

/// Cross slope at a place as a function of the heights.
fn cross_row(survey: &Survey, history: &History, at: f64) -> Option<RowDVector<f64>> {
    let places = history.places().len();
    let place = history.place(at)?;
    let mut row = RowDVector::zeros(2 * places);
    row[place] = survey.bed.way_spacing.recip();
    row[places + place] = -survey.bed.way_spacing.recip();
    Some(row)
}

fn twist_rows(survey: &Survey, history: &History, at: &[f64]) -> Vec<Row> {
    let rows: Vec<RowDVector<f64>> = at
        .iter()
        .filter_map(|at| cross_row(survey, history, *at))
        .collect();
    if rows.len() < 2 {
        return Vec::new();
    }
    let mean = DMatrix::from_rows(&rows).row_mean();
    let centre = at.iter().sum::<f64>() / at.len() as f64;
    let chosen = survey.aim.twist.unwrap_or(0.0) / survey.bed.length;
    let share = twist_share(survey);
    rows.into_iter()
        .zip(at)
        .map(|(row, at)| Row {
            heights: row - &mean,
            function: None,
            target: chosen * (*at - centre),
            share,
            kind: Kind::Twist,
            at: *at,
        })
        .collect()
}

/// All places of this stretch at which the bed's heights are worked out, m.
fn between(history: &History, stretch: Option<[f64; 2]>) -> Vec<f64> {
    let Some([first, last]) = stretch else {
        return Vec::new();
    };
    history
        .places()
        .iter()
        .copied()
        .filter(|at| (first - SAME_PLACE..=last + SAME_PLACE).contains(at))
        .collect()
}

/// Crown to steer for, m: what the survey asks for, or the middle of what it allows.
fn crown_aimed_at(survey: &Survey) -> f64 {
    survey.aim.crown.unwrap_or_else(|| {
        survey
            .limits
            .crown
            .map_or(0.0, |[lowest, highest]| f64::midpoint(lowest, highest))
    })
}

fn way_rows(survey: &Survey, history: &History, side: Side, at: &[f64]) -> Vec<Row> {
    let (Some(first), Some(last)) = (at.first(), at.last()) else {
        return Vec::new();
    };
    if at.len() < 3 {
        return Vec::new();
    }
    let places = history.places().len();
    let skip = if side == Side::Front { 0 } else { places };
    let column = |at: f64| history.place(at).map(|place| skip + place);
    let share = match (survey.limits.crown, survey.limits.straightness) {
        (Some([lowest, highest]), None) => (highest - lowest) / 2.0,
        (Some([lowest, highest]), Some(range)) => ((highest - lowest) / 2.0).min(range / 2.0),
        (None, Some(range)) => range / 2.0,
        (None, None) => USUAL_CROWN,
    };
    let crown = crown_aimed_at(survey);
    // The two ends are on their line by definition.
    at[1..at.len() - 1]
        .iter()
        .filter_map(|here| {
            let (start, middle, end) = (column(*first)?, column(*here)?, column(*last)?);
            let s = (here - first) / (last - first);
            let mut row = RowDVector::zeros(2 * places);
            row[middle] += 1.0;
            row[start] -= 1.0 - s;
            row[end] -= s;
            Some(Row {
                heights: row,
                function: None,
                // A parabola is what an even curvature gives.
                target: 4.0 * crown * s * (1.0 - s),
                share: if share > 0.0 { share } else { USUAL_CROWN },
                kind: Kind::OffLine(side),
                at: *here,
            })
        })
        .collect()
}

/// Lean across and along, as far as the level's zero error is known.
fn lean_rows(survey: &Survey, history: &History) -> Vec<Row> {
    let mut rows = Vec::new();
    let places = history.places().len();
    let centre = survey.bed.length / 2.0;
    let across: Vec<RowDVector<f64>> = history
        .cross_places()
        .iter()
        .filter_map(|at| cross_row(survey, history, *at))
        .collect();
    if !across.is_empty() {
        rows.push(Row {
            heights: DMatrix::from_rows(&across).row_mean(),
            function: None,
            target: 0.0,
            share: USUAL_TWIST,
            kind: Kind::Lean,
            at: centre,
        });
    }
    for side in [Side::Front, Side::Rear] {
        let at = history.way_places(side);
        let ends = at.first().zip(at.last());
        let columns = ends.and_then(|(first, last)| {
            Some((history.place(*first)?, history.place(*last)?, last - first))
        });
        if let Some((first, last, length)) = columns.filter(|(_, _, length)| *length > 0.0) {
            let skip = if side == Side::Front { 0 } else { places };
            let mut row = RowDVector::zeros(2 * places);
            row[skip + last] = length.recip();
            row[skip + first] = -length.recip();
            rows.push(Row {
                heights: row,
                function: None,
                target: 0.0,
                share: USUAL_TWIST,
                kind: Kind::Lean,
                at: centre,
            });
        }
    }
    rows
}

/// A bed may lean as it likes, as long as the level can be read on it, packed if need be: where a reading comes near the end of
/// the finest level's scale, or did after lifts that were tried, the mean of its line is drawn back, zero error included, and no
/// further than it takes, for whatever tips the whole bed costs accuracy where it counts. In a rough round it is drawn
/// well onto the scale.
fn on_scale_rows(
    survey: &Survey,
    history: &History,
    level: &Level,
    tried: &[DVector<f64>],
) -> Vec<Row> {
    let finest = survey
        .levels
        .values()
        .map(|other| other.division)
        .fold(level.division, f64::min);
    let scale = survey
        .levels
        .values()
        .filter(|other| other.division <= level.division)
        .filter_map(|other| other.range.map(|range| range * other.division))
        .fold(f64::INFINITY, f64::min);
    let base = level.base;
    let rough = level.division > finest;
    let mut levels = survey.levels.values();
    let coarser = levels.any(|other| other.division > level.division);
    let wanted = scale * if rough { WELL_ON_SCALE } else { KEPT_ON_SCALE };
    let moved: Vec<DVector<f64>> = tried
        .iter()
        .rev()
        .map(|lifts| history.influence() * lifts)
        .collect();
    [Line::Cross, Line::Front, Line::Rear]
        .into_iter()
        .filter_map(|line| {
            let (functions, rises): (Vec<RowDVector<f64>>, Vec<Rise>) = history
                .last_readings()
                .iter()
                .filter(|reading| reading.line == line)
                .filter_map(|reading| history.shown(line, reading.at))
                .unzip();
            if functions.is_empty() {
                return None;
            }
            let functions = DMatrix::from_rows(&functions);
            // How thick a strip would have to be is not known where most of the line is off the scale, or where as much of it is
            // that the rest is near the end as well.
            let of_line = || {
                let last = history.last_readings().iter();
                last.filter(|reading| reading.line == line)
            };
            let off = of_line().filter(|reading| reading.bound).count();
            let shown = &functions * &history.system().unknowns;
            let own = level.range.map(|range| range * level.division);
            let near = own.is_some_and(|own| shown.mean().abs() > NEAR_THE_END * own);
            let packable = if 2 * off > of_line().count() || (off > 0 && near) {
                if coarser {
                    // That tells how thick, and whether the bed need be tipped at all.
                    return None;
                }
                0.0
            } else {
                most_packed(line, survey.bed.way_spacing, base)
            };
            let brought = |shown: &DVector<f64>| {
                let middle = f64::midpoint(shown.min(), shown.max());
                let packed = shown.add_scalar(-middle.clamp(-packable, packable));
                let farthest = packed
                    .iter()
                    .max_by(|a, b| a.abs().total_cmp(&b.abs()))
                    .filter(|farthest| farthest.abs() > NEAR_THE_END * scale)?;
                Some(shown.mean() - (farthest.abs() - wanted).copysign(*farthest))
            };
            // How far apart the readings of a line are is what the turns mend; before any are tried its mean tells.
            let mean = DVector::from_element(1, shown.mean());
            let after = |moved: &DVector<f64>| {
                brought(&shown.map_with_location(|i, _, shown| shown + rises[i].on(moved)))
            };
            let target = brought(&mean).or_else(|| moved.iter().find_map(after))?;
            Some(Row {
                heights: mean_of(&rises, 2 * history.places().len()),
                function: Some(functions.row_mean()),
                target,
                share: scale * ON_SCALE_SHARE,
                kind: Kind::Scale,
                at: survey.bed.length / 2.0,
            })
        })
        .collect()
}

/// The mean of slopes as a row that is to be multiplied by so many heights.
fn mean_of(rises: &[Rise], heights: usize) -> RowDVector<f64> {
    let rows: Vec<RowDVector<f64>> = rises.iter().map(|rise| rise.row(heights)).collect();
    DMatrix::from_rows(&rows).row_mean()
}
