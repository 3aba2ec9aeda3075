//! The bed seen from the front and above, its heights much too large.

mod surface;
mod view;

use self::surface::Surface;
use self::view::View;
use super::drawing::{Anchor, Drawing, Ink, Spot, Voice, width_of};
use super::profiles::{LONGEST_NAME, Seen, cut};
use super::ticks::round_down;
use crate::report::text::turning::short_turn;
use crate::survey::Side;
use crate::survey::units::short_number;

/// Width of the paper.
const WIDTH: f64 = 420.0;
/// Height of the paper.
const HEIGHT: f64 = 322.0;
/// Room on the left for the scale.
const LEFT: f64 = 58.0;
/// How far the rear lies to the right of the front and above it.
const DEPTH: Spot = (44.0, 56.0);
/// The line of nothing of the front way, from the top.
const PLANE: f64 = 158.0;
/// How far heights reach from their line of nothing at most.
const REACH: f64 = 50.0;

/// The bed with its feet; `turned` is what was or is to be turned, quarter-turns by foot.
pub fn bed(seen: &Seen, turned: Option<&[f64]>) -> Option<Drawing> {
    let survey = seen.survey;
    let spacing = survey.bed.way_spacing;
    let surface = Surface::of(seen.shape, spacing);
    if surface.front.len() + surface.rear.len() < 2 {
        return None;
    }
    let before = seen.before.map(|before| Surface::of(before, spacing));
    let largest = before
        .as_ref()
        .map_or(0.0, Surface::largest)
        .max(surface.largest());
    let along = (WIDTH - LEFT - DEPTH.0 - 2.0) / survey.bed.length;
    let most = REACH / largest.max(1e-9) / along;
    let times = round_down(most);
    let view = View {
        along,
        up: times * along,
        spacing,
    };
    let count = short_number(times, 0);
    let what = if surface.twist_only {
        "Only the twist is known; crown or sag are left out."
    } else {
        "Both ways above and below the plane that fits them best."
    };
    let description = format!(
        "The bed from the front and above, the headstock end on the left. {what} Heights are drawn {count} times too \
         large.{}{}",
        if before.is_some() {
            " Dashed lines show what was there before."
        } else {
            ""
        },
        feet_in_words(seen, turned),
    );
    let mut drawing = Drawing::new("bed", "The bed, exaggerated", description, (WIDTH, HEIGHT));
    drawing.words(
        (0.0, 31.0),
        Anchor::Start,
        Voice::Faint,
        format!(
            "heights drawn {count} times too large{}",
            if surface.twist_only {
                "; twist alone is known"
            } else {
                ""
            }
        ),
    );
    legend(&mut drawing, &surface, before.is_some());
    view.floor(&mut drawing, survey.bed.length);
    view.scale(&mut drawing, seen.units);
    view.plane(&mut drawing, survey.bed.length);
    view.feet(&mut drawing, seen, turned, Side::Rear);
    view.way(&mut drawing, &surface.rear, Side::Rear);
    if let Some(before) = &before {
        view.before(&mut drawing, before);
    }
    view.ties(&mut drawing, &surface);
    view.feet(&mut drawing, seen, turned, Side::Front);
    view.way(&mut drawing, &surface.front, Side::Front);
    drawing.words(
        (LEFT - 8.0, HEIGHT - 2.0),
        Anchor::Start,
        Voice::Faint,
        "headstock end",
    );
    drawing.words(
        (WIDTH - DEPTH.0, HEIGHT - 2.0),
        Anchor::End,
        Voice::Faint,
        "tailstock end",
    );
    Some(drawing)
}

/// The feet that move, for who cannot see them.
fn feet_in_words(seen: &Seen, turned: Option<&[f64]>) -> String {
    let Some(turned) = turned else {
        return String::new();
    };
    let moved: Vec<String> = seen
        .survey
        .feet
        .iter()
        .zip(turned)
        .filter(|(_, quarters)| **quarters != 0.0)
        .map(|(foot, quarters)| {
            format!(
                "{} {}",
                cut(&foot.name, LONGEST_NAME),
                short_turn(*quarters)
            )
        })
        .collect();
    if moved.is_empty() {
        " No foot is turned.".to_owned()
    } else {
        format!(
            " Quarter-turns at the feet, + raises: {}.",
            moved.join(", ")
        )
    }
    .replace('\u{a0}', " ")
}

fn legend(drawing: &mut Drawing, surface: &Surface, before: bool) {
    let mut left = WIDTH;
    let known = [
        (before, "before", Ink::Before),
        (!surface.rear.is_empty(), "rear way", Ink::Rear),
        (!surface.front.is_empty(), "front way", Ink::Front),
    ];
    for (_, word, ink) in known.into_iter().filter(|(known, ..)| *known) {
        left -= width_of(word);
        drawing.words((left, 47.0), Anchor::Start, Voice::Faint, word);
        left -= 28.0;
        drawing.line((left, 43.0), (left + 22.0, 43.0), ink);
        left -= 8.0;
    }
}
