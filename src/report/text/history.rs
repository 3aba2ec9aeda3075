//! All rounds in one table.

use super::page::Page;
use super::prose::Prose;
use super::scale::Scale;
use super::shape::Telling;
use super::turning::short_turn;
use crate::geometry::Figure;
use crate::report::draw::Round;
use crate::survey::{Pass, Survey};

/// One pass a row: twist and crowns with their uncertainty, and what was turned after it.
pub fn tell(survey: &Survey, rounds: &[Round], telling: &Telling) -> String {
    let units = telling.units;
    let figures = |figure: fn(&Round) -> Option<Figure>| -> Vec<Option<Figure>> {
        rounds.iter().map(figure).collect()
    };
    let columns = [
        (
            format!("twist {}", units.slope().name()),
            figures(|round| round.shape?.twist),
            true,
        ),
        (
            format!("front {}", units.length().name()),
            figures(|round| round.shape?.front.as_ref()?.crown),
            false,
        ),
        (
            format!("rear {}", units.length().name()),
            figures(|round| round.shape?.rear.as_ref()?.crown),
            false,
        ),
    ];
    let columns: Vec<Vec<String>> = columns
        .into_iter()
        .map(|(head, figures, slope)| {
            let cells = figures.iter().map(|figure| cell(*figure, slope, telling));
            std::iter::once(head).chain(cells).collect()
        })
        .collect();
    let numbers: Vec<String> = std::iter::once("pass".to_owned())
        .chain((1..=rounds.len()).map(|number| number.to_string()))
        .collect();
    let turned: Vec<String> = std::iter::once("turned after it".to_owned())
        .chain(rounds.iter().map(|round| turned_after(survey, round.pass)))
        .collect();
    let width = |column: &Vec<String>| column.iter().map(|c| c.chars().count()).max().unwrap_or(0);
    let mut page = Page::new(telling.width);
    // All rounds are shown in one way, the shortest that the page has room for.
    let across = 4 + columns.iter().map(|c| width(c) + 2).sum::<usize>();
    let longest = turned.iter().map(|words| words.chars().count()).max();
    let beside_each_other = across + 2 + longest.unwrap_or(0) <= telling.width;
    for (row, number) in numbers.iter().enumerate() {
        let mut label = format!("{number:>4}  ");
        for column in &columns {
            let cell = &column[row];
            let gap = width(column) + 2 - cell.chars().count();
            label.push_str(cell);
            label.push_str(&" ".repeat(gap));
        }
        let words = &turned[row];
        let prose = if row == 0 {
            Prose::new().faint(words.as_str())
        } else {
            Prose::from(words.as_str())
        };
        if beside_each_other {
            page.hanging(&label, &prose);
            continue;
        }
        let beside = format!("{number:>4}  ");
        if across <= telling.width {
            page.hanging(label.trim_end(), &Prose::new());
        } else if row == 0 {
            continue;
        } else {
            for (k, column) in columns.iter().enumerate() {
                let (name, unit) = column[0].split_once(' ').unwrap_or((&column[0], ""));
                let words = format!("{name} {} {unit}", column[row]);
                page.hanging(
                    if k == 0 { &beside } else { "      " },
                    &words.as_str().into(),
                );
            }
        }
        page.hanging("      ", &prose);
    }
    let aside = "Each pass by itself, ± with 95 % confidence; crown +, sag -.";
    page.gap();
    page.paragraph(&Prose::new().faint(aside));
    page.finish()
}

fn cell(figure: Option<Figure>, slope: bool, telling: &Telling) -> String {
    let Some(figure) = figure else {
        return "-".to_owned();
    };
    let scale = if slope {
        Scale::slopes(telling.units, figure.u95)
    } else {
        Scale::lengths(telling.units, figure.u95)
    };
    let value = if slope {
        scale.number(figure.value)
    } else {
        scale.signed(figure.value)
    };
    format!("{value} ±{}", scale.number(figure.u95))
}

/// `F2 +15°, R4 -1 1/2 (135°)`.
fn turned_after(survey: &Survey, pass: &Pass) -> String {
    let Some(turned) = &pass.turned else {
        return "-".to_owned();
    };
    let words: Vec<String> = turned
        .iter()
        .filter(|(_, quarters)| **quarters != 0.0)
        .filter_map(|(foot, quarters)| {
            Some(format!(
                "{}\u{a0}{}",
                survey.feet.get(*foot)?.name,
                short_turn(*quarters)
            ))
        })
        .collect();
    let words = if words.is_empty() {
        "nothing".to_owned()
    } else {
        words.join(", ")
    };
    if pass.conditions.unfinished {
        words + ", not finished"
    } else {
        words
    }
}
