//! Through the card, foot by foot.

use std::collections::BTreeMap;

use super::hand::{Done, Hand, Seen};
use crate::cli::failure::{self, Failure};
use crate::cli::output;
use crate::cli::source::Source;
use crate::cli::survey_file::SurveyFile;
use crate::cli::turned::{Answer, Because, HELP};
use crate::cli::typing::Typing;
use crate::plan::{Action, CardLine, Look, TIMES_ROUND, TurnPlan};
use crate::report::text::round::{foot_alone, look_alone};
use crate::report::text::turning::{reading, short_turn};
use crate::survey::edit::{set_felt, set_turned, set_unfinished};
use crate::survey::{Foot, QUARTER_DIVISION, Survey};

/// The card of one round while it is worked off.
pub(super) struct Walk<'f> {
    file: &'f mut SurveyFile,
    pub source: Source,
    /// Index of the pass that the card follows.
    pub index: usize,
    /// The card as it was when this began.
    pub plan: TurnPlan,
    hand: Hand,
    /// The hand before every answer.
    before: Vec<Hand>,
    /// What is to be told above the next foot.
    told: Vec<String>,
}

/// How it ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    Complete,
    Stopped,
}

/// Where a person wants to go after an answer.
enum Next {
    On,
    Again,
    Stop,
}

impl<'f> Walk<'f> {
    /// The card after a pass, or what is left of it.
    pub fn begin(file: &'f mut SurveyFile, source: Source, index: usize) -> Result<Self, Failure> {
        let pass = &source.survey.passes[index];
        let turned = pass.turned.clone().unwrap_or_default();
        let hand = Hand::after(turned);
        let plan = hand
            .plan(&source.survey, index)
            .map_err(|reason| failure::no_plan(reason, index + 1))?;
        Ok(Self {
            file,
            hand: hand.with(&plan),
            plan,
            source,
            index,
            before: Vec::new(),
            told: Vec::new(),
        })
    }

    /// Whether something is to be turned in this round, or was.
    pub fn turns(&self) -> bool {
        !self.hand.turned.is_empty() || !self.hand.lines.is_empty()
    }

    fn survey(&self) -> &Survey {
        &self.source.survey
    }

    /// Goes on to the end of the card, or to `stop`.
    pub fn go(&mut self, typing: &mut Typing) -> Result<End, Failure> {
        loop {
            let next = if let Some(line) = self.hand.lines.first().cloned() {
                self.foot(&line, typing)?
            } else if let Some(look) = self.hand.looks.first().copied() {
                self.look(look, typing)?
            } else {
                return Ok(End::Complete);
            };
            if matches!(next, Next::Stop) {
                return Ok(End::Stopped);
            }
        }
    }

    /// One line of the card.
    fn foot(&mut self, line: &CardLine, typing: &mut Typing) -> Result<Next, Failure> {
        let foot = self.survey().feet[line.foot].clone();
        let head = self.head(line);
        let part = self.part();
        let units = self.survey().units;
        let screen = foot_alone(&head, line, &foot, units, part, output::width());
        self.show(&screen, typing)?;
        let prompt = match (line.action, line.watch) {
            (Action::Seat, _) => format!("{} carries [yes]", foot.name),
            (_, Some(watch)) => {
                format!(
                    "{} done, shows [{}]",
                    foot.name,
                    reading(watch.line, watch.to, part)
                )
            }
            (_, None) => format!("{} turned [{}]", foot.name, short_turn(line.quarter_turns)),
        };
        loop {
            let Some(typed) = typing.line(&prompt)? else {
                return Ok(Next::Stop);
            };
            let done = match Answer::of(&typed) {
                Answer::AsPlanned => Done::as_planned(line),
                Answer::Not(Because::Loose) => return self.loose(line.foot),
                Answer::Not(Because::Stuck | Because::Skipped) => return self.stays(line.foot),
                Answer::Other(words) => {
                    let range = self.range();
                    match Seen::of(words, line, range) {
                        Ok(seen) => {
                            let done = seen.done(line, part);
                            if !self.is_right(&foot, line, &done, typing)? {
                                continue;
                            }
                            done
                        }
                        Err(failure) => {
                            typing.explain(failure)?;
                            continue;
                        }
                    }
                }
                other => match self.aside(other, typing)? {
                    Next::On => continue,
                    next => return Ok(next),
                },
            };
            self.remember();
            self.hand.has_done(line.foot, done.quarter_turns);
            self.hand.lines.remove(0);
            self.write()?;
            if !done.foretold {
                self.anew()?;
            }
            return Ok(Next::On);
        }
    }

