//! Rows, columns, filters and limits.

use std::ops::ControlFlow;

use datafusion::arrow::array::RecordBatch;
use datafusion::datasource::MemTable;
use datafusion::physical_plan::ExecutionPlan;
use overshell::census::{CensusRows, Column};

use super::*;

fn direct(space: CensusSpace) -> RecordBatch {
    let census = census(space);
    CensusRows::new(&census, RuleSet::standard()).batch(0..census.len(), Column::ALL).unwrap()
}

/// All columns of all rows, as the library says them, in whatever number of partitions and in batches of whatever length.
#[test]
fn all_rows_are_those_of_the_library() {
    let direct = direct(small());
    for partitions in [1, 3, 16] {
        let context = session(small(), partitions);
        let (batch, plan) = ask(&context, "SELECT * FROM census ORDER BY index").unwrap();
        assert_eq!(batch, direct, "{partitions}");
        let scan = scan_of(&plan).unwrap();
        assert_eq!(scan.description().partitions.len(), partitions);
        assert_eq!(work(&plan), (direct.num_rows(), direct.num_rows()));
        // Each partition gives its share.
        let metrics = scan.metrics().unwrap();
        let shares = metrics.iter().filter(|metric| metric.value().name() == "output_rows");
        let shares: Vec<usize> = shares.map(|metric| metric.value().as_usize()).collect();
        assert_eq!(shares.len(), partitions);
        assert!(shares.iter().max().unwrap() - shares.iter().min().unwrap() <= 1, "{shares:?}");
        // Partitions are in order already.
        assert!(!nodes(&plan).iter().any(|node| node.contains("SortExec")), "{:?}", nodes(&plan));
    }
    for length in [1, 7, 624] {
        let context = session(small(), 2);
        let sql = format!("SET datafusion.execution.batch_size = {length}");
        wait(context.sql(&sql)).unwrap();
        let batch = answer(&context, "SELECT * FROM census WHERE index < 2000 ORDER BY index");
        assert_eq!(batch, direct.slice(0, 2_000), "{length}");
    }
}

/// A table of the same rows that were computed before; the engine filters it by itself.
fn stored() -> SessionContext {
    let batch = direct(small());
    let context = SessionContext::new();
    let table = MemTable::try_new(batch.schema(), vec![vec![batch]]).unwrap();
    context.register_table("census", Arc::new(table)).unwrap();
    context
}

/// Filters with how many rows may leave the census and how many may be looked at for them, where that is known.
#[test]
fn all_filters_skip_and_agree_with_a_plain_scan() {
    let stored = stored();
    let len = census(small()).len() as usize;
    // To each left hand 52 triads in three inversions and two spacings.
    let left = 52 * 6;
    for (filter, exact, seen) in [
        ("index = 5", true, 1),
        ("index BETWEEN 100 AND 199", true, 100),
        ("index NOT BETWEEN 100 AND 10000", true, len - 9_901),
        ("index < 10 OR index >= 30000", true, len - 30_000 + 10),
        ("index IN (1, 2, 20000)", true, 3),
        ("7 > index", true, 7),
        // The engine compares with numbers below zero in another type, and so keeps that part to itself.
        ("index > -1 AND index < 3", false, 3),
        ("root = 'Eb'", true, len / 2),
        ("root <> 'Eb'", true, len / 2),
        ("quality = 'C7'", true, 2 * 20 * left),
        ("quality IN ('C7', 'Cm7', 'Cdim7')", true, 4 * 20 * left),
        ("family = 'dominant'", true, 2 * 20 * left),
        ("family IN ('dominant', 'minor') AND root = 'C'", true, 2 * 20 * left),
        ("chord = 'Eb7'", true, 20 * left),
        ("chord IN ('Eb7', 'Cm7')", false, 4 * 20 * left),
        ("shell = '1 3 7'", true, 6 * 2 * left),
        ("shell NOT IN ('1', '1 5')", true, len),
        ("label = 'II'", true, len),
        ("label IN ('II', 'bVI', 'V', 'I', 'IV')", true, len),
        ("label = 'II' AND inversion = 'first' AND spacing = 'open' AND root = 'C'", true, len / 2),
        ("inversion <> 'root'", true, len),
        ("spacing = 'close'", true, len),
        ("spacing = 'close' AND verdict = 'clash'", false, len),
        ("verdict = 'colour'", false, len),
        ("label LIKE '%II'", false, len),
        ("root = 'C' OR label = 'II'", false, len),
        ("root = 'H'", true, 0),
        ("root = NULL", true, 0),
        ("root = 'C' AND root = 'Eb'", true, 0),
        ("NOT (root = 'C')", true, len / 2),
        ("cost > 40 AND quality = 'Cm7'", false, 2 * 20 * left),
        ("reachable", false, len),
        ("sounding IS NULL", false, len),
    ] {
        let sql = format!("SELECT * FROM census WHERE {filter} ORDER BY index");
        let plain = answer(&stored, &sql);
        for partitions in [1, 3] {
            let context = session(small(), partitions);
            let (batch, plan) = ask(&context, &sql).unwrap();
            assert_eq!(batch.columns(), plain.columns(), "{filter}");
            if scan_of(&plan).is_none() {
                assert!(seen == 0 && plain.num_rows() == 0, "{filter}");
                continue;
            }
            let (given, looked_at) = work(&plan);
            assert!(looked_at <= seen && given <= looked_at, "{filter}: {given} {looked_at}");
            let filtered = nodes(&plan).contains(&"FilterExec");
            assert_eq!(filtered, !exact, "{filter}: {:?}", nodes(&plan));
            if exact {
                assert_eq!(given, plain.num_rows(), "{filter}");
            }
        }
    }
}

