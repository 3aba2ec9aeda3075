//! The solver against a published example, against full enumeration, and against its own laws.

#[path = "../solver/beam_like.rs"]
mod beam_like;

use beam_like::{BeamLike, Travel};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use quarterturn::solver::{IntegerLeastSquares, Point, Proof, Refusal, Settings, k_best, solve};

/// Joosten & Tiberius, LAMBDA: FAQs (GPS Solutions, 2002): estimate and covariance of three ambiguities.
fn lambda_example() -> IntegerLeastSquares {
    let float = DVector::from_vec(vec![5.450, 3.100, 2.970]);
    let covariance = DMatrix::from_row_slice(
        3,
        3,
        &[
            6.290, 5.978, 0.544, 5.978, 6.292, 2.340, 0.544, 2.340, 6.288,
        ],
    );
    IntegerLeastSquares::from_estimate(&float, &covariance).expect("a proper covariance")
}

/// Source: Joosten & Tiberius, LAMBDA: FAQs, best and second best with all ten digits.
#[test]
fn the_lambda_example_gives_its_published_best_and_second_best() {
    let ranking = k_best(&lambda_example(), &Settings::default(), 2).expect("a proper problem");
    assert_eq!(ranking.proof, Proof::Optimal);
    let published = [
        (vec![5, 3, 4], 0.218_331_095_3),
        (vec![6, 4, 4], 0.307_272_575_8),
    ];
    for (got, (z, squared_norm)) in ranking.points.iter().zip(&published) {
        assert_eq!(&got.z, z);
        assert!(
            (got.squared_norm - squared_norm).abs() <= 0.5e-10,
            "got {}, want {squared_norm}",
            got.squared_norm
        );
    }
    assert_eq!(ranking.points.len(), 2);
}

/// Source: the same; rounding every ambiguity by itself.
#[test]
fn the_lambda_example_rounded_is_worse_by_the_published_amount() {
    let rounded = lambda_example()
        .squared_norm(&[5, 3, 3])
        .expect("three components");
    assert!(
        (rounded - 1.245_13).abs() <= 0.5e-5,
        "got {rounded}, want 1.24513"
    );
}

/// Every point of the box, best first; ties by Σ|z|, then lexicographically.
fn enumerated(problem: &IntegerLeastSquares) -> Vec<Point> {
    let mut all = vec![Vec::new()];
    for (&lower, &upper) in problem.lower.iter().zip(&problem.upper) {
        all = all
            .iter()
            .flat_map(|start: &Vec<i64>| {
                (lower..=upper).map(move |value| [start.as_slice(), &[value]].concat())
            })
            .collect();
    }
    let mut points: Vec<Point> = all
        .into_iter()
        .map(|z| Point {
            squared_norm: problem.squared_norm(&z).expect("as many components"),
            z,
        })
        .collect();
    points.sort_by(|a, b| a.squared_norm.total_cmp(&b.squared_norm));
    points
}

/// Small problems with every kind of bounds: one value, narrow, off centre.
fn small_problem() -> impl Strategy<Value = IntegerLeastSquares> {
    (1..=5_usize).prop_flat_map(|columns| {
        let rows = columns + 1;
        (
            prop::collection::vec(-1.0..1.0, rows * columns),
            prop::collection::vec(-4.0..4.0, rows),
            prop::collection::vec((-4_i64..=3, 0_i64..=4), columns),
        )
            .prop_map(move |(entries, target, bounds)| {
                let mut matrix = DMatrix::from_vec(rows, columns, entries);
                for i in 0..columns {
                    matrix[(i, i)] += 0.6;
                }
                IntegerLeastSquares {
                    matrix,
                    target: DVector::from_vec(target),
                    lower: bounds.iter().map(|(lower, _)| *lower).collect(),
                    upper: bounds.iter().map(|(lower, width)| lower + width).collect(),
                }
            })
    })
}

/// Problems of the real kind, small enough to solve many of them.
fn beam_like() -> impl Strategy<Value = IntegerLeastSquares> {
    let travel = prop::sample::select(vec![
        Travel::Wide,
        Travel::ShortForSome,
        Travel::ShortForAll,
        Travel::Mixed,
    ]);
    (1..=6_usize, 0.5..3.0, -3.0..-1.0, travel, 0..10_000_u64).prop_map(
        |(pairs, reach, ridge_power, travel, seed)| {
            let family = BeamLike {
                feet: 2 * pairs,
                reach,
                ridge: 10_f64.powf(ridge_power),
                travel,
            };
            family.problem(seed)
        },
    )
}

