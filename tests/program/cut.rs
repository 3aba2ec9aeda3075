//! `quarterturn cut` on the demo survey.

use insta::assert_snapshot;

use crate::machine::Machine;
use crate::program::Program;

#[test]
fn a_slewed_headstock() {
    assert_snapshot!(Program::with("cut demo-data/test-cut.toml").prints());
}

#[test]
fn a_slewed_headstock_as_json() {
    assert_snapshot!(Program::with("cut demo-data/test-cut.toml --json").prints());
}

#[test]
fn a_survey_without_a_cut() {
    let run = Program::with("cut demo-data/cross-only.toml").run();
    assert_eq!(run.status, 1);
    assert!(
        run.complained.contains("the survey holds no test cut"),
        "{}",
        run.complained
    );
}

#[test]
fn a_cut_that_is_not_there() {
    let run = Program::with("cut demo-data/test-cut.toml --cut 2").run();
    assert_eq!(run.status, 2);
    assert!(
        run.complained.contains("there is no cut 2"),
        "{}",
        run.complained
    );
}

/// A lathe whose level bed explains nothing, and what was cut on it.
fn level_lathe(cut: &str) -> String {
    let survey = format!(
        r#"
        format = 1
        [machine]
        centre_height = 300
        chuck_at = 700
        headstock_length = 650
        distance_between_centres = 1500
        [bed]
        length = 3000
        way_spacing = 400
        [feet]
        at = [100, 1500, 2900]
        lift_per_turn = 1.5
        [level.fine]
        division = "0.001 mm/m"
        repeat = 0.05
        [limits]
        class = "ordinary"
        [[pass]]
        stations = [700, 1000, 1500, 2000, 2500, 2900]
        cross = ["0", "0", "0", "0", "0", "0"]
        {cut}
        "#
    );
    let told = Program::with("cut").input(survey).prints();
    told.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A bar of 80 mm with its collars at these diameters over 80 mm.
fn bar(sizes: [f64; 5]) -> String {
    let collars = [30, 90, 150, 210, 270].iter().zip(sizes);
    let collars: Vec<String> = collars
        .map(|(at, size)| format!("{{ from_chuck = {at}, diameter = {} }}", 80.0 + size))
        .collect();
    format!(
        "[[cut]]\nmicrometer = 0.001\nforce = 5\ncollars = [{}]\n",
        collars.join(", ")
    )
}

/// Over 300 mm an ordinary lathe may cut 0.04 mm larger towards the headstock (ISO 1708, from memory).
#[test]
fn a_taper_inside_its_class_is_left() {
    let inside = level_lathe(&bar([0.020, 0.015, 0.010, 0.005, 0.0]));
    assert!(
        inside.contains("Next leave it: the taper is inside its class"),
        "{inside}"
    );
    assert!(!inside.contains("slew"), "{inside}");
    let outside = level_lathe(&bar([0.0, 0.005, 0.010, 0.015, 0.020]));
    assert!(
        outside.contains("cut a second bar and face a disc"),
        "{outside}"
    );
    assert!(
        outside.contains("only where its maker provides for it and the work needs it"),
        "{outside}"
    );
}

/// Two cuts, and a faced disc: the headstock points to the rear by 0.010 mm over 240 mm, so a disc of 240 mm faced from
/// the front stands out by half of that (geometry, the axis turned by 0.0417 mm/m).
#[test]
fn a_headstock_is_slewed_only_when_two_cuts_and_a_face_agree() {
    let away = bar([0.0, 0.005, 0.010, 0.015, 0.020]);
    let agreeing = level_lathe(&format!(
        "{away}[[face]]\nhollow = -0.005\ndiameter = 240\n{away}"
    ));
    assert!(
        agreeing.contains("cut 1, face 1 say the same"),
        "{agreeing}"
    );
    let undemonstrated = level_lathe(&format!("{away}{away}"));
    assert!(
        undemonstrated.contains("Next face a disc. Where all agree, slew"),
        "{undemonstrated}"
    );
    let one = level_lathe(&format!(
        "[[face]]\nhollow = -0.005\ndiameter = 240\n{away}"
    ));
    assert!(
        one.contains("Next cut a second bar. Where all agree, slew"),
        "{one}"
    );
    let hollow = level_lathe(&format!(
        "{away}[[face]]\nhollow = 0.005\ndiameter = 240\n{away}"
    ));
    assert!(
        hollow.contains("slew nothing: face 1 does not agree"),
        "{hollow}"
    );
    let other = bar([0.0, -0.005, -0.010, -0.015, -0.020]);
    let other = level_lathe(&format!("{other}{away}"));
    assert!(
        other.contains("slew nothing: cut 1 does not agree"),
        "{other}"
    );
}

#[test]
fn a_collar_that_stands_out_is_named_and_nothing_slewed() {
    let told = level_lathe(&bar([0.020, 0.0, 0.0, 0.0, 0.0]));
    assert!(
        told.contains("This is no straight taper: the collar at 30 mm is 0.020 mm thicker"),
        "{told}"
    );
    assert!(
        told.contains("Suspect ways worn near the chuck, a grip that gave, an uneven cut"),
        "{told}"
    );
    assert!(!told.contains("twist explains this taper"), "{told}");
    // A level reads heights; ways that bend sideways taper the work with nothing to show for it (geometry).
    assert!(
        told.contains("A level cannot see the ways bend sideways"),
        "{told}"
    );
}

/// Long, thin, in a chuck alone: it whips, and its key comes out (common practice, no source).
#[test]
fn a_springy_bar_is_not_turned_into_a_headstock() {
    let thin = "[[cut]]\noverhang = 300\ncollars = [{ from_chuck = 20, diameter = 30 }, \
                { from_chuck = 280, diameter = 30.017 }]";
    let told = level_lathe(thin);
    assert!(told.contains("the bar stands out 10 diameters"), "{told}");
    assert!(!told.contains("slew the headstock"), "{told}");
    for words in [
        "Take the chuck key out",
        "whips at speed",
        "To cut again",
        "sharp tool",
        "same cross-slide setting",
    ] {
        assert!(told.contains(words), "no `{words}` in {told}");
    }
    let between = level_lathe(
        "[[between_centres]]\nlength = 1000\nforce = 1\nmicrometer = 0.001\ncollars = [{ from_headstock = 100, diameter = 80 }, \
         { from_headstock = 900, diameter = 80.016 }]",
    );
    // 0.016 mm over 800 mm are 0.020 mm over the bar: it stands half of that to the rear (geometry).
    assert!(
        between.contains("set the tailstock over to the front by 0.0100 mm"),
        "{between}"
    );
    assert!(
        !between.contains("class ordinary") && !between.contains("whips"),
        "{between}"
    );
}

/// A bar of 30 mm that stands out 300 mm with nothing at its other end bends under the tool, so its taper is held against no class.
#[test]
fn a_bar_that_bent_is_held_against_no_class() {
    let cut = std::fs::read_to_string("demo-data/test-cut.toml").expect("a demo");
    let lathe = cut.split("[[cut]]").next().expect("a lathe");
    let with = |diameter: f64| {
        let collars = [(30, 0.0), (155, 0.006), (290, 0.017)].map(|(at, more)| {
            format!("{{ from_chuck = {at}, diameter = {:.3} }}", diameter + more)
        });
        let machine = Machine::with(&format!(
            "{lathe}[[cut]]\nmicrometer = 0.002\noverhang = 300\ncollars = [{}]\n",
            collars.join(", ")
        ));
        machine.run("cut bed.toml").printed
    };
    let (thin, thick) = (with(30.0), with(80.0));
    assert!(thin.contains("Nothing can be concluded"), "{thin}");
    assert!(!thin.contains("class ordinary"), "{thin}");
    assert!(thick.contains("class ordinary"), "{thick}");
}
