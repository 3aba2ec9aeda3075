//! Everything that moved by itself up to a pass.

use super::again::Again;
use super::approach::{Approach, NoApproach};
use super::floor::{Sinking, sinking};
use super::margins::margins;
use super::moved::Moved;
use super::rate::{Rate, WEEK};
use super::stretch::{days_between, still_passes};
use super::trace::{Compared, Quantity, Trace};
use super::warmth::Warmth;
use crate::geometry::Figure;
use crate::geometry::change::Change;
use crate::survey::{Anchors, Survey};

/// What moved by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Settlement {
    /// The passes between which nothing was turned, first to last; indices into the survey.
    pub passes: Vec<usize>,
    /// From each of them to the next.
    pub steps: Vec<Step>,
    /// From the first to the last pass since the anchors were last touched, where there are more than two.
    pub whole: Option<Step>,
    /// Days from the first to the last of these, where they have dates.
    pub watched: Option<f64>,
    /// How fast twist and crown go.
    pub rates: Vec<(Quantity, Rate)>,
    /// Whether they come to rest.
    pub approach: Result<Approach, NoApproach>,
    /// Feet whose floor moved, when the bed has changed.
    pub sinking: Vec<Sinking>,
    /// When to look again.
    pub again: Again,
}

/// From one pass to a later one.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Index of the earlier pass.
    pub from: usize,
    /// Index of the later pass.
    pub to: usize,
    /// What lies between them.
    pub kind: StepKind,
    /// Days between them, where both have dates.
    pub days: Option<f64>,
    /// Whether the bed has changed; `None` where the passes have nothing in common.
    pub change: Option<Change>,
    /// What changed of twist and crown, and where.
    pub moved: Vec<Moved>,
    /// What the temperatures say.
    pub warmth: Warmth,
}

/// What lies between two passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepKind {
    /// Time.
    Settled,
    /// The anchors were pulled down.
    AnchorsPulledDown,
    /// The anchors were slackened.
    AnchorsSlackened,
}

/// Why there is nothing to tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSettlement {
    /// There is no pass before this one without turns in between.
    NothingToCompare,
    /// A pass cannot be adjusted: its level is missing.
    NotAdjusted,
}

impl Step {
    fn between(survey: &Survey, from: usize, to: usize) -> Option<(Self, Compared)> {
        let compared = Compared::of(survey, &[from, to])?;
        let [first, second] = compared.adjustments() else {
            return None;
        };
        let (before, after) = (&survey.passes[from], &survey.passes[to]);
        let kind = match (
            after.anchors_changed_since(before),
            after.conditions.anchors,
        ) {
            (true, Some(Anchors::PulledDown)) => StepKind::AnchorsPulledDown,
            (true, _) => StepKind::AnchorsSlackened,
            (false, _) => StepKind::Settled,
        };
        let days = before
            .taken
            .as_ref()
            .zip(after.taken.as_ref())
            .and_then(|(before, after)| days_between(before, after));
        let step = Self {
            from,
            to,
            kind,
            days,
            change: Change::between(first, second),
            moved: Moved::between(&compared),
            warmth: Warmth::between(survey, [before, after], [first, second]),
        };
        Some((step, compared))
    }

    /// Whether the bed has changed beyond the readings' scatter.
    pub fn has_changed(&self) -> bool {
        self.change.is_some_and(|change| change.is_real())
    }
}