fn solved(problem: &IntegerLeastSquares) -> quarterturn::solver::Solution {
    solve(problem, &Settings::default()).expect("a proper problem")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn the_best_few_are_those_of_full_enumeration(problem in small_problem(), k in 1..30_usize) {
        let ranking = k_best(&problem, &Settings::default(), k).expect("a proper problem");
        let all = enumerated(&problem);
        prop_assert_eq!(ranking.proof, Proof::Optimal);
        prop_assert_eq!(ranking.points.len(), k.min(all.len()));
        for (got, want) in ranking.points.iter().zip(&all) {
            prop_assert!((got.squared_norm - want.squared_norm).abs() < 1e-9);
            prop_assert!(problem.contains(&got.z));
            prop_assert_eq!(problem.squared_norm(&got.z), Some(got.squared_norm));
        }
        let mut different: Vec<&[i64]> = ranking.points.iter().map(|point| point.z.as_slice()).collect();
        different.sort_unstable();
        different.dedup();
        prop_assert_eq!(different.len(), ranking.points.len());
    }

    #[test]
    fn no_single_step_inside_the_bounds_improves_the_answer(problem in beam_like()) {
        let solution = solved(&problem);
        prop_assert_eq!(solution.proof, Proof::Optimal);
        prop_assert!(problem.contains(&solution.z));
        for foot in 0..solution.z.len() {
            for step in [1, -1] {
                let mut other = solution.z.clone();
                other[foot] += step;
                if problem.contains(&other) {
                    let left = problem.squared_norm(&other).expect("as many components");
                    prop_assert!(left >= solution.squared_norm * (1.0 - 1e-9));
                }
            }
        }
    }

    #[test]
    fn the_order_of_the_columns_does_not_matter(problem in beam_like(), shift in 1..12_usize) {
        let columns = problem.lower.len();
        let order: Vec<usize> = (0..columns).map(|i| (i * 5 + shift) % columns).collect();
        let mut seen = order.clone();
        seen.sort_unstable();
        seen.dedup();
        prop_assume!(seen.len() == columns);
        let permuted = IntegerLeastSquares {
            matrix: problem.matrix.select_columns(&order),
            target: problem.target.clone(),
            lower: order.iter().map(|&i| problem.lower[i]).collect(),
            upper: order.iter().map(|&i| problem.upper[i]).collect(),
        };
        let (first, second) = (solved(&problem), solved(&permuted));
        let back: Vec<i64> = order.iter().map(|&i| first.z[i]).collect();
        prop_assert!((first.squared_norm - second.squared_norm).abs() <= 1e-9 * first.squared_norm);
        prop_assert_eq!(back, second.z);
    }

    /// Fixing a component at its best value, or cutting the bounds down to it, changes nothing.
    #[test]
    fn bounds_that_the_answer_keeps_do_not_matter(problem in beam_like(), margin in 0..3_i64) {
        let free = solved(&problem);
        let mut cut = problem.clone();
        for (foot, &value) in free.z.iter().enumerate() {
            if foot % 2 == 0 {
                cut.lower[foot] = cut.lower[foot].max(value - margin);
                cut.upper[foot] = cut.upper[foot].min(value);
            }
        }
        prop_assert_eq!(solved(&cut).z, free.z);
    }

    #[test]
    fn a_search_that_was_stopped_claims_no_more_than_it_knows(
        problem in beam_like(),
        node_limit in 0..60_u64,
        k in 1..4_usize,
    ) {
        let truth = k_best(&problem, &Settings::default(), k).expect("a proper problem");
        let stopped = k_best(&problem, &Settings { node_limit }, k).expect("a proper problem");
        prop_assert!(stopped.nodes <= node_limit);
        for (got, best) in stopped.points.iter().zip(&truth.points) {
            prop_assert!(got.squared_norm >= best.squared_norm * (1.0 - 1e-9));
            match stopped.proof {
                Proof::Optimal => prop_assert!(got.squared_norm <= best.squared_norm * (1.0 + 1e-9)),
                Proof::Gap { lower_bound } => {
                    let listed = stopped.points.iter().any(|point| point.z == best.z);
                    prop_assert!(listed || lower_bound <= best.squared_norm);
                }
            }
        }
    }

    #[test]
    fn nothing_that_is_asked_panics(
        rows in 0..4_usize,
        columns in 0..4_usize,
        values in prop::collection::vec(
            prop_oneof![Just(0.0), Just(1.0), Just(-1.0), -1e3..1e3, any::<f64>()],
            16,
        ),
        bounds in prop::collection::vec((any::<i64>(), any::<i64>()), 4),
        narrow in any::<bool>(),
        k in 0..4_usize,
    ) {
        let bound = |value: i64| if narrow { value % 3 } else { value };
        let problem = IntegerLeastSquares {
            matrix: DMatrix::from_fn(rows, columns, |i, j| values[4 * i + j]),
            target: DVector::from_fn(rows, |i, _| values[4 * i + 3]),
            lower: bounds.iter().take(columns).map(|b| bound(b.0)).collect(),
            upper: bounds.iter().take(columns).map(|b| bound(b.1)).collect(),
        };
        let settings = Settings { node_limit: 10_000 };
        if let Ok(ranking) = k_best(&problem, &settings, k) {
            for point in &ranking.points {
                prop_assert!(problem.contains(&point.z));
            }
        }
        let covariance = DMatrix::from_fn(rows, columns, |i, j| values[4 * i + j]);
        if let Ok(estimate) = IntegerLeastSquares::from_estimate(&problem.target, &covariance) {
            let _ = solve(&estimate, &settings);
        }
    }
}

