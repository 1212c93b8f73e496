//! What several test files share.
#![allow(dead_code, reason = "each test file uses its part")]

pub(crate) mod arrange;
pub(crate) mod generate;
pub(crate) mod timewise;

use std::path::{Path, PathBuf};

/// The folder of real lead sheets: under the folder that the variable names, or beside the repository.
pub(crate) fn shared() -> Option<PathBuf> {
    let folder = std::env::var_os("OVERSHELL_SHARED")
        .map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared"), PathBuf::from);
    folder.is_dir().then_some(folder)
}

/// The real lead sheets in order of their names; none, with a printed line, where they are not at hand.
pub(crate) fn real_sheets() -> Vec<PathBuf> {
    let Some(folder) = shared().map(|folder| folder.join("leadsheets")).filter(|folder| folder.is_dir())
    else {
        println!("skipped: no folder `../shared/leadsheets` and no `OVERSHELL_SHARED`");
        return Vec::new();
    };
    let mut sheets: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "mxl"))
        .collect();
    sheets.sort();
    assert!(!sheets.is_empty());
    sheets
}
