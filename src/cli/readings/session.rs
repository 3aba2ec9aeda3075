//! Reading by reading, from the first that is open to the end or to `stop`.

use super::command::{HELP, Typed};
use super::expected::{Expectations, Expected};
use super::target::{Begin, Target};
use super::walk::Step;
use crate::cli::failure::{self, Failure};
use crate::cli::output;
use crate::cli::source::Source;
use crate::cli::survey_file::SurveyFile;
use crate::cli::typing::Typing;
use crate::report::text::scale::place;
use crate::survey::edit::{set_felt, set_note, set_reading};
use crate::survey::{
    Diagnostic, Entry, Line, Pass, QUARTER_DIVISION, format_entry, format_reading, lettered,
    parse_reading,
};

/// The pass while it is typed.
pub(super) struct Session<'a> {
    pub file: &'a mut SurveyFile,
    pub source: Source,
    pub target: Target,
    pub steps: Vec<Step>,
    /// What is written at each step so far; `None` is open.
    pub entries: Vec<Option<Entry>>,
    pub expectations: Option<Expectations>,
    /// The pass before, if it was read.
    pub before: Option<&'a Pass>,
    /// The furthest step reached.
    pub reached: usize,
    /// Entries that were taken although they lie far off, for whoever cannot be asked.
    pub far: Vec<String>,
    /// How many were.
    pub surprises: usize,
    /// Whether it was told how to bring the bubble back along, and across.
    pub told_packing: [bool; 2],
}

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// Every place was asked for.
    Complete,
    /// At this step.
    Stopped(usize),
}

