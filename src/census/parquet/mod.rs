//! Rows as files of Apache Parquet.
//!
//! The crate `parquet` writes the file: its schema, its metadata, the heads of pages. What stands in the pages is put together here, since
//! rows know which of them share a value ([`slots`](super::slots)): a value is looked up once for a chord, not once for a row.
//! The batches of Apache Arrow that [`CensusBatch`](super::CensusBatch) makes are the slow twin.

mod chunk;
mod dictionary;
mod hybrid;
mod known;

use std::io::Write;
use std::sync::Arc;

use parquet::arrow::{ArrowSchemaConverter, add_encoded_arrow_schema_to_metadata};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;

use self::chunk::Chunk;
use super::columns::Column;
use super::row::CensusRow;
use super::slots::Scope;
use crate::error::{Error, Kind, Result};

/// So many rows share a page.
const PAGE: usize = 8_192;
/// So many pages of each column are a group of rows: what is held in memory before it is written, and what readers read at a time.
const GROUP: usize = 16;

/// Writes rows as a file of Apache Parquet.
///
/// Texts, points and lists are written by dictionaries, pages are compressed with Snappy. The metadata holds the schema of Apache Arrow
/// with the unit and the meaning of each column, and what is said of the whole.
///
/// # Complexity
///
/// Memory depends on the columns, not on how many rows there are: some 100 bytes for each of 131,072 rows.
///
/// # Example
///
/// ```
/// use std::ops::ControlFlow;
///
/// use overshell::census::{Census, CensusParquet, CensusRows, CensusSpace, Column};
/// use overshell::rules::RuleSet;
///
/// let census = Census::new(CensusSpace::usual())?;
/// let mut bytes = Vec::new();
/// let mut file = CensusParquet::new(&mut bytes, &[Column::Index, Column::Verdict], "the first hundred")?;
/// let ended = CensusRows::new(&census, RuleSet::standard()).visit(0..100, |row| match file.push(row) {
///     Ok(()) => ControlFlow::Continue(()),
///     Err(error) => ControlFlow::Break(error),
/// })?;
/// assert!(ended.is_continue());
/// file.finish()?;
/// assert!(bytes.starts_with(b"PAR1"));
/// # Ok::<(), overshell::Error>(())
/// ```
pub struct CensusParquet<W: Write + Send> {
    file: SerializedFileWriter<W>,
    chunks: Vec<Chunk>,
    /// Rows in an open page.
    rows: usize,
    /// Rows in the pages before it.
    paged: usize,
    /// Rows in a page, and pages in a group.
    sizes: [usize; 2],
    /// Of the last row.
    origin: [u64; 2],
}

impl<W: Write + Send> std::fmt::Debug for CensusParquet<W> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("CensusParquet").field("rows", &(self.paged + self.rows)).finish_non_exhaustive()
    }
}

fn failed(error: ParquetError) -> Error {
    Error::new(Kind::Io, format!("the Parquet file cannot be written: {error}"))
}

impl<W: Write + Send> CensusParquet<W> {
    /// Begins a file with these columns. The description, such as a [`CensusDescription`](super::CensusDescription) in JSON, is
    /// written as metadata under `overshell-census`.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) where there is no column, or one stands there twice;
    /// [`Error::is_io`](crate::Error::is_io) where nothing can be written.
    pub fn new(to: W, columns: &[Column], description: &str) -> Result<Self> {
        Self::with_sizes(to, columns, description, [PAGE, GROUP])
    }

    fn with_sizes(to: W, columns: &[Column], description: &str, sizes: [usize; 2]) -> Result<Self> {
        Column::check_list(columns)?;
        let about = KeyValue::new("overshell-census".to_owned(), description.to_owned());
        let schema = Column::arrow_schema(columns);
        let mut properties = WriterProperties::builder()
            .set_created_by(format!("overshell {}", env!("CARGO_PKG_VERSION")))
            .set_key_value_metadata(Some(vec![about]))
            .build();
        add_encoded_arrow_schema_to_metadata(&schema, &mut properties);
        let schema = ArrowSchemaConverter::new().convert(&schema).map_err(failed)?;
        // A list has one column in the file too: that of its items.
        let chunks = columns.iter().zip(schema.columns());
        let chunks = chunks.map(|(column, description)| Chunk::new(*column, description.clone())).collect();
        let file = SerializedFileWriter::new(to, schema.root_schema_ptr(), Arc::new(properties));
        Ok(Self { file: file.map_err(failed)?, chunks, rows: 0, paged: 0, sizes, origin: [0; 2] })
    }

