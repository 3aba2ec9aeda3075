//! All readings of a pass adjusted together.
//!
//! Unknown are the surface (see [`Layout`]) and one zero error of the level across and one along, common
//! to the pass. Every reading is one row: a cross reading is the difference of the ways over their spacing,
//! an along reading the difference of one way's heights under the ends of the level over its base. How they are solved
//! is [`network`](super::network).

use nalgebra::{DMatrix, DVector, RowDVector};

use super::belief::USUAL_ROUGHNESS;
use super::bounds::{Bounded, solve_with_bounds};
use super::chained::in_mid_span;
use super::closure::GlobalTest;
use super::figure::Figure;
use super::layout::{Layout, Roughness};
use super::least_squares::Adjusted;
use super::network::{Solved, held_beside, network};
use super::observation::{Observation, Observations};
use super::rows::{Rows, components, places_read};
use super::smoothness::{Components, Supposed};
use super::warmth::Warmth;
use crate::survey::{Level, Line, Pass, Side, Survey};
use crate::work::Work;

/// Why a pass gives no shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// The pass holds no reading.
    NoReadings,
}

/// What one pass says about the surface.
#[derive(Debug, Clone)]
pub struct Adjustment {
    observations: Observations,
    layout: Layout,
    way_spacing: f64,
    supposed: Supposed,
    roughness: Roughness,
    /// Rows in use: what was read as numbers.
    used: Vec<usize>,
    /// The same and the off-scale readings that hold the surface.
    steering: Vec<usize>,
    system: Adjusted,
    /// The same without the cross readings that tell of chained ways only through the prior, where there are any.
    chained: Option<Adjusted>,
    freedom: usize,
    /// What uncertainties are widened by because the readings do not fit each other.
    widening: f64,
}

impl Adjustment {
    /// Adjusts the readings of a pass on a bed of this length and way spacing (m).
    pub fn of(pass: &Pass, level: &Level, length: f64, way_spacing: f64) -> Result<Self, Refusal> {
        Self::from_observations(
            Observations::of(pass, level, way_spacing),
            length,
            way_spacing,
        )
    }

    /// Adjusts a pass of a survey as what it says of a bed of one temperature.
    pub fn in_survey(survey: &Survey, pass: &Pass, level: &Level) -> Result<Self, Refusal> {
        Self::in_survey_with_places(survey, pass, level, &[])
    }

    /// The same, and knows the surface at more places than were read (m from the headstock end), where it is as a bed
    /// bends and twists, and less certain.
    pub fn in_survey_with_places(
        survey: &Survey,
        pass: &Pass,
        level: &Level,
        places: &[f64],
    ) -> Result<Self, Refusal> {
        let bed = &survey.bed;
        let observations = Observations::of(pass, level, bed.way_spacing);
        let observations = observations.cooled(Warmth::of(survey, pass), bed.length);
        let supposed = Supposed::Guessed(USUAL_ROUGHNESS);
        Self::adjust(observations, bed.length, bed.way_spacing, supposed, places)
    }

    /// Adjusts observations.
    pub fn from_observations(
        observations: Observations,
        length: f64,
        way_spacing: f64,
    ) -> Result<Self, Refusal> {
        Self::guessing(observations, length, way_spacing, USUAL_ROUGHNESS)
    }

    /// Adjusts observations of a bed that is guessed to be about this rough where they leave gaps. What both ways
    /// chained tell does not depend on it.
    pub fn guessing(
        observations: Observations,
        length: f64,
        way_spacing: f64,
        guess: Roughness,
    ) -> Result<Self, Refusal> {
        let supposed = Supposed::Guessed(guess);
        Self::adjust(observations, length, way_spacing, supposed, &[])
    }

    /// Adjusts the readings of a pass and knows the surface at more places than were read (m from the
    /// headstock end), where it is as a bed bends and twists, and less certain.
    pub fn with_places(
        pass: &Pass,
        level: &Level,
        length: f64,
        way_spacing: f64,
        places: &[f64],
    ) -> Result<Self, Refusal> {
        let observations = Observations::of(pass, level, way_spacing);
        let supposed = Supposed::Guessed(USUAL_ROUGHNESS);
        Self::adjust(observations, length, way_spacing, supposed, places)
    }

    /// Adjusts observations on a bed of known roughness. With readings that nobody took yet, only the
    /// covariance means anything.
    pub fn on_bed(
        observations: Observations,
        length: f64,
        way_spacing: f64,
        roughness: Roughness,
    ) -> Result<Self, Refusal> {
        let supposed = Supposed::Known(roughness);
        Self::adjust(observations, length, way_spacing, supposed, &[])
    }

