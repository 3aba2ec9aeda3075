//! Whole runs of `quarterturn readings`, through a pipe and at a terminal.

use std::fs;
use std::io::Write;
use std::process::Stdio;
use std::thread;
use std::time::Duration;

use quarterturn::survey::{Entry, Line, Reading, parse_reading};

use crate::machine::{Machine, SURVEY};
use crate::terminal::Terminal;

/// The first pass was taken a day before.
const TAKEN: &str = "--all --taken 2026-03-03T09:40:00";

/// What is typed in the usual order for the six stations of the test's survey.
const TYPED: [&str; 18] = [
    "4f",
    "3 F",
    "1.5F 1.25F",
    "0.5F",
    "0",
    "2R", // across from the headstock end
    "1T",
    "1t",
    "-",
    "1T",
    "1T",
    "1T", // back along the front
    "2.5T",
    "2.75T",
    "2.75T",
    "2T",
    "2.75T",
    ">10T", // along the rear
];

/// The pass that comes of it.
const BLOCK: &str = "
[[pass]]
taken = 2026-03-03T09:40:00
level = \"master\"
stations = [200, 400, 600, 800, 1000, 1200]
cross = [\"4F\", \"3F\", \"1.5F 1.25F\", \"0.5F\", \"0\", \"2R\"]
front = [\"1T\", \"1T\", \"1T\", \"-\", \"1T\", \"1T\"]
rear = [\"2.5T\", \"2.75T\", \"2.75T\", \"2T\", \"2.75T\", \">10T\"]
";

/// Nothing was turned, and that is recorded.
fn turned() -> String {
    format!("{SURVEY}\n[pass.turned]\n")
}

fn lines(typed: &[&str]) -> String {
    typed.join("\n") + "\n"
}

#[test]
fn a_pass_through_a_pipe() {
    for end in ["\n", "\r\n"] {
        for mark in ["", "\u{feff}"] {
            let text = mark.to_owned() + &turned().replace('\n', end);
            let machine = Machine::with(&text);
            let run = machine
                .program(&format!("readings bed.toml {TAKEN}"))
                .input(lines(&TYPED).replace('\n', end))
                .run();
            assert_eq!((run.status, run.complained.as_str()), (0, ""));
            assert_eq!(machine.text(), text + &BLOCK.replace('\n', end));
            assert_eq!(machine.files(), ["bed.toml"]);
        }
    }
}

#[test]
fn it_goes_on_where_it_was_stopped() {
    for stop in 1..TYPED.len() {
        let machine = Machine::with(&turned());
        let begin = lines(&TYPED[..stop]) + "stop\n";
        let run = machine
            .program(&format!("readings bed.toml {TAKEN}"))
            .input(begin)
            .run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        assert!(run.printed.contains("goes on exactly here"), "{run:?}");
        let run = machine
            .program("readings bed.toml")
            .input(lines(&TYPED[stop..]))
            .run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        assert_eq!(machine.text(), turned() + BLOCK, "stopped after {stop}");
    }
}

#[test]
fn another_way_round_is_found_again() {
    let order: Vec<&str> = TYPED[12..].iter().chain(&TYPED[6..12]).copied().collect();
    for stop in [1, 5, 6, 7, 11] {
        let machine = Machine::with(&turned());
        let run = machine
            .program(&format!(
                "readings bed.toml {TAKEN} --order rear,front-back"
            ))
            .input(lines(&order[..stop]))
            .run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        let run = machine
            .program("readings bed.toml")
            .input(lines(&order[stop..]))
            .run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        let want = "\
rear = [\"2.5T\", \"2.75T\", \"2.75T\", \"2T\", \"2.75T\", \">10T\"]
front = [\"1T\", \"1T\", \"1T\", \"-\", \"1T\", \"1T\"]
";
        assert!(machine.text().ends_with(want), "{}", machine.text());
    }
}

#[test]
fn back_skip_and_notes() {
    let machine = Machine::with(&turned());
    let typed = "\
3F
note door open
back
4F
3F
skip
0.5f
back
back
1.5F

note shut again
0
hanging r2
barely f1 r1
stop
9F
";
    let run = machine
        .program(&format!("readings bed.toml {TAKEN} --order cross"))
        .input(typed)
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let want = "\
cross = [\"4F\", \"3F\", \"1.5F\", \"0.5F\", \"0\", \"\"]
note = \"door open; shut again\"
hanging = [\"R2\"]
barely = [\"F1\", \"R1\"]
";
    assert!(machine.text().ends_with(want), "{}", machine.text());
}

#[test]
fn a_line_that_is_no_reading_stops_the_pipe() {
    for (line, told) in [
        ("1.5", "line 3: which side is high?"),
        ("1.5H", "line 3: "),
        ("11F", "line 3: the reading lies beyond the level's scale"),
        ("", "line 3: nothing was typed"),
    ] {
        let machine = Machine::with(&turned());
        let run = machine
            .program(&format!("readings bed.toml {TAKEN}"))
            .input(format!("4F\n3F\n{line}\n1F\n"))
            .run();
        assert_eq!(run.status, 1, "{run:?}");
        assert!(run.complained.contains(told), "{run:?}");
        let want = "cross = [\"4F\", \"3F\", \"\", \"\", \"\", \"\"]\n";
        assert!(machine.text().contains(want), "{}", machine.text());
    }
}

#[test]
fn more_lines_than_places_are_told() {
    let machine = Machine::with(&turned());
    let run = machine
        .program(&format!("readings bed.toml {TAKEN}"))
        .input(lines(&TYPED) + "\n\n1F\n")
        .run();
    assert_eq!(run.status, 1, "{run:?}");
    assert!(run.complained.contains("line 21 has no place"), "{run:?}");
    assert_eq!(machine.text(), turned() + BLOCK);
}

#[test]
fn nothing_typed_changes_nothing() {
    let machine = Machine::with(&turned());
    let run = machine.program("readings bed.toml").input("stop\n").run();
    assert_eq!(run.status, 0, "{run:?}");
    assert!(run.printed.contains("nothing was changed"), "{run:?}");
    assert_eq!(machine.text(), turned());
}

#[test]
fn a_planned_pass_is_filled() {
    let planned = SURVEY
        .replace("cross = ", "# cross = ")
        .replace("front = ", "# ")
        .replace("rear = ", "# ");
    let machine = Machine::with(&planned);
    let run = machine
        .program("readings bed.toml")
        .input(lines(&TYPED))
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let lists = &BLOCK[BLOCK.find("cross").unwrap()..];
    let text = machine.text();
    let written = text.strip_prefix(&planned).expect("kept as it was");
    // It is taken now, and says so.
    let (taken, rest) = written.split_once('\n').expect("lines");
    let taken = taken.strip_prefix("taken = ").expect("a date");
    assert!(taken.parse::<toml::value::Datetime>().is_ok(), "{taken}");
    assert_eq!(rest, lists);
    for option in ["--level master", "--stations 200", "--reversed"] {
        let machine = Machine::with(&planned);
        let run = machine
            .program(&format!("readings bed.toml {option}"))
            .input("1F\n")
            .run();
        assert_eq!(run.status, 2, "{run:?}");
        assert!(
            run.complained.contains("pass 1 is begun or planned"),
            "{run:?}"
        );
    }
}

/// What was read before the bed was turned and what is read after it are of two beds.
#[test]
fn a_pass_begun_before_something_was_turned_is_not_gone_on_with() {
    let half = SURVEY.replace("\"1.5F\", \"0.5F\"", "\"1.5F\", \"\"");
    let turned = format!("{half}[pass.turned]\nF1 = 1\n");
    for (text, begins) in [(&half, false), (&turned, true)] {
        let machine = Machine::with(text);
        let run = machine.program("readings bed.toml").input("1F\n").run();
        assert_eq!((run.status, run.complained.as_str()), (0, ""));
        assert_eq!(
            machine.text().matches("[[pass]]").count(),
            1 + usize::from(begins),
            "{run:?}"
        );
        let said = run
            .printed
            .replace('\n', " ")
            .contains("this is a new pass");
        assert_eq!(said, begins, "{}", run.printed);
    }
}

#[test]
fn the_first_pass_of_all_gets_good_stations() {
    let machine = Machine::with(&SURVEY[..SURVEY.find("[[pass]]").unwrap()]);
    let run = machine
        .program("readings bed.toml --all")
        .input("1F\n")
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let text = machine.text();
    assert!(
        text.contains("stations = [100, 300, 500, 700, 900, 1100, 1300]\n"),
        "{text}"
    );
    assert!(text.contains("cross_at = [150, 700, 1250]\n"), "{text}");
}

#[test]
fn stations_and_reversals_can_be_chosen() {
    let machine = Machine::with(&turned());
    let run = machine
        .program("readings bed.toml --taken 2026-03-03T09:40:00 --stations 200,0.6m --reversed --order cross")
        .input("1F\n2F\n3R\n4R\n")
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let want =
        "stations = [200, 600]\ncross = [\"1F\", \"3R\"]\ncross_reversed = [\"2F\", \"4R\"]\n";
    assert!(machine.text().ends_with(want), "{}", machine.text());
    for (stations, told) in [
        ("50", "off the bed"),
        ("2000", "off the bed"),
        ("x", "stations"),
        ("", "no place"),
    ] {
        let machine = Machine::with(&turned());
        let run = machine
            .program(&format!(
                "readings bed.toml --order front --stations=,{stations}"
            ))
            .input("1T\n")
            .run();
        assert_ne!(run.status, 0, "{run:?}");
        assert!(run.complained.contains(told), "{run:?}");
        assert_eq!(machine.text(), turned());
    }
}

#[test]
fn a_clock_that_is_behind_is_not_believed() {
    let late = SURVEY.replace("[[pass]]", "[[pass]]\ntaken = 2199-01-01T00:00:00");
    let machine = Machine::with(&late);
    let run = machine.program("readings bed.toml").input("4F\n").run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert_eq!(machine.survey().passes[1].taken, None);
}

#[test]
fn a_wrong_letter_is_told_at_the_end_of_the_pipe() {
    let machine = Machine::with(&turned());
    let run = machine
        .program(&format!("readings bed.toml {TAKEN}"))
        .input(lines(&TYPED).replace("4f", "4r"))
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let told = "cross 200 mm: 4R is far from the expected 4F; is it 4F?";
    assert!(run.printed.contains(told), "{run:?}");
    assert!(machine.text().contains("cross = [\"4R\","));
    // Nothing else in that pass is so far off, the bubble off the scale apart.
    assert_eq!(run.printed.matches("is far from").count(), 2, "{run:?}");
}

#[test]
fn at_the_terminal() {
    let machine = Machine::with(SURVEY);
    let mut terminal = Terminal::start(&machine, &format!("readings bed.toml {TAKEN}"));
    terminal.sees("Nothing is recorded as turned after pass 1");
    terminal.sees("order cross,front-back,rear");
    terminal.sees("Across both ways, from the headstock end");
    terminal.sees("1/18 cross 200 mm, last 4F, expect 4F: ");
    // A key too many, taken back.
    terminal.keys("4.g\u{7f}\u{7f}");
    terminal.types("f");
    terminal.sees("2/18 cross 400 mm, last 3F, expect 3F: ");
    terminal.types("3");
    terminal.sees("which side is high?");
    terminal.sees("2/18");
    terminal.types("help");
    terminal.sees("leave this place out");
    terminal.types("3f");
    terminal.sees("3/18 cross 600 mm, last 1.5F, expect ");
    // The line before, from the history, with another number.
    terminal.keys("\u{1b}[A\u{1b}[D\u{7f}1.75\r");
    terminal.sees("4/18 ");
    terminal.types("back");
    terminal.sees("3/18 cross 600 mm, last 1.5F, expect 1.75F, now 1.75F: ");
    terminal.types("");
    terminal.sees("4/18 cross 800 mm");
    // Another program on the same file.
    let other = machine.program("readings bed.toml").input("1F\n").run();
    assert_eq!((other.status, other.printed.as_str()), (1, ""));
    assert!(
        other.complained.contains("in use by another quarterturn"),
        "{other:?}"
    );
    terminal.types("note door open");
    terminal.sees("4/18 ");
    terminal.keys("\u{3}");
    let (status, shown) = terminal.ends();
    assert_eq!(status, 0);
    assert!(
        shown.contains("Pass 2: 3 readings of 18 in bed.toml."),
        "{shown}"
    );
    let want = "cross = [\"4F\", \"3F\", \"1.75F\", \"\", \"\", \"\"]";
    assert!(machine.text().contains(want), "{}", machine.text());
    assert!(machine.text().ends_with("note = \"door open\"\n"));
}

/// Nothing that was typed before its prompt came, or pasted, is lost or merged.
#[test]
fn lines_typed_ahead_and_pasted_arrive_whole() {
    let machine = Machine::with(&turned());
    let mut terminal = Terminal::start(&machine, "readings bed.toml --all");
    terminal.keys("4f\r3F\r1,5F\r1/2 f\r0\r");
    terminal.sees("6/18 ");
    terminal.keys("\u{1b}[200~2R\n1T\r\n1t\u{1b}[201~\r");
    terminal.sees("9/18 ");
    // Without brackets a paste is keys in one go.
    terminal.keys("0.5T\n1T\n1T\n1T\n2.5T\n2.75T\n2.75T\n2T\n2.75T\n3.25T\n");
    terminal.sees("18 readings");
    assert_eq!(terminal.ends().0, 0);
    let want = "\
cross = [\"4F\", \"3F\", \"1.5F\", \"0.5F\", \"0\", \"2R\"]
front = [\"1T\", \"1T\", \"1T\", \"0.5T\", \"1T\", \"1T\"]
rear = [\"2.5T\", \"2.75T\", \"2.75T\", \"2T\", \"2.75T\", \"3.25T\"]
";
    assert!(machine.text().ends_with(want), "{}", machine.text());
}

#[test]
fn a_wrong_letter_is_asked_about_once() {
    let machine = Machine::with(&turned());
    let mut terminal = Terminal::start(&machine, "readings bed.toml --all");
    terminal.sees("1/18 ");
    terminal.types("4r");
    terminal.sees("4R is far from the expected 4F; is it 4F?");
    terminal.sees("1/18 ");
    terminal.types("4f");
    terminal.sees("2/18 ");
    terminal.types("3r");
    terminal.sees("is it 3F?");
    terminal.sees("2/18 ");
    terminal.types("");
    terminal.sees("3/18 ");
    terminal.types("9r");
    terminal.sees("9R is far from");
    terminal.sees("3/18 ");
    terminal.types("9r");
    terminal.sees("4/18 ");
    terminal.types("stop");
    assert_eq!(terminal.ends().0, 0);
    let want = "cross = [\"4F\", \"3R\", \"9R\", \"\", \"\", \"\"]";
    assert!(machine.text().contains(want), "{}", machine.text());
}

#[test]
fn a_full_disk_is_told_and_the_reading_can_be_typed_again() {
    let machine = Machine::with(&turned());
    let run = machine
        .program(&format!("readings bed.toml {TAKEN}"))
        .input(lines(&TYPED))
        .without_room(true)
        .run();
    assert_eq!(run.status, 1, "{run:?}");
    assert!(run.complained.contains("cannot save `bed.toml`"), "{run:?}");
    assert_eq!(machine.text(), turned());
    assert_eq!(machine.files(), ["bed.toml"]);
}

#[test]
fn turns_foot_by_foot_at_the_terminal() {
    let machine = Machine::with(SURVEY);
    let mut terminal = Terminal::start(&machine, "turned bed.toml");
    terminal.sees("F1 front 150 mm [");
    terminal.types("x");
    terminal.sees("not a number of quarter-turns");
    terminal.sees("F1 front 150 mm [");
    terminal.types("+30 quarters");
    terminal.sees("F1 is +30 (2700°), the card says");
    terminal.sees("Right? (y/n) ");
    terminal.types("n");
    terminal.sees("F1 front 150 mm [");
    terminal.types("help");
    terminal.sees("said stop and not counted");
    terminal.sees("F1 front 150 mm [");
    terminal.types("");
    terminal.sees("R1 rear");
    terminal.types("back");
    terminal.sees("F1 front 150 mm [");
    terminal.types("followed the bubble, did not count");
    for foot in ["R1 rear", "F2 front", "R2 rear"] {
        terminal.sees(foot);
        terminal.types("as planned");
    }
    let (status, shown) = terminal.ends();
    assert_eq!(status, 0, "{shown}");
    assert!(shown.contains("Recorded after pass 1: "), "{shown}");
    assert!(!shown.contains("nothing turned"), "{shown}");
}

/// What was answered before Ctrl-C is kept.
#[test]
fn turns_that_are_interrupted_are_kept() {
    let machine = Machine::with(SURVEY);
    let mut terminal = Terminal::start(&machine, "turned bed.toml");
    terminal.sees("F1 front 150 mm [");
    terminal.types("");
    terminal.sees("R1 rear");
    terminal.keys("\u{3}");
    let (status, shown) = terminal.ends();
    assert_eq!(status, 0, "{shown}");
    assert!(shown.contains("turned --again bed.toml"), "{shown}");
    let turned = machine.survey().passes[0].turned.clone();
    assert_eq!(turned.expect("it is kept").len(), 1);
}

/// A bed of twenty stations on each of three lines.
fn sixty() -> (String, Vec<Reading>, Vec<String>) {
    let text = SURVEY[..SURVEY.find("[[pass]]").unwrap()]
        .replace("length = 1400 ", "length = 4000 ")
        .replace("[150, 1250]", "[150, 2000, 3850]");
    let places: Vec<f64> = (0..20).map(|k| 0.1 + 0.2 * f64::from(k)).collect();
    let mut readings = Vec::new();
    let mut typed = Vec::new();
    for (line, back) in [
        (Line::Cross, false),
        (Line::Front, true),
        (Line::Rear, false),
    ] {
        let mut order: Vec<usize> = (0..20).collect();
        if back {
            order.reverse();
        }
        for k in order {
            let letter = line.letters()[k % 2];
            let words = format!("{}{letter}", 0.25 * (k + 1) as f64);
            readings.push(Reading {
                line,
                reversed: false,
                at: places[k],
                entry: parse_reading(&words, line, None).unwrap(),
            });
            typed.push(words);
        }
    }
    (text, readings, typed)
}

const PLACES: &str = "--stations 100,300,500,700,900,1100,1300,1500,1700,1900,2100,2300,2500,2700,2900,3100,3300,\
                      3500,3700,3900";

/// The readings in the file after the first `count` of them are exactly those, and the rest of the file is as it
/// was.
fn holds_exactly(machine: &Machine, before: &str, readings: &[Reading], count: usize) {
    let text = machine.text();
    assert!(
        text.starts_with(before),
        "what stood before is harmed:\n{text}"
    );
    if count == 0 {
        assert_eq!(text, before);
        return;
    }
    let survey = machine.survey();
    let pass = &survey.passes[0];
    assert_eq!(pass.readings.len(), readings.len());
    for (k, want) in readings.iter().enumerate() {
        let found = pass
            .readings
            .iter()
            .find(|r| r.line == want.line && (r.at - want.at).abs() < 1e-9)
            .expect("the place is in the pass");
        let entry = if k < count {
            &want.entry
        } else {
            &Entry::Missing
        };
        assert_eq!(&found.entry, entry, "reading {k} after {count}");
    }
}

#[test]
fn killed_before_every_prompt_of_sixty() {
    let (text, readings, typed) = sixty();
    let machine = Machine::with(&text);
    for (k, words) in typed.iter().enumerate() {
        // The places are given once; after that the pass is in the file.
        let arguments = if k == 0 {
            format!("readings bed.toml {PLACES}")
        } else {
            "readings bed.toml".to_owned()
        };
        let mut terminal = Terminal::start(&machine, &arguments);
        terminal.sees(&format!("{}/60 ", k + 1));
        holds_exactly(&machine, &text, &readings, k);
        terminal.types(words);
        if k + 1 < typed.len() {
            terminal.sees(&format!("{}/60 ", k + 2));
        } else {
            terminal.sees("60 readings");
        }
        terminal.kill();
        holds_exactly(&machine, &text, &readings, k + 1);
    }
    assert_eq!(machine.files(), ["bed.toml"]);
}

#[test]
fn killed_at_any_moment_of_sixty() {
    let (text, readings, typed) = sixty();
    let machine = Machine::with(&text);
    let mut done = 0;
    for attempt in 0..200 {
        let arguments = if done == 0 {
            format!("readings bed.toml {PLACES}")
        } else {
            "readings bed.toml".to_owned()
        };
        let mut child = machine
            .program(&arguments)
            .into_command()
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let rest = typed[done..].join("\n") + "\n";
        let mut pipe = child.stdin.take().unwrap();
        let _ = pipe.write_all(rest.as_bytes());
        thread::sleep(Duration::from_micros(500 + 377 * (attempt % 40)));
        child.kill().unwrap();
        child.wait().unwrap();
        drop(pipe);
        let now = if fs::read_to_string(machine.file()).unwrap() == text {
            0
        } else {
            machine.survey().passes[0]
                .readings
                .iter()
                .filter(|reading| reading.entry != Entry::Missing)
                .count()
        };
        assert!(now >= done, "what was on disk stays: {now} after {done}");
        holds_exactly(&machine, &text, &readings, now);
        done = now;
        if done == typed.len() {
            break;
        }
    }
    assert!(done > 0, "some readings came through");
}
