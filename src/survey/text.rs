//! From the bytes of a file to its text.

use std::borrow::Cow;

use super::diagnostic::Diagnostic;

/// A file that is not text, as far as it can be shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotText {
    /// The file with a replacement character for what cannot be read, to show around the mistake.
    pub readable: String,
    /// The first place that cannot be read, in `readable`.
    pub mistake: Diagnostic,
}

/// The text of a file in UTF-8, or in UTF-16 when it begins with a byte-order mark, as some editors save it.
///
/// ```
/// use quarterturn::survey::decode;
///
/// assert_eq!(decode(b"units = \"mm\"").unwrap(), "units = \"mm\"");
/// assert_eq!(decode(b"\xff\xfem\0m\0").unwrap(), "mm");
/// assert!(decode(b"division = \"20 \xb5m/m\"").is_err());
/// ```
pub fn decode(bytes: &[u8]) -> Result<String, NotText> {
    let decoded = match bytes {
        [0xff, 0xfe, pairs @ ..] => utf16(pairs, u16::from_le_bytes),
        [0xfe, 0xff, pairs @ ..] => utf16(pairs, u16::from_be_bytes),
        _ => std::str::from_utf8(bytes)
            .map(str::to_owned)
            .map_err(|_| String::from_utf8_lossy(bytes).into_owned()),
    };
    decoded.map_err(|readable| {
        let place = readable.find(char::REPLACEMENT_CHARACTER).unwrap_or(0);
        let end = place + char::REPLACEMENT_CHARACTER.len_utf8();
        let mistake = Diagnostic::new(
            place..end.min(readable.len()),
            "the file is not text in UTF-8",
        )
        .label("cannot be read")
        .help("save the file as UTF-8 in the editor that made it");
        NotText { readable, mistake }
    })
}

/// Whether a character steers a terminal or is not to be seen, so that a text with it is not what it looks like: controls
/// (C0 and C1), joiners and spaces without width, marks that turn the direction of writing, tags, and fillers (Unicode's
/// properties `Cc`, `Bidi_Control` and, but for variation selectors, `Default_Ignorable_Code_Point`; from memory).
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180e}'
            | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{feff}'
            | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e00ff}'
            | '\u{e01f0}'..='\u{e0fff}')
}

/// What is hidden, as something that can be seen.
pub(crate) fn seen(c: char) -> char {
    if is_hidden(c) {
        char::REPLACEMENT_CHARACTER
    } else {
        c
    }
}

/// A text for a terminal: everything in it that steers the terminal or is not to be seen is replaced, other than ends of
/// lines, tabs and the escape codes of the program's own colours.
///
/// ```
/// use quarterturn::survey::visible;
///
/// assert_eq!(visible("lathe\u{202e}\u{9b}31m\n"), "lathe\u{fffd}\u{fffd}31m\n");
/// ```
pub fn visible(text: &str) -> Cow<'_, str> {
    let stays = |c: char| matches!(c, '\n' | '\t' | '\r' | '\u{1b}') || !is_hidden(c);
    if text.chars().all(stays) {
        return Cow::Borrowed(text);
    }
    let shown = text.chars().map(|c| if stays(c) { c } else { seen(c) });
    Cow::Owned(shown.collect())
}

/// The bytes of a text in the encoding of the file that `before` begins.
///
/// ```
/// use quarterturn::survey::encode_like;
///
/// assert_eq!(encode_like("mm", b"format = 1"), b"mm");
/// assert_eq!(encode_like("mm", b"\xff\xfef\0"), b"\xff\xfem\0m\0");
/// ```
pub fn encode_like(text: &str, before: &[u8]) -> Vec<u8> {
    let pairs = |bytes: fn(u16) -> [u8; 2]| {
        std::iter::once(0xfeff)
            .chain(text.encode_utf16())
            .flat_map(bytes)
            .collect()
    };
    match before {
        [0xff, 0xfe, ..] => pairs(u16::to_le_bytes),
        [0xfe, 0xff, ..] => pairs(u16::to_be_bytes),
        _ => text.as_bytes().to_vec(),
    }
}

/// The text, or what of it can be read.
fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, String> {
    let (pairs, rest) = bytes.as_chunks();
    let units: Vec<u16> = pairs.iter().map(|&pair| unit(pair)).collect();
    let text = String::from_utf16(&units).map_err(|_| String::from_utf16_lossy(&units))?;
    if rest.is_empty() {
        Ok(text)
    } else {
        Err(text + char::REPLACEMENT_CHARACTER.encode_utf8(&mut [0; 4]))
    }
}

#[cfg(test)]
mod tests {
    use super::decode;

    #[test]
    fn every_encoding_that_an_editor_offers() {
        let text = "division = \"20 µm/m\"\n";
        assert_eq!(decode(text.as_bytes()).as_deref(), Ok(text));
        let little: Vec<u8> = [0xfeff]
            .into_iter()
            .chain(text.encode_utf16())
            .flat_map(u16::to_le_bytes)
            .collect();
        assert_eq!(decode(&little).as_deref(), Ok(text));
        let big: Vec<u8> = [0xfeff]
            .into_iter()
            .chain(text.encode_utf16())
            .flat_map(u16::to_be_bytes)
            .collect();
        assert_eq!(decode(&big).as_deref(), Ok(text));
    }

    #[test]
    fn what_is_not_text_is_shown_where_it_stands() {
        // Latin-1 for µ, a pair cut in two, half of a surrogate.
        for (bytes, readable) in [
            (&b"20 \xb5m"[..], "20 \u{fffd}m"),
            (&b"\xff\xfem\0m"[..], "m\u{fffd}"),
            (&b"\xfe\xff\0m\xd8\0"[..], "m\u{fffd}"),
        ] {
            let not_text = decode(bytes).unwrap_err();
            assert_eq!(not_text.readable, readable);
            assert_eq!(&not_text.readable[not_text.mistake.span], "\u{fffd}");
        }
    }
}
