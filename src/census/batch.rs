//! Rows as record batches of Apache Arrow.

use std::collections::HashMap;
use std::ops::{ControlFlow, Range};
use std::sync::Arc;

use arrow_array::builder::{
    BooleanBuilder, Float64Builder, ListBuilder, StringBuilder, UInt8Builder, UInt32Builder, UInt64Builder,
};
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{DataType, Field, Schema};

use super::columns::{Column, ColumnType, Value};
use super::numbering::wrong;
use super::row::{CensusRow, CensusRows};
use crate::error::Result;

/// Something that takes values of one column.
enum Builder {
    Count(UInt64Builder),
    Number(UInt32Builder),
    Measure(Float64Builder),
    Truth(BooleanBuilder),
    Text(StringBuilder),
    Keys(ListBuilder<UInt8Builder>),
    Texts(ListBuilder<StringBuilder>),
}

/// The items of a list, none of them null.
fn item(data_type: DataType) -> Field {
    Field::new_list_field(data_type, false)
}

impl Column {
    /// The field of Apache Arrow: name, type, and unit and meaning as metadata.
    pub fn arrow_field(self) -> Field {
        let list = |data_type| DataType::List(Arc::new(item(data_type)));
        let data_type = match self.column_type() {
            ColumnType::Count => DataType::UInt64,
            ColumnType::Number => DataType::UInt32,
            ColumnType::Measure => DataType::Float64,
            ColumnType::Truth => DataType::Boolean,
            ColumnType::Text | ColumnType::MaybeText => DataType::Utf8,
            ColumnType::Keys => list(DataType::UInt8),
            ColumnType::Texts => list(DataType::Utf8),
        };
        let about = [("unit", self.unit()), ("meaning", self.meaning())];
        let about = about.into_iter().filter(|(_, text)| !text.is_empty());
        let about: HashMap<String, String> = about.map(|(k, v)| (k.to_owned(), v.to_owned())).collect();
        Field::new(self.name(), data_type, self.column_type() == ColumnType::MaybeText).with_metadata(about)
    }

    /// The schema of some columns.
    pub fn arrow_schema(columns: &[Self]) -> Schema {
        Schema::new(columns.iter().map(|column| column.arrow_field()).collect::<Vec<_>>())
    }

    fn builder(self, rows: usize) -> Builder {
        let texts = || StringBuilder::with_capacity(rows, rows * 8);
        match self.column_type() {
            ColumnType::Count => Builder::Count(UInt64Builder::with_capacity(rows)),
            ColumnType::Number => Builder::Number(UInt32Builder::with_capacity(rows)),
            ColumnType::Measure => Builder::Measure(Float64Builder::with_capacity(rows)),
            ColumnType::Truth => Builder::Truth(BooleanBuilder::with_capacity(rows)),
            ColumnType::Text | ColumnType::MaybeText => Builder::Text(texts()),
            ColumnType::Keys => {
                let items = UInt8Builder::with_capacity(rows * 6);
                Builder::Keys(ListBuilder::with_capacity(items, rows).with_field(item(DataType::UInt8)))
            }
            ColumnType::Texts => {
                Builder::Texts(ListBuilder::with_capacity(texts(), rows).with_field(item(DataType::Utf8)))
            }
        }
    }
}

impl Builder {
    fn push(&mut self, value: Value<'_>) {
        match (self, value) {
            (Self::Count(builder), Value::Count(count)) => builder.append_value(count),
            (Self::Number(builder), Value::Number(number)) => builder.append_value(number),
            (Self::Measure(builder), Value::Measure(measure)) => builder.append_value(measure),
            (Self::Truth(builder), Value::Truth(truth)) => builder.append_value(truth),
            (Self::Text(builder), Value::Text(text)) => builder.append_value(text),
            (Self::Text(builder), Value::MaybeText(text)) => builder.append_option(text),
            (Self::Keys(builder), Value::Keys(keys)) => {
                keys.iter().for_each(|keys| builder.values().append_slice(keys));
                builder.append(true);
            }
            (Self::Texts(builder), Value::Texts(texts)) => {
                texts.iter().for_each(|text| builder.values().append_value(text));
                builder.append(true);
            }
            // A column has one type; a value of another would leave the column too short, which the batch refuses.
            _ => {}
        }
    }

    fn finish(mut self) -> ArrayRef {
        match &mut self {
            Self::Count(builder) => Arc::new(builder.finish()),
            Self::Number(builder) => Arc::new(builder.finish()),
            Self::Measure(builder) => Arc::new(builder.finish()),
            Self::Truth(builder) => Arc::new(builder.finish()),
            Self::Text(builder) => Arc::new(builder.finish()),
            Self::Keys(builder) => Arc::new(builder.finish()),
            Self::Texts(builder) => Arc::new(builder.finish()),
        }
    }
}

/// Rows gathered until they are a record batch of Apache Arrow.
///
/// # Example
///
/// ```
/// use overshell::census::{Census, CensusBatch, CensusRows, CensusSpace, Column};
/// use overshell::rules::RuleSet;
/// use std::ops::ControlFlow;
///
/// let census = Census::new(CensusSpace::usual())?;
/// let mut batch = CensusBatch::new(&[Column::Index, Column::Verdict], 100);
/// CensusRows::new(&census, RuleSet::standard()).visit(0..100, |row| {
///     batch.push(row);
///     ControlFlow::<()>::Continue(())
/// })?;
/// assert_eq!(batch.finish()?.num_rows(), 100);
/// assert!(batch.is_empty());
/// # Ok::<(), overshell::Error>(())
/// ```
pub struct CensusBatch {
    columns: Vec<Column>,
    builders: Vec<Builder>,
    rows: usize,
    room: usize,
}

