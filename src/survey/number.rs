//! Numbers as people write them: decimals, simple fractions, whole numbers with a fraction.

/// The number a text starts with, and what follows it.
///
/// Takes `2.5`, `.5`, `-3`, `1e-3`, a fraction `1/13` and a whole number with a fraction `23 5/8`. `None` when
/// the text starts with no number, or with one that is not finite.
pub(super) fn leading_number(text: &str) -> Option<(f64, &str)> {
    let text = text.trim_start();
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
    let (value, rest) = unsigned_number(unsigned)?;
    value.is_finite().then_some((sign * value, rest))
}

/// A number and nothing else; see [`leading_number`].
pub(super) fn whole_number(text: &str) -> Option<f64> {
    leading_number(text)
        .filter(|(_, rest)| rest.trim().is_empty())
        .map(|(value, _)| value)
}

fn unsigned_number(text: &str) -> Option<(f64, &str)> {
    if let Some(found) = fraction(text) {
        return Some(found);
    }
    let digits = digits(text);
    if digits > 0
        && text[digits..].starts_with(' ')
        && let Some((part, rest)) = fraction(text[digits..].trim_start())
    {
        let whole: f64 = text[..digits].parse().ok()?;
        return Some((whole + part, rest));
    }
    decimal(text).filter(|(_, rest)| !rest.starts_with('/'))
}

/// `1/13`.
fn fraction(text: &str) -> Option<(f64, &str)> {
    let over = digits(text);
    let below = text[over..].strip_prefix('/')?;
    let under = digits(below);
    let numerator: f64 = text[..over].parse().ok()?;
    let denominator: f64 = below[..under].parse().ok()?;
    (denominator > 0.0).then_some((numerator / denominator, &below[under..]))
}

/// `2.5`, `.5`, `2.`, `1e-3`.
fn decimal(text: &str) -> Option<(f64, &str)> {
    let whole = digits(text);
    let mut end = whole;
    if text[end..].starts_with('.') {
        end += 1 + digits(&text[end + 1..]);
    }
    if let Some(power) = text[end..].strip_prefix(['e', 'E']) {
        let unsigned = power.strip_prefix(['-', '+']).unwrap_or(power);
        let power_digits = digits(unsigned);
        if power_digits > 0 {
            end += 1 + (power.len() - unsigned.len()) + power_digits;
        }
    }
    let value = text[..end].parse().ok()?;
    Some((value, &text[end..]))
}

/// How many digits a text starts with.
pub(super) fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

#[cfg(test)]
mod tests {
    use super::{leading_number, whole_number};

    #[test]
    fn every_way_of_writing_a_number() {
        for (text, value, rest) in [
            ("2.5 mm", 2.5, " mm"),
            (".5in", 0.5, "in"),
            ("2.", 2.0, ""),
            ("-3", -3.0, ""),
            ("+3", 3.0, ""),
            ("1e-3 m", 0.001, " m"),
            ("4 arcsec", 4.0, " arcsec"),
            ("1em", 1.0, "em"),
            ("1/13 in", 1.0 / 13.0, " in"),
            ("-1/4", -0.25, ""),
            ("23 5/8 in", 23.625, " in"),
            ("23 in", 23.0, " in"),
        ] {
            assert_eq!(leading_number(text), Some((value, rest)), "{text}");
        }
    }

    #[test]
    fn what_is_no_number() {
        for text in ["", "-", ".", "mm", "nan", "inf", "1/0", "e5", "1e999", "/2"] {
            assert_eq!(leading_number(text), None, "{text}");
        }
        assert_eq!(whole_number("1/4 turn"), None);
        assert_eq!(whole_number(" 1/4 "), Some(0.25));
    }
}
