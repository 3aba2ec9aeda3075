//! Diagnostics as text: the place, the line, the underline, what would be right.

use std::ops::Range;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};

use super::diagnostic::Diagnostic;
use super::read::BYTE_ORDER_MARK;
use super::text::visible;

/// Widest line of a rendered diagnostic, characters; longer lines of the file are cut around the mistake.
const WIDTH: usize = 100;

/// A file with more mistakes than this has one cause for most of them.
const MOST_SHOWN: usize = 50;

/// What is wrong with a file, ready to print.
///
/// `source` is the text that was read and `file_name` what to call it. With `colour`, escape codes of a
/// terminal are used; without, the text is plain ASCII apart from what the file itself says.
pub fn render(diagnostics: &[Diagnostic], file_name: &str, source: &str, colour: bool) -> String {
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    }
    .decor_style(DecorStyle::Ascii)
    .term_width(WIDTH);
    let mut blocks: Vec<String> = diagnostics
        .iter()
        .take(MOST_SHOWN)
        .map(|diagnostic| one(&renderer, diagnostic, file_name, source))
        .collect();
    let number = diagnostics.len();
    if number > MOST_SHOWN {
        blocks.push(format!(
            "{number} mistakes in {file_name}, the first {MOST_SHOWN} shown"
        ));
    } else if number > 1 {
        blocks.push(format!("{number} mistakes in {file_name}"));
    }
    let text = blocks
        .iter()
        .map(|block| format!("{block}\n"))
        .collect::<Vec<_>>()
        .join("\n");
    visible(&text).into_owned()
}

fn one(renderer: &Renderer, diagnostic: &Diagnostic, file_name: &str, source: &str) -> String {
    let body = source.strip_prefix(BYTE_ORDER_MARK).unwrap_or(source);
    let mark = source.len() - body.len();
    let line = Line::around(body, diagnostic.span.start.saturating_sub(mark));
    let span = line.within(
        diagnostic.span.start.saturating_sub(mark)..diagnostic.span.end.saturating_sub(mark),
    );
    let mut annotation = AnnotationKind::Primary.span(span);
    if !diagnostic.label.is_empty() {
        annotation = annotation.label(diagnostic.label.as_str());
    }
    let mut group = Level::ERROR
        .primary_title(diagnostic.title.as_str())
        .element(
            Snippet::source(line.text)
                .line_start(line.number)
                .path(file_name)
                .annotation(annotation),
        );
    if let Some(help) = &diagnostic.help {
        group = group.element(Level::HELP.message(wrapped(help)));
    }
    renderer.render(&[group])
}

/// One line of a text.
struct Line<'a> {
    number: usize,
    start: usize,
    text: &'a str,
}

impl<'a> Line<'a> {
    fn around(body: &'a str, place: usize) -> Self {
        let place = floor_boundary(body, place);
        let start = body[..place].rfind('\n').map_or(0, |newline| newline + 1);
        let end = body[start..]
            .find('\n')
            .map_or(body.len(), |length| start + length);
        Self {
            number: body[..start].bytes().filter(|&byte| byte == b'\n').count() + 1,
            start,
            text: body[start..end].trim_end_matches('\r'),
        }
    }

    /// The part of a span that lies on this line, as positions in its text.
    fn within(&self, span: Range<usize>) -> Range<usize> {
        let start = floor_boundary(self.text, span.start.saturating_sub(self.start));
        let end = floor_boundary(self.text, span.end.saturating_sub(self.start));
        start..end.max(start)
    }
}

/// The nearest place at or before this one where a character starts.
fn floor_boundary(text: &str, place: usize) -> usize {
    let mut place = place.min(text.len());
    while !text.is_char_boundary(place) {
        place -= 1;
    }
    place
}

/// A long help on several lines.
fn wrapped(help: &str) -> String {
    /// What the renderer puts before the text of a help.
    const MARGIN: usize = 16;
    let mut text = String::new();
    let mut column = 0;
    for word in help.split(' ') {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > WIDTH - MARGIN {
            text.push('\n');
            column = 0;
        } else if column > 0 {
            text.push(' ');
            column += 1;
        }
        text.push_str(word);
        column += length;
    }
    text
}
