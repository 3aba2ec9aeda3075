//! What must be said wherever somebody is about to reach under a machine.

use super::page::Page;

/// Common practice, no source.
pub(in crate::report) const CAUTIONS: [&str; 5] = [
    "Isolate the machine and lock it out before reaching under it.",
    "Never put a hand under a bed that stands on jacks: crib it first.",
    "Lift only at the marked points, with gear rated for the load.",
    "Never slacken all anchors at once.",
    "Type, torque and edge distance of the anchors come from their maker and the local building code, for a \
     licensed engineer to judge; no figure is given here.",
];

/// The cautions under their heading.
pub(super) fn safety(page: &mut Page) {
    page.heading("Safety");
    for caution in CAUTIONS {
        page.hanging("- ", &caution.into());
    }
}
