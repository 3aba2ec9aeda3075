//! The readings of a pass, line by line.

use toml::de::DeValue;

use super::bed::place;
use crate::survey::diagnostic::{Diagnostic, count};
use crate::survey::document::{Item, Table};
use crate::survey::model::{Bed, Entry, Level, Line, PLACE_ROUNDING, Reading};
use crate::survey::notation::{parse_reading, which_is_high};
use crate::survey::units::{short_number, show_length, show_range};

/// More readings than anybody takes in one pass.
const MOST_READINGS: usize = 1_000;

/// One line of the pass, with its keys in the file.
struct Keys {
    line: Line,
    readings: &'static str,
    reversed: &'static str,
    places: &'static str,
}

const LINES: [Keys; 3] = [
    Keys {
        line: Line::Cross,
        readings: "cross",
        reversed: "cross_reversed",
        places: "cross_at",
    },
    Keys {
        line: Line::Front,
        readings: "front",
        reversed: "front_reversed",
        places: "front_at",
    },
    Keys {
        line: Line::Rear,
        readings: "rear",
        reversed: "rear_reversed",
        places: "rear_at",
    },
];

/// Every reading of the pass: line by line, the plain ones before the reversed ones.
///
/// A pass with places and no readings at all is one being planned: each line gets its places, not taken.
pub(super) fn read(table: &Table<'_>, bed: Option<&Bed>, level: Option<&Level>) -> Vec<Reading> {
    let stations = table.get("stations");
    let shared = stations.as_ref().and_then(|item| places(item, bed));
    let mut readings = Vec::new();
    let mut planned = Vec::new();
    let mut is_planned = true;
    for keys in LINES {
        let own = table.get(keys.places);
        let has_places = own.is_some() || stations.is_some();
        let places = match &own {
            Some(item) => places(item, bed),
            None => shared.clone(),
        };
        let setting = Setting {
            line: keys.line,
            bed,
            level,
            places_key: own.as_ref().map_or("stations", |_| keys.places),
            places: places.as_deref(),
        };
        for (key, reversed) in [(keys.readings, false), (keys.reversed, true)] {
            let Some(item) = table.get(key) else {
                continue;
            };
            is_planned = false;
            if !has_places {
                report_no_places(&item, keys.places);
            }
            readings.extend(setting.readings(&item, reversed));
        }
        planned.extend(places.into_iter().flatten().flatten().map(|at| Reading {
            line: keys.line,
            reversed: false,
            at,
            entry: Entry::Missing,
        }));
    }
    if is_planned {
        return planned;
    }
    report_too_many(table, &readings);
    readings
}

/// The places of a line; one that is wrong was reported and is `None`.
fn places(item: &Item<'_>, bed: Option<&Bed>) -> Option<Vec<Option<f64>>> {
    let items = item.list()?;
    if items.len() > MOST_READINGS {
        item.reader.report(
            Diagnostic::new(item.key_span.clone(), "nobody reads so many stations")
                .label(count(items.len(), "station", "stations"))
                .help(format!("a pass has at most {MOST_READINGS} readings")),
        );
        return None;
    }
    Some(items.iter().map(|item| free_place(item, bed)).collect())
}

/// A place where the ways are free.
fn free_place(item: &Item<'_>, bed: Option<&Bed>) -> Option<f64> {
    let at = place(item, bed)?;
    let Some(bed) = bed.filter(|bed| !bed.is_free(at)) else {
        return Some(at);
    };
    let units = item.reader.units();
    let [from, to] = bed.free;
    item.report(
        format!("nothing can be read at {}", show_length(at, units)),
        "the ways are covered there",
        format!(
            "`ways_from` and `ways_to` leave them free: {}",
            show_range(from, to, units)
        ),
    );
    None
}

fn report_no_places(item: &Item<'_>, own_key: &str) {
    item.reader.report_missing(
        Diagnostic::new(
            item.key_span.clone(),
            format!("`{}` has readings and no places", item.key),
        )
        .label("where were they taken?")
        .help(format!(
            "add `stations = [...]` with the middle of the level at every reading, or `{own_key} = [...]` for \
             this line alone"
        )),
    );
}

fn report_too_many(table: &Table<'_>, readings: &[Reading]) {
    let number: usize = readings
        .iter()
        .map(|reading| match &reading.entry {
            Entry::Read(repeats) => repeats.len(),
            Entry::Missing | Entry::OffScale(_) => 1,
        })
        .sum();
    if number > MOST_READINGS {
        table.reader.report(
            Diagnostic::new(
                table.span.clone(),
                "nobody takes so many readings in a pass",
            )
            .label(count(number, "reading", "readings"))
            .help(format!("a pass has at most {MOST_READINGS} readings")),
        );
    }
}

