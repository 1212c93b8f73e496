//! Plans sent to another process: written, read where there is nothing but the rules, and run.

use datafusion_proto::bytes::{
    physical_plan_from_bytes_with_extension_codec, physical_plan_to_bytes_with_extension_codec,
};
use overshell::census::Column;

use super::questions::{FORTE, NEVER_CLASH, ROUGHNESS, two_roots};
use super::*;
use crate::{CensusCodec, ScanDescription, report};

fn plan(context: &SessionContext, sql: &str) -> Arc<dyn ExecutionPlan> {
    wait(async { crate::query(context, sql).await.unwrap().create_physical_plan().await.unwrap() })
}

fn run(context: &SessionContext, plan: Arc<dyn ExecutionPlan>) -> RecordBatch {
    let schema = plan.schema();
    concat_batches(&schema, &wait(collect(plan, context.task_ctx())).unwrap()).unwrap()
}

const FUNCTIONS: &str = "SELECT chord, verdict(chord, 'C3 E3 Bb3 | F#4 A4 D5') AS verdict, sounding(chord, \"left\" || ' | ' || \"right\") \
                         AS sounds FROM census WHERE label IN ('II', 'bVI') AND cost > 10 ORDER BY index";

#[test]
fn ok_shipped_plans_give_the_same_rows() {
    let codec = CensusCodec::new(standard());
    for sql in [
        "SELECT * FROM census WHERE index BETWEEN 100 AND 5000 ORDER BY index",
        "SELECT forte, count(*) FROM census WHERE label = 'II' GROUP BY forte ORDER BY forte",
        FUNCTIONS,
        NEVER_CLASH,
        FORTE,
        ROUGHNESS,
    ] {
        let here = session(two_roots(), 3);
        let sent = plan(&here, sql);
        let bytes = physical_plan_to_bytes_with_extension_codec(Arc::clone(&sent), &codec).unwrap();
        // The other side knows neither the table nor the functions.
        let there = SessionContext::new();
        let read = physical_plan_from_bytes_with_extension_codec(&bytes, &there.task_ctx(), &codec).unwrap();
        assert_eq!(nodes(&read), nodes(&sent));
        assert_eq!(scan_of(&read).unwrap().description(), scan_of(&sent).unwrap().description());
        let (there, here) = (run(&there, read), run(&here, sent));
        assert!(there.num_rows() > 2);
        if sql == ROUGHNESS {
            // Means of sums in another order.
            assert_eq!(there.columns()[..2], here.columns()[..2]);
        } else {
            assert_eq!(there, here, "{sql}");
        }
    }
}

/// A scheduler gives partitions to processes one by one: together they are the whole.
#[test]
fn ok_partitions_can_run_apart() {
    let sql = "SELECT index, chord, rules FROM census WHERE spacing = 'open'";
    let codec = CensusCodec::new(standard());
    let bytes = physical_plan_to_bytes_with_extension_codec(plan(&session(small(), 5), sql), &codec).unwrap();
    let mut parts = Vec::new();
    for partition in 0..5 {
        let there = SessionContext::new();
        let read = physical_plan_from_bytes_with_extension_codec(&bytes, &there.task_ctx(), &codec).unwrap();
        parts.extend(wait(async {
            let stream = read.execute(partition, there.task_ctx()).unwrap();
            datafusion::physical_plan::common::collect(stream).await.unwrap()
        }));
    }
    let whole = answer(&session(small(), 1), &format!("{sql} ORDER BY index"));
    assert_eq!(concat_batches(&whole.schema(), &parts).unwrap().columns(), whole.columns());
}

/// A million rows or ten: what is sent is small.
#[test]
fn ok_descriptions_are_small() {
    let plan =
        plan(&session(CensusSpace::full(), 16), "SELECT chord FROM census WHERE label = 'II' AND index > 77");
    let text = serde_json::to_string(scan_of(&plan).unwrap().description()).unwrap();
    assert!(text.len() < 4_096, "{}", text.len());
    let read: ScanDescription = serde_json::from_str(&text).unwrap();
    assert_eq!(&read, scan_of(&plan).unwrap().description());
}

