//! Finds what was turned far from the plan: a slip of the sign, of the foot or of the point.

use std::collections::{BTreeMap, BTreeSet};

use super::record::signed;
use crate::plan::{self, Action, LOOK_AGAIN_REACH, NoPlan, TIMES_ROUND, TurnPlan};
use crate::survey::Survey;

/// A record may differ from the plan by this share of it without being asked about: a bubble leads a hand so
/// far, since no line of the card lets it go further.
const LED_ASTRAY: f64 = 0.75;

/// It may also differ by this many of the foot's smallest steps.
const FEW_STEPS: f64 = 2.0;

/// As far may going round the readings take a foot, quarter-turns: a small turn may end on the other side.
const ROUND_AND_ROUND: f64 = TIMES_ROUND as f64 * LOOK_AGAIN_REACH;

/// What the card asks of every foot.
pub(super) struct Card {
    /// Feet in the order of the card, each once, with the sum of their lines in quarter-turns.
    pub lines: Vec<(usize, f64)>,
    /// Feet that are turned, if only in going round.
    pub in_hand: BTreeSet<usize>,
}

impl Card {
    /// The card after the pass with this index.
    pub fn of(survey: &Survey, pass: usize) -> Result<Self, NoPlan> {
        plan::plan(survey, pass).map(|plan| Self::from(&plan))
    }

    /// Feet to turn and by how much.
    pub fn turns(&self) -> BTreeMap<usize, f64> {
        self.lines.iter().copied().collect()
    }

    /// One sentence for each foot whose record lies far from the card.
    pub fn far(&self, turned: &BTreeMap<usize, f64>, survey: &Survey) -> Vec<String> {
        self.lines
            .iter()
            .filter_map(|&(foot, planned)| {
                let done = turned.get(&foot).copied().unwrap_or(0.0);
                self.is_far(foot, done, survey).then(|| {
                    let name = &survey.feet[foot].name;
                    let said = if planned == 0.0 && self.in_hand.contains(&foot) {
                        "only seat it or go round it".to_owned()
                    } else if planned == 0.0 {
                        "leave it".to_owned()
                    } else {
                        signed(planned)
                    };
                    if turned.contains_key(&foot) {
                        format!("{name} is {}, the card says {said}", signed(done))
                    } else {
                        format!("{name} is not named, the card says {said}")
                    }
                })
            })
            .collect()
    }

    /// Whether a record lies far from what the card asks of a foot.
    pub fn is_far(&self, foot: usize, done: f64, survey: &Survey) -> bool {
        let planned = self.planned(foot);
        let step = 4.0 * survey.feet[foot].smallest_turn;
        let astray = (done - planned).abs();
        planned * done < 0.0 && astray > ROUND_AND_ROUND
            || astray > (LED_ASTRAY * planned.abs()).max(FEW_STEPS * step)
    }

    /// Whether it asks for any turn but what seats a foot.
    pub fn turns_something(&self) -> bool {
        self.lines.iter().any(|(_, planned)| *planned != 0.0)
    }

    /// What the card asks of a foot, quarter-turns.
    pub fn planned(&self, foot: usize) -> f64 {
        self.lines
            .iter()
            .find(|(known, _)| *known == foot)
            .map_or(0.0, |(_, planned)| *planned)
    }
}

impl From<&TurnPlan> for Card {
    fn from(plan: &TurnPlan) -> Self {
        let mut lines: Vec<(usize, f64)> = Vec::new();
        for line in &plan.lines {
            match lines.iter_mut().find(|(foot, _)| *foot == line.foot) {
                Some((_, sum)) => *sum += line.quarter_turns,
                None => lines.push((line.foot, line.quarter_turns)),
            }
        }
        let turned = plan.lines.iter().filter(|l| l.action != Action::Leave);
        let gone_round = plan.looks.iter().map(|look| look.foot);
        Self {
            in_hand: turned.map(|line| line.foot).chain(gone_round).collect(),
            lines,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::read;

    fn survey() -> Survey {
        let text = "format = 1\nbed = { length = 2900, way_spacing = 380 }\n\
                    feet = { at = [120, 2700], lift_per_turn = 1.5, smallest_turn = \"1/4\" }\n";
        read(text).unwrap()
    }

    #[test]
    fn a_swapped_sign_is_far_and_a_bubble_is_not() {
        let card = Card {
            lines: vec![(0, 3.0), (2, 0.0), (1, -0.5), (3, 8.0)],
            in_hand: BTreeSet::new(),
        };
        let survey = survey();
        let far = |foot, done| card.is_far(foot, done, &survey);
        assert!(far(0, -3.0));
        assert!(!far(0, 3.0) && !far(0, 2.25) && !far(0, 5.0));
        assert!(far(0, 0.5) && far(0, 30.0));
        assert!(!far(2, 0.0) && !far(2, 1.0) && far(2, -3.0));
        assert!(far(1, 0.5), "a small slip of the sign too");
        assert!(!far(3, 13.0) && far(3, 0.8));
        // Going round may take a small turn to the other side.
        let small = Card {
            lines: vec![(0, 0.03)],
            in_hand: BTreeSet::new(),
        };
        assert!(!small.is_far(0, -0.4, &survey) && small.is_far(0, -0.6, &survey));
        let turned = BTreeMap::from([(0, -3.0), (2, 0.0), (1, -0.5)]);
        assert_eq!(
            card.far(&turned, &survey),
            [
                "F1 is -3, the card says +3",
                "R2 is not named, the card says +8"
            ]
        );
    }
}
