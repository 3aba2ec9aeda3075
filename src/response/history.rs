//! The bed as all passes up to one show it: its surface now, how it answers its feet, and how sure both are.
//!
//! `learning` works it out.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::answering::Linearised;
use super::bearing::Bearing;
use super::learning::Learning;
use super::model::Unsupported;
use super::reach::Reaches;
use super::slopes::slope_function;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::least_squares::triangle_of;
use crate::geometry::{Adjusted, Layout, Observation, Passes, Rise, Roughness, Warmth};
use crate::survey::{Line, Side, Survey};

/// Why nothing can be learned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoHistory {
    /// The pass holds no reading.
    NoReadings,
    /// The feet do not hold the bed.
    Unsupported(Unsupported),
    /// The pass's level is not in the survey.
    NoLevel,
}

/// What is known of how the bed answers.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The two reaches.
    pub reaches: Reaches,
    /// Share of its lift that arrives, by foot.
    pub effectiveness: Vec<f64>,
    /// Stiffness over the usual one, by foot.
    pub stiffness: Vec<f64>,
    /// Standard deviations: logarithms of the two reaches, then the effectivenesses, then the logarithms of
    /// the stiffnesses.
    pub deviation: Vec<f64>,
    /// Rounds of recorded turns that were learned from.
    pub rounds: usize,
}

/// The bed as all passes up to one show it.
#[derive(Debug, Clone)]
pub struct History {
    pub(super) survey: Survey,
    pub(super) layout: Layout,
    pub(super) roughness: Roughness,
    pub(super) half_base: f64,
    pub(super) way_spacing: f64,
    pub(super) division: f64,
    pub(super) system: Adjusted,
    /// First column of the zero errors of the latest pass that was read across, and along.
    pub(super) zero_columns: [usize; 2],
    /// Columns of what is wrong with its packing across and along, where there was any.
    pub(super) packing_columns: [Option<usize>; 2],
    /// What the packing of the last pass adds to its readings across and along, m/m.
    pub(super) packed: [f64; 2],
    pub(super) answer: Answer,
    /// Index of the pass after which the bed moved by itself.
    pub(super) moved_by_itself: Option<usize>,
    /// Records that contradict the readings, as index of the pass and foot.
    pub(super) contradicted: Vec<(usize, usize)>,
    /// Influence at the layout's places, front ways first, of a metre of recorded lift.
    pub(super) influence: DMatrix<f64>,
    /// How the bed answers, and how that changes with each unknown of the response.
    pub(super) about: Linearised,
    /// Root of the covariance of the unknowns of the response.
    pub(super) answer_root: DMatrix<f64>,
    /// Readings of the last pass as they were used.
    pub(super) last: Vec<Observation>,
    /// Standard deviation of one reading of the last pass, m/m.
    pub(super) reading_deviation: f64,
    /// The bow of a warm bed that was taken off the last pass.
    pub(super) warmth: Option<Warmth>,
    /// How a bed that only rests on its feet bears on them.
    pub(super) bearing: Option<Bearing>,
    /// Places where an end of the level stood on the front and rear way in any pass.
    pub(super) ends: [Vec<f64>; 2],
    /// Places read across in any pass.
    pub(super) across: Vec<f64>,
}
impl History {
    /// Learns from all passes up to the one with this index.
    pub fn of(survey: &Survey, pass: usize) -> Result<Self, NoHistory> {
        Self::after(&Passes::of(survey), pass)
    }

    /// The same of passes that may be known by themselves already.
    pub fn after(passes: &Passes, pass: usize) -> Result<Self, NoHistory> {
        Learning::new(passes, pass)?.run()
    }

    /// The places along the bed at which heights are known, m.
    pub fn places(&self) -> &[f64] {
        self.layout.at()
    }

    /// Index of the place at `at`.
    pub fn place(&self, at: f64) -> Option<usize> {
        self.layout.index(at)
    }

    /// How the bed answers.
    pub fn answer(&self) -> &Answer {
        &self.answer
    }

    /// Index of the pass after which, nothing turned, the bed moved: what was read up to it is not asked.
    pub fn moved_by_itself(&self) -> Option<usize> {
        self.moved_by_itself
    }

    /// Records of turns that contradict the readings, as indices of the pass after which they were made and of the foot: nothing
    /// was learned from them.
    pub fn contradicted(&self) -> &[(usize, usize)] {
        &self.contradicted
    }

    /// The adjusted unknowns; the functions this type hands out are functions of them. Where only readings off the scale
    /// tell of a function it is not determined, and the unknowns are what they are at least.
    pub fn system(&self) -> &Adjusted {
        &self.system
    }

    /// One graduation of the level of the last pass, m/m.
    pub fn division(&self) -> f64 {
        self.division
    }

    /// Half the length of the level of the last pass, m.
    pub fn half_base(&self) -> f64 {
        self.half_base
    }

    /// Height of a way at a place as a function of the unknowns, m.
    pub fn height(&self, side: Side, place: usize) -> RowDVector<f64> {
        self.layout
            .height(side, place, self.roughness)
            .resize_horizontally(self.system.unknowns.len(), 0.0)
    }

    /// What the level of the last pass shows now beside its [packing](Self::packed), m/m, zero error included, as a
    /// function of the unknowns, and what it lies on at the places. `None` where a place under the level is not
    /// among them.
    pub fn shown(&self, line: Line, at: f64) -> Option<(RowDVector<f64>, Rise)> {
        self.shown_by(line, at, self.half_base)
    }