#[test]
fn err_other_rules() {
    let ours = CensusCodec::new(standard());
    let other = Arc::new(RuleSet::named("first-lessons").unwrap());
    let theirs = CensusCodec::new(Arc::clone(&other));
    for sql in
        ["SELECT cost FROM census", "SELECT verdict('C7', 'C3 | E4') FROM census WHERE index < 3", FUNCTIONS]
    {
        let bytes =
            physical_plan_to_bytes_with_extension_codec(plan(&session(small(), 2), sql), &ours).unwrap();
        let there = SessionContext::new();
        let error = physical_plan_from_bytes_with_extension_codec(&bytes, &there.task_ctx(), &theirs);
        let told = report(&error.unwrap_err());
        for part in
            ["for the rules `standard`", &standard().fingerprint(), "`first-lessons`", &other.fingerprint()]
        {
            assert!(told.contains(part), "{told}");
        }
        assert!(told.ends_with("help: start every process with the same rule files"), "{told}");
    }
}

/// Descriptions that are changed on the way are refused, not run.
#[test]
fn err_descriptions_that_do_not_fit() {
    let (census, rules) = (census(small()), standard());
    let good = ScanDescription {
        census: census.description(&rules),
        filter: Default::default(),
        columns: vec!["cost".to_owned()],
        partitions: vec![vec![0..10]],
    };
    let node = |scan: ScanDescription| CensusExec::new(scan, Arc::clone(&census), Arc::clone(&rules));
    assert_eq!(node(good.clone()).unwrap().schema().as_ref(), &Column::arrow_schema(&[Column::Cost]));
    let mut version = good.clone();
    version.census.version = "0.0.9".to_owned();
    let mut longer = good.clone();
    longer.census.len += 1;
    let mut numbering = good.clone();
    numbering.census.numbering += 1;
    let mut fingerprint = good.clone();
    fingerprint.census.rules.fingerprint = "0".to_owned();
    let column = ScanDescription { columns: vec!["price".to_owned()], ..good.clone() };
    let behind = ScanDescription { partitions: vec![vec![0..census.len() + 1]], ..good.clone() };
    for (scan, says) in [
        (version, "version 0.0.9"),
        (longer, "combinations"),
        (numbering, "numbering"),
        (fingerprint, "the fingerprint `0`"),
        (column, "`price` is not a column"),
        (behind, "ends behind the last"),
    ] {
        let told = report(&node(scan).unwrap_err());
        assert!(told.contains(says) && told.contains("\nhelp: "), "{told}");
    }
    #[expect(clippy::reversed_empty_ranges, reason = "it is to be refused")]
    let reversed = ScanDescription { partitions: vec![vec![9..3]], ..good };
    assert!(report(&node(reversed).unwrap_err()).contains("reversed"));
}

/// Whatever the bytes are, reading them ends in an error or a plan.
#[test]
fn err_broken_bytes() {
    let codec = CensusCodec::new(standard());
    let context = SessionContext::new();
    let task = context.task_ctx();
    let bytes =
        physical_plan_to_bytes_with_extension_codec(plan(&session(small(), 2), FUNCTIONS), &codec).unwrap();
    for end in (0..bytes.len()).step_by(3) {
        let read = physical_plan_from_bytes_with_extension_codec(&bytes[..end], &task, &codec);
        assert!(read.is_err(), "{end} of {}", bytes.len());
    }
    let mut wrong = bytes.to_vec();
    let at = wrong.windows(6).position(|text| text == b"filter").unwrap();
    wrong[at] = b'F';
    let told = report(&physical_plan_from_bytes_with_extension_codec(&wrong, &task, &codec).unwrap_err());
    assert!(told.contains("is no part of a plan of the census"), "{told}");
    // Nodes of others are not ours to write.
    let foreign: Arc<dyn ExecutionPlan> =
        Arc::new(datafusion::physical_plan::empty::EmptyExec::new(Arc::new(Column::arrow_schema(&[]))));
    let converter = datafusion_proto::physical_plan::DefaultPhysicalProtoConverter {};
    use datafusion_proto::physical_plan::PhysicalExtensionCodec;
    assert!(codec.try_encode(foreign, &mut Vec::new(), &converter).is_err());
}