    /// What other observations would tell about this bed, at this pass's places too. Only the covariance
    /// means anything.
    pub(super) fn imagined(&self, observations: Observations) -> Result<Self, Refusal> {
        Self::adjust(
            observations,
            self.layout.length(),
            self.way_spacing,
            Supposed::Known(self.roughness),
            self.layout.at(),
        )
    }

    fn adjust(
        observations: Observations,
        length: f64,
        way_spacing: f64,
        supposed: Supposed,
        more_places: &[f64],
    ) -> Result<Self, Refusal> {
        if observations.rows.is_empty() {
            return Err(Refusal::NoReadings);
        }
        Work::Adjustment.done(1);
        let mut places = places_read(&observations);
        places.extend_from_slice(more_places);
        let layout = Layout::new(places, length);
        let rows = Rows {
            layout: &layout,
            observations: &observations,
            way_spacing,
        };
        let Bounded {
            numbers: used,
            told,
            steering,
            held: moved,
        } = solve_with_bounds(&rows, supposed);
        let mut chained = without_mid_span(&rows, &used, &told);
        let Solved {
            mut system,
            roughness,
            freedom,
            ..
        } = told;
        if let Some(moved) = moved {
            // What is off the scale moves the surface and makes none of it better known.
            if let Some(ways) = &mut chained {
                let moved_ways = without_mid_span(&rows, &steering, &moved);
                ways.unknowns = moved_ways
                    .as_ref()
                    .unwrap_or(&moved.system)
                    .unknowns
                    .clone();
            }
            system.unknowns = moved.system.unknowns;
        }
        let test = GlobalTest::of(system.sum_of_squares(), freedom);
        Ok(Self {
            chained,
            widening: test.map_or(1.0, |test| test.widening()),
            observations,
            layout,
            way_spacing,
            supposed,
            roughness,
            used,
            steering,
            system,
            freedom,
        })
    }

    /// The observations that were adjusted.
    pub fn observations(&self) -> &Observations {
        &self.observations
    }

    /// Indices of the observations in use, in the order of [`Self::residuals`]: those that were read as numbers. What
    /// is off the scale is at least so far and may be much farther: it holds the surface up, and is no witness
    /// against a reading.
    pub fn used(&self) -> &[usize] {
        &self.used
    }

    /// The same and the off-scale readings that hold the surface, to steer by.
    pub fn steering(&self) -> &[usize] {
        &self.steering
    }

    /// Length of the part of the bed that was read along either way, m; `None` where none was.
    pub fn read_along(&self) -> Option<f64> {
        let rows = self.observations.rows.iter();
        let along = rows.filter(|row| row.line != Line::Cross).map(|row| row.at);
        let first = along.clone().reduce(f64::min)?;
        Some(along.reduce(f64::max)? - first + 2.0 * self.observations.half_base)
    }

    /// Crown of a warm bed over the part that was read along, m: it is taken off the heights.
    pub fn bow(&self) -> Option<Figure> {
        Some(self.observations.warmth?.bow(self.read_along()?))
    }

    /// The places the readings speak of.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Distance between the ways, m.
    pub fn way_spacing(&self) -> f64 {
        self.way_spacing
    }

    /// Size of the prior between the readings.
    pub fn roughness(&self) -> Roughness {
        self.roughness
    }

    /// How rough the bed was thought to be before it was read.
    pub fn guess(&self) -> Roughness {
        match self.supposed {
            Supposed::Known(roughness) | Supposed::Guessed(roughness) => roughness,
        }
    }

    /// The adjusted unknowns: everything the readings tell, and what cross slopes are read from.
    pub fn system(&self) -> &Adjusted {
        &self.system
    }

    /// The adjusted unknowns as heights are read from: of chained ways, whatever the bed between the feet of
    /// the level is like; else those of [`Self::system`].
    pub fn ways(&self) -> &Adjusted {
        self.chained.as_ref().unwrap_or(&self.system)
    }

    /// Sum of squared standardised misfits, prior included, and its degrees of freedom.
    pub fn chi_square(&self) -> (f64, usize) {
        (self.system.sum_of_squares(), self.freedom)
    }

    /// The global test; `None` where nothing checks anything.
    pub fn global_test(&self) -> Option<GlobalTest> {
        GlobalTest::of(self.system.sum_of_squares(), self.freedom)
    }

    /// What every uncertainty is widened by: 1 unless the global test fails (see [`GlobalTest::widening`]).
    pub fn widening(&self) -> f64 {
        self.widening
    }