impl std::fmt::Debug for CensusBatch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("CensusBatch")
            .field("columns", &self.columns)
            .field("rows", &self.rows)
            .finish_non_exhaustive()
    }
}

impl CensusBatch {
    /// Room for so many rows with these columns; more rows find room too.
    pub fn new(columns: &[Column], room: usize) -> Self {
        let columns = columns.to_vec();
        let builders = columns.iter().map(|column| column.builder(room)).collect();
        Self { columns, builders, rows: 0, room }
    }

    /// Takes a row in. Only what the columns say is found out.
    pub fn push(&mut self, row: &CensusRow<'_>) {
        for (builder, column) in self.builders.iter_mut().zip(&self.columns) {
            builder.push(row.value(*column));
        }
        self.rows += 1;
    }

    /// How many rows are in it.
    pub fn len(&self) -> usize {
        self.rows
    }

    /// Whether no row is in it.
    pub fn is_empty(&self) -> bool {
        self.rows == 0
    }

    /// The rows as a batch; none is left.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) where there is no column, or one stands there twice.
    pub fn finish(&mut self) -> Result<RecordBatch> {
        let fresh = self.columns.iter().map(|column| column.builder(self.room)).collect();
        let builders = std::mem::replace(&mut self.builders, fresh);
        self.rows = 0;
        Column::check_list(&self.columns)?;
        let arrays = builders.into_iter().map(Builder::finish).collect();
        RecordBatch::try_new(Arc::new(Column::arrow_schema(&self.columns)), arrays)
            .map_err(|error| wrong(format!("no record batch: {error}")))
    }
}

impl CensusRows<'_> {
    /// The rows of a range as one record batch, held in memory: ask for some ten thousand at a time.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`](crate::Error::is_range) as [`Census::checked`](super::Census::checked) and [`CensusBatch::finish`] have it.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::census::{Census, CensusRows, CensusSpace, Column};
    /// use overshell::rules::RuleSet;
    ///
    /// let census = Census::new(CensusSpace::usual())?;
    /// let batch = CensusRows::new(&census, RuleSet::standard()).batch(0..500, Column::ALL)?;
    /// assert_eq!((batch.num_rows(), batch.num_columns()), (500, Column::ALL.len()));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn batch(&self, range: Range<u64>, columns: &[Column]) -> Result<RecordBatch> {
        let rows = usize::try_from(range.end.saturating_sub(range.start)).unwrap_or(usize::MAX);
        // A range that is refused below needs no room.
        let mut batch = CensusBatch::new(columns, rows.min(1 << 16));
        let _ = self.visit(range, |row| {
            batch.push(row);
            ControlFlow::<()>::Continue(())
        })?;
        batch.finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::census::{Census, CensusSpace};
    use crate::rules::RuleSet;
    use arrow_array::Array;
    use arrow_array::cast::AsArray;
    use arrow_array::types::{Float64Type, UInt8Type, UInt32Type, UInt64Type};

    /// A cell as the row prints it.
    fn cell(array: &ArrayRef, at: usize) -> String {
        let list =
            |values: ArrayRef| (0..values.len()).map(|at| cell(&values, at)).collect::<Vec<_>>().join(" ");
        match array.data_type() {
            DataType::UInt64 => array.as_primitive::<UInt64Type>().value(at).to_string(),
            DataType::UInt32 => array.as_primitive::<UInt32Type>().value(at).to_string(),
            DataType::UInt8 => array.as_primitive::<UInt8Type>().value(at).to_string(),
            DataType::Float64 => array.as_primitive::<Float64Type>().value(at).to_string(),
            DataType::Boolean => array.as_boolean().value(at).to_string(),
            DataType::Utf8 if array.is_null(at) => String::new(),
            DataType::Utf8 => array.as_string::<i32>().value(at).to_owned(),
            _ => list(array.as_list::<i32>().value(at)),
        }
    }

    #[test]
    fn ok_batches_say_what_rows_say() {
        let census = Census::new(CensusSpace::usual()).unwrap();
        let rows = CensusRows::new(&census, RuleSet::standard());
        let range = 700_000..701_500;
        let batch = rows.batch(range.clone(), Column::ALL).unwrap();
        let mut at = 0;
        let all = rows.visit(range, |row| {
            for (column, array) in Column::ALL.iter().zip(batch.columns()) {
                assert_eq!(cell(array, at), row.value(*column).to_string(), "{column}");
            }
            at += 1;
            ControlFlow::<()>::Continue(())
        });
        assert!(all.unwrap().is_continue());
        assert_eq!(at, batch.num_rows());
        assert!(batch.column_by_name("sounding").unwrap().null_count() > 0);
    }

    #[test]
    fn ok_some_columns_and_none() {
        let census = Census::new(CensusSpace::usual()).unwrap();
        let rows = CensusRows::new(&census, RuleSet::standard());
        let batch = rows.batch(5..9, &[Column::Cost, Column::Index]).unwrap();
        assert_eq!(cell(batch.column(1), 3), "8");
        assert_eq!(rows.batch(5..5, Column::ALL).unwrap().num_rows(), 0);
        assert!(rows.batch(0..4, &[]).unwrap_err().is_range());
        assert!(rows.batch(0..4, &[Column::Cost, Column::Cost]).unwrap_err().to_string().contains("`cost`"));
        assert!(rows.batch(0..u64::MAX, Column::ALL).unwrap_err().is_range());
    }
}
