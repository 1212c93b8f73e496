//! Filters of the engine, asked about one text or one set of numbers instead of about rows.

use std::ops::Range;

use datafusion::logical_expr::{BinaryExpr, Expr, Operator};
use datafusion::scalar::ScalarValue;

use crate::spans::{complement, intersection, union};

/// The one column of which a filter speaks.
pub(crate) fn only_column(filter: &Expr) -> Option<String> {
    let mut columns = filter.column_refs().into_iter();
    let first = columns.next()?;
    columns.next().is_none().then(|| first.name.clone())
}

fn is_column(expr: &Expr) -> bool {
    matches!(expr, Expr::Column(_))
}

/// The column's side of a comparison taken away: the operator as if the column stood on the left, and the other side.
fn compared(of: &BinaryExpr) -> Option<(Operator, &Expr)> {
    match (is_column(&of.left), is_column(&of.right)) {
        (true, false) => Some((of.op, &of.right)),
        (false, true) => Some((of.op.swap()?, &of.left)),
        _ => None,
    }
}

fn text(expr: &Expr) -> Option<&str> {
    match expr {
        Expr::Literal(
            ScalarValue::Utf8(Some(text))
            | ScalarValue::LargeUtf8(Some(text))
            | ScalarValue::Utf8View(Some(text)),
            _,
        ) => Some(text),
        _ => None,
    }
}

/// Whether a filter on one column holds where the column, which is never null, says this text; `None` where the filter asks
/// in any way other than by equality.
pub(crate) fn holds(filter: &Expr, said: &str) -> Option<bool> {
    match filter {
        Expr::BinaryExpr(of) if of.op == Operator::And => {
            holds(&of.left, said).zip(holds(&of.right, said)).map(|(left, right)| left && right)
        }
        Expr::BinaryExpr(of) if of.op == Operator::Or => {
            holds(&of.left, said).zip(holds(&of.right, said)).map(|(left, right)| left || right)
        }
        Expr::BinaryExpr(of) => match compared(of)? {
            (Operator::Eq, other) => Some(text(other)? == said),
            (Operator::NotEq, other) => Some(text(other)? != said),
            _ => None,
        },
        Expr::Not(inner) => holds(inner, said).map(|holds| !holds),
        Expr::InList(list) if is_column(&list.expr) => {
            let texts: Option<Vec<&str>> = list.list.iter().map(text).collect();
            Some(texts?.contains(&said) != list.negated)
        }
        _ => None,
    }
}

fn number(expr: &Expr) -> Option<i128> {
    match expr {
        Expr::Literal(ScalarValue::UInt64(Some(number)), _) => Some((*number).into()),
        Expr::Literal(ScalarValue::UInt32(Some(number)), _) => Some((*number).into()),
        Expr::Literal(ScalarValue::Int64(Some(number)), _) => Some((*number).into()),
        Expr::Literal(ScalarValue::Int32(Some(number)), _) => Some((*number).into()),
        _ => None,
    }
}

/// The numbers from `start` to before `end`, as far as there are any below `len`.
fn span(start: i128, end: i128, len: u64) -> Vec<Range<u64>> {
    let within = |number: i128| u64::try_from(number.clamp(0, len.into())).unwrap_or(len);
    let (start, end) = (within(start), within(end));
    if start < end { vec![start..end] } else { Vec::new() }
}

