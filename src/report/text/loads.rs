//! What every foot carries before and after the turns.

use super::page::Page;
use super::prose::{Prose, TIE};
use super::table::Table;
use crate::plan::{FootLoad, TurnPlan};
use crate::survey::units::{KILOGRAM, POUND, Unit, short_number};
use crate::survey::{LengthUnit, Survey};

/// Standard gravity, m/s²: turns a force into the mass it would weigh (3rd CGPM, 1901).
const STANDARD_GRAVITY: f64 = 9.806_65;

fn unit(units: LengthUnit) -> Unit {
    match units {
        LengthUnit::Millimetre => KILOGRAM,
        LengthUnit::Inch => POUND,
    }
}

/// What weighs as much as this force, N, without its unit.
fn mass(force: f64, units: LengthUnit) -> String {
    short_number(unit(units).from_si(force / STANDARD_GRAVITY), 0)
}

/// What a foot of a resting bed is to carry after its last turn, in words.
pub(super) fn to_carry(load: &FootLoad, units: LengthUnit) -> String {
    format!(
        ", until it carries about{TIE}{}{TIE}{}",
        mass(load.after.max(0.0), units),
        unit(units).name()
    )
}

/// A table of them, where the masses are known.
pub(super) fn loads(page: &mut Page, plan: &TurnPlan, survey: &Survey, units: LengthUnit) {
    let Some(loads) = &plan.loads else {
        return;
    };
    page.heading("What every foot carries");
    let unit = unit(units);
    let mass = |force: f64| mass(force, units);
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
    page.paragraph(&Prose::new().faint(if plan.rests {
        "What they carry is told by the form of the bed, to a tenth or two of the largest load; a worn way looks like a \
         load. A hand tells better: feet that carry alike turn alike, by feel or by a torque wrench, and no feeler goes under \
         one that carries."
    } else {
        "A level does not show how high the feet stand under worn ways: what they carry before is a guess, what the \
         turns change of it is better."
    }));
}
