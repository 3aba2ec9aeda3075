//! Two changes that were made to the same text apart from each other, both kept where they do not touch.

use std::ops::Range;

/// Longest difference that is shown, lines.
const MOST_SHOWN: usize = 6;

/// Which lines of a text a change replaced, and by which of the new text.
struct Hunk {
    old: Range<usize>,
    new: Range<usize>,
}

impl Hunk {
    /// From the first line that differs to the last one.
    fn between(old: &[&str], new: &[&str]) -> Self {
        let same = |pairs: &mut dyn Iterator<Item = (&&str, &&str)>| {
            pairs.take_while(|(one, other)| one == other).count()
        };
        let before = same(&mut old.iter().zip(new));
        let after = same(&mut old[before..].iter().rev().zip(new[before..].iter().rev()));
        Self {
            old: before..old.len() - after,
            new: before..new.len() - after,
        }
    }

    fn is_nothing(&self) -> bool {
        self.old.is_empty() && self.new.is_empty()
    }
}

fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive('\n').collect()
}

/// The text with the change that leads from `base` to `ours` and the one that leads from `base` to `theirs`; `None` where
/// both change the same lines, or add something at the same place.
///
/// ```
/// use quarterturn::survey::edit::merged;
///
/// assert_eq!(merged("a\nb\nc\n", "A\nb\nc\n", "a\nb\nC\n").as_deref(), Some("A\nb\nC\n"));
/// assert_eq!(merged("a\nb\n", "A\nb\n", "AA\nb\n"), None);
/// ```
pub fn merged(base: &str, ours: &str, theirs: &str) -> Option<String> {
    let (base, ours, theirs) = (lines(base), lines(ours), lines(theirs));
    let (us, them) = (Hunk::between(&base, &ours), Hunk::between(&base, &theirs));
    if them.is_nothing() {
        return Some(ours.concat());
    }
    if us.is_nothing() {
        return Some(theirs.concat());
    }
    // Both would stand in the place of nothing between the same two lines, and nobody knows which goes first.
    let same_gap = us.old.is_empty() && them.old.is_empty() && us.old == them.old;
    if same_gap || (us.old.start < them.old.end && them.old.start < us.old.end) {
        return None;
    }
    let ((first, first_new), (second, second_new)) = if us.old.end <= them.old.start {
        ((us, &ours), (them, &theirs))
    } else {
        ((them, &theirs), (us, &ours))
    };
    Some(
        [
            &base[..first.old.start],
            &first_new[first.new],
            &base[first.old.end..second.old.start],
            &second_new[second.new],
            &base[second.old.end..],
        ]
        .concat()
        .concat(),
    )
}

/// What changed from one text to another, line by line: what was there after `-`, what is there now after `+`.
pub fn difference(before: &str, now: &str) -> Vec<String> {
    let (before, now) = (lines(before), lines(now));
    let hunk = Hunk::between(&before, &now);
    let shown = |sign: char, lines: &[&str]| {
        let mut shown: Vec<String> = lines
            .iter()
            .take(MOST_SHOWN)
            .map(|line| format!("{sign} {}", line.trim_end()))
            .collect();
        if lines.len() > MOST_SHOWN {
            shown.push(format!("{sign} ..."));
        }
        shown
    };
    let mut all = shown('-', &before[hunk.old]);
    all.extend(shown('+', &now[hunk.new]));
    all
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{difference, merged};

    #[test]
    fn changes_apart_are_both_kept_and_changes_together_are_not() {
        let base = "a\nb\nc\nd\n";
        assert_eq!(
            merged(base, "a\nb\nc\nd\ne\n", "a\nB\nc\nd\n").as_deref(),
            Some("a\nB\nc\nd\ne\n")
        );
        assert_eq!(
            merged(base, "a\nB\nc\nd\n", "a\nb\nc\nd\ne\n").as_deref(),
            Some("a\nB\nc\nd\ne\n")
        );
        assert_eq!(merged(base, "a\nb\nc\nd\ne\n", "a\nb\nc\nd\nf\n"), None);
        assert_eq!(merged(base, "a\nc\nd\n", "a\nB\nc\nd\n"), None);
    }

    #[test]
    fn a_difference_is_shown_line_by_line() {
        assert_eq!(difference("a\nb\nc\n", "a\nB\nc\n"), ["- b", "+ B"]);
        assert_eq!(difference("a\n", "a\nb\n"), ["+ b"]);
    }

    proptest! {
        #[test]
        fn who_changes_alone_is_believed(base in "([ab]\n){0,6}", other in "([abc]\n){0,6}") {
            prop_assert_eq!(merged(&base, &other, &base), Some(other.clone()));
            prop_assert_eq!(merged(&base, &base, &other), Some(other));
        }

        #[test]
        fn it_does_not_matter_who_is_first(base in "([ab]\n){0,6}", one in "([abc]\n){0,6}", other in "([abc]\n){0,6}") {
            prop_assert_eq!(merged(&base, &one, &other), merged(&base, &other, &one));
        }
    }
}
