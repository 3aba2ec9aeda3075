//! Survey files: good ones are read as they are meant, broken ones are explained as a machinist would want it.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use approx::assert_relative_eq;
use quarterturn::survey::keys::catalogue::FILE;
use quarterturn::survey::keys::{Key, Section};
use quarterturn::survey::{
    self, AimShape, Anchors, BarHeld, Clockwise, Conditions, Entry, FootKind, LengthUnit,
    LimitClass, Line, Reading, Side, Survey, Temperature,
};

/// Every survey of a corpus folder in alphabetical order: its name and its text.
fn corpus(folder: &str) -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/surveys")
        .join(folder);
    let mut files: Vec<(String, String)> = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            path.extension()
                .is_some_and(|extension| extension == "toml")
        })
        .map(|path| {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            (name, fs::read_to_string(&path).unwrap())
        })
        .collect();
    files.sort();
    files
}

fn good(name: &str) -> Survey {
    let (_, text) = corpus("good")
        .into_iter()
        .find(|(file, _)| file == name)
        .unwrap();
    accepted(&text)
}

/// The survey, or a failure that shows what is wrong with it.
fn accepted(text: &str) -> Survey {
    survey::read(text)
        .unwrap_or_else(|mistakes| panic!("{}", survey::render(&mistakes, "survey", text, false)))
}

#[test]
fn every_broken_survey_is_explained() {
    let files = corpus("broken");
    assert!(
        files.len() >= 40,
        "only {} broken surveys found",
        files.len()
    );
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../surveys/broken");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| {
        for (name, text) in files {
            let mistakes = survey::read(&text).expect_err(&name);
            assert!(!mistakes.is_empty(), "{name}: refused without a reason");
            let rendered = survey::render(&mistakes, &format!("{name}.toml"), &text, false);
            insta::assert_snapshot!(name, rendered);
        }
    });
}

#[test]
fn every_good_survey_is_accepted() {
    let files = corpus("good");
    assert!(files.len() >= 5, "only {} good surveys found", files.len());
    for (_, text) in files {
        accepted(&text);
    }
}

/// A survey of nothing but the examples in the list of keys.
fn examples() -> String {
    fn write(text: &mut String, section: &Section) {
        // Where the person chooses the names, the key stands for a table with the same header.
        let named = section.keys.first().and_then(|key| key.kind.section());
        if let Some(named) = named.filter(|named| named.heading == section.heading) {
            return write(text, named);
        }
        if section.heading.starts_with('[') {
            text.extend(["\n", section.heading, "\n"]);
        }
        let header = |key: &Key| key.line().starts_with('[');
        for key in section.keys.iter().filter(|key| !header(key)) {
            text.extend([&*key.line(), "\n"]);
        }
        for key in section.keys.iter().filter(|key| header(key)) {
            write(text, key.kind.section().expect("it has a header"));
        }
    }
    let mut text = String::new();
    write(&mut text, &FILE);
    text
}

#[test]
fn the_examples_of_the_keys_are_a_survey() {
    let text = examples();
    let survey = accepted(&text);
    assert_eq!(survey.feet.len(), 8, "{text}");
    assert_eq!(survey.passes[0].readings.len(), 18, "{text}");
    assert_eq!(survey.cuts.len(), 2, "{text}");
}

/// Obeying an error that only follows from another one would delete what was right.
#[test]
fn a_broken_header_is_one_mistake() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let mut broken = 0;
    for name in ["eight-foot-lathe.toml", "settling.toml", "test-cut.toml"] {
        let text = fs::read_to_string(demo.join(name)).unwrap();
        for header in text.lines().filter(|line| line.starts_with('[')) {
            let place = text.find(&format!("\n{header}\n")).unwrap() + 1;
            let (before, after) = text.split_at(place);
            let after = &after[header.len()..];
            for spoilt in [
                header.trim_end_matches(']'),
                &header[..header.len() - 1],
                header.trim_start_matches('['),
            ] {
                let text = format!("{before}{spoilt}{after}");
                let mistakes = survey::read(&text).unwrap_err();
                let rendered = survey::render(&mistakes, name, &text, false);
                assert_eq!(mistakes.len(), 1, "{rendered}");
                broken += 1;
            }
        }
    }
    assert!(broken > 50, "{broken}");
}

