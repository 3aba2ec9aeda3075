//! The shape that turns should leave, place by place.

use super::card::TurnPlan;
use crate::geometry::{BedShape, ReferenceLine, Way};
use crate::response::{History, NoHistory};
use crate::survey::{Side, Survey};

/// A figure at a place after the turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moved {
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Cross slope, m/m, or departure from the way's line, m.
    pub value: f64,
}

/// What the readings show, moved as the feet should move it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ExpectedShape {
    /// Cross slopes at the places of the shape, front high is positive.
    pub cross: Vec<Moved>,
    /// Departures of the front way from its line, m.
    pub front: Vec<Moved>,
    /// Departures of the rear way from its line, m.
    pub rear: Vec<Moved>,
}

impl ExpectedShape {
    /// The shape of the pass with this index after the turns of a plan; departures from the given line.
    pub fn after(
        survey: &Survey,
        pass: usize,
        shape: &BedShape,
        plan: &TurnPlan,
        line: ReferenceLine,
    ) -> Result<Self, NoHistory> {
        let history = History::of(survey, pass)?;
        let places = history.places().len();
        let moves = |side: Side, at: f64| {
            let skip = if side == Side::Front { 0 } else { places };
            history
                .place(at)
                .and_then(|place| plan.moved.get(skip + place).copied())
        };
        let cross = shape
            .cross
            .iter()
            .filter_map(|slope| {
                let roll = moves(Side::Front, slope.at)? - moves(Side::Rear, slope.at)?;
                Some(Moved {
                    at: slope.at,
                    value: slope.slope + roll / survey.bed.way_spacing,
                })
            })
            .collect();
        let way = |way: &Option<Way>| {
            way.as_ref().map_or_else(Vec::new, |way| {
                let known: Vec<(f64, f64)> = way
                    .points
                    .iter()
                    .filter_map(|point| Some((point.at, point.height + moves(way.side, point.at)?)))
                    .collect();
                let (at, heights): (Vec<f64>, Vec<f64>) = known.into_iter().unzip();
                let departures = line.departures(&at, &heights);
                at.into_iter()
                    .zip(departures)
                    .map(|(at, value)| Moved { at, value })
                    .collect()
            })
        };
        Ok(Self {
            cross,
            front: way(&shape.front),
            rear: way(&shape.rear),
        })
    }
}
