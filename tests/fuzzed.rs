//! Spoilt input by the thousand: surveys, typed readings and turns, changes to a file, words in JSON. Nothing may panic, and
//! what is accepted must come out as it went in.
//!
//! The corpus is every survey under `tests/surveys` and `demo-data`. A plain run is short and always the same;
//! `FUZZ_RUNS=100000 FUZZ_SEED=7 cargo test --release --test fuzzed` looks further.

use std::fs;
use std::path::Path;

use quarterturn::report::json;
use quarterturn::survey::edit::{self, merged};
use quarterturn::survey::units::{LENGTH, SLOPE, parse_part_of_turn, parse_turn};
use quarterturn::survey::{self, Entry, Line, format_entry, parse_reading};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Spoilt inputs of each kind in a plain run.
const RUNS: usize = 400;

/// Spliced in here and there: what TOML, people, editors and those who mean harm write.
const PIECES: [&str; 40] = [
    "[",
    "]",
    "[[pass]]",
    "[pass.turned]",
    "{",
    "}",
    "\"",
    "'",
    "\"\"\"",
    "=",
    ",",
    ".",
    "#",
    "\n",
    "\r",
    "\r\n",
    "\\",
    "\\u",
    "nan",
    "-inf",
    "1e308",
    "1e-308",
    "-0",
    "9999999999999999999999",
    "\u{feff}",
    "\u{0}",
    "\u{9b}",
    "\u{202e}",
    "\u{200b}",
    "\u{e0041}",
    "é",
    "½",
    "1,5F",
    ">10H",
    "1F 2F",
    "-",
    "true",
    "2026-02-30",
    "mm/m",
    "turned",
];

fn number(name: &str) -> Option<usize> {
    std::env::var(name).ok()?.parse().ok()
}

fn runs() -> usize {
    number("FUZZ_RUNS").unwrap_or(RUNS)
}

fn chance() -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(number("FUZZ_SEED").unwrap_or(1) as u64)
}

fn corpus() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for folder in ["tests/surveys/good", "tests/surveys/broken", "demo-data"] {
        for entry in fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path
                .extension()
                .is_some_and(|extension| extension == "toml")
            {
                files.push(path);
            }
        }
    }
    files.sort();
    assert!(files.len() > 100, "{}", files.len());
    files
        .iter()
        .map(|path| fs::read_to_string(path).unwrap())
        .collect()
}

/// A text with some of it taken out, doubled, moved or put in.
fn spoilt(text: &str, chance: &mut ChaCha8Rng) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    for _ in 0..chance.random_range(1..5) {
        let start = chance.random_range(0..=letters.len());
        let end = (start + chance.random_range(0..12)).min(letters.len());
        match chance.random_range(0..4) {
            0 => drop(letters.drain(start..end)),
            1 => {
                let again = letters[start..end].to_vec();
                letters.splice(start..start, again);
            }
            2 => letters[start..end].reverse(),
            _ => {
                let piece = PIECES[chance.random_range(0..PIECES.len())];
                letters.splice(start..end, piece.chars());
            }
        }
    }
    letters.into_iter().collect()
}

#[test]
fn the_reader_and_what_it_says() {
    let (corpus, mut chance) = (corpus(), chance());
    let mut accepted = 0;
    for _ in 0..runs() {
        let text = spoilt(&corpus[chance.random_range(0..corpus.len())], &mut chance);
        match survey::read(&text) {
            Ok(_) => accepted += 1,
            Err(mistakes) => {
                assert!(!mistakes.is_empty(), "{text}");
                let said = survey::render(&mistakes, "bed.toml", &text, false);
                assert_eq!(survey::visible(&said), said, "{text}");
            }
        }
        let bytes: Vec<u8> = text
            .bytes()
            .map(|byte| byte ^ u8::from(chance.random_ratio(1, 200)))
            .collect();
        if let Ok(text) = survey::decode(&bytes) {
            let _ = survey::read(&text);
        }
    }
    assert!(accepted > 0, "nothing spoilt was still a survey");
}

#[test]
fn typed_readings_and_turns() {
    let mut chance = chance();
    let typed = [
        "1.5F",
        "1.5F 1.25F",
        ">10H",
        "-",
        "0",
        "11 3/4",
        "5 1/4 R",
        "-1 1/2",
        "+10°",
        "1/24",
        "0.02 mm/m",
        "23 5/8 in",
    ];
    let mut read = 0;
    for _ in 0..10 * runs() {
        let text = spoilt(typed[chance.random_range(0..typed.len())], &mut chance);
        for line in [Line::Cross, Line::Front] {
            if let Ok(entry) = parse_reading(&text, line, Some(10.0)) {
                let again = parse_reading(&format_entry(line, &entry), line, Some(10.0));
                assert_eq!(again, Ok(entry), "{text}");
                read += 1;
            }
        }
        for number in [
            parse_turn(&text).map(|turn| turn.quarter_turns(1.0)),
            parse_part_of_turn(&text).ok(),
            LENGTH.parse(&text, None).ok(),
            SLOPE.parse(&text, None).ok(),
        ] {
            assert!(number.is_none_or(f64::is_finite), "{text}");
        }
    }
    assert!(read > 0, "nothing spoilt was still a reading");
}

#[test]
fn changes_to_a_file() {
    let (corpus, mut chance) = (corpus(), chance());
    let mut changed = 0;
    for _ in 0..runs() {
        let text = spoilt(&corpus[chance.random_range(0..corpus.len())], &mut chance);
        let before = survey::read(&text).ok();
        let pass = chance.random_range(0..3);
        let words = spoilt("door open", &mut chance);
        let entry = Entry::Read(vec![1.25]);
        let line = [Line::Cross, Line::Front, Line::Rear][chance.random_range(0..3)];
        for result in [
            edit::set_reading(
                &text,
                pass,
                (line, false),
                chance.random_range(0..4),
                Some(&entry),
            ),
            edit::set_note(&text, pass, &words),
            edit::set_turned(&text, pass, &[("F1", 1.5), (&words, -1.0)]),
            edit::set_felt(&text, pass, "hanging", &["F1"]),
        ] {
            let (Some(before), Ok(after)) = (&before, result) else {
                continue;
            };
            // The name of a foot may be unknown, the note may hold what cannot be printed; the rest stays.
            let Ok(after) = survey::read(&after) else {
                continue;
            };
            changed += 1;
            assert_eq!(
                (&before.bed, &before.feet),
                (&after.bed, &after.feet),
                "{text}"
            );
            assert_eq!(before.passes.len(), after.passes.len(), "{text}");
            for (index, (before, after)) in before.passes.iter().zip(&after.passes).enumerate() {
                assert!(index == pass || before == after, "{text}");
            }
        }
        let other = spoilt(&text, &mut chance);
        assert_eq!(merged(&text, &other, &text).as_deref(), Some(&*other));
    }
    assert!(changed > 0, "nothing could be changed");
}

#[test]
fn words_in_json() {
    let mut chance = chance();
    for _ in 0..runs() {
        let words = spoilt("Centre lathe, \"pattern\" loft", &mut chance);
        let printed = json::to_text(&words);
        assert_eq!(survey::visible(&printed), printed);
        let read: String = serde_json::from_str(&printed).unwrap();
        assert_eq!(read, words);
    }
}
