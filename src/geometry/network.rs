//! The readings of a pass and the prior as one least-squares problem, solved.
//!
//! **What the prior may touch.** The slopes that were read, as far as they build the profile, are left
//! free: whatever the level saw, the surface may have. Only what lies between them is held by the prior,
//! conditional on them: the height under a cross reading in the middle of a span, a gap in a chain, the
//! offset of two chains that interleave. So a chain of along readings reproduces the cumulative table to
//! the last digit, and cross readings between the ends of the level still check it. Heights of ways that
//! are chained owe the prior nothing (see `chained`).

use nalgebra::{DMatrix, RowDVector};

use super::held::Held;
use super::layout::{Layout, Roughness, SAME_PLACE};
use super::least_squares::{Adjusted, LeastSquares};
use super::observation::Observation;
use super::rows::{Rows, components};
use super::smoothness::{Components, Supposed};
use crate::survey::Line;

/// One solution of the network.
pub(super) struct Solved {
    pub system: Adjusted,
    pub roughness: Roughness,
    pub freedom: usize,
    /// What the prior holds, and the readings it leaves free.
    pub held: (Vec<usize>, Held),
}

/// Adjusts the rows in use, on a bed of known roughness or of one that is estimated.
pub(super) fn solve(rows: &Rows, used: &[usize], supposed: Supposed) -> Solved {
    let parts = components(rows, used);
    let roughness = match supposed {
        Supposed::Known(roughness) => roughness,
        Supposed::Guessed(guess) => parts.roughness(guess),
    };
    let held = held_beside(rows, used, roughness, None);
    let system = network(rows, used, parts, roughness, &held.1);
    let freedom = (used.len() + held.1.rank).saturating_sub(system.rank);
    Solved {
        system,
        roughness,
        freedom,
        held,
    }
}

/// What the prior holds beside the rows in use, and the readings that are free; as it is known for others with the same
/// ones.
pub(super) fn held_beside(
    rows: &Rows,
    used: &[usize],
    roughness: Roughness,
    known: Option<(Vec<usize>, Held)>,
) -> (Vec<usize>, Held) {
    let read = used.iter().map(|&i| &rows.observations.rows[i]);
    let read: Vec<(&Observation, f64)> =
        read.map(|row| (row, rows.observations.half_base)).collect();
    let free: Vec<usize> = free_slopes(&read).into_iter().map(|k| used[k]).collect();
    if let Some(known) = known.filter(|known| known.0 == free) {
        return known;
    }
    let slopes: Vec<RowDVector<f64>> = free
        .iter()
        .map(|&i| rows.slope(&rows.observations.rows[i], roughness))
        .collect();
    let held = Held::beside(&slopes, rows.layout);
    (free, held)
}

/// The rows in use and what the prior holds, adjusted.
pub(super) fn network(
    rows: &Rows,
    used: &[usize],
    parts: Components,
    roughness: Roughness,
    held: &Held,
) -> Adjusted {
    let layout = rows.layout;
    let (polynomials, noise) = (Layout::polynomials(), layout.noise_terms());
    let columns = layout.unknowns() + 2;

    let data = used.len();
    let prior = held.rank;
    let mut design = DMatrix::zeros(data + prior, columns);
    design
        .view_mut((0, 0), (data, polynomials))
        .copy_from(&parts.fixed.columns(0, polynomials));
    design
        .view_mut((0, columns - 2), (data, 2))
        .copy_from(&parts.fixed.columns(polynomials, 2));
    let middle = parts.middle.ncols();
    design
        .view_mut((0, polynomials), (data, middle))
        .copy_from(&(parts.middle * roughness.middle));
    design
        .view_mut((0, polynomials + middle), (data, noise - middle))
        .copy_from(&(parts.half * roughness.half));
    design
        .view_mut((data, polynomials), (prior, noise))
        .copy_from(&held.projector);
    let target = parts.target.resize_vertically(data + prior, 0.0);
    LeastSquares::new(design, target).solve()
}

/// Along readings are free. A cross reading is free where it alone tells the difference of the ways; where
/// a level also lay on both ways under it, in whatever pass, it checks them. Each reading comes with half the length of its level,
/// m; positions among them.
pub(crate) fn free_slopes(read: &[(&Observation, f64)]) -> Vec<usize> {
    let covered = |at: f64, line: Line| {
        let mut along = read.iter().filter(|(row, _)| row.line == line);
        along.any(|(row, half)| (row.at - at).abs() <= half + SAME_PLACE)
    };
    let free = |row: &Observation| {
        row.line != Line::Cross || !(covered(row.at, Line::Front) && covered(row.at, Line::Rear))
    };
    (0..read.len()).filter(|&i| free(read[i].0)).collect()
}