/// Those of the numbers below `len` for which a filter on the column of numbers holds; `None` where it asks in any way other
/// than by comparing with numbers.
pub(crate) fn numbers(filter: &Expr, len: u64) -> Option<Vec<Range<u64>>> {
    let all = i128::from(len);
    match filter {
        Expr::BinaryExpr(of) if of.op == Operator::And => {
            Some(intersection(&numbers(&of.left, len)?, &numbers(&of.right, len)?))
        }
        Expr::BinaryExpr(of) if of.op == Operator::Or => {
            Some(union(numbers(&of.left, len)?, numbers(&of.right, len)?))
        }
        Expr::BinaryExpr(of) => {
            let (op, other) = compared(of)?;
            let number = number(other)?;
            match op {
                Operator::Eq => Some(span(number, number + 1, len)),
                Operator::NotEq => Some(complement(&span(number, number + 1, len), len)),
                Operator::Lt => Some(span(0, number, len)),
                Operator::LtEq => Some(span(0, number + 1, len)),
                Operator::Gt => Some(span(number + 1, all, len)),
                Operator::GtEq => Some(span(number, all, len)),
                _ => None,
            }
        }
        Expr::Not(inner) => Some(complement(&numbers(inner, len)?, len)),
        Expr::Between(of) if is_column(&of.expr) => {
            let within = span(number(&of.low)?, number(&of.high)? + 1, len);
            Some(if of.negated { complement(&within, len) } else { within })
        }
        Expr::InList(list) if is_column(&list.expr) => {
            let mut within = Vec::new();
            for item in &list.list {
                let number = number(item)?;
                within = union(within, span(number, number + 1, len));
            }
            Some(if list.negated { complement(&within, len) } else { within })
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use datafusion::prelude::{col, lit};

    /// Each filter with what it is by hand.
    #[test]
    fn all_forms_about_texts() {
        let label = || col("label");
        let either = || vec![lit("I"), lit("II")];
        for (filter, admitted) in [
            (label().eq(lit("I")), vec!["I"]),
            (lit("I").eq(label()), vec!["I"]),
            (label().not_eq(lit("I")), vec!["II", "V"]),
            (label().in_list(either(), false), vec!["I", "II"]),
            (label().in_list(either(), true), vec!["V"]),
            (label().eq(lit("I")).or(label().eq(lit("V"))), vec!["I", "V"]),
            (label().in_list(either(), false).and(label().not_eq(lit("I"))), vec!["II"]),
            (Expr::Not(Box::new(label().eq(lit("I")))), vec!["II", "V"]),
            (label().eq(lit("i")), vec![]),
        ] {
            let all = ["I", "II", "V"].into_iter().filter(|said| holds(&filter, said) == Some(true));
            assert_eq!(all.collect::<Vec<_>>(), admitted, "{filter}");
            assert_eq!(only_column(&filter).as_deref(), Some("label"));
        }
    }

    #[test]
    fn all_forms_about_numbers() {
        let index = || col("index");
        for (filter, admitted) in [
            (index().eq(lit(3u64)), vec![3..4]),
            (index().eq(lit(99u64)), vec![]),
            (index().not_eq(lit(3u64)), vec![0..3, 4..10]),
            (index().lt(lit(3u64)), vec![0..3]),
            (index().lt(lit(-3i64)), vec![]),
            (index().gt(lit(-3i64)), vec![0..10]),
            (index().lt_eq(lit(3i32)), vec![0..4]),
            (index().gt(lit(7u32)), vec![8..10]),
            (lit(7u64).lt(index()), vec![8..10]),
            (index().gt_eq(lit(u64::MAX)), vec![]),
            (index().lt_eq(lit(u64::MAX)), vec![0..10]),
            (index().between(lit(2u64), lit(4u64)), vec![2..5]),
            (index().not_between(lit(2u64), lit(4u64)), vec![0..2, 5..10]),
            (index().between(lit(4u64), lit(2u64)), vec![]),
            (index().in_list(vec![lit(4u64), lit(2u64), lit(3u64)], false), vec![2..5]),
            (index().in_list(vec![lit(4u64)], true), vec![0..4, 5..10]),
            (index().lt(lit(2u64)).or(index().gt(lit(8u64))), vec![0..2, 9..10]),
            (index().lt(lit(5u64)).and(index().gt(lit(3u64))), vec![4..5]),
            (Expr::Not(Box::new(index().lt(lit(5u64)))), vec![5..10]),
        ] {
            assert_eq!(numbers(&filter, 10), Some(admitted), "{filter}");
        }
    }

    /// What is not understood is left to the engine, wherever it stands.
    #[test]
    fn ok_other_filters_are_left_alone() {
        let label = || col("label");
        for filter in [
            label().like(lit("I%")),
            label().gt(lit("I")),
            label().is_null(),
            label().eq(lit(ScalarValue::Utf8(None))),
            label().in_list(vec![lit("I"), lit(ScalarValue::Utf8(None))], true),
            label().eq(lit("I")).or(label().like(lit("V%"))),
            label().eq(lit("I")).and(label().like(lit("V%"))),
            Expr::Not(Box::new(label().like(lit("V%")))),
            label().eq(label()),
        ] {
            assert_eq!(holds(&filter, "I"), None, "{filter}");
        }
        for filter in
            [col("index").eq(lit(0.5)), (col("index") + lit(1u64)).eq(lit(3u64)), col("index").is_null()]
        {
            assert_eq!(numbers(&filter, 10), None, "{filter}");
        }
        assert_eq!(only_column(&label().eq(col("root"))), None);
        assert_eq!(only_column(&lit(true)), None);
    }
}
