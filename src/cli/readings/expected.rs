//! What a reading should come to, from the passes before it and from what was turned since.

use nalgebra::{DMatrix, DVector};

use super::walk::Step;
use crate::response::{History, lifts};
use crate::survey::{Entry, Level, Line, Packing, Survey};

/// A reading further than this from what was expected is asked about, standard deviations.
const FAR: f64 = 4.0;

/// Nearer than this is never far, in parts of a division that can be read: the smallest slip worth a question.
const LEAST_FAR: f64 = 4.0;

/// How much the zero error of the same level and blocks changes from pass to pass, in parts of a
/// division that can be read, one standard deviation; the order of magnitude is our own judgement.
const ZERO_CHANGE: f64 = 4.0;

/// The same where another level is taken.
const ZERO_OF_ANOTHER: f64 = 20.0;

/// What the eye, the hand and the rounding add to a reading, in parts of a division that can be read.
const READING: f64 = 1.0;

/// What was turned is wrong by this share, and by this part of a turn: threads, hands.
const THREAD: f64 = 0.06;
const HAND: f64 = 2.5 / 360.0;

/// The beam model is wrong by this share of the change that it predicts.
const MODEL: f64 = 0.1;

/// A reading as it should come out, divisions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Expected {
    /// Most likely.
    pub value: f64,
    /// One standard deviation.
    pub deviation: f64,
    /// What can be read of a division, divisions.
    pub part: f64,
}

/// What is expected of a whole pass.
pub(super) struct Expectations {
    history: History,
    /// One graduation of the level, m/m.
    division: f64,
    /// What can be read of it, divisions.
    part: f64,
    /// Lifts recorded after the pass before, m by foot.
    lifts: DVector<f64>,
    /// Deviation of each of these, m.
    unsure: DVector<f64>,
    zero_change: f64,
    /// What lies under one end of the level, and the level's base, m.
    pub packing: Packing,
    base: Option<f64>,
}

impl Expectations {
    /// For a pass taken with `level` after the one with index `before`; `None` where nothing can be expected.
    pub fn new(survey: &Survey, before: usize, level: &Level, packing: Packing) -> Option<Self> {
        let history = History::of(survey, before).ok()?;
        let earlier = &survey.passes[before];
        let lifts = lifts(survey, earlier.turned.as_ref());
        let unsure = DVector::from_iterator(
            survey.feet.len(),
            survey.feet.iter().zip(lifts.iter()).map(|(foot, lift)| {
                if *lift == 0.0 {
                    0.0
                } else {
                    (HAND * foot.lift_per_turn).hypot(THREAD * lift)
                }
            }),
        );
        Some(Self {
            division: level.division,
            part: level.resolution,
            lifts,
            unsure,
            zero_change: level.resolution
                * if earlier.level == level.name {
                    ZERO_CHANGE
                } else {
                    ZERO_OF_ANOTHER
                },
            history,
            packing,
            base: level.base,
        })
    }

    /// What one place should show; `taken` are the readings of this pass so far, which tell how the zero error
    /// has changed.
    pub fn at(&self, step: &Step, taken: &[(Step, Entry)]) -> Option<Expected> {
        let fresh = self.without_new_zero(step)?;
        let is_alike = |other: &Step| {
            (other.line == Line::Cross) == (step.line == Line::Cross)
                && !other.reversed
                && (other.line, other.index) != (step.line, step.index)
        };
        let differences: Vec<Expected> = taken
            .iter()
            .filter(|(other, _)| is_alike(other))
            .filter_map(|(other, entry)| {
                let expected = self.without_new_zero(other)?;
                Some(Expected {
                    value: mean(entry)? - expected.value,
                    ..expected
                })
            })
            .collect();
        let zero = zero_change(&differences, self.zero_change);
        Some(Expected {
            value: fresh.value + zero.value,
            deviation: fresh.deviation.hypot(zero.deviation),
            part: self.part,
        })
    }

    /// With the zero error as it was in the pass before.
    fn without_new_zero(&self, step: &Step) -> Option<Expected> {
        if step.reversed {
            return None;
        }
        let (function, rise) = self.history.shown(step.line, step.at)?;
        let system = self.history.system();
        let now = system.value(function.transpose().as_view())?;
        let answer = rise.on_each(self.history.influence());
        let change = (&answer * &self.lifts)[0];
        let division = self.division;
        let spacing = self.history.survey().bed.way_spacing;
        let packed = self.packing.slope(step.line, spacing, self.base);
        let seen = system
            .covariance_root(&DMatrix::from_rows(&[function]))
            .norm();
        let turned = answer.transpose().component_mul(&self.unsure).norm();
        let response = rise.on_each(&self.history.doubt(&self.lifts)).norm();
        let parts = [
            seen,
            turned,
            response,
            MODEL * change,
            READING * self.part * division,
        ];
        Some(Expected {
            value: (now + change + packed) / division,
            deviation: parts.into_iter().fold(0.0, f64::hypot) / division,
            part: self.part,
        })
    }
}

