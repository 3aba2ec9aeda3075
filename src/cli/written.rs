//! Writes a file so that there is either all of it or nothing.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;

use tempfile::Builder;

use super::sheet_trouble::SheetTrouble;

/// Writes aside, syncs, renames, and syncs the folder; what is there already stays unless `force`.
pub fn write_aside(file: &Path, bytes: &[u8], force: bool) -> Result<(), SheetTrouble> {
    let name = file.display().to_string();
    match put(file, bytes, force) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && !force => {
            Err(SheetTrouble::AlreadyThere { name })
        }
        Err(error) => Err(SheetTrouble::CannotWrite { name, error }),
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
    let mut builder = Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As any new file, less what the process's mask takes away.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut aside = builder.prefix(".quarterturn-").tempfile_in(folder)?;
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
        let refused = write_aside(&file, b"two", false);
        assert!(
            matches!(refused, Err(SheetTrouble::AlreadyThere { .. })),
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
        let refused = write_aside(&file, b"one", false);
        assert!(
            matches!(refused, Err(SheetTrouble::CannotWrite { .. })),
            "{refused:?}"
        );
    }
}
