//! The search for tied paths against every path there is.

use proptest::prelude::*;

use super::*;
use crate::search::paths::tests::{Plan, all_paths, both, plans};
use crate::search::paths::{Coming, Solved, Ways};

const ENOUGH: usize = 100_000;

/// Layers with ties: groups up to so many, classes up to so many.
fn tied_plans(
    plans: impl Strategy<Value = Plan>,
    groups: usize,
    classes: u32,
) -> impl Strategy<Value = (Plan, Vec<Option<Tie>>)> {
    plans.prop_flat_map(move |plan| {
        let ties: Vec<_> = plan
            .layers
            .iter()
            .map(|layer| {
                let tie = (0..groups, prop::collection::vec(0..classes, layer.pairs()));
                prop::option::weighted(0.8, tie.prop_map(|(group, classes)| Tie { group, classes }))
            })
            .collect();
        (Just(plan), ties)
    })
}

/// Whether all layers of a group that a path goes through take the same class.
fn is_tied(path: &Path, layers: &[Layer], ties: &[Option<Tie>]) -> bool {
    let on = path.nodes.iter().filter_map(|(at, left, right)| {
        let tie = ties[*at].as_ref()?;
        Some((tie.group, tie.classes[left * layers[*at].rights + right]))
    });
    let on: Vec<(usize, u32)> = on.collect();
    on.iter().all(|one| on.iter().all(|other| one.0 != other.0 || one.1 == other.1))
}

/// The slow twin: the first of all paths that is tied.
fn slow(layers: &[Layer], ties: &[Option<Tie>]) -> Option<Path> {
    all_paths(layers).into_iter().find(|path| is_tied(path, layers, ties))
}

fn check(plan: &Plan, ties: &[Option<Tie>]) -> Result<Option<BestTied>, TestCaseError> {
    let layers = &plan.layers;
    let expected = slow(layers, ties);
    let found = best_tied(layers, both, ties, ENOUGH, |_| true);
    match (&found, &expected) {
        (Ok(found), Some(expected)) => {
            prop_assert_eq!(found.path.cost, expected.cost);
            prop_assert!(is_tied(&found.path, layers, ties));
            prop_assert!(all_paths(layers).contains(&found.path));
            let plain = Solved::new(layers, both).best();
            if plain.as_ref().is_some_and(|plain| is_tied(plain, layers, ties)) {
                prop_assert_eq!(Some(&found.path), plain.as_ref());
            }
        }
        (Err(NotTied::NoPath | NotTied::Apart(_)), None) => {}
        _ => prop_assert!(false, "{:?} {:?}", found, expected),
    }
    prop_assert_eq!(&best_tied(layers, both, ties, ENOUGH, |_| true), &found);
    // With hardly any prices branches do the work.
    let branching = in_rounds([1, 1], layers, both, ties, ENOUGH, |_| true).ok();
    prop_assert_eq!(branching.map(|found| found.path.cost), expected.map(|expected| expected.cost));
    Ok(found.ok())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]

    /// Chains and layers that fork, few classes: what all layers of a group have in common may be nothing.
    #[test]
    fn prop_the_cheapest_of_all_tied_paths((plan, ties) in tied_plans(plans(4, 3, 1), 3, 4)) {
        check(&plan, &ties)?;
    }

    /// One group or two, many classes.
    #[test]
    fn prop_large_groups((plan, ties) in tied_plans(plans(4, 3, 1), 1, 9)) {
        check(&plan, &ties)?;
    }

    /// Longer ones.
    #[test]
    fn prop_long_chains((plan, ties) in tied_plans(plans(6, 2, 1), 2, 5)) {
        check(&plan, &ties)?;
    }

    /// Costs up to what the search takes and beyond leave no room for prices.
    #[test]
    fn prop_dear_ones((plan, ties) in tied_plans(plans(4, 2, 150_000), 2, 4)) {
        check(&plan, &ties)?;
    }

    /// Without ties, or with each layer in a group of its own, the answer is that of the search without ties.
    #[test]
    fn prop_untied(plan in plans(5, 4, 1), tied in any::<bool>()) {
        let tie = |(group, layer): (usize, &Layer)| {
            tied.then(|| Tie { group, classes: vec![7; layer.pairs()] })
        };
        let ties: Vec<Option<Tie>> = plan.layers.iter().enumerate().map(tie).collect();
        let found = best_tied(&plan.layers, both, &ties, 1, |_| true).ok();
        let best = Solved::new(&plan.layers, both).best();
        prop_assert_eq!(found.as_ref().map(|found| &found.path), best.as_ref());
        prop_assert!(found.is_none_or(|found| (found.branches, found.rounds) == (1, 1)));
    }

    /// Whoever is asked hears of every round, and is obeyed at once.
    #[test]
    fn prop_asked((plan, ties) in tied_plans(plans(4, 3, 1), 2, 9)) {
        let mut heard = Vec::new();
        let found = best_tied(&plan.layers, both, &ties, ENOUGH, |round| { heard.push(round); true });
        prop_assert_eq!(&heard, &(0..heard.len()).collect::<Vec<_>>());
        if let Ok(found) = found {
            prop_assert_eq!(heard.len(), found.rounds);
            let few = best_tied(&plan.layers, both, &ties, found.branches - 1, |_| true);
            prop_assert_eq!(few, Err(NotTied::TooLong));
        }
        for stop in 0..heard.len() {
            let mut asked = 0;
            let stopped = best_tied(&plan.layers, both, &ties, ENOUGH, |_| { asked += 1; asked <= stop });
            prop_assert_eq!((stopped, asked), (Err(NotTied::Stopped), stop + 1));
        }
    }
}

