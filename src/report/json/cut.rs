//! The object that `cut --json` prints.

use serde::Serialize;

use super::number::{Milli, Place, Plain};
use crate::cut::conclusion::Cause;
use crate::cut::{
    ChosenTwist, Departure, Found, Left, NoConclusion, NotExplained, Testimony, Witness,
};
use crate::geometry::Figure;
use crate::report::CutReport;
use crate::survey::limit_class::TAPER_LENGTH;
use crate::survey::{BarHeld, Word};

/// Version of the object; a field may be added without a new one.
const FORMAT: u32 = 1;

/// The whole object.
#[derive(Debug, Serialize)]
pub struct CutObject {
    format: u32,
    cut: usize,
    held: &'static str,
    tool: &'static str,
    pass: Option<usize>,
    span_mm: [Place; 2],
    taper: Taper,
    barrel: Option<Amount>,
    scatter: Option<Scatter>,
    twist_explains: Option<Explained>,
    bar: Option<BarObject>,
    not_explained: Option<&'static str>,
    left: Option<LeftObject>,
    not_concluded: Option<&'static str>,
    not_straight: Option<NotStraight>,
    others: Vec<Other>,
}

/// What another cut or a faced disc says of the spindle.
#[derive(Debug, Serialize)]
struct Other {
    cut: Option<usize>,
    face: Option<usize>,
    points_to_rear: Slope,
}

/// How the bar gives way under the tool.
#[derive(Debug, Serialize)]
struct BarObject {
    diameters_out: Option<Plain>,
    largest_force_n: Plain,
    thicker_by_up_to_mm: Milli,
}

/// How the collars depart from a straight taper.
#[derive(Debug, Serialize)]
struct NotStraight {
    collar: Option<usize>,
    by_mm: Milli,
}

/// A figure in mm.
#[derive(Debug, Serialize)]
struct Amount {
    value_mm: Milli,
    u95_mm: Milli,
}

/// A figure in mm/m.
#[derive(Debug, Serialize)]
struct Slope {
    value_mm_per_m: Milli,
    u95_mm_per_m: Milli,
}

