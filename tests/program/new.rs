//! Whole runs of `quarterturn new`.

use std::fs;

use insta::assert_snapshot;
use quarterturn::survey::{LimitClass, Line};

use crate::machine::Machine;
use crate::program::Program;
use crate::terminal::Terminal;

const ALL_IT_NEEDS: [&str; 13] = [
    "new",
    "bed.toml",
    "--length=2900",
    "--way-spacing=380",
    "--feet-at=120,980,1840,2700",
    "--lift-per-turn=1.5",
    "--division=0.02 mm/m",
    "--base=200",
    "--range=10",
    "--held-down=no",
    "--name=Centre lathe, pattern loft",
    "--crown=-0.01,0.02",
    "--mass=3100 kg",
];

#[test]
fn from_options() {
    let machine = Machine::empty();
    let run = machine.program_of(&ALL_IT_NEEDS).run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert_snapshot!("from_options_told", run.printed);
    assert_snapshot!("from_options_written", machine.text());
    assert_eq!(machine.files(), ["bed.toml"]);
    let survey = machine.survey();
    assert_eq!(survey.feet.len(), 8);
    assert_eq!(survey.limits.crown, Some([-1e-5, 2e-5]));
    // `shape` takes it, and says what is missing.
    let run = machine.run("shape bed.toml");
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained.contains("pass 1 holds no readings"),
        "{run:?}"
    );
    assert!(run.complained.contains("quarterturn readings"), "{run:?}");
}

#[test]
fn nothing_is_ever_overwritten() {
    let machine = Machine::with("mine");
    let run = machine.program_of(&ALL_IT_NEEDS).run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained.contains("there is a `bed.toml` already"),
        "{run:?}"
    );
    assert_eq!(machine.text(), "mine");
    // Nor is a link that leads nowhere followed.
    let machine = Machine::empty();
    std::os::unix::fs::symlink("elsewhere.toml", machine.file()).unwrap();
    assert_eq!(machine.program_of(&ALL_IT_NEEDS).run().status, 1);
    assert_eq!(machine.files(), ["bed.toml"]);
    assert!(fs::symlink_metadata(machine.file()).unwrap().is_symlink());
}

#[test]
fn a_full_disk_leaves_nothing() {
    let machine = Machine::empty();
    let run = machine.program_of(&ALL_IT_NEEDS).without_room(true).run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(run.complained.contains("cannot save `bed.toml`"), "{run:?}");
    assert_eq!(machine.files(), [""; 0]);
}

#[test]
fn options_that_cannot_be_are_shown_in_the_file() {
    let machine = Machine::empty();
    let mut arguments = ALL_IT_NEEDS;
    arguments[4] = "--feet-at=120,980,1840,27000";
    arguments[6] = "--division=0.02";
    let run = machine.program_of(&arguments).run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained.contains("27000 mm lies off the bed"),
        "{run:?}"
    );
    assert!(
        run.complained.contains("a slope carries its unit"),
        "{run:?}"
    );
    assert_eq!(machine.files(), [""; 0]);
}

/// Answers to all questions, in their order.
const ANSWERS: [&str; 20] = [
    "Lathe 2",
    "in",
    "114",
    "15",
    "27",
    "",
    "5, 38 5/8 in, 72, 106",
    "",
    "no",
    "1/13 in",
    "",
    "",
    "0.0005 in/ft",
    "8",
    "8",
    "", // no rougher level
    "",
    "",
    "",
    "",
];

#[test]
fn answers_through_a_pipe() {
    let machine = Machine::empty();
    let run = machine
        .program("new bed.toml")
        .input(ANSWERS.join("\n") + "\n")
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let text = machine.text();
    assert_snapshot!("answers_written", text);
    // The pass that the forecast proposes for a machine that was never read.
    let (never_read, _) = text.split_once("[[pass]]").expect("a pass");
    let forecast = Program::with("shape --forecast --json -").input(never_read);
    let forecast: serde_json::Value = serde_json::from_str(&forecast.prints()).expect("JSON");
    let stations = &forecast["next_pass"]["stations"];
    let lines = ["cross_at_mm", "front_at_mm", "rear_at_mm"];
    let proposed = lines.map(|line| stations[line].as_array().map_or(0, Vec::len));
    let planned = [Line::Cross, Line::Front, Line::Rear].map(|line| {
        let readings = &machine.survey().passes[0].readings;
        readings.iter().filter(|r| r.line == line).count()
    });
    assert_eq!(planned, proposed);
    assert!(planned[0] >= 4, "over every foot");
    // What is said as an option is not asked for.
    let machine = Machine::empty();
    let run = machine
        .program("new bed.toml --units in --name x --mass none")
        .input(ANSWERS[2..19].join("\n") + "\n")
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
}

