//! Lines of a file with their comments one under the other.

/// Column at which comments begin.
const COMMENTS: usize = 26;

/// The lines so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Sheet(Vec<String>);

impl Sheet {
    /// A line and what to say beside it.
    pub fn line(&mut self, words: &str, comment: &str) {
        self.0.push(if comment.is_empty() {
            words.to_owned()
        } else {
            format!("{words:<COMMENTS$}# {comment}")
        });
    }

    /// A comment on a line of its own.
    pub fn remark(&mut self, words: &str) {
        self.0.push(format!("# {words}"));
    }

    /// The header of a table, after an empty line.
    pub fn heading(&mut self, name: &str, comment: &str) {
        self.0.push(String::new());
        self.line(&format!("[{name}]"), comment);
    }

    /// A key with its value, or, where there is none, the same with an example as a comment.
    pub fn optional(&mut self, (key, example): (&str, &str), value: Option<String>, comment: &str) {
        match value {
            Some(value) => self.line(&format!("{key} = {value}"), comment),
            None => self.remark(&format!(
                "{:<width$} # {comment}",
                format!("{key} = {example}"),
                width = COMMENTS - 3
            )),
        }
    }

    /// All lines, each ended by a newline.
    pub fn text(self) -> String {
        self.0.into_iter().map(|line| line + "\n").collect()
    }
}
