//! The beam cut into elements: nodes along the bed, stiffness matrix, rows and loads.
//!
//! Three unknowns sit at every node: the height `w`, the slope along the bed `w'` and the roll `phi`.
//! Between nodes `w` is the cubic and `phi` the straight line that the nodes prescribe. A beam of even
//! section bends in just that way between places where forces act, and an even weight adds the known
//! shape of a clamped span, so nodes at the feet and point loads give the exact solution and more of them
//! would only add rounding (Przemieniecki, Theory of Matrix Structural Analysis, chapter 5, from memory).

use super::Place;
use super::banded::WIDTH;
use super::model::{BedModel, Stretch, Support};

/// Unknowns at a node.
const PER_NODE: usize = 3;

/// Nodes nearer than this share of the mean distance between the places of feet and loads become one,
/// about a micrometre. A foot then acts inside an element, at its true place, and rigid motions stay exact.
const MERGED: f64 = 1e-6;

/// What a place feels of the unknowns: `height = sum values[i] unknown[first + i]`, and what a unit force
/// at that place does to them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Row {
    /// The first of the six unknowns.
    pub first: usize,
    /// Their coefficients.
    pub values: [f64; WIDTH],
}

impl Row {
    /// The height this row reads.
    pub fn dot(&self, unknowns: &[f64]) -> f64 {
        self.values
            .iter()
            .zip(&unknowns[self.first..])
            .map(|(a, b)| a * b)
            .sum()
    }

    /// Adds `scale` times this row to a vector of forces on the unknowns.
    pub fn add_to(&self, forces: &mut [f64], scale: f64) {
        for (value, force) in self.values.iter().zip(&mut forces[self.first..]) {
            *force += scale * value;
        }
    }
}

/// A part of the energy: `1/2 stiffness (row v - lift)²`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spring {
    /// What it feels of the unknowns.
    pub row: Row,
    /// Its stiffness.
    pub stiffness: f64,
}

impl Spring {
    /// The row `sqrt(share stiffness) row` of the least-squares matrix.
    pub fn weighted_row(&self, share: f64) -> (usize, [f64; WIDTH]) {
        let weight = (share * self.stiffness).sqrt();
        (self.row.first, self.row.values.map(|value| weight * value))
    }
}

/// The nodes of a bed, from the headstock end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mesh {
    nodes: Vec<f64>,
    /// Factor for the stiffnesses of each element.
    factors: Vec<f64>,
}

impl Mesh {
    /// Nodes at both ends, the feet, the point loads and the ends of stretches.
    pub fn new(model: &BedModel) -> Self {
        let mut wanted: Vec<f64> = model
            .feet
            .iter()
            .map(|foot| foot.place.at)
            .chain(model.point_loads.iter().map(|load| load.place.at))
            .chain(
                model
                    .stretches
                    .iter()
                    .flat_map(|stretch| [stretch.from, stretch.to]),
            )
            .filter(|at| (0.0..=model.length).contains(at))
            .collect();
        wanted.sort_by(f64::total_cmp);
        wanted.dedup();
        let nearest = MERGED * model.length / (wanted.len() + 1) as f64;
        let mut nodes = vec![0.0];
        for at in wanted {
            if at - nodes[nodes.len() - 1] >= nearest && model.length - at >= nearest {
                nodes.push(at);
            }
        }
        nodes.push(model.length);
        let factors = nodes
            .windows(2)
            .map(|ends| {
                let middle = f64::midpoint(ends[0], ends[1]);
                let over = |stretch: &&Stretch| (stretch.from..stretch.to).contains(&middle);
                model
                    .stretches
                    .iter()
                    .filter(over)
                    .map(|stretch| stretch.factor)
                    .product()
            })
            .collect();
        Self { nodes, factors }
    }

    /// Number of unknowns.
    pub fn order(&self) -> usize {
        PER_NODE * self.nodes.len()
    }

    /// The beam alone, free in space: three springs for an element, for its even curvature, the linear part
    /// of its curvature and its twist.
    ///
    /// The sum of `stiffness row rowᵀ` over them is the usual matrix `EI/h³ (12, 6h, 4h² ...)`;
    /// kept apart they work out forces that balance each other to the last bit.
    pub fn beam(&self, model: &BedModel) -> Vec<Spring> {
        let mut springs = Vec::with_capacity(3 * self.nodes.len());
        for (element, ends) in self.nodes.windows(2).enumerate() {
            let span = ends[1] - ends[0];
            let mut add = |values, stiffness| {
                let first = PER_NODE * element;
                let row = Row { first, values };
                springs.push(Spring { row, stiffness });
            };
            let factor = self.factors[element];
            let bending = factor * model.bending_stiffness / span;
            add([0.0, -1.0, 0.0, 0.0, 1.0, 0.0], bending);
            let tilt = 2.0 / span;
            add([tilt, 1.0, 0.0, -tilt, 1.0, 0.0], 3.0 * bending);
            let twist = [0.0, 0.0, -1.0, 0.0, 0.0, 1.0];
            add(twist, factor * model.torsion_stiffness / span);
        }
        springs
    }

    /// The feet.
    pub fn feet(&self, model: &BedModel) -> Vec<Spring> {
        let spring = |foot: &Support| Spring {
            row: self.row(foot.place),
            stiffness: foot.stiffness,
        };
        model.feet.iter().map(spring).collect()
    }

    /// Forces of the weight on the unknowns, upwards positive.
    pub fn loads(&self, model: &BedModel) -> Vec<f64> {
        let mut forces = vec![0.0; self.order()];
        for (element, ends) in self.nodes.windows(2).enumerate() {
            let span = ends[1] - ends[0];
            let half = -model.weight_per_length * span / 2.0;
            let clamping = half * span / 6.0;
            let values = [half, clamping, 0.0, half, -clamping, 0.0];
            let first = PER_NODE * element;
            for (value, force) in values.iter().zip(&mut forces[first..]) {
                *force += value;
            }
        }
        for load in &model.point_loads {
            self.row(load.place).add_to(&mut forces, -load.force);
        }
        forces
    }

    /// The row of a place; beyond the ends the bed is thought to go on straight.
    pub fn row(&self, place: Place) -> Row {
        let element = self.element(place.at);
        let (start, end) = (self.nodes[element], self.nodes[element + 1]);
        let span = end - start;
        let first = PER_NODE * element;
        let across = place.across;
        let values = if place.at < start {
            [1.0, place.at - start, across, 0.0, 0.0, 0.0]
        } else if place.at > end {
            [0.0, 0.0, 0.0, 1.0, place.at - end, across]
        } else {
            let t = (place.at - start) / span;
            let rest = 1.0 - t;
            let far = t * t * (3.0 - 2.0 * t);
            [
                rest * rest * (1.0 + 2.0 * t),
                span * t * rest * rest,
                across * rest,
                far,
                -span * t * t * rest,
                across * t,
            ]
        };
        Row { first, values }
    }

    /// What an even weight of 1 N/m adds to the height between the nodes of an element, per 1/EI:
    /// the shape `-x²(h-x)²/24` of a span clamped at both ends.
    pub fn clamped_sag(&self, at: f64) -> f64 {
        let element = self.element(at);
        let from_start = (at - self.nodes[element]).max(0.0);
        let to_end = (self.nodes[element + 1] - at).max(0.0);
        -(from_start * to_end).powi(2) / (24.0 * self.factors[element])
    }

    /// The element that holds a place, or the nearest.
    fn element(&self, at: f64) -> usize {
        let after = self.nodes.partition_point(|&node| node <= at);
        after.clamp(1, self.nodes.len() - 1) - 1
    }
}