impl Settlement {
    /// What moved by itself up to the pass with this index, from the pass `since` on where it is given.
    pub fn of(survey: &Survey, last: usize, since: Option<usize>) -> Result<Self, NoSettlement> {
        let mut passes = still_passes(survey, last);
        passes.retain(|pass| since.is_none_or(|since| *pass >= since));
        if passes.len() < 2 {
            return Err(NoSettlement::NothingToCompare);
        }
        let between = |from, to| Step::between(survey, from, to).ok_or(NoSettlement::NotAdjusted);
        let mut steps: Vec<(Step, Compared)> = passes
            .windows(2)
            .map(|pair| between(pair[0], pair[1]))
            .collect::<Result<_, _>>()?;
        let first = steps
            .iter()
            .rposition(|(step, _)| step.kind != StepKind::Settled)
            .map_or(0, |touched| touched + 1);
        let stretch = &passes[first..];
        // Every step is asked about, and the whole where it is more than one of them.
        let asked = steps.len() + usize::from(stretch.len() > 2);
        let count = |step: &mut Step| {
            if let Some(change) = &mut step.change {
                change.asked = asked;
            }
        };
        for (step, _) in &mut steps {
            count(step);
        }
        let mut over_several;
        let ends = match stretch {
            [] | [_] => None,
            [_, _] => steps.last(),
            [first, .., last] => {
                over_several = between(*first, *last)?;
                count(&mut over_several.0);
                Some(&over_several)
            }
        };
        let moves = ends.is_some_and(|(step, _)| step.has_changed());
        let sinking = match ends {
            Some((step, compared)) if moves => match compared.adjustments() {
                [first, second] => sinking(survey, step.to, first, second),
                _ => Vec::new(),
            },
            _ => Vec::new(),
        };
        let course = Course::of(survey, stretch, ends.map(|(step, _)| step));
        let rates = course.rates();
        let approach = course.approach();
        let watched = course.watched();
        let again = if ends.is_none() {
            // The anchors were touched last: what that leads to shows first.
            Again::Soon
        } else {
            let paces = paces(&rates, approach.as_ref().ok());
            Again::of(&margins(survey, last, &paces), watched, moves)
        };
        Ok(Self {
            approach,
            whole: ends
                .filter(|_| stretch.len() > 2)
                .map(|(step, _)| step.clone()),
            passes,
            steps: steps.into_iter().map(|(step, _)| step).collect(),
            watched,
            rates,
            sinking,
            again,
        })
    }
}

/// The dated passes of a stretch and what was followed through them.
struct Course {
    days: Vec<f64>,
    traces: Vec<Trace>,
    /// What changed between them, where they are two.
    moved: Vec<Moved>,
}

impl Course {
    /// `ends` is what lies between the first of the passes and the last.
    fn of(survey: &Survey, passes: &[usize], ends: Option<&Step>) -> Self {
        let taken = |index: &usize| survey.passes[*index].taken.as_ref();
        let dated: Vec<usize> = passes
            .iter()
            .copied()
            .filter(|index| taken(index).is_some())
            .collect();
        let days: Option<Vec<f64>> = dated
            .iter()
            .map(|index| days_between(taken(dated.first()?)?, taken(index)?))
            .collect();
        let compared = (dated.len() > 1).then(|| Compared::of(survey, &dated));
        let compared = compared.flatten();
        // More passes than two are followed by what each tells by itself.
        let pair = compared.as_ref().filter(|_| dated.len() == 2);
        let moved = |pair| match ends {
            Some(step) if dated == [step.from, step.to] => step.moved.clone(),
            _ => Moved::between(pair),
        };
        Self {
            days: days.unwrap_or_default(),
            moved: pair.map_or_else(Vec::new, moved),
            traces: compared.map_or_else(Vec::new, |compared| compared.traces()),
        }
    }

    fn watched(&self) -> Option<f64> {
        let span = self.days.last()? - self.days.first()?;
        (span > 0.0).then_some(span)
    }

    fn rates(&self) -> Vec<(Quantity, Rate)> {
        if let [first, last] = self.days[..] {
            let of =
                |moved: &Moved| Some((moved.quantity, Rate::over(last - first, &moved.change)?));
            return self.moved.iter().filter_map(of).collect();
        }
        self.traces
            .iter()
            .filter_map(|trace| Some((trace.quantity, Rate::of(&self.days, &trace.values)?)))
            .collect()
    }

    fn approach(&self) -> Result<Approach, NoApproach> {
        Approach::of(&self.days, &self.traces)
    }
}

/// How fast every quantity goes from now on, in a week: on the average so far, or, where the bed comes to
/// rest, at the end of the approach.
fn paces(rates: &[(Quantity, Rate)], approach: Option<&Approach>) -> Vec<(Quantity, Figure)> {
    let Some(approach) = approach else {
        let average = |(quantity, rate): &(Quantity, Rate)| (*quantity, rate.per_week);
        return rates.iter().map(average).collect();
    };
    // The time of the fastest credible approach.
    let [soonest, _] = approach.interval;
    let weekly = |change: f64| change / soonest * WEEK;
    approach
        .to_come
        .iter()
        .map(|(quantity, change)| {
            let pace = Figure {
                value: weekly(change.value),
                u95: weekly(change.u95),
                low: weekly(change.low),
                high: weekly(change.high),
            };
            (*quantity, pace)
        })
        .collect()
}
