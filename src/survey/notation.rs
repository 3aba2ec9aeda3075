//! Readings as they are typed and printed: `1.5F`, `0`, `>10H`, `-`.
//!
//! A reading counts divisions of the level and names the side, or the end, that is **high**. Inside, the sign
//! follows the surface: front high and tailstock end high are positive.

use std::ops::Range;

use super::diagnostic::{Diagnostic, either};
use super::model::{Entry, Line};
use super::units::short_number;

/// The part of a division that can be read by eye between two graduations.
pub const QUARTER_DIVISION: f64 = 0.25;

/// More divisions than any level's scale has; a larger number is a slip of the hand.
pub const MOST_DIVISIONS: f64 = 1000.0;

/// Divisions used in examples for a level whose range is not known.
const USUAL_RANGE: f64 = 10.0;

impl Line {
    /// The letter that makes a reading of this line positive, then the one that makes it negative.
    pub fn letters(self) -> [char; 2] {
        match self {
            Self::Cross => ['F', 'R'],
            Self::Front | Self::Rear => ['T', 'H'],
        }
    }

    /// What the line is called in the file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Cross => "cross",
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }

    /// The letters in the order in which they are spoken: `F` or `R`, `H` or `T`.
    fn spoken(self) -> [char; 2] {
        let [positive, negative] = self.letters();
        match self {
            Self::Cross => [positive, negative],
            Self::Front | Self::Rear => [negative, positive],
        }
    }

    fn kind(self) -> &'static str {
        match self {
            Self::Cross => "a cross reading",
            Self::Front | Self::Rear => "an along reading",
        }
    }

    fn place(self) -> &'static str {
        match self {
            Self::Cross => "side",
            Self::Front | Self::Rear => "end",
        }
    }

    fn meaning(letter: char) -> &'static str {
        match letter {
            'F' => "the front",
            'R' => "the rear",
            'H' => "the headstock end",
            _ => "the tailstock end",
        }
    }
}

/// Reads what was typed for one place on a line.
///
/// `range` is how many divisions the level shows to either side, where that is known. The span of the
/// diagnostic is within `text`.
///
/// ```
/// use quarterturn::survey::{Entry, Line, parse_reading};
///
/// assert_eq!(parse_reading("1.5 r", Line::Cross, None), Ok(Entry::Read(vec![-1.5])));
/// assert_eq!(parse_reading("1T 0.75T", Line::Front, None), Ok(Entry::Read(vec![1.0, 0.75])));
/// assert_eq!(parse_reading(">10H", Line::Rear, Some(10.0)), Ok(Entry::OffScale(-10.0)));
/// assert_eq!(parse_reading("-", Line::Cross, None), Ok(Entry::Missing));
/// let mistake = parse_reading("1.5", Line::Cross, None).unwrap_err();
/// assert_eq!(mistake.title, "which side is high?");
/// ```
pub fn parse_reading(text: &str, line: Line, range: Option<f64>) -> Result<Entry, Diagnostic> {
    let mut scanner = Scanner {
        text,
        at: 0,
        line,
        range,
        beyond_sign: "",
    };
    if matches!(text.trim(), "" | "-") {
        return Ok(Entry::Missing);
    }
    scanner.skip_spaces();
    if text.contains('>') {
        return scanner.off_scale().map(Entry::OffScale);
    }
    let mut repeats = Vec::new();
    while scanner.at < text.len() {
        let (value, span) = scanner.reading()?;
        scanner.check_range(value, span)?;
        repeats.push(value);
        scanner.skip_spaces();
    }
    Ok(Entry::Read(repeats))
}

/// A reading in the file's notation, rounded to `step` divisions ([`QUARTER_DIVISION`] is what an eye reads).
///
/// A step of zero prints the number as it is. What is not finite prints as not taken, `-`.
///
/// ```
/// use quarterturn::survey::{Line, QUARTER_DIVISION, format_reading};
///
/// assert_eq!(format_reading(Line::Cross, 1.4, QUARTER_DIVISION), "1.5F");
/// assert_eq!(format_reading(Line::Front, -2.0, QUARTER_DIVISION), "2H");
/// assert_eq!(format_reading(Line::Cross, -0.1, QUARTER_DIVISION), "0");
/// assert_eq!(format_reading(Line::Cross, -0.1, 0.1), "0.1R");
/// ```
pub fn format_reading(line: Line, divisions: f64, step: f64) -> String {
    if !divisions.is_finite() {
        return "-".to_owned();
    }
    let size = divisions.abs();
    let number = if step > 0.0 {
        short_number((size / step).round() * step, decimals_of(step))
    } else {
        format!("{size}")
    };
    if number == "0" {
        return number;
    }
    let [positive, negative] = line.letters();
    format!(
        "{number}{}",
        if divisions > 0.0 { positive } else { negative }
    )
}