#[test]
fn line_ends_and_a_byte_order_mark_change_nothing() {
    for (name, text) in corpus("good") {
        let plain = accepted(&text);
        assert_eq!(accepted(&text.replace('\n', "\r\n")), plain, "{name}, CRLF");
        assert_eq!(accepted(&format!("\u{feff}{text}")), plain, "{name}, mark");
    }
    for (name, text) in corpus("broken") {
        let plain = survey::read(&text).unwrap_err();
        let expected = survey::render(&plain, &name, &text, false);
        let marked = format!("\u{feff}{text}");
        let mistakes = survey::read(&marked).unwrap_err();
        assert_eq!(survey::render(&mistakes, &name, &marked, false), expected);
        for (mistake, plain) in mistakes.iter().zip(&plain) {
            assert_eq!(
                marked.get(mistake.span.clone()),
                text.get(plain.span.clone()),
                "{name}"
            );
        }
        let windows = text.replace('\n', "\r\n");
        let mistakes = survey::read(&windows).unwrap_err();
        assert_eq!(
            survey::render(&mistakes, &name, &windows, false),
            expected,
            "{name}, CRLF"
        );
    }
}

#[test]
fn the_smallest_survey_has_the_defaults() {
    let survey = good("smallest");
    assert_eq!(survey.units, LengthUnit::Millimetre);
    // What is left out is not known; it is reckoned with all the same.
    assert_eq!(survey.bed.held_down, None);
    assert!(survey.bed.held_down());
    assert_eq!(
        survey.bed.free.map(f64::to_bits),
        [0.0, survey.bed.length].map(f64::to_bits)
    );
    assert_eq!(survey.feet[0].hold_down, None);
    assert_eq!(survey.feet.len(), 4);
    let names: Vec<&str> = survey.feet.iter().map(|foot| foot.name.as_str()).collect();
    assert_eq!(names, ["F1", "R1", "F2", "R2"]);
    let foot = &survey.feet[3];
    assert_eq!(foot.side, Side::Rear);
    assert_relative_eq!(foot.at, 1.1);
    assert_relative_eq!(foot.across, -0.125);
    assert_relative_eq!(foot.lift_per_turn, 0.002);
    assert_relative_eq!(foot.smallest_turn, 0.25);
    assert_eq!(foot.clockwise, Clockwise::Raises);
    assert_eq!((foot.lowest_turns, foot.highest_turns), (None, None));
    assert_eq!(survey.limits, survey::Limits::default());
    assert_eq!(survey.aim, survey::Aim::default());
    assert_eq!(survey.machine, survey::Machine::default());
    assert!(survey.passes.is_empty() && survey.cuts.is_empty() && survey.levels.is_empty());
}

