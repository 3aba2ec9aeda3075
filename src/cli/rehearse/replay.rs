//! The made-up bed as the passes and turns in the file have left it.

use std::collections::BTreeMap;

use crate::plan::{
    self, Action, CardLine, LOOK_AGAIN_REACH, Look, THREAD_SLACK, TIMES_ROUND, TurnPlan,
};
use crate::rehearse::{CannotStand, Stations, VirtualBed, Watch};
use crate::survey::{Level, Pass, Survey};

use super::super::readings::is_read;
use super::practice::Practice;

/// A record this near to the card says that the card was followed, quarter-turns: the rounding of the file.
const AS_PLANNED: f64 = 1e-5;

/// The bed now, and how it came to be so.
pub(super) struct Replay {
    /// The bed now.
    pub bed: VirtualBed,
    /// What every pass that was read would have said without slips, by its index.
    pub honest: BTreeMap<usize, Pass>,
    /// What the hand did in the last round.
    pub hand: Vec<HandMove>,
}

/// What the hand did at one foot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HandMove {
    /// Index into the survey's feet.
    pub foot: usize,
    /// What is recorded, quarter-turns.
    pub recorded: f64,
    /// What the hand counted, quarter-turns.
    pub counted: f64,
    /// Whether it went by what the level showed.
    pub watched: bool,
}

impl Replay {
    /// Plays the file from its first pass to its last turn.
    pub fn of(survey: &Survey, practice: Practice) -> Result<Self, CannotStand> {
        let mut replay = Self {
            bed: VirtualBed::new(survey, practice.seed, &practice.scatter())?,
            honest: BTreeMap::new(),
            hand: Vec::new(),
        };
        for (index, pass) in survey.passes.iter().enumerate().filter(|(_, p)| is_read(p)) {
            let Some(level) = survey.level_of(pass) else {
                continue;
            };
            replay.bed.pack(pass.conditions.packing);
            let honest = replay.bed.take_pass(level, &Stations::of_pass(pass));
            replay.honest.insert(index, honest);
            if let Some(turned) = &pass.turned {
                replay.hand = replay.turn(survey, index, level, turned);
            }
        }
        Ok(replay)
    }

    /// Turns the feet as the record says. Where it says what the card says, the card was followed, bubble and all;
    /// other feet are turned by count.
    fn turn(
        &mut self,
        survey: &Survey,
        pass: usize,
        level: &Level,
        turned: &BTreeMap<usize, f64>,
    ) -> Vec<HandMove> {
        let plan = plan::plan(survey, pass).ok();
        let followed = |plan: TurnPlan| (lines(&plan, turned), looks(&plan, turned));
        let (lines, looks) = plan.map_or_else(Default::default, followed);
        let mut hand: BTreeMap<usize, HandMove> = turned
            .iter()
            .map(|(&foot, &recorded)| {
                (
                    foot,
                    HandMove {
                        foot,
                        recorded,
                        counted: 0.0,
                        watched: false,
                    },
                )
            })
            .collect();
        for line in &lines {
            let counted = self.follow(line, level);
            if let Some(done) = hand.get_mut(&line.foot) {
                done.counted += counted;
                done.watched |= line.watch.is_some();
            }
        }
        if !lines.is_empty() {
            // As the card says of a bed that only rests on its feet; on others none hangs.
            for foot in 0..survey.feet.len() {
                self.bed.seat(foot);
            }
        }
        for look in (0..TIMES_ROUND).flat_map(|_| &looks) {
            if let Some(done) = hand.get_mut(&look.foot) {
                done.counted += self.look_again(look, level);
                done.watched = true;
            }
        }
        for done in hand.values_mut() {
            let followed = lines.iter().any(|line| line.foot == done.foot)
                || looks.iter().any(|look| look.foot == done.foot);
            if !followed {
                done.counted = self.bed.turn(done.foot, done.recorded);
            }
        }
        hand.into_values().collect()
    }

    /// Does one line of the card; what the hand counted, quarter-turns.
    fn follow(&mut self, line: &CardLine, level: &Level) -> f64 {
        match (line.action, line.watch) {
            (Action::Seat, _) => self.bed.seat(line.foot),
            (_, Some(watch)) => {
                let watch = Watch {
                    line: watch.line,
                    at: watch.at,
                    target: watch.to,
                    no_further: line.no_further,
                    no_further_back: THREAD_SLACK,
                };
                self.bed
                    .turn_watching(line.foot, line.quarter_turns, level, &watch)
                    .counted
            }
            (Action::Lower, None) => {
                let counted = self.bed.turn(line.foot, line.quarter_turns);
                // A foot that went loose is raised until it carries.
                counted + self.bed.seat(line.foot)
            }
            (_, None) => self.bed.turn(line.foot, line.quarter_turns),
        }
    }

    /// Brings a reading back; what the hand counted, quarter-turns.
    fn look_again(&mut self, look: &Look, level: &Level) -> f64 {
        let watch = Watch {
            line: look.line,
            at: look.at,
            target: look.shows,
            no_further: LOOK_AGAIN_REACH,
            no_further_back: LOOK_AGAIN_REACH,
        };
        self.bed
            .turn_watching(look.foot, 0.0, level, &watch)
            .counted
    }
}

/// The lines of the card that the record says were followed, in the order of the card. Whoever turned anything
/// also seated the feet that hung.
fn lines(plan: &TurnPlan, turned: &BTreeMap<usize, f64>) -> Vec<CardLine> {
    let followed = |line: &&CardLine| match line.action {
        Action::Leave => false,
        Action::Seat => !turned.is_empty(),
        Action::Raise | Action::Lower => is_as_planned(plan, turned, line.foot),
    };
    plan.lines.iter().filter(followed).cloned().collect()
}

/// The readings that were gone round: those whose feet the record names with what the card says.
fn looks(plan: &TurnPlan, turned: &BTreeMap<usize, f64>) -> Vec<Look> {
    let followed = |look: &Look| is_as_planned(plan, turned, look.foot);
    plan.looks.iter().copied().filter(followed).collect()
}

/// Whether a foot is recorded with what the card says, if only nought.
fn is_as_planned(plan: &TurnPlan, turned: &BTreeMap<usize, f64>, foot: usize) -> bool {
    let lines = plan.lines.iter().filter(|line| line.foot == foot);
    let planned: f64 = lines.map(|line| line.quarter_turns).sum();
    turned
        .get(&foot)
        .is_some_and(|recorded| (recorded - planned).abs() < AS_PLANNED)
}
