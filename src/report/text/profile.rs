//! Tables of the cross slopes and of both ways.

use super::page::Page;
use super::prose::Prose;
use super::scale::{Scale, is_nothing, place_number};
use super::table::Table;
use super::turning::decimal_reading;
use super::words;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::{ReferenceLine, Way, WayPoint};
use crate::report::ShapeReport;
use crate::survey::{LengthUnit, Line};

/// The cross slopes, each with the letter of its high side.
pub(super) fn across(page: &mut Page, report: &ShapeReport, units: LengthUnit) {
    let cross = &report.shape.cross;
    if cross.is_empty() {
        return;
    }
    page.heading("Across: how much the front (F) or the rear (R) is high");
    let finest = cross.iter().map(|slope| slope.u95).reduce(f64::min);
    let scale = Scale::slopes(units, finest.unwrap_or(0.0));
    let unit = scale.unit();
    let mut table = Table::new([
        at_head(units),
        format!("high side\n{unit}  "),
        format!("give or take\n{unit}"),
    ]);
    for slope in cross {
        let number = scale.number(slope.slope.abs());
        let letter = if scale.signed(slope.slope) == number {
            ' '
        } else if slope.slope > 0.0 {
            'F'
        } else {
            'R'
        };
        table.row([
            place_number(slope.at, units),
            format!("{number} {letter}"),
            scale.number(slope.u95),
        ]);
    }
    page.table(&table);
    let zero = match report.shape.zero_cross {
        Some(zero) => {
            let shown = decimal_reading(Line::Cross, zero.value / report.level.division);
            format!("The level's zero error is taken off: where the ways are level it shows {shown}.")
        }
        None => "The level's zero error, the same everywhere, is still in these; it changes no twist. Reverse \
                 the level at one place (cross_reversed) to know it."
            .to_owned(),
    };
    page.paragraph(&Prose::new().faint(zero));
}

fn at_head(units: LengthUnit) -> String {
    format!("at\n{}", units.length().name())
}

/// The departures of both ways from their line: in one table where it fits, else one below the other.
pub(super) fn along(page: &mut Page, report: &ShapeReport, units: LengthUnit) {
    let ways: Vec<&Way> = report.shape.ways().collect();
    if ways.is_empty() {
        return;
    }
    page.heading(match report.reference {
        ReferenceLine::EndPoints => "Along: above (+) or below (-) the line through the way's ends",
        ReferenceLine::LeastSquares => "Along: above (+) or below (-) the way's least-squares line",
        ReferenceLine::MinimumZone => "Along: above (+) or below (-) the way's minimum-zone line",
    });
    let pick = |point: &WayPoint| (point.off_line, point.off_line_u95);
    ways_table(page, &ways, units, pick);
}

/// The heights of both ways above the plane that fits both best.
pub(super) fn heights(page: &mut Page, report: &ShapeReport, units: LengthUnit) {
    let ways: Vec<&Way> = report.shape.ways().collect();
    if ways.is_empty() {
        return;
    }
    page.heading("Heights above the plane that fits best");
    ways_table(page, &ways, units, |point| (point.height, point.u95));
}

/// A value and its uncertainty at every place of every way.
fn ways_table(
    page: &mut Page,
    ways: &[&Way],
    units: LengthUnit,
    pick: impl Fn(&WayPoint) -> (f64, f64),
) {
    // The largest, since where its line goes through, a way is exact.
    let largest = ways
        .iter()
        .flat_map(|way| way.points.iter())
        .map(|point| pick(point).1)
        .fold(0.0, f64::max);
    let scale = Scale::lengths(units, largest);
    let table_of = |ways: &[&Way]| {
        let mut places: Vec<f64> = ways
            .iter()
            .flat_map(|way| way.points.iter().map(|point| point.at))
            .collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        let mut table = Table::new(
            std::iter::once(at_head(units)).chain(ways.iter().map(|way| {
                let side = words::side(way.side);
                format!("{side}\n{}", scale.unit())
            })),
        );
        for at in places {
            let cells = ways.iter().map(|way| {
                way.points
                    .iter()
                    .find(|point| (point.at - at).abs() < SAME_PLACE)
                    .map_or_else(String::new, |point| {
                        let (value, u95) = pick(point);
                        let (value, u95) = (scale.signed(value), scale.number(u95));
                        // Where the line goes through, there is nothing to be uncertain about.
                        let exact = value == u95 && is_nothing(&value);
                        let give = format!("±{u95}");
                        let give = if exact {
                            " ".repeat(give.chars().count())
                        } else {
                            give
                        };
                        format!("{value} {give}")
                    })
            });
            table.row(std::iter::once(place_number(at, units)).chain(cells));
        }
        table
    };
    let both = table_of(ways);
    if both.width() <= page.width() {
        page.table(&both);
    } else {
        for (k, way) in ways.iter().enumerate() {
            if k > 0 {
                page.gap();
            }
            page.table(&table_of(&[way]));
        }
    }
}