#[test]
fn the_machine_of_a_full_survey() {
    let survey = good("every_key");
    let machine = &survey.machine;
    assert_eq!(machine.name.as_deref(), Some("Centre lathe, pattern loft"));
    assert_relative_eq!(machine.centre_height.unwrap(), 0.3);
    assert_relative_eq!(machine.mass.unwrap(), 3100.0);
    let headstock = machine.headstock.unwrap();
    assert_relative_eq!(headstock.mass, 700.0);
    assert_relative_eq!(headstock.at, 0.35);
    assert_relative_eq!(survey.bed.length, 2.9);
    assert_relative_eq!(survey.bed.way_spacing, 0.38);
    assert!(!survey.bed.held_down());
    assert_relative_eq!(survey.bed.free[0], 0.04);
    assert_relative_eq!(survey.bed.free[1], 2.89);

    assert_eq!(survey.feet.len(), 9);
    let plain = &survey.feet[0];
    assert_relative_eq!(plain.across, 0.18);
    assert_eq!(plain.clockwise, Clockwise::Lowers);
    assert_relative_eq!(plain.smallest_turn, 1.0 / 12.0);
    let overridden = &survey.feet[survey.foot_index("R4").unwrap()];
    let [all, one] = [plain, overridden].map(|foot| (foot.kind, foot.hold_down, foot.lock_nut));
    assert_eq!(all, (Some(FootKind::Wedge), Some(true), Some(false)));
    assert_eq!(one, (Some(FootKind::Jack), Some(false), Some(true)));
    assert_relative_eq!(overridden.lift_per_turn, 0.000_35);
    assert_relative_eq!(overridden.at, 2.65);
    assert_relative_eq!(overridden.across, -0.17);
    assert_relative_eq!(overridden.smallest_turn, 0.125);
    assert_eq!(overridden.clockwise, Clockwise::Raises);
    assert_eq!(overridden.lowest_turns, Some(-3.0));
    assert_eq!(overridden.highest_turns, Some(2.0));
    let outside = &survey.feet[8];
    assert_eq!(outside.name, "tail");
    assert_eq!(outside.side, Side::Rear);
    assert_relative_eq!(outside.at, 2.85);
    assert_relative_eq!(outside.across, -0.18);
    assert_relative_eq!(outside.lift_per_turn, 0.0015);

    let master = &survey.levels["master"];
    assert_relative_eq!(master.division, 0.000_02);
    assert_eq!(master.base, Some(0.2));
    assert_eq!(master.range, Some(10.0));
    assert_eq!(master.repeat, Some(0.2));
    assert_eq!(survey.levels["coarse"].base, None);

    assert_relative_eq!(survey.limits.twist.unwrap(), 0.000_04);
    assert_eq!(survey.limits.crown, Some([0.0, 0.000_02]));
    assert_relative_eq!(survey.limits.straightness.unwrap(), 0.000_03);
    assert_eq!(survey.aim.shape, AimShape::Level);
    assert_relative_eq!(survey.aim.crown.unwrap(), 0.000_005);
    // 4 arcsec in rad, from 1 arcsec = 4.848 136 81 µrad (IAU, from memory).
    assert_relative_eq!(
        survey.aim.twist.unwrap(),
        -4.0 * 4.848_136_81e-6,
        max_relative = 1e-8
    );
}

#[test]
fn the_limits_of_a_full_survey() {
    let limits = good("every_key").limits;
    assert_relative_eq!(limits.twist_per_metre.unwrap(), 0.000_03);
    let local: Vec<(f64, f64)> = limits.local.iter().map(|l| (l.over, l.height)).collect();
    assert_eq!(local, [(0.25, 5e-6), (0.5, 8e-6)]);
    assert!(limits.convex_only);
    assert_relative_eq!(limits.load_share.unwrap(), 2.5);
    assert_eq!(limits.class, Some(LimitClass::Ordinary));
}

/// `from_the_design` with other limits and machine.
fn with_limits(limits: &str, machine: &str) -> Survey {
    accepted(&format!(
        "format = 1\n[machine]\n{machine}\n[limits]\n{limits}\n\
         [bed]\nlength = 2000\nway_spacing = 300\n[feet]\nat = [100, 1900]\nlift_per_turn = 1.5\n"
    ))
}

/// The numbers of the classes: ISO 1708, test G1, from memory.
#[test]
fn a_class_gives_what_the_survey_does_not_say() {
    let machine = "distance_between_centres = 1000\nswing = 400";
    let named = with_limits("class = \"precision\"", machine).limits;
    assert_eq!(named.crown, Some([0.0, 15e-6]));
    assert_relative_eq!(named.twist.unwrap(), 0.03e-3);
    assert!(named.convex_only);
    // Own numbers go before the class's.
    let own = "class = \"precision\"\ntwist = \"0.02 mm/m\"\ncrown = [-0.01, 0.01]";
    let own = with_limits(own, machine).limits;
    assert_eq!(own.crown, Some([-10e-6, 10e-6]));
    assert_relative_eq!(own.twist.unwrap(), 0.02e-3);
    assert!(!own.convex_only);
    // Twice the centre height swings over the bed.
    let height = "distance_between_centres = 1000\ncentre_height = 200";
    assert_eq!(with_limits("class = \"precision\"", height).limits, named);
}