    /// A reading to bring back at the end.
    fn look(&mut self, look: Look, typing: &mut Typing) -> Result<Next, Failure> {
        let foot = self.survey().feet[look.foot].clone();
        let head = format!(
            "Round {}, the readings to go round: {} to look at",
            self.index + 1,
            self.hand.looks.len()
        );
        let part = self.part();
        let units = self.survey().units;
        let screen = look_alone(&head, &look, &foot, units, part, output::width());
        self.show(&screen, typing)?;
        let prompt = format!(
            "{} shows [{}]",
            foot.name,
            reading(look.line, look.shows, part)
        );
        loop {
            let Some(typed) = typing.line(&prompt)? else {
                return Ok(Next::Stop);
            };
            let turned = match Answer::of(&typed) {
                Answer::AsPlanned | Answer::Not(_) => 0.0,
                Answer::Other(words) => match Seen::of_look(words, &look, self.range()) {
                    Ok(Seen::Turned(quarters)) => quarters,
                    Ok(Seen::Shows(shows))
                        if (shows - look.shows).abs() < Seen::FORETOLD * part =>
                    {
                        0.0
                    }
                    Ok(Seen::Shows(_)) => {
                        output::say(&format!(
                            "Turn {} until it shows {}, then press Enter; type how far you turned if you counted.",
                            foot.name,
                            reading(look.line, look.shows, part)
                        ));
                        self.hand.goes_round_again = true;
                        continue;
                    }
                    Err(failure) => {
                        typing.explain(failure)?;
                        continue;
                    }
                },
                other => match self.aside(other, typing)? {
                    Next::On => continue,
                    next => return Ok(next),
                },
            };
            self.remember();
            self.hand.has_done(look.foot, turned);
            self.hand.goes_round_again |= turned != 0.0;
            self.hand.looks.remove(0);
            if self.hand.looks.is_empty() && self.hand.goes_round_again {
                self.hand.times_round += 1;
                if self.hand.times_round < TIMES_ROUND {
                    self.hand.looks.clone_from(&self.hand.all_looks);
                }
                self.hand.goes_round_again = false;
            }
            self.write()?;
            return Ok(Next::On);
        }
    }

    /// Shows a foot alone on the screen, below what there is to tell.
    fn show(&mut self, screen: &str, typing: &Typing) -> Result<(), Failure> {
        let told = std::mem::take(&mut self.told);
        output::alone(&told, screen, typing.is_person())
    }

    /// What can be typed at any foot.
    fn aside(&mut self, answer: Answer<'_>, typing: &mut Typing) -> Result<Next, Failure> {
        match answer {
            Answer::Stop => Ok(Next::Stop),
            Answer::Back => {
                let Some(hand) = self.before.pop() else {
                    output::say("This is the first one.");
                    return Ok(Next::On);
                };
                self.hand = hand;
                self.write()?;
                Ok(Next::Again)
            }
            Answer::Mend(words) => {
                match crate::cli::mend::change(self.file, self.index, words, typing) {
                    Ok(source) => {
                        self.source = source;
                        self.anew()?;
                        Ok(Next::Again)
                    }
                    Err(failure) if typing.is_person() => {
                        output::complain(&failure, anstream::ColorChoice::Auto);
                        Ok(Next::On)
                    }
                    Err(failure) => Err(failure),
                }
            }
            _ => {
                output::say_help(&HELP);
                output::say_help(&MORE_HELP);
                Ok(Next::On)
            }
        }
    }

    /// Where in the round a line is.
    fn head(&self, line: &CardLine) -> String {
        let walks = self.hand.lines.last().map_or(1, |last| last.trip);
        let walk = if walks > 1 {
            format!(", walk {} of {walks}", line.trip)
        } else {
            String::new()
        };
        let left = match self.hand.lines.len() {
            1 => "the last line".to_owned(),
            left => format!("{left} lines to go"),
        };
        format!("Round {}{walk}: {left}", self.index + 1)
    }

