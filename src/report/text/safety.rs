//! What must be said wherever somebody is about to reach under a machine, or to cut.

use super::page::Page;
use crate::plan::Hazard;

/// What to do about a hazard, in one line; common practice, no source.
pub(in crate::report) fn caution(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Energy => {
            "Isolate, lock out, let stored energy off; nobody turns feet while it runs."
        }
        Hazard::ChuckKey => "Take the chuck key out.",
        Hazard::Whip => "A long bar in a chuck alone whips at speed: short, thick, slow.",
        Hazard::Crushing => {
            "Block the bed while it is lifted; no hand under it, no finger at a wedge."
        }
        Hazard::Lifting => {
            "Lift at the marked points, with rated gear and licensed people; slings clear of leadscrew and ways, \
             carriage locked."
        }
        Hazard::Spreading => "A spreader plate under every jack.",
        Hazard::Tipping => "It can tip: nuts stay on, one side at a time.",
        Hazard::AllAnchorsSlack => "Never slacken all anchors at once.",
        Hazard::StandsOnFeet => {
            "With slack anchors it sits steady on every foot, and every nut is on."
        }
        Hazard::WrongAnchor => {
            "Anchor type, torque, edge distance: maker, local code, licensed engineer."
        }
        Hazard::PerhapsAnchored => {
            "If anchors hold it down: never slacken all at once; what they are and bear is for their maker, local \
             code, a licensed engineer."
        }
    }
}

/// The cautions under their heading.
pub(super) fn safety(page: &mut Page, hazards: &[Hazard]) {
    page.heading("Safety");
    for hazard in hazards {
        page.hanging("- ", &caution(*hazard).into());
    }
}