#[derive(Debug, Serialize)]
struct Taper {
    per_300_mm: Amount,
    class_limit_mm: Option<Milli>,
    verdict: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct Scatter {
    chi2: Plain,
    dof: usize,
    p: Plain,
}

#[derive(Debug, Serialize)]
struct Explained {
    per_300_mm: Amount,
    cross_slope_change: Slope,
    barrel: Option<Amount>,
    beyond_readings: bool,
}

#[derive(Debug, Serialize)]
struct LeftObject {
    per_300_mm: Amount,
    is_real: bool,
    may_be_the_bar: bool,
    barrel: Option<Amount>,
    headstock: Option<Headstock>,
    tailstock: Option<Tailstock>,
}

#[derive(Debug, Serialize)]
struct Headstock {
    points_to_rear: Slope,
    move_outer_end_to_rear: Option<Amount>,
    chosen_twist: Option<Chosen>,
}

#[derive(Debug, Serialize)]
struct Chosen {
    #[serde(rename = "do")]
    what: &'static str,
    twist: Option<Slope>,
    most_mm_per_m: Option<Milli>,
}

#[derive(Debug, Serialize)]
struct Tailstock {
    stands_to_rear: Amount,
}

impl CutObject {
    /// Fills the object.
    pub fn of(report: &CutReport) -> Self {
        let seen = report.conclusion;
        let verdict = report.taper_verdict();
        Self {
            format: FORMAT,
            cut: report.number,
            held: match report.cut.held {
                BarHeld::InChuck { .. } => "chuck",
                BarHeld::BetweenCentres { .. } => "between_centres",
            },
            tool: report.cut.tool.word(),
            pass: seen.pass.map(|index| index + 1),
            span_mm: seen.taper.span.map(Place::of),
            taper: Taper {
                per_300_mm: over_300(seen.taper.rate),
                class_limit_mm: verdict.map(|(_, limit)| Milli::of(limit)),
                verdict: verdict.map(|(verdict, _)| verdict.word()),
            },
            barrel: seen.taper.barrel.map(amount),
            scatter: seen.taper.scatter.map(|scatter| Scatter {
                chi2: Plain::of(scatter.chi_square),
                dof: scatter.freedom,
                p: Plain::of(scatter.chance),
            }),
            twist_explains: seen.explained.as_ref().ok().map(|explained| Explained {
                per_300_mm: over_300(explained.rate),
                cross_slope_change: slope(explained.cross_slope),
                barrel: explained.barrel.map(amount),
                beyond_readings: explained.beyond_readings,
            }),
            not_explained: seen.explained.as_ref().err().map(|why| match why {
                NotExplained::NoCentreHeight => "no_centre_height",
                NotExplained::NoPlace => "no_place_of_the_chuck",
                NotExplained::OffTheBed => "off_the_bed",
                NotExplained::NoTwist => "no_twist_surveyed",
                NotExplained::NoPass => "no_pass",
            }),
            bar: seen.deflection.as_ref().map(|deflection| BarObject {
                diameters_out: deflection.diameters().map(Plain::of),
                largest_force_n: Plain::of(deflection.force),
                thicker_by_up_to_mm: Milli::of(deflection.most()),
            }),
            left: seen.left.as_ref().ok().map(left),
            not_concluded: seen.left.as_ref().err().map(|why| match why {
                NoConclusion::TailstockUsed => "tailstock_used",
                NoConclusion::Sagged => "sagged",
                NoConclusion::Unsupported => "unsupported",
                NoConclusion::NoDiameter => "no_diameter",
                NoConclusion::NotExplained => "not_explained",
                NoConclusion::NotStraight(_) => "not_straight",
            }),
            not_straight: match seen.left {
                Err(NoConclusion::NotStraight(departure)) => Some(not_straight(departure)),
                _ => None,
            },
            others: report.testimony.iter().map(other).collect(),
        }
    }
}

fn amount(figure: Figure) -> Amount {
    Amount {
        value_mm: Milli::of(figure.value),
        u95_mm: Milli::of(figure.u95),
    }
}

fn over_300(rate: Figure) -> Amount {
    Amount {
        value_mm: Milli::of(rate.value * TAPER_LENGTH),
        u95_mm: Milli::of(rate.u95 * TAPER_LENGTH),
    }
}

fn slope(figure: Figure) -> Slope {
    Slope {
        value_mm_per_m: Milli::of(figure.value),
        u95_mm_per_m: Milli::of(figure.u95),
    }
}

fn left(left: &Left) -> LeftObject {
    let (headstock, tailstock) = match left.cause {
        Cause::Headstock {
            to_rear,
            movement,
            chosen,
        } => (
            Some(Headstock {
                points_to_rear: slope(to_rear),
                move_outer_end_to_rear: movement.map(amount),
                chosen_twist: chosen.map(chosen_twist),
            }),
            None,
        ),
        Cause::Tailstock { to_rear } => (
            None,
            Some(Tailstock {
                stands_to_rear: amount(to_rear),
            }),
        ),
    };
    LeftObject {
        per_300_mm: over_300(left.rate),
        is_real: left.found == Found::Something,
        may_be_the_bar: left.found == Found::MaybeTheBar,
        barrel: left.barrel.map(amount),
        headstock,
        tailstock,
    }
}

fn other(told: &Testimony) -> Other {
    let (cut, face) = match told.witness {
        Witness::Cut(number) => (Some(number), None),
        Witness::Face(number) => (None, Some(number)),
    };
    Other {
        cut,
        face,
        points_to_rear: slope(told.to_rear),
    }
}

fn not_straight(departure: Departure) -> NotStraight {
    let (collar, by) = match departure {
        Departure::Collar { collar, by } => (Some(collar + 1), by),
        Departure::Bent(by) | Departure::Scattered(by) => (None, by),
    };
    NotStraight {
        collar,
        by_mm: Milli::of(by),
    }
}

fn chosen_twist(chosen: ChosenTwist) -> Chosen {
    let (what, twist, most) = match chosen {
        ChosenTwist::NothingToCancel => ("nothing", None, None),
        ChosenTwist::Aim { twist } => ("aim", Some(twist), None),
        ChosenTwist::SlewHeadstock { twist, most } => ("slew_headstock", Some(twist), Some(most)),
        ChosenTwist::NoLimit { twist } => ("set_a_limit", Some(twist), None),
    };
    Chosen {
        what,
        twist: twist.map(slope),
        most_mm_per_m: most.map(Milli::of),
    }
}
