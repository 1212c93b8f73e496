//! Instances of the search with their cheapest paths, for a solver of others: random ones, the demo tune, and real lead sheets with
//! the candidates thinned. The variable `OVERSHELL_INSTANCES` names the file into which they are written;
//! `tests/outside/exact.py` solves them.
#![cfg(feature = "sheet")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use std::io::Write;
use std::path::PathBuf;

use overshell::rules::RuleSet;
use overshell::search::paths::{Coming, Layer, Solved, Ways, best_dense};
use overshell::search::{ArrangeOptions, Arranger, Instead, Octave};
use overshell::sheet::{ReadOptions, read, read_file};
use serde_json::{Value, json};

/// A row of numbers, the same on every machine.
struct Numbers(u32);

impl Numbers {
    fn below(&mut self, end: u32) -> u32 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 16) % end
    }

    fn many(&mut self, count: usize, end: u32) -> Vec<i32> {
        (0..count).map(|_| self.below(end) as i32).collect()
    }
}

fn none(_: usize, _: usize, _: usize, _: usize) -> i32 {
    0
}

/// So many layers; every fourth instance has layers that may be left out, as where a dominant may be played as one chord or as two.
fn random(numbers: &mut Numbers, count: usize, lefts: usize, rights: usize, forks: bool) -> Vec<Layer> {
    (0..count)
        .map(|at| {
            let befores =
                at.checked_sub(1).into_iter().chain(at.checked_sub(2).filter(|_| forks && at % 3 == 2));
            let from = befores.map(|layer| Coming {
                layer,
                left: Ways::new(lefts, &numbers.many(lefts * lefts, 30)),
                right: Ways::new(rights, &numbers.many(rights * rights, 40)),
                joint: false,
            });
            let from: Vec<Coming> = from.collect();
            let cost = |cost: i32| if cost > 95 { Layer::NEVER } else { cost - 40 };
            let base = numbers.many(lefts * rights, 110).into_iter().map(cost).collect();
            Layer { lefts, rights, base, from }
        })
        .collect()
}

/// The cheapest pairs of each layer, and the shapes that they use.
fn thinned(layers: &[Layer], pairs: usize) -> Vec<Layer> {
    let mut kept: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
    let mut thin = Vec::new();
    for layer in layers {
        let mut order: Vec<(i32, usize)> = layer.base.iter().copied().zip(0..).collect();
        order.sort();
        order.truncate(pairs);
        order.retain(|(cost, _)| *cost != Layer::NEVER);
        let shapes = |of: &dyn Fn(usize) -> usize| {
            let mut shapes: Vec<usize> = order.iter().map(|(_, pair)| of(*pair)).collect();
            shapes.sort();
            shapes.dedup();
            shapes
        };
        let (lefts, rights) = (shapes(&|pair| pair / layer.rights), shapes(&|pair| pair % layer.rights));
        let base = lefts.iter().flat_map(|l| rights.iter().map(move |r| l * layer.rights + r)).map(|pair| {
            if order.iter().any(|(_, kept)| *kept == pair) { layer.base[pair] } else { Layer::NEVER }
        });
        let from = layer.from.iter().map(|coming| {
            let (lefts_before, rights_before) = &kept[coming.layer];
            let ways = |ways: &Ways, from: &[usize], to: &[usize]| {
                let costs: Vec<i32> = from.iter().flat_map(|a| to.iter().map(|b| ways.get(*a, *b))).collect();
                Ways::new(to.len(), &costs)
            };
            Coming {
                layer: coming.layer,
                left: ways(&coming.left, lefts_before, &lefts),
                right: ways(&coming.right, rights_before, &rights),
                joint: false,
            }
        });
        thin.push(Layer {
            lefts: lefts.len(),
            rights: rights.len(),
            base: base.collect(),
            from: from.collect(),
        });
        kept.push((lefts, rights));
    }
    thin
}

