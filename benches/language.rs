//! How fast sets and sounding keys are named and symbols are read, each against a plain twin that must give the same answers.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::panic,
    reason = "benches"
)]

mod plain;

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use overshell::chord::{ChordSymbol, NamingOptions, Reading, readings};
use overshell::pitch::{PitchSet, SetClass};
use plain::set::{Names, from_left, from_right, members};
use plain::symbol::Plain;

/// Two ways to one answer over all 4,096 sets; what the answers add up to is asserted.
fn over_all_sets(c: &mut Criterion, id: &str, table: impl Fn(PitchSet) -> u64, plain: impl Fn(&[u8]) -> u64) {
    let sets = plain::set::shuffled();
    let lists: Vec<Vec<u8>> = sets.iter().map(|set| members(*set)).collect();
    for (set, list) in sets.iter().zip(&lists) {
        assert_eq!(table(*set), plain(list), "{id} {set}");
    }
    let sum = sets.iter().map(|set| table(*set)).sum::<u64>();
    let mut group = c.benchmark_group(format!("set/{id}/4096"));
    group.throughput(Throughput::Elements(4096));
    group.bench_function("table", |b| {
        b.iter(|| assert_eq!(sets.iter().map(|set| table(black_box(*set))).sum::<u64>(), sum));
    });
    // Each lookup waits for the answer of the one before, which chooses the set.
    let chain = || (0..4096).fold(0, |answer, step| table(sets[((answer + step) % 4096) as usize]));
    let last = chain();
    group.bench_function("table-one-by-one", |b| b.iter(|| assert_eq!(black_box(&chain)(), last)));
    group.sample_size(10);
    group.bench_function("plain", |b| {
        b.iter(|| assert_eq!(lists.iter().map(|list| plain(black_box(list))).sum::<u64>(), sum));
    });
    group.finish();
}

fn bits_of(classes: &[u8]) -> u64 {
    classes.iter().map(|n| 1 << n).sum()
}

/// A number for a name of three to six letters that no other name has: its first three and its last three, and how many
/// there are. It takes the same time for all of them, so that what is measured is the lookup and no loop over letters.
fn digest(name: &str) -> u64 {
    let bytes = name.as_bytes();
    let number = |[a, b, c]: [u8; 3]| u64::from(u32::from_le_bytes([a, b, c, 0]));
    let (first, last) = (bytes.first_chunk().unwrap(), bytes.last_chunk().unwrap());
    (bytes.len() as u64) << 48 | number(*first) << 24 | number(*last)
}

fn first_and_set(classes: &[u8]) -> u64 {
    (bits_of(classes) << 8) | u64::from(classes.first().copied().unwrap_or(0))
}

fn sets(c: &mut Criterion) {
    let bits = |set: PitchSet| u64::from(set.bits());
    over_all_sets(
        c,
        "prime-form-forte",
        |set| bits(SetClass::of(set).prime_form()),
        |list| bits_of(&plain::set::prime_form(list, from_left)),
    );
    over_all_sets(
        c,
        "prime-form-rahn",
        |set| bits(SetClass::of(set).prime_form_rahn()),
        |list| bits_of(&plain::set::prime_form(list, from_right)),
    );
    over_all_sets(
        c,
        "normal-order-forte",
        |set| {
            let order = set.normal_order();
            (bits(order.set()) << 8) | order.first().map_or(0, |first| u64::from(first.get()))
        },
        |list| first_and_set(&plain::set::normal_order(list, from_left)),
    );
    over_all_sets(
        c,
        "normal-order-rahn",
        |set| {
            let order = set.normal_order_rahn();
            (bits(order.set()) << 8) | order.first().map_or(0, |first| u64::from(first.get()))
        },
        |list| first_and_set(&plain::set::normal_order(list, from_right)),
    );
    let names = Names::new();
    over_all_sets(
        c,
        "forte-name-text",
        |set| digest(set.forte_name().as_str()),
        |list| digest(&names.of(list)),
    );
    // The value alone, which is what a lookup gives: the class and the form, without its text.
    let sets = plain::set::shuffled();
    let named = |set: &PitchSet| black_box(set.forte_name()).form() as u64;
    let sum = sets.iter().map(named).sum::<u64>();
    let mut group = c.benchmark_group("set/forte-name/4096");
    group.throughput(Throughput::Elements(4096));
    group.bench_function("table", |b| {
        b.iter(|| assert_eq!(sets.iter().map(|set| named(black_box(set))).sum::<u64>(), sum));
    });
    group.finish();
}