/// A section played twice: the same layers again, with a way from its end to its start.
fn section_twice(sizes: &[(usize, usize)], numbers: &[i32]) -> (Plan, Vec<Option<Tie>>) {
    let mut number = numbers.iter().copied().cycle();
    let mut take = |count: usize| -> Vec<i32> { number.by_ref().take(count).collect() };
    let bases: Vec<Vec<i32>> = sizes.iter().map(|(l, r)| take(l * r)).collect();
    let ways: Vec<(Vec<i32>, Vec<i32>)> = (0..sizes.len())
        .map(|at| {
            let before = sizes[(at + sizes.len() - 1) % sizes.len()];
            (take(before.0 * sizes[at].0), take(before.1 * sizes[at].1))
        })
        .collect();
    let layer = |at: usize| {
        let own = at % sizes.len();
        let (lefts, rights) = sizes[own];
        let coming = |layer| Coming {
            layer,
            left: Ways::new(lefts, &ways[own].0),
            right: Ways::new(rights, &ways[own].1),
            joint: false,
        };
        let base = bases[own].clone();
        Layer { lefts, rights, base, from: at.checked_sub(1).map(coming).into_iter().collect() }
    };
    let layers: Vec<Layer> = (0..2 * sizes.len()).map(layer).collect();
    let tie = |at: usize| Tie { group: at % sizes.len(), classes: (0..layers[at].pairs() as u32).collect() };
    let ties = (0..layers.len()).map(|at| Some(tie(at))).collect();
    (Plan { layers }, ties)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    /// As tunes have it: the same bars twice.
    #[test]
    fn prop_a_section_played_twice(
        sizes in prop::collection::vec((1usize..3, 1usize..3), 1..=4),
        numbers in prop::collection::vec(0..15i32, 40),
    ) {
        let (plan, ties) = section_twice(&sizes, &numbers);
        let found = check(&plan, &ties)?;
        prop_assert!(found.is_some());
    }
}

/// The tests above see all of the search: many instances need prices; few need branches too, more where prices are few.
#[test]
fn ok_prices_and_branches_are_needed() {
    let mut number = 7u32;
    let mut below = |end: u32| {
        number = number.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        ((number >> 16) % end) as i32
    };
    let (mut priced, mut branched, mut without) = (0, 0, 0);
    for _ in 0..300 {
        let numbers: Vec<i32> = (0..61).map(|_| below(20)).collect();
        let (plan, ties) = section_twice(&[(2, 2), (2, 1), (2, 2)], &numbers);
        let found = check(&plan, &ties).unwrap().unwrap();
        priced += usize::from(found.rounds > 1);
        branched += usize::from(found.branches > 1);
        let branching = in_rounds([1, 1], &plan.layers, both, &ties, ENOUGH, |_| true).unwrap();
        without += usize::from(branching.branches > 1);
    }
    assert!(priced > 50 && branched > 0 && without > 10, "{priced} {branched} {without}");
}

#[test]
fn err_no_class_in_common() {
    let layer = |at: usize| Layer {
        lefts: 1,
        rights: 2,
        base: vec![0, 1],
        from: at
            .checked_sub(1)
            .map(|layer| Coming {
                layer,
                left: Ways::new(1, &[0]),
                right: Ways::new(2, &[0; 4]),
                joint: false,
            })
            .into_iter()
            .collect(),
    };
    let layers: Vec<Layer> = (0..2).map(layer).collect();
    let tie = |classes: [u32; 2]| Some(Tie { group: 9, classes: classes.to_vec() });
    let found = |ties: [Option<Tie>; 2]| best_tied(&layers, |_, _, _, _| 0, &ties, ENOUGH, |_| true);
    assert_eq!(found([tie([1, 2]), tie([3, 4])]), Err(NotTied::Apart(9)));
    assert_eq!(found([tie([1, 2]), tie([3, 2])]).unwrap().path.nodes, [(0, 0, 1), (1, 0, 1)]);
    let none = best_tied(&[], |_, _, _, _| 0, &[], ENOUGH, |_| true);
    assert_eq!(none, Err(NotTied::NoPath));
}
