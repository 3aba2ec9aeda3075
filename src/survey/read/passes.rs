//! `[[pass]]` and `[pass.turned]`.

use std::collections::{BTreeMap, HashMap};

use toml::value::Datetime;

use super::conditions;
use super::hanging;
use super::levels::Levels;
use super::lines;
use crate::survey::diagnostic::{Diagnostic, either};
use crate::survey::document::{Given, Item, Table};
use crate::survey::model::{Bed, Conditions, Foot, Level, Machine, Pass};

/// A name is compared with at most this many known ones.
const MOST_COMPARED: usize = 500;

/// More names than these are not listed in a message.
const MOST_LISTED: usize = 12;

pub(super) fn read(
    item: Option<Item<'_>>,
    bed: Option<&Bed>,
    machine: &Machine,
    feet: &[Foot],
    levels: &Levels,
) -> Vec<Pass> {
    let tables = item.map(|item| item.tables()).unwrap_or_default();
    let names: HashMap<String, usize> = feet
        .iter()
        .enumerate()
        .map(|(index, foot)| (foot.name.to_ascii_uppercase(), index))
        .collect();
    let feet = FootNames { feet, names };
    let mut before = None;
    let mut conditions = Conditions::default();
    tables
        .into_iter()
        .map(|table| {
            let pass = pass(
                table,
                bed,
                machine,
                &feet,
                levels,
                (&mut before, conditions),
            );
            conditions = pass.conditions;
            pass
        })
        .collect()
}

fn pass(
    table: Table<'_>,
    bed: Option<&Bed>,
    machine: &Machine,
    feet: &FootNames<'_>,
    levels: &Levels,
    (before, conditions): (&mut Option<Datetime>, Conditions),
) -> Pass {
    let taken = table.date("taken");
    if let Some(taken) = &taken {
        report_out_of_order(&table, taken, *before);
        *before = Some(taken.value);
    }
    let (level_name, level) = level(&table, levels);
    let readings = lines::read(&table, bed, level);
    let felt = |key| {
        table
            .get(key)
            .map(|item| felt(&item, feet))
            .unwrap_or_default()
    };
    let (hanging, barely) = (felt("hanging"), felt("barely"));
    let felt = table.get("hanging").is_some();
    if let (Some(item), Some(bed)) = (table.get("hanging"), bed)
        && !hanging.is_empty()
        && item.reader.has_all_names()
    {
        hanging::report(&item, &hanging, feet.feet, bed, machine);
    }
    let note = table.text("note");
    let conditions = conditions::read(&table, bed, conditions);
    let turned = table.table("turned").map(|table| turned(&table, feet));
    table.close();
    Pass {
        taken: taken.map(|date| date.value),
        level: level_name,
        readings,
        felt,
        hanging,
        barely,
        note,
        conditions,
        turned,
    }
}

/// Passes stand in the order in which they were taken; only the same kind of clock can tell.
fn report_out_of_order(table: &Table<'_>, taken: &Given<Datetime>, before: Option<Datetime>) {
    let Some(before) = before.filter(|before| before.offset == taken.value.offset) else {
        return;
    };
    let is_earlier = match (before.time, taken.value.time) {
        (Some(_), Some(_)) => (taken.value.date, taken.value.time) < (before.date, before.time),
        _ => taken.value.date < before.date,
    };
    if is_earlier {
        table.reader.report(
            Diagnostic::new(
                taken.span.clone(),
                "this pass was taken before the one above it",
            )
            .label(format!("the pass above was taken {before}"))
            .help("let the passes stand in the order in which they were taken"),
        );
    }
}

