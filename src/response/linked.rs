//! A bed whose feet push and pull: made ready once, asked many times.

use nalgebra::DMatrix;

use super::Place;
use super::banded::BandedFactor;
use super::mesh::{Mesh, Row, Spring};
use super::model::{BedModel, Unsupported};

/// A [`BedModel`] cut into elements and solved for all feet linked.
#[derive(Debug, Clone, PartialEq)]
pub struct BedResponse {
    pub(super) model: BedModel,
    pub(super) mesh: Mesh,
    /// The beam alone, free in space.
    pub(super) beam: Vec<Spring>,
    /// The feet.
    pub(super) feet: Vec<Spring>,
    /// Forces of the weight on the unknowns.
    pub(super) loads: Vec<f64>,
    /// The beam with every foot linked.
    pub(super) linked: BandedFactor,
}

impl BedModel {
    /// Makes the bed ready to be asked.
    ///
    /// # Errors
    ///
    /// When the feet or a stiffness leave the bed free to move.
    pub fn response(&self) -> Result<BedResponse, Unsupported> {
        self.check()?;
        let mesh = Mesh::new(self);
        let beam = mesh.beam(self);
        let feet = mesh.feet(self);
        let linked = factor(&mesh, &beam, &feet, |_| 1.0).ok_or(Unsupported::NotStiff)?;
        Ok(BedResponse {
            linked,
            loads: mesh.loads(self),
            model: self.clone(),
            mesh,
            beam,
            feet,
        })
    }
}

impl BedResponse {
    /// The bed this answers for.
    pub fn model(&self) -> &BedModel {
        &self.model
    }

    /// Change of height at each place (rows) per metre of lift of each foot (columns), m/m, all feet
    /// linked: they push and pull.
    ///
    /// It solves `(K + sum k r rᵀ) v = k r` for every foot, `K` the beam, `r` the row of the foot, `k` its
    /// stiffness. Each row sums to one: lifting all feet lifts the bed. Only the ratios of the
    /// stiffnesses count.
    ///
    /// ```
    /// use quarterturn::response::{BedModel, Place, Support};
    /// let foot = |at, across| Support {
    ///     place: Place { at, across },
    ///     stiffness: 1e8,
    ///     holds_down: true,
    /// };
    /// let bed = BedModel {
    ///     length: 2.0,
    ///     bending_stiffness: 1e7,
    ///     torsion_stiffness: 1e6,
    ///     feet: vec![foot(0.0, 0.2), foot(0.0, -0.2), foot(2.0, 0.2), foot(2.0, -0.2)],
    ///     weight_per_length: 0.0,
    ///     point_loads: vec![],
    ///     stretches: vec![],
    /// };
    /// let middle = Place { at: 1.0, across: 0.0 };
    /// let influence = bed.response().unwrap().influence(&[middle]);
    /// // Four feet alike share the middle evenly.
    /// assert!(influence.iter().all(|share| (share - 0.25).abs() < 1e-9));
    /// ```
    pub fn influence(&self, places: &[Place]) -> DMatrix<f64> {
        self.influence_through(&self.linked, places, |_| true)
    }

    /// Influence of the feet that `moves` picks, zero for the others, with a factor of the bed as it stands.
    pub(super) fn influence_through(
        &self,
        factor: &BandedFactor,
        places: &[Place],
        moves: impl Fn(usize) -> bool,
    ) -> DMatrix<f64> {
        let rows: Vec<Row> = places.iter().map(|&place| self.mesh.row(place)).collect();
        let mut influence = DMatrix::zeros(places.len(), self.feet.len());
        let mut unknowns = vec![0.0; self.mesh.order()];
        for (foot, mut column) in influence.column_iter_mut().enumerate() {
            if !moves(foot) {
                continue;
            }
            unknowns.fill(0.0);
            let Spring { row, stiffness } = self.feet[foot];
            row.add_to(&mut unknowns, stiffness);
            factor.solve(&mut unknowns);
            for (row, value) in rows.iter().zip(column.iter_mut()) {
                *value = row.dot(&unknowns);
            }
        }
        influence
    }

    /// The unknowns of the bed with every foot linked and lifted by `lifts`, weight included.
    pub(super) fn all_linked(&self, lifts: &[f64]) -> Vec<f64> {
        let mut unknowns = self.loads.clone();
        for (foot, lift) in self.feet.iter().zip(lifts) {
            foot.row.add_to(&mut unknowns, foot.stiffness * lift);
        }
        self.linked.solve(&mut unknowns);
        unknowns
    }
}

/// The beam with a share of the stiffness of each foot; nothing when that does not hold it.
pub(super) fn factor(
    mesh: &Mesh,
    beam: &[Spring],
    feet: &[Spring],
    share: impl Fn(usize) -> f64,
) -> Option<BandedFactor> {
    let beam = beam.iter().map(|spring| spring.weighted_row(1.0));
    let feet = feet.iter().enumerate();
    let feet = feet.map(|(index, foot)| foot.weighted_row(share(index)));
    let mut rows: Vec<_> = beam.chain(feet).collect();
    rows.sort_by_key(|row| row.0);
    BandedFactor::of_rows(mesh.order(), rows.into_iter())
}
