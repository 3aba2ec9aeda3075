//! A survey file in hand: read, changed and saved so that nothing typed is lost and nothing else is harmed.
//!
//! What is saved is first written aside in the same folder and brought to the disk; then it takes the name of
//! the file in one step, and the folder is brought to the disk too. Whenever the power goes or the disk is
//! full, the name stands for the whole old text or for the whole new one. Permissions and owner are kept, and
//! a symbolic link goes on pointing where it did.
//!
//! An editor knows nothing of locks. So a change is made to the text that it was decided on, and where the file says
//! something else by then the two changes are put together if they do not touch, and the passes come out as meant; if not,
//! nothing is saved and the difference is shown.
//!
//! Two programs on one file would lose each other's readings, so the one in hand is locked. The lock goes with
//! the file and not with its name, so every new file is locked before it takes the name, and whoever gets a lock
//! looks whether the name still stands for what it has locked.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use super::failure::{self, Failure};
use super::output;
use super::source::{self, Source};
use crate::survey::edit::{CannotEdit, difference, merged};
use crate::survey::{self, Survey};

/// A name may come to stand for another file between opening and locking; so often in a row it does not.
const MOST_TRIES: usize = 10;

/// Follows the name of the survey in the name of a file that is not finished.
const UNFINISHED: &str = ".unfinished-";

/// A survey file that no other `quarterturn` changes meanwhile.
#[derive(Debug)]
pub struct SurveyFile {
    /// As it was named.
    named: PathBuf,
    /// Where it really is.
    path: PathBuf,
    held: File,
    /// What it said when it was last read or saved, which is what the next change is decided on.
    known: Option<Source>,
}

impl SurveyFile {
    /// Takes a file in hand.
    pub fn open(named: &Path) -> Result<Self, Failure> {
        if named.as_os_str() == "-" {
            return Err(failure::no_file());
        }
        let path = fs::canonicalize(named)
            .map_err(|error| failure::unreadable(&named.display().to_string(), &error))?;
        if !fs::metadata(&path).is_ok_and(|found| found.is_file()) {
            let name = named.display().to_string();
            return Err(failure::no_regular_file(&name));
        }
        let held = hold(&path).map_err(|problem| problem.of(named))?;
        let file = Self {
            named: named.to_owned(),
            path,
            held,
            known: None,
        };
        file.clear_unfinished();
        Ok(file)
    }

    /// What it says now.
    pub fn read(&mut self) -> Result<Source, Failure> {
        let source = source::read(Some(&self.named))?;
        self.known = Some(source.clone());
        Ok(source)
    }

    /// Changes what it says; on disk when this returns. Gives what it says then.
    ///
    /// The change is made to what was last read. What somebody changed in an editor meanwhile stays, unless both
    /// touch the same or a pass would not come out as meant: then nothing is saved. A change that would make it no survey
    /// is not saved.
    pub fn change(
        &mut self,
        change: impl FnOnce(&Source) -> Result<String, CannotEdit>,
    ) -> Result<Source, Failure> {
        let now = source::read(Some(&self.named))?;
        let known = self.known.clone().unwrap_or_else(|| now.clone());
        let name = &known.name;
        let meant = change(&known).map_err(|reason| failure::cannot_edit(name, reason))?;
        let read = |text: &str| {
            survey::read(text)
                .map_err(|mut mistakes| failure::would_spoil(name, &mistakes.swap_remove(0)))
        };
        let mut changed = Source {
            survey: read(&meant)?,
            text: meant,
            name: name.clone(),
        };
        if now.text != known.text {
            let both = merged(&known.text, &changed.text, &now.text);
            let both = both.and_then(|text| Some((survey::read(&text).ok()?, text)));
            let (survey, text) = both
                .filter(|(survey, _)| is_as_meant(&known.survey, &changed.survey, survey))
                .ok_or_else(|| {
                    failure::changed_meanwhile(name, difference(&known.text, &now.text))
                })?;
            changed = Source {
                survey,
                text,
                ..changed
            };
        }
        self.save(&changed.text)
            .map_err(|problem| problem.of(&self.named))?;
        self.known = Some(changed.clone());
        Ok(changed)
    }

    fn save(&mut self, text: &str) -> Result<(), Problem> {
        // An editor may have put a new file in the place of the one that is locked.
        if !is_still(&self.held, &self.path)? {
            self.held = hold(&self.path)?;
        }
        let bytes = survey::encode_like(text, &beginning(&self.path)?);
        let folder = self.folder().to_owned();
        let mut aside = tempfile::Builder::new()
            .prefix(&self.unfinished())
            .tempfile_in(&folder)?;
        let as_it_was = self.held.metadata()?;
        if has_other_names(&as_it_was) {
            output::note(&format!(
                "`{}` has another name (a hard link), which keeps what it said before",
                self.named.display()
            ));
        }
        aside.as_file().set_permissions(as_it_was.permissions())?;
        keep_owner(aside.as_file(), &as_it_was);
        aside.write_all(&bytes)?;
        aside.as_file().sync_all()?;
        lock(aside.as_file())?;
        self.held = aside.persist(&self.path).map_err(|failed| failed.error)?;
        sync_folder(&folder)?;
        Ok(())
    }

