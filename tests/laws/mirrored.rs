//! A bed keeps its turns whatever its sides and ends are called: which is the front and which the headstock's end is a name, and
//! statics knows none.

// Places are whole micrometres and feet are few: no cast loses anything here.
#![allow(clippy::cast_possible_truncation, clippy::cast_possible_wrap)]
#![allow(clippy::format_push_string)]

use std::collections::BTreeMap;

use proptest::prelude::*;
use quarterturn::plan::{Action, TurnPlan, plan};
use quarterturn::survey::{self, Line, Survey};

/// A made-up bed; every place in millimetres, every reading in quarters of a division.
#[derive(Debug, Clone)]
struct Bed {
    length: i32,
    feet: Vec<i32>,
    stations: Vec<i32>,
    /// Readings across, along the front way and along the rear way, pass by pass.
    passes: Vec<[Vec<i32>; 3]>,
    /// What was turned after every pass but the last: front or rear foot, its pair, twelfths of a turn.
    turned: Vec<(bool, usize, i32)>,
    held_down: bool,
    /// Parts of a turn that can be counted.
    smallest_turn: u32,
}

/// A corner from which it is listed.
#[derive(Debug, Clone, Copy)]
struct Listed {
    front_for_rear: bool,
    from_the_other_end: bool,
}

const AS_IT_IS: Listed = Listed {
    front_for_rear: false,
    from_the_other_end: false,
};

impl Listed {
    fn others() -> [Self; 3] {
        [(true, false), (false, true), (true, true)].map(|(front_for_rear, end)| Self {
            front_for_rear,
            from_the_other_end: end,
        })
    }

    /// These, in the order in which they stand from here.
    fn list<T: Clone>(self, listed: &[T], seen: impl Fn(&T) -> String) -> String {
        let mut listed: Vec<String> = listed.iter().map(seen).collect();
        if self.from_the_other_end {
            listed.reverse();
        }
        listed.join(", ")
    }

    fn at(self, length: i32, at: i32) -> i32 {
        if self.from_the_other_end {
            length - at
        } else {
            at
        }
    }
}

impl Bed {
    fn listed(&self, listed: Listed) -> String {
        let places =
            |places: &[i32]| listed.list(places, |at| listed.at(self.length, *at).to_string());
        let readings = |quarters: &[i32], letters: [char; 2], turned: bool| {
            listed.list(quarters, |quarters| {
                let quarters = if turned { -quarters } else { *quarters };
                let letter = letters[usize::from(quarters < 0)];
                let divisions = f64::from(quarters.abs()) / 4.0;
                if quarters == 0 {
                    "\"0\"".to_owned()
                } else {
                    format!("\"{divisions}{letter}\"")
                }
            })
        };
        let mut text = format!(
            "format = 1\nbed = {{ length = {}, way_spacing = 400, held_down = {} }}\nmachine = {{ mass = 2600 }}\n\
             feet = {{ at = [{}], lift_per_turn = 1.5, smallest_turn = \"1/{}\" }}\n\
             level.fine = {{ division = \"0.02 mm/m\", base = 200, range = 40 }}\n\
             limits = {{ twist = \"0.03 mm/m\", crown = [-0.01, 0.02] }}\n",
            self.length,
            self.held_down,
            places(&self.feet),
            self.smallest_turn
        );
        for (number, [cross, front, rear]) in self.passes.iter().enumerate() {
            let along = |quarters| readings(quarters, ['T', 'H'], listed.from_the_other_end);
            let ways = if listed.front_for_rear {
                [rear, front]
            } else {
                [front, rear]
            };
            let [front, rear] = ways.map(|way| along(way));
            let cross = readings(cross, ['F', 'R'], listed.front_for_rear);
            let stations = places(&self.stations);
            text += &format!(
                "[[pass]]\nlevel = \"fine\"\nstations = [{stations}]\ncross = [{cross}]\nfront = [{front}]\nrear = [{rear}]\n"
            );
            if number + 1 < self.passes.len() {
                text += "[pass.turned]\n";
                for &(is_front, pair, twelfths) in &self.turned {
                    let letter = if is_front == listed.front_for_rear {
                        'R'
                    } else {
                        'F'
                    };
                    let pairs = self.feet.len();
                    let pair = pair % pairs;
                    let number = if listed.from_the_other_end {
                        pairs - pair
                    } else {
                        pair + 1
                    };
                    text += &format!("{letter}{number} = {}\n", f64::from(twelfths) / 3.0);
                }
            }
        }
        text
    }
}

