//! Lays text out for a screen of a given width.

use std::fmt::Write;

use super::prose::{Prose, TIE, Tone};
use super::table::Table;

/// No screen is narrower; below this, words are cut rather than the page.
const NARROWEST: usize = 20;

/// Lines of text, each ended by a newline, with a terminal's escape codes where the tone asks for them.
#[derive(Debug, Clone)]
pub struct Page {
    width: usize,
    text: String,
}

/// Characters of one line with their tones.
type Characters = Vec<(Tone, char)>;

impl Page {
    /// An empty page, `width` characters wide.
    pub fn new(width: usize) -> Self {
        Self {
            width: width.max(NARROWEST),
            text: String::new(),
        }
    }

    /// Characters on a line.
    pub fn width(&self) -> usize {
        self.width
    }

    /// An empty line, unless there is one or nothing stands above.
    pub fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A heading with an empty line above it.
    pub fn heading(&mut self, words: &str) {
        self.gap();
        self.paragraph(&Prose::new().strong(words));
    }

    /// Prose from edge to edge.
    pub fn paragraph(&mut self, prose: &Prose) {
        self.hanging("", prose);
    }

    /// A label, and prose to the right of it.
    pub fn hanging(&mut self, label: &str, prose: &Prose) {
        let indent = label.chars().count().min(self.width / 2);
        let lines = broken(prose, self.width - indent);
        let mut label: Characters = label.chars().map(|c| (Tone::Strong, c)).collect();
        for line in lines {
            label.extend(line);
            self.write(&label);
            label = vec![(Tone::Plain, ' '); indent];
        }
    }

    /// A table, or nothing if it has no rows.
    pub fn table(&mut self, table: &Table) {
        for line in table.lines() {
            let tone = if line.head { Tone::Faint } else { Tone::Plain };
            let line: Characters = line.text.chars().map(|c| (tone, c)).collect();
            self.write(&line);
        }
    }

    /// Lines as they are; what does not fit is cut off.
    pub fn drawing(&mut self, lines: &[Prose]) {
        for line in lines {
            let line: Characters = line.characters().take(self.width).collect();
            self.write(&line);
        }
    }

    /// The text of the page.
    pub fn finish(self) -> String {
        self.text
    }

    fn write(&mut self, line: &[(Tone, char)]) {
        let end = line
            .iter()
            .rposition(|(_, character)| *character != ' ')
            .map_or(0, |last| last + 1);
        for run in line[..end].chunk_by(|a, b| a.0 == b.0) {
            let words: String = run
                .iter()
                .map(|(_, character)| if *character == TIE { ' ' } else { *character })
                .collect();
            let style = run[0].0.style();
            // Writing to a String cannot fail.
            let _ = write!(self.text, "{style}{words}{style:#}");
        }
        self.text.push('\n');
    }
}

/// Breaks prose at spaces into lines of at most `width` characters; a longer word is cut.
fn broken(prose: &Prose, width: usize) -> Vec<Characters> {
    let mut lines: Vec<Characters> = Vec::new();
    let mut line: Characters = Vec::new();
    let all: Characters = prose.characters().collect();
    for word in all.split(|(_, character)| *character == ' ') {
        if word.is_empty() {
            continue;
        }
        if !line.is_empty() && line.len() + 1 + word.len() > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            // The space takes the tone of what stands before it only if the next word goes on with it.
            let tone = line.last().map_or(Tone::Plain, |(tone, _)| *tone);
            let tone = if word[0].0 == tone { tone } else { Tone::Plain };
            line.push((tone, ' '));
        }
        let mut rest = word;
        while rest.len() > width {
            let (cut, further) = rest.split_at(width);
            lines.push(cut.to_vec());
            rest = further;
        }
        line.extend_from_slice(rest);
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(width: usize, write: impl FnOnce(&mut Page)) -> String {
        let mut page = Page::new(width);
        write(&mut page);
        anstream::adapter::strip_str(&page.finish()).to_string()
    }

    #[test]
    fn prose_hangs_below_its_label() {
        let text = plain(24, |page| {
            page.hanging("Twist  ", &"0.085\u{a0}mm/m is more than the limit".into());
        });
        assert_eq!(
            text,
            "Twist  0.085 mm/m is\n       more than the\n       limit\n"
        );
    }

    #[test]
    fn a_number_keeps_its_unit() {
        let text = plain(20, |page| {
            page.paragraph(&"it measures 12.345\u{a0}mm".into());
        });
        assert_eq!(text, "it measures\n12.345 mm\n");
    }

    #[test]
    fn a_word_longer_than_the_page_is_cut() {
        let text = plain(20, |page| page.paragraph(&"a".repeat(45).into()));
        assert!(text.lines().all(|line| line.len() <= 20), "{text}");
        assert_eq!(text.replace('\n', ""), "a".repeat(45));
    }

    #[test]
    fn names_cannot_steer_the_terminal() {
        let mut page = Page::new(40);
        page.paragraph(&"lathe\u{1b}[31m\u{7}".into());
        assert_eq!(page.finish(), "lathe\u{fffd}[31m\u{fffd}\n");
    }

    #[test]
    fn tones_end_where_their_words_end() {
        let mut page = Page::new(40);
        page.paragraph(&Prose::new().strong("outside").plain("; turn"));
        assert_eq!(page.finish(), "\u{1b}[1moutside\u{1b}[0m; turn\n");
    }
}
