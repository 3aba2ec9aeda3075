//! A rough level and a fine one on the same bed.

use quarterturn::geometry::Figure;
use quarterturn::plan::{Advice, TurnPlan, plan};
use quarterturn::rehearse::{Scatter, Stations, VirtualBed};
use quarterturn::survey::{Survey, read};

const MACHINE: &str = r#"
format = 1
units = "mm"
[bed]
length = 5100
way_spacing = 450
held_down = true
[feet]
at = [150, 950, 1750, 2550, 3350, 4150, 4950]
lift_per_turn = 2
smallest_turn = "1/72"
[level.fine]
division = "0.02 mm/m"
base = 200
range = 100
repeat = 0.15
[level.rough]
division = "0.1 mm/m"
base = 300
range = 100
repeat = 0.15
[limits]
twist = "9 mm/m"
crown = [-9, 9]
"#;

/// Twist and both crowns as all passes together tell them.
fn told(survey: &Survey) -> [Figure; 3] {
    let last = survey.passes.len() - 1;
    let TurnPlan { predicted, .. } = plan(survey, last).expect("a plan");
    [predicted.twist, predicted.crown_front, predicted.crown_rear].map(|f| f.expect("known"))
}

/// A law of least squares: what is read besides never makes less known what was known without it. A rough level lies on other
/// places than a fine one, and was once taken for all there is to know of them.
#[test]
fn a_rough_pass_besides_makes_nothing_less_known() {
    for seed in 0..4 {
        let machine = read(MACHINE).expect("a survey");
        let mut bed = VirtualBed::new(&machine, seed, &Scatter::default()).expect("it stands");
        let mut pass = |level: &str| {
            let level = &machine.levels[level];
            let base = level.base.expect("it has a base");
            bed.take_pass(level, &Stations::chained(machine.bed.length, base))
        };
        let (mut rough, fine) = (pass("rough"), pass("fine"));
        rough.turned = Some(std::collections::BTreeMap::new());
        let with = |passes| Survey {
            passes,
            ..machine.clone()
        };
        let alone = told(&with(vec![fine.clone()]));
        let both = told(&with(vec![rough, fine]));
        for (alone, both) in alone.into_iter().zip(both) {
            let [before, then] = [alone, both].map(|figure| figure.high - figure.low);
            // The extreme is looked for at the places of both, and those of the rough level lie between those of the fine one.
            assert!(then <= 1.5 * before, "seed {seed}: {alone:?} {both:?}");
        }
    }
}

/// With every bubble off the scale the card asks for the rough level, says where to read with it, and states nothing that the form of
/// the bed would have to tell.
#[test]
fn off_the_scale_everywhere_the_rough_level_comes_next() {
    let text = MACHINE
        .replace("held_down = true", "held_down = false")
        .replace("[bed]", "[machine]\nmass = \"5600 kg\"\n[bed]")
        .replace("range = 100", "range = 10")
        + "[[pass]]\nlevel = \"fine\"\nstations = [500, 1500, 2500, 3500, 4500]\n\
           cross = [\">10F\", \">10F\", \">10F\", \">10F\", \">10F\"]\n\
           front = [\">10H\", \">10H\", \">10H\", \">10H\", \">10H\"]\n";
    let survey = read(&text).unwrap_or_else(|mistakes| panic!("{mistakes:#?}"));
    let plan = plan(&survey, 0).expect("a plan");
    let next = plan.next_pass.expect("there is something to read");
    assert_eq!(next.level, "rough");
    assert!(next.stations.cross.len() >= 7, "over every foot");
    let says = |wanted: fn(&Advice) -> bool| plan.advice.iter().any(wanted);
    assert!(says(|advice| matches!(
        advice,
        Advice::CoarserLevel { name: Some(_) }
    )));
    assert!(!says(|advice| matches!(advice, Advice::Feel { .. })));
    assert!(plan.loads.is_none());
}

/// Where only the rough level lay along the ways, with a base of its own, the fine one may be laid too.
#[test]
fn the_fine_level_may_lie_where_the_rough_one_lay() {
    let text = MACHINE
        .replace("twist = \"9 mm/m\"", "twist = \"0.04 mm/m\"")
        .replace("[-9, 9]", "[0, 0.07]");
    let mut asked = 0;
    for seed in 0..4 {
        let mut machine = read(&text).expect("a survey");
        let mut bed = VirtualBed::new(&machine, seed, &Scatter::default()).expect("it stands");
        let rough = bed.take_pass(
            &machine.levels["rough"],
            &Stations::chained(machine.bed.length, 0.3),
        );
        machine.passes.push(rough);
        let next = plan(&machine, 0).expect("a plan").next_pass;
        let Some(next) = next.filter(|next| next.level == "fine") else {
            continue;
        };
        // Both ways were read with the rough level alone, which cannot prove a crown within 0.07 mm.
        asked += usize::from(!next.stations.front.is_empty() && !next.stations.rear.is_empty());
    }
    assert!(asked > 0, "the fine level was never laid along");
}

/// After a walk of millimetres a resting bed leans across by nobody knows how much, and the fine level would be off its scale there. Along
/// both ways, chained, it tells the twist as well, and five times as finely as the rough level does: that one could only be read
/// round after round.
#[test]
fn the_fine_level_is_taken_where_it_sees_enough() {
    let survey = read(LEANS_ACROSS).expect("a survey");
    let next = plan(&survey, 1)
        .expect("a plan")
        .next_pass
        .expect("to read");
    assert_eq!(next.level, "fine");
    assert!(next.stations.cross.is_empty(), "{:?}", next.stations);
    assert!(next.packing.along < 0.0, "{:?}", next.packing);
}

const LEANS_ACROSS: &str = r#"
format = 1
[machine]
mass = "2700 kg"
[bed]
length = 2800
way_spacing = 350
held_down = false
[feet]
at = [130, 950, 1800, 2650]
lift_per_turn = 0.5
smallest_turn = "1/24"
[level.fine]
division = "0.02 mm/m"
base = 200
range = 10
repeat = 0.25
[level.rough]
division = "0.1 mm/m"
base = 200
range = 25
repeat = 0.25
[limits]
twist = "0.04 mm/m"
crown = [-0.01, 0.038]
[[pass]]
level = "rough"
cross_at = [130, 950, 1800, 2650]
front_at = [230, 950, 1800, 2550]
rear_at = [230, 950, 1800, 2550]
cross = ["3R", "3.25R", "4.5R", "5R"]
front = [">25T", ">25T", ">25T", ">25T"]
rear = [">25T", ">25T", ">25T", ">25T"]
hanging = []
[pass.turned]
F1 = 10
R1 = 11
F2 = 7
R2 = 7
F3 = 4
R3 = 4
[[pass]]
level = "rough"
front_at = [230, 600, 950, 1370, 1800, 2200, 2550]
rear_at = [230, 600, 950, 1370, 1800, 2200, 2550]
front = ["18T", "18.25T", "18.25T", "18.75T", "18.25T", "18T", "17.75T"]
rear = ["18.5T", "18.5T", "18.25T", "18T", "18.5T", "18.75T", "18.5T"]
hanging = []
"#;
