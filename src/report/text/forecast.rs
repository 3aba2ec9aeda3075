//! What a pass will be able to tell, in words.

use super::head::head;
use super::next_pass::next_pass;
use super::page::Page;
use super::prose::{Prose, TIE, Tone};
use super::scale::{Scale, place};
use super::shape::Telling;
use super::words;
use crate::geometry::WayForecast;
use crate::geometry::forecast::{proves_at_most, proves_between};
use crate::plan::FirstPass;
use crate::report::ForecastReport;
use crate::survey::{LengthUnit, Side, Survey};

/// The uncertainties to be had, figure by figure.
pub fn tell(report: &ForecastReport, telling: &Telling) -> String {
    let units = telling.units;
    let mut page = Page::new(telling.width);
    head(&mut page, report.survey, report.number, units);
    page.gap();
    page.paragraph(
        &format!(
            "{} at these places, with this level, on a bed that is nearly right, will tell:",
            words::count(report.readings, "reading", "readings")
        )
        .into(),
    );
    page.gap();
    for (label, facts) in [
        ("Twist  ", of_twist(report, units)),
        ("Front  ", of_way(report, Side::Front, units)),
        ("Rear   ", of_way(report, Side::Rear, units)),
    ] {
        for (k, fact) in facts.iter().enumerate() {
            page.hanging(if k == 0 { label } else { "       " }, fact);
        }
    }
    page.finish()
}

/// More ways to take the first pass are not told.
const MOST_WAYS: usize = 6;

/// The ways to take the first pass, and where the best of them reads.
pub fn tell_first(survey: &Survey, ways: &[FirstPass<'_>], telling: &Telling) -> String {
    let units = telling.units;
    let mut page = Page::new(telling.width);
    page.paragraph(&Prose::new().strong("The first pass").plain(
        ": what each way to take it can tell of a bed that is nearly right, and what it is likely to take until all is \
         proven, the best first.",
    ));
    page.gap();
    for way in ways.iter().take(MOST_WAYS) {
        let forecast = &way.forecast;
        let slope = |u95: f64| Scale::slopes(units, u95).with_unit(u95);
        let length = |u95: f64| Scale::lengths(units, u95).with_unit(u95);
        let crown = [forecast.front, forecast.rear].into_iter().flatten();
        let crown = crown.map(|way| way.crown).reduce(f64::max);
        let told = [
            forecast.twist.map(|u95| format!("twist ±{}", slope(u95))),
            crown.map(|u95| format!("crown ±{}", length(u95))),
        ];
        let told: Vec<String> = told.into_iter().flatten().collect();
        page.hanging(
            "  ",
            &Prose::new()
                .strong(format!("Level {}, ", way.level.name))
                .strong(words::count(way.readings(), "reading", "readings"))
                .plain(format!(
                    ": {}, {:.0}{TIE}min, in all about {:.0}{TIE}min",
                    told.join(", "),
                    way.minutes,
                    way.until_proven
                )),
        );
    }
    if let Some(best) = ways.first() {
        next_pass(&mut page, &best.next_pass(), units);
        if survey.levels.len() > 1 {
            page.paragraph(
                &"Where more than a fifth of its readings are off the scale, take the coarser level at the same places."
                    .into(),
            );
        }
    }
    page.finish()
}

fn of_twist(report: &ForecastReport, units: LengthUnit) -> Vec<Prose> {
    let limits = &report.survey.limits;
    let forecast = &report.forecast;
    let known = |figure: &str, u95: f64, limit: Option<f64>| {
        let scale = Scale::slopes(units, u95);
        let limit = limit.map(|limit| (scale.limit(limit), proves_at_most(u95, limit)));
        within(&format!("{figure}±{}", scale.with_unit(u95)), limit)
    };
    let Some(twist) = forecast.twist else {
        return vec![nothing()];
    };
    let mut facts = vec![known("", twist, limits.twist)];
    if let Some(u95) = forecast.twist_per_metre {
        let figure = format!("over any metre{TIE}");
        facts.push(known(&figure, u95, limits.twist_per_metre));
    }
    facts
}

fn of_way(report: &ForecastReport, side: Side, units: LengthUnit) -> Vec<Prose> {
    let limits = &report.survey.limits;
    let way = match side {
        Side::Front => report.forecast.front,
        Side::Rear => report.forecast.rear,
    };
    let Some(WayForecast {
        crown,
        straightness,
    }) = way
    else {
        return vec![nothing()];
    };
    let scale = Scale::lengths(units, crown.min(straightness));
    let of_crown = limits.crown.map(|ends| {
        let words = words::crown_limit(ends, &scale);
        (words, proves_between(crown, ends))
    });
    let of_straightness = limits
        .straightness
        .map(|limit| (scale.limit(limit), proves_at_most(straightness, limit)));
    let [crown, straightness] = [("crown", crown), ("straightness", straightness)]
        .map(|(figure, u95)| format!("{figure}{TIE}±{}", scale.with_unit(u95)));
    let mut facts = if of_straightness.is_some() {
        vec![
            within(&crown, of_crown),
            within(&straightness, of_straightness),
        ]
    } else {
        vec![within(&format!("{crown}, {straightness}"), of_crown)]
    };
    for local in &report.forecast.local {
        let limit = local.limit;
        let over = format!("over any {}", place(limit.over, units));
        facts.push(match local.way(side) {
            Some(u95) => {
                let scale = Scale::lengths(units, u95);
                let proven = (scale.limit(limit.height), proves_at_most(u95, limit.height));
                within(
                    &format!("{over}{TIE}±{}", scale.with_unit(u95)),
                    Some(proven),
                )
            }
            None => Prose::from(over).plain(" nothing: it takes readings at more places"),
        });
    }
    facts
}

/// An uncertainty, and whether it is small enough to prove the limit kept.
fn within(u95: &str, limit: Option<(String, bool)>) -> Prose {
    let prose = Prose::new().strong(u95);
    match limit {
        None => prose,
        Some((limit, true)) => prose.plain(format!("; limit: {limit}, can be proven")),
        Some((limit, false)) => prose.plain(format!("; limit: {limit}, ")).toned(
            Tone::Bad,
            "cannot be proven by one pass: it takes several, or a finer level",
        ),
    }
}

fn nothing() -> Prose {
    Prose::from("nothing: it takes readings at more places")
}