/// An entry as it stands in the file, number for number; reading it again gives the same entry.
///
/// ```
/// use quarterturn::survey::{Entry, Line, format_entry};
///
/// assert_eq!(format_entry(Line::Cross, &Entry::Read(vec![1.5, -0.25])), "1.5F 0.25R");
/// assert_eq!(format_entry(Line::Rear, &Entry::OffScale(-10.0)), ">10H");
/// assert_eq!(format_entry(Line::Rear, &Entry::Missing), "-");
/// ```
pub fn format_entry(line: Line, entry: &Entry) -> String {
    match entry {
        Entry::Missing => "-".to_owned(),
        Entry::OffScale(divisions) => format!(">{}", format_reading(line, *divisions, 0.0)),
        Entry::Read(repeats) => {
            let repeats: Vec<String> = repeats
                .iter()
                .map(|divisions| format_reading(line, *divisions, 0.0))
                .collect();
            repeats.join(" ")
        }
    }
}

/// Decimal places that a multiple of `step` needs, at most six.
fn decimals_of(step: f64) -> usize {
    /// A step written in decimals is a whole number of units in its last place, up to rounding.
    const WHOLE: f64 = 1e-9;
    (0..6)
        .find(|&decimals| {
            let scaled = step * 10_f64.powi(decimals);
            (scaled - scaled.round()).abs() < WHOLE && scaled.round() >= 1.0
        })
        .map_or(6, |decimals| usize::try_from(decimals).unwrap_or(6))
}

/// Walks through what was typed, one reading after the other.
struct Scanner<'a> {
    text: &'a str,
    at: usize,
    line: Line,
    range: Option<f64>,
    /// What to put before a number in what would be right: `>` for a bubble off the scale.
    beyond_sign: &'static str,
}

impl<'a> Scanner<'a> {
    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    fn skip_spaces(&mut self) {
        self.at = self.text.len() - self.rest().trim_start().len();
    }

    /// Takes the letters, digits or signs that `wanted` accepts.
    fn take(&mut self, wanted: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let taken = &rest[..rest.len() - rest.trim_start_matches(wanted).len()];
        self.at += taken.len();
        taken
    }

    /// From `start` to the next space.
    fn word_from(&self, start: usize) -> Range<usize> {
        let length = self.text[start..]
            .find(char::is_whitespace)
            .unwrap_or(self.text.len() - start);
        start..start + length
    }

    /// `>10F` and nothing else.
    fn off_scale(&mut self) -> Result<f64, Diagnostic> {
        if !self.rest().starts_with('>') {
            return Err(self.mixed());
        }
        self.at += 1;
        self.skip_spaces();
        let start = self.at;
        if self
            .rest()
            .trim_start_matches(char::is_alphabetic)
            .is_empty()
        {
            return Err(self.nothing_beyond());
        }
        self.beyond_sign = ">";
        let (value, span) = self.reading()?;
        self.skip_spaces();
        if self.at < self.text.len() {
            return Err(self.mixed());
        }
        if value == 0.0 {
            return Err(self.nothing_beyond());
        }
        self.check_size(value.abs(), start..span.end)?;
        Ok(value)
    }

    fn mixed(&self) -> Diagnostic {
        Diagnostic::new(
            self.all(),
            "`>` stands for one reading and cannot be averaged with others",
        )
        .label("`>` among repeats")
        .help(format!(
            "a bubble off the scale gives a bound, not a number: write `{}` alone, or only the readings that \
             were on the scale",
            self.beyond(self.spoken(0))
        ))
    }

