//! Laws of reading a survey: nothing that is typed makes it fall over, and what is printed can be read again.

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use proptest::prelude::*;
use quarterturn::survey::units::{LENGTH, MASS, SLOPE, Unit, short_number};
use quarterturn::survey::{
    self, Entry, Line, QUARTER_DIVISION, format_entry, format_reading, parse_reading,
};

/// Every survey of the corpus, good or broken.
static CORPUS: LazyLock<Vec<String>> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/surveys");
    let mut texts = Vec::new();
    for kind in ["good", "broken"] {
        let mut paths: Vec<_> = fs::read_dir(folder.join(kind))
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| {
                path.extension()
                    .is_some_and(|extension| extension == "toml")
            })
            .collect();
        paths.sort();
        texts.extend(paths.iter().map(|path| fs::read_to_string(path).unwrap()));
    }
    assert!(texts.len() > 40);
    texts
});

/// Reads and renders, whatever the text; what is reported lies in the text and in its order.
fn survives(text: &str) -> Result<(), TestCaseError> {
    let Err(mistakes) = survey::read(text) else {
        return Ok(());
    };
    prop_assert!(!mistakes.is_empty());
    prop_assert!(mistakes.is_sorted_by_key(|mistake| mistake.span.start));
    for mistake in &mistakes {
        prop_assert!(text.get(mistake.span.clone()).is_some(), "{mistake:?}");
        prop_assert!(!mistake.title.is_empty());
    }
    for colour in [false, true] {
        let rendered = survey::render(&mistakes, "any.toml", text, colour);
        prop_assert!(rendered.contains("any.toml"));
    }
    Ok(())
}

fn line() -> impl Strategy<Value = Line> {
    prop_oneof![Just(Line::Cross), Just(Line::Front), Just(Line::Rear)]
}

/// Divisions as they may come out of an average, with zero more often than by chance.
fn divisions() -> impl Strategy<Value = f64> {
    prop_oneof![
        1 => Just(0.0),
        4 => (-4000_i32..4000).prop_map(|quarters| f64::from(quarters) / 4.0),
        4 => -1000.0..1000.0_f64,
        1 => -1e-6..1e-6_f64,
    ]
}

fn entry() -> impl Strategy<Value = Entry> {
    prop_oneof![
        Just(Entry::Missing),
        prop::collection::vec(divisions(), 1..5).prop_map(Entry::Read),
        divisions()
            .prop_filter("an off-scale bound is not zero", |bound| *bound != 0.0)
            .prop_map(Entry::OffScale),
    ]
}

/// Pieces of which mistyped surveys are made.
fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        "[\\[\\]{}\"'=,.#>\\-+ \n\r\t0-9]{1,4}",
        "[a-zA-Zµ“–\u{feff}\u{0}]{1,3}",
        Just("[[pass]]\n".to_owned()),
        Just("stations = [150]\n".to_owned()),
        Just("nan".to_owned()),
        Just("1e999".to_owned()),
        Just("\"\"\"".to_owned()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_text_is_survived(text in any::<String>()) {
        survives(&text)?;
    }

    #[test]
    fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        survives(&String::from_utf8_lossy(&bytes))?;
    }

    #[test]
    fn any_mutated_survey_is_survived(
        which in any::<prop::sample::Index>(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0..12_usize, piece()), 1..6),
    ) {
        let mut text = which.get(&CORPUS).clone();
        for (place, removed, piece) in edits {
            let places: Vec<usize> = text
                .char_indices()
                .map(|(at, _)| at)
                .chain([text.len()])
                .collect();
            let first = place.index(places.len());
            let last = (first + removed).min(places.len() - 1);
            text.replace_range(places[first]..places[last], &piece);
        }
        survives(&text)?;
    }

    #[test]
    fn any_reading_is_survived(text in "[ >FRHTfrht0-9.,/+\\-a-zµ–]{0,12}", line in line()) {
        for range in [None, Some(10.0)] {
            if let Err(mistake) = parse_reading(&text, line, range) {
                prop_assert!(text.get(mistake.span.clone()).is_some(), "{mistake:?}");
            }
        }
    }

    #[test]
    fn a_printed_entry_reads_as_the_same_entry(line in line(), entry in entry()) {
        let text = format_entry(line, &entry);
        prop_assert!(!text.contains("-0"), "{text}");
        prop_assert_eq!(parse_reading(&text, line, None).unwrap(), entry);
    }

    #[test]
    fn a_rounded_reading_is_within_half_a_step(
        line in line(),
        divisions in divisions(),
        step in prop::sample::select(vec![QUARTER_DIVISION, 0.1, 0.2, 0.5, 1.0, 0.05]),
    ) {
        let text = format_reading(line, divisions, step);
        let Ok(Entry::Read(read)) = parse_reading(&text, line, None) else {
            return Err(TestCaseError::fail(text));
        };
        // Both roundings, to the step and to decimals, are within 1e-9.
        prop_assert!((read[0] - divisions).abs() <= step / 2.0 + 1e-9, "{text} for {divisions}");
        // Rounding again changes nothing.
        prop_assert_eq!(format_reading(line, read[0], step), text);
    }

    #[test]
    fn the_other_letter_is_the_other_sign(line in line(), divisions in 0.01..1000.0_f64) {
        let [positive, negative] = line.letters();
        for (letter, value) in [(positive, divisions), (negative, -divisions)] {
            let text = format!("{divisions}{letter}");
            prop_assert_eq!(parse_reading(&text, line, None), Ok(Entry::Read(vec![value])));
            let text = format!(" {divisions}  {} ", letter.to_ascii_lowercase());
            prop_assert_eq!(parse_reading(&text, line, None), Ok(Entry::Read(vec![value])));
        }
    }

    #[test]
    fn a_printed_quantity_reads_as_the_same_quantity(number in -1e6..1e6_f64) {
        for quantity in [LENGTH, SLOPE, MASS] {
            for unit in quantity.units {
                let value = unit.to_si(number);
                let text = format!("{} {}", number, unit.name());
                prop_assert_eq!(quantity.parse(&text, None), Ok(value));
                let bare: Option<Unit> = Some(*unit);
                prop_assert_eq!(quantity.parse(&number.to_string(), bare), Ok(value));
            }
        }
    }

    #[test]
    fn a_short_number_is_never_minus_nothing(number in -2.0..2.0_f64, decimals in 0..6_usize) {
        let text = short_number(number, decimals);
        prop_assert!(text != "-0" && !text.ends_with('.'), "{}", text);
        let error = (text.parse::<f64>().unwrap() - number).abs();
        prop_assert!(error <= 0.500_001 * 0.1_f64.powi(i32::try_from(decimals).unwrap()), "{}", text);
    }
}
