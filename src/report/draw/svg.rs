//! Drawings as SVG (W3C, Scalable Vector Graphics 2).

use std::fmt::Write;

use super::drawing::{Anchor, Drawing, Fill, Ink, Item, Spot, Voice};

/// How drawings look; the colours come from custom properties of whatever holds them.
pub const STYLE: &str = "\
svg.drawing{font:12px system-ui,sans-serif;overflow:visible}
svg.drawing path,svg.drawing circle{fill:none;stroke-width:1.2;stroke-linejoin:round;stroke-linecap:round}
svg.drawing text{fill:var(--ink);paint-order:stroke;stroke:var(--paper);stroke-width:2.5px;stroke-linejoin:round;unicode-bidi:isolate}
svg.drawing .title{font-weight:600;font-size:13px}
svg.drawing .strong{font-weight:600}
svg.drawing .faint-words{fill:var(--quiet);font-size:11px}
svg.drawing .line{stroke:var(--ink)}
svg.drawing .faint{stroke:var(--rule);stroke-width:1}
svg.drawing .zero{stroke:var(--quiet);stroke-width:1}
svg.drawing .limit{stroke:var(--limit);stroke-dasharray:7 3;stroke-width:1.3}
svg.drawing .front{stroke:var(--front);stroke-width:2}
svg.drawing .rear{stroke:var(--rear);stroke-width:2}
svg.drawing .before{stroke:var(--quiet);stroke-dasharray:5 4}
svg.drawing .expected{stroke:var(--ink);stroke-dasharray:.1 4;stroke-width:2}
svg.drawing .turn{stroke:var(--turn);stroke-width:2.4}
svg.drawing .paper{fill:var(--paper)}
svg.drawing .line.solid{fill:var(--ink)}
svg.drawing .zero.solid{fill:var(--quiet)}
svg.drawing .front.solid{fill:var(--front)}
svg.drawing .rear.solid{fill:var(--rear)}
svg.drawing .turn.solid{fill:var(--turn)}
svg.drawing .limit.solid{fill:var(--limit)}
svg.drawing .pale{stroke:none;fill-opacity:.16}
svg.drawing .front.pale{fill:var(--front)}
svg.drawing .rear.pale{fill:var(--rear)}
svg.drawing .limit.pale{fill:var(--limit);fill-opacity:.1}
svg.drawing .faint.pale{fill:var(--quiet);fill-opacity:.1}
";

/// The colours on white paper.
pub const LIGHT: &str = "--paper:#fff;--ink:#1c2024;--quiet:#5c656e;--rule:#c4cbd1;--front:#0a5ca8;--rear:#a84a00;--limit:#2e7d32;--turn:#8e1b6b";
/// The colours on a dark screen.
pub const DARK: &str = "--paper:#15181b;--ink:#e8eaec;--quiet:#a0a9b1;--rule:#454d54;--front:#74b6f5;--rear:#f2a25c;--limit:#7fcf83;--turn:#f08bd0";

/// The drawing as an element of a page that brings [`STYLE`] and the colours. Names are unique in the page as long as
/// `number` is.
pub fn inline(drawing: &Drawing, number: usize) -> String {
    let mut text = String::new();
    write_drawing(&mut text, drawing, &format!("drawing-{number}"), "");
    text
}

/// The drawing as a file of its own, on white paper.
pub fn standalone(drawing: &Drawing) -> String {
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    let style = format!("<style>svg.drawing{{{LIGHT};background:#fff}}\n{STYLE}</style>\n");
    write_drawing(&mut text, drawing, drawing.name, &style);
    text
}

/// Text for an element or a quoted attribute: what has a meaning in markup is spelt out, and what no markup may hold
/// is left out (XML 1.0, 2.2).
///
/// ```
/// use quarterturn::report::draw::svg::escaped;
///
/// assert_eq!(escaped("<b a=\"1\">&'\u{7}"), "&lt;b a=&quot;1&quot;&gt;&amp;&#39;");
/// ```
pub fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\n' | '\t' => safe.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            letter if letter.is_control() => {}
            letter => safe.push(letter),
        }
    }
    safe
}

/// A margin around the paper, so that no stroke is cut.
const MARGIN: f64 = 4.0;

fn write_drawing(text: &mut String, drawing: &Drawing, id: &str, style: &str) {
    let (width, height) = (drawing.width + 2.0 * MARGIN, drawing.height + 2.0 * MARGIN);
    // Writing to a String cannot fail.
    let _ = write!(
        text,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" role=\"img\" aria-labelledby=\"{id}-title \
         {id}-description\" viewBox=\"{0} {0} {1} {2}\" width=\"{1}\" height=\"{2}\">\n\
         <title id=\"{id}-title\">{3}</title>\n<desc id=\"{id}-description\">{4}</desc>\n{style}",
        number(-MARGIN),
        number(width),
        number(height),
        escaped(&drawing.title),
        escaped(&drawing.description),
    );
    for item in &drawing.items {
        write_item(text, item);
    }
    text.push_str("</svg>\n");
}

fn write_item(text: &mut String, item: &Item) {
    let _ = match item {
        Item::Path {
            spots,
            closed,
            ink,
            fill,
        } => {
            let end = if *closed { "Z" } else { "" };
            writeln!(
                text,
                "<path class=\"{}{}\" d=\"{}{end}\"/>",
                ink_class(*ink),
                fill_class(*fill),
                path(spots)
            )
        }
        Item::Circle {
            middle,
            radius,
            ink,
            fill,
        } => writeln!(
            text,
            "<circle class=\"{}{}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            ink_class(*ink),
            fill_class(*fill),
            number(middle.0),
            number(middle.1),
            number(*radius)
        ),
        Item::Words {
            spot,
            anchor,
            voice,
            words,
        } => writeln!(
            text,
            "<text x=\"{}\" y=\"{}\"{}{}>{}</text>",
            number(spot.0),
            number(spot.1),
            match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            },
            match voice {
                Voice::Title => " class=\"title\"",
                Voice::Plain => "",
                Voice::Strong => " class=\"strong\"",
                Voice::Faint => " class=\"faint-words\"",
            },
            escaped(words)
        ),
    };
}

fn ink_class(ink: Ink) -> &'static str {
    match ink {
        Ink::Line => "line",
        Ink::Faint => "faint",
        Ink::Zero => "zero",
        Ink::Limit => "limit",
        Ink::Front => "front",
        Ink::Rear => "rear",
        Ink::Before => "before",
        Ink::Expected => "expected",
        Ink::Turn => "turn",
    }
}

fn fill_class(fill: Fill) -> &'static str {
    match fill {
        Fill::Nothing => "",
        Fill::Solid => " solid",
        Fill::Pale => " pale",
        Fill::Paper => " paper",
    }
}

/// Path data: the first place, then lines to the others.
fn path(spots: &[Spot]) -> String {
    let mut data = String::new();
    for (k, spot) in spots.iter().enumerate() {
        let step = if k == 0 { 'M' } else { 'L' };
        let _ = write!(data, "{step}{} {}", number(spot.0), number(spot.1));
    }
    data
}

/// A tenth of a unit is finer than any screen shows.
fn number(value: f64) -> String {
    crate::survey::units::short_number(value, 1)
}
