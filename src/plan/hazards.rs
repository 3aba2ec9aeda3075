//! What can hurt whoever works from a card, or cuts a bar. Which of them apply is common practice, no source.

use super::TurnPlan;
use crate::survey::{Anchors, FootKind, Survey};

/// A headstock heavier than this share of the machine brings it over when feet are let down beside it.
const HEAVY_HEADSTOCK: f64 = 0.2;

/// A bed that stands higher than this many times its feet's distance across brings itself over.
const TALL: f64 = 1.0;

/// What no screw of a foot lifts without gear, m.
const BEYOND_A_SCREW: f64 = 1e-3;

/// One thing that can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hazard {
    /// The machine could start, or what is stored in it could move it.
    Energy,
    /// A key is left in the chuck.
    ChuckKey,
    /// A bar that a chuck alone holds whips at speed.
    Whip,
    /// A bed that is lifted comes down on a hand, or on a finger in a gap.
    Crushing,
    /// It is lifted farther than a foot's screw does.
    Lifting,
    /// A jack's foot digs in.
    Spreading,
    /// It is tall, or heavy at one end.
    Tipping,
    /// It is loose when every anchor is slack.
    AllAnchorsSlack,
    /// It was read with slack anchors, so nothing but its feet holds it.
    StandsOnFeet,
    /// An anchor that is not the right one pulls out.
    WrongAnchor,
    /// Nobody wrote whether anchors hold it: what would hurt if they do.
    PerhapsAnchored,
}

impl Hazard {
    /// Those of the work on a card.
    pub fn of_turns(survey: &Survey, plan: &TurnPlan) -> Vec<Self> {
        let machine = &survey.machine;
        let lifts = plan.lines.iter().map(|line| line.lift);
        let highest = lifts.fold(0.0, f64::max);
        let is_heavy = machine
            .headstock
            .zip(machine.mass)
            .is_some_and(|(headstock, mass)| headstock.mass > HEAVY_HEADSTOCK * mass);
        let across = survey.feet.iter().map(|foot| 2.0 * foot.across.abs());
        let across = across.fold(f64::INFINITY, f64::min);
        let is_tall = machine
            .bed_height
            .is_some_and(|height| height > TALL * across);
        let has_chuck = machine.chuck_at.is_some() || machine.centre_height.is_some();
        let is_told = survey.bed.held_down.is_some();
        let anchors = survey.bed.held_down == Some(true);
        let kinds = |kind| survey.feet.iter().any(|foot| foot.kind == Some(kind));
        let are_slack = survey
            .passes
            .last()
            .and_then(|pass| pass.conditions.anchors)
            == Some(Anchors::Slack);
        [
            (Self::Energy, true),
            (Self::ChuckKey, has_chuck),
            (Self::Crushing, highest > 0.0),
            (
                Self::Lifting,
                highest > BEYOND_A_SCREW || kinds(FootKind::Shims),
            ),
            (Self::Spreading, highest > 0.0 && kinds(FootKind::Jack)),
            (Self::Tipping, is_heavy || is_tall),
            (Self::AllAnchorsSlack, anchors && !are_slack),
            (Self::StandsOnFeet, anchors && are_slack),
            (Self::WrongAnchor, anchors),
            (Self::PerhapsAnchored, !is_told),
        ]
        .into_iter()
        .filter_map(|(hazard, applies)| applies.then_some(hazard))
        .collect()
    }

    /// Those of cutting a bar, held by the chuck alone or between centres.
    pub fn of_cut(between_centres: bool) -> Vec<Self> {
        if between_centres {
            vec![Self::ChuckKey]
        } else {
            vec![Self::ChuckKey, Self::Whip]
        }
    }
}
