//! What a reader may be told.

/// How to read.
///
/// # Example
///
/// ```
/// use overshell::sheet::ReadOptions;
/// let options = ReadOptions { strict: true, ..ReadOptions::default() };
/// assert_eq!(options.limits.bars, 10_000);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ReadOptions {
    /// Whether the first finding becomes an error. Default `false`: a fault in one bar does not lose the tune.
    pub strict: bool,
    /// How much is read at most.
    pub limits: Limits,
}

/// How much is read at most; exceeding one is an error that names it
/// ([`Error::is_limit`](crate::Error::is_limit)). The defaults are far above any lead sheet and far below what would
/// fill a memory: reading MusicXML holds about five times the text of a tune, and of no text more than four kilobytes for
/// each of `notes` (800 MB by default) beside the text itself, which is in memory twice while an archive is unpacked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file, and of its score once unpacked. Default 64 MiB.
    pub bytes: usize,
    /// Bars of each part. Default 10 000.
    pub bars: usize,
    /// Notes, rests and chord symbols of the whole file; a bar with none of them counts as a rest, and so does a part without
    /// bars. Default 200 000.
    pub notes: usize,
    /// Elements inside each other. Default 64; a score nests about ten deep.
    pub depth: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { bytes: 64 << 20, bars: 10_000, notes: 200_000, depth: 64 }
    }
}
