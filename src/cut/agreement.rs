//! Whether what else was cut says of the spindle what a bar says.
//!
//! A disc faced on a machine whose cross-slide runs square to the ways comes out hollow where the spindle points to the
//! tool's side, and with its middle standing out where it points away from it: by the angle times half the diameter
//! (geometry).

use super::bar::USUAL_MICROMETER;
use super::conclusion::{Cause, Conclusion};
use crate::geometry::Figure;
use crate::survey::{Face, Side, Survey};

/// What else was cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Witness {
    /// The cut of this number, from 1.
    Cut(usize),
    /// The faced disc of this number, from 1.
    Face(usize),
}

/// What a witness says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Testimony {
    /// Which one it is.
    pub witness: Witness,
    /// Angle of the spindle to the rear, away from the headstock, m/m.
    pub to_rear: Figure,
}

impl Testimony {
    /// What all other cuts in the chuck, but that of this index, and all faced discs say.
    pub fn all(survey: &Survey, index: usize) -> Vec<Self> {
        let cuts = survey.cuts.iter().enumerate();
        let cuts = cuts.filter(|(other, _)| *other != index);
        let cuts = cuts.filter_map(|(other, cut)| {
            let left = Conclusion::of(survey, cut, None).ok()?.left.ok()?;
            let Cause::Headstock { to_rear, .. } = left.cause else {
                return None;
            };
            Some(Self {
                witness: Witness::Cut(other + 1),
                to_rear,
            })
        });
        let faces = survey.faces.iter().enumerate().map(|(index, face)| Self {
            witness: Witness::Face(index + 1),
            to_rear: of_face(face),
        });
        cuts.chain(faces).collect()
    }

    /// Whether it and this angle may be the same.
    pub fn agrees(&self, to_rear: Figure) -> bool {
        let apart = self.to_rear.value - to_rear.value;
        apart.abs() <= self.to_rear.u95.hypot(to_rear.u95)
    }
}

/// The spindle's angle to the rear that a faced disc tells, the cross-slide taken as square to the ways, m/m.
///
/// ```
/// use quarterturn::cut::agreement::of_face;
/// use quarterturn::survey::{Face, Side};
///
/// // Hollow by 0.004 mm over 200 mm, tool at the front: to the front by 0.004 mm over 100 mm.
/// let face = Face { taken: None, hollow: 4e-6, diameter: 0.2, tool: Side::Front, note: None };
/// assert!((of_face(&face).value + 0.04e-3).abs() < 1e-12);
/// ```
pub fn of_face(face: &Face) -> Figure {
    let towards_tool = match face.tool {
        Side::Front => -1.0,
        Side::Rear => 1.0,
    };
    let radius = face.diameter / 2.0;
    let deviation = USUAL_MICROMETER / crate::geometry::figure::COVERAGE_95;
    Figure::normal(towards_tool * face.hollow / radius, deviation / radius)
}