#[test]
fn a_limit_stated_for_another_length_grows_with_the_bed() {
    let stated = "crown = [0, 0.01]\nstraightness = 0.02\ntwist = \"0.04 mm/m\"\nstated_for = 1000";
    let limits = with_limits(stated, "").limits;
    assert_relative_eq!(limits.crown.unwrap()[1], 20e-6);
    assert_relative_eq!(limits.straightness.unwrap(), 40e-6);
    assert_relative_eq!(limits.twist.unwrap(), 0.04e-3);
}

#[test]
fn the_cuts_of_a_full_survey() {
    let survey = good("every_key");
    let machine = &survey.machine;
    assert_eq!(machine.chuck_at, Some(0.7));
    assert_eq!(machine.headstock_length, Some(0.65));
    assert_eq!(machine.bed_height, Some(0.42));
    let [plain, full, centres] = survey.cuts.as_slice() else {
        panic!("{} cuts", survey.cuts.len());
    };
    let held = BarHeld::InChuck {
        chuck_at: None,
        overhang: None,
        tailstock_used: false,
    };
    assert_eq!(
        (plain.held, plain.tool, plain.sagged),
        (held, Side::Front, false)
    );
    assert!(!plain.differences && plain.micrometer.is_none());
    let held = BarHeld::InChuck {
        chuck_at: Some(0.72),
        overhang: Some(0.3),
        tailstock_used: true,
    };
    assert_eq!(
        (full.held, full.tool, full.sagged),
        (held, Side::Rear, true)
    );
    assert!(full.differences);
    assert_eq!(full.micrometer, Some(2e-6));
    assert_eq!(full.force, Some(20.0));
    assert_relative_eq!(full.bar_diameter.unwrap(), 0.058);
    let [face] = survey.faces.as_slice() else {
        panic!("{} faces", survey.faces.len());
    };
    assert_relative_eq!(face.hollow, 4e-6);
    assert_relative_eq!(face.diameter, 0.2);
    let bars: Vec<(f64, u32)> = full.collars.iter().map(|c| (c.diameter, c.bar)).collect();
    assert_eq!(bars, [(0.0, 1), (-8e-6, 1), (1e-6, 2)]);
    let held = BarHeld::BetweenCentres {
        centre_at: Some(0.65),
        length: 1.0,
    };
    assert_eq!(centres.held, held);
    assert_relative_eq!(centres.collars[1].from_chuck, 0.96);
}

#[test]
fn what_a_pass_notes_beside_its_readings() {
    let survey = good("every_key");
    let first = survey.passes[0].conditions;
    assert_eq!(first.anchors, Some(Anchors::Slack));
    let Temperature { air, top, below } = first.temperature;
    assert_eq!((air, top, below), (Some(20.0), Some(21.5), Some(19.5)));
    let second = survey.passes[1].conditions;
    assert_eq!(second.anchors, Some(Anchors::PulledDown));
    assert_eq!(second.temperature.air, Some(19.0));
    // What stands on the machine stays there until somebody says otherwise; the rest is that pass's own.
    let standing = Conditions {
        carriage_at: Some(1.8),
        tailstock_at: Some(2.6),
        chuck_on: Some(true),
        coolant_in: Some(false),
        ..Conditions::default()
    };
    assert_eq!(first.spindle_stopped, Some(12.0));
    assert_eq!(survey.passes[2].conditions, standing);
}

fn reading(line: Line, reversed: bool, at: f64, entry: Entry) -> Reading {
    Reading {
        line,
        reversed,
        at,
        entry,
    }
}

