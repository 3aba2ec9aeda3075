//! What else the limits and the aim ask for, in the object that `shape --json` prints.

use serde::Serialize;

use super::number::{Milli, Place};
use crate::geometry::{Convexity, Figure, LocalStraightness, LocalWay, Verdict};
use crate::report::ShapeReport;
use crate::survey::{LimitClass, Side, Word};

/// Figures beside twist, crown and straightness; `null` or empty where nothing asks for them.
#[derive(Debug, Serialize)]
pub(super) struct ParticularsObject {
    limit_class: Option<&'static str>,
    twist_per_metre: Option<TwistObject>,
    local: Vec<LocalObject>,
    convex: Vec<ConvexObject>,
    twist_from_chosen: Option<TwistObject>,
    straightness_from_chosen: Vec<WayObject>,
}

#[derive(Debug, Serialize)]
struct TwistObject {
    value_mm_per_m: Milli,
    u95_mm_per_m: Milli,
    interval_mm_per_m: [Milli; 2],
    limit_mm_per_m: Option<Milli>,
    verdict: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct LocalObject {
    over_mm: Place,
    limit_mm: Milli,
    ways: Vec<LocalWayObject>,
}

#[derive(Debug, Serialize)]
struct LocalWayObject {
    #[serde(flatten)]
    way: WayObject,
    part_mm: [Place; 2],
    scaled: bool,
}

#[derive(Debug, Serialize)]
struct WayObject {
    way: &'static str,
    value_mm: Milli,
    u95_mm: Milli,
    interval_mm: [Milli; 2],
    verdict: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct ConvexObject {
    way: &'static str,
    at_mm: Place,
    lowest_mm: Milli,
    u95_mm: Milli,
    verdict: &'static str,
}

impl ParticularsObject {
    pub fn of(report: &ShapeReport) -> Self {
        let limits = &report.survey.limits;
        let particulars = report.particulars;
        let twist = |figure: Option<Figure>, limit: Option<f64>| {
            figure.map(|figure| TwistObject {
                value_mm_per_m: Milli::of(figure.value),
                u95_mm_per_m: Milli::of(figure.u95),
                interval_mm_per_m: [figure.low, figure.high].map(Milli::of),
                limit_mm_per_m: limit.map(Milli::of),
                verdict: limit.map(|limit| figure.verdict(0.0, limit).word()),
            })
        };
        Self {
            limit_class: limits.class.map(LimitClass::word),
            twist_per_metre: twist(particulars.twist_per_metre, limits.twist_per_metre),
            local: particulars.local.iter().map(local).collect(),
            convex: particulars.convex.iter().map(convex).collect(),
            twist_from_chosen: twist(particulars.twist_from_chosen, limits.twist),
            straightness_from_chosen: particulars
                .straightness_from_chosen
                .iter()
                .map(|(side, figure)| way(*side, figure, limits.straightness))
                .collect(),
        }
    }
}

fn way(of: Side, figure: &Figure, limit: Option<f64>) -> WayObject {
    WayObject {
        way: of.word(),
        value_mm: Milli::of(figure.value),
        u95_mm: Milli::of(figure.u95),
        interval_mm: [figure.low, figure.high].map(Milli::of),
        verdict: limit.map(|limit| Verdict::word(figure.verdict(0.0, limit))),
    }
}

fn local(local: &LocalStraightness) -> LocalObject {
    LocalObject {
        over_mm: Place::of(local.limit.over),
        limit_mm: Milli::of(local.limit.height),
        ways: local
            .ways
            .iter()
            .map(|found: &LocalWay| LocalWayObject {
                way: way(found.side, &found.departure, Some(local.limit.height)),
                part_mm: found.part.map(Place::of),
                scaled: found.scaled,
            })
            .collect(),
    }
}

fn convex(found: &Convexity) -> ConvexObject {
    ConvexObject {
        way: found.side.word(),
        at_mm: Place::of(found.at),
        lowest_mm: Milli::of(found.lowest.value),
        u95_mm: Milli::of(found.lowest.u95),
        verdict: found.verdict.word(),
    }
}
