//! Rows that become record batches, column by column.
//!
//! The library makes batches of one range each. Here rows of many ranges stand in one batch, so the columns are filled
//! row by row.

use datafusion::arrow::array::builder::{
    BooleanBuilder, Float64Builder, ListBuilder, StringBuilder, UInt8Builder, UInt32Builder, UInt64Builder,
};
use datafusion::arrow::array::{ArrayRef, RecordBatch, RecordBatchOptions};
use datafusion::arrow::datatypes::{DataType, Field, SchemaRef};
use datafusion::error::Result;
use overshell::census::{CensusRow, Column, ColumnType, Value};
use std::sync::Arc;

/// Something that takes the values of one column.
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

impl Builder {
    fn new(column: Column) -> Self {
        match column.column_type() {
            ColumnType::Count => Self::Count(UInt64Builder::new()),
            ColumnType::Number => Self::Number(UInt32Builder::new()),
            ColumnType::Measure => Self::Measure(Float64Builder::new()),
            ColumnType::Truth => Self::Truth(BooleanBuilder::new()),
            ColumnType::Text | ColumnType::MaybeText => Self::Text(StringBuilder::new()),
            ColumnType::Keys => {
                Self::Keys(ListBuilder::new(UInt8Builder::new()).with_field(item(DataType::UInt8)))
            }
            ColumnType::Texts => {
                Self::Texts(ListBuilder::new(StringBuilder::new()).with_field(item(DataType::Utf8)))
            }
        }
    }

    fn push(&mut self, value: Value<'_>) {
        match (self, value) {
            (Self::Count(builder), Value::Count(count)) => builder.append_value(count),
            (Self::Number(builder), Value::Number(number)) => builder.append_value(number),
            (Self::Measure(builder), Value::Measure(measure)) => builder.append_value(measure),
            (Self::Truth(builder), Value::Truth(truth)) => builder.append_value(truth),
            (Self::Text(builder), Value::Text(text)) => builder.append_value(text),
            (Self::Text(builder), Value::MaybeText(text)) => builder.append_option(text),
            (Self::Keys(builder), Value::Keys(keys)) => {
                builder.values().append_slice(&keys);
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

    /// What was taken, after which it is empty again.
    fn finish(&mut self) -> ArrayRef {
        match self {
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

/// A record batch being filled.
pub(crate) struct Filler {
    schema: SchemaRef,
    columns: Vec<(Column, Builder)>,
    rows: usize,
}

impl Filler {
    /// For these columns, which are those of the schema.
    pub(crate) fn new(schema: SchemaRef, columns: &[Column]) -> Self {
        let columns = columns.iter().map(|column| (*column, Builder::new(*column))).collect();
        Self { schema, columns, rows: 0 }
    }

    pub(crate) fn push(&mut self, row: &CensusRow<'_>) {
        for (column, builder) in &mut self.columns {
            builder.push(row.value(*column));
        }
        self.rows += 1;
    }

    /// Rows taken since the last batch.
    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// The rows taken so far, after which it is empty again.
    pub(crate) fn batch(&mut self) -> Result<RecordBatch> {
        let arrays = self.columns.iter_mut().map(|(_, builder)| builder.finish()).collect();
        let options = RecordBatchOptions::new().with_row_count(Some(std::mem::take(&mut self.rows)));
        Ok(RecordBatch::try_new_with_options(Arc::clone(&self.schema), arrays, &options)?)
    }
}