/// Every line of a card with what it says to turn and to watch, and what to read next, said from the corner of the bed as it is. Numbers as their
/// bits, places in micrometres.
fn card(survey: &Survey, plan: &TurnPlan, listed: Listed) -> Vec<[i64; 7]> {
    let um = |at: f64| {
        let at = if listed.from_the_other_end {
            survey.bed.length - at
        } else {
            at
        };
        (at * 1e6).round() as i64
    };
    let is_front = |front: bool| i64::from(front != listed.front_for_rear);
    let bits = |number: f64| (number + 0.0).to_bits() as i64;
    let line = |line: Line| match line {
        Line::Cross => 2,
        Line::Front => is_front(true),
        Line::Rear => is_front(false),
    };
    let shown = |line: Line, shown: f64| {
        let turned = match line {
            Line::Cross => listed.front_for_rear,
            _ => listed.from_the_other_end,
        };
        bits(if turned { -shown } else { shown })
    };
    let foot = |foot: usize| {
        let foot = &survey.feet[foot];
        [um(foot.at), is_front(foot.across > 0.0)]
    };
    // Feet to leave are named as the survey lists them.
    let turned = plan
        .lines
        .iter()
        .filter(|line| line.action != Action::Leave);
    let turned = turned.map(|turned| {
        let [at, front] = foot(turned.foot);
        let watched = turned.watch.map_or([-1, -1, 0, 0], |watch| {
            let to = shown(watch.line, watch.to);
            [line(watch.line), um(watch.at), to, bits(turned.no_further)]
        });
        let [line, place, to, farthest] = watched;
        [
            at,
            front,
            bits(turned.quarter_turns),
            line,
            place,
            to,
            farthest,
        ]
    });
    let looks = plan.looks.iter().map(|look| {
        let [at, front] = foot(look.foot);
        let shows = shown(look.line, look.shows);
        [at, front, 0, line(look.line), um(look.at), shows, 0]
    });
    let mut next: Vec<[i64; 7]> = Vec::new();
    if let Some(next_pass) = &plan.next_pass {
        let stations = &next_pass.stations;
        let lines = [
            (Line::Cross, &stations.cross),
            (Line::Front, &stations.front),
            (Line::Rear, &stations.rear),
        ];
        for (read, places) in lines {
            let places = places.iter();
            next.extend(places.map(|at| [line(read), um(*at), 0, 0, 0, 0, 0]));
        }
    }
    next.sort_unstable();
    turned.chain(looks).chain(next).collect()
}

/// A card, the loads by foot and the figures that it should leave, said from the corner of the bed as it is.
type Planned = (
    Vec<[i64; 7]>,
    BTreeMap<[i64; 2], [u64; 2]>,
    Vec<Option<u64>>,
);

fn planned(bed: &Bed, listed: Listed) -> Planned {
    let text = bed.listed(listed);
    let survey = survey::read(&text).unwrap_or_else(|mistakes| {
        panic!("{}", survey::render(&mistakes, "survey", &text, false));
    });
    let plan = plan(&survey, survey.passes.len() - 1).expect("a plan");
    let loads = plan.loads.iter().flatten().map(|load| {
        let um = (load.place.at * 1e6).round() as i64;
        let length = i64::from(bed.length) * 1000;
        let at = if listed.from_the_other_end {
            length - um
        } else {
            um
        };
        let front = i64::from((load.place.across > 0.0) != listed.front_for_rear);
        ([at, front], [load.before.to_bits(), load.after.to_bits()])
    });
    let predicted = &plan.predicted;
    let mut crowns = [predicted.crown_front, predicted.crown_rear];
    if listed.front_for_rear {
        crowns.reverse();
    }
    let figures = crowns.into_iter().chain([predicted.twist]);
    let figures = figures.map(|figure| figure.map(|figure| figure.value.to_bits()));
    (
        card(&survey, &plan, listed),
        loads.collect(),
        figures.collect(),
    )
}

fn bed() -> impl Strategy<Value = Bed> {
    let feet = (3..=4_usize, 2000..3500_i32, 80..260_i32, 80..260_i32).prop_flat_map(
        |(pairs, length, first, last)| {
            let shifts = prop::collection::vec(-90..90_i32, pairs);
            (Just(length), shifts, Just(first), Just(last))
        },
    );
    feet.prop_flat_map(|(length, shifts, first, last)| {
        let apart = (length - first - last) / (shifts.len() as i32 - 1);
        let ends = [0, shifts.len() - 1];
        let feet: Vec<i32> = shifts
            .iter()
            .enumerate()
            .map(|(pair, shift)| {
                let shift = if ends.contains(&pair) { 0 } else { *shift };
                first + pair as i32 * apart + shift
            })
            .collect();
        let stations: Vec<i32> = (150..=length - 110).step_by(200).collect();
        // A tilt, an even twist or bow, and what a person misses.
        let reading = (-12..=12_i32, -12..=12_i32);
        let line = {
            let stations = stations.clone();
            move |tilt: i32, bow: i32, missed: Vec<i32>| -> Vec<i32> {
                let along = |at: &i32| bow * (2 * at - length) / length;
                let missed = stations
                    .iter()
                    .zip(missed)
                    .map(|(at, m)| tilt + along(at) + m);
                missed.collect()
            }
        };
        let missed = || prop::collection::vec(-2..=2_i32, stations.len());
        let lines = [reading.clone(), reading.clone(), reading].map(|reading| {
            let line = line.clone();
            (reading, missed()).prop_map(move |((tilt, bow), missed)| line(tilt, bow, missed))
        });
        let turned = prop::collection::vec((any::<bool>(), 0..4_usize, -6..=6_i32), 1..=1);
        let passes = prop::collection::vec(lines, 1..=2);
        let smallest = prop_oneof![Just(12), Just(24), Just(72)];
        (passes, turned, any::<bool>(), smallest).prop_map(
            move |(passes, turned, held_down, smallest_turn)| Bed {
                length,
                feet: feet.clone(),
                stations: stations.clone(),
                passes,
                turned,
                held_down,
                smallest_turn,
            },
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(10))]

    #[test]
    fn a_bed_listed_from_another_corner_gets_the_same_turns(bed in bed()) {
        let as_it_is = planned(&bed, AS_IT_IS);
        for listed in Listed::others() {
            prop_assert_eq!(&planned(&bed, listed), &as_it_is, "{:?}\n{}", listed, bed.listed(listed));
        }
    }
}
