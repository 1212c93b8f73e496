//! One column of one group of rows.

use bytes::Bytes;
use parquet::basic::{Compression, Encoding};
use parquet::column::page::{CompressedPage, Page, PageWriter};
use parquet::column::writer::ColumnCloseResult;
use parquet::errors::{ParquetError, Result};
use parquet::file::metadata::ColumnChunkMetaData;
use parquet::file::statistics::Statistics;
use parquet::file::writer::{SerializedPageWriter, TrackedWrite};
use parquet::schema::types::ColumnDescPtr;
use smallvec::SmallVec;
use snap::raw::{Encoder, max_compress_len};

use super::super::columns::{Column, ColumnType, Value};
use super::super::row::CensusRow;
use super::super::slots::{Scope, Slots};
use super::dictionary::Dictionary;
use super::hybrid;
use super::known::{Known, NOTHING};

/// What has been pushed since the last page.
#[derive(Default)]
struct Open {
    /// Keys of the dictionary, or yes and no.
    keys: Vec<u32>,
    /// Values that stand for themselves.
    plain: Vec<u8>,
    /// How many items each list has; where values may not be there, 1 for each that is and 0 for each that is not.
    levels: Vec<u32>,
}

/// Pages, one after the other.
struct Pages {
    bytes: TrackedWrite<Vec<u8>>,
    encoder: Encoder,
    /// Without compression.
    size: usize,
}

/// One column of the rows that are pushed.
pub(super) struct Chunk {
    column: Column,
    description: ColumnDescPtr,
    dictionary: Dictionary,
    known: Known,
    open: Open,
    pages: Pages,
    /// How many values are in the pages, those that are not there among them.
    values: usize,
    /// The least and the greatest of counts.
    ends: Option<[u64; 2]>,
}

impl Pages {
    fn new() -> Self {
        Self { bytes: TrackedWrite::new(Vec::new()), encoder: Encoder::new(), size: 0 }
    }

    /// Adds a page with these bytes; how long it is in the file.
    fn add(&mut self, plain: &[u8], page: impl FnOnce(Bytes) -> Page) -> Result<usize> {
        let mut packed = vec![0; max_compress_len(plain.len())];
        let wrong = |error: snap::Error| ParquetError::External(Box::new(error));
        let length = self.encoder.compress(plain, &mut packed).map_err(wrong)?;
        packed.truncate(length);
        let page = CompressedPage::new(page(packed.into()), plain.len());
        let written = SerializedPageWriter::new(&mut self.bytes).write_page(page)?;
        self.size += written.uncompressed_size;
        Ok(usize::try_from(written.bytes_written)?)
    }
}

impl Chunk {
    pub(super) fn new(column: Column, description: ColumnDescPtr) -> Self {
        Self {
            column,
            description,
            dictionary: Dictionary::default(),
            known: Known::default(),
            open: Open::default(),
            pages: Pages::new(),
            values: 0,
            ends: None,
        }
    }

    /// Slots mean something else from now on.
    pub(super) fn forget(&mut self, scope: Scope) {
        if scope == Scope::Rows || self.column.scope() == scope {
            self.known.forget();
        }
    }

    /// Takes a value in.
    #[inline]
    pub(super) fn push(&mut self, row: &CensusRow<'_>) {
        match row.slots(self.column) {
            Slots::One(slot) => {
                let key = self.key(slot, row, 0);
                if self.is_maybe() {
                    self.open.levels.push(u32::from(key != NOTHING));
                    if key == NOTHING {
                        return;
                    }
                }
                self.open.keys.push(key);
            }
            Slots::Parts(parts) => {
                let before = self.open.keys.len();
                for (nth, slot) in parts.iter().enumerate() {
                    match self.known.part(nth, *slot) {
                        Some(keys) => self.open.keys.extend_from_slice(keys),
                        None => self.learn_part(*slot, row, nth),
                    }
                }
                self.open.levels.push((self.open.keys.len() - before) as u32);
            }
            Slots::Rules(places) => {
                for (nth, place) in places.iter().enumerate() {
                    let key = self.key(usize::from(*place), row, nth);
                    self.open.keys.push(key);
                }
                self.open.levels.push(places.len() as u32);
            }
            Slots::Own => match row.value(self.column) {
                Value::Count(count) => {
                    let [least, greatest] = self.ends.unwrap_or([count; 2]);
                    self.ends = Some([least.min(count), greatest.max(count)]);
                    self.open.plain.extend_from_slice(&count.to_le_bytes());
                }
                Value::Measure(measure) => self.open.plain.extend_from_slice(&measure.to_le_bytes()),
                Value::Truth(truth) => self.open.keys.push(truth.into()),
                // What is looked up has slots.
                _ => {}
            },
        }
    }

    /// The key of the row's value, of a list of one in it.
    #[inline]
    fn key(&mut self, slot: usize, row: &CensusRow<'_>, nth: usize) -> u32 {
        match self.known.key(slot) {
            Some(key) => key,
            None => self.learn(slot, row, nth),
        }
    }

    #[cold]
    fn learn(&mut self, slot: usize, row: &CensusRow<'_>, nth: usize) -> u32 {
        let dictionary = &mut self.dictionary;
        let key = match row.value(self.column) {
            Value::Text(text) | Value::MaybeText(Some(text)) => dictionary.key_of_text(text),
            Value::Texts(texts) => texts.iter().nth(nth).map_or(NOTHING, |text| dictionary.key_of_text(text)),
            Value::Number(number) => dictionary.key_of(&number.to_le_bytes()),
            Value::Measure(measure) => dictionary.key_of(&measure.to_le_bytes()),
            Value::MaybeText(None) | Value::Count(_) | Value::Truth(_) | Value::Keys(_) => NOTHING,
        };
        self.known.learn(slot, key);
        key
    }

