//! Files that are either written whole or not at all.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::sync::atomic::{AtomicU32, Ordering};

use crate::error::{Error, Kind, Result};

/// Tells temporary files of one process apart.
static COUNT: AtomicU32 = AtomicU32::new(0);

/// Writes a file whole or not at all: into a temporary file of the same folder, then renamed. A file that was there
/// before stays as it is until the new one is complete. Folders that are missing are made.
///
/// # Errors
///
/// [`Error::is_io`] where the folder or the file cannot be written; the temporary file is then removed.
///
/// # Example
///
/// ```
/// use overshell::sheet::write_file;
/// let path = std::env::temp_dir().join(format!("overshell-doc-{}.txt", std::process::id()));
/// write_file(&path, b"done")?;
/// assert_eq!(std::fs::read(&path).unwrap(), b"done");
/// assert!(write_file(path.join("below-a-file"), b"").unwrap_err().is_io());
/// # std::fs::remove_file(&path).unwrap();
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_file(path: impl AsRef<Path>, bytes: &[u8]) -> Result<()> {
    let path = path.as_ref();
    let failed = |error: std::io::Error| Error::new(Kind::Io, format!("{}: {error}", path.display()));
    let Some(name) = path.file_name() else {
        return Err(Error::new(Kind::Io, format!("{}: expected the name of a file", path.display())));
    };
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        fs::create_dir_all(folder).map_err(failed)?;
    }
    let count = COUNT.fetch_add(1, Ordering::Relaxed);
    let mut temporary = std::ffi::OsString::from(".");
    temporary.push(name);
    temporary.push(format!(".{}-{count}.part", std::process::id()));
    let temporary = path.with_file_name(temporary);
    let written = create(&temporary, bytes).and_then(|()| fs::rename(&temporary, path));
    written.map_err(|error| {
        // The first error is the one to report; the temporary file may not even exist.
        let _ = fs::remove_file(&temporary);
        failed(error)
    })
}

/// Refuses a result that would take the place of the file it was made from.
///
/// # Errors
///
/// [`Error::is_io`] where both paths lead to the same place, however they are spelled and through whatever symbolic links. Another hard
/// link to the file is another place: [`write_file`] puts a new file there, and the tune keeps its content.
pub fn refuse_to_overwrite(input: impl AsRef<Path>, output: impl AsRef<Path>) -> Result<()> {
    let (input, output) = (input.as_ref(), output.as_ref());
    match (input.canonicalize(), output.canonicalize()) {
        (Ok(from), Ok(to)) if from == to => Err(Error::new(
            Kind::Io,
            format!("`{}` is the tune itself and is not overwritten", output.display()),
        )
        .with_help("choose another folder for the results")),
        _ => Ok(()),
    }
}

fn create(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_an_input_is_not_overwritten() {
        let path = std::env::temp_dir().join(format!("overshell-input-{}.xml", std::process::id()));
        write_file(&path, b"tune").unwrap();
        let round_about = path.parent().unwrap().join(".").join(path.file_name().unwrap());
        assert!(refuse_to_overwrite(&path, round_about).unwrap_err().is_io());
        assert!(refuse_to_overwrite(&path, path.with_extension("mid")).is_ok());
        fs::remove_file(&path).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn ok_links_to_an_input() {
        let folder = std::env::temp_dir().join(format!("overshell-links-{}", std::process::id()));
        fs::create_dir_all(folder.join("inside")).unwrap();
        let tune = folder.join("tune.xml");
        write_file(&tune, b"tune").unwrap();
        let (soft, hard, loose) =
            (folder.join("soft.xml"), folder.join("hard.xml"), folder.join("loose.xml"));
        std::os::unix::fs::symlink(&tune, &soft).unwrap();
        std::os::unix::fs::symlink(folder.join("nothing.xml"), &loose).unwrap();
        std::os::unix::fs::symlink(&folder, folder.join("inside/round")).unwrap();
        fs::hard_link(&tune, &hard).unwrap();
        for same in [&tune, &soft, &folder.join("inside/../tune.xml"), &folder.join("inside/round/soft.xml")]
        {
            assert!(refuse_to_overwrite(&tune, same).unwrap_err().is_io(), "{}", same.display());
            assert!(refuse_to_overwrite(same, &tune).unwrap_err().is_io(), "{}", same.display());
        }
        for other in [&hard, &loose] {
            refuse_to_overwrite(&tune, other).unwrap();
            write_file(other, b"page").unwrap();
            assert_eq!(
                (fs::read(other).unwrap(), fs::read(&tune).unwrap()),
                (b"page".to_vec(), b"tune".to_vec())
            );
        }
        assert!(!folder.join("nothing.xml").exists());
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn ok_writes_replaces_and_leaves_nothing_behind() {
        let folder = std::env::temp_dir().join(format!("overshell-atomic-{}", std::process::id()));
        fs::create_dir_all(folder.join("taken")).unwrap();
        let path = folder.join("page.xml");
        write_file(&path, b"one").unwrap();
        write_file(&path, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        // A folder of that name cannot be replaced by a file.
        assert!(write_file(folder.join("taken"), b"x").unwrap_err().is_io());
        assert!(write_file("/", b"x").unwrap_err().is_io());
        let mut names: Vec<_> = fs::read_dir(&folder).unwrap().map(|e| e.unwrap().file_name()).collect();
        names.sort();
        assert_eq!(names, ["page.xml", "taken"]);
        fs::remove_dir_all(&folder).unwrap();
    }
}
