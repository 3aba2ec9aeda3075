//! `quarterturn turns`: what to turn at which foot.

use clap::Args;

use super::failure::{self, Failure};
use super::findings::Findings;
use super::options::Shared;
use super::plots::Plots;
use super::progress::Progress;
use super::{Done, output, source};
use crate::geometry::{Passes, ReferenceLine};
use crate::plan::{self, ExpectedShape};
use crate::report::text::turns::Beside;
use crate::report::text::{self, Telling};
use crate::report::{TurnsReport, json};

/// What to turn at which foot, in which order, what to watch, and what it should leave
#[derive(Debug, Args)]
#[command(after_help = AFTER_HELP)]
pub struct Arguments {
    #[command(flatten)]
    pub shared: Shared,

    #[command(flatten)]
    plots: Plots,

    /// Print only the orders and what to do next
    #[arg(long, conflicts_with_all = ["json", "plots"])]
    short: bool,

    /// Print what the plan is better than, too
    #[arg(long, conflicts_with_all = ["json", "short"])]
    why: bool,
}

const AFTER_HELP: &str = "\
Examples:
  quarterturn turns lathe.toml                after the last pass in the file
  quarterturn turns lathe.toml --pass 1       what was to be turned after the first one
  quarterturn turns lathe.toml --short        the orders alone, for a small screen under the machine

Everything in the file up to that pass is used: what was turned in earlier rounds and what the bed made of it.";

impl Arguments {
    fn beside(&self) -> Beside {
        if self.short {
            Beside::Least
        } else if self.why {
            Beside::Reasons
        } else {
            Beside::Usual
        }
    }
}

/// Prints the turns after a pass.
pub fn run(arguments: &Arguments) -> Result<Done, Failure> {
    let shared = &arguments.shared;
    let source = source::read(shared.file.as_deref())?;
    let working = Progress::begins();
    let survey = &source.survey;
    let index = shared.pass(survey)?;
    let passes = Passes::of(survey);
    let findings = Findings::of(&passes, index, ReferenceLine::default())?;
    let plan = plan::after(&passes, index).map_err(|reason| failure::no_plan(reason, index + 1))?;
    let report = TurnsReport {
        shape: if shared.json {
            findings.report_with_remedies(survey)
        } else {
            findings.report(survey)
        },
        plan: &plan,
    };
    let text = if shared.json {
        json::to_text(&json::turns::TurnsObject::of(&report))
    } else {
        let telling = Telling {
            plots: arguments.plots.characters(),
            ..shared.telling(&source)
        };
        let expected = telling.plots.and_then(|_| {
            let report = report.shape;
            ExpectedShape::after(survey, index, report.shape, &plan, report.reference).ok()
        });
        text::turns::tell(&report, expected.as_ref(), &telling, arguments.beside())
    };
    drop(working);
    output::print(&text, shared.colour())?;
    Ok(Done::Well)
}
