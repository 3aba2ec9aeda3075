//! Reads markup strictly: every element closed in its turn, every attribute quoted, every `&` an entity.

/// Elements of HTML that are never closed.
const ALONE: [&str; 2] = ["meta", "link"];

/// The tags of a page in their order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Markup {
    /// Names of the elements as they open.
    pub tags: Vec<String>,
}

impl Markup {
    /// Reads a page or a drawing; says what is wrong with it.
    pub fn of(text: &str) -> Result<Self, String> {
        let mut tags = Vec::new();
        let mut open: Vec<String> = Vec::new();
        let mut rest = text;
        while let Some(start) = rest.find('<') {
            words(&rest[..start])?;
            let (tag, after) = inside(&rest[start + 1..])?;
            rest = after;
            if tag.starts_with('!') || tag.starts_with('?') {
                continue;
            }
            if let Some(name) = tag.strip_prefix('/') {
                let expected = open.pop();
                if expected.as_deref() != Some(name) {
                    return Err(format!("</{name}> closes {expected:?}"));
                }
                continue;
            }
            let (tag, closed) = match tag.strip_suffix('/') {
                Some(tag) => (tag, true),
                None => (tag, false),
            };
            let (name, attributes) = tag.split_once(' ').unwrap_or((tag, ""));
            check_attributes(attributes)?;
            tags.push(name.to_owned());
            if name == "style" {
                let end = rest.find("</style>").ok_or("a style without end")?;
                rest = &rest[end..];
            }
            if !closed && !ALONE.contains(&name) {
                open.push(name.to_owned());
            }
        }
        words(rest)?;
        if open.is_empty() {
            Ok(Self { tags })
        } else {
            Err(format!("{open:?} stay open"))
        }
    }

    /// How many elements of this name there are.
    pub fn count(&self, name: &str) -> usize {
        self.tags.iter().filter(|tag| *tag == name).count()
    }
}

/// What stands between `<` and its `>`, quotes respected, and what follows.
fn inside(text: &str) -> Result<(&str, &str), String> {
    let mut quoted = false;
    for (at, letter) in text.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '>' if !quoted => return Ok((&text[..at], &text[at + 1..])),
            '<' => return Err(format!("`<` in a tag: {}", &text[..at])),
            _ => {}
        }
    }
    Err("a tag without end".to_owned())
}

fn check_attributes(attributes: &str) -> Result<(), String> {
    let mut rest = attributes.trim();
    while !rest.is_empty() {
        let (name, after) = rest
            .split_once("=\"")
            .ok_or_else(|| format!("an attribute without quotes: {rest}"))?;
        let named = name
            .chars()
            .all(|letter| letter.is_ascii_alphanumeric() || matches!(letter, '-' | ':'));
        if name.is_empty() || !named {
            return Err(format!("`{name}` is no attribute"));
        }
        let (value, after) = after
            .split_once('"')
            .ok_or_else(|| format!("a value without end: {after}"))?;
        words(value)?;
        rest = after.trim_start();
    }
    Ok(())
}

/// Every `&` starts an entity, nothing is a control character.
fn words(text: &str) -> Result<(), String> {
    for (at, letter) in text.char_indices() {
        if letter.is_control() && letter != '\n' {
            return Err(format!("{letter:?} in `{text}`"));
        }
        if letter == '&' {
            let entity = text[at + 1..].split(';').next().unwrap_or_default();
            if !["amp", "lt", "gt", "quot", "#39", "nbsp"].contains(&entity) {
                return Err(format!("`&{entity}` is no entity"));
            }
        }
    }
    Ok(())
}

#[test]
fn what_is_wrong_is_found() {
    for wrong in [
        "<p>",
        "<p></b>",
        "<p class=x></p>",
        "<p>&</p>",
        "<p title=\"a\"b></p>",
        "<p>\u{7}</p>",
        "<p title=\"<b>\"></p>",
    ] {
        assert!(Markup::of(wrong).is_err(), "{wrong}");
    }
    let right = Markup::of("<!DOCTYPE html><p class=\"x\">&lt;<path d=\"M0 0\"/></p>");
    assert_eq!(
        right.map(|markup| markup.tags),
        Ok(vec!["p".into(), "path".into()])
    );
}
