//! Results for other programs: one JSON object, lengths in mm and slopes in mm/m whatever the survey's units.
//!
//! Missing knowledge is `null`, never 0.
//!
//! * [`shape`] is the object that `shape --json` prints, [`turns`] that of `turns --json`, [`cut`] that of
//!   `cut --json`, [`settle`] that of `settle --json`, [`history`] that of
//!   `history --json`.
//! * [`advice`] is one piece of advice in it, [`fit`] how the readings fit each other, [`next_pass`] what to read next, [`settling`] what would settle
//!   a verdict, [`forecast`] what a pass will tell.
//! * [`number`] rounds what is printed.

pub mod advice;
pub mod cut;
pub mod fit;
pub mod forecast;
pub mod history;
pub mod next_pass;
pub mod number;
mod particulars;
pub mod settle;
pub mod settling;
pub mod shape;
pub mod turns;

use std::fmt::Write;

use serde::Serialize;

use crate::survey::seen;

/// The object as text, over several lines, with a newline at its end.
pub fn to_text(object: &impl Serialize) -> String {
    // The objects hold numbers, words and lists only, which always have a form in JSON.
    let text = serde_json::to_string_pretty(object).unwrap_or_default() + "\n";
    // Outside its strings JSON is plain ASCII, and inside them every character has a form that can be seen.
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_ascii() || seen(c) == c {
            shown.push(c);
        } else {
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(shown, "\\u{unit:04x}");
            }
        }
    }
    shown
}