#[test]
fn answers_that_end_too_early_write_nothing() {
    for count in [0, 1, 5, 10] {
        let machine = Machine::empty();
        let run = machine
            .program("new bed.toml")
            .input(ANSWERS[..count].join("\n") + if count == 0 { "" } else { "\n" })
            .run();
        assert_eq!((run.status, run.printed.as_str()), (2, ""), "{run:?}");
        assert!(run.complained.contains("was not said"), "{run:?}");
        assert_eq!(machine.files(), [""; 0]);
    }
}

#[test]
fn asked_at_the_terminal() {
    let machine = Machine::empty();
    let mut terminal = Terminal::start(&machine, "new bed.toml");
    for (question, answers) in [
        ("Name of the machine: ", &["Lathe 2"][..]),
        ("Unit, mm or in [mm]: ", &["cm", ""]),
        ("Length of the bed: ", &["", "2,9 m", "-5", "2900"]),
        ("Way spacing: ", &["380"]),
        ("Free ways from: ", &["3000", "640"]),
        ("Free ways to: ", &[""]),
        (
            "Places of the feet: ",
            &["120 980 1840 27000", "120 980 1840 2700"],
        ),
        ("Foot spacing: ", &[""]),
        ("Held down, yes or no: ", &["maybe", "no"]),
        ("Lift per turn: ", &["150", "1.5"]),
        ("Clockwise raises or lowers [raises]: ", &["rises", ""]),
        ("Smallest turn [1/72]: ", &[""]),
        ("One division of the level: ", &["0.02", "0.02 mm/m"]),
        ("Base of the level: ", &["200"]),
        ("Divisions to either side: ", &[""]),
        ("One division of a rougher level: ", &["0.1 mm/m"]),
        ("Base of the rougher level: ", &[""]),
        ("Divisions of the rougher level to either side: ", &["15"]),
        (
            "Limits: own, or class ordinary or precision [own]: ",
            &["coarse", ""],
        ),
        ("Twist allowed over the bed: ", &[""]),
        ("Crown allowed, lowest and highest: ", &["0.02", "0 0.02"]),
        ("Mass of the machine: ", &["none"]),
    ] {
        for answer in answers {
            terminal.sees(question);
            terminal.types(answer);
        }
    }
    terminal.sees("bed.toml is written.");
    assert_eq!(terminal.ends().0, 0);
    let survey = machine.survey();
    assert_eq!(survey.machine.name.as_deref(), Some("Lathe 2"));
    assert!((survey.bed.length - 2.9).abs() < 1e-12);
    assert!(!survey.bed.held_down());
    assert!((survey.feet[6].at - 2.7).abs() < 1e-12);
    assert_eq!(survey.limits.crown, Some([0.0, 2e-5]));
    assert_eq!(survey.levels["rough"].range, Some(15.0));
    assert_eq!(survey.levels["rough"].base, None);
}

/// A class takes two lengths and asks for no numbers.
#[test]
fn a_class_instead_of_numbers() {
    let asked = |limits: &[&str]| {
        let machine = Machine::empty();
        let answers = [&ANSWERS[..16], limits].concat();
        let run = machine
            .program("new bed.toml --mass none")
            .input(answers.join("\n") + "\n")
            .run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        machine.survey().limits
    };
    let limits = asked(&["ordinary", "60", "20"]);
    assert_eq!(limits.class, Some(LimitClass::Ordinary));
    assert!(limits.convex_only);
    // 60 in are 1524 mm: 0.02 mm to 1000 mm and 0.01 mm for the further metre that was begun.
    assert!((limits.crown.unwrap()[1] - 30e-6).abs() < 1e-12);
    // With neither length to hand it is own numbers after all.
    let limits = asked(&["precision", "none", "0.0005 in/ft", "0, 0.001"]);
    assert_eq!((limits.class, limits.convex_only), (None, false));
    assert_eq!(limits.crown, Some([0.0, 0.001 * 0.0254]));
}

