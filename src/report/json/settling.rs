//! What would settle an unsure verdict, as an object.

use serde::Serialize;

use super::number::{Milli, Place};
use crate::geometry::{Remedy, Settling, Subject};
use crate::survey::Side;

/// One remedy for one figure.
#[derive(Debug, Serialize)]
pub struct SettlingObject {
    figure: &'static str,
    /// Length of the part that a local limit is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    over_mm: Option<Place>,
    #[serde(flatten)]
    remedy: RemedyObject,
    #[serde(skip_serializing_if = "Option::is_none")]
    u95_mm_per_m: Option<Milli>,
    #[serde(skip_serializing_if = "Option::is_none")]
    u95_mm: Option<Milli>,
    settles: bool,
}

#[derive(Debug, Serialize)]
#[serde(tag = "remedy", rename_all = "snake_case")]
enum RemedyObject {
    Passes { passes: usize },
    Reversal,
    DenserStations,
    Division { division_mm_per_m: Milli },
    Level { level: String },
}

impl SettlingObject {
    /// Fills the object.
    pub fn of(settling: &Settling) -> Self {
        let u95 = Some(Milli::of(settling.u95));
        let (figure, is_slope) = match settling.subject {
            Subject::Twist => ("twist", true),
            Subject::Crown(Side::Front) => ("crown_front", false),
            Subject::Crown(Side::Rear) => ("crown_rear", false),
            Subject::Straightness(Side::Front) => ("straightness_front", false),
            Subject::Straightness(Side::Rear) => ("straightness_rear", false),
            Subject::TwistPerMetre => ("twist_per_metre", true),
            Subject::Local(Side::Front, _) => ("local_front", false),
            Subject::Local(Side::Rear, _) => ("local_rear", false),
            Subject::Convex(Side::Front) => ("convex_front", false),
            Subject::Convex(Side::Rear) => ("convex_rear", false),
        };
        Self {
            figure,
            over_mm: match settling.subject {
                Subject::Local(_, limit) => Some(Place::of(limit.over)),
                _ => None,
            },
            remedy: match &settling.remedy {
                Remedy::Passes(passes) => RemedyObject::Passes { passes: *passes },
                Remedy::Reversal => RemedyObject::Reversal,
                Remedy::DenserStations => RemedyObject::DenserStations,
                Remedy::Division(division) => RemedyObject::Division {
                    division_mm_per_m: Milli::of(*division),
                },
                Remedy::Level(level) => RemedyObject::Level {
                    level: level.clone(),
                },
            },
            u95_mm_per_m: u95.filter(|_| is_slope),
            u95_mm: u95.filter(|_| !is_slope),
            settles: settling.settles,
        }
    }
}
