//! What moved by itself, in words; `behind` is what lies behind it.

mod behind;

use super::head::head;
use super::page::Page;
use super::prose::{Prose, TIE, Tone};
use super::scale::Scale;
use super::shape::Telling;
use super::words;
use crate::geometry::Figure;
use crate::report::SettleReport;
use crate::settle::approach::FEWEST_PASSES;
use crate::settle::{Again, NoApproach, Quantity, Rate, Sinking, Step, StepKind};
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Survey};

/// What moved by itself.
pub fn tell(report: &SettleReport, telling: &Telling) -> String {
    let mut page = Page::new(telling.width);
    let seen = report.settlement;
    head(&mut page, report.survey, report.number, telling.units);
    page.gap();
    page.paragraph(&headline(report));
    page.gap();
    for step in &seen.steps {
        page.hanging(
            &format!("{:<9}", passes(step)),
            &between(step, telling.units),
        );
    }
    for (quantity, rate) in &seen.rates {
        page.hanging(label(*quantity), &pace(*quantity, rate, telling.units));
    }
    page.hanging("At rest? ", &rest(report, telling.units));
    for (k, sinking) in seen.sinking.iter().enumerate() {
        let words = floor(report.survey, sinking, telling.units);
        page.hanging(if k == 0 { "Floor    " } else { "         " }, &words);
    }
    page.gap();
    page.hanging("Next     ", &next(report, telling));
    if let Some(step) = seen.whole.as_ref().or(seen.steps.last())
        && step.has_changed()
    {
        for moved in &step.moved {
            behind::changes(&mut page, step, moved, telling.units);
        }
    }
    for note in behind::warmth(report, telling.units) {
        page.gap();
        page.paragraph(&note);
    }
    page.heading("Bear in mind");
    let anchors = match report.survey.bed.held_down {
        Some(true) => Some(TORQUE),
        None => Some(PERHAPS_TORQUE),
        Some(false) => None,
    };
    for words in anchors.into_iter().chain(SETTLES) {
        page.hanging("- ", &words.into());
    }
    page.finish()
}

/// Before readings that are compared; common practice, no source.
const TORQUE: &str = "Torque the anchors again before you read, and note it.";

/// The same where nobody wrote whether there are anchors.
const PERHAPS_TORQUE: &str =
    "If anchors hold it down, torque them again before you read, and note it.";

/// What makes a bed settle; common practice, no source.
const SETTLES: [&str; 3] = [
    "Grout and a slab less than some months old go on shrinking, and the bed with them.",
    "A floor moves with the heating season: read once in it and once out of it.",
    "Read again after a crash, and after the machine was moved.",
];

fn passes(step: &Step) -> String {
    format!("{} to {}", step.from + 1, step.to + 1)
}

/// The comparison that matters: the anchors' if they were touched last, else the longest.
fn telling_step<'a>(report: &SettleReport<'a>) -> Option<&'a Step> {
    let seen = report.settlement;
    seen.whole.as_ref().or(seen.steps.last())
}

fn headline(report: &SettleReport) -> Prose {
    let Some(step) = telling_step(report) else {
        return Prose::new();
    };
    let what = match step.kind {
        StepKind::Settled => "The bed has ",
        StepKind::AnchorsPulledDown => "Pulling down the anchors has ",
        StepKind::AnchorsSlackened => "Slackening the anchors has ",
    };
    let object = match step.kind {
        StepKind::Settled => "",
        _ => " the bed",
    };
    let span = format!(
        " from pass{TIE}{} to pass{TIE}{}",
        step.from + 1,
        step.to + 1
    );
    match step.change {
        None => Prose::from("These passes have nothing in common, so nobody can tell what moved."),
        Some(change) if change.is_real() => Prose::new()
            .plain(what)
            .toned(Tone::Bad, "moved")
            .plain(format!(
                "{object}{span}: readings that only scatter differ this much {}.",
                how_often(change.chance)
            )),
        Some(change) => Prose::new()
            .plain(what)
            .toned(Tone::Good, "not moved")
            .plain(format!(
                "{object}{span} as far as the readings can tell: scatter alone differs this much {}.",
                how_often(change.chance)
            )),
    }
}

