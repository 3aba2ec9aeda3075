//! Beds that only rest on their feet: what the card says of them, line by line, against made-up beds whose feet lift off.

use quarterturn::geometry::{Adjustment, BedShape, ReferenceLine};
use quarterturn::plan::{Action, TurnPlan, plan};
use quarterturn::rehearse::{Scatter, Stations, VirtualBed};
use quarterturn::response::History;
use quarterturn::survey::{Line, Survey};

const MACHINE: &str = r#"
format = 1
units = "mm"
[machine]
mass = "2600 kg"
headstock_mass = "500 kg"
headstock_at = 350
[bed]
length = 2500
way_spacing = 360
held_down = false
[feet]
at = [110, 870, 1630, 2390]
lift_per_turn = 1.5
smallest_turn = "1/72"
[level.fine]
division = "0.02 mm/m"
base = 200
[limits]
twist = "0.04 mm/m"
crown = [0, 0.02]
"#;

/// Beds looked at.
const BEDS: u64 = 12;

struct Machine {
    survey: Survey,
    bed: VirtualBed,
    card: TurnPlan,
}

/// A bed as a plan thinks it is, on an uneven floor, after a pass without errors.
fn machine(seed: u64) -> Machine {
    let mut survey = quarterturn::survey::read(MACHINE).expect("a survey");
    let uneven = Scatter {
        floor_waves: 5e-5,
        foot_height: 3e-5,
        ..Scatter::none()
    };
    let mut bed = VirtualBed::new(&survey, seed, &uneven).expect("it stands");
    let level = survey.levels["fine"].clone();
    let pass = bed.take_pass(&level, &Stations::chained(survey.bed.length, 0.2));
    survey.passes.push(pass);
    let card = plan(&survey, 0).expect("a plan");
    Machine { survey, bed, card }
}

fn hanging(bed: &VirtualBed) -> usize {
    let forces = bed.foot_forces().iter();
    forces.filter(|force| **force == 0.0).count()
}

/// Parts of a division to which a bubble is read (common practice, no source).
const READ_TO: f64 = 0.25;

/// What the bubble does on every line of the card, with feet hanging here and there, is what the card says, as near as a
/// bubble is read; a bed whose feet all push and pull would show something else.
#[test]
fn bubbles_go_as_the_card_says_while_feet_hang() {
    let (mut by_card, mut in_proportion) = (0.0, 0.0);
    let (mut watched, mut lines_with_hanging) = (0, 0);
    for seed in 0..BEDS {
        let Machine {
            survey,
            mut bed,
            card,
        } = machine(seed);
        let level = &survey.levels["fine"];
        let history = History::of(&survey, 0).expect("learned");
        for line in &card.lines {
            if line.action == Action::Seat {
                bed.seat(line.foot);
                continue;
            }
            let shown = |bed: &VirtualBed, at: Line, place: f64| {
                bed.true_slope(level, at, place).expect("it lies there") / level.division
            };
            let before = line.watch.map(|watch| shown(&bed, watch.line, watch.at));
            bed.turn(line.foot, line.quarter_turns);
            lines_with_hanging += usize::from(hanging(&bed) > 0);
            let (Some(watch), Some(before)) = (line.watch, before) else {
                continue;
            };
            let went = shown(&bed, watch.line, watch.at) - before;
            let (_, rise) = history.shown(watch.line, watch.at).expect("a place");
            let answer = rise.on(&history.influence().column(line.foot).into_owned());
            let proportional = answer * line.lift / level.division;
            watched += 1;
            by_card += (watch.to - watch.from - went).powi(2);
            in_proportion += (proportional - went).powi(2);
        }
    }
    assert!(lines_with_hanging > 10, "{lines_with_hanging}");
    assert!(
        by_card < in_proportion && by_card < READ_TO * READ_TO * f64::from(watched),
        "squares of {by_card:.2} and {in_proportion:.2} divisions on {watched} lines"
    );
}

