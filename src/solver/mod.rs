//! Bounded integer least squares: matrices in, whole numbers out, and a proof that nothing is better.
//!
//! [`solve`] finds the z inside its bounds for which ‖A·z − b‖² is smallest, [`k_best`] the best few. The way:
//!
//! 1. *Relax*: the best real point x of the box, and the pull with which every bound holds its component.
//! 2. *Guess*: round x, then exchange single steps as long as that helps.
//! 3. *Narrow*: whatever is at least as good as the guess lies in a ball around x; a bound whose pull is strong
//!    fixes its component, a weaker one adds a row to the matrix. (So the box, which turns into a skew polytope
//!    once the basis is reduced, is felt before the search and not only at its leaves.)
//! 4. *Reduce* the basis of what is left.
//! 5. *Enumerate* the ball, prune at the bounds that it reaches across. Where a short search betters the guess,
//!    go back to 3 with the smaller ball.
//!
//! Every step follows its own source, named in its file.

/// One ball searched in a reduced basis.
mod ball_search;
/// The best points so far, in order, ties decided.
mod best;
/// What bounds and guess say before the search: components fixed, rows added, reach of the others.
mod bounds;
/// The whole box, or its parts, until nothing is left.
mod branching;
/// Every lattice point within a distance, nearest first.
mod enumeration;
/// Points to begin with: single and paired steps downhill.
mod first_guess;
/// Solution, ranking, proof and refusal.
mod outcome;
/// The problem, its checks, and the one that comes from an estimate and its covariance.
mod problem;
/// Lenstra, Lenstra & Lovász.
mod reduction;
/// The best real point of a box.
mod relaxation;
/// The components still open, in triangular form.
mod rest;
/// From a problem to a proven answer.
mod search;
/// Orthogonal triangulation.
mod triangle;

pub use outcome::{Point, Proof, Ranking, Refusal, Solution};
pub use problem::{IntegerLeastSquares, WIDEST};
pub(crate) use relaxation::relax;
pub use search::{Settings, k_best, solve};
