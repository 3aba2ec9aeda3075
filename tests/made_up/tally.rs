//! How often intervals hold the truth.

use quarterturn::geometry::{BedShape, Figure, ReferenceLine};
use quarterturn::survey::Line;

use super::bed::Bed;

/// How far outside a limit a bed is that must not be called inside.
const OUTSIDE: f64 = 1.05;

#[derive(Default)]
pub struct Share {
    pub held: usize,
    pub of: usize,
}

impl Share {
    /// Share in per cent.
    pub fn per_cent(&self) -> f64 {
        100.0 * self.held as f64 / self.of as f64
    }

    /// Takes in what another count found.
    pub fn join(&mut self, other: &Self) {
        self.held += other.held;
        self.of += other.of;
    }

    pub fn count(&mut self, held: bool) {
        self.held += usize::from(held);
        self.of += 1;
    }

    pub fn text(&self) -> String {
        if self.of == 0 {
            return "-".into();
        }
        format!("{:.1}%", self.per_cent())
    }
}

#[derive(Default)]
pub struct Coverage {
    pub heights: Share,
    /// Figures no further from the truth than their uncertainty: twist, crown, straightness.
    pub twist: Share,
    pub crown: Share,
    pub straightness: Share,
    /// The same by the interval that is printed, which need not lie evenly about the figure: twist, crown, straightness.
    pub by_interval: [Share; 3],
    /// Figures whose interval ends below what is 1.05 times its end: a bed that far outside a limit there, called inside.
    pub wrongly_inside: Share,
}

impl Coverage {
    /// Takes in what another count found.
    pub fn join(&mut self, other: &Self) {
        self.heights.join(&other.heights);
        self.twist.join(&other.twist);
        self.crown.join(&other.crown);
        self.straightness.join(&other.straightness);
        for (own, other) in self.by_interval.iter_mut().zip(&other.by_interval) {
            own.join(other);
        }
        self.wrongly_inside.join(&other.wrongly_inside);
    }

    pub fn add(&mut self, bed: &Bed, shape: &BedShape) {
        for way in shape.ways() {
            let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
            let truth: Vec<f64> = at.iter().map(|x| bed.height(way.side, *x)).collect();
            let off = ReferenceLine::EndPoints.departures(&at, &truth);
            // The two ends are on the line by definition.
            for (point, truth) in way.points.iter().zip(&off).skip(1).take(at.len() - 2) {
                self.heights
                    .count((point.off_line - truth).abs() <= point.off_line_u95);
            }
            if let Some(straightness) = way.straightness {
                let truth = ReferenceLine::EndPoints.straightness(&at, &truth);
                self.straightness.count(is_near(&straightness, truth));
                self.by_interval[2].count(holds(&straightness, truth));
                self.wrongly_inside
                    .count(straightness.high < truth / OUTSIDE);
            }
            if let Some(crown) = way.crown {
                let truth = off
                    .iter()
                    .fold(0.0, |a: f64, b| if b.abs() > a.abs() { *b } else { a });
                self.crown.count(is_near(&crown, truth));
                self.by_interval[1].count(holds(&crown, truth));
            }
        }
        if let Some(twist) = shape.twist {
            let (low, high) = shape
                .cross
                .iter()
                .map(|slope| bed.slope(Line::Cross, slope.at, 0.0))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| {
                    (a.min(s), b.max(s))
                });
            self.twist.count(is_near(&twist, high - low));
            self.by_interval[0].count(holds(&twist, high - low));
            self.wrongly_inside
                .count(twist.high < (high - low) / OUTSIDE);
        }
    }
}

/// Whether a figure is no further from the truth than its uncertainty.
fn is_near(figure: &Figure, truth: f64) -> bool {
    (figure.value - truth).abs() <= figure.u95
}

/// Whether a figure's interval holds the truth.
fn holds(figure: &Figure, truth: f64) -> bool {
    (figure.low..=figure.high).contains(&truth)
}