impl Expected {
    /// Whether an entry lies so far off that it is more likely a slip.
    pub fn is_far(&self, entry: &Entry) -> bool {
        let allowed = (FAR * self.deviation).max(LEAST_FAR * self.part);
        match entry {
            Entry::Missing => false,
            Entry::Read(_) => mean(entry).is_some_and(|seen| (seen - self.value).abs() > allowed),
            // Beyond the end of the scale is far only if what was expected lies well inside of it.
            Entry::OffScale(end) => end.abs() - self.value * end.signum() > allowed,
        }
    }

    /// The same entry with the letter of the other side, if that would have been no surprise.
    pub fn likelier(&self, entry: &Entry) -> Option<Entry> {
        let other = match entry {
            Entry::Missing => return None,
            Entry::Read(seen) => Entry::Read(seen.iter().map(|value| 0.0 - value).collect()),
            Entry::OffScale(end) => Entry::OffScale(-end),
        };
        (!self.is_far(&other)).then_some(other)
    }
}

/// How much the zero error has changed, from how much every reading differs from what was expected of it.
///
/// A slip must not spoil what is expected of the readings after it, so those that lie far from most are left
/// out; as long as there are few, those that lie far from no change at all.
fn zero_change(differences: &[Expected], prior: f64) -> Expected {
    /// So many readings outvote a slip.
    const ENOUGH: usize = 3;
    let mut values: Vec<f64> = differences.iter().map(|seen| seen.value).collect();
    values.sort_by(f64::total_cmp);
    let (middle, spread) = if values.len() < ENOUGH {
        (0.0, prior)
    } else {
        (values[values.len() / 2], 0.0)
    };
    let (mut weight, mut sum) = (prior.powi(-2), 0.0);
    for seen in differences {
        let allowed = (FAR * seen.deviation.hypot(spread)).max(LEAST_FAR * seen.part);
        if (seen.value - middle).abs() <= allowed {
            weight += seen.deviation.powi(-2);
            sum += seen.value * seen.deviation.powi(-2);
        }
    }
    Expected {
        value: sum / weight,
        deviation: weight.recip().sqrt(),
        part: differences.first().map_or(0.0, |seen| seen.part),
    }
}

/// Mean of the repeats.
fn mean(entry: &Entry) -> Option<f64> {
    match entry {
        Entry::Read(seen) if !seen.is_empty() => Some(seen.iter().sum::<f64>() / seen.len() as f64),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_does_not_spoil_the_zero() {
        let differences = |values: &[f64]| -> Vec<Expected> {
            values
                .iter()
                .map(|&value| Expected {
                    value,
                    deviation: 0.4,
                    part: 0.25,
                })
                .collect()
        };
        let change = |values: &[f64]| zero_change(&differences(values), 1.0).value;
        assert!(change(&[]).abs() < 1e-12);
        assert!(change(&[-8.0]).abs() < 1e-12, "one slip alone");
        assert!((change(&[-8.0, 1.0, 1.2, 0.9, 1.1]) - 1.0).abs() < 0.1);
        // Another set of blocks: every reading differs by as much.
        assert!((change(&[6.0, 6.1, 5.9, 6.0]) - 6.0).abs() < 0.3);
    }

    #[test]
    fn a_wrong_letter_is_far_and_its_mirror_is_likelier() {
        let expected = Expected {
            value: 2.0,
            deviation: 0.4,
            part: 0.25,
        };
        let read = |value: f64| Entry::Read(vec![value]);
        assert!(!expected.is_far(&read(1.0)) && !expected.is_far(&read(3.5)));
        assert!(expected.is_far(&read(-2.0)));
        assert_eq!(expected.likelier(&read(-2.0)), Some(read(2.0)));
        assert_eq!(expected.likelier(&read(12.0)), None);
        assert!(!expected.is_far(&Entry::Missing));
        assert!(expected.is_far(&Entry::OffScale(10.0)));
        let steep = Expected {
            value: 9.5,
            deviation: 0.4,
            part: 0.25,
        };
        assert!(!steep.is_far(&Entry::OffScale(10.0)));
        assert!(steep.is_far(&Entry::OffScale(-10.0)));
    }
}
