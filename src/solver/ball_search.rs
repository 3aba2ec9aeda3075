//! One ball searched: its rows reduced to a better basis, its bounds carried over into it.

use super::best::Best;
use super::bounds::Ball;
use super::enumeration::{Ending, Face, Search};
use super::reduction::Basis;
use super::relaxation::Relaxed;
use super::rest::Rest;
use super::triangle::{inverse, triangle, triangular};
use nalgebra::DVector;

/// A bound that the ball reaches across: (place among the open columns, side, room from the centre).
#[derive(Debug, Clone, Copy)]
pub struct Met {
    place: usize,
    side: f64,
    room: f64,
}

/// The bounds of the open components that points of the ball can cross.
pub fn faces_met(rest: &Rest, relaxed: &Relaxed, ball: &Ball) -> Vec<Met> {
    let mut met = Vec::new();
    for place in 0..rest.columns.len() {
        let above = rest.upper[place] as f64 - relaxed.at[place];
        let below = relaxed.at[place] - rest.lower[place] as f64;
        for (side, room) in [(1.0, above), (-1.0, below)] {
            if room < ball.reach[place] {
                met.push(Met { place, side, room });
            }
        }
    }
    met
}

/// Visits every point of the ball inside the bounds and offers it to the list, up to `budget` nodes.
pub fn enumerate(
    rest: &Rest,
    relaxed: &Relaxed,
    ball: &Ball,
    met: &[Met],
    budget: u64,
    fixed: &[i64],
    best: &mut Best,
) -> Ending {
    let columns = rest.columns.len();
    let origin = rest.origin(relaxed);
    let from_origin = DVector::from_iterator(
        columns,
        (0..columns).map(|i| relaxed.at[i] - origin[i] as f64),
    );
    let mut basis = Basis::new(triangle(ball.rows.clone()));
    basis.reduce();
    // Once more from the rows: the rotations of a long reduction add up rounding.
    let change = basis.change.map(|entry| entry as f64);
    let (r, centre) = triangular(&ball.rows * &change, &ball.rows * &from_origin);
    let centre = centre.rows(0, columns).into_owned();
    let (Some(centre), Some(inverse)) = (r.solve_upper_triangular(&centre), inverse(&r)) else {
        return Ending {
            nodes: budget,
            unvisited: Some(0.0),
        };
    };
    let to_original = change * inverse;
    let faces: Vec<Face> = met
        .iter()
        .map(|met| Face {
            normal: to_original
                .row(met.place)
                .iter()
                .map(|part| met.side * part)
                .collect(),
            room: met.room,
        })
        .collect();
    let floor = rest.floor(relaxed);
    let mut z = vec![0; columns];
    let bound = best.bound() - floor;
    Search::new(&r, &centre, &faces).run(bound, budget, |y, _| {
        z.copy_from_slice(&origin);
        basis.add_original(y, &mut z);
        if rest.contains(&z) {
            best.offer(&rest.with_fixed(&z, fixed));
        }
        best.bound() - floor
    })
}
