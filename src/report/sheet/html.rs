//! What all pages share: head, drawings, words, tables.

use std::fmt::Write;

use super::style;
use crate::report::draw::svg::{self, escaped};
use crate::report::draw::{Drawing, cut};
use crate::report::text::head::{LONGEST_NOTE, date, machine_name, of_all};
use crate::report::text::{Prose, Tone};
use crate::survey::units::{INCH, MILLIMETRE, short_number};
use crate::survey::{LengthUnit, Pass, Survey};

/// Letters of the name of a level.
const LONGEST_NAME: usize = 40;

/// A page being written.
#[derive(Debug, Clone, Default)]
pub(super) struct Html {
    text: String,
    drawings: usize,
}

impl Html {
    /// Nothing yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Markup as it is; whoever calls this has escaped what comes from a file.
    pub fn raw(&mut self, markup: &str) {
        self.text.push_str(markup);
        self.text.push('\n');
    }

    /// A heading.
    pub fn heading(&mut self, words: &str) {
        let _ = writeln!(self.text, "<h2>{}</h2>", escaped(words));
    }

    /// A paragraph of this class.
    pub fn paragraph(&mut self, class: &str, prose: &Prose) {
        if prose.is_empty() {
            return;
        }
        let class = if class.is_empty() {
            String::new()
        } else {
            format!(" class=\"{class}\"")
        };
        let _ = writeln!(self.text, "<p{class}>{}</p>", toned(prose));
    }

    /// Drawings side by side where there is room.
    pub fn drawings(&mut self, drawings: &[Drawing]) {
        if drawings.is_empty() {
            return;
        }
        self.raw("<div class=\"drawings\">");
        for drawing in drawings {
            self.figure("", drawing);
        }
        self.raw("</div>");
    }

    /// A drawing with all the width it wants.
    pub fn wide(&mut self, drawing: &Drawing) {
        self.figure(" class=\"wide\"", drawing);
    }

    fn figure(&mut self, class: &str, drawing: &Drawing) {
        self.drawings += 1;
        let svg = svg::inline(drawing, self.drawings);
        let _ = writeln!(self.text, "<figure{class}>\n{svg}</figure>");
    }

    /// The head of the page: what it is, which machine, and lines of facts.
    pub fn head(&mut self, kind: &str, survey: &Survey, facts: &[String]) {
        self.raw("<header>");
        let _ = writeln!(self.text, "<p class=\"kind\">{}</p>", escaped(kind));
        let _ = writeln!(
            self.text,
            "<h1><bdi>{}</bdi></h1>",
            escaped(&machine_name(survey))
        );
        for fact in facts {
            let _ = writeln!(self.text, "<p class=\"faint\">{fact}</p>");
        }
        self.raw("</header>");
    }

    /// The whole file.
    pub fn finish(self, kind: &str, survey: &Survey) -> String {
        let title = format!("{kind}: {}", machine_name(survey));
        format!(
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
             <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; \
             img-src data:\">\n<link rel=\"icon\" href=\"data:,\">\n<title>{}</title>\n<style>\n\
             :root{{{}{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{}{}}}}}\n{}{}</style>\n</head>\n\
             <body>\n<main>\n{}</main>\n</body>\n</html>\n",
            escaped(&title),
            svg::LIGHT,
            style::LIGHT,
            svg::DARK,
            style::DARK,
            svg::STYLE,
            style::STYLE,
            self.text
        )
    }
}

/// Words with their tones; colour never stands alone, the words say the same.
pub(super) fn toned(prose: &Prose) -> String {
    prose
        .parts()
        .iter()
        .map(|(tone, words)| {
            let words = escaped(words);
            match tone {
                Tone::Plain => words,
                Tone::Strong => format!("<strong>{words}</strong>"),
                Tone::Faint => format!("<span class=\"faint\">{words}</span>"),
                Tone::Good => format!("<span class=\"good\">{words}</span>"),
                Tone::Doubt => format!("<span class=\"doubt\">{words}</span>"),
                Tone::Bad => format!("<span class=\"bad\">{words}</span>"),
            }
        })
        .collect()
}

/// A note or a name from the file, kept apart from the direction of the words around it.
pub(super) fn quoted(text: &str, most: usize) -> String {
    format!("<bdi>{}</bdi>", escaped(&cut(text, most)))
}

/// A note from the file.
pub(super) fn note(text: &str) -> String {
    quoted(text, LONGEST_NOTE)
}

/// Bed and feet in a line.
pub(super) fn bed_facts(survey: &Survey, units: LengthUnit) -> String {
    let unit = units.length();
    let length = |metres: f64| short_number(unit.from_si(metres), 3);
    format!(
        "Bed {} {name}, ways {} {name} apart, {} feet",
        length(survey.bed.length),
        length(survey.bed.way_spacing),
        survey.feet.len(),
        name = unit.name()
    )
}

/// Number, day and level of a pass, as markup.
pub(super) fn pass_facts(survey: &Survey, number: usize, pass: &Pass, units: LengthUnit) -> String {
    let mut facts = of_all(survey, number);
    if let Some(taken) = &pass.taken {
        let _ = write!(facts, ", {}", date(taken));
    }
    if let Some(level) = survey.level_of(pass) {
        let unit = units.slope();
        let _ = write!(
            facts,
            ", level {}, {} {} a division",
            quoted(&level.name, LONGEST_NAME),
            short_number(unit.from_si(level.division), 6),
            unit.name()
        );
    }
    facts
}

/// A place in millimetres and in inches.
pub(super) fn both_units(at: f64) -> [String; 2] {
    [
        short_number(MILLIMETRE.from_si(at), 1),
        format!("{:.2}", INCH.from_si(at)),
    ]
}

/// Lines to write on, each with what goes there.
pub(super) fn blanks(words: &[&str]) -> String {
    let mut blanks = String::from("<div class=\"blanks\">");
    for word in words {
        let _ = write!(blanks, "<div class=\"blank\">{}</div>", escaped(word));
    }
    blanks + "</div>"
}
