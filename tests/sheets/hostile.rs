//! Names and notes that would like to be more than that.

use crate::markup::Markup;
use crate::pages::{KINDS, demo, sheet};

/// Bytes that a name of 10,000 letters may add to a page: it is shown cut.
const ADDED: usize = 20_000;

/// The lathe with this for every name and note, written as a TOML string.
fn survey_with(words: &str) -> tempfile::NamedTempFile {
    let text = std::fs::read_to_string(demo("eight-foot-lathe")).expect("the demo data is there");
    let quoted: String = words
        .chars()
        .map(|letter| match letter {
            '"' => "\\\"".to_owned(),
            '\\' => "\\\\".to_owned(),
            letter if letter.is_control() => format!("\\u{:04X}", u32::from(letter)),
            letter => letter.to_string(),
        })
        .collect();
    let text: String = text
        .lines()
        .map(|line| match line.split_once(" = ") {
            Some((key @ ("name" | "note"), _)) => format!("{key} = \"{quoted}\"\n"),
            _ => format!("{line}\n"),
        })
        .collect();
    assert!(text.contains(&quoted), "the survey has a name");
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), text).expect("the file is written");
    file
}

#[test]
fn no_name_changes_a_page() {
    let plain = survey_with("Lathe");
    let structure = |file: &std::path::Path, options: &[&str]| {
        let page = sheet(file, options);
        Markup::of(&page).unwrap_or_else(|wrong| panic!("{wrong}"))
    };
    for name in [
        "<script>alert(1)</script>",
        "</title><script>alert(1)</script>",
        "\"'><img src=x onerror=alert(1)>",
        "&lt;b&gt; &amp; &",
        "--> ]]> <![CDATA[",
        "\u{202e}txt.exe\u{202c} \u{2067}שלום\u{2069}",
        "مخرطة טחנה",
        "\\u0022 \\",
    ] {
        let file = survey_with(name);
        for kind in KINDS {
            let options = ["--kind", kind];
            assert_eq!(
                structure(file.path(), &options),
                structure(plain.path(), &options),
                "{name:?} in {kind}"
            );
        }
        let options = ["--svg", "bed"];
        assert_eq!(
            structure(file.path(), &options),
            structure(plain.path(), &options),
            "{name:?} in a drawing"
        );
    }
}

#[test]
fn a_name_of_ten_thousand_letters_is_cut() {
    let plain = survey_with("Lathe");
    let long = survey_with(&"M".repeat(10_000));
    for kind in KINDS {
        let (plain, long) = (
            sheet(plain.path(), &["--kind", kind]),
            sheet(long.path(), &["--kind", kind]),
        );
        assert!(long.len() < plain.len() + ADDED, "{kind}: {}", long.len());
        assert!(long.contains("M…"), "{kind} shows that it is cut");
    }
}

#[test]
fn the_direction_of_writing_stays_with_the_name() {
    let file = survey_with("\u{202e}desrever");
    for kind in KINDS {
        let page = sheet(file.path(), &["--kind", kind]);
        assert!(page.contains("<bdi>\u{fffd}desrever</bdi>"), "{kind}");
        assert!(!page.contains('\u{202e}'), "{kind}");
    }
}
