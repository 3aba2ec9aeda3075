//! `quarterturn sheet`: where it writes, and what it refuses.

use std::path::Path;

use crate::program::{Program, Run};

const LATHE: &str = "demo-data/eight-foot-lathe.toml";

fn write_to(file: &Path, options: &str) -> Run {
    Program::with(&format!(
        "sheet {LATHE} --kind card -o {} {options}",
        file.display()
    ))
    .run()
}

#[test]
fn a_page_goes_where_it_is_sent() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("card.html");
    let run = write_to(&file, "");
    assert_eq!(
        (run.status, run.printed.as_str(), run.complained.as_str()),
        (0, "", "")
    );
    let written = std::fs::read_to_string(&file).expect("the page is there");
    let printed = Program::with(&format!("sheet {LATHE} --kind card -o -")).prints();
    assert_eq!(written, printed);
    assert_eq!(
        printed,
        Program::with(&format!("sheet {LATHE} --kind card")).prints()
    );
}

#[test]
fn a_file_that_is_there_stays_unless_forced() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("card.html");
    std::fs::write(&file, "mine").expect("a file");
    let run = write_to(&file, "");
    assert_eq!(run.status, 2, "{run:?}");
    assert!(run.complained.contains("is there already"), "{run:?}");
    assert_eq!(std::fs::read_to_string(&file).expect("the file"), "mine");
    assert_eq!(write_to(&file, "--force").status, 0);
    assert!(
        std::fs::read_to_string(&file)
            .expect("the page")
            .starts_with("<!DOCTYPE html>")
    );
}

#[test]
fn a_folder_that_is_not_there_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = write_to(&folder.path().join("none").join("card.html"), "");
    assert_eq!((run.status, run.printed.as_str()), (1, ""), "{run:?}");
    assert!(run.complained.contains("cannot write"), "{run:?}");
}

#[test]
fn a_page_or_a_drawing_but_not_both() {
    for options in ["", "--kind card --svg bed", "--svg teapot"] {
        let run = Program::with(&format!("sheet {LATHE} {options}")).run();
        assert_eq!((run.status, run.printed.as_str()), (2, ""), "{options}");
    }
}

#[test]
fn a_drawing_of_what_is_not_known_is_refused() {
    for drawing in ["front", "rear", "rounds-twist", "rounds-crown"] {
        let run = Program::with(&format!("sheet demo-data/cross-only.toml --svg {drawing}")).run();
        assert_eq!((run.status, run.printed.as_str()), (1, ""), "{drawing}");
        assert!(run.complained.contains("do not show"), "{run:?}");
    }
}

#[test]
fn the_pass_before_comes_first() {
    let run = Program::with(&format!("sheet {LATHE} --kind record --pass 1 --from 2")).run();
    assert_eq!((run.status, run.printed.as_str()), (2, ""), "{run:?}");
    let record =
        |options: &str| Program::with(&format!("sheet {LATHE} --kind record {options}")).prints();
    assert!(record("").contains("Before: Pass 1 of 3"));
    assert!(record("--from 2").contains("Before: Pass 2 of 3"));
    assert!(!record("--pass 1").contains("Before: "));
}

#[test]
fn a_sheet_of_a_piped_survey_is_the_same() {
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(LATHE))
        .expect("the demo data is there");
    for kind in ["readings", "card", "record"] {
        let named = Program::with(&format!("sheet {LATHE} --kind {kind}")).prints();
        let piped = Program::with(&format!("sheet - --kind {kind}")).input(text.clone());
        assert_eq!(piped.prints(), named, "{kind}");
    }
}

/// What no line of a drawing can show stands in its description.
#[test]
fn drawings_tell_of_limits_that_hold_over_any_part() {
    let page = Program::with("sheet demo-data/as-left.toml --kind record -o -").prints();
    for told in [
        "A twist of 0.016 mm/m over the bed is chosen and taken off what is drawn.",
        "Over any metre 0.03 mm/m is allowed.",
        "Over any 500 mm 0.01 mm is allowed. Only convex is allowed.",
    ] {
        assert!(page.contains(told), "{told}");
    }
}
