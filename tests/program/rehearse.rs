//! Whole rehearsals, as somebody types them who has only read `--help`.

use std::fs;

use crate::machine::{Machine, SURVEY};

/// A lathe of eight feet.
const NEW: [&str; 9] = [
    "new",
    "bed.toml",
    "--length=2900",
    "--way-spacing=380",
    "--feet-at=120,980,1840,2700",
    "--lift-per-turn=1.5",
    "--division=0.02 mm/m",
    "--base=200",
    "--range=10",
];

/// No rehearsal takes more rounds.
const MOST_ROUNDS: usize = 6;

/// A planer of eight feet.
const IN_INCHES: [&str; 11] = [
    "new",
    "bed.toml",
    "--units=in",
    "--length=114",
    "--way-spacing=15",
    "--feet-at=5,40,72,106",
    "--lift-per-turn=1/13 in",
    "--division=0.0005 in/ft",
    "--base=8",
    "--range=10",
    "--crown=-0.001,0.001",
];

fn machine_of(arguments: &[&str]) -> Machine {
    let machine = Machine::empty();
    machine.program_of(arguments).prints();
    machine
}

fn new_machine(more: &[&str]) -> Machine {
    let arguments: Vec<&str> = NEW.iter().chain(more).copied().collect();
    machine_of(&arguments)
}

/// Plays until the true bed is shown; gives that page.
fn play(machine: &Machine, begin: &str) -> String {
    let mut page = machine.program(begin).prints();
    for _ in 0..MOST_ROUNDS {
        if page.contains("The true bed beside what was believed") {
            return page;
        }
        let turns = machine.program("turns bed.toml").prints();
        let record = if turns.contains("Turn nothing") {
            "turned bed.toml nothing"
        } else {
            "turned bed.toml as-planned"
        };
        machine.program(record).prints();
        page = machine.program("rehearse bed.toml").prints();
    }
    panic!(
        "no end after {MOST_ROUNDS} rounds:\n{page}\n{}",
        machine.text()
    );
}

#[test]
fn from_new_to_inside_the_limits() {
    for (seed, machine) in [
        (1, new_machine(&[])),
        (7, new_machine(&[])),
        (11, new_machine(&[])),
        (2, new_machine(&["--held-down=no"])),
        (4, new_machine(&["--held-down=no", "--mass=3100 kg"])),
        (9, machine_of(&IN_INCHES)),
    ] {
        let page = play(&machine, &format!("rehearse bed.toml --seed {seed}"));
        assert!(
            page.contains("The true bed is inside its limits."),
            "seed {seed}:\n{page}"
        );
        // The file is one that anybody could have kept.
        let survey = machine.survey();
        assert!(survey.passes.len() >= 2);
        let note = format!("rehearsal with seed {seed}");
        assert!(
            survey
                .passes
                .iter()
                .all(|pass| pass.note.as_deref() == Some(note.as_str()))
        );
        // Asking again shows the same, and changes nothing.
        let text = machine.text();
        let again = machine.program("rehearse bed.toml").prints();
        let truth = |page: &str| page[page.find("The true bed beside").unwrap()..].to_owned();
        assert_eq!(truth(&again), truth(&page));
        assert_eq!(machine.text(), text);
    }
}

#[test]
fn the_same_seed_is_the_same_bed() {
    let one = new_machine(&[]);
    let other = new_machine(&[]);
    let page = play(&one, "rehearse bed.toml --seed 5");
    assert_eq!(play(&other, "rehearse bed.toml --seed 5"), page);
    assert_eq!(without_dates(&one.text()), without_dates(&other.text()));
}

fn without_dates(text: &str) -> Vec<&str> {
    text.lines()
        .filter(|line| !line.starts_with("taken = "))
        .collect()
}

#[test]
fn a_pass_waits_for_its_turns() {
    let machine = new_machine(&[]);
    machine.program("rehearse bed.toml --seed 7").prints();
    let text = machine.text();
    let page = machine.program("rehearse bed.toml").prints();
    assert!(page.contains("quarterturn turns bed.toml"), "{page}");
    assert!(!page.contains("is written"), "{page}");
    assert_eq!(machine.text(), text);
    let page = machine.program("rehearse bed.toml --truth").prints();
    assert!(page.contains("Nothing was turned so far."), "{page}");
    assert!(
        page.contains("The true bed is outside its limits."),
        "{page}"
    );
    assert_eq!(machine.text(), text);
}