/// The name of the pass's level, and the level itself unless its own table is wrong.
fn level<'l>(table: &Table<'_>, levels: &'l Levels) -> (String, Option<&'l Level>) {
    let item = table.get("level");
    let names: Vec<&str> = levels.names().collect();
    let Some(item) = item else {
        return match names.as_slice() {
            [] if !table.reader.has_all_names() => (String::new(), None),
            [] => {
                table.reader.report_missing(
                    Diagnostic::new(table.span.clone(), "no level is described in the file")
                        .label("taken with which level?")
                        .help("add a table like `[level.master]` with `division = \"0.02 mm/m\"`"),
                );
                (String::new(), None)
            }
            [only] => {
                let level = levels.get(only).and_then(Option::as_ref);
                ((*only).to_owned(), level)
            }
            several => {
                table.reader.report_missing(
                    Diagnostic::new(
                        table.span.clone(),
                        "the pass does not say which level it was taken with",
                    )
                    .label("`level` is missing")
                    .help(format!(
                        "add {}",
                        either(
                            several
                                .iter()
                                .take(MOST_LISTED)
                                .map(|name| format!("level = \"{name}\""))
                                .collect::<Vec<_>>()
                                .iter()
                                .map(String::as_str)
                        )
                    )),
                );
                (String::new(), None)
            }
        };
    };
    let Some(name) = item.text() else {
        return (String::new(), None);
    };
    let Some(level) = levels.get(name) else {
        if item.reader.has_all_names() {
            report_unknown(&item, "level", name, &names.iter().copied());
        }
        return (String::new(), None);
    };
    (name.to_owned(), level.as_ref())
}

fn report_unknown<'n>(
    item: &Item<'_>,
    kind: &str,
    name: &str,
    known: &(impl Iterator<Item = &'n str> + Clone),
) {
    let diagnostic = Diagnostic::new(item.span.clone(), format!("unknown {kind} `{name}`"));
    let compared = known.clone().take(MOST_COMPARED);
    if let Some(meant) = item.reader.suggest(name, compared) {
        item.reader
            .report(diagnostic.label(format!("did you mean `{meant}`?")));
        return;
    }
    let mut listed: Vec<String> = known
        .clone()
        .take(MOST_LISTED)
        .map(|name| format!("`{name}`"))
        .collect();
    if known.clone().nth(MOST_LISTED).is_some() {
        listed.push("...".to_owned());
    }
    let help = if listed.is_empty() {
        format!("the file describes no {kind} yet")
    } else {
        format!("the file has {}", listed.join(", "))
    };
    item.reader.report(
        diagnostic
            .label(format!("not a {kind} of this file"))
            .help(help),
    );
}

/// The feet by name, upper or lower case.
struct FootNames<'f> {
    feet: &'f [Foot],
    names: HashMap<String, usize>,
}

impl FootNames<'_> {
    fn find(&self, item: &Item<'_>, name: &str) -> Option<usize> {
        let index = self.names.get(&name.to_ascii_uppercase()).copied();
        if index.is_none() && item.reader.has_all_names() {
            let known = self.feet.iter().map(|foot| foot.name.as_str());
            report_unknown(item, "foot", name, &known);
        }
        index
    }
}

/// Feet that a hand felt something about.
fn felt(item: &Item<'_>, feet: &FootNames<'_>) -> Vec<usize> {
    let mut found = Vec::new();
    let mut is_listed = vec![false; feet.feet.len()];
    for item in item.list().unwrap_or_default() {
        let Some(index) = item.text().and_then(|name| feet.find(&item, name)) else {
            continue;
        };
        if is_listed[index] {
            item.report(
                format!("`{}` is listed twice", feet.feet[index].name),
                "the second time",
                "name every foot once",
            );
        } else {
            is_listed[index] = true;
            found.push(index);
        }
    }
    found
}

fn turned(table: &Table<'_>, feet: &FootNames<'_>) -> BTreeMap<usize, f64> {
    let mut found = BTreeMap::new();
    for mut item in table.items() {
        let quarters = item.number();
        let name = item.key;
        item.span = item.key_span.clone();
        let Some(index) = feet.find(&item, name) else {
            continue;
        };
        if found.contains_key(&index) {
            item.report(
                format!("`{}` is listed twice", feet.feet[index].name),
                "the second time",
                "write the sum of its turns once; upper and lower case count as the same",
            );
        }
        found.insert(index, quarters.unwrap_or_default());
    }
    found
}
