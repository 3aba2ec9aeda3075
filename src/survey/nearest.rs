//! The known word that a mistyped one most likely stands for.

/// Words longer than this are no slip of the hand, and comparing them would only cost time.
const LONGEST_WORD: usize = 40;

/// The known word nearest to `word`, if one is near enough to be meant.
///
/// Upper and lower case count as the same. Near enough is one slip for every three letters: a letter
/// missing, added, changed, or swapped with its neighbour. Of several equally near the first wins.
pub(super) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters: Vec<char> = word.to_lowercase().chars().collect();
    if letters.is_empty() || letters.len() > LONGEST_WORD {
        return None;
    }
    let allowed = match letters.len() {
        // `R9` is as near to every other foot: only upper and lower case may differ.
        1 | 2 => 0,
        length => (length / 3).max(1),
    };
    known
        .into_iter()
        .filter(|candidate| candidate.len() <= LONGEST_WORD)
        .map(|candidate| {
            let other: Vec<char> = candidate.to_lowercase().chars().collect();
            (slips(&letters, &other), candidate)
        })
        .filter(|&(slips, _)| slips <= allowed)
        .min_by_key(|&(slips, _)| slips)
        .map(|(_, candidate)| candidate)
}

/// Fewest slips between two words (edit distance with swaps of neighbours, each letter used once).
fn slips(one: &[char], other: &[char]) -> usize {
    let mut before_last = vec![0; other.len() + 1];
    let mut last: Vec<usize> = (0..=other.len()).collect();
    for i in 1..=one.len() {
        let mut row = vec![i; other.len() + 1];
        for j in 1..=other.len() {
            let changed = usize::from(one[i - 1] != other[j - 1]);
            row[j] = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + changed);
            if i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1] {
                row[j] = row[j].min(before_last[j - 2] + 1);
            }
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[other.len()]
}

#[cfg(test)]
mod tests {
    use super::{nearest, slips};

    fn distance(one: &str, other: &str) -> usize {
        let letters = |word: &str| word.chars().collect::<Vec<_>>();
        slips(&letters(one), &letters(other))
    }

    #[test]
    fn slips_are_counted_once_each() {
        // Source: the usual textbook pair for edit distance (from memory).
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("bed", "bde"), 1);
        assert_eq!(distance("", "bed"), 3);
        assert_eq!(distance("bed", ""), 3);
    }

    #[test]
    fn a_near_word_is_found_and_a_far_one_is_not() {
        let known = ["length", "way_spacing", "held_down"];
        assert_eq!(nearest("lenght", known), Some("length"));
        assert_eq!(nearest("way-spacing", known), Some("way_spacing"));
        assert_eq!(nearest("HELD_DOWN", known), Some("held_down"));
        assert_eq!(nearest("colour", known), None);
        assert_eq!(nearest("", known), None);
    }

    #[test]
    fn a_short_name_is_not_mended_into_another() {
        assert_eq!(nearest("X", ["A", "B"]), None);
        assert_eq!(nearest("R9", ["R1", "R2"]), None);
        assert_eq!(nearest("r2", ["R1", "R2"]), Some("R2"));
    }
}
