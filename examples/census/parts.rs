//! One file of a census.

use std::fs::{self, File};
use std::io::{BufReader, BufWriter, Read, Write};
use std::ops::Range;
use std::path::Path;

use overshell::census::CensusRows;
use sha2::{Digest, Sha256};

use crate::asked::Asked;
use crate::failure::{Failure, Result};
use crate::format::Format;
use crate::manifest::Part;

/// Takes bytes to the file and remembers their sum.
struct Summed<W> {
    to: W,
    sum: Sha256,
    bytes: u64,
}

impl<W: Write> Write for Summed<W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let taken = self.to.write(bytes)?;
        self.sum.update(bytes.get(..taken).unwrap_or_default());
        self.bytes += u64::try_from(taken).unwrap_or_default();
        Ok(taken)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.to.flush()
    }
}

/// The name of the file that begins with this number; sorted by name they are in order.
pub(crate) fn name(begins: u64, format: Format) -> String {
    format!("part-{begins:010}.{}", format.ending())
}

/// Writes the file of a range whole or not at all: under another name first, then renamed.
pub(crate) fn write(
    asked: &Asked,
    rows: &CensusRows<'_>,
    range: Range<u64>,
    format: Format,
    description: &str,
    folder: &Path,
) -> Result<Part> {
    let file = name(range.start, format);
    let (path, open) = (folder.join(&file), folder.join(format!(".{file}.open")));
    let written = write_open(asked, rows, range.clone(), format, description, &open);
    let done = written.and_then(|part| {
        fs::rename(&open, &path).map_err(|error| Failure::io(&path, error))?;
        Ok(Part { file, ..part })
    });
    if done.is_err() {
        // The first error is the one to report; the file may not even exist.
        let _ = fs::remove_file(&open);
    }
    done
}

fn write_open(
    asked: &Asked,
    rows: &CensusRows<'_>,
    range: Range<u64>,
    format: Format,
    description: &str,
    open: &Path,
) -> Result<Part> {
    let failed = |error: &dyn std::fmt::Display| Failure::io(open, error);
    let file = File::create(open).map_err(|error| failed(&error))?;
    let mut summed = Summed { to: BufWriter::with_capacity(1 << 16, file), sum: Sha256::new(), bytes: 0 };
    let ranges = asked.filter.ranges(&asked.census, range.clone());
    let verdicts = format
        .write(rows, ranges, &asked.columns, description, &mut summed)
        .map_err(|fault| failed(&fault))?;
    let file = summed.to.into_inner().map_err(|error| failed(&error))?;
    file.sync_all().map_err(|error| failed(&error))?;
    Ok(Part {
        file: String::new(),
        end: range.end,
        rows: verdicts.clash + verdicts.plain + verdicts.colour,
        bytes: summed.bytes,
        sha256: hexadecimal(&summed.sum.finalize()),
        verdicts,
    })
}

/// Whether a file is there as it was written.
pub(crate) fn is_there(folder: &Path, part: &Part) -> bool {
    let Ok(file) = File::open(folder.join(&part.file)) else { return false };
    if file.metadata().map(|about| about.len()).ok() != Some(part.bytes) {
        return false;
    }
    let (mut reader, mut sum, mut room) = (BufReader::new(file), Sha256::new(), vec![0; 1 << 16]);
    loop {
        match reader.read(&mut room) {
            Ok(0) => return hexadecimal(&sum.finalize()) == part.sha256,
            Ok(count) => sum.update(room.get(..count).unwrap_or_default()),
            Err(_) => return false,
        }
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
