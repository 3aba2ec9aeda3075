//! The object that `settle --json` prints.

use serde::Serialize;

use super::number::{Milli, Place, Plain};
use crate::geometry::Figure;
use crate::report::SettleReport;
use crate::settle::{Again, Approach, Moved, NoApproach, Quantity, Rate, Step, StepKind, Warmth};
use crate::survey::{Side, Survey};

/// Version of the object; a field may be added without a new one.
const FORMAT: u32 = 1;

/// The whole object.
#[derive(Debug, Serialize)]
pub struct SettleObject {
    format: u32,
    passes: Vec<usize>,
    steps: Vec<StepObject>,
    whole: Option<StepObject>,
    watched_days: Option<Plain>,
    rates: Vec<RateObject>,
    approach: ApproachObject,
    sinking: Vec<SinkingObject>,
    look_again: &'static str,
}

#[derive(Debug, Serialize)]
struct StepObject {
    from_pass: usize,
    to_pass: usize,
    between: &'static str,
    days: Option<Plain>,
    changed: Option<bool>,
    chi2: Option<Plain>,
    dof: Option<usize>,
    p: Option<Plain>,
    twist_mm_per_m: Option<Amount>,
    crown_front_mm: Option<Amount>,
    crown_rear_mm: Option<Amount>,
    cross: Vec<CrossChange>,
    front: Vec<HeightChange>,
    rear: Vec<HeightChange>,
    warmth: WarmthObject,
}

/// A figure in the unit of its name.
#[derive(Debug, Serialize)]
struct Amount {
    change: Milli,
    u95: Milli,
}

#[derive(Debug, Serialize)]
struct CrossChange {
    at_mm: Place,
    change_mm_per_m: Milli,
    u95_mm_per_m: Milli,
}

#[derive(Debug, Serialize)]
#[expect(
    clippy::struct_field_names,
    reason = "in JSON every name carries its unit"
)]
struct HeightChange {
    at_mm: Place,
    change_mm: Milli,
    u95_mm: Milli,
}

#[derive(Debug, Serialize)]
struct WarmthObject {
    top_over_below_k: Option<Plain>,
    explains_crown_mm: Option<Milli>,
    air_k: Option<Plain>,
}

#[derive(Debug, Serialize)]
struct RateObject {
    of: &'static str,
    unit: &'static str,
    per_week: Milli,
    u95: Milli,
    steady: Option<bool>,
}

#[derive(Debug, Serialize)]
struct ApproachObject {
    found: bool,
    why_not: Option<&'static str>,
    time_days: Option<Plain>,
    interval_days: Option<[Plain; 2]>,
    to_come: Vec<ToCome>,
}

#[derive(Debug, Serialize)]
struct ToCome {
    of: &'static str,
    unit: &'static str,
    change: Milli,
    interval: [Milli; 2],
}

#[derive(Debug, Serialize)]
struct SinkingObject {
    foot: String,
    rise_mm: Milli,
    u95_mm: Milli,
    rivals: Vec<String>,
}

impl SettleObject {
    /// Fills the object.
    pub fn of(report: &SettleReport) -> Self {
        let seen = report.settlement;
        let survey = report.survey;
        Self {
            format: FORMAT,
            passes: seen.passes.iter().map(|index| index + 1).collect(),
            steps: seen.steps.iter().map(step).collect(),
            whole: seen.whole.as_ref().map(step),
            watched_days: seen.watched.map(Plain::of),
            rates: seen.rates.iter().map(rate).collect(),
            approach: approach(&seen.approach),
            sinking: seen
                .sinking
                .iter()
                .map(|sinking| SinkingObject {
                    foot: foot(survey, sinking.foot),
                    rise_mm: Milli::of(sinking.rise.value),
                    u95_mm: Milli::of(sinking.rise.u95),
                    rivals: sinking
                        .rivals
                        .iter()
                        .map(|index| foot(survey, *index))
                        .collect(),
                })
                .collect(),
            look_again: match seen.again {
                Again::Soon => "soon",
                Again::Week => "week",
                Again::Month => "month",
                Again::HalfYear => "half_year",
            },
        }
    }
}

