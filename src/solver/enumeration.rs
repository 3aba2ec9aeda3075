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
                price[place] = if below > 0.0 { 1.0 / below } else { f64::MAX };
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
        let above = &above[..faces];
        let mut dearest = 0.0;
        for (((left, above), normal), price) in below.iter_mut().zip(above).zip(normal).zip(price) {
            *left = above - normal * chosen;
            let short = if *left < -CROSSED {
                *left + CROSSED
            } else {
                0.0
            };
            let cost = short * short * price;
            dearest = if cost > dearest { cost } else { dearest };
        }
        here + dearest > bound
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const COLUMNS: usize = 3;
    const WIDEST: i64 = 12;

    fn lattice() -> impl Strategy<Value = (DMatrix<f64>, DVector<f64>)> {
        (
            prop::collection::vec(-0.5..0.5, COLUMNS * COLUMNS),
            prop::collection::vec(0.6..1.5, COLUMNS),
            prop::collection::vec(-1.0..1.0, COLUMNS),
        )
            .prop_map(|(entries, diagonal, centre)| {
                let mut r = DMatrix::from_vec(COLUMNS, COLUMNS, entries).upper_triangle();
                r.set_diagonal(&DVector::from_vec(diagonal));
                (r, DVector::from_vec(centre))
            })
    }

    /// All y near 0 whose offset ε = r·(y − centre) passes `keep`, in the order of their components.
    fn all(
        r: &DMatrix<f64>,
        centre: &DVector<f64>,
        keep: impl Fn(&DVector<f64>) -> bool,
    ) -> Vec<Vec<i64>> {
        let side = -WIDEST..=WIDEST;
        let mut found = Vec::new();
        for a in side.clone() {
            for b in side.clone() {
                for c in side.clone() {
                    let y = DVector::from_vec(vec![a as f64, b as f64, c as f64]);
                    if keep(&(r * (y - centre))) {
                        found.push(vec![a, b, c]);
                    }
                }
            }
        }
        found
    }

    #[expect(clippy::cast_possible_truncation, reason = "small whole numbers")]
    fn visited(search: &Search, bound: f64) -> Vec<Vec<i64>> {
        let mut visited = Vec::new();
        search.run(bound, u64::MAX, |y, _| {
            visited.push(y.iter().map(|&value| value as i64).collect());
            bound
        });
        visited.sort_unstable();
        visited
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        #[test]
        fn every_point_of_the_ball_is_visited_once((r, centre) in lattice(), bound in 0.1..4.0) {
            let want = all(&r, &centre, |offset| offset.norm_squared() <= bound);
            prop_assert_eq!(visited(&Search::new(&r, &centre, &[]), bound), want);
        }

        /// Pruned points lie outside; some outside points may remain for the caller to drop.
        #[test]
        fn faces_prune_no_point_that_keeps_them(
            (r, centre) in lattice(),
            normal in prop::collection::vec(-1.0..1.0, COLUMNS),
            room in 0.0..1.0,
        ) {
            let bound = 3.0;
            let direction = DVector::from_vec(normal.clone());
            let inside = all(&r, &centre, |offset| {
                offset.norm_squared() <= bound && direction.dot(offset) <= room
            });
            let visited = visited(&Search::new(&r, &centre, &[Face { normal, room }]), bound);
            for point in &inside {
                prop_assert!(visited.contains(point));
            }
        }

        #[test]
        fn a_stopped_search_bounds_what_it_did_not_visit((r, centre) in lattice(), limit in 0..40_u64) {
            let bound = 4.0;
            let mut visited = Vec::new();
            let ending = Search::new(&r, &centre, &[]).run(bound, limit, |y, _| {
                visited.push(DVector::from_column_slice(y));
                bound
            });
            if let Some(least) = ending.unvisited {
                prop_assert_eq!(ending.nodes, limit);
                for point in all(&r, &centre, |offset| offset.norm_squared() <= bound) {
                    let y = DVector::from_iterator(COLUMNS, point.iter().map(|&value| value as f64));
                    let squared = (&r * (&y - &centre)).norm_squared();
                    prop_assert!(visited.contains(&y) || squared >= least - 1e-12);
                }
            }
        }
    }
}