/// What the readings of one line share.
struct Setting<'s> {
    line: Line,
    bed: Option<&'s Bed>,
    level: Option<&'s Level>,
    /// The key that the line's places stand under.
    places_key: &'s str,
    places: Option<&'s [Option<f64>]>,
}

impl Setting<'_> {
    fn readings(&self, item: &Item<'_>, reversed: bool) -> Vec<Reading> {
        let Some(items) = item.list() else {
            return Vec::new();
        };
        if let Some(places) = self.places
            && places.len() != items.len()
        {
            self.report_lengths(item, items.len(), places.len());
        }
        let entries: Vec<Option<Entry>> = items.iter().map(|item| self.entry(item)).collect();
        let is_taken = |entry: &Option<Entry>| !matches!(entry, None | Some(Entry::Missing));
        if self.needs_base() && entries.iter().any(is_taken) {
            self.report_no_base(item);
        }
        let places = self.places.unwrap_or_default();
        items
            .iter()
            .zip(entries)
            .zip(places)
            .filter_map(|((item, entry), at)| {
                let (entry, at) = (entry?, (*at)?);
                if entry != Entry::Missing {
                    self.report_overhang(item, at);
                }
                Some(Reading {
                    line: self.line,
                    reversed,
                    at,
                    entry,
                })
            })
            .collect()
    }

    fn report_lengths(&self, item: &Item<'_>, readings: usize, places: usize) {
        let readings_text = count(readings, "reading", "readings");
        let places_text = count(places, "place", "places");
        let help = if readings < places {
            "write `\"-\"` where no reading was taken".to_owned()
        } else if self.places_key == "stations" {
            format!(
                "add the missing places, or give this line its own: `{}_at = [...]`",
                self.line.name()
            )
        } else {
            "add the missing places".to_owned()
        };
        item.reader.report_missing(
            Diagnostic::new(
                item.key_span.clone(),
                format!(
                    "`{}` has {readings_text} for {places_text} in `{}`",
                    item.key, self.places_key
                ),
            )
            .label(readings_text)
            .help(help),
        );
    }

    fn entry(&self, item: &Item<'_>) -> Option<Entry> {
        match item.value {
            DeValue::String(text) => {
                let range = self.level.and_then(|level| level.range);
                match parse_reading(text, self.line, range) {
                    Ok(entry) => Some(entry),
                    Err(diagnostic) => {
                        item.report_inside(text, diagnostic);
                        None
                    }
                }
            }
            DeValue::Integer(_) | DeValue::Float(_) => self.bare_number(item),
            _ => {
                item.report_kind("a list of readings");
                None
            }
        }
    }

    /// A number without quotes has no letter, which is right for level only.
    fn bare_number(&self, item: &Item<'_>) -> Option<Entry> {
        let Some(number) = item.plain_number().filter(|number| number.is_finite()) else {
            item.report(
                "a reading must be a finite number",
                "not finite",
                "write `\"-\"` if no reading was taken",
            );
            return None;
        };
        if number == 0.0 {
            return Some(Entry::Read(vec![0.0]));
        }
        let number = short_number(number.abs(), 6);
        item.reader
            .report(which_is_high(self.line, &number, item.span.clone()));
        None
    }

    fn needs_base(&self) -> bool {
        self.line != Line::Cross && self.level.is_some_and(|level| level.base.is_none())
    }

    fn report_no_base(&self, item: &Item<'_>) {
        let name = self.level.map_or("", |level| &level.name);
        item.reader.report_missing(
            Diagnostic::new(
                item.key_span.clone(),
                format!("level `{name}` has no `base` and cannot read along a way"),
            )
            .label("readings along a way")
            .help(format!(
                "add a line like `base = 200` to `[level.{name}]`, the length that rests on the way"
            )),
        );
    }

    /// Both ends of the level stand on the bed.
    fn report_overhang(&self, item: &Item<'_>, at: f64) {
        let (Some(bed), Some(base)) = (self.bed, self.level.and_then(|level| level.base)) else {
            return;
        };
        if self.line == Line::Cross {
            return;
        }
        let over = bed.overhang(base, at);
        if over <= PLACE_ROUNDING {
            return;
        }
        let end = if at < f64::midpoint(bed.free[0], bed.free[1]) {
            "headstock end"
        } else {
            "tailstock end"
        };
        let units = item.reader.units();
        let [from, to] = bed.free;
        let what = if to - from < bed.length {
            "the free ways"
        } else {
            "the bed"
        };
        let help = if base <= to - from {
            format!(
                "stations are the middle of the level: with its base of {} they lie {} along the bed",
                show_length(base, units),
                show_range(from + base / 2.0, to - base / 2.0, units)
            )
        } else {
            format!(
                "the level's base of {} is longer than {what}",
                show_length(base, units)
            )
        };
        item.report(
            format!(
                "an end of the level was off {what} at {}",
                show_length(at, units)
            ),
            &format!("{} past the {end}", show_length(over, units)),
            help,
        );
    }
}