/// Every value of every column that filters ask for: the counts are those of the rows that say it.
#[test]
fn all_values_that_filters_skip_by() {
    let context = session(small(), 2);
    for column in ["root", "quality", "family", "chord", "shell", "label", "inversion", "spacing"] {
        // Grouped by what rows say, counted by what filters leave.
        let groups =
            answer(&context, &format!("SELECT {column}, count(index) FROM census GROUP BY {column}"));
        let groups = cells(&groups);
        assert!(groups.len() > 1);
        for group in groups {
            let sql = format!("SELECT count(*) FROM census WHERE {column} = '{}'", group[0]);
            let (count, plan) = ask(&context, &sql).unwrap();
            assert_eq!(cells(&count)[0][0], group[1], "{sql}");
            // Known without a look at the rows.
            assert!(scan_of(&plan).is_none(), "{sql}: {:?}", nodes(&plan));
        }
    }
}

#[test]
fn ok_only_the_columns_asked_for() {
    let context = session(small(), 2);
    let columns = |sql: &str| {
        let (batch, plan) = ask(&context, sql).unwrap();
        (batch.num_rows(), scan_of(&plan).unwrap().description().columns.clone())
    };
    assert_eq!(
        columns("SELECT cost, chord FROM census WHERE index < 9"),
        (9, vec!["chord".to_owned(), "cost".to_owned()])
    );
    assert_eq!(columns("SELECT max(cost) FROM census WHERE label = 'V'").1, ["cost"]);
    // Rows without columns need not be computed.
    let (batch, plan) = ask(&context, "SELECT 1 FROM census WHERE label = 'V'").unwrap();
    assert!(scan_of(&plan).unwrap().description().columns.is_empty());
    assert_eq!(batch.num_rows() as u64, census(small()).len() / 52);
    assert_eq!(work(&plan), (batch.num_rows(), 0));
}

#[test]
fn ok_limits_compute_no_more() {
    let context = session(small(), 3);
    for (sql, rows, most) in [
        ("SELECT chord, label FROM census LIMIT 5", 5, 5),
        ("SELECT chord FROM census LIMIT 5 OFFSET 7", 5, 12),
        ("SELECT chord FROM census WHERE root = 'Eb' AND label = 'V' LIMIT 8", 8, 1_024),
        ("SELECT chord FROM census LIMIT 0", 0, 0),
    ] {
        let (batch, plan) = ask(&context, sql).unwrap();
        assert_eq!(batch.num_rows(), rows, "{sql}");
        if scan_of(&plan).is_some() {
            let (given, seen) = work(&plan);
            assert!(given <= most && seen <= most, "{sql}: {given} {seen}");
        }
    }
    // A filter that needs a look at the rows: the census stops when the engine has enough.
    let context = session(CensusSpace::usual(), 1);
    let (batch, plan) = ask(&context, "SELECT index FROM census WHERE verdict = 'clash' LIMIT 3").unwrap();
    assert_eq!(batch.num_rows(), 3);
    assert!(work(&plan).1 < 100_000 && census(CensusSpace::usual()).len() > 700_000, "{:?}", work(&plan));
}

/// The engine knows the number of rows without computing any.
#[test]
fn ok_the_number_of_rows_is_known() {
    let len = census(CensusSpace::full()).len();
    let context = session(CensusSpace::full(), 2);
    for (filter, count) in
        [("", len), (" WHERE label = 'II'", len / 52), (" WHERE index >= 1000", len - 1_000)]
    {
        let (batch, plan) = ask(&context, &format!("SELECT count(*) FROM census{filter}")).unwrap();
        assert_eq!(cells(&batch), [[count.to_string()]]);
        assert!(scan_of(&plan).is_none());
    }
}

/// Rows that nobody asked for are not looked at where many lie between.
#[test]
fn ok_far_parts_are_skipped() {
    let context = session(CensusSpace::usual(), 2);
    let (batch, plan) =
        ask(&context, "SELECT label FROM census WHERE chord = 'F7' AND label = 'II'").unwrap();
    // A dominant has ten shells in two octaves, the triad six forms over each.
    assert_eq!(batch.num_rows(), 20 * 6);
    let (given, seen) = work(&plan);
    assert!(given == 120 && seen <= 20 * 52 * 6, "{given} {seen}");
}

/// A plan can be run twice, and half.
#[test]
fn ok_plans_can_be_left_half_way() {
    use futures::StreamExt;
    let context = session(CensusSpace::usual(), 1);
    wait(async {
        let frame = crate::query(&context, "SELECT midi FROM census").await.unwrap();
        let plan = frame.create_physical_plan().await.unwrap();
        let scan = Arc::clone(&plan);
        for _ in 0..2 {
            let mut stream = scan.execute(0, context.task_ctx()).unwrap();
            let batch = stream.next().await.unwrap().unwrap();
            assert_eq!(batch.num_rows(), 8_192);
        }
        assert!(scan.execute(7, context.task_ctx()).is_err());
    });
}

/// What is looked at is what the library visits.
#[test]
fn ok_seen_rows_are_visited_rows() {
    let census = census(small());
    let mut visited = 0;
    let rows = CensusRows::new(&census, RuleSet::standard());
    let all = rows.visit(0..census.len(), |_| {
        visited += 1;
        ControlFlow::<()>::Continue(())
    });
    assert!(all.unwrap().is_continue());
    let (_, plan) = ask(&session(small(), 2), "SELECT cost FROM census").unwrap();
    assert_eq!(work(&plan), (visited, visited));
}
