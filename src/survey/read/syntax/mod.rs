//! What TOML itself refuses, said so that somebody who never heard of TOML can mend it.
//!
//! * [`explain`](mod@explain) knows the parser's own words; what it does not know it passes on.
//! * [`value`] is about values that are neither numbers nor in quotes.

mod explain;
mod value;

use std::collections::BTreeMap;
use std::ops::Range;

use self::explain::explain;
use crate::survey::diagnostic::Diagnostic;

/// More slips on one line than these have one cause.
const MOST_ON_A_LINE: usize = 100;

/// Syntax errors and the reader's own findings in the order of the file.
///
/// Where the text could not be parsed it says nothing reliable about its content, so what was found there
/// besides the syntax error is left out.
pub(super) fn merge(
    body: &str,
    errors: &[toml::de::Error],
    mut found: Vec<Diagnostic>,
) -> Vec<Diagnostic> {
    let by_place = |diagnostic: &Diagnostic| (diagnostic.span.start, diagnostic.span.end);
    let lines = Lines::of(body);
    let mut slips = best_of_each_line(&lines, errors);
    // What stands under a broken header was put under the one before it, so nothing after it really stands twice.
    let is_header = |slip: &Slip| {
        let line = lines.around(slip.diagnostic.span.start);
        slip.kind != Kind::Twice && body[line].trim_start().starts_with('[')
    };
    if let Some(broken) = slips.iter().position(is_header) {
        let mut index = 0;
        slips.retain(|slip| {
            index += 1;
            index <= broken || slip.kind != Kind::Twice
        });
    }
    found.sort_by_key(by_place);
    let mut next = slips.iter().peekable();
    let mut unsure_until = 0;
    found.retain(|diagnostic| {
        let place = diagnostic.span.start;
        while let Some(slip) = next.next_if(|slip| slip.unsure.start <= place) {
            unsure_until = unsure_until.max(slip.unsure.end);
        }
        place >= unsure_until
    });
    // Behind a list that never ends every line looks wrong.
    let sure_until = slips
        .iter()
        .find(|slip| slip.kind == Kind::Endless)
        .map_or(body.len(), |slip| slip.unsure.start);
    found.extend(
        slips
            .into_iter()
            .filter(|slip| slip.unsure.start <= sure_until)
            .map(|slip| slip.diagnostic),
    );
    found.sort_by_key(by_place);
    found
}

/// What kind of slip it is; of several on one line the first kind says it best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    /// A reading without quotes, of which a line may have many.
    Reading,
    /// A quote is missing.
    Quote,
    /// A list or a table in braces has no end.
    Endless,
    /// Anything else.
    Other,
    /// A key or a table stands twice.
    Twice,
}

/// A syntax error in our words.
struct Slip {
    kind: Kind,
    diagnostic: Diagnostic,
    /// Where the parser may have misunderstood the file because of it.
    unsure: Range<usize>,
}

/// One slip often makes the parser stumble several times on a line: the one that says it best, line by line.
fn best_of_each_line(lines: &Lines<'_>, errors: &[toml::de::Error]) -> Vec<Slip> {
    let mut stumbles: BTreeMap<usize, Vec<&toml::de::Error>> = BTreeMap::new();
    for error in errors {
        let place = error.span().map_or(0, |span| span.start);
        let on_line = stumbles.entry(lines.around(place).start).or_default();
        if on_line.len() < MOST_ON_A_LINE {
            on_line.push(error);
        }
    }
    // What is wrong may lie on another line than the place where the parser noticed it.
    let mut slips: BTreeMap<usize, Vec<Slip>> = BTreeMap::new();
    for error in stumbles.into_values().flatten() {
        let slip = explain(lines, error);
        let line = lines.around(slip.diagnostic.span.start).start;
        slips.entry(line).or_default().push(slip);
    }
    slips
        .into_values()
        .flat_map(|mut slips| {
            slips.sort_by_key(|slip| (slip.kind, slip.diagnostic.span.start));
            slips.dedup_by(|one, other| one.diagnostic == other.diagnostic);
            let best = slips.first().map_or(Kind::Other, |slip| slip.kind);
            let many = match best {
                Kind::Reading => slips.len(),
                Kind::Quote | Kind::Endless | Kind::Other | Kind::Twice => 1,
            };
            slips
                .into_iter()
                .take_while(move |slip| slip.kind == best)
                .take(many)
        })
        .collect()
}

/// A text and where its lines start.
struct Lines<'a> {
    body: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    fn of(body: &'a str) -> Self {
        let newlines = body.bytes().enumerate().filter(|&(_, byte)| byte == b'\n');
        Self {
            body,
            starts: [0]
                .into_iter()
                .chain(newlines.map(|(at, _)| at + 1))
                .collect(),
        }
    }

    /// The line around a place, without its end.
    fn around(&self, place: usize) -> Range<usize> {
        let after = self.starts.partition_point(|&start| start <= place);
        let start = self.starts[after - 1];
        let end = self
            .starts
            .get(after)
            .map_or(self.body.len(), |next| next - 1);
        start..end
    }
}
