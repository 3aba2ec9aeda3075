//! The known word that a mistyped one most likely stands for.

use strsim::osa_distance;

/// Words longer than this are no slip of the hand, and comparing them would only cost time.
const LONGEST_WORD: usize = 40;

/// The known word nearest to `word`, if one is near enough to be meant.
///
/// Upper and lower case count as the same. Near enough is one slip for every three letters: a letter
/// missing, added, changed, or swapped with its neighbour. Of several equally near the first wins.
pub(super) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    let letters = word.chars().count();
    if letters == 0 || letters > LONGEST_WORD {
        return None;
    }
    let allowed = match letters {
        // `R9` is as near to every other foot: only upper and lower case may differ.
        1 | 2 => 0,
        length => (length / 3).max(1),
    };
    known
        .into_iter()
        .filter(|candidate| candidate.len() <= LONGEST_WORD)
        .map(|candidate| {
            let slips = osa_distance(&word, &candidate.to_lowercase());
            (slips, candidate)
        })
        .filter(|&(slips, _)| slips <= allowed)
        .min_by_key(|&(slips, _)| slips)
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

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