#[test]
fn what_is_not_the_card_is_turned_by_count() {
    // A whole turn up and down again, and nothing between, end far apart.
    let shape = |turns: &str| {
        let machine = new_machine(&[]);
        machine.program("rehearse bed.toml --seed 7").prints();
        machine
            .program(&format!("turned bed.toml --sure {turns}"))
            .prints();
        machine.program("rehearse bed.toml").prints();
        machine.survey().passes[1].readings.clone()
    };
    let (still, turned) = (shape("nothing"), shape("R4 +1"));
    let differ = still
        .iter()
        .zip(&turned)
        .filter(|(still, turned)| still.entry != turned.entry);
    assert!(differ.count() > 5);
}

/// Some cards leave a foot by count and turn it a little in going round.
#[test]
fn a_foot_that_is_only_gone_round_is_recorded_and_turned() {
    let gone_round = (1..12).find_map(|seed| {
        let machine = new_machine(&[]);
        machine
            .program(&format!("rehearse bed.toml --seed {seed}"))
            .prints();
        machine.program("turned bed.toml as-planned").prints();
        let page = machine.program("rehearse bed.toml").prints();
        machine.text().contains(" = 0\n").then_some(page)
    });
    let page = gone_round.expect("one of these beds has such a card");
    assert!(page.contains("for 0°"), "{page}");
}

#[test]
fn slips_are_made_on_request_and_told_in_the_end() {
    let machine = new_machine(&[]);
    machine
        .program("rehearse bed.toml --seed 7 --slips")
        .prints();
    let note = machine.survey().passes[0].note.clone();
    assert_eq!(note.as_deref(), Some("rehearsal with seed 7 and slips"));
    let honest = new_machine(&[]);
    honest.program("rehearse bed.toml --seed 7").prints();
    let (slipped, honest) = (machine.survey(), honest.survey());
    let differ = slipped.passes[0]
        .readings
        .iter()
        .zip(&honest.passes[0].readings)
        .filter(|(one, other)| one.entry != other.entry)
        .count();
    assert!((1..=2).contains(&differ), "{differ} readings differ");
    let page = machine.program("rehearse bed.toml --truth").prints();
    assert!(page.contains("Slips\npass 1, "), "{page}");
    assert_eq!(page.matches("the level showed").count(), differ, "{page}");
    // The next pass has one too, without being asked again.
    machine.program("turned bed.toml as-planned").run();
    machine.program("rehearse bed.toml").run();
    let note = machine
        .survey()
        .passes
        .last()
        .and_then(|pass| pass.note.clone());
    assert_eq!(note.as_deref(), Some("rehearsal with seed 7 and slips"));
}

#[test]
fn a_real_machine_is_not_rehearsed_upon() {
    let machine = Machine::with(SURVEY);
    let run = machine.run("rehearse bed.toml --seed 7");
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained
            .contains("pass 1 holds readings of a real machine"),
        "{run:?}"
    );
    assert_eq!(machine.text(), SURVEY);
}

#[test]
fn one_file_holds_one_rehearsal() {
    let machine = new_machine(&[]);
    machine.program("rehearse bed.toml --seed 7").prints();
    let text = machine.text();
    let run = machine.run("rehearse bed.toml --seed 8");
    assert_eq!((run.status, run.printed.as_str()), (2, ""));
    assert!(run.complained.contains("made-up bed 7, not 8"), "{run:?}");
    assert_eq!(machine.text(), text);
    let mixed = text.clone() + &text[text.find("[[pass]]").unwrap()..].replace("seed 7", "seed 8");
    fs::write(machine.file(), &mixed).unwrap();
    let run = machine.run("rehearse bed.toml");
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained.contains("pass 2 is of made-up bed 8"),
        "{run:?}"
    );
}

#[test]
fn a_bed_that_cannot_stand_is_told() {
    let machine = machine_of(&[
        "new",
        "bed.toml",
        "--length=2900",
        "--way-spacing=380",
        "--feet-at=2000,2700",
        "--lift-per-turn=1.5",
        "--division=0.02 mm/m",
        "--held-down=no",
    ]);
    let text = machine.text();
    let run = machine.run("rehearse bed.toml --seed 1");
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("tip over"), "{run:?}");
    assert_eq!(machine.text(), text);
}
