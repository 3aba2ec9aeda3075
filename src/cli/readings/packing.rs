//! A strip under one end of the level while a pass is typed.

use anstream::ColorChoice;

use super::expected::Expected;
use super::session::{Session, complain, is_saved};
use super::walk::Step;
use crate::cli::failure::Failure;
use crate::cli::output;
use crate::cli::source::shell_word;
use crate::cli::typing::Typing;
use crate::plan::strip_under;
use crate::report::text::{Page, Prose, packed};
use crate::survey::edit::{set_packing, set_reading};
use crate::survey::units::show_length;
use crate::survey::{Entry, Line, Packing, parse_packing};

impl Session<'_> {
    /// How the bubble comes back, once for all readings across and once for those along.
    pub fn tell_how_to_get_on_the_scale(
        &mut self,
        at: usize,
        expected: Option<&Expected>,
    ) -> Result<(), Failure> {
        let step = self.steps[at];
        let Some(Entry::OffScale(end)) = self.entries[at] else {
            return Ok(());
        };
        let across = step.line == Line::Cross;
        let survey = &self.source.survey;
        let Some(level) = survey.levels.get(&self.target.level) else {
            return Ok(());
        };
        if self.target.packing.on(step.line) != 0.0 || self.told_packing[usize::from(across)] {
            return Ok(());
        }
        self.told_packing[usize::from(across)] = true;
        // Where nothing is foretold, half as much again as the end of the scale is a first try.
        let foretold = expected.map(|expected| expected.value);
        let foretold = foretold.filter(|value| value.abs() > end.abs() && value * end > 0.0);
        let shows = foretold.unwrap_or(1.5 * end);
        let coarser = survey
            .levels
            .values()
            .filter(|other| other.division > level.division);
        let coarser = coarser.min_by(|a, b| a.division.total_cmp(&b.division));
        let strip = strip_under(survey, level, step.line, shows);
        let mut page = Page::new(output::width());
        if let Some(height) = strip {
            let thick = show_length(height.abs(), survey.units);
            let letter = Packing::letter(step.line, height);
            let more = if foretold.is_some() {
                ""
            } else {
                "Take a thicker one until the bubble stands near the middle. "
            };
            page.paragraph(
                &packed("Lay", step.line, height, survey.units).plain(format!(
                    " {more}Then type what lies there: `packing {thick} {letter}`."
                )),
            );
        }
        if let Some(coarser) = coarser {
            page.paragraph(&Prose::from(format!(
                "{} level {}: `stop`, then `quarterturn readings {} --new --level {}`.",
                if strip.is_some() { "Or take" } else { "Take" },
                coarser.name,
                self.source.name,
                shell_word(&coarser.name)
            )));
        }
        output::print(&page.finish(), ColorChoice::Auto)
    }

    /// Whether what was typed of a strip is understood and written down.
    pub fn is_packed(&mut self, strip: &str, line: Line, typing: &Typing) -> Result<bool, Failure> {
        let units = self.source.survey.units;
        match parse_packing(strip, line, Some(units)) {
            Ok(height) => {
                let packed = self.pack(line, height);
                is_saved(packed, typing)
            }
            Err(mistake) => {
                complain(typing, &mistake)?;
                Ok(false)
            }
        }
    }

    /// Notes what lies under one end of the level; what was read without it is to be read again.
    fn pack(&mut self, line: Line, height: f64) -> Result<(), Failure> {
        let mut packing = self.target.packing;
        match line {
            Line::Cross => packing.cross = height,
            Line::Front | Line::Rear => packing.along = height,
        }
        let across = line == Line::Cross;
        let without: Vec<usize> = (0..self.steps.len())
            .filter(|&at| (self.steps[at].line == Line::Cross) == across)
            .filter(|&at| {
                self.entries[at]
                    .as_ref()
                    .is_some_and(|entry| *entry != Entry::Missing)
            })
            .collect();
        let pass = self.target.index;
        let steps: Vec<Step> = without.iter().map(|&at| self.steps[at]).collect();
        self.change(|text| {
            steps
                .iter()
                .try_fold(set_packing(text, pass, packing)?, |text: String, step| {
                    set_reading(&text, pass, (step.line, step.reversed), step.index, None)
                })
        })?;
        self.target.packing = packing;
        if let Some(expectations) = &mut self.expectations {
            expectations.packing = packing;
        }
        if !without.is_empty() {
            output::say("What was read without it is to be read again with it.");
        }
        for at in without {
            self.entries[at] = None;
        }
        Ok(())
    }
}