#[test]
fn further_limits_as_options() {
    let machine = Machine::empty();
    let mut arguments = ALL_IT_NEEDS[..7].to_vec();
    arguments.extend([
        "--class=ordinary",
        "--distance-between-centres=2000",
        "--swing=600",
        "--twist-per-metre=0.02 mm/m",
        "--local=250,0.005",
    ]);
    let run = machine.program_of(&arguments).run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let limits = machine.survey().limits;
    assert_eq!(limits.class, Some(LimitClass::Ordinary));
    assert_eq!(limits.local.len(), 1);
    assert!((limits.local[0].over - 0.25).abs() < 1e-12);
    assert!((limits.twist_per_metre.unwrap() - 2e-5).abs() < 1e-12);
    // A class without its lengths is told, with what is missing.
    let machine = Machine::empty();
    let mut arguments = ALL_IT_NEEDS[..7].to_vec();
    arguments.push("--class=precision");
    let run = machine.program_of(&arguments).run();
    assert_eq!(run.status, 1);
    assert!(
        run.complained.contains("distance_between_centres"),
        "{run:?}"
    );
}

/// Nobody has a file yet whose lines could be looked up.
#[test]
fn a_mistake_in_an_option_names_the_option() {
    let machine = Machine::empty();
    for (wrong, named) in [
        (
            "--way-spacing 0.38 --feet-at 120,2700 --division 0.02",
            ["`--way-spacing`: ", "`--division`: "],
        ),
        (
            "--way-spacing 380 --feet-at 120,3980 --division 0.02",
            ["`--feet-at`: ", "`--division`: "],
        ),
    ] {
        let options = format!("--length 2900 --lift-per-turn 1.5 {wrong}");
        let run = machine.run(&format!("new bed.toml {options}"));
        assert_eq!((run.status, run.printed.as_str()), (1, ""));
        for option in named {
            assert!(run.complained.contains(option), "{option} {run:?}");
        }
        assert!(!run.complained.contains("bed.toml:"), "{run:?}");
        assert!(machine.files().is_empty());
    }
}

/// A wrong answer is mended by going back to it; what was answered between is kept and offered.
#[test]
fn back_to_the_question_before() {
    let machine = Machine::empty();
    let mut terminal = Terminal::start(&machine, "new bed.toml --units mm");
    for (question, answer) in [
        ("Name of the machine: ", "back"),
        ("this is the first question", ""), // Enter leaves the name out.
        ("Length of the bed: ", "290"),
        ("Way spacing: ", "38"),
        ("Free ways from: ", "back"),
        ("Way spacing [38]: ", "back"),
        ("Length of the bed [290]: ", "2900"),
        ("Way spacing [38]: ", "380"),
        ("Free ways from: ", "640"),
        ("Free ways to: ", ""),
        ("Places of the feet: ", "120 980 1840 2700"),
        ("Foot spacing: ", "back"),
        ("Places of the feet [120 980 1840 2700]: ", ""),
    ] {
        terminal.sees(question);
        terminal.types(answer);
    }
    // Ctrl-C: nothing is written, and what was answered is one command.
    terminal.sees("Foot spacing: ");
    terminal.keys("\u{3}");
    terminal.sees("goes on where you stopped:");
    let (status, shown) = terminal.ends();
    assert_eq!((status, machine.files().len()), (0, 0));
    let command = shown
        .lines()
        .rfind(|line| line.starts_with("quarterturn new"));
    assert_eq!(
        command,
        Some(
            "quarterturn new bed.toml --units mm --name=none --length=2900 --way-spacing=380 --ways-from=640 \
             --ways-to=none --feet-at='120 980 1840 2700'"
        )
    );
    // It asks for the rest only.
    let arguments = [
        "new",
        "bed.toml",
        "--units=mm",
        "--name=none",
        "--length=2900",
        "--way-spacing=380",
        "--ways-from=640",
        "--ways-to=none",
        "--feet-at=120 980 1840 2700",
    ];
    let run = machine
        .program_of(&arguments)
        .input("\nno\n1.5\n\n\n0.02 mm/m\n200\n10\n\n\n\n\n\n")
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert!((machine.survey().bed.length - 2.9).abs() < 1e-12);
}
