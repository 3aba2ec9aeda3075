//! Changes to a survey file leave every byte alone that they do not mean.

use quarterturn::survey::edit::{
    CannotEdit, Draft, append_pass, begin_pass, extend_pass, lists, set_note, set_reading,
    set_turned,
};
use quarterturn::survey::{Entry, LengthUnit, Line, Packing, Reading, Survey, read};

const COMMENTED: &str = "\
# Kept by the night shift.  Do not reformat!
format = 1
[bed]            # the casting
length = 2900
way_spacing=380  # measured twice

[feet]
at = [120, 2700]
lift_per_turn = 1.5

[level.master]
division = \"0.02 mm/m\"
base = 200

[[pass]]
stations = [ 150,350 , # the first bay
  550 ]
cross = ['', \"\", \"-\"]   # half done
front = [ \"2H\", \"1.5 h\", 0 ]
# the rear is not reached

[[cut]]  # first bar
collars = [{ from_chuck = 30, diameter = 60.012 }, { from_chuck = 280, diameter = 60.004 }]
# the end";

/// The text as every editor might have saved it.
fn saved_in_every_way(text: &str) -> Vec<String> {
    let dos = text.replace('\n', "\r\n");
    vec![
        text.to_owned(),
        format!("{text}\n"),
        format!("{text}\n\n"),
        format!("\u{feff}{text}\n"),
        dos.clone(),
        format!("{dos}\r\n"),
        format!("\u{feff}{dos}\r\n"),
    ]
}

/// Takes the parts that were put in out of the changed text again; what is left is the text as it was.
fn without(changed: &str, put_in: &[&str]) -> String {
    let end = if changed.contains("\r\n") {
        "\r\n"
    } else {
        "\n"
    };
    let mut left = changed.to_owned();
    for part in put_in {
        let part = part.replace('\n', end);
        assert_eq!(left.matches(&part).count(), 1, "{part:?} in\n{left}");
        left = left.replacen(&part, "", 1);
    }
    left
}

fn survey(text: &str) -> Survey {
    read(text).unwrap_or_else(|mistakes| panic!("{mistakes:#?}\n{text}"))
}

fn open(line: Line, at: f64) -> Reading {
    Reading {
        line,
        reversed: false,
        at,
        entry: Entry::Missing,
    }
}

#[test]
fn a_reading_changes_its_own_place_only() {
    for text in saved_in_every_way(COMMENTED) {
        let entry = Entry::Read(vec![-1.5, 0.0]);
        let changed = set_reading(&text, 0, (Line::Cross, false), 1, Some(&entry)).unwrap();
        assert_eq!(changed, text.replacen("\"\"", "\"1.5R 0\"", 1));
        assert_eq!(survey(&changed).passes[0].readings[1].entry, entry);
        let again = set_reading(&changed, 0, (Line::Cross, false), 1, None).unwrap();
        assert_eq!(again, text);
        let zero = set_reading(&text, 0, (Line::Front, false), 2, Some(&Entry::Missing)).unwrap();
        assert_eq!(zero, text.replacen("h\", 0 ]", "h\", \"-\" ]", 1));
    }
}

#[test]
fn a_note_is_added_or_replaced() {
    for text in saved_in_every_way(COMMENTED) {
        let note = "door \"open\", 19 °C\\";
        let changed = set_note(&text, 0, note).unwrap();
        assert_eq!(survey(&changed).passes[0].note.as_deref(), Some(note));
        let line = changed
            .lines()
            .find(|line| line.starts_with("note"))
            .unwrap();
        assert_eq!(without(&changed, &[&format!("{line}\n")]), text);
        let replaced = set_note(&changed, 0, "shut").unwrap();
        assert_eq!(replaced, changed.replacen(line, "note = \"shut\"", 1));
    }
}

#[test]
fn turns_stand_under_their_pass() {
    for text in saved_in_every_way(COMMENTED) {
        let changed = set_turned(&text, 0, &[("F2", 3.0), ("R1", -1.5)]).unwrap();
        let put_in = "\n[pass.turned]\nF2 = 3\nR1 = -1.5\n";
        assert_eq!(without(&changed, &[put_in]), text);
        let turned = survey(&changed).passes[0].turned.clone().unwrap();
        assert_eq!(
            turned.into_iter().collect::<Vec<_>>(),
            [(1, -1.5), (2, 3.0)]
        );
        let before = changed.find("[pass.turned]").unwrap();
        assert!(before < changed.find("[[cut]]").unwrap());
        assert!(before > changed.find("front =").unwrap());
        let none = set_turned(&text, 0, &[]).unwrap();
        assert_eq!(without(&none, &["\n[pass.turned]\n"]), text);
        assert_eq!(survey(&none).passes[0].turned, Some([].into()));
    }
}

#[test]
fn turns_recorded_again_keep_their_comments() {
    for (written, want) in [
        (
            "[pass.turned]\nF1 = 2   # by the bubble\n  R2 = -1 # stiff\n",
            "[pass.turned]\nF1 = 0   # by the bubble\n  R2 = 1.5 # stiff\n  F2 = 4\n",
        ),
        (
            "[pass.turned] # none\n",
            "[pass.turned] # none\nR2 = 1.5\nF2 = 4\n",
        ),
        (
            "turned = { F1 = 2, r2 = -1 } # so\n",
            "turned = { F1 = 0, r2 = 1.5, F2 = 4 } # so\n",
        ),
        ("turned = {}\n", "turned = { R2 = 1.5, F2 = 4 }\n"),
        (
            "turned.F1 = 2\nturned.R2 = -1 # x\n",
            "turned.F1 = 0\nturned.R2 = 1.5 # x\nturned.F2 = 4\n",
        ),
    ] {
        for ending in ["\n", "\r\n"] {
            let place = |turned: &str| {
                COMMENTED
                    .replace("# the rear is not reached\n", turned)
                    .replace('\n', ending)
            };
            let changed = set_turned(&place(written), 0, &[("R2", 1.5), ("F2", 4.0)]).unwrap();
            assert_eq!(changed, place(want));
            let turned = survey(&changed).passes[0].turned.clone().unwrap();
            assert_eq!(turned.get(&3), Some(&1.5));
            assert_eq!(turned.get(&2), Some(&4.0));
        }
    }
}

#[test]
fn a_pass_goes_to_the_end() {
    for text in saved_in_every_way(COMMENTED) {
        let mut readings: Vec<Reading> = [0.15, 0.5635].map(|at| open(Line::Cross, at)).into();
        readings.extend([0.15, 0.35].map(|at| open(Line::Rear, at)));
        readings[2].entry = Entry::OffScale(-10.0);
        let draft = Draft {
            taken: Some("2026-03-02T09:40:00".to_owned()),
            level: "master",
            readings: &readings,
            hanging: vec!["R2"],
            packing: Packing {
                cross: -0.55e-3,
                along: 0.3e-3,
            },
            note: Some("late"),
            planned: false,
        };
        let changed = append_pass(&text, LengthUnit::Millimetre, &draft).unwrap();
        let block = "\
[[pass]]
taken = 2026-03-02T09:40:00
level = \"master\"
stations = [150, 350]
cross_at = [150, 563.5]
cross = [\"\", \"\"]
rear = [\">10H\", \"\"]
hanging = [\"R2\"]
packing = { cross = \"0.55 mm R\", along = \"0.3 mm T\" }
note = \"late\"
";
        let left = without(&changed, &[block]);
        let added = left
            .strip_prefix(&text)
            .expect("the text as it was")
            .replace('\r', "");
        let want = match text.replace('\r', "") {
            text if text.ends_with("\n\n") => "",
            text if text.ends_with('\n') => "\n",
            _ => "\n\n",
        };
        assert_eq!(added, want);
        let survey = survey(&changed);
        assert_eq!(survey.passes[1].readings, readings);
        assert_eq!(survey.passes[1].hanging, [3]);
        // The turns of that pass stand under it although a cut comes before it.
        let turned = set_turned(&changed, 1, &[("F1", 1.0)]).unwrap();
        assert!(
            turned
                .replace('\r', "")
                .ends_with("\n[pass.turned]\nF1 = 1\n")
        );
    }
}

#[test]
fn places_in_inches_come_back_as_they_were() {
    let text = COMMENTED
        .replace("format = 1", "format = 1\nunits = \"in\"")
        .replace("1.5\n", "0.06\n");
    let readings: Vec<Reading> = [7.0, 15.125, 23.0]
        .map(|at| open(Line::Front, at * 0.0254))
        .into();
    let draft = Draft {
        level: "master",
        readings: &readings,
        ..Draft::default()
    };
    let changed = append_pass(&text, LengthUnit::Inch, &draft).unwrap();
    assert!(
        changed.contains("stations = [7, 15.125, 23]\n"),
        "{changed}"
    );
}

#[test]
fn a_planned_pass_gets_its_lists() {
    for text in saved_in_every_way(COMMENTED) {
        let (planned, _) = text.split_once("cross = ").unwrap();
        let end = if text.contains('\r') { "\r\n" } else { "\n" };
        let text = format!("{planned}# planned{end}");
        let survey_before = survey(&text);
        let mut readings = survey_before.passes[0].readings.clone();
        readings.rotate_left(3);
        readings.truncate(6);
        let changed = begin_pass(&text, 0, &readings).unwrap();
        let put_in = "front = [\"\", \"\", \"\"]\nrear = [\"\", \"\", \"\"]\n";
        assert_eq!(without(&changed, &[put_in]), text);
        let found = lists(&changed, 0).unwrap();
        let lines: Vec<Line> = found.iter().map(|list| list.line).collect();
        assert_eq!(lines, [Line::Front, Line::Rear]);
        assert!(found.iter().all(|list| list.open == [true; 3]));
    }
}

/// New places come after those that are there, whose words and comments stay; a line that shares its places gets a list of its own.
#[test]
fn a_pass_gets_more_places() {
    for text in saved_in_every_way(COMMENTED) {
        let more = [
            open(Line::Cross, 0.75),
            open(Line::Rear, 0.95),
            open(Line::Rear, 1.15),
        ];
        let changed = extend_pass(&text, LengthUnit::Millimetre, 0, &more).unwrap();
        let new_lists =
            "cross_at = [150, 350, 550, 750]\nrear_at = [950, 1150]\nrear = [\"\", \"\"]\n";
        let changed_cross = "\"-\", \"\"]   # half done";
        assert!(changed.contains(changed_cross), "{changed}");
        let back = changed.replace(changed_cross, "\"-\"]   # half done");
        assert_eq!(without(&back, &[new_lists]), text);
        let count = |line: Line| {
            let readings = &survey(&changed).passes[0].readings;
            readings.iter().filter(|r| r.line == line).count()
        };
        assert_eq!([Line::Cross, Line::Front, Line::Rear].map(count), [4, 3, 2]);
        // A line with places of its own keeps them in one list.
        let again = extend_pass(
            &changed,
            LengthUnit::Millimetre,
            0,
            &[open(Line::Rear, 1.35)],
        );
        assert!(again.unwrap().contains("rear_at = [950, 1150, 1350]"));
    }
}

#[test]
fn what_is_open_and_what_was_left_out() {
    let found = lists(COMMENTED, 0).unwrap();
    assert_eq!(found[0].open, [true, true, false]);
    assert_eq!(found[1].open, [false; 3]);
    assert_eq!(found[1].line, Line::Front);
}

#[test]
fn what_cannot_be_changed_is_said() {
    let in_list = COMMENTED.replace("[[pass]]", "[other]").replace(
        "format = 1",
        "format = 1\npass = [{ stations = [150], cross = [\"\"] }]",
    );
    assert_eq!(set_turned(&in_list, 0, &[]), Err(CannotEdit::PassInList));
    assert_eq!(set_note(&in_list, 0, "x"), Err(CannotEdit::PassInList));
    let read = set_reading(
        &in_list,
        0,
        (Line::Cross, false),
        0,
        Some(&Entry::Read(vec![0.0])),
    );
    assert!(read.unwrap().contains("cross = [\"0\"] }]"));
    assert_eq!(set_note(COMMENTED, 1, "x"), Err(CannotEdit::NoPass));
    assert_eq!(
        set_reading(COMMENTED, 0, (Line::Rear, false), 0, None),
        Err(CannotEdit::NoReading)
    );
    assert_eq!(
        set_reading(COMMENTED, 0, (Line::Cross, false), 3, None),
        Err(CannotEdit::NoReading)
    );
}