    #[cold]
    fn learn_part(&mut self, slot: usize, row: &CensusRow<'_>, nth: usize) {
        let dictionary = &mut self.dictionary;
        let keys: SmallVec<[u32; 8]> = match row.value(self.column) {
            Value::Keys(parts) => {
                let part = parts.get(nth).copied().unwrap_or_default();
                part.iter().map(|number| dictionary.key_of_small(*number)).collect()
            }
            Value::Texts(texts) => {
                texts.0.of_hand(nth).iter().map(|text| dictionary.key_of_text(text)).collect()
            }
            _ => SmallVec::new(),
        };
        self.open.keys.extend_from_slice(&keys);
        self.known.learn_part(nth, slot, keys);
    }

    fn is_maybe(&self) -> bool {
        self.column.column_type() == ColumnType::MaybeText
    }

    /// Whether values are looked up.
    fn has_dictionary(&self) -> bool {
        self.column.scope() != Scope::Row
    }

    /// Writes what has been pushed since the last page, so many rows, as a page.
    pub(super) fn end_page(&mut self, rows: usize) -> Result<()> {
        let mut plain = Vec::new();
        let Open { levels, .. } = &self.open;
        let values = match self.column.column_type() {
            ColumnType::Keys | ColumnType::Texts => {
                put_sized(&mut plain, |into| hybrid::put_repeats(levels, into));
                put_sized(&mut plain, |into| hybrid::put_defined(levels, into));
                // A list without items takes a place too.
                levels.iter().map(|count| (*count).max(1) as usize).sum()
            }
            ColumnType::MaybeText => {
                put_sized(&mut plain, |into| hybrid::put(levels, 1, into));
                rows
            }
            _ => rows,
        };
        let keys = &self.open.keys;
        let encoding = if self.has_dictionary() {
            let bits = hybrid::bits_for(self.dictionary.len());
            plain.push(bits);
            hybrid::put(keys, bits, &mut plain);
            Encoding::RLE_DICTIONARY
        } else {
            let (packs, rest) = keys.as_chunks();
            hybrid::pack(packs, rest, 1, &mut plain);
            plain.extend_from_slice(&self.open.plain);
            Encoding::PLAIN
        };
        self.pages.add(&plain, |buf| Page::DataPage {
            buf,
            num_values: values as u32,
            encoding,
            def_level_encoding: Encoding::RLE,
            rep_level_encoding: Encoding::RLE,
            statistics: None,
        })?;
        self.values += values;
        let Open { keys, plain, levels } = &mut self.open;
        [keys, levels].into_iter().for_each(Vec::clear);
        plain.clear();
        Ok(())
    }

    /// All pages, and what is to be known of them; nothing is left.
    pub(super) fn end(&mut self, rows: usize) -> Result<(Bytes, ColumnCloseResult)> {
        let mut all = Pages::new();
        let mut length = 0;
        let has_dictionary = self.has_dictionary();
        if has_dictionary {
            let count = self.dictionary.len() as u32;
            let page = |buf| Page::DictionaryPage {
                buf,
                num_values: count,
                encoding: Encoding::PLAIN,
                is_sorted: false,
            };
            length = all.add(self.dictionary.plain(), page)?;
        }
        let pages = std::mem::replace(&mut self.pages, Pages::new());
        let size = all.size + pages.size;
        let mut bytes = all.bytes.into_inner()?;
        bytes.extend(pages.bytes.into_inner()?);
        let keys = has_dictionary.then_some(Encoding::RLE_DICTIONARY);
        let of_counts = self.ends.map(|[least, greatest]| {
            let [least, greatest] = [least, greatest].map(|count| i64::try_from(count).ok());
            Statistics::int64(least, greatest, None, Some(0), false)
        });
        let mut metadata = ColumnChunkMetaData::builder(self.description.clone())
            .set_encodings([Encoding::PLAIN, Encoding::RLE].into_iter().chain(keys).collect())
            .set_compression(Compression::SNAPPY)
            .set_num_values(i64::try_from(self.values)?)
            .set_total_compressed_size(i64::try_from(bytes.len())?)
            .set_total_uncompressed_size(i64::try_from(size)?)
            .set_data_page_offset(i64::try_from(length)?)
            .set_dictionary_page_offset(has_dictionary.then_some(0));
        if let Some(of_counts) = of_counts {
            metadata = metadata.set_statistics(of_counts);
        }
        let close = ColumnCloseResult {
            bytes_written: bytes.len() as u64,
            rows_written: rows as u64,
            metadata: metadata.build()?,
            bloom_filter: None,
            column_index: None,
            offset_index: None,
        };
        self.dictionary.clear();
        self.forget(Scope::Rows);
        (self.values, self.ends) = (0, None);
        Ok((bytes.into(), close))
    }
}

/// Puts something with its length before it, in four bytes.
fn put_sized(into: &mut Vec<u8>, put: impl FnOnce(&mut Vec<u8>)) {
    let start = into.len();
    into.extend([0; 4]);
    put(into);
    let length = (into.len() - start - 4) as u32;
    into.iter_mut().skip(start).zip(length.to_le_bytes()).for_each(|(to, byte)| *to = byte);
}