    /// Takes a row in. Only what the columns say is found out.
    ///
    /// # Errors
    ///
    /// [`Error::is_io`](crate::Error::is_io) where rows cannot be written.
    pub fn push(&mut self, row: &CensusRow<'_>) -> Result<()> {
        let origin = row.origin();
        if origin != self.origin {
            let scope = if origin[0] == self.origin[0] { Scope::Chord } else { Scope::Rows };
            self.chunks.iter_mut().for_each(|chunk| chunk.forget(scope));
            self.origin = origin;
        }
        self.chunks.iter_mut().for_each(|chunk| chunk.push(row));
        self.rows += 1;
        let [page, group] = self.sizes;
        if self.rows == page {
            self.end_page().map_err(failed)?;
            if self.paged == page * group {
                self.end_group().map_err(failed)?;
            }
        }
        Ok(())
    }

    fn end_page(&mut self) -> Result<(), ParquetError> {
        let rows = std::mem::take(&mut self.rows);
        self.paged += rows;
        self.chunks.iter_mut().try_for_each(|chunk| chunk.end_page(rows))
    }

    fn end_group(&mut self) -> Result<(), ParquetError> {
        let rows = std::mem::take(&mut self.paged);
        let mut group = self.file.next_row_group()?;
        for chunk in &mut self.chunks {
            let (bytes, about) = chunk.end(rows)?;
            group.append_column(&bytes, about)?;
        }
        group.close()?;
        Ok(())
    }

