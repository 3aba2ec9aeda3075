//! Packing under one end of the level: a strip that brings the bubble back where a bed leans.
//!
//! A bed that is to be straight need not be level: whatever leans as a whole can be packed away, and twist and crown owe
//! nothing to the thickness of the strip.

use nalgebra::DMatrix;
use statrs::distribution::{ContinuousCDF, Normal};

use super::next_pass::LIKELY;
use super::spots::{Spot, Spots};
use crate::geometry::draws::standard_normal;
use crate::survey::{Level, Line, Packing, Survey};

/// What feelers come in, m.
pub const FEELERS: f64 = 0.05e-3;

/// Packing thicker than this is not steady under a block, m (order of magnitude, no source).
pub const STEADY: f64 = 3e-3;

/// From this share of the scale on a reading is packed back to its middle.
const NEAR_THE_END: f64 = 0.75;

/// A pass with more of its readings off the scale than this share of them is taken with another level.
pub const MANY_OFF_SCALE: f64 = 0.2;

/// Beds drawn to see how many readings stay on the scale, and the number they are drawn from: any does.
const DRAWS: usize = 200;
const SEED: u64 = 0x7363_616c_6500;

/// What packing brings the readings of a pass to the middle of the scale, where any would come near its end.
pub(super) fn packing(survey: &Survey, spots: &Spots<'_>, chosen: &[usize]) -> Packing {
    let strip = |across: bool| {
        let line = if across { Line::Cross } else { Line::Front };
        let per_metre = most_packed(line, survey.bed.way_spacing, spots.level.base) / STEADY;
        let Some(range) = spots.level.range.filter(|_| per_metre > 0.0) else {
            return 0.0;
        };
        let shown = chosen.iter().map(|&i| &spots.all[i]);
        let shown = shown.filter(|spot| (spot.line == Line::Cross) == across);
        let (low, high) = shown.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), spot| {
            (low.min(spot.shows), high.max(spot.shows))
        });
        if low > high || high.max(-low) <= NEAR_THE_END * range * spots.level.division {
            return 0.0;
        }
        let thickness = -f64::midpoint(low, high) / per_metre;
        let strip = (thickness / FEELERS).round() * FEELERS;
        if strip.abs() <= STEADY {
            strip + 0.0
        } else {
            0.0
        }
    };
    Packing {
        cross: strip(true),
        along: strip(false),
    }
}

/// The strip that brings a reading of so many divisions to the middle of the scale, m with the sign of the end under which it lies;
/// `None` where none is needed or it would be too thick to be steady.
pub fn strip_under(survey: &Survey, level: &Level, line: Line, divisions: f64) -> Option<f64> {
    let over = match line {
        Line::Cross => survey.bed.way_spacing,
        Line::Front | Line::Rear => level.base?,
    };
    let strip = (-divisions * level.division * over / FEELERS).round() * FEELERS;
    (strip != 0.0 && strip.abs() <= STEADY).then_some(strip)
}

/// Most that packing adds to a reading of a line, m/m, on ways so far apart and under a level of this base (m).
pub(super) fn most_packed(line: Line, way_spacing: f64, base: Option<f64>) -> f64 {
    let thickest = Packing {
        cross: STEADY,
        along: STEADY,
    };
    thickest.slope(line, way_spacing, base)
}

/// Which readings are more likely on the scale than off it when all are packed to its middle; those that nobody has seen may be.
pub(super) fn likely_on_scale(survey: &Survey, spots: &Spots<'_>) -> Vec<bool> {
    let all: Vec<usize> = (0..spots.all.len()).collect();
    let packing = packing(survey, spots, &all);
    let normal = Normal::standard();
    let likely = |spot: &Spot| {
        let Some(range) = spots.level.range.filter(|_| !spot.unseen()) else {
            return true;
        };
        let range = range * spots.level.division;
        let packed = packing.slope(spot.line, survey.bed.way_spacing, spots.level.base);
        let (shows, wrong) = (spot.shows + packed, spot.wrong.norm());
        let below = |end: f64| normal.cdf((end - shows) / wrong);
        below(range) - below(-range) > LIKELY
    };
    spots.all.iter().map(likely).collect()
}

/// How likely next to all of these readings stay on the scale, packed like this.
pub(super) fn on_scale(
    survey: &Survey,
    spots: &Spots<'_>,
    chosen: &[usize],
    packing: Packing,
) -> f64 {
    let Some(range) = spots.level.range else {
        return 1.0;
    };
    let range = range * spots.level.division;
    let sources = spots.all.first().map_or(0, |spot| spot.wrong.ncols());
    let normal = standard_normal(sources, DRAWS / 2, SEED);
    let lines = [Line::Cross, Line::Front, Line::Rear];
    // Of the beds drawn, by line; each line is judged by itself.
    let mut off = DMatrix::<f64>::zeros(DRAWS, lines.len());
    let mut taken = [0.0; 3];
    for &i in chosen {
        let spot = &spots.all[i];
        let line = lines.iter().position(|line| *line == spot.line);
        let line = line.unwrap_or_default();
        taken[line] += 1.0;
        let mut off = off.column_mut(line);
        if !spot.told {
            // It is out by so much at least.
            off.add_scalar_mut(1.0);
            continue;
        }
        let packed = packing.slope(spot.line, survey.bed.way_spacing, spots.level.base);
        let wrong = &spot.wrong * &normal;
        for (k, wrong) in wrong.iter().enumerate() {
            for (place, wrong) in [(2 * k, *wrong), (2 * k + 1, -wrong)] {
                if (spot.shows + packed + wrong).abs() > range {
                    off[place] += 1.0;
                }
            }
        }
    }
    let on = off.row_iter().filter(|off| {
        let mut lines = off.iter().zip(taken);
        lines.all(|(off, taken)| *off <= MANY_OFF_SCALE * taken)
    });
    on.count() as f64 / DRAWS as f64
}