fn instance(name: &str, layers: &[Layer], count: usize) -> Value {
    let start = std::time::Instant::now();
    let _ = Solved::new(layers, none).best();
    let seconds = start.elapsed().as_secs_f64();
    let solved = Solved::new(layers, none);
    let paths = solved.cheapest(count).unwrap();
    assert_eq!(paths.first(), best_dense(layers, none).as_ref(), "{name}");
    let table = |ways: &Ways, from: usize| -> Vec<i32> {
        (0..from).flat_map(|a| (0..ways.to()).map(move |b| (a, b))).map(|(a, b)| ways.get(a, b)).collect()
    };
    let layer = |layer: &Layer| {
        let base: Vec<Option<i32>> =
            layer.base.iter().map(|cost| (*cost != Layer::NEVER).then_some(*cost)).collect();
        let from = layer.from.iter().map(|coming| {
            let before = &layers[coming.layer];
            json!({
                "layer": coming.layer,
                "left_ways": table(&coming.left, before.lefts),
                "right_ways": table(&coming.right, before.rights),
            })
        });
        let from: Vec<Value> = from.collect();
        json!({ "lefts": layer.lefts, "rights": layer.rights, "base": base, "from": from })
    };
    json!({
        "name": name,
        "seconds": seconds,
        "layers": layers.iter().map(layer).collect::<Vec<_>>(),
        "cost": paths[0].cost,
        "path": paths[0].nodes,
        "best": paths.iter().map(|path| path.cost).collect::<Vec<_>>(),
    })
}

/// Real lead sheets, where there are any.
fn tunes() -> Vec<PathBuf> {
    let shared =
        std::env::var_os("OVERSHELL_SHARED").map_or_else(|| PathBuf::from("../shared"), PathBuf::from);
    let Ok(folder) = std::fs::read_dir(shared.join("leadsheets")) else { return Vec::new() };
    let mut tunes: Vec<PathBuf> = folder.filter_map(|entry| Some(entry.ok()?.path())).collect();
    tunes.retain(|path| path.extension().is_some_and(|ending| ending == "mxl"));
    tunes.sort();
    tunes
}

#[test]
fn ok_instances_for_a_solver_of_others() {
    let mut numbers = Numbers(5);
    let mut all = Vec::new();
    for at in 0..200 {
        let (lefts, rights) = [(6, 10), (5, 12), (4, 15), (10, 6)][at % 4];
        let layers = random(&mut numbers, 8, lefts, rights, at % 4 == 3);
        all.push(instance(&format!("random-{at}"), &layers, 1));
    }
    for at in 0..20 {
        let layers = random(&mut numbers, 5, 3, 4, at % 2 == 1);
        all.push(instance(&format!("several-{at}"), &layers, 6));
    }
    let options = ReadOptions::default();
    let demo = read(include_bytes!("../examples/tunes/nine-lamps.musicxml"), &options).unwrap();
    let mut sheets = vec![("demo".to_owned(), demo)];
    for path in tunes().iter().step_by(2).take(10) {
        sheets.push((
            path.file_stem().unwrap().to_string_lossy().into_owned(),
            read_file(path, &options).unwrap(),
        ));
    }
    for (at, (name, reading)) in sheets.iter().enumerate() {
        // Every third with dominants that may be played otherwise.
        let instead =
            if at % 3 == 0 { Instead::of(overshell::chord::Reharmonisation::ALL) } else { Instead::NOTHING };
        let options = ArrangeOptions { octave: Octave::AsWritten, instead, ..ArrangeOptions::default() };
        let arranger = Arranger::new(&reading.sheet.progression(), RuleSet::standard(), options).unwrap();
        all.push(instance(name, &thinned(arranger.layers(), 12), 1));
    }
    assert!(all.len() > 220);
    if let Some(path) = std::env::var_os("OVERSHELL_INSTANCES") {
        let mut file = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
        for instance in all {
            writeln!(file, "{instance}").unwrap();
        }
    }
}