    fn range(&self) -> Option<f64> {
        let survey = self.survey();
        survey.level_of(&survey.passes[self.index])?.range
    }

    /// What can be read of a division, divisions.
    fn part(&self) -> f64 {
        let survey = self.survey();
        survey
            .level_of(&survey.passes[self.index])
            .map_or(QUARTER_DIVISION, |level| level.resolution)
    }

    /// Asks once more about what the card, or the foot, does not allow.
    fn is_right(
        &mut self,
        foot: &Foot,
        line: &CardLine,
        done: &Done,
        typing: &mut Typing,
    ) -> Result<bool, Failure> {
        let before = self.hand.turned.get(&line.foot).copied().unwrap_or(0.0);
        let doubts = done.doubts(foot, line, before, self.part());
        if doubts.is_empty() {
            let said = done.said(foot, self.part());
            self.told.push(format!("{said}."));
            return Ok(true);
        }
        let question = format!(
            "{}: {}. Right?",
            done.said(foot, self.part()),
            doubts.join(", ")
        );
        match typing.confirm(&question)? {
            Some(answer) => Ok(answer),
            None => Err(failure::far_from_plan(&[question])),
        }
    }

    /// A foot that carries nothing: it is seated, and the rest goes on from there.
    fn loose(&mut self, foot: usize) -> Result<Next, Failure> {
        self.remember();
        let survey = self.survey();
        let mut names: Vec<String> = survey.passes[self.index]
            .hanging
            .iter()
            .filter_map(|foot| Some(survey.feet.get(*foot)?.name.clone()))
            .collect();
        let name = &survey.feet[foot].name;
        if !names.contains(name) {
            names.push(name.clone());
        }
        let index = self.index;
        self.source = self.file.change(|source| {
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            set_felt(&source.text, index, "hanging", &names)
        })?;
        self.hand.seated.remove(&foot);
        self.anew()?;
        Ok(Next::On)
    }

    /// A foot that is turned no more.
    fn stays(&mut self, foot: usize) -> Result<Next, Failure> {
        self.remember();
        self.hand.stay.insert(foot);
        self.hand.turned.entry(foot).or_insert(0.0);
        self.write()?;
        self.anew()?;
        Ok(Next::On)
    }

    /// The rest of the card, from where the bed stands now.
    fn anew(&mut self) -> Result<(), Failure> {
        let plan = self
            .hand
            .plan(self.survey(), self.index)
            .map_err(|reason| failure::no_plan(reason, self.index + 1))?;
        self.hand = self.hand.clone().with(&plan);
        self.told
            .push("The rest of the card is made anew.".to_owned());
        Ok(())
    }

    fn remember(&mut self) {
        self.before.push(self.hand.clone());
    }

    /// What is done so far is on disk when this returns.
    fn write(&mut self) -> Result<(), Failure> {
        self.save(&self.hand.turned.clone(), true)
    }

    /// Writes the round down as done.
    pub fn finish(&mut self) -> Result<(), Failure> {
        let turned = self.hand.in_the_end();
        self.save(&turned, false)
    }

    fn save(&mut self, turned: &BTreeMap<usize, f64>, unfinished: bool) -> Result<(), Failure> {
        let (index, survey) = (self.index, &self.source.survey);
        let named: Vec<(&str, f64)> = turned
            .iter()
            .map(|(foot, quarters)| (survey.feet[*foot].name.as_str(), *quarters))
            .collect();
        let source = self.file.change(|source| {
            let text = set_unfinished(&source.text, index, unfinished)?;
            set_turned(&text, index, &named)
        })?;
        self.source = source;
        Ok(())
    }
}

/// What can be typed in a round beside what `turned` takes.
const MORE_HELP: [(&str, &str); 4] = [
    ("1 1/4 R", "what the level shows now that you have turned"),
    (
        "loose",
        "the foot carries nothing: it is brought up to bear first",
    ),
    ("stuck", "the foot does not turn; the others make up for it"),
    (
        "mend 3 1.5F",
        "mends reading 3 of the pass; `mend` lists them",
    ),
];
