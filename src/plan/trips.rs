//! The order of the card: trips round the machine, foot by foot, and what to watch on every line.

use std::collections::BTreeSet;

use nalgebra::DMatrix;

use super::card::{Action, CardLine, Look};
use super::steps::{Solved, Steps};
use super::watch::Watching;
use crate::survey::{Pass, Survey};

/// Largest lift of a foot in one trip, m (US Army TM 38-260, 7-5: 0.25 to 0.38 mm at a time).
pub const LARGEST_TRIP: f64 = 0.4e-3;

/// What to do, and how sure it is.
pub(super) struct Card<'a> {
    pub lines: Vec<CardLine>,
    pub looks: Vec<Look>,
    watching: Watching<'a>,
}

impl Card<'_> {
    /// Adds the readings to go round with any of these feet when everything has been turned.
    pub fn go_round(&mut self, feet: &[usize]) {
        self.looks = self.watching.go_round(feet);
    }

    /// Feet that are turned by count alone, on some line.
    pub fn only_counted(&self) -> BTreeSet<usize> {
        let lines = self.lines.iter();
        let counted = lines.filter(|line| line.lift != 0.0 && line.watch.is_none());
        counted.map(|line| line.foot).collect()
    }

    /// Root of the covariance of the heights after all this.
    pub fn error(&self) -> &DMatrix<f64> {
        self.watching.error()
    }

    /// The same once all this is written down: how well the bubbles were watched is not.
    pub fn once_recorded(&self) -> DMatrix<f64> {
        let lines = self
            .lines
            .iter()
            .filter(|line| line.action != Action::Leave);
        let touched = lines.map(|line| line.foot);
        let looks = self.looks.iter().map(|look| look.foot);
        self.watching.once_recorded(touched.chain(looks))
    }
}

/// Splits the steps into trips and finds what to watch on every line; `watching` has seen no line yet. Feet that are
/// idle under a resting bed come first: the others are turned when all carry.
pub(super) fn card<'a>(
    survey: &Survey,
    pass: &Pass,
    idle: &[usize],
    steps: &Steps,
    solved: &Solved,
    mut watching: Watching<'a>,
) -> Card<'a> {
    let mut order: Vec<usize> = (0..survey.feet.len()).collect();
    // Walking along the bed from the headstock end, the front foot of a pair before the rear one.
    order.sort_by(|a, b| {
        let (a, b) = (&survey.feet[*a], &survey.feet[*b]);
        a.at.total_cmp(&b.at).then(a.side.cmp(&b.side))
    });
    let trips: Vec<Vec<i64>> = solved
        .steps
        .iter()
        .zip(&steps.lift)
        .map(|(count, lift)| split(*count, *lift))
        .collect();
    order.sort_by_key(|&foot| trips[foot].is_empty() || !idle.contains(&foot));
    let last_trip = trips.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let mut lines = Vec::new();
    let line = |trip: usize, foot: usize, action: Action| CardLine {
        trip,
        foot,
        action,
        quarter_turns: 0.0,
        lift: 0.0,
        watch: None,
        no_further: 0.0,
    };
    for foot in order
        .iter()
        .copied()
        .filter(|foot| pass.hanging.contains(foot))
    {
        lines.push(line(1, foot, Action::Seat));
    }
    for trip in 0..last_trip {
        for &foot in &order {
            match trips[foot].get(trip) {
                Some(&count) => {
                    let lift = count as f64 * steps.lift[foot];
                    let quarter = survey.feet[foot].lift_per_quarter();
                    let (watch, farthest) = watching.next(foot, lift);
                    lines.push(CardLine {
                        trip: trip + 1,
                        foot,
                        action: if count > 0 {
                            Action::Raise
                        } else {
                            Action::Lower
                        },
                        quarter_turns: lift / quarter,
                        lift,
                        watch,
                        no_further: farthest / quarter,
                    });
                }
                None if trip == 0 && !pass.hanging.contains(&foot) => {
                    lines.push(line(1, foot, Action::Leave));
                }
                None => {}
            }
        }
    }
    Card {
        lines,
        looks: Vec::new(),
        watching,
    }
}

/// Splits a number of steps of this lift (m) into parts of at most [`LARGEST_TRIP`], as even as whole steps
/// allow; a foot that has a longer step is not turned at all.
fn split(count: i64, lift: f64) -> Vec<i64> {
    if count == 0 {
        return Vec::new();
    }
    #[allow(clippy::cast_possible_truncation)]
    let most = ((LARGEST_TRIP / lift + 1e-9).floor() as i64).max(1);
    let total = count.abs();
    let parts = (total + most - 1) / most;
    (0..parts)
        .map(|k| ((k + 1) * total / parts - k * total / parts) * count.signum())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_moves_are_split_into_even_trips() {
        assert_eq!(split(0, 1e-4), Vec::<i64>::new());
        assert_eq!(split(4, 1e-4), [4]);
        assert_eq!(split(-9, 1e-4), [-3, -3, -3]);
        assert_eq!(split(10, 1e-4), [3, 3, 4]);
    }
}
