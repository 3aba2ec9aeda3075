//! Gets the survey: from a file or through a pipe.

use std::fs::File;
use std::io::{self, IsTerminal, Read};
use std::path::Path;

use super::failure::{self, Failure};
use crate::survey::{self, Survey};

/// No survey is larger, bytes: years of passes come to a hundredth of it.
const LARGEST: u64 = 16 << 20;

/// What a survey is called that came through a pipe.
const PIPE: &str = "standard input";

/// A survey and what it is called.
#[derive(Debug, Clone)]
pub struct Source {
    /// What the file says.
    pub survey: Survey,
    /// The text of the file.
    pub text: String,
    /// How to name it on the command line, in quotes where a shell needs them.
    pub name: String,
}

/// Reads the survey from a file, or from standard input for `-` or for nothing at all.
pub fn read(file: Option<&Path>) -> Result<Source, Failure> {
    let (name, shown, bytes) = match file {
        Some(file) if file.as_os_str() != "-" => {
            let name = file.display().to_string();
            let bytes = File::open(file).and_then(contents);
            (name.clone(), shell_word(&name), bytes)
        }
        named => {
            if named.is_none() && io::stdin().is_terminal() {
                return Err(failure::no_survey());
            }
            (PIPE.to_owned(), "-".to_owned(), contents(io::stdin()))
        }
    };
    let bytes = match bytes {
        Ok(bytes) if bytes.len() as u64 > LARGEST => return Err(failure::too_large(&name)),
        Ok(bytes) if bytes.is_empty() && name == PIPE => return Err(failure::nothing_piped()),
        Ok(bytes) => bytes,
        Err(error) => return Err(failure::unreadable(&name, &error)),
    };
    let text = match survey::decode(&bytes) {
        Ok(text) => text,
        Err(no_text) => {
            return Err(failure::mistakes(
                name,
                no_text.readable,
                vec![no_text.mistake],
            ));
        }
    };
    match survey::read(&text) {
        Ok(survey) => Ok(Source {
            survey,
            text,
            name: shown,
        }),
        Err(diagnostics) => Err(failure::mistakes(name, text, diagnostics)),
    }
}

/// A name as one word of a command line.
pub fn shell_word(name: &str) -> String {
    let is_plain = !name.is_empty()
        && name
            .chars()
            .all(|c| c.is_alphanumeric() || "_-./\\:+,@%=".contains(c));
    if is_plain {
        name.to_owned()
    } else {
        format!("'{}'", name.replace('\'', "'\\''"))
    }
}

/// Everything there is to read, and one byte more than the largest survey at most.
fn contents(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(LARGEST + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::shell_word;

    /// Quoting of POSIX.1-2017, Shell Command Language, 2.2.2.
    #[test]
    fn a_name_is_one_word_for_a_shell() {
        for (name, word) in [
            ("lathe.toml", "lathe.toml"),
            ("../shop/lathe-2.toml", "../shop/lathe-2.toml"),
            ("my lathe.toml", "'my lathe.toml'"),
            ("bob's $lathe.toml", "'bob'\\''s $lathe.toml'"),
        ] {
            assert_eq!(shell_word(name), word);
        }
    }
}