    /// A matrix whose product with its own transpose is the covariance of functions of the unknowns,
    /// widened where the readings do not fit each other.
    pub fn covariance_root(&self, functions: &DMatrix<f64>) -> DMatrix<f64> {
        self.with_warmth(
            functions,
            self.system.covariance_root(functions) * self.widening,
        )
    }

    /// The same for functions of [`Self::ways`].
    pub fn covariance_root_of_ways(&self, functions: &DMatrix<f64>) -> DMatrix<f64> {
        self.with_warmth(
            functions,
            self.ways().covariance_root(functions) * self.widening,
        )
    }

    /// A root of a covariance and what is not known of the bow that was taken off: one column more.
    fn with_warmth(&self, functions: &DMatrix<f64>, root: DMatrix<f64>) -> DMatrix<f64> {
        let Some(warmth) = self.observations.warmth else {
            return root;
        };
        let columns = root.ncols();
        let mut root = root.insert_column(columns, 0.0);
        let bow = self.layout.bow(functions) * warmth.deviation();
        root.set_column(columns, &bow);
        root
    }

    /// Readings of this pass that are off the scale.
    pub fn off_scale_total(&self) -> usize {
        let rows = &self.observations.rows;
        rows.iter().filter(|row| row.bound).count()
    }

    /// Off-scale readings that hold the surface up or down; the others say nothing the rest do not.
    pub fn off_scale_used(&self) -> usize {
        let rows = &self.observations.rows;
        self.steering.iter().filter(|&&i| rows[i].bound).count()
    }

    /// Off-scale readings of a line that nothing else tells to within what such a reading is taken for: what rests on them
    /// has one end only.
    pub fn open_ended(&self, line: Line) -> Vec<&Observation> {
        let rows = self.observations.rows.iter();
        rows.filter(|row| row.line == line && row.bound)
            .filter(|row| {
                let shown = self.shown(row);
                let told = self.system.determines(shown.transpose().as_view());
                let root = self.covariance_root(&DMatrix::from_rows(&[shown]));
                !told || root.norm() > row.deviation
            })
            .collect()
    }

    /// Standardised misfits of the observations in use.
    pub fn residuals(&self) -> DVector<f64> {
        self.system.residuals.rows(0, self.used.len()).into_owned()
    }

    /// Height of a way at a place of the layout as a function of all unknowns, m.
    pub fn height(&self, side: Side, place: usize) -> RowDVector<f64> {
        self.layout
            .height(side, place, self.roughness)
            .resize_horizontally(self.unknowns(), 0.0)
    }

    /// Cross slope at a place of the layout, front high positive, as a function of all unknowns, m/m; the
    /// level's zero error is no part of it.
    pub fn cross_slope(&self, place: usize) -> RowDVector<f64> {
        (self.layout.half(place, self.roughness) * (2.0 / self.way_spacing))
            .resize_horizontally(self.unknowns(), 0.0)
    }

    /// Slope the level would show at an observation's place, zero error included, as a function of all
    /// unknowns, m/m.
    pub fn shown(&self, observation: &Observation) -> RowDVector<f64> {
        self.rows().with_zero(observation, self.roughness)
    }

    /// The zero error across or along as a function of all unknowns, m/m.
    pub fn zero_error(&self, along: bool) -> RowDVector<f64> {
        let mut row = RowDVector::zeros(self.unknowns());
        let column = self.layout.unknowns() + usize::from(along);
        row[column] = 1.0;
        row
    }

    /// Number of unknowns: the surface's and two zero errors.
    pub fn unknowns(&self) -> usize {
        self.layout.unknowns() + 2
    }

    /// What was read as numbers, in the order of [`Self::used`], split by kind of unknown, to weigh one
    /// explanation of a misfit against another.
    pub fn components(&self) -> Components {
        components(&self.rows(), &self.used)
    }

    /// Whether what was read as numbers checks itself.
    pub fn checks_itself(&self) -> bool {
        self.freedom > 0
    }

    fn rows(&self) -> Rows<'_> {
        Rows {
            layout: &self.layout,
            observations: &self.observations,
            way_spacing: self.way_spacing,
        }
    }
}

/// Heights of chained ways are adjusted without the cross readings in mid-span; `None` where there are none.
fn without_mid_span(rows: &Rows, used: &[usize], solved: &Solved) -> Option<Adjusted> {
    let mid_span = in_mid_span(rows.observations, used);
    (!mid_span.is_empty()).then(|| {
        let told: Vec<usize> = used
            .iter()
            .copied()
            .filter(|i| !mid_span.contains(i))
            .collect();
        let roughness = solved.roughness;
        let (_, held) = held_beside(rows, &told, roughness, Some(solved.held.clone()));
        network(rows, &told, components(rows, &told), roughness, &held)
    })
}