/// `12 times in 100`.
fn how_often(chance: f64) -> String {
    let percent = 100.0 * chance;
    if percent < 0.1 {
        "less than once in 1000 times".to_owned()
    } else if percent < 1.5 {
        format!("{} times in 1000", short_number(10.0 * percent, 0))
    } else {
        format!("{} times in 100", short_number(percent, 0))
    }
}

fn between(step: &Step, units: LengthUnit) -> Prose {
    let time = match step.days {
        Some(days) => span(days),
        None => "no dates".to_owned(),
    };
    let what = match step.kind {
        StepKind::Settled => time,
        StepKind::AnchorsPulledDown => format!("anchors pulled down, {time}"),
        StepKind::AnchorsSlackened => format!("anchors slackened, {time}"),
    };
    let prose = Prose::from(format!("{what}: "));
    match step.change {
        None => prose.plain("nothing in common"),
        Some(change) if change.is_real() => {
            prose.toned(Tone::Bad, "moved").plain(farthest(step, units))
        }
        Some(_) => prose.toned(Tone::Good, "nothing to see"),
    }
}

/// Where most moved by work on the anchors, and by how much.
fn farthest(step: &Step, units: LengthUnit) -> String {
    if step.kind == StepKind::Settled {
        return String::new();
    }
    let most = step.moved.iter().filter_map(|moved| {
        let places = moved.places.iter().filter(|place| place.is_real());
        let place = places.max_by(|a, b| a.change.abs().total_cmp(&b.change.abs()))?;
        let scale = scale_of(moved.quantity, units, place.u95);
        let what = match moved.quantity {
            Quantity::Twist => "across".to_owned(),
            Quantity::Crown(side) => format!("{} way", words::side(side)),
        };
        Some(format!(
            "{what} {} (±{}) at {}",
            scale.signed(place.change),
            scale.with_unit(place.u95),
            super::scale::place(place.at, units)
        ))
    });
    let most: Vec<String> = most.collect();
    if most.is_empty() {
        String::new()
    } else {
        format!(", most of all {}", most.join("; "))
    }
}

/// A number of days in words.
fn span(days: f64) -> String {
    let count = |number: f64, one: &str| {
        let text = short_number(number, 1);
        let plural = if text == "1" { "" } else { "s" };
        format!("{text}{TIE}{one}{plural}")
    };
    if days < 2.0 {
        count(days * 24.0, "hour")
    } else if days < 21.0 {
        count(days, "day")
    } else {
        count(days / 7.0, "week")
    }
}

fn label(quantity: Quantity) -> &'static str {
    use crate::survey::Side;
    match quantity {
        Quantity::Twist => "Twist    ",
        Quantity::Crown(Side::Front) => "Front    ",
        Quantity::Crown(Side::Rear) => "Rear     ",
    }
}

fn scale_of(quantity: Quantity, units: LengthUnit, u95: f64) -> Scale {
    match quantity {
        Quantity::Twist => Scale::slopes(units, u95),
        Quantity::Crown(_) => Scale::lengths(units, u95),
    }
}

fn pace(quantity: Quantity, rate: &Rate, units: LengthUnit) -> Prose {
    let scale = scale_of(quantity, units, rate.per_week.u95);
    let what = match (quantity, rate.per_week.value < 0.0) {
        (Quantity::Twist, false) => "towards front high at the tailstock end",
        (Quantity::Twist, true) => "towards rear high at the tailstock end",
        (Quantity::Crown(_), false) => "towards crown",
        (Quantity::Crown(_), true) => "towards sag",
    };
    let give = scale.number(rate.per_week.u95);
    let prose = if rate.is_real() {
        Prose::new()
            .strong(format!(
                "{} a week",
                scale.with_unit(rate.per_week.value.abs())
            ))
            .plain(format!(" {what}, give or take{TIE}{give}"))
    } else {
        Prose::from(format!(
            "no rate to see, give or take {} a week",
            scale.with_unit(rate.per_week.u95)
        ))
    };
    if rate.steady == Some(false) {
        prose.plain("; not at an even pace")
    } else {
        prose
    }
}

