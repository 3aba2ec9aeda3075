//! Finds what was turned far from the plan: a slip of the sign, of the foot or of the point.

use std::collections::{BTreeMap, BTreeSet};

use super::record::signed;
use crate::plan::{self, Action, LOOK_AGAIN_REACH, NoPlan, TIMES_ROUND, TurnPlan};
use crate::report::text::turning::at_most;
use crate::survey::Survey;

/// A record may differ from the plan by this share of it without being asked about: a bubble leads a hand so
/// far, since no line of the card lets it go further.
const LED_ASTRAY: f64 = 0.75;

/// It may also differ by this many of the foot's smallest steps.
const FEW_STEPS: f64 = 2.0;

/// What was typed may be the rounded number of the card, quarter-turns: a degree.
const ROUNDING: f64 = 1.0 / 90.0;

/// As far may going round the readings take a foot, quarter-turns: a small turn may end on the other side.
const ROUND_AND_ROUND: f64 = TIMES_ROUND as f64 * LOOK_AGAIN_REACH;

/// What the card asks of one foot, all its lines together.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked {
    pub foot: usize,
    /// Quarter-turns, + raises.
    pub planned: f64,
    /// Never past this, quarter-turns, where a bubble says when to stop.
    pub no_further: Option<f64>,
}

/// What the card asks of every foot.
pub(super) struct Card {
    /// Feet in the order of the card, each once.
    pub lines: Vec<Asked>,
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
        self.lines
            .iter()
            .map(|line| (line.foot, line.planned))
            .collect()
    }

    /// One sentence for each foot whose record lies far from the card.
    pub fn far(&self, turned: &BTreeMap<usize, f64>, survey: &Survey) -> Vec<String> {
        self.lines
            .iter()
            .filter_map(|&Asked { foot, planned, .. }| {
                let done = turned.get(&foot).copied().unwrap_or(0.0);
                self.is_far(foot, done, survey).then(|| {
                    let name = &survey.feet[foot].name;
                    let said = if planned == 0.0 && self.in_hand.contains(&foot) {
                        "only bring it up to bear or go round it".to_owned()
                    } else if planned == 0.0 {
                        "do not touch it".to_owned()
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
        self.lines.iter().any(|line| line.planned != 0.0)
    }

    /// What the card asks of a foot, quarter-turns.
    pub fn planned(&self, foot: usize) -> f64 {
        self.lines
            .iter()
            .find(|line| line.foot == foot)
            .map_or(0.0, |line| line.planned)
    }

    /// What the card says where a foot was turned past what it allows.
    pub fn beyond(&self, foot: usize, done: f64) -> Option<String> {
        let line = self.lines.iter().find(|line| line.foot == foot)?;
        let no_further = line.no_further?;
        (done * no_further > 0.0 && done.abs() > no_further.abs() + ROUNDING)
            .then(|| format!("never past {}", at_most(no_further)))
    }
}

impl From<&TurnPlan> for Card {
    fn from(plan: &TurnPlan) -> Self {
        let mut lines: Vec<Asked> = Vec::new();
        for line in &plan.lines {
            let no_further = line.watch.map(|_| line.no_further);
            match lines.iter_mut().find(|asked| asked.foot == line.foot) {
                Some(asked) => {
                    asked.planned += line.quarter_turns;
                    asked.no_further = asked.no_further.zip(no_further).map(|(a, b)| a + b);
                }
                None => lines.push(Asked {
                    foot: line.foot,
                    planned: line.quarter_turns,
                    no_further,
                }),
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

    fn asked((foot, planned): (usize, f64)) -> Asked {
        Asked {
            foot,
            planned,
            no_further: Some(1.25 * planned),
        }
    }

    #[test]
    fn a_swapped_sign_is_far_and_a_bubble_is_not() {
        let card = Card {
            lines: [(0, 3.0), (2, 0.0), (1, -0.5), (3, 8.0)]
                .map(asked)
                .to_vec(),
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
            lines: vec![asked((0, 0.03))],
            in_hand: BTreeSet::new(),
        };
        assert!(!small.is_far(0, -0.4, &survey) && small.is_far(0, -0.6, &survey));
        assert!(card.beyond(0, 3.8).is_some() && card.beyond(0, 3.7).is_none());
        assert!(card.beyond(0, -3.8).is_none());
        let turned = BTreeMap::from([(0, -3.0), (2, 0.0), (1, -0.5)]);
        assert_eq!(
            card.far(&turned, &survey),
            [
                "F1 is -3 (270°), the card says +3 (270°)",
                "R2 is not named, the card says +8 (720°)"
            ]
        );
    }
}