impl Session<'_> {
    /// Takes reading after reading.
    pub fn run(&mut self, typing: &mut Typing) -> Result<End, Failure> {
        let Some(mut at) = self.next_open(0) else {
            return Ok(End::Complete);
        };
        self.reached = at;
        let mut told_leg = None;
        // An entry that was asked about.
        let mut doubted: Option<Entry> = None;
        loop {
            let asked = doubted.is_some();
            let step = self.steps[at];
            if typing.is_person() && told_leg != Some((step.line, step.back)) {
                output::say(&heading(&step));
                told_leg = Some((step.line, step.back));
            }
            let expected = self.expected(&step);
            let Some(line) = typing.line(&self.prompt(at, expected.as_ref()))? else {
                return Ok(End::Stopped(at));
            };
            let entry = match Typed::of(&line) {
                Typed::Stop => return Ok(End::Stopped(at)),
                Typed::Back => {
                    doubted = None;
                    if at == 0 {
                        complain(typing, &Diagnostic::new(0..0, "this is the first one"))?;
                    }
                    at = at.saturating_sub(1);
                    continue;
                }
                Typed::Help => {
                    output::say_help(&HELP);
                    continue;
                }
                Typed::Note(words) => {
                    let done = self.note(words);
                    is_saved(done, typing)?;
                    continue;
                }
                Typed::Felt(key, feet) => {
                    let done = self.felt(key, feet);
                    is_saved(done, typing)?;
                    continue;
                }
                Typed::Packing(strip) => {
                    if self.is_packed(strip, step.line, typing)? {
                        at = self.next_open(0).unwrap_or(at);
                    }
                    doubted = None;
                    continue;
                }
                Typed::Nothing => match (doubted.take(), &self.entries[at]) {
                    (Some(entry), _) => entry,
                    (None, Some(_)) => {
                        at = match self.after(at) {
                            Some(next) => next,
                            None => return Ok(End::Complete),
                        };
                        continue;
                    }
                    (None, None) => {
                        complain(typing, &nothing_typed())?;
                        continue;
                    }
                },
                Typed::Skip => Entry::Missing,
                Typed::Reading(words) => match self.parsed(words, step.line) {
                    Ok(entry) => entry,
                    Err(mistake) => {
                        complain(typing, &mistake)?;
                        continue;
                    }
                },
            };
            if let Some(expected) = expected.filter(|expected| expected.is_far(&entry)) {
                let words = self.doubt(&step, &entry, &expected);
                if !typing.is_person() {
                    self.far.push(words);
                } else if !asked {
                    output::say(&format!(
                        "{words} Look again and type it again, or press Enter to keep it."
                    ));
                    doubted = Some(entry);
                    continue;
                }
                self.surprises += 1;
            }
            doubted = None;
            let saved = self.write(at, entry);
            if is_saved(saved, typing)? {
                if typing.is_person() {
                    self.tell_how_to_get_on_the_scale(at, expected.as_ref())?;
                }
                at = match self.after(at) {
                    Some(next) => next,
                    None => return Ok(End::Complete),
                };
            }
        }
    }

    /// The step after this one: the next, on the way forward again after `back`, else the next that is open.
    fn after(&mut self, at: usize) -> Option<usize> {
        let next = if at < self.reached {
            Some(at + 1)
        } else {
            self.next_open(at + 1)
        };
        if let Some(next) = next {
            self.reached = self.reached.max(next);
        }
        next
    }

    fn next_open(&self, from: usize) -> Option<usize> {
        (from..self.steps.len()).find(|at| self.entries[*at].is_none())
    }

    fn expected(&self, step: &Step) -> Option<Expected> {
        let taken: Vec<(Step, Entry)> = self
            .steps
            .iter()
            .zip(&self.entries)
            .filter_map(|(step, entry)| Some((*step, entry.clone()?)))
            .collect();
        self.expectations.as_ref()?.at(step, &taken)
    }

    fn range(&self) -> Option<f64> {
        self.source.survey.levels.get(&self.target.level)?.range
    }

    /// What was typed, as the level shows it or with its letter.
    fn parsed(&self, words: &str, line: Line) -> Result<Entry, Diagnostic> {
        let level = self.source.survey.levels.get(&self.target.level);
        let words = lettered(words, line, level.and_then(|level| level.plus));
        parse_reading(&words, line, self.range())
    }

    /// What can be read of a division of the level in hand, divisions.
    fn part(&self) -> f64 {
        let level = self.source.survey.levels.get(&self.target.level);
        level.map_or(QUARTER_DIVISION, |level| level.resolution)
    }

    /// `3/18 cross 600 mm, last 1.5F, expect 0.5F: `.
    fn prompt(&self, at: usize, expected: Option<&Expected>) -> String {
        let step = &self.steps[at];
        let mut prompt = format!("{}/{} {}", at + 1, self.steps.len(), self.place(step));
        let last = self.before.and_then(|pass| {
            pass.readings.iter().find(|reading| {
                (reading.line, reading.reversed) == (step.line, step.reversed)
                    && (reading.at - step.at).abs() < 1e-6
            })
        });
        if let Some(last) = last.filter(|last| last.entry != Entry::Missing) {
            prompt = format!("{prompt}, last {}", format_entry(step.line, &last.entry));
        }
        if let Some(expected) = expected {
            prompt = format!("{prompt}, expect {}", self.shown(step.line, expected.value));
        }
        if let Some(entry) = &self.entries[at] {
            prompt = format!("{prompt}, now {}", format_entry(step.line, entry));
        }
        prompt + ": "
    }

    fn place(&self, step: &Step) -> String {
        let units = self.source.survey.units;
        format!(
            "{}{} {}",
            step.line.name(),
            if step.reversed { " reversed" } else { "" },
            place(step.at, units)
        )
    }

    /// What the level is expected to show, `>10F` beyond its scale.
    fn shown(&self, line: Line, divisions: f64) -> String {
        match self.range() {
            Some(range) if divisions.abs() > range => {
                format!(">{}", format_reading(line, range.copysign(divisions), 0.0))
            }
            _ => format_reading(line, divisions, self.part()),
        }
    }

    fn doubt(&self, step: &Step, entry: &Entry, expected: &Expected) -> String {
        let seen = format_entry(step.line, entry);
        let words = format!(
            "{}: {seen} is far from the expected {}",
            self.place(step),
            self.shown(step.line, expected.value)
        );
        match expected.likelier(entry) {
            Some(likelier) => format!("{words}; is it {}?", format_entry(step.line, &likelier)),
            None => format!("{words}."),
        }
    }

    fn write(&mut self, at: usize, entry: Entry) -> Result<(), Failure> {
        let step = self.steps[at];
        let pass = self.target.index;
        self.change(|text| {
            let list = (step.line, step.reversed);
            set_reading(text, pass, list, step.index, Some(&entry))
        })?;
        self.entries[at] = Some(entry);
        Ok(())
    }

    fn note(&mut self, words: &str) -> Result<(), Failure> {
        let pass = self.target.index;
        let before = self.source.survey.passes.get(pass);
        let note = match before.and_then(|pass| pass.note.as_deref()) {
            Some(note) if !note.is_empty() => format!("{note}; {words}"),
            _ => words.to_owned(),
        };
        self.change(|text| set_note(text, pass, &note))
    }

    fn felt(&mut self, key: &str, names: &str) -> Result<(), Failure> {
        let survey = &self.source.survey;
        let mut feet = Vec::new();
        let none = names.eq_ignore_ascii_case("none");
        let names = if none { "" } else { names };
        for name in names.split([',', ' ']).filter(|name| !name.is_empty()) {
            let foot = survey.foot_index(name).ok_or_else(|| {
                failure::not_understood(
                    format!("there is no foot `{name}`"),
                    format!("name feet as in `{key} R3 F4`, or `{key} none`"),
                )
            })?;
            feet.push(survey.feet[foot].name.clone());
        }
        feet.dedup();
        let names: Vec<&str> = feet.iter().map(String::as_str).collect();
        let pass = self.target.index;
        self.change(|text| set_felt(text, pass, key, &names))
    }

    /// Changes the pass, which comes into the file with its first change.
    pub fn change(
        &mut self,
        edit: impl FnOnce(&str) -> Result<String, crate::survey::edit::CannotEdit>,
    ) -> Result<(), Failure> {
        let target = &self.target;
        self.source = self.file.change(|source| {
            let text = target.begun_in(source)?;
            edit(&text)
        })?;
        self.target.begin = Begin::Begun;
        Ok(())
    }
}

