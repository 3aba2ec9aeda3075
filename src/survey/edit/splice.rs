//! Bytes put in the place of others.

use std::ops::Range;

/// Some bytes of a text and what comes in their place.
pub(super) struct Splice {
    pub range: Range<usize>,
    pub with: String,
}

impl Splice {
    /// Something new before the byte at `at`.
    pub fn insert(at: usize, with: String) -> Self {
        Self {
            range: at..at,
            with,
        }
    }
}

/// The text with all splices made; they are given in the order of the text and do not overlap.
pub(super) fn spliced(text: &str, offset: usize, splices: &[Splice]) -> String {
    let mut changed = String::with_capacity(text.len());
    let mut done = 0;
    for splice in splices {
        let (start, end) = (splice.range.start + offset, splice.range.end + offset);
        changed.push_str(&text[done..start]);
        changed.push_str(&splice.with);
        done = end;
    }
    changed.push_str(&text[done..]);
    changed
}

/// How this text ends its lines; the first one tells.
pub(super) fn line_end(text: &str) -> &'static str {
    match text.find('\n') {
        Some(at) if text[..at].ends_with('\r') => "\r\n",
        _ => "\n",
    }
}

/// Where the line that holds the byte at `at` begins.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |newline| newline + 1)
}

/// Where the next line begins after the byte at `at`.
pub(super) fn next_line(text: &str, at: usize) -> usize {
    text[at..]
        .find('\n')
        .map_or(text.len(), |newline| at + newline + 1)
}

/// Where lines go that belong under the byte at `at`: below its line and below comments that stand close under
/// it, unless these stand as close above something else.
pub(super) fn under(text: &str, at: usize) -> usize {
    let below = next_line(text, at);
    let mut after_comments = below;
    while text[after_comments..next_line(text, after_comments)]
        .trim_start()
        .starts_with('#')
    {
        after_comments = next_line(text, after_comments);
    }
    if before_gap(text, after_comments) {
        after_comments
    } else {
        below
    }
}

/// Lines to put in at `at`, which is the start of a line or the end of the text.
pub(super) fn insert_lines(text: &str, at: usize, lines: &[String]) -> Splice {
    let end = line_end(text);
    let mut with = String::new();
    if at > 0 && !text[..at].ends_with('\n') {
        with.push_str(end);
    }
    for line in lines {
        with.push_str(line);
        with.push_str(end);
    }
    Splice::insert(at, with)
}

/// Whether an empty line, or nothing at all, stands before `at`.
pub(super) fn after_gap(text: &str, at: usize) -> bool {
    let before = &text[..at];
    let Some(before) = before.strip_suffix('\n') else {
        return before.is_empty();
    };
    before[line_start(before, before.len())..].trim().is_empty()
}

/// Whether an empty line, or nothing at all, stands after `at`.
pub(super) fn before_gap(text: &str, at: usize) -> bool {
    text[at..next_line(text, at)].trim().is_empty()
}
