//! The pass to take next: with which level, where, and how long it takes.

use super::advice::strip;
use super::page::Page;
use super::prose::{Prose, TIE};
use super::words::count;
use crate::plan::NextPass;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Line, Packing};

/// All of it under a heading.
pub(super) fn next_pass(page: &mut Page, next: &NextPass, units: LengthUnit) {
    let stations = &next.stations;
    let readings = stations.cross.len() + stations.front.len() + stations.rear.len();
    page.heading("The next pass");
    page.paragraph(
        &Prose::new()
            .strong(format!("Level {}", next.level))
            .plain(format!(
                ", {}, about {}{TIE}min; until all is proven about {}{TIE}min.",
                count(readings, "reading", "readings"),
                minutes(next.expected_minutes),
                minutes(next.minutes_until_proven)
            )),
    );
    let lines = [
        (Line::Cross, "Cross  ", &stations.cross),
        (Line::Front, "Front  ", &stations.front),
        (Line::Rear, "Rear   ", &stations.rear),
    ];
    for (line, label, at) in lines {
        if at.is_empty() {
            continue;
        }
        let turns_back = at.windows(2).position(|pair| pair[1] <= pair[0]);
        let (forth, back) = at.split_at(turns_back.map_or(at.len(), |last| last + 1));
        let places = |at: &[f64]| {
            let at = at.iter();
            let places: Vec<String> = at
                .map(|at| short_number(units.length().from_si(*at), 1))
                .collect();
            format!("{}{TIE}{}", places.join(", "), units.length().name())
        };
        let again = if back.is_empty() {
            String::new()
        } else {
            format!(", and again on the way back at {}", places(back))
        };
        let height = next.packing.on(line);
        let packed = if height == 0.0 {
            String::new()
        } else {
            let letter = Packing::letter(line, height);
            format!("; {} under {letter}", strip(height, units))
        };
        page.hanging(
            label,
            &Prose::new()
                .plain("at ")
                .plain(places(forth))
                .plain(again)
                .strong(packed),
        );
    }
}

/// To the minute.
fn minutes(minutes: f64) -> String {
    short_number(minutes, 0)
}
