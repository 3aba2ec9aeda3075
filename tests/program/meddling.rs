//! A survey that somebody changes in an editor while it is in hand, files that are not what they seem, and words that steer a
//! terminal.

use std::fs::{self, File};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::fs::symlink;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::thread;
use std::time::Duration;

use crate::machine::{Machine, SURVEY};

/// What an editor adds at the end of the survey.
const ADDED: &str =
    "\n[[pass]]\nlevel = \"master\"\nstations = [300, 1100]\ncross = [\"2F\", \"1F\"]\n";

const TAKEN: &str = "--taken 2026-03-03T09:40:00";

/// An entry that waits for the next line.
struct Waiting {
    child: Child,
    typed: ChildStdin,
}

impl Waiting {
    /// Started, and past its first words.
    fn of(machine: &Machine, arguments: &str) -> Self {
        let mut child = machine
            .program(arguments)
            .into_command()
            .stdin(Stdio::piped())
            .spawn()
            .unwrap();
        let typed = child.stdin.take().unwrap();
        let mut said = String::new();
        let mut printed = BufReader::new(child.stdout.take().unwrap());
        printed.read_line(&mut said).unwrap();
        assert!(!said.is_empty());
        // What it prints later must find somebody who listens.
        thread::spawn(move || printed.lines().count());
        Self { child, typed }
    }

    /// Types a line and waits until the file says so.
    fn types(&mut self, line: &str, machine: &Machine, words: &str) {
        writeln!(self.typed, "{line}").unwrap();
        for _ in 0..1000 {
            if machine.text().contains(words) {
                return;
            }
            thread::sleep(Duration::from_millis(20));
        }
        panic!("{line} is not saved:\n{}", machine.text());
    }

    /// Types the last lines; gives the exit status and what was complained about.
    fn ends(mut self, lines: &str) -> (Option<i32>, String) {
        let _ = self.typed.write_all(lines.as_bytes());
        drop(self.typed);
        let output = self.child.wait_with_output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        (output.status.code(), said)
    }
}

/// Saves as editors do: into the file, or a new file under its name.
fn edit(machine: &Machine, text: &str, renamed: bool) {
    if renamed {
        let other = machine.folder().join("editor.tmp");
        fs::write(&other, text).unwrap();
        fs::rename(other, machine.file()).unwrap();
    } else {
        fs::write(machine.file(), text).unwrap();
    }
}

#[test]
fn a_pass_that_an_editor_adds_is_not_typed_over() {
    for renamed in [false, true] {
        let machine = Machine::with(SURVEY);
        let entry = Waiting::of(&machine, &format!("readings bed.toml {TAKEN}"));
        let edited = format!("{SURVEY}{ADDED}");
        edit(&machine, &edited, renamed);
        let (status, said) = entry.ends("4f\n3F\n");
        assert_eq!(status, Some(1), "{said}");
        assert!(said.contains("changed meanwhile"), "{said}");
        assert!(said.contains("+ cross = [\"2F\", \"1F\"]"), "{said}");
        assert_eq!(machine.text(), edited);
    }
}

#[test]
fn what_is_edited_elsewhere_and_what_is_typed_are_both_kept() {
    for renamed in [false, true] {
        let machine = Machine::with(SURVEY);
        let mut entry = Waiting::of(&machine, &format!("readings bed.toml {TAKEN}"));
        entry.types("4f", &machine, "\"4F\", \"\"");
        let edited = machine.text().replace("# the casting", "# 1400, taped") + ADDED;
        edit(&machine, &edited, renamed);
        // The comment and the new pass lie on both sides of the reading, so that is one change around it.
        let (status, said) = entry.ends("3F\n");
        assert_eq!(
            (status, machine.text() == edited),
            (Some(1), true),
            "{said}"
        );
        for change in [
            |text: &str| text.replace("# the casting", "# 1400, taped"),
            |text: &str| text.to_owned() + ADDED,
        ] {
            let machine = Machine::with(SURVEY);
            let mut entry = Waiting::of(&machine, &format!("readings bed.toml {TAKEN}"));
            entry.types("4f", &machine, "\"4F\", \"\"");
            let edited = change(&machine.text());
            edit(&machine, &edited, renamed);
            entry.types("3F", &machine, "\"4F\", \"3F\", \"\"");
            let (status, said) = entry.ends("stop\n");
            assert_eq!(status, Some(0), "{said}");
            let want = edited.replace("\"4F\", \"\"", "\"4F\", \"3F\"");
            assert_eq!(machine.text(), want);
        }
    }
}

