//! Readings as they are typed and printed: `1.5F`, `0`, `>10H`, `-`.
//!
//! A reading counts divisions of the level and names the side, or the end, that is **high**. Inside, the sign
//! follows the surface: front high and tailstock end high are positive.

mod mistakes;
mod scanner;

use self::scanner::Scanner;
use super::diagnostic::Diagnostic;
use super::model::{Entry, Line};
use super::units::short_number;

pub(super) use self::mistakes::which_is_high;

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
/// assert_eq!(parse_reading("5 1/4 R", Line::Cross, None), Ok(Entry::Read(vec![-5.25])));
/// assert_eq!(parse_reading("1,5F", Line::Cross, None), Ok(Entry::Read(vec![1.5])));
/// assert_eq!(parse_reading(">10H", Line::Rear, Some(10.0)), Ok(Entry::OffScale(-10.0)));
/// assert_eq!(parse_reading("-", Line::Cross, None), Ok(Entry::Missing));
/// let mistake = parse_reading("1.5", Line::Cross, None).unwrap_err();
/// assert_eq!(mistake.title, "which side is high?");
/// ```
pub fn parse_reading(text: &str, line: Line, range: Option<f64>) -> Result<Entry, Diagnostic> {
    let mut scanner = Scanner::new(text, line, range);
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

/// What a level that shows signed numbers was read to, with the letters that they stand for; `plus` is what a plus
/// stands for, across and along. What has letters already stays.
///
/// ```
/// use quarterturn::survey::{Line, lettered};
///
/// assert_eq!(lettered("-12 0 +0.034", Line::Cross, Some(['F', 'T'])), "12R 0 0.034F");
/// assert_eq!(lettered("12R", Line::Cross, Some(['F', 'T'])), "12R");
/// assert_eq!(lettered("-12", Line::Cross, None), "-12");
/// ```
pub fn lettered(text: &str, line: Line, plus: Option<[char; 2]>) -> String {
    let plus = match (plus, line) {
        (Some([across, _]), Line::Cross) => across,
        (Some([_, along]), Line::Front | Line::Rear) => along,
        (None, _) => return text.to_owned(),
    };
    if text.contains(char::is_alphabetic) {
        return text.to_owned();
    }
    let minus = line.letters().into_iter().find(|letter| *letter != plus);
    let word = |word: &str| {
        let plain = word
            .replace(['\u{2212}', '\u{2013}'], "-")
            .replace(',', ".");
        match plain.parse::<f64>() {
            Ok(number) if number != 0.0 => {
                let letter = if number > 0.0 { Some(plus) } else { minus };
                let size = plain.trim_start_matches(['+', '-']);
                format!("{size}{}", letter.unwrap_or(plus))
            }
            _ => word.to_owned(),
        }
    };
    let words: Vec<String> = text.split_whitespace().map(word).collect();
    words.join(" ")
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
pub fn decimals_of(step: f64) -> usize {
    /// A step written in decimals is a whole number of units in its last place, up to rounding.
    const WHOLE: f64 = 1e-9;
    (0..6)
        .find(|&decimals| {
            let scaled = step * 10_f64.powi(decimals);
            (scaled - scaled.round()).abs() < WHOLE && scaled.round() >= 1.0
        })
        .map_or(6, |decimals| usize::try_from(decimals).unwrap_or(6))
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
        for text in ["1,5F", "1 1/2F", "1 1/2 f", "3/2F"] {
            assert_eq!(read(text, Line::Cross), Entry::Read(vec![1.5]), "{text}");
        }
        for text in [".5F", "0.5 f", "0,5F", "1/2 F"] {
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
        assert_eq!(
            read("1 1/4 F 0 1/4 R 5 1/4R", Line::Cross),
            Entry::Read(vec![1.25, 0.0, -0.25, -5.25])
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
            ("F1.5", Line::Cross, "`1.5F`"),
            ("h 2", Line::Front, "`1.5H`"),
            ("+1.5F", Line::Cross, "`1.5F`"),
            ("-2T", Line::Front, "`2H` or `2T`"),
            ("2 3/4", Line::Cross, "`2 3/4F`"),
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