    fn nothing_beyond(&self) -> Diagnostic {
        Diagnostic::new(
            self.all(),
            "`>` needs the last graduation on the scale and the letter of the high ".to_owned()
                + self.line.place(),
        )
        .label("how far at least?")
        .help(format!(
            "write {}; `-` if no reading was taken",
            either([&*self.beyond(self.spoken(0)), &self.beyond(self.spoken(1))])
        ))
    }

    /// `>10F`, with the level's own range.
    fn beyond(&self, letter: char) -> String {
        let range = self.range.unwrap_or(USUAL_RANGE);
        format!(">{}{letter}", short_number(range, 6))
    }

    fn spoken(&self, index: usize) -> char {
        self.line.spoken()[index.min(1)]
    }

    fn all(&self) -> Range<usize> {
        let start = self.text.len() - self.text.trim_start().len();
        start..self.text.trim_end().len()
    }

    /// One number and its letter.
    fn reading(&mut self) -> Result<(f64, Range<usize>), Diagnostic> {
        let start = self.at;
        let sign = self.take(|c| matches!(c, '+' | '-' | '−' | '–'));
        let number = self.take(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '/'));
        if !number.contains(|c: char| c.is_ascii_digit()) {
            return Err(self.no_number(start));
        }
        let after_number = self.at;
        self.skip_spaces();
        let letter_start = self.at;
        let word = self.take(char::is_alphabetic);
        let letter = self.letter(word);
        if !sign.is_empty() {
            return Err(self.signed(number, sign, letter, start..self.at));
        }
        let size = self.size(number, letter, start..after_number)?;
        let Some(letter) = letter else {
            if !word.is_empty() {
                return Err(self.wrong_letter(number, word, letter_start..self.at));
            }
            self.at = after_number;
            self.end_of_reading(start)?;
            if size == 0.0 {
                return Ok((0.0, start..after_number));
            }
            return Err(self.no_letter(number, start..after_number));
        };
        self.end_of_reading(start)?;
        let [positive, _] = self.line.letters();
        let value = if letter == positive { size } else { -size };
        // Adding zero turns -0 into 0.
        Ok((value + 0.0, start..self.at))
    }

    /// The letter of this line that a word is.
    fn letter(&self, word: &str) -> Option<char> {
        self.line
            .letters()
            .into_iter()
            .find(|letter| word.len() == 1 && word.eq_ignore_ascii_case(&letter.to_string()))
    }

    /// The number of divisions, or what is wrong with how it is written.
    fn size(
        &self,
        number: &str,
        letter: Option<char>,
        span: Range<usize>,
    ) -> Result<f64, Diagnostic> {
        let letter_text = letter.map(String::from).unwrap_or_default();
        if let Some((whole, decimals)) = number.split_once(',')
            && is_digits(whole)
            && is_digits(decimals)
        {
            return Err(Diagnostic::new(span, "a decimal comma is not understood")
                .label("comma in a number")
                .help(format!("write `{whole}.{decimals}{letter_text}`")));
        }
        if let Some(value) = fraction(number) {
            let whole = self.text[..span.start].trim_end();
            return Err(Diagnostic::new(
                span,
                "divisions are written in decimals, not in fractions",
            )
            .label("a fraction")
            .help(format!(
                "write `{}{letter_text}`",
                short_number(value + whole_before(whole), 3)
            )));
        }
        let value = number
            .parse::<f64>()
            .ok()
            .filter(|_| !number.contains([',', '/']));
        match value {
            Some(value) => self.check_size(value, span).map(|()| value),
            None => Err(Diagnostic::new(span, format!("`{number}` is not a number"))
                .label("expected divisions of the level")
                .help(self.how_to_write())),
        }
    }

    fn check_size(&self, size: f64, span: Range<usize>) -> Result<(), Diagnostic> {
        if size <= MOST_DIVISIONS {
            return Ok(());
        }
        Err(Diagnostic::new(span, "no level shows so many divisions")
            .label(format!("more than {MOST_DIVISIONS} divisions"))
            .help(format!(
                "{} counts graduations of the level; write `{}` if the bubble left the scale",
                self.line.kind(),
                self.beyond(self.spoken(0))
            )))
    }

    fn check_range(&self, value: f64, span: Range<usize>) -> Result<(), Diagnostic> {
        let Some(range) = self.range.filter(|range| value.abs() > *range) else {
            return Ok(());
        };
        let [positive, negative] = self.line.letters();
        let letter = if value > 0.0 { positive } else { negative };
        Err(
            Diagnostic::new(span, "the reading lies beyond the level's scale")
                .label(format!(
                    "the level shows {} to either side",
                    super::diagnostic::count_of(range, "division", "divisions")
                ))
                .help(format!(
                    "write `{}` if the bubble left the scale",
                    self.beyond(letter)
                )),
        )
    }

    /// Nothing but a space or the end may follow a reading.
    fn end_of_reading(&self, start: usize) -> Result<(), Diagnostic> {
        let Some(next) = self.rest().chars().next().filter(|c| !c.is_whitespace()) else {
            return Ok(());
        };
        let done = &self.text[start..self.at];
        let span = start..self.word_from(self.at).end;
        if matches!(next, ',' | ';') {
            return Err(
                Diagnostic::new(self.at..self.at + 1, "repeats are separated by a space")
                    .label(format!("unexpected `{next}`"))
                    .help(format!(
                        "write `{}`",
                        self.text
                            .split([',', ';', ' '])
                            .filter(|word| !word.is_empty())
                            .collect::<Vec<_>>()
                            .join(" ")
                    )),
            );
        }
        if next.is_ascii_digit() {
            return Err(
                Diagnostic::new(span, "two readings run together").help(format!(
                    "write them with a space between: `{done} {}`",
                    &self.text[self.at..self.word_from(self.at).end]
                )),
            );
        }
        Err(self.not_a_reading(span))
    }

    fn signed(
        &self,
        number: &str,
        sign: &str,
        letter: Option<char>,
        span: Range<usize>,
    ) -> Diagnostic {
        let [one, other] = self.line.spoken();
        let help = match letter {
            Some(letter) if sign == "+" => format!("write `{number}{letter}`"),
            _ => format!(
                "write `{number}{one}` or `{number}{other}`, whichever {} is high",
                self.line.place()
            ),
        };
        Diagnostic::new(span, "a reading has no sign")
            .label(format!(
                "the letter alone says which {} is high",
                self.line.place()
            ))
            .help(help)
    }

    fn no_letter(&self, number: &str, span: Range<usize>) -> Diagnostic {
        // `1 1/2F`: the whole number belongs to the fraction that follows.
        let ahead = self.rest().trim_start();
        let next = &ahead[..ahead
            .find(|c: char| !c.is_ascii_digit() && c != '/')
            .unwrap_or(ahead.len())];
        if let (Some(part), true) = (fraction(next), is_digits(number)) {
            let letter = self.letter(ahead[next.len()..].trim()).map(String::from);
            let end = self.text.trim_end().len();
            return Diagnostic::new(
                span.start..end,
                "divisions are written in decimals, not in fractions",
            )
            .label("a fraction")
            .help(format!(
                "write `{}{}`",
                short_number(part + whole_before(number), 3),
                letter.unwrap_or_else(|| self.spoken(0).to_string())
            ));
        }
        let number = format!("{}{number}", self.beyond_sign);
        which_is_high(self.line, &number, span)
    }

    fn wrong_letter(&self, number: &str, word: &str, span: Range<usize>) -> Diagnostic {
        let [one, other] = self.line.spoken();
        let full = |word: &str| {
            self.line.spoken().into_iter().find(|letter| {
                Line::meaning(*letter)
                    .split(' ')
                    .any(|name| name.eq_ignore_ascii_case(word))
            })
        };
        let lower = word.to_lowercase();
        let (title, label, help) = if matches!(&*lower, "f" | "r" | "h" | "t") {
            let (title, which) = match self.line {
                Line::Cross => ("a cross reading takes `F` or `R`", "side"),
                Line::Front | Line::Rear => ("an along reading takes `H` or `T`", "end"),
            };
            let label = match self.line {
                Line::Cross => format!("`{word}` is for readings along a way"),
                Line::Front | Line::Rear => format!("`{word}` is for readings across the ways"),
            };
            (
                title.to_owned(),
                label,
                format!("write `{number}{one}` or `{number}{other}`, whichever {which} is high"),
            )
        } else if matches!(
            &*lower,
            "mm" | "um"
                | "µm"
                | "μm"
                | "in"
                | "m"
                | "arcsec"
                | "div"
                | "divs"
                | "division"
                | "divisions"
        ) {
            (
                "a reading is counted in divisions of the level, without a unit".to_owned(),
                format!("unexpected `{word}`"),
                format!(
                    "write `{number}{one}` or `{number}{other}` for {number} {}",
                    if number == "1" {
                        "division"
                    } else {
                        "divisions"
                    }
                ),
            )
        } else if let Some(letter) = full(word) {
            (
                format!("one letter is enough for the high {}", self.line.place()),
                format!("unexpected `{word}`"),
                format!("write `{number}{letter}`"),
            )
        } else {
            (
                format!("`{word}` names no {} of the bed", self.line.place()),
                "unknown letter".to_owned(),
                self.how_to_write(),
            )
        };
        Diagnostic::new(span, title).label(label).help(help)
    }

    /// What stands at `start` does not begin like a reading.
    fn no_number(&self, start: usize) -> Diagnostic {
        let span = self.word_from(start);
        let word = &self.text[span.clone()];
        let mut letters = word.chars();
        if let Some(first) = letters.next()
            && let Some(letter) = self.letter(&first.to_string())
            && !letters.as_str().is_empty()
            && letters.as_str().parse::<f64>().is_ok()
        {
            return Diagnostic::new(span.clone(), "the letter comes after the number")
                .label("letter first")
                .help(format!("write `{}{letter}`", letters.as_str()));
        }
        self.not_a_reading(span)
    }

    fn not_a_reading(&self, span: Range<usize>) -> Diagnostic {
        let word = &self.text[span.clone()];
        if word
            .chars()
            .all(|c| matches!(c, '-' | '–' | '—' | '−' | '?' | 'x' | '/'))
        {
            return Diagnostic::new(span.clone(), format!("`{word}` is not a reading"))
                .label("no reading taken?")
                .help("write `-` where no reading was taken");
        }
        Diagnostic::new(span.clone(), format!("`{word}` is not a reading"))
            .label(format!("expected {}", self.line.kind()))
            .help(self.how_to_write())
    }

    fn how_to_write(&self) -> String {
        let [one, other] = self.line.spoken();
        format!(
            "write the divisions and the letter of the high {}: `1.5{one}` or `0.25{other}`; `0` for level, \
             `{}` off the scale, `-` not taken",
            self.line.place(),
            self.beyond(one)
        )
    }
}