/// The feet that hung are seated, and when the card is done every foot carries.
#[test]
fn a_card_leaves_no_foot_hanging() {
    let (mut hung, mut straight) = (0, 0);
    for seed in 0..BEDS {
        let Machine {
            mut survey,
            mut bed,
            card,
        } = machine(seed);
        hung += hanging(&bed);
        let loads = card.loads.as_ref().expect("masses are known");
        assert!(
            loads.iter().all(|foot| foot.after > 0.0),
            "seed {seed}: {loads:?}"
        );
        for line in &card.lines {
            if line.action == Action::Seat {
                bed.seat(line.foot);
            } else {
                bed.turn(line.foot, line.quarter_turns);
            }
        }
        assert_eq!(hanging(&bed), 0, "seed {seed}: {:?}", bed.foot_forces());
        let level = survey.levels["fine"].clone();
        survey.passes[0] = bed.take_pass(&level, &Stations::chained(survey.bed.length, 0.2));
        let now = plan(&survey, 0).expect("a plan").predicted;
        straight += usize::from(now.within_limits == Some(true));
    }
    assert!(hung > 10, "{hung}");
    // Seated by feel, which goes in steps of 8 um, and turned by count alone.
    assert!(straight as u64 > BEDS / 2, "{straight}");
}

/// No foot goes further than three times what the shape is out by and what the mean load squeezes a foot: one that carries
/// nothing is not free to go anywhere.
#[test]
fn no_foot_runs() {
    let mut turned = 0;
    for seed in 0..BEDS {
        let Machine { survey, card, .. } = machine(seed);
        let level = &survey.levels["fine"];
        let bed = &survey.bed;
        let adjusted = Adjustment::of(&survey.passes[0], level, bed.length, bed.way_spacing);
        let shape = BedShape::of(&adjusted.expect("read"), ReferenceLine::EndPoints);
        let ways = shape.ways().filter_map(|way| way.straightness);
        let width = survey.feet.iter().map(|foot| 2.0 * foot.across.abs());
        let out = ways
            .map(|straightness| straightness.value)
            .chain([shape.twist.expect("read").value * width.fold(0.0, f64::max)])
            .fold(0.0, f64::max);
        let history = History::of(&survey, 0).expect("learned");
        let model = &history.bearing().expect("it rests").model;
        let stiffness: f64 = model.feet.iter().map(|foot| foot.stiffness).sum();
        // The crown aimed at, and the rounding up to whole degrees.
        let spare = 0.01e-3 + 5e-6;
        let farthest = 3.0 * (out + spare + model.weight() / stiffness);
        for foot in 0..survey.feet.len() {
            let lines = card.lines.iter().filter(|line| line.foot == foot);
            let lift: f64 = lines.map(|line| line.lift).sum();
            turned += usize::from(lift != 0.0);
            assert!(
                lift.abs() <= farthest,
                "seed {seed}: {:.3} mm, the shape is out by {:.3} mm",
                lift * 1e3,
                out * 1e3
            );
        }
    }
    assert!(turned > 20, "{turned}");
}

/// What every foot is thought to carry, against what it does carry.
#[test]
fn loads_are_nearly_those_of_the_bed() {
    let (mut wrong, mut spread) = (0.0, 0.0);
    for seed in 0..BEDS {
        let Machine { mut bed, card, .. } = machine(seed);
        for line in card.lines.iter().filter(|line| line.action == Action::Seat) {
            bed.seat(line.foot);
        }
        let loads = card.loads.expect("masses are known");
        let mean = bed.foot_forces().iter().sum::<f64>() / loads.len() as f64;
        for (load, force) in loads.iter().zip(bed.foot_forces()) {
            wrong += (load.before - force).powi(2);
            spread += (force - mean).powi(2);
        }
    }
    assert!(wrong < 0.05 * spread, "{:.3}", wrong / spread);
}