#[test]
fn the_passes_of_a_full_survey() {
    let survey = good("every_key");
    assert_eq!(survey.passes.len(), 3);
    let pass = &survey.passes[0];
    assert_eq!(pass.taken.unwrap().to_string(), "2026-03-02T09:40:00+01:00");
    assert_eq!(pass.level, "master");
    assert_eq!(pass.note.as_deref(), Some("after lunch, door shut"));
    let names: Vec<&str> = pass
        .hanging
        .iter()
        .map(|&foot| survey.feet[foot].name.as_str())
        .collect();
    assert_eq!(names, ["R3", "tail"]);
    assert_eq!(pass.barely, [survey.foot_index("F2").unwrap()]);
    let turned = pass.turned.as_ref().unwrap();
    let expected = BTreeMap::from([
        (survey.foot_index("F2").unwrap(), 3.0),
        (survey.foot_index("tail").unwrap(), -1.5),
    ]);
    assert_eq!(turned, &expected);
    let read = |value: f64| Entry::Read(vec![value]);
    assert_eq!(
        pass.readings,
        [
            reading(Line::Cross, false, 0.15, read(1.5)),
            reading(Line::Cross, false, 0.35, Entry::Read(vec![1.0, 1.25])),
            reading(Line::Cross, false, 0.55, read(0.0)),
            reading(Line::Cross, false, 0.15, Entry::Missing),
            reading(Line::Cross, true, 0.15, read(1.0)),
            reading(Line::Cross, true, 0.35, read(0.5)),
            reading(Line::Cross, true, 0.55, Entry::Missing),
            reading(Line::Cross, true, 0.15, Entry::Missing),
            reading(Line::Front, false, 0.15, read(-2.0)),
            reading(Line::Front, false, 0.35, read(1.5)),
            reading(Line::Front, true, 0.15, Entry::OffScale(-10.0)),
            reading(Line::Front, true, 0.35, read(0.0)),
            reading(Line::Rear, false, 0.25, read(0.0)),
            reading(Line::Rear, true, 0.25, read(0.25)),
        ]
    );
    let nothing_turned = &survey.passes[1];
    assert_eq!(nothing_turned.turned, Some(BTreeMap::new()));
    assert_eq!(nothing_turned.taken.unwrap().to_string(), "2026-03-03");
    let planned = &survey.passes[2];
    assert_eq!(planned.turned, None);
    let places = |line| [0.15, 0.35].map(|at| reading(line, false, at, Entry::Missing));
    let expected: Vec<Reading> = [Line::Cross, Line::Front, Line::Rear]
        .into_iter()
        .flat_map(places)
        .collect();
    assert_eq!(planned.readings, expected);
    let cut = &survey.cuts[0];
    assert_eq!(cut.note.as_deref(), Some("no tailstock"));
    assert_relative_eq!(cut.collars[1].from_chuck, 0.28);
    assert_relative_eq!(cut.collars[1].diameter, 0.060_004);
}

#[test]
#[expect(
    clippy::float_cmp,
    reason = "the conversions of these lengths are exact"
)]
fn inches_are_exact() {
    // Source: 1 in = 25.4 mm and 1 lb = 0.453 592 37 kg, international yard and pound agreement, 1959.
    let survey = good("inches");
    assert_eq!(survey.units, LengthUnit::Inch);
    assert_eq!(survey.bed.length, 2.7432);
    assert_eq!(survey.bed.way_spacing, 0.381);
    assert_eq!(survey.feet[1].across, -0.1905);
    assert_eq!(survey.feet[0].lift_per_turn, 0.002_54);
    assert_relative_eq!(survey.machine.mass.unwrap(), 6800.0 * 0.453_592_37);
    // Source: arithmetic, 0.0005 in over 12 in = 0.041 667 mm/m.
    assert_relative_eq!(
        survey.levels["shop"].division,
        0.041_667e-3,
        epsilon = 5e-10
    );
    assert_relative_eq!(survey.limits.crown.unwrap()[0], -0.0127e-3);
    assert_relative_eq!(survey.limits.crown.unwrap()[1], 0.0127e-3);
    assert_eq!(survey.passes[0].level, "shop");
    assert_eq!(survey.passes[0].readings[1].entry, Entry::Read(vec![-1.5]));
    assert_relative_eq!(survey.passes[0].readings[1].at, 16.0 * 0.0254);
}

