//! What happens to the file when saving goes well, and when it does not.

use std::fs::{self, File, Permissions};
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};

use crate::machine::{Machine, SURVEY};

const RECORD: &str = "turned bed.toml --sure F1 -2";

#[test]
fn line_ends_and_byte_order_marks_stay() {
    let dos = SURVEY.replace('\n', "\r\n");
    for text in [
        SURVEY.to_owned(),
        format!("\u{feff}{SURVEY}"),
        dos.clone(),
        format!("\u{feff}{dos}"),
    ] {
        let machine = Machine::with(&text);
        let run = machine.run(RECORD);
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        let end = if text.contains('\r') { "\r\n" } else { "\n" };
        let record = "\n[pass.turned]\nF1 = -2\n".replace('\n', end);
        assert_eq!(machine.text(), format!("{text}{record}"));
        assert_eq!(machine.files(), ["bed.toml"]);
    }
}

#[test]
fn a_file_in_another_encoding_stays_in_it() {
    let mark = std::iter::once(0xfeff);
    let encoded = |text: &str, pair: fn(u16) -> [u8; 2]| -> Vec<u8> {
        let units = mark.clone().chain(text.encode_utf16());
        units.flat_map(pair).collect()
    };
    for pair in [u16::to_le_bytes, u16::to_be_bytes] {
        let machine = Machine::empty();
        fs::write(machine.file(), encoded(SURVEY, pair)).unwrap();
        let run = machine.run(RECORD);
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        let want = format!("{SURVEY}\n[pass.turned]\nF1 = -2\n");
        assert!(fs::read(machine.file()).unwrap() == encoded(&want, pair));
    }
}

#[test]
fn permissions_and_links_stay() {
    let machine = Machine::empty();
    let real = machine.folder().join("archive.toml");
    fs::write(&real, SURVEY).unwrap();
    fs::set_permissions(&real, Permissions::from_mode(0o640)).unwrap();
    symlink("archive.toml", machine.file()).unwrap();
    let run = machine.run(RECORD);
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert!(fs::symlink_metadata(machine.file()).unwrap().is_symlink());
    assert_eq!(fs::metadata(&real).unwrap().mode() & 0o7777, 0o640);
    assert!(machine.text().contains("F1 = -2"));
    assert_eq!(machine.files(), ["archive.toml", "bed.toml"]);
}

#[test]
fn a_read_only_file_is_left_alone() {
    let machine = Machine::with(SURVEY);
    fs::set_permissions(machine.file(), Permissions::from_mode(0o444)).unwrap();
    let run = machine.run(RECORD);
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("write-protected"), "{run:?}");
    assert_eq!(machine.text(), SURVEY);
    assert_eq!(fs::metadata(machine.file()).unwrap().mode() & 0o7777, 0o444);
}

#[test]
fn a_file_in_use_is_left_alone() {
    let machine = Machine::with(SURVEY);
    let other = File::open(machine.file()).unwrap();
    other.try_lock().unwrap();
    let run = machine.run(RECORD);
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained
            .contains("`bed.toml` is in use by another quarterturn"),
        "{run:?}"
    );
    assert_eq!(machine.text(), SURVEY);
    // Looking is allowed.
    assert_eq!(machine.run("shape bed.toml").status, 0);
    drop(other);
    assert_eq!(machine.run(RECORD).status, 0);
}

/// A disk that takes no byte more: the system refuses to let any file grow.
#[test]
fn a_full_disk_harms_nothing() {
    let machine = Machine::with(SURVEY);
    let run = machine.program(RECORD).without_room(true).run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("cannot save `bed.toml`"), "{run:?}");
    assert!(
        run.complained.contains("still says what it said"),
        "{run:?}"
    );
    assert_eq!(machine.text(), SURVEY);
    assert_eq!(machine.files(), ["bed.toml"], "nothing unfinished is left");
}

#[test]
fn a_program_killed_while_it_saves_harms_nothing() {
    let machine = Machine::with(SURVEY);
    // Here the system kills who wants to write more.
    let status = machine.program(RECORD).without_room(false).run_to_any_end();
    assert!(!status.success());
    assert_eq!(machine.text(), SURVEY);
    // What it left is cleared by the next one.
    assert_eq!(machine.files().len(), 2);
    assert_eq!(machine.run(RECORD).status, 0);
    assert_eq!(machine.files(), ["bed.toml"]);
}

#[test]
fn a_survey_with_mistakes_is_left_alone() {
    let broken = SURVEY.replace("way_spacing = 300", "way_spacing = -300");
    let machine = Machine::with(&broken);
    let run = machine.run(RECORD);
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("must be more than zero"), "{run:?}");
    assert_eq!(machine.text(), broken);
}

#[test]
fn a_pass_in_brackets_is_said_to_be_one() {
    let (head, _) = SURVEY.split_once("[bed]").unwrap();
    let inline = "pass = [{ stations = [200, 400], cross = [\"1F\", \"3F\"] }]\n\n[bed]";
    let (_, rest) = SURVEY.split_once("[bed]").unwrap();
    let text = format!("{head}{inline}{}", &rest[..rest.find("[[pass]]").unwrap()]);
    let machine = Machine::with(&text);
    let run = machine.run(RECORD);
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("header `[[pass]]`"), "{run:?}");
    assert_eq!(machine.text(), text);
}