#[test]
fn a_pass_that_moved_is_not_written_to() {
    let machine = Machine::with(SURVEY);
    let mut entry = Waiting::of(&machine, &format!("readings bed.toml {TAKEN}"));
    entry.types("4f", &machine, "\"4F\", \"\"");
    let text = machine.text();
    let place = text.rfind("\n[[pass]]").unwrap();
    let edited = format!("{}{ADDED}{}", &text[..place], &text[place..]);
    edit(&machine, &edited, false);
    let (status, said) = entry.ends("3F\n");
    assert_eq!(status, Some(1), "{said}");
    assert_eq!(machine.text(), edited);
}

#[test]
fn what_an_editor_records_as_turned_is_not_written_over() {
    let machine = Machine::with(SURVEY);
    let typed = machine
        .program("turned bed.toml")
        .into_command()
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    let mut child = typed;
    // It waits for the first foot once it has the file in hand.
    while File::open(machine.file()).unwrap().try_lock().is_ok() {
        thread::sleep(Duration::from_millis(20));
    }
    thread::sleep(Duration::from_millis(1500));
    let edited = format!("{SURVEY}\n[pass.turned]\nR2 = 5\n");
    edit(&machine, &edited, false);
    let mut input = child.stdin.take().unwrap();
    let _ = input.write_all("0\n0\n0\n0\n0\n0\n0\n0\n".as_bytes());
    drop(input);
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(machine.text(), edited);
}

#[test]
fn an_output_is_never_the_survey() {
    let machine = Machine::with(SURVEY);
    symlink("bed.toml", machine.folder().join("link.toml")).unwrap();
    fs::hard_link(machine.file(), machine.folder().join("twin.toml")).unwrap();
    for (read, written) in [
        ("bed.toml", "bed.toml"),
        ("bed.toml", "./bed.toml"),
        ("bed.toml", "link.toml"),
        ("link.toml", "bed.toml"),
        ("bed.toml", "twin.toml"),
    ] {
        let run = machine.run(&format!(
            "sheet {read} --kind readings -o {written} --force"
        ));
        assert_eq!(run.status, 2, "{read} {written} {run:?}");
        assert!(run.complained.contains("is the survey itself"), "{run:?}");
        assert_eq!(machine.text(), SURVEY);
    }
    let piped = Command::new(env!("CARGO_BIN_EXE_quarterturn"))
        .args([
            "sheet", "-", "--kind", "readings", "-o", "bed.toml", "--force",
        ])
        .current_dir(machine.folder())
        .stdin(File::open(machine.file()).unwrap())
        .output()
        .unwrap();
    assert_eq!(piped.status.code(), Some(2), "{piped:?}");
    assert_eq!(machine.text(), SURVEY);
}

#[test]
fn what_a_killed_sheet_left_is_cleared() {
    let machine = Machine::with(SURVEY);
    let left = machine.folder().join(".quarterturn-a1b2c3");
    fs::write(&left, "half a page").unwrap();
    let other = machine.folder().join(".quarterturn-d4e5f6");
    fs::write(&other, "still written").unwrap();
    let held = File::open(&other).unwrap();
    held.try_lock().unwrap();
    assert_eq!(
        machine
            .run("sheet bed.toml --kind readings -o page.html")
            .status,
        0
    );
    assert_eq!(
        machine.files(),
        [".quarterturn-d4e5f6", "bed.toml", "page.html"]
    );
}

