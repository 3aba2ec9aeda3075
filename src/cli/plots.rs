//! Whether to draw in characters, and with which.

use std::io::{self, IsTerminal};

use clap::{Args, ValueEnum};

use crate::report::draw::Characters;

/// Drawings among the text.
#[derive(Debug, Args)]
pub struct Plots {
    /// Draw the bed in characters: auto is on a terminal only
    #[arg(long, value_enum, default_value_t, value_name = "WHEN")]
    plots: When,

    /// Draw with plain ASCII characters only; without this, as the locale says
    #[arg(long)]
    ascii: bool,
}

/// When to draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum When {
    /// On a terminal
    #[default]
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

impl Plots {
    /// The characters to draw with; `None` for no drawings.
    pub fn characters(&self) -> Option<Characters> {
        let wanted = match self.plots {
            When::Auto => io::stdout().is_terminal(),
            When::Always => true,
            When::Never => false,
        };
        let unicode = !self.ascii && unicode_locale(|name| std::env::var(name).ok());
        wanted.then_some(if unicode {
            Characters::Unicode
        } else {
            Characters::Ascii
        })
    }
}

/// Whether the locale's characters are those of Unicode: the first of these that is set decides (POSIX.1-2017,
/// Base Definitions, 8.2).
fn unicode_locale(variable: impl Fn(&str) -> Option<String>) -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(variable)
        .find(|value| !value.is_empty());
    match locale {
        Some(locale) => {
            let locale = locale.to_ascii_lowercase();
            locale.contains("utf-8") || locale.contains("utf8")
        }
        // Windows has no such variables, and its terminals show Unicode.
        None => cfg!(windows),
    }
}

#[cfg(test)]
mod tests {
    use super::unicode_locale;

    fn unicode(set: &[(&str, &str)]) -> bool {
        unicode_locale(|name| {
            set.iter()
                .find(|(known, _)| *known == name)
                .map(|(_, value)| (*value).to_owned())
        })
    }

    #[test]
    fn the_first_variable_that_is_set_decides() {
        assert!(unicode(&[("LANG", "en_GB.UTF-8")]));
        assert!(unicode(&[("LC_ALL", ""), ("LANG", "C.utf8")]));
        assert!(!unicode(&[("LC_ALL", "C"), ("LANG", "en_GB.UTF-8")]));
        assert!(!unicode(&[("LC_CTYPE", "POSIX"), ("LANG", "en_GB.UTF-8")]));
        assert!(!unicode(&[("LANG", "de_DE.ISO-8859-1")]));
    }
}