    fn folder(&self) -> &Path {
        // A path that a file was found under has a parent.
        self.path.parent().unwrap_or(Path::new("."))
    }

    fn unfinished(&self) -> OsString {
        let mut name = OsString::from(".");
        name.push(self.path.file_name().unwrap_or_default());
        name.push(UNFINISHED);
        name
    }

    /// Removes what a program that was killed while it saved has left. The lock says that no other is saving.
    fn clear_unfinished(&self) {
        let prefix = self.unfinished();
        let Ok(entries) = fs::read_dir(self.folder()) else {
            return;
        };
        for entry in entries.flatten() {
            let name = entry.file_name();
            if name
                .as_encoded_bytes()
                .starts_with(prefix.as_encoded_bytes())
            {
                // What cannot be removed does no harm.
                let _ = fs::remove_file(entry.path());
            }
        }
    }
}

/// Whether every pass that a change touches reads at its own number as it was meant to, and the feet are those that were known.
fn is_as_meant(before: &Survey, meant: &Survey, now: &Survey) -> bool {
    let passes = meant.passes.iter().enumerate();
    let mut touched = passes.filter(|(index, pass)| before.passes.get(*index) != Some(pass));
    let same_feet = before
        .feet
        .iter()
        .map(|foot| &foot.name)
        .eq(now.feet.iter().map(|foot| &foot.name));
    same_feet && touched.all(|(index, pass)| now.passes.get(index) == Some(pass))
}

/// Writes a new file under a name that nothing stands for yet; on disk when this returns.
pub fn create(named: &Path, text: &str) -> Result<(), Failure> {
    let made = || -> io::Result<()> {
        let folder = match named.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        let mut prefix = OsString::from(".");
        prefix.push(named.file_name().unwrap_or_default());
        prefix.push(UNFINISHED);
        let mut builder = tempfile::Builder::new();
        builder.prefix(&prefix);
        ordinary_permissions(&mut builder);
        let mut aside = builder.tempfile_in(folder)?;
        aside.write_all(text.as_bytes())?;
        aside.as_file().sync_all()?;
        aside
            .persist_noclobber(named)
            .map_err(|failed| failed.error)?;
        sync_folder(folder)
    };
    made().map_err(|error| {
        let name = named.display().to_string();
        if error.kind() == io::ErrorKind::AlreadyExists {
            failure::exists(&name)
        } else {
            failure::unsaved(&name, &error)
        }
    })
}

/// Why a file cannot be taken in hand or saved.
enum Problem {
    InUse,
    Protected,
    Io(io::Error),
}

impl From<io::Error> for Problem {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => Self::Protected,
            _ => Self::Io(error),
        }
    }
}

impl Problem {
    fn of(self, named: &Path) -> Failure {
        let name = named.display().to_string();
        match self {
            Self::InUse => failure::in_use(&name),
            Self::Protected => failure::protected(&name),
            Self::Io(error) => failure::unsaved(&name, &error),
        }
    }
}

/// Opens and locks what the name stands for.
fn hold(path: &Path) -> Result<File, Problem> {
    for _ in 0..MOST_TRIES {
        let file = OpenOptions::new().read(true).write(true).open(path)?;
        if file.metadata()?.permissions().readonly() {
            // The system lets an administrator write all the same, but somebody meant it.
            return Err(Problem::Protected);
        }
        lock(&file)?;
        if is_still(&file, path)? {
            return Ok(file);
        }
    }
    Err(Problem::InUse)
}

fn lock(file: &File) -> Result<(), Problem> {
    match file.try_lock() {
        Ok(()) => Ok(()),
        Err(TryLockError::WouldBlock) => Err(Problem::InUse),
        // Where the file system knows no locks, working alone is better than not at all.
        Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => Ok(()),
        Err(TryLockError::Error(error)) => Err(error.into()),
    }
}

/// The first bytes of a file, which tell its encoding.
fn beginning(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(2).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Whether the name stands for this very file.
#[cfg(unix)]
fn is_still(file: &File, path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::MetadataExt;
    let (held, found) = (file.metadata()?, fs::metadata(path)?);
    Ok((held.dev(), held.ino()) == (found.dev(), found.ino()))
}

/// Elsewhere a locked file keeps its name.
#[cfg(not(unix))]
fn is_still(_: &File, _: &Path) -> io::Result<bool> {
    Ok(true)
}

/// Gives a file the owner of another, as far as the system lets us.
#[cfg(unix)]
fn keep_owner(file: &File, owned: &fs::Metadata) {
    use std::os::unix::fs::{MetadataExt, fchown};
    let _ = fchown(file, Some(owned.uid()), Some(owned.gid()));
}

/// Whether the file stands under more names than one.
#[cfg(unix)]
fn has_other_names(file: &fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    file.nlink() > 1
}

#[cfg(not(unix))]
fn has_other_names(_: &fs::Metadata) -> bool {
    false
}

#[cfg(not(unix))]
fn keep_owner(_: &File, _: &fs::Metadata) {}

/// Lets a new file have the permissions that the user's files have.
#[cfg(unix)]
fn ordinary_permissions(builder: &mut tempfile::Builder<'_, '_>) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn ordinary_permissions(_: &mut tempfile::Builder<'_, '_>) {}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

/// Elsewhere a folder cannot be opened to be brought to the disk.
#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