/// A number of divisions without the letter of the high side.
pub(super) fn which_is_high(line: Line, number: &str, span: Range<usize>) -> Diagnostic {
    let [one, other] = line.spoken();
    Diagnostic::new(span, format!("which {} is high?", line.place()))
        .label("a number without its letter")
        .help(format!(
            "write `{number}{one}` if {} is high, `{number}{other}` if {} is",
            Line::meaning(one),
            Line::meaning(other)
        ))
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

fn fraction(text: &str) -> Option<f64> {
    let (over, under) = text.split_once('/')?;
    if !is_digits(over) || !is_digits(under) {
        return None;
    }
    let value = over.parse::<f64>().ok()? / under.parse::<f64>().ok()?;
    value.is_finite().then_some(value)
}

/// The whole number at the end of what stands before a fraction.
fn whole_before(text: &str) -> f64 {
    let start = text.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    text[start..].parse().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, line: Line) -> Entry {
        parse_reading(text, line, Some(10.0))
            .unwrap_or_else(|mistake| panic!("{text}: {mistake:?}"))
    }

    fn help(text: &str, line: Line) -> String {
        let mistake = parse_reading(text, line, Some(10.0)).unwrap_err();
        mistake.help.unwrap_or_default()
    }

    #[test]
    fn the_high_side_gives_the_sign() {
        assert_eq!(read("1.5F", Line::Cross), Entry::Read(vec![1.5]));
        assert_eq!(read("1.5R", Line::Cross), Entry::Read(vec![-1.5]));
        assert_eq!(read("2T", Line::Front), Entry::Read(vec![2.0]));
        assert_eq!(read("2H", Line::Rear), Entry::Read(vec![-2.0]));
    }

    /// Walked along a crowned way from the headstock, the level shows the tailstock end high, then level, then
    /// the headstock end high (common practice, no source); the slope along the bed falls from plus to minus.
    #[test]
    fn a_crowned_way_falls_from_plus_to_minus() {
        let slopes: Vec<Entry> = ["1T", "0", "1H"]
            .into_iter()
            .map(|text| read(text, Line::Front))
            .collect();
        let expected = [1.0, 0.0, -1.0].map(|divisions| Entry::Read(vec![divisions]));
        assert_eq!(slopes, expected);
    }

    #[test]
    fn every_accepted_form() {
        for text in ["1.5F", "1.5f", " 1.5 F ", "1.50F", "01.5F"] {
            assert_eq!(read(text, Line::Cross), Entry::Read(vec![1.5]), "{text}");
        }
        for text in [".5F", "0.5 f"] {
            assert_eq!(read(text, Line::Cross), Entry::Read(vec![0.5]), "{text}");
        }
        for text in ["0", "0.0", "0F", "0 r"] {
            assert_eq!(read(text, Line::Cross), Entry::Read(vec![0.0]), "{text}");
        }
        for text in ["", " ", "-", " - "] {
            assert_eq!(read(text, Line::Cross), Entry::Missing, "{text}");
        }
        for text in [">10H", "> 10 h", " >10H "] {
            assert_eq!(read(text, Line::Rear), Entry::OffScale(-10.0), "{text}");
        }
        assert_eq!(
            read("1 f 0 0.25 R", Line::Cross),
            Entry::Read(vec![1.0, 0.0, -0.25])
        );
    }

    #[test]
    fn zero_has_no_sign() {
        let Entry::Read(values) = read("0R", Line::Cross) else {
            panic!("a reading");
        };
        assert!(values[0].is_sign_positive());
    }

    #[test]
    fn help_is_what_would_be_right() {
        for (text, line, right) in [
            ("1,5F", Line::Cross, "`1.5F`"),
            ("F1.5", Line::Cross, "`1.5F`"),
            ("h 2", Line::Front, "`1.5H`"),
            ("+1.5F", Line::Cross, "`1.5F`"),
            ("-2T", Line::Front, "`2H` or `2T`"),
            ("1/2F", Line::Cross, "`0.5F`"),
            ("2 3/4R", Line::Cross, "`2.75R`"),
            ("1.5mm", Line::Cross, "`1.5F` or `1.5R`"),
            ("1.5 rear", Line::Cross, "`1.5R`"),
            ("2 Tailstock", Line::Rear, "`2T`"),
            ("12R", Line::Cross, "`>10R`"),
            ("12R 1R", Line::Cross, "`>10R`"),
            (">10", Line::Front, "`>10H`"),
            ("<10F", Line::Cross, "`>10F`"),
            ("1F;2F", Line::Cross, "`1F 2F`"),
        ] {
            let help = help(text, line);
            assert!(help.contains(right), "{text}: {help}");
        }
    }

    #[test]
    fn the_scale_ends_at_its_last_graduation() {
        assert_eq!(read("10F", Line::Cross), Entry::Read(vec![10.0]));
        assert!(parse_reading("10.25F", Line::Cross, Some(10.0)).is_err());
        assert!(parse_reading("10.25F", Line::Cross, None).is_ok());
        assert_eq!(read(">10.5F", Line::Cross), Entry::OffScale(10.5));
    }

    #[test]
    fn steps_print_no_more_decimals_than_they_have() {
        assert_eq!(decimals_of(0.25), 2);
        assert_eq!(decimals_of(0.1), 1);
        assert_eq!(decimals_of(0.5), 1);
        assert_eq!(decimals_of(1.0), 0);
        assert_eq!(decimals_of(0.05), 2);
        assert_eq!(decimals_of(1.0 / 3.0), 6);
        assert_eq!(format_reading(Line::Cross, 0.3, 0.1), "0.3F");
        assert_eq!(format_reading(Line::Cross, f64::NAN, 0.1), "-");
        assert_eq!(format_reading(Line::Rear, 0.124, QUARTER_DIVISION), "0");
        assert_eq!(
            format_reading(Line::Rear, -0.126, QUARTER_DIVISION),
            "0.25H"
        );
    }
}