fn foot(survey: &Survey, index: usize) -> String {
    survey
        .feet
        .get(index)
        .map(|foot| foot.name.clone())
        .unwrap_or_default()
}

fn step(step: &Step) -> StepObject {
    let moved = |quantity: Quantity| step.moved.iter().find(|moved| moved.quantity == quantity);
    let [twist, front, rear] = [
        Quantity::Twist,
        Quantity::Crown(Side::Front),
        Quantity::Crown(Side::Rear),
    ]
    .map(moved);
    let heights = |moved: Option<&Moved>| {
        let places = moved
            .map(|moved| moved.places.as_slice())
            .unwrap_or_default();
        places
            .iter()
            .map(|place| HeightChange {
                at_mm: Place::of(place.at),
                change_mm: Milli::of(place.change),
                u95_mm: Milli::of(place.u95),
            })
            .collect()
    };
    let Warmth {
        top_over_below,
        crown,
        air,
    } = step.warmth;
    StepObject {
        from_pass: step.from + 1,
        to_pass: step.to + 1,
        between: match step.kind {
            StepKind::Settled => "time",
            StepKind::AnchorsPulledDown => "anchors_pulled_down",
            StepKind::AnchorsSlackened => "anchors_slackened",
        },
        days: step.days.map(Plain::of),
        changed: step.change.map(|change| change.is_real()),
        chi2: step.change.map(|change| Plain::of(change.chi_square)),
        dof: step.change.map(|change| change.freedom),
        p: step.change.map(|change| Plain::of(change.chance)),
        twist_mm_per_m: twist.map(amount),
        crown_front_mm: front.map(amount),
        crown_rear_mm: rear.map(amount),
        cross: twist
            .map(|moved| moved.places.as_slice())
            .unwrap_or_default()
            .iter()
            .map(|place| CrossChange {
                at_mm: Place::of(place.at),
                change_mm_per_m: Milli::of(place.change),
                u95_mm_per_m: Milli::of(place.u95),
            })
            .collect(),
        front: heights(front),
        rear: heights(rear),
        warmth: WarmthObject {
            top_over_below_k: top_over_below.map(Plain::of),
            explains_crown_mm: crown.map(|crown| Milli::of(crown.value)),
            air_k: air.map(Plain::of),
        },
    }
}

fn amount(moved: &Moved) -> Amount {
    Amount {
        change: Milli::of(moved.change.value),
        u95: Milli::of(moved.change.u95),
    }
}

fn name(quantity: Quantity) -> (&'static str, &'static str) {
    match quantity {
        Quantity::Twist => ("twist", "mm/m"),
        Quantity::Crown(Side::Front) => ("crown_front", "mm"),
        Quantity::Crown(Side::Rear) => ("crown_rear", "mm"),
    }
}

fn rate((quantity, rate): &(Quantity, Rate)) -> RateObject {
    let (of, unit) = name(*quantity);
    RateObject {
        of,
        unit,
        per_week: Milli::of(rate.per_week.value),
        u95: Milli::of(rate.per_week.u95),
        steady: rate.steady,
    }
}

fn approach(approach: &Result<Approach, NoApproach>) -> ApproachObject {
    match approach {
        Ok(found) => ApproachObject {
            found: true,
            why_not: None,
            time_days: Some(Plain::of(found.time)),
            interval_days: Some(found.interval.map(Plain::of)),
            to_come: found.to_come.iter().map(to_come).collect(),
        },
        Err(why) => ApproachObject {
            found: false,
            why_not: Some(match why {
                NoApproach::TooFewPasses { .. } => "too_few_passes",
                NoApproach::NothingMoved => "nothing_moved",
                NoApproach::NoEndInSight => "no_end_in_sight",
                NoApproach::OtherWay => "not_an_exponential_approach",
            }),
            time_days: None,
            interval_days: None,
            to_come: Vec::new(),
        },
    }
}

fn to_come((quantity, figure): &(Quantity, Figure)) -> ToCome {
    let (of, unit) = name(*quantity);
    ToCome {
        of,
        unit,
        change: Milli::of(figure.value),
        interval: [Milli::of(figure.low), Milli::of(figure.high)],
    }
}
