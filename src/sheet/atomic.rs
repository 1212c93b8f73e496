//! Files that are either written whole or not at all.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::sync::atomic::{AtomicU32, Ordering};

use crate::error::{Error, Kind, Result};

/// Tells temporary files of one process apart.
static COUNT: AtomicU32 = AtomicU32::new(0);

/// Writes a file whole or not at all: into a temporary file of the same folder, then renamed. A file that was there
/// before stays as it is until the new one is complete.
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
/// # std::fs::remove_file(&path).unwrap();
/// assert!(write_file("/no/such/folder/x", b"").unwrap_err().is_io());
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_file(path: impl AsRef<Path>, bytes: &[u8]) -> Result<()> {
    let path = path.as_ref();
    let failed = |error: std::io::Error| Error::new(Kind::Io, format!("{}: {error}", path.display()));
    let Some(name) = path.file_name() else {
        return Err(Error::new(Kind::Io, format!("{}: expected the name of a file", path.display())));
    };
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

fn create(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

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
