//! `[level.NAME]`.

use std::collections::BTreeMap;

use toml::de::DeValue;

use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::{Item, Table};
use crate::survey::model::{Level, Line};
use crate::survey::notation::QUARTER_DIVISION;

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
    let Some(table) = item.and_then(|item| item.table()) else {
        return levels;
    };
    let mut has_nameless = false;
    for item in table.items() {
        if !matches!(item.value, DeValue::Table(_)) {
            has_nameless = true;
            continue;
        }
        let heading = format!("[level.{}]", item.key);
        if let (Some(table), true) = (item.table_called(&heading), item.has_good_name("level")) {
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
    let division = table.number("division");
    let base = table.number("base");
    let range = table.number("range");
    let repeat = table.number("repeat");
    let resolution = table.number("resolution");
    let plus = table.get("plus").and_then(|item| plus(&item));
    table.close();
    Some(Level {
        name: name.to_owned(),
        division: division?,
        base,
        range,
        repeat,
        resolution: resolution.unwrap_or(QUARTER_DIVISION),
        plus,
    })
}

/// The letters that a plus stands for, across and along.
fn plus(item: &Item<'_>) -> Option<[char; 2]> {
    let items = item.list()?;
    let letter = |index: usize, line: Line| {
        let text = items.get(index)?.text()?;
        line.letters()
            .into_iter()
            .find(|letter| text.eq_ignore_ascii_case(&letter.to_string()))
    };
    if let (2, Some(across), Some(along)) =
        (items.len(), letter(0, Line::Cross), letter(1, Line::Front))
    {
        return Some([across, along]);
    }
    item.report_kind("the letters that a plus stands for, across and along");
    None
}
