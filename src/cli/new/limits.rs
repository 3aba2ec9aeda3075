//! The limits of a new survey: own numbers, suggestions, or those of a class.

use super::answers::{Answers, given, list, quoted, value, yes_or_no};
use super::sheet::Sheet;

/// The answer that takes no class of limits.
pub(super) const OWN: &str = "own";

impl Answers {
    /// The class of limits that was chosen; none once the distance between centres or the swing is not to be had.
    pub fn chosen_class(&self) -> Option<&str> {
        let refused =
            |answer: &Option<String>| answer.is_some() && given(answer.as_ref()).is_none();
        given(self.class.as_ref())
            .filter(|class| !class.eq_ignore_ascii_case(OWN))
            .filter(|_| !refused(&self.distance_between_centres) && !refused(&self.swing))
    }

    /// The limits, from the answers or from these suggestions.
    pub fn limits(&self, twist: &str, crown: &str) -> String {
        const SUGGESTED: &str =
            "suggested, from memory of ISO 1708, test G1: your copy of the standard rules";
        let mut sheet = Sheet::default();
        sheet.heading("limits", "");
        let class = self.chosen_class();
        if let Some(class) = class {
            sheet.line(
                &format!("class = {}", quoted(class)),
                "from memory of ISO 1708, test G1: your copy of the standard rules",
            );
        }
        let suggestion = |suggested: &str| class.is_none().then(|| suggested.to_owned());
        for (key, answer, suggested) in [
            ("twist", given(self.twist.as_ref()).map(quoted), twist),
            ("crown", given(self.crown.as_ref()).map(list), crown),
        ] {
            match (answer, suggestion(suggested)) {
                (Some(answer), _) => sheet.line(&format!("{key} = {answer}"), ""),
                (None, Some(suggested)) => {
                    sheet.line(&format!("{key} = {suggested}"), SUGGESTED);
                }
                (None, None) => {}
            }
        }
        sheet.optional(
            ("twist_per_metre", "\"0.02 mm/m\""),
            given(self.twist_per_metre.as_ref()).map(quoted),
            "most over any metre",
        );
        sheet.optional(
            ("local", "{ over = \"250 mm\", height = \"0.005 mm\" }"),
            given(self.local.as_ref()).map(parts_of_a_way),
            "most over any such part of a way",
        );
        sheet.optional(
            ("convex_only", "true"),
            given(self.convex_only.as_ref()).map(|answer| yes_or_no(answer).to_owned()),
            "no place of a way below the line through its ends",
        );
        sheet.text()
    }
}

/// Lengths with the heights allowed over them, such as `500, 0.01; 250, 0.005`. What is not so is refused by the
/// reader of the file.
fn parts_of_a_way(words: &str) -> String {
    let part = |words: &str| match words.split_once(',') {
        Some((over, height)) => format!(
            "{{ over = {}, height = {} }}",
            value(over.trim()),
            value(height.trim())
        ),
        None => quoted(words),
    };
    let parts: Vec<String> = words.split(';').map(part).collect();
    match parts.as_slice() {
        [only] => only.clone(),
        _ => format!("[{}]", parts.join(", ")),
    }
}
