//! `[limits]`.

use toml::de::DeValue;

use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::{Item, Table};
use crate::survey::keys::Word;
use crate::survey::limit_class::{ClassLimits, LARGEST_SWING, NoClassLimits};
use crate::survey::model::{Bed, LimitClass, Limits, LocalLimit, Machine};
use crate::survey::units::show_length;

pub(super) fn read(item: Option<Item<'_>>, bed: Option<&Bed>, machine: &Machine) -> Limits {
    let Some(table) = item.and_then(|item| item.table()) else {
        return Limits::default();
    };
    let twist = table.number("twist");
    let crown_item = table.get("crown");
    let crown = crown_item.as_ref().and_then(crown);
    let straightness = table.number("straightness");
    let twist_per_metre = table.number("twist_per_metre");
    let local = table
        .get("local")
        .map(|item| local(&item))
        .unwrap_or_default();
    let convex_item = table.get("convex_only");
    let convex_only = convex_item.as_ref().and_then(Item::flag);
    let load_share = table.number("load_share");
    let stated_for = table.number("stated_for");
    let class_item = table.get("class");
    let class = class_item.as_ref().and_then(Item::word::<LimitClass>);
    table.close();
    if let (Some(item), Some([lowest, _]), Some(true)) = (&convex_item, crown, convex_only)
        && lowest < 0.0
    {
        item.report(
            "`crown` allows sag and `convex_only` forbids it",
            "contradicts `crown`",
            "let `crown` start at 0, or leave `convex_only` out",
        );
    }
    // Proportion is how a tolerance stated for one length is carried to another (ISO 230-1, from memory).
    let scale = match (stated_for, bed) {
        (Some(stated_for), Some(bed)) => bed.length / stated_for,
        _ => 1.0,
    };
    let of_class = class_item
        .as_ref()
        .zip(class)
        .and_then(|(item, class)| class_limits(item, class, machine));
    Limits {
        twist: twist.or(of_class.map(|limits| limits.across)),
        crown: crown
            .map(|ends| ends.map(|end| end * scale))
            .or(of_class.map(|limits| [0.0, limits.crown])),
        straightness: straightness.map(|range| range * scale),
        twist_per_metre,
        local,
        convex_only: convex_only.unwrap_or(of_class.is_some() && crown.is_none()),
        load_share,
        class: class.filter(|_| of_class.is_some()),
    }
}

/// What a class allows this machine; it takes the distance between centres and the swing.
fn class_limits(item: &Item<'_>, class: LimitClass, machine: &Machine) -> Option<ClassLimits> {
    let swing = machine
        .swing
        .or(machine.centre_height.map(|height| 2.0 * height));
    let missing: Vec<&str> = [
        (
            machine.distance_between_centres.is_none(),
            "distance_between_centres = 1000",
        ),
        (swing.is_none(), "swing = 400"),
    ]
    .into_iter()
    .filter_map(|(is_missing, line)| is_missing.then_some(line))
    .collect();
    let (Some(distance), Some(swing)) = (machine.distance_between_centres, swing) else {
        let lines: Vec<String> = missing.iter().map(|line| format!("`{line}`")).collect();
        item.reader.report_missing(
            Diagnostic::new(
                item.span.clone(),
                "a class is chosen by the distance between centres and the swing",
            )
            .label("for which machine?")
            .help(format!("add {} to `[machine]`", lines.join(" and "))),
        );
        return None;
    };
    let units = item.reader.units();
    let refused = |label: String| {
        item.report(
            format!("no numbers are known here for class `{}`", class.word()),
            &label,
            "take the limits from the standard and write them as `twist` and `crown`",
        );
        None
    };
    match class.limits(distance, swing) {
        Ok(limits) => Some(limits),
        Err(NoClassLimits::SwingTooLarge) => refused(format!(
            "they end at a swing of {}, this machine's is {}",
            show_length(LARGEST_SWING, units),
            show_length(swing, units)
        )),
        Err(NoClassLimits::TooLong(longest)) => refused(format!(
            "they end at {} between centres",
            show_length(longest, units)
        )),
    }
}

/// One local limit, or a list of them.
fn local(item: &Item<'_>) -> Vec<LocalLimit> {
    match item.value {
        DeValue::Table(_) => item.table().and_then(local_limit).into_iter().collect(),
        DeValue::Array(_) => item.tables().into_iter().filter_map(local_limit).collect(),
        _ => {
            item.report_kind("a length and the height allowed over it");
            Vec::new()
        }
    }
}

fn local_limit(table: Table<'_>) -> Option<LocalLimit> {
    let over = table.number("over");
    let height = table.number("height");
    table.close();
    Some(LocalLimit {
        over: over?,
        height: height?,
    })
}

/// Lowest and highest crown.
fn crown(item: &Item<'_>) -> Option<[f64; 2]> {
    let DeValue::Array(_) = item.value else {
        item.report(
            "`crown` has a lowest and a highest value",
            "expected a list of two lengths",
            "write `crown = [0, 0.02]` if the bed must not sag, `crown = [-0.02, 0.02]` if it may",
        );
        return None;
    };
    let ends = item.list()?;
    let [lowest, highest] = ends.as_slice() else {
        item.report(
            "`crown` has a lowest and a highest value",
            &format!("expected two lengths, found {}", ends.len()),
            format!("write it like `{}`; sag is negative", item.spec.line()),
        );
        return None;
    };
    let (low, high) = (lowest.number(), highest.number());
    let (low, high) = (low?, high?);
    if low > high {
        item.report(
            "the lowest crown is above the highest",
            "swapped",
            format!(
                "write `crown = [{}, {}]`; sag is negative",
                highest.source_text(),
                lowest.source_text()
            ),
        );
        return None;
    }
    if low >= high {
        item.report(
            "the two limits of `crown` are the same",
            "no bed is that exact",
            format!("leave room between them, like `{}`", item.spec.line()),
        );
        return None;
    }
    Some([low, high])
}