fn rest(report: &SettleReport, units: LengthUnit) -> Prose {
    match &report.settlement.approach {
        Ok(found) => {
            let [low, high] = found.interval;
            let to_come = found
                .to_come
                .iter()
                .map(|(quantity, figure)| to_come(*quantity, *figure, units));
            let words: Vec<String> = std::iter::once(format!(
                "it slows down: what is left falls to a third in about {} (between {} and {})",
                span(to_a_third(found.time)),
                span(to_a_third(low)),
                span(to_a_third(high))
            ))
            .chain(to_come)
            .collect();
            Prose::from(words.join("; "))
        }
        Err(NoApproach::TooFewPasses { passes }) => Prose::from(format!(
            "not enough passes to tell: it takes {FEWEST_PASSES} with a date and nothing turned between them, here are \
             {passes}"
        )),
        Err(NoApproach::NothingMoved) => Prose::from("yes, as far as the readings can tell"),
        Err(NoApproach::NoEndInSight) => Prose::from("no end in sight: it does not slow down yet"),
        Err(NoApproach::OtherWay) => Prose::from(
            "not to be told: it moves neither evenly nor ever more slowly; something else happened in between",
        ),
    }
}

/// Days in which what is left of an approach falls to a third, from those in which it falls to 1/e.
fn to_a_third(time: f64) -> f64 {
    time * 3.0_f64.ln()
}

fn to_come(quantity: Quantity, figure: Figure, units: LengthUnit) -> String {
    let scale = scale_of(quantity, units, figure.u95);
    let name = match quantity {
        Quantity::Twist => "twist".to_owned(),
        Quantity::Crown(side) => format!("{} crown", words::side(side)),
    };
    format!(
        "{name} still to come {}, give or take{TIE}{}",
        scale.signed(figure.value),
        scale.with_unit(figure.u95)
    )
}

fn floor(survey: &Survey, sinking: &Sinking, units: LengthUnit) -> Prose {
    let name = |foot: usize| survey.feet.get(foot).map_or("", |foot| foot.name.as_str());
    let scale = Scale::lengths(units, sinking.rise.u95);
    let sense = if sinking.rise.value < 0.0 {
        "sank"
    } else {
        "came up"
    };
    let prose = Prose::new()
        .plain("it looks as if the floor under ")
        .strong(name(sinking.foot))
        .plain(format!(
            " {sense} by {}, give or take{TIE}{}",
            scale.with_unit(sinking.rise.value.abs()),
            scale.number(sinking.rise.u95)
        ));
    if sinking.rivals.is_empty() {
        return prose;
    }
    let rivals: Vec<&str> = sinking.rivals.iter().map(|foot| name(*foot)).collect();
    prose.plain(format!(
        "; {} would explain it about as well",
        rivals.join(" or ")
    ))
}

fn next(report: &SettleReport, telling: &Telling) -> Prose {
    let seen = report.settlement;
    let again = match seen.again {
        Again::Soon => "read the bed again soon, in two or three days",
        Again::Week => "read the bed again in a week",
        Again::Month => "read the bed again in a month",
        Again::HalfYear => "read the bed again in half a year",
    };
    let prose = Prose::new()
        .strong(again)
        .plain(", at the same stations with the same level.");
    if telling_step(report).is_some_and(Step::has_changed) {
        prose.plain(" ").strong(format!("quarterturn shape {}", telling.file)).plain(
            " says whether it is still inside its limits. Correct a settled bed slowly, a little at a time with rests \
             between.",
        )
    } else {
        prose
    }
}