/// All 792 sets of five keys over their lowest member, named.
fn naming(c: &mut Criterion) {
    let sets: Vec<(PitchSet, NamingOptions)> = (0..4096)
        .map(|bits| PitchSet::from_bits(bits).unwrap())
        .filter(|set| set.len() == 5)
        .map(|set| (set, NamingOptions::over(set.iter().next().unwrap())))
        .collect();
    assert_eq!(sets.len(), 792);
    let shape = |reading: Reading| {
        let chord = reading.chord();
        (chord.root().pitch_class(), chord.quality(), chord.tensions())
    };
    let mut count = 0;
    for (set, options) in &sets {
        let mut found: Vec<_> = readings(*set, options).map(shape).collect();
        let mut plain = plain::naming::readings(*set);
        found.sort();
        plain.sort();
        assert_eq!(found, plain, "{set}");
        count += found.len();
    }
    let mut group = c.benchmark_group("naming/five-keys/792");
    group.throughput(Throughput::Elements(sets.len() as u64));
    group.bench_function("best", |b| {
        b.iter(|| {
            let best = sets.iter().filter_map(|(set, options)| readings(black_box(*set), options).next());
            assert_eq!(best.filter(|reading| black_box(reading).points() < 100).count(), sets.len());
        });
    });
    group.bench_function("all", |b| {
        b.iter(|| {
            let all = sets.iter().flat_map(|(set, options)| readings(black_box(*set), options));
            assert_eq!(all.filter(|reading| black_box(reading).points() < 100).count(), count);
        });
    });
    group.sample_size(10);
    group.bench_function("plain", |b| {
        b.iter(|| {
            let all = sets.iter().map(|(set, _)| plain::naming::readings(black_box(*set)).len());
            assert_eq!(all.sum::<usize>(), count);
        });
    });
    group.finish();
}

// Symbols: reading and lowering.

fn ours(text: &str) -> Plain {
    let chord = text.parse::<ChordSymbol>().unwrap().chord().unwrap();
    Plain {
        root: chord.root().pitch_class().get().into(),
        classes: chord.pitch_set().iter().map(|class| class.get().into()).collect(),
        bass: chord.bass().map(|bass| bass.pitch_class().get().into()),
    }
}

fn read_all(c: &mut Criterion, corpus: &str, symbols: &[String], with_twin: bool) {
    let mut group = c.benchmark_group(format!("symbol/parse_and_lower/{corpus}"));
    group.throughput(Throughput::Elements(symbols.len() as u64));
    group.bench_function("grammar", |b| {
        b.iter(|| {
            for text in symbols {
                let symbol: ChordSymbol = black_box(text).parse().unwrap();
                assert!(symbol.chord().is_some());
            }
        });
    });
    if with_twin {
        for text in symbols {
            assert_eq!(plain::symbol::parse(text), Some(ours(text)), "{text}");
        }
        group.bench_function("plain", |b| {
            b.iter(|| {
                for text in symbols {
                    assert!(plain::symbol::parse(black_box(text)).is_some());
                }
            });
        });
    }
    group.finish();
}

fn symbols(c: &mut Criterion) {
    let corpus: Vec<String> =
        include_str!("../tests/data/language/symbols.txt").lines().map(str::to_owned).collect();
    assert_eq!(corpus.len(), 198);
    read_all(c, "corpus", &corpus, true);
}

/// Time of the middle symbol and of the slowest one, each read a thousand times.
#[cfg(feature = "sheet")]
fn median(symbols: &[String]) -> String {
    let mut times: Vec<u128> = symbols
        .iter()
        .map(|text| {
            let start = std::time::Instant::now();
            for _ in 0..1_000 {
                assert!(black_box(text).parse::<ChordSymbol>().is_ok());
            }
            start.elapsed().as_nanos() / 1_000
        })
        .collect();
    times.sort_unstable();
    format!("median {} ns, slowest {} ns", times[times.len() / 2], times[times.len() - 1])
}

/// Every symbol of the real lead sheets, as often as it stands there, where they are at hand.
#[cfg(feature = "sheet")]
fn real_symbols(c: &mut Criterion) {
    use overshell::sheet::{PlacedSymbol, ReadOptions, read_file};
    let shared = std::env::var_os("OVERSHELL_SHARED").map_or_else(
        || std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared"),
        std::path::PathBuf::from,
    );
    let Ok(folder) = std::fs::read_dir(shared.join("leadsheets")) else {
        println!("skipped: no folder `../shared/leadsheets` and no `OVERSHELL_SHARED`");
        return;
    };
    let mut sheets: Vec<_> = folder.map(|entry| entry.unwrap().path()).collect();
    sheets.retain(|path| path.extension().is_some_and(|extension| extension == "mxl"));
    sheets.sort();
    let symbols: Vec<String> = sheets
        .iter()
        .flat_map(|path| read_file(path, &ReadOptions::default()).unwrap().sheet.chords)
        .filter_map(|placed| match placed.symbol {
            PlacedSymbol::Read(symbol) if symbol.chord().is_some() => Some(symbol.to_string()),
            _ => None,
        })
        .collect();
    println!("{} symbols of {} real sheets, {}", symbols.len(), sheets.len(), median(&symbols));
    read_all(c, "sheets", &symbols, false);
}

#[cfg(not(feature = "sheet"))]
fn real_symbols(_: &mut Criterion) {}

criterion_group!(benches, sets, naming, symbols, real_symbols);
criterion_main!(benches);
