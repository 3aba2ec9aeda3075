//! `[limits]`.

use toml::de::DeValue;

use crate::survey::document::Item;
use crate::survey::model::Limits;

pub(super) fn read(item: Option<Item<'_>>) -> Limits {
    let Some(table) = item.and_then(|item| item.table("[limits]")) else {
        return Limits::default();
    };
    let twist = table.get("twist").and_then(|item| item.positive_slope());
    let crown = table.get("crown").and_then(|item| crown(&item));
    let straightness = table.get("straightness").and_then(|item| item.size());
    table.close();
    Limits {
        twist,
        crown,
        straightness,
    }
}

/// Lowest and highest crown.
fn crown(item: &Item<'_>) -> Option<[f64; 2]> {
    const EXAMPLE: &str = "crown = [0, 0.02]";
    let DeValue::Array(_) = item.value else {
        item.report(
            "`crown` has a lowest and a highest value",
            "expected a list of two lengths",
            "write `crown = [0, 0.02]` if the bed must not sag, `crown = [-0.02, 0.02]` if it may",
        );
        return None;
    };
    let ends = item.list(EXAMPLE)?;
    let [lowest, highest] = ends.as_slice() else {
        item.report(
            "`crown` has a lowest and a highest value",
            &format!("expected two lengths, found {}", ends.len()),
            format!("write it like `{EXAMPLE}`; sag is negative"),
        );
        return None;
    };
    let (low, high) = (lowest.length(), highest.length());
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
            format!("leave room between them, like `{EXAMPLE}`"),
        );
        return None;
    }
    Some([low, high])
}
