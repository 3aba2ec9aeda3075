//! The object that `turns --json` prints: that of `shape --json`, and the plan.

use serde::Serialize;

use super::advice::AdviceObject;
use super::next_pass::NextPassObject;
use super::number::{Milli, Place, Plain};
use super::shape::ShapeObject;
use crate::geometry::Figure;
use crate::plan::{Action, CardLine, Look, Prediction, Proof, Watch};
use crate::report::TurnsReport;
use crate::report::words::{side, way_of_turn, way_round};
use crate::survey::{Level, Side, Survey, format_reading};

/// The whole object.
#[derive(Debug, Serialize)]
pub struct TurnsObject {
    #[serde(flatten)]
    shape: ShapeObject,
    turns: Vec<Turn>,
    look_again: Vec<LookedAt>,
    predicted: Predicted,
    proof: Proven,
    advice: Vec<AdviceObject>,
    next_pass: Option<NextPassObject>,
    loads: Option<Vec<Load>>,
}

#[derive(Debug, Serialize)]
struct Turn {
    trip: usize,
    foot: String,
    side: &'static str,
    at_mm: Place,
    #[serde(rename = "do")]
    action: &'static str,
    quarter_turns: Plain,
    screw: Option<&'static str>,
    lift_mm: Milli,
    watch: Option<Watched>,
    no_further_quarter_turns: Option<Plain>,
}

#[derive(Debug, Serialize)]
struct Watched {
    reading: &'static str,
    at_mm: Place,
    from: String,
    to: String,
}

#[derive(Debug, Serialize)]
struct LookedAt {
    foot: String,
    reading: &'static str,
    at_mm: Place,
    shows: String,
}

#[derive(Debug, Serialize)]
struct Predicted {
    twist_mm_per_m: Option<Milli>,
    crown_front_mm: Option<Milli>,
    crown_rear_mm: Option<Milli>,
    within_limits: Option<bool>,
    twist_interval_mm_per_m: Option<[Milli; 2]>,
    crown_interval_front_mm: Option<[Milli; 2]>,
    crown_interval_rear_mm: Option<[Milli; 2]>,
    /// What each way departs to the other side than its crown or sag.
    other_side_front_mm: Option<Milli>,
    other_side_rear_mm: Option<Milli>,
    other_side_interval_front_mm: Option<[Milli; 2]>,
    other_side_interval_rear_mm: Option<[Milli; 2]>,
    twist_per_metre_mm_per_m: Option<Milli>,
    straightness_front_mm: Option<Milli>,
    straightness_rear_mm: Option<Milli>,
    local: Vec<LocallyPredicted>,
    lowest_front_mm: Option<Milli>,
    lowest_rear_mm: Option<Milli>,
}

/// What is left over any part of a way.
#[derive(Debug, Serialize)]
struct LocallyPredicted {
    over_mm: Place,
    way: &'static str,
    value_mm: Milli,
}

#[derive(Debug, Serialize)]
struct Proven {
    optimal: bool,
    gap: Plain,
}

#[derive(Debug, Serialize)]
struct Load {
    foot: String,
    before_n: Plain,
    after_n: Plain,
    share_before: Plain,
    share_after: Plain,
}

impl TurnsObject {
    /// Fills the object.
    pub fn of(report: &TurnsReport) -> Self {
        let survey = report.shape.survey;
        let plan = report.plan;
        let loads = plan.loads.as_ref().map(|loads| {
            survey
                .feet
                .iter()
                .zip(loads)
                .map(|(foot, load)| Load {
                    foot: foot.name.clone(),
                    before_n: Plain::of(load.before),
                    after_n: Plain::of(load.after),
                    share_before: Plain::of(load.share_before),
                    share_after: Plain::of(load.share_after),
                })
                .collect()
        });
        Self {
            shape: ShapeObject::of(&report.shape),
            turns: plan
                .lines
                .iter()
                .filter_map(|line| turn(line, survey, report.shape.level))
                .collect(),
            look_again: plan
                .looks
                .iter()
                .filter_map(|look| looked_at(look, survey, report.shape.level))
                .collect(),
            predicted: predicted(&plan.predicted),
            proof: match plan.proof {
                Proof::Optimal => Proven {
                    optimal: true,
                    gap: Plain::of(0.0),
                },
                Proof::Gap(gap) => Proven {
                    optimal: false,
                    gap: Plain::of(gap),
                },
            },
            advice: plan
                .advice
                .iter()
                .map(|advice| AdviceObject::of(advice, survey))
                .collect(),
            next_pass: plan.next_pass.as_ref().map(NextPassObject::of),
            loads,
        }
    }
}

