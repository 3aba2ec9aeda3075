//! Every lattice point within a distance, nearest first along each line, outside faces pruned.
//!
//! The depth-first search of Schnorr & Euchner (1994) as told for closest points by Agrell, Eriksson,
//! Vardy & Zeger, *Closest point search in lattices* (2002); the running sums that save most of the work per
//! node are those of Gama, Nguyen & Regev (2010), appendix B. All from memory. Pruning at the faces of a
//! box whose components are mixtures of the searched ones is our own, see [`Face`].

use nalgebra::{DMatrix, DVector};

/// A face is taken as crossed only beyond this: rounding of the running slack stays far below.
const CROSSED: f64 = 1e-9;

/// A half-space `normal`·ε ≤ `room` that points must keep, in the orthogonal coordinates
/// ε = r·(y − centre) of the search: a bound of an original component, which is a mixture of the searched
/// ones.
///
/// With the ε of the upper levels chosen, let `slack` be the room left. Where it is negative, the ε still
/// to choose must make it up, and cost at least slack² / Σ normal² over them (Cauchy-Schwarz).
#[derive(Debug, Clone)]
pub struct Face {
    pub normal: Vec<f64>,
    pub room: f64,
}

/// How a search ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ending {
    pub nodes: u64,
    /// The least squared distance an unvisited point could have; `None` if all were visited.
    pub unvisited: Option<f64>,
}

/// The points y of a lattice around a centre, ordered by ‖r·(y − centre)‖².
#[derive(Debug)]
pub struct Search {
    columns: usize,
    /// r(k,k)².
    weight: Vec<f64>,
    /// r(k,k).
    diagonal: Vec<f64>,
    /// Row k: r(k,j)/r(k,k).
    ratio: Vec<f64>,
    centre: Vec<f64>,
    faces: usize,
    /// By level, then face: the normal's part.
    normal: Vec<f64>,
    /// By level, then face: 1 / Σ normal² over the levels below.
    price: Vec<f64>,
    room: Vec<f64>,
}

impl Search {
    /// Prepares a search; `r` is upper triangular without zeros on its diagonal.
    pub fn new(r: &DMatrix<f64>, centre: &DVector<f64>, faces: &[Face]) -> Self {
        let columns = r.ncols();
        let diagonal: Vec<f64> = (0..columns).map(|k| r[(k, k)]).collect();
        let mut ratio = vec![0.0; columns * columns];
        for k in 0..columns {
            for j in k + 1..columns {
                ratio[k * columns + j] = r[(k, j)] / diagonal[k];
            }
        }
        let mut normal = vec![0.0; columns * faces.len()];
        let mut price = vec![0.0; columns * faces.len()];
        for (index, face) in faces.iter().enumerate() {
            let mut below = 0.0;
            for k in 0..columns {
                let place = k * faces.len() + index;
                normal[place] = face.normal[k];
                price[place] = if below > 0.0 {
                    1.0 / below
                } else {
                    f64::INFINITY
                };
                below += face.normal[k] * face.normal[k];
            }
        }
        Self {
            columns,
            weight: diagonal.iter().map(|d| d * d).collect(),
            diagonal,
            ratio,
            centre: centre.iter().copied().collect(),
            faces: faces.len(),
            normal,
            price,
            room: faces.iter().map(|face| face.room).collect(),
        }
    }

    /// Visits every point whose squared distance is at most `bound` and that keeps the faces, up to
    /// `node_limit` partial points. `visit` gets a point and its squared distance and returns the bound
    /// for the points to come.
    pub fn run(
        &self,
        mut bound: f64,
        node_limit: u64,
        mut visit: impl FnMut(&[f64], f64) -> f64,
    ) -> Ending {
        let n = self.columns;
        if n == 0 {
            visit(&[], 0.0);
            return Ending {
                nodes: 0,
                unvisited: None,
            };
        }
        let mut y = vec![0.0; n];
        let mut step = vec![0.0; n];
        let mut offset = vec![0.0; n];
        let mut middle = vec![0.0; n];
        let mut squared = vec![0.0; n + 1];
        // Row k, place j: Σ ratio(k,i)·offset(i) over i ≥ j; `stale[k]` is the highest i changed since.
        let width = n + 1;
        let mut sums = vec![0.0; n * width];
        let mut stale: Vec<usize> = vec![n - 1; n];
        let mut slack = vec![0.0; width * self.faces];
        slack[n * self.faces..].copy_from_slice(&self.room);
        let mut nodes = 0;

        let mut k = n - 1;
        middle[k] = self.centre[k];
        start(&mut y, &mut step, k, middle[k]);
        loop {
            let distance = y[k] - middle[k];
            let here = squared[k + 1] + self.weight[k] * distance * distance;
            if here > bound {
                k += 1;
                if k == n {
                    return Ending {
                        nodes,
                        unvisited: None,
                    };
                }
                next(&mut y, &mut step, k);
                continue;
            }
            if nodes == node_limit {
                let unvisited = (k..n)
                    .map(|level| {
                        let distance =
                            y[level] + if level == k { 0.0 } else { step[level] } - middle[level];
                        squared[level + 1] + self.weight[level] * distance * distance
                    })
                    .fold(f64::INFINITY, f64::min);
                return Ending {
                    nodes,
                    unvisited: Some(unvisited),
                };
            }
            nodes += 1;
            if self.crosses_a_face(k, distance, here, bound, &mut slack) {
                next(&mut y, &mut step, k);
                continue;
            }
            if k == 0 {
                bound = visit(&y, here);
                next(&mut y, &mut step, k);
                continue;
            }
            squared[k] = here;
            offset[k] = y[k] - self.centre[k];
            stale[k - 1] = stale[k - 1].max(k);
            k -= 1;
            let top = stale[k];
            let row = &mut sums[k * width..(k + 1) * width];
            let ratio = &self.ratio[k * n..(k + 1) * n];
            let mut sum = row[top + 1];
            for j in (k + 1..=top).rev() {
                sum += ratio[j] * offset[j];
                row[j] = sum;
            }
            if k > 0 {
                stale[k - 1] = stale[k - 1].max(top);
            }
            stale[k] = k;
            middle[k] = self.centre[k] - row[k + 1];
            start(&mut y, &mut step, k, middle[k]);
        }
    }

    /// Updates the slack of every face for the choice at level `k`; true if a face cannot be kept any more.
    #[inline]
    fn crosses_a_face(
        &self,
        k: usize,
        distance: f64,
        here: f64,
        bound: f64,
        slack: &mut [f64],
    ) -> bool {
        let faces = self.faces;
        if faces == 0 {
            return false;
        }
        let chosen = self.diagonal[k] * distance;
        let (below, above) = slack.split_at_mut((k + 1) * faces);
        let below = &mut below[k * faces..];
        let normal = &self.normal[k * faces..(k + 1) * faces];
        let price = &self.price[k * faces..(k + 1) * faces];
        let mut crossed = false;
        for face in 0..faces {
            let left = above[face] - normal[face] * chosen;
            below[face] = left;
            let short = -left - CROSSED;
            crossed |= short > 0.0 && here + short * short * price[face] > bound;
        }
        crossed
    }
}

/// The whole number nearest to the middle comes first.
#[inline]
fn start(y: &mut [f64], step: &mut [f64], k: usize, middle: f64) {
    y[k] = middle.round();
    step[k] = if middle >= y[k] { 1.0 } else { -1.0 };
}

/// Then alternately on either side, each farther than the one before.
#[inline]
fn next(y: &mut [f64], step: &mut [f64], k: usize) {
    y[k] += step[k];
    step[k] = -step[k] - step[k].signum();
}
