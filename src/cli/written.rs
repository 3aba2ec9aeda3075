//! Writes a file so that there is either all of it or nothing.

use std::fs::{self, File, Metadata};
use std::io::{self, Write};
use std::path::Path;

use tempfile::Builder;

use super::failure::{self, Failure};

/// How the name of a file begins that is not finished.
const UNFINISHED: &str = ".quarterturn-";

/// Writes aside, syncs, renames, and syncs the folder; what is there already stays unless `force`.
pub fn write_aside(file: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let name = file.display().to_string();
    match put(file, bytes, force) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && !force => {
            Err(failure::already_there(&name))
        }
        Err(error) => Err(failure::cannot_write(&name, &error)),
    }
}

/// Whether the file to write is the one that was read, under whatever name, or what comes through the pipe.
pub fn is_input(file: &Path, input: Option<&Path>) -> bool {
    let named = input.filter(|input| input.as_os_str() != "-");
    match named {
        Some(input) => is_same(fs::metadata(input), file),
        None => is_same(piped_in(), file),
    }
}

/// What comes through the pipe.
#[cfg(unix)]
fn piped_in() -> io::Result<Metadata> {
    use std::os::fd::AsFd;
    File::from(io::stdin().as_fd().try_clone_to_owned()?).metadata()
}

#[cfg(not(unix))]
fn piped_in() -> io::Result<Metadata> {
    Err(io::ErrorKind::Unsupported.into())
}

#[cfg(unix)]
fn is_same(read: io::Result<Metadata>, file: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let id = |found: &Metadata| (found.dev(), found.ino());
    matches!((read, fs::metadata(file)), (Ok(read), Ok(found)) if id(&read) == id(&found))
}

/// Elsewhere a file that was just read keeps the time at which it was changed.
#[cfg(not(unix))]
fn is_same(read: io::Result<Metadata>, file: &Path) -> bool {
    let id = |found: &Metadata| (found.len(), found.modified().ok());
    matches!((read, fs::metadata(file)), (Ok(read), Ok(found)) if id(&read) == id(&found))
}

/// Removes what a program that was killed while it wrote has left; what another still writes is locked.
fn clear_unfinished(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    let left = entries.flatten().filter(|entry| {
        entry
            .file_name()
            .as_encoded_bytes()
            .starts_with(UNFINISHED.as_bytes())
    });
    for entry in left {
        // What cannot be removed does no harm.
        if File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok()) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn put(file: &Path, bytes: &[u8], force: bool) -> io::Result<()> {
    // Asked early, so that nothing is written for nothing; the rename below is what decides.
    if !force && file.try_exists()? {
        return Err(io::ErrorKind::AlreadyExists.into());
    }
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    clear_unfinished(folder);
    let mut builder = Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As any new file, less what the process's mask takes away.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut aside = builder.prefix(UNFINISHED).tempfile_in(folder)?;
    // Where the file system knows no locks nothing is cleared either.
    let _ = aside.as_file().try_lock();
    aside.write_all(bytes)?;
    aside.as_file().sync_all()?;
    if force {
        aside.persist(file)?;
    } else {
        aside.persist_noclobber(file)?;
    }
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_stays_unless_forced() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("card.html");
        write_aside(&file, b"one", false).expect("a new file");
        let refused = write_aside(&file, b"two", false).expect_err("it is there");
        assert!(
            refused.message().contains("is there already"),
            "{refused:?}"
        );
        assert_eq!(std::fs::read(&file).expect("the file"), b"one");
        write_aside(&file, b"three", true).expect("forced");
        assert_eq!(std::fs::read(&file).expect("the file"), b"three");
        let files = std::fs::read_dir(folder.path())
            .expect("the folder")
            .count();
        assert_eq!(files, 1, "nothing is left beside it");
    }

    #[test]
    fn a_folder_that_is_not_there() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("none").join("card.html");
        let refused = write_aside(&file, b"one", false).expect_err("no folder");
        assert!(refused.message().contains("cannot write"), "{refused:?}");
    }
}