fn turn(line: &CardLine, survey: &Survey, level: &Level) -> Option<Turn> {
    let foot = survey.feet.get(line.foot)?;
    let (action, screw) = match line.action {
        Action::Raise => ("raise", way_of_turn(foot, line.quarter_turns)),
        Action::Lower => ("lower", way_of_turn(foot, line.quarter_turns)),
        Action::Seat => ("seat", Some(way_round(foot.clockwise, true))),
        Action::Leave => ("leave", None),
    };
    let turns = matches!(line.action, Action::Raise | Action::Lower);
    Some(Turn {
        trip: line.trip,
        foot: foot.name.clone(),
        side: side(foot.side),
        at_mm: Place::of(foot.at),
        action,
        quarter_turns: Plain::of(line.quarter_turns),
        screw,
        lift_mm: Milli::of(line.lift),
        watch: line.watch.as_ref().map(|watch| watched(watch, level)),
        no_further_quarter_turns: turns.then(|| Plain::of(line.no_further)),
    })
}

fn looked_at(look: &Look, survey: &Survey, level: &Level) -> Option<LookedAt> {
    Some(LookedAt {
        foot: survey.feet.get(look.foot)?.name.clone(),
        reading: look.line.name(),
        at_mm: Place::of(look.at),
        shows: format_reading(look.line, look.shows, level.resolution),
    })
}

fn watched(watch: &Watch, level: &Level) -> Watched {
    let shown = |divisions| format_reading(watch.line, divisions, level.resolution);
    Watched {
        reading: watch.line.name(),
        at_mm: Place::of(watch.at),
        from: shown(watch.from),
        to: shown(watch.to),
    }
}

fn predicted(predicted: &Prediction) -> Predicted {
    let value = |figure: Option<Figure>| figure.map(|figure| Milli::of(figure.value));
    let particulars = &predicted.particulars;
    let straightness = |side: Side| {
        let mut ways = particulars.straightness_from_chosen.iter();
        let found = ways.find(|(of, _)| *of == side);
        found.map(|(_, figure)| Milli::of(figure.value))
    };
    let lowest = |side: Side| {
        let found = particulars.convex.iter().find(|way| way.side == side);
        found.map(|way| Milli::of(way.lowest.value))
    };
    let interval = |figure: Option<Figure>| {
        figure.map(|figure| [Milli::of(figure.low), Milli::of(figure.high)])
    };
    let [front, rear] = predicted.opposite;
    Predicted {
        twist_mm_per_m: value(predicted.twist),
        crown_front_mm: value(predicted.crown_front),
        crown_rear_mm: value(predicted.crown_rear),
        within_limits: predicted.within_limits,
        twist_interval_mm_per_m: interval(predicted.twist),
        crown_interval_front_mm: interval(predicted.crown_front),
        crown_interval_rear_mm: interval(predicted.crown_rear),
        other_side_front_mm: value(front),
        other_side_rear_mm: value(rear),
        other_side_interval_front_mm: interval(front),
        other_side_interval_rear_mm: interval(rear),
        twist_per_metre_mm_per_m: value(particulars.twist_per_metre),
        straightness_front_mm: straightness(Side::Front),
        straightness_rear_mm: straightness(Side::Rear),
        local: particulars
            .local
            .iter()
            .flat_map(|local| {
                local.ways.iter().map(|way| LocallyPredicted {
                    over_mm: Place::of(local.limit.over),
                    way: side(way.side),
                    value_mm: Milli::of(way.departure.value),
                })
            })
            .collect(),
        lowest_front_mm: lowest(Side::Front),
        lowest_rear_mm: lowest(Side::Rear),
    }
}
