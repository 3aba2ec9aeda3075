//! `[level.NAME]`.

use std::collections::BTreeMap;

use toml::de::DeValue;

use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::{Item, Table};
use crate::survey::model::Level;

/// The levels of a file by name; one whose own table is wrong has its name only.
#[derive(Default)]
pub(super) struct Levels(BTreeMap<String, Option<Level>>);

impl Levels {
    pub(super) fn get(&self, name: &str) -> Option<&Option<Level>> {
        self.0.get(name)
    }

    pub(super) fn names(&self) -> impl Iterator<Item = &str> + Clone {
        self.0.keys().map(String::as_str)
    }

    pub(super) fn into_map(self) -> BTreeMap<String, Level> {
        self.0
            .into_iter()
            .filter_map(|(name, level)| Some((name, level?)))
            .collect()
    }
}

pub(super) fn read(item: Option<Item<'_>>) -> Levels {
    let mut levels = Levels::default();
    let Some(table) = item.and_then(|item| item.table("[level.master]")) else {
        return levels;
    };
    let mut has_nameless = false;
    for item in table.items() {
        if !matches!(item.value, DeValue::Table(_)) {
            has_nameless = true;
            continue;
        }
        let heading = format!("[level.{}]", item.key);
        if let (Some(table), true) = (item.table(&heading), item.has_good_name("level")) {
            levels.0.insert(item.key.to_owned(), level(item.key, table));
        }
    }
    if has_nameless {
        table.reader.lose_names();
        table.reader.report(
            Diagnostic::new(table.span, "a level stands under a name of its own")
                .label("no name")
                .help("head its table with a name, such as `[level.master]`"),
        );
    }
    levels
}

fn level(name: &str, table: Table<'_>) -> Option<Level> {
    let division = table
        .need("division", "division = \"0.02 mm/m\"")
        .and_then(|item| item.positive_slope());
    let base = table.get("base").and_then(|item| item.extent());
    let range = table
        .get("range")
        .and_then(|item| item.positive_number("a number of divisions", "range = 10"));
    let repeat = table
        .get("repeat")
        .and_then(|item| item.positive_number("a number of divisions", "repeat = 0.2"));
    table.close();
    Some(Level {
        name: name.to_owned(),
        division: division?,
        base,
        range,
        repeat,
    })
}
