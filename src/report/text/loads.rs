//! What every foot carries before and after the turns.

use super::page::Page;
use super::prose::Prose;
use super::table::Table;
use crate::plan::TurnPlan;
use crate::survey::units::{KILOGRAM, POUND, short_number};
use crate::survey::{LengthUnit, Survey};

/// Standard gravity, m/s²: turns a force into the mass it would weigh (3rd CGPM, 1901).
const STANDARD_GRAVITY: f64 = 9.806_65;

/// A table of them, where the masses are known.
pub(super) fn loads(page: &mut Page, plan: &TurnPlan, survey: &Survey, units: LengthUnit) {
    let Some(loads) = &plan.loads else {
        return;
    };
    page.heading("What every foot carries");
    let unit = match units {
        LengthUnit::Millimetre => KILOGRAM,
        LengthUnit::Inch => POUND,
    };
    let mass = |force: f64| short_number(unit.from_si(force / STANDARD_GRAVITY), 0);
    let mut table = Table::new([
        "foot".to_owned(),
        format!("before\n{}", unit.name()),
        "share\n%".to_owned(),
        format!("after\n{}", unit.name()),
        "share\n%".to_owned(),
    ]);
    let percent = |share: f64| short_number(100.0 * share, 0);
    for (foot, load) in survey.feet.iter().zip(loads) {
        table.row([
            foot.name.clone(),
            mass(load.before),
            percent(load.share_before),
            mass(load.after),
            percent(load.share_after),
        ]);
    }
    page.table(&table);
    if loads.iter().any(|load| load.before.min(load.after) < 0.0) {
        page.paragraph(
            &"Below 0 the bed would lift off the foot, were it not for the pull of an anchor."
                .into(),
        );
    }
    page.paragraph(&Prose::new().faint(
        "A level does not show how high the feet stand under worn ways: what they carry before is a guess, what the \
         turns change of it is better.",
    ));
}