    /// Writes what is left, and what tells readers where all is.
    ///
    /// # Errors
    ///
    /// [`Error::is_io`](crate::Error::is_io) where it cannot be written: then there is no file to be read.
    pub fn finish(mut self) -> Result<()> {
        if self.rows > 0 {
            self.end_page().map_err(failed)?;
        }
        if self.paged > 0 {
            self.end_group().map_err(failed)?;
        }
        self.file.close().map_err(failed)?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::ops::{ControlFlow, Range};

    use arrow_array::RecordBatch;
    use bytes::Bytes;
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
    use parquet::file::metadata::ParquetMetaData;
    use proptest::prelude::*;
    use rstest::rstest;

    use super::*;
    use crate::census::{Census, CensusBatch, CensusRows, CensusSpace};
    use crate::rules::RuleSet;

    /// The file of some ranges, and the same rows as a batch.
    fn written(
        rows: &[CensusRows<'_>],
        ranges: &[Range<u64>],
        columns: &[Column],
        sizes: [usize; 2],
    ) -> (Bytes, RecordBatch) {
        let (mut bytes, mut batch) = (Vec::new(), CensusBatch::new(columns, 100));
        let mut file = CensusParquet::with_sizes(&mut bytes, columns, "about", sizes).unwrap();
        for (range, rows) in ranges.iter().zip(rows.iter().cycle()) {
            let ended = rows.visit(range.clone(), |row| {
                batch.push(row);
                file.push(row).unwrap();
                ControlFlow::<()>::Continue(())
            });
            assert!(ended.unwrap().is_continue());
        }
        file.finish().unwrap();
        (bytes.into(), batch.finish().unwrap())
    }

    /// Reads a file, all of it at once.
    fn read(bytes: Bytes) -> (Arc<ParquetMetaData>, RecordBatch) {
        let reader = ParquetRecordBatchReaderBuilder::try_new(bytes).unwrap().with_batch_size(1 << 20);
        let (metadata, schema) = (Arc::clone(reader.metadata()), Arc::clone(reader.schema()));
        let batches: Vec<_> = reader.build().unwrap().map(Result::unwrap).collect();
        assert!(batches.len() < 2);
        let batch = batches.into_iter().next().unwrap_or_else(|| RecordBatch::new_empty(Arc::clone(&schema)));
        (metadata, batch)
    }

    /// Every column of a file is as it was asked for.
    fn check(found: &RecordBatch, asked: &RecordBatch) {
        assert_eq!(found.schema().fields(), asked.schema().fields());
        for (field, (found, asked)) in
            asked.schema().fields().iter().zip(found.columns().iter().zip(asked.columns()))
        {
            assert_eq!(found, asked, "{}", field.name());
        }
    }

    /// All columns of rows far apart, under two sets of rules: what one has taught must not serve the other.
    #[rstest]
    #[case::one_page([4_000, 4])]
    #[case::pages_of_one_group([700, 10])]
    #[case::groups([300, 2])]
    #[case::a_row_each([1, 1])]
    fn ok_files_say_what_batches_say(#[case] sizes: [usize; 2]) {
        let census = Census::new(CensusSpace::full()).unwrap();
        let other = Census::new(CensusSpace::usual()).unwrap();
        let sets = ["dense-altered", "standard"].map(|name| RuleSet::named(name).unwrap());
        let rows = [CensusRows::new(&census, &sets[0]), CensusRows::new(&other, &sets[1])];
        let few = if sizes == [1, 1] { 20 } else { 800 };
        let ranges = [0..few, 400_000..400_000 + few, 7_000_000..7_000_000 + few, 16..16 + few];
        let (bytes, batch) = written(&rows, &ranges, Column::ALL, sizes);
        let (metadata, found) = read(bytes);
        check(&found, &batch);
        let groups = batch.num_rows().div_ceil(sizes[0] * sizes[1]);
        assert_eq!(metadata.num_row_groups(), groups);
        let index = metadata.row_group(0).column(0).statistics().unwrap();
        assert_eq!(index.min_bytes_opt().unwrap(), 0u64.to_le_bytes());
    }

    #[test]
    fn ok_no_row_and_no_text() {
        let census = Census::new(CensusSpace::full()).unwrap();
        let rows = [CensusRows::new(&census, RuleSet::standard())];
        let (bytes, batch) = written(&rows, &[5..5, 9..9], Column::ALL, [PAGE, GROUP]);
        let (metadata, found) = read(bytes);
        check(&found, &batch);
        let about = metadata.file_metadata().key_value_metadata().unwrap();
        assert!(
            about.iter().any(|pair| pair.key == "overshell-census" && pair.value.as_deref() == Some("about"))
        );
        // A single row without a symbol for what sounds.
        let columns = [Column::Sounding, Column::Index];
        let is_silent = |batch: &RecordBatch| batch.column(0).null_count() == 1;
        let silent = (0..5_000)
            .map(|at| written(&rows, &[at..at + 1, 0..0], &columns, [PAGE, GROUP]))
            .find(|(_, batch)| is_silent(batch));
        let (bytes, batch) = silent.unwrap();
        check(&read(bytes).1, &batch);
    }

    /// Lists without any item, page after page.
    #[test]
    fn ok_no_rule_fires() {
        let rules = RuleSet::from_toml("quiet.toml", "format = 1\nname = \"quiet\"\nrule = []").unwrap();
        let census = Census::new(CensusSpace::usual()).unwrap();
        let rows = [CensusRows::new(&census, &rules)];
        let (bytes, batch) = written(&rows, &[0..900, 3..5], Column::ALL, [200, 2]);
        check(&read(bytes).1, &batch);
        let lists = arrow_array::cast::AsArray::as_list::<i32>(batch.column_by_name("rules").unwrap());
        assert_eq!(lists.values().len(), 0);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        /// Any columns in any order, any ranges, pages and groups of any size.
        #[test]
        fn prop_files_say_what_batches_say(
            columns in Just(Column::ALL.to_vec()).prop_shuffle(),
            count in 1usize..30,
            ranges in prop::collection::vec((0u64..8_600_000, 0u64..400), 1..5),
            sizes in [1usize..300, 1usize..4],
        ) {
            let census = Census::new(CensusSpace::full()).unwrap();
            let rows = [CensusRows::new(&census, RuleSet::standard())];
            let columns = &columns[..count.min(columns.len())];
            let ranges: Vec<_> = ranges.into_iter().map(|(start, len)| start..start + len).collect();
            let (bytes, batch) = written(&rows, &ranges, columns, sizes);
            check(&read(bytes).1, &batch);
        }
    }

    #[test]
    fn err_columns_and_files() {
        let new = |columns: &[Column]| CensusParquet::new(Vec::new(), columns, "").unwrap_err();
        assert!(new(&[]).is_range());
        assert!(new(&[Column::Cost, Column::Index, Column::Cost]).to_string().contains("`cost`"));
        /// Takes so many bytes and no more.
        struct Full(usize);
        impl Write for Full {
            fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
                let taken = bytes.len().min(self.0);
                self.0 -= taken;
                let full = || std::io::Error::new(std::io::ErrorKind::StorageFull, "no room is left");
                if taken == 0 && !bytes.is_empty() { Err(full()) } else { Ok(taken) }
            }
            fn flush(&mut self) -> std::io::Result<()> {
                Ok(())
            }
        }
        let census = Census::new(CensusSpace::usual()).unwrap();
        let rows = CensusRows::new(&census, RuleSet::standard());
        let all = |room: usize| -> Result<()> {
            let mut file = CensusParquet::with_sizes(Full(room), Column::ALL, "about", [50, 2])?;
            let ended = rows.visit(0..500, |row| match file.push(row) {
                Ok(()) => ControlFlow::Continue(()),
                Err(error) => ControlFlow::Break(error),
            })?;
            ended.break_value().map_or(Ok(()), Err)?;
            file.finish()
        };
        assert!(all(1 << 20).is_ok());
        for room in [0, 3, 100, 5_000, 20_000] {
            let error = all(room).unwrap_err();
            assert!(error.is_io() && error.to_string().contains("no room is left"), "{room}: {error}");
        }
    }
}