/// Tight bounds on every component leave a problem of yes and no; its answer is that of full enumeration.
#[test]
fn bounds_that_bind_everywhere_agree_with_full_enumeration() {
    for seed in 0..20 {
        let family = BeamLike {
            feet: 10,
            reach: 2.0,
            ridge: 0.01,
            travel: Travel::Wide,
        };
        let mut problem = family.problem(seed);
        (problem.lower, problem.upper) = (vec![-1; 10], vec![1; 10]);
        let best = &enumerated(&problem)[0];
        assert_eq!(solved(&problem).z, best.z, "seed {seed}");
    }
}

#[test]
fn forty_feet_are_proven_within_the_default_limit() {
    for travel in [Travel::Wide, Travel::ShortForSome] {
        for reach in [0.5, 3.0] {
            let family = BeamLike {
                feet: 40,
                reach,
                ridge: 0.01,
                travel,
            };
            let problem = family.problem(1);
            let solution = solved(&problem);
            assert_eq!(solution.proof, Proof::Optimal, "{family:?}");
            assert!(solution.gap() == 0.0 && solution == solved(&problem));
        }
    }
}

#[test]
fn of_equal_points_the_one_that_moves_least_is_chosen() {
    let matrix = DMatrix::identity(4, 4);
    let target = DVector::from_vec(vec![0.5, -0.5, 1.5, 2.0]);
    let solution = solved(&IntegerLeastSquares::unbounded(matrix, target));
    assert_eq!(solution.z, [0, 0, 1, 2]);
    assert!((solution.squared_norm - 0.75).abs() < 1e-15);
}

#[test]
fn no_components_leave_the_target_as_it_is() {
    let problem =
        IntegerLeastSquares::unbounded(DMatrix::zeros(2, 0), DVector::from_vec(vec![3.0, 4.0]));
    let solution = solved(&problem);
    assert!(solution.z.is_empty());
    assert_eq!(
        (solution.squared_norm, solution.proof),
        (25.0, Proof::Optimal)
    );
}

#[test]
fn fixed_components_need_no_columns_of_their_own() {
    let problem = IntegerLeastSquares {
        matrix: DMatrix::from_row_slice(1, 2, &[0.0, 2.0]),
        target: DVector::from_vec(vec![5.1]),
        lower: vec![7, -10],
        upper: vec![7, 10],
    };
    assert_eq!(solved(&problem).z, [7, 3]);
}

#[test]
fn what_has_no_answer_is_refused_with_its_place() {
    let good = IntegerLeastSquares {
        matrix: DMatrix::identity(2, 2),
        target: DVector::zeros(2),
        lower: vec![-1, -1],
        upper: vec![1, 1],
    };
    let refusal = |change: &dyn Fn(&mut IntegerLeastSquares)| {
        let mut problem = good.clone();
        change(&mut problem);
        solve(&problem, &Settings::default()).expect_err("nothing to solve")
    };
    assert_eq!(
        refusal(&|p| p.lower[1] = 2),
        Refusal::EmptyBox {
            component: 1,
            lower: 2,
            upper: 1
        }
    );
    assert_eq!(
        refusal(&|p| p.matrix[(1, 0)] = f64::NAN),
        Refusal::NotFinite {
            what: "matrix",
            row: 1,
            column: 0
        }
    );
    assert_eq!(
        refusal(&|p| p.target[1] = f64::INFINITY),
        Refusal::NotFinite {
            what: "target",
            row: 1,
            column: 0
        }
    );
    assert_eq!(
        refusal(&|p| p.matrix.fill(0.0)),
        Refusal::RankDeficient {
            column: 0,
            independent_share: 0.0
        }
    );
    assert!(matches!(
        refusal(&|p| p.matrix.fill(1.0)),
        Refusal::RankDeficient { column: 1, .. }
    ));
    assert_eq!(
        refusal(&|p| p.matrix = DMatrix::from_element(1, 2, 1.0)),
        Refusal::Shape {
            what: "target",
            expected: (1, 1),
            found: (2, 1)
        }
    );
    assert_eq!(
        refusal(&|p| p.upper.truncate(1)),
        Refusal::Shape {
            what: "upper",
            expected: (2, 1),
            found: (1, 1)
        }
    );
    assert_eq!(
        refusal(&|p| {
            p.target[0] = 1e17;
            p.upper[0] = i64::MAX;
        }),
        Refusal::TooLarge { component: 0 }
    );
    let singular = DMatrix::from_element(2, 2, 1.0);
    assert_eq!(
        IntegerLeastSquares::from_estimate(&DVector::zeros(2), &singular),
        Err(Refusal::NotPositiveDefinite)
    );
}