#[test]
fn a_bed_on_three_single_feet() {
    let survey = good("no_pairs");
    let feet: Vec<(&str, Side)> = survey
        .feet
        .iter()
        .map(|foot| (foot.name.as_str(), foot.side))
        .collect();
    assert_eq!(
        feet,
        [
            ("left", Side::Front),
            ("right", Side::Front),
            ("back", Side::Rear)
        ]
    );
    assert_relative_eq!(survey.feet[0].across, 0.125);
    assert_eq!(survey.feet[2].across.to_bits(), 0.0_f64.to_bits());
    assert_eq!(survey.passes[0].level, "block");
    assert_eq!(
        survey.passes[0].readings[0].entry,
        Entry::Read(vec![1.0, 1.25, 1.0])
    );
}

#[test]
fn the_example_of_the_design() {
    let survey = good("from_the_design");
    let pass = &survey.passes[0];
    assert_eq!(pass.readings.len(), 12);
    assert_eq!(pass.readings[10].entry, Entry::OffScale(-10.0));
    assert_eq!(pass.hanging, [survey.foot_index("r3").unwrap()]);
    assert_eq!(survey.aim.twist, Some(0.0));
}

#[test]
fn mistakes_come_in_the_order_of_the_file() {
    for (name, text) in corpus("broken") {
        let mistakes = survey::read(&text).unwrap_err();
        assert!(
            mistakes.is_sorted_by_key(|mistake| mistake.span.start),
            "{name}: {mistakes:?}"
        );
        for mistake in mistakes {
            assert!(
                text.get(mistake.span.clone()).is_some(),
                "{name}: {mistake:?}"
            );
        }
    }
}

#[test]
fn colour_adds_escape_codes_and_nothing_else() {
    let (name, text) = corpus("broken").swap_remove(0);
    let mistakes = survey::read(&text).unwrap_err();
    let plain = survey::render(&mistakes, &name, &text, false);
    let coloured = survey::render(&mistakes, &name, &text, true);
    assert!(plain.bytes().all(|byte| byte == b'\n' || byte >= b' '));
    assert!(coloured.contains("\u{1b}["));
    let mut stripped = String::new();
    for (index, part) in coloured.split("\u{1b}[").enumerate() {
        let text = if index == 0 {
            part
        } else {
            part.split_once('m').unwrap().1
        };
        stripped.push_str(text);
    }
    assert_eq!(stripped, plain);
}

/// Texts made to hurt a reader: they are refused in good time, and with few words.
#[test]
fn huge_files_are_refused_kindly() {
    let stations = vec!["150"; 100_000].join(", ");
    let readings = vec!["\"1F\""; 100_000].join(", ");
    let base = &corpus("good")
        .into_iter()
        .find(|(name, _)| name == "smallest")
        .unwrap()
        .1;
    let level = "[level.a]\ndivision = \"0.02 mm/m\"\n";
    for (what, text) in [
        ("brackets", "[".repeat(1_000_000)),
        ("nested lists", format!("a = {}", "[".repeat(500_000))),
        ("nested tables", format!("a = {}", "{a=".repeat(300_000))),
        ("long key", "a.".repeat(500_000)),
        ("quotes", "\"".repeat(1_000_000)),
        ("many lines", "a b\n".repeat(100_000)),
        (
            "many unknown keys",
            (0..100_000).fold(String::new(), |text, n| text + &format!("k{n} = 1\n")),
        ),
        (
            "stations",
            format!("{base}{level}[[pass]]\nstations = [{stations}]\n"),
        ),
        (
            "readings",
            format!("{base}{level}[[pass]]\nstations = [100]\ncross = [{readings}]\n"),
        ),
        (
            "feet",
            format!(
                "format = 1\n[bed]\nlength = 2900\nway_spacing = 380\n[feet]\nlift_per_turn = 1\nat = [{stations}]\n"
            ),
        ),
        ("control characters", "\u{1}".repeat(500_000)),
        ("one long line", format!("a = \"{}\nb", "ä".repeat(400_000))),
    ] {
        let mistakes = survey::read(&text).expect_err(what);
        let rendered = survey::render(&mistakes, "huge.toml", &text, false);
        assert!(
            rendered.len() < 100_000,
            "{what}: {} bytes said",
            rendered.len()
        );
        assert!(
            rendered.lines().all(|line| line.chars().count() <= 160),
            "{what}: {}",
            rendered.lines().max_by_key(|line| line.len()).unwrap()
        );
    }
}