fn nothing_typed() -> Diagnostic {
    Diagnostic::new(0..0, "nothing was typed")
        .help("write `-` if no reading was taken; `help` says what else")
}

/// Where the next readings are taken, and their letters.
fn heading(step: &Step) -> String {
    let from = if step.back { "tailstock" } else { "headstock" };
    match step.line {
        Line::Cross => format!(
            "Across both ways, from the {from} end. F: the front is high, R: the rear is high."
        ),
        Line::Front | Line::Rear => format!(
            "Along the {} way, from the {from} end. H: the headstock end is high, T: the tailstock end is high.",
            step.line.name()
        ),
    }
}

/// Says a mistake and asks again, or gives up where nobody can be asked.
pub(super) fn complain(typing: &Typing, mistake: &Diagnostic) -> Result<(), Failure> {
    if !typing.is_person() {
        return Err(failure::line(typing.line_number(), mistake));
    }
    match &mistake.help {
        Some(help) => output::say(&format!("{}: {help}", mistake.title)),
        None => output::say(&mistake.title),
    }
    Ok(())
}

/// Whether it is on disk. A person is told why not and can try again.
pub(super) fn is_saved(saved: Result<(), Failure>, typing: &Typing) -> Result<bool, Failure> {
    match saved {
        Ok(()) => Ok(true),
        // Every further reading would meet the same.
        Err(failure) if failure.is_changed_meanwhile() => Err(failure),
        Err(failure) if typing.is_person() => {
            eprint!("{}", anstream::adapter::strip_str(&failure.message()));
            Ok(false)
        }
        Err(failure) => Err(failure),
    }
}