    /// The same of a level of another half length (m) with the same zero error.
    pub fn shown_by(&self, line: Line, at: f64, half_base: f64) -> Option<(RowDVector<f64>, Rise)> {
        let rise = Rise::of(&self.layout, line, at, half_base, self.way_spacing)?;
        let mut row = slope_function(
            &self.layout,
            line,
            at,
            half_base,
            self.way_spacing,
            self.roughness,
        )?;
        row = row.resize_horizontally(self.system.unknowns.len(), 0.0);
        let kind = usize::from(line != Line::Cross);
        row[self.zero_columns[kind] + kind] = 1.0;
        if let Some(column) = self.packing_columns[kind] {
            row[column] = 1.0;
        }
        Some((row, rise))
    }

    /// What the packing of the last pass adds to its readings on a line, m/m.
    pub fn packed(&self, line: Line) -> f64 {
        self.packed[usize::from(line != Line::Cross)]
    }

    /// Change of the heights (front places, then rear) per metre of lift of each foot as recorded, m/m,
    /// its effectiveness included.
    pub fn influence(&self) -> &DMatrix<f64> {
        &self.influence
    }

    /// What is not known of what these lifts (m by foot, as recorded) do to the heights, m: a column for every column of
    /// a [covariance root](Adjusted::covariance_root) of the system, each a source of unit variance. So what is
    /// wrong with the answer and what is wrong with the surface can be seen together.
    pub fn doubt(&self, lifts: &DVector<f64>) -> DMatrix<f64> {
        self.about.changed(lifts) * &self.answer_root
    }

    /// The triangle whose product with any lifts has the mean square of what is not known of what they do to these
    /// functions of the heights.
    pub fn doubts(&self, functions: &DMatrix<f64>) -> DMatrix<f64> {
        let seen = self.about.seen_through(functions);
        let feet = self.influence.ncols();
        // The sources of error turned until no more of them matter than there are unknowns.
        let sources = triangle_of([self.answer_root.transpose()]).transpose();
        let by_foot: Vec<DMatrix<f64>> = (0..feet)
            .map(|foot| {
                let mut one = DVector::zeros(feet);
                one[foot] = 1.0;
                seen.changed(&one) * &sources
            })
            .collect();
        triangle_of((0..sources.ncols()).map(|source| {
            let columns: Vec<_> = by_foot.iter().map(|foot| foot.column(source)).collect();
            DMatrix::from_columns(&columns)
        }))
    }

    /// What is not known of the bow that was taken off the last pass, in these functions of the unknowns; `None` where none was.
    pub fn bow(&self, functions: &DMatrix<f64>) -> Option<DVector<f64>> {
        let warmth = self.warmth?;
        Some(self.layout.bow(functions) * warmth.deviation())
    }

    /// The readings of the last pass that were used.
    pub fn last_readings(&self) -> &[Observation] {
        &self.last
    }

    /// Standard deviation of one reading of the last pass, m/m.
    pub fn reading_deviation(&self) -> f64 {
        self.reading_deviation
    }

    /// Places at which the level was read across in any pass, in order, m.
    pub fn cross_places(&self) -> &[f64] {
        &self.across
    }

    /// Places at which a way is known, in order, m: where the ends of the level stood on it, or, when none
    /// did, the cross stations between those of the other way.
    pub fn way_places(&self, side: Side) -> Vec<f64> {
        let (own, other) = match side {
            Side::Front => (&self.ends[0], &self.ends[1]),
            Side::Rear => (&self.ends[1], &self.ends[0]),
        };
        if !own.is_empty() {
            return own.clone();
        }
        match (other.first(), other.last()) {
            (Some(first), Some(last)) => self
                .across
                .iter()
                .copied()
                .filter(|at| (first - SAME_PLACE..=last + SAME_PLACE).contains(at))
                .collect(),
            _ => Vec::new(),
        }
    }

    /// Ends of the stretch along which the ways are judged, m: what was read of this way or of the other, when both
    /// were read along. A bed does not end where one of its ways was not read on.
    pub fn stretch(&self, side: Side) -> Option<[f64; 2]> {
        let own = self.way_places(side);
        let [front, rear] = &self.ends;
        let both = !front.is_empty() && !rear.is_empty();
        hull(
            front
                .iter()
                .chain(rear)
                .filter(|_| both)
                .chain(&own)
                .copied(),
        )
    }

    /// Ends of the stretch over which the twist is judged, m: all that was read across, and where both ways were read
    /// along, as far as the level stood on either.
    pub fn cross_stretch(&self) -> Option<[f64; 2]> {
        let across = self.across.iter().copied();
        let along = self.ends.iter().all(|ends| !ends.is_empty());
        let stretch = self.stretch(Side::Front).filter(|_| along);
        let middles = stretch.map(|[first, last]| [first + self.half_base, last - self.half_base]);
        hull(across.chain(middles.into_iter().flatten()))
    }

    /// How the bed bears on its feet, where it only rests on them.
    pub fn bearing(&self) -> Option<&Bearing> {
        self.bearing.as_ref()
    }

    /// The survey this was learned from.
    pub fn survey(&self) -> &Survey {
        &self.survey
    }
}

/// The least and the largest of these.
fn hull(places: impl Iterator<Item = f64> + Clone) -> Option<[f64; 2]> {
    let first = places.clone().reduce(f64::min)?;
    Some([first, places.reduce(f64::max)?])
}