#[test]
fn a_hard_link_is_not_cut_in_silence() {
    let machine = Machine::with(SURVEY);
    fs::hard_link(machine.file(), machine.folder().join("twin.toml")).unwrap();
    let run = machine.run("turned bed.toml --sure F1 -2");
    assert_eq!(run.status, 0);
    assert!(run.complained.contains("hard link"), "{run:?}");
}

#[test]
fn a_pipe_with_a_name_is_no_survey_to_write_to() {
    let machine = Machine::empty();
    let made = Command::new("mkfifo").arg(machine.file()).status().unwrap();
    assert!(made.success());
    let mut child = machine
        .program("turned bed.toml F1 +1")
        .into_command()
        .spawn()
        .unwrap();
    for _ in 0..500 {
        if child.try_wait().unwrap().is_some() {
            break;
        }
        thread::sleep(Duration::from_millis(20));
    }
    let ended = child.try_wait().unwrap();
    let _ = child.kill();
    assert_eq!(ended.and_then(|status| status.code()), Some(1));
}

#[test]
fn help_that_cannot_be_printed_is_a_failure() {
    for arguments in [&["--help"][..], &["shape", "--help"], &["--version"]] {
        let status = Command::new(env!("CARGO_BIN_EXE_quarterturn"))
            .args(arguments)
            .stdout(File::create("/dev/full").unwrap())
            .stderr(Stdio::null())
            .status()
            .unwrap();
        assert_eq!(status.code(), Some(1), "{arguments:?}");
    }
}

/// One of each kind: C1, a turn of the direction of writing, no width, a tag.
const HIDDEN: [char; 5] = ['\u{9b}', '\u{202e}', '\u{200b}', '\u{2066}', '\u{e0041}'];

#[test]
fn what_steers_a_terminal_is_shown_and_does_not_steer() {
    for hidden in HIDDEN {
        let named = |name: &str, note: &str| {
            SURVEY.replace("[bed]", &format!("[machine]\nname = \"{name}\"\n\n[bed]"))
                + &format!("note = \"{note}\"\n")
        };
        let words = format!("night{hidden}shift");
        for (text, arguments) in [
            (named(&words, "door shut"), "shape bed.toml"),
            (named("lathe", &words), "turns bed.toml"),
            (
                named("lathe", &words),
                "sheet bed.toml --kind readings -o -",
            ),
            (named("lathe", &words), "shape bed.toml --json"),
            (format!("{SURVEY}\"{words}\" = 1\n"), "shape bed.toml"),
            (format!("{SURVEY}note = 3 # {words}\n"), "shape bed.toml"),
            (format!("{SURVEY}note = {words}\n"), "shape bed.toml"),
        ] {
            let run = Machine::with(&text).run(arguments);
            let all = run.printed + &run.complained;
            assert!(!all.contains(hidden), "{hidden:?} {arguments}\n{all}");
            assert!(!all.is_empty());
        }
    }
}

#[test]
fn a_note_without_end_is_not_printed_in_full() {
    let text = format!("{SURVEY}note = \"{}\"\n", "word ".repeat(2_000_000));
    let machine = Machine::with(&text);
    for arguments in ["shape bed.toml", "sheet bed.toml --kind readings -o -"] {
        let run = machine.run(arguments);
        assert_eq!(run.status, 0);
        assert!(run.printed.len() < 200_000, "{}", run.printed.len());
    }
    let broken = text.replace("way_spacing = 300", "way_spacing = -300");
    let run = Machine::with(&broken).run("shape bed.toml");
    assert_eq!(run.status, 1);
    assert!(run.complained.len() < 20_000, "{}", run.complained.len());
}

#[test]
fn a_bar_of_no_thickness_is_a_mistake() {
    let text = format!(
        "{SURVEY}\n[[cut]]\ncollars = [{{ from_chuck = 30, diameter = 1e-308 }}, {{ from_chuck = 280, diameter = 60 }}]\n"
    );
    let run = Machine::with(&text).run("cut bed.toml");
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained.contains("`diameter` is shorter than 1 mm"),
        "{run:?}"
    );
}
