//! Whole runs of `quarterturn turned`.

use insta::assert_snapshot;

use crate::machine::{Machine, ONE_FOOT_HANGS, SURVEY};

/// What the card of the test's survey asks for, in quarter-turns by foot, to a millionth as in the file; nought for a
/// foot that is turned only in going round.
fn planned(machine: &Machine) -> Vec<(usize, f64)> {
    let plan = quarterturn::plan::plan(&machine.survey(), 0).expect("there is a plan");
    let mut sums = [0.0; 4];
    for line in &plan.lines {
        sums[line.foot] += line.quarter_turns;
    }
    sums.into_iter()
        .enumerate()
        .filter(|(foot, quarters)| {
            *quarters != 0.0 || plan.looks.iter().any(|look| look.foot == *foot)
        })
        .map(|(foot, quarters)| (foot, (quarters * 1e6_f64).round() / 1e6))
        .collect()
}

fn recorded(machine: &Machine, pass: usize) -> Vec<(usize, f64)> {
    let turned = machine.survey().passes[pass].turned.clone();
    turned.expect("turns are recorded").into_iter().collect()
}

#[test]
fn feet_and_their_turns() {
    let machine = Machine::with(SURVEY);
    let run = machine.run("turned bed.toml --sure F2 +3 r1 -1/2 R2 1.5 F1 0");
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert_snapshot!(run.printed);
    // The card turns F1, so that its nought is no foot left alone.
    let record = "\n[pass.turned]\nF1 = 0\nR1 = -0.5\nF2 = 3\nR2 = 1.5\n";
    assert_eq!(machine.text(), format!("{SURVEY}{record}"));
}

#[test]
fn what_was_planned() {
    let machine = Machine::with(SURVEY);
    let want = planned(&machine);
    let noughts = want.iter().filter(|(_, quarters)| *quarters == 0.0);
    assert_eq!((want.len(), noughts.count()), (3, 1));
    let run = machine.run("turned bed.toml as-planned");
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert_eq!(recorded(&machine, 0), want);
}

/// Of a foot that is only seated nought is written down; that nothing was done is something else.
#[test]
fn a_foot_that_was_only_seated() {
    for (words, want) in [("as-planned", vec![(3, 0.0)]), ("nothing", vec![])] {
        let machine = Machine::with(ONE_FOOT_HANGS);
        let run = machine.run(&format!("turned bed.toml {words}"));
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        assert_eq!(recorded(&machine, 0), want, "{words}");
    }
}

#[test]
fn options_stand_anywhere() {
    for arguments in [
        "--sure bed.toml R1 -1/2",
        "bed.toml --sure R1 -1/2",
        "bed.toml R1 -45° --sure",
        "bed.toml R1 -0.5 --sure --pass 1",
    ] {
        let machine = Machine::with(SURVEY);
        let run = machine.run(&format!("turned {arguments}"));
        assert_eq!(run.status, 0, "{run:?}");
        assert_eq!(recorded(&machine, 0), [(1, -0.5)]);
    }
}

#[test]
fn nothing() {
    let machine = Machine::with(SURVEY);
    let run = machine.run("turned bed.toml nothing --sure");
    assert_eq!(run.status, 0, "{run:?}");
    assert_eq!(machine.text(), format!("{SURVEY}\n[pass.turned]\n"));
}

#[test]
fn once_in_a_round() {
    let machine = Machine::with(SURVEY);
    assert_eq!(machine.run("turned bed.toml --sure F1 -2.5").status, 0);
    let before = machine.text();
    let run = machine.run("turned bed.toml --sure F1 -2");
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained.contains("recorded already: F1 -2 1/2"),
        "{run:?}"
    );
    assert_eq!(machine.text(), before);
    let run = machine.run("turned bed.toml --sure --again F1 -2 R1 +1");
    assert_eq!(run.status, 0, "{run:?}");
    let after = before.replace("F1 = -2.5\n", "F1 = -2\nR1 = 1\n");
    assert_eq!(machine.text(), after);
}

#[test]
fn a_slip_of_the_sign_is_not_recorded() {
    let machine = Machine::with(SURVEY);
    let swapped: Vec<String> = planned(&machine)
        .iter()
        .map(|(foot, quarters)| format!("{} {}", ["F1", "R1", "F2", "R2"][*foot], -quarters))
        .collect();
    let swapped = swapped.join(" ");
    let run = machine.run(&format!("turned bed.toml {swapped}"));
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("far from the plan"), "{run:?}");
    assert_eq!(machine.text(), SURVEY);
    assert_eq!(
        machine
            .run(&format!("turned bed.toml {swapped} --sure"))
            .status,
        0
    );
}

#[test]
fn foot_by_foot_through_a_pipe() {
    let machine = Machine::with(SURVEY);
    let want = planned(&machine);
    // An empty line is what Enter is at the machine: as planned.
    let run = machine.program("turned bed.toml").input("\n\n\n\n").run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert_eq!(recorded(&machine, 0), want);

    let machine = Machine::with(SURVEY);
    let run = machine.program("turned bed.toml").input("\n\n").run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("answers ended"), "{run:?}");
    assert_eq!(machine.text(), SURVEY);
}

#[test]
fn what_is_not_understood_is_not_recorded() {
    for (words, told) in [
        ("F9 +3", "no foot `F9`"),
        ("+3 F2", "no foot `+3`"),
        ("F2", "how far was `F2` turned?"),
        ("F2 up", "`up` is not a number"),
        ("F2 4000", "`4000` is not a number"),
        ("F2 nan", "`nan` is not a number"),
        ("F2 1 f2 2", "named twice"),
        ("as-planned F2 1", "no foot `as-planned`"),
    ] {
        let machine = Machine::with(SURVEY);
        let run = machine.run(&format!("turned bed.toml --sure {words}"));
        assert_eq!((run.status, run.printed.as_str()), (2, ""), "{words}");
        assert!(run.complained.contains(told), "{words}: {run:?}");
        assert_eq!(machine.text(), SURVEY);
    }
}

#[test]
fn turns_belong_to_the_last_pass_that_was_read() {
    let planned = format!("{SURVEY}\n[[pass]]\nstations = [200, 400]\n");
    let machine = Machine::with(&planned);
    assert_eq!(machine.run("turned bed.toml --sure F1 1").status, 0);
    assert_eq!(recorded(&machine, 0), [(0, 1.0)]);
    let machine = Machine::with(&SURVEY[..SURVEY.find("cross =").unwrap()]);
    let run = machine.run("turned bed.toml F1 1");
    assert_eq!(run.status, 1);
    assert!(
        run.complained.contains("pass 1 holds no readings"),
        "{run:?}"
    );
}

#[test]
fn a_pipe_cannot_be_written_into() {
    let machine = Machine::empty();
    let run = machine.program("turned - F1 1").input(SURVEY).run();
    assert_eq!((run.status, run.printed.as_str()), (2, ""));
    assert!(run.complained.contains("needs a file"), "{run:?}");
}
