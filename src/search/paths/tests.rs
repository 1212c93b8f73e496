//! The search against every path there is.

use std::borrow::Cow;

use proptest::prelude::*;

use super::costs::Joint;
use super::*;

/// Layers with the one or two before them as comings, in the sizes given.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) layers: Vec<Layer>,
}

/// Where way costs beyond some thousand are asked for, short words do not hold them.
fn ways(from: usize, to: usize, scale: i32) -> impl Strategy<Value = Ways> {
    prop::collection::vec((0..12i32).prop_map(move |cost| cost * scale), from * to)
        .prop_map(move |costs| Ways::new(to, &costs))
}

/// Shapes: sizes of each layer, whether it forks.
pub(super) fn plans(most_layers: usize, most: usize, scale: i32) -> impl Strategy<Value = Plan> {
    prop::collection::vec((1..=most, 1..=most + 1, any::<bool>(), any::<bool>()), 1..=most_layers)
        .prop_flat_map(move |sizes| {
            let layers: Vec<_> =
                sizes
                    .iter()
                    .enumerate()
                    .map(|(at, (lefts, rights, skips, joint))| {
                        let (lefts, rights) = (*lefts, *rights);
                        let mut befores: Vec<usize> = at.checked_sub(1).into_iter().collect();
                        // Sometimes also from the layer before that: two ways to play the same chord.
                        befores.extend(at.checked_sub(2).filter(|_| *skips));
                        let joint = *joint;
                        let from: Vec<_> = befores
                            .into_iter()
                            .map(|before| {
                                let (l, r) = (sizes[before].0, sizes[before].1);
                                (ways(l, lefts, scale), ways(r, rights, scale)).prop_map(
                                    move |(left, right)| Coming { layer: before, left, right, joint },
                                )
                            })
                            .collect();
                        let base = prop::option::weighted(0.8, -40..60i32)
                            .prop_map(move |cost| cost.map_or(Layer::NEVER, |cost| cost * scale));
                        (prop::collection::vec(base, lefts * rights), from)
                            .prop_map(move |(base, from)| Layer { lefts, rights, base, from })
                    })
                    .collect();
            layers.prop_map(|layers| Plan { layers })
        })
}

/// Some cost that does not divide into hands.
pub(super) fn both(layer: usize, which: usize, from: usize, to: usize) -> i32 {
    ((layer * 7 + which * 5 + from * 3 + to * 11) % 9) as i32
}

/// Every path there is, in order: by cost, then by numbers from the end.
pub(super) fn all_paths(layers: &[Layer]) -> Vec<Path> {
    // Unfinished paths from the end: cost so far, where they stand, the order of their choices.
    type Open = (i64, usize, usize, Vec<(usize, usize)>, Vec<(usize, usize, usize)>);
    let goes_on = |at: usize| layers.iter().any(|layer| layer.from.iter().any(|c| c.layer == at));
    let mut open: Vec<Open> = Vec::new();
    for (end, at) in (0..layers.len()).filter(|at| !goes_on(*at)).enumerate() {
        for pair in (0..layers[at].pairs()).filter(|pair| layers[at].base[*pair] != Layer::NEVER) {
            open.push((i64::from(layers[at].base[pair]), at, pair, vec![(end, pair)], Vec::new()));
        }
    }
    type Done = (i64, Vec<(usize, usize)>, Path);
    let mut done: Vec<Done> = Vec::new();
    while let Some((cost, at, pair, order, mut nodes)) = open.pop() {
        let layer = &layers[at];
        nodes.push((at, pair / layer.rights, pair % layer.rights));
        if layer.from.is_empty() {
            nodes.reverse();
            done.push((cost, order, Path { cost, nodes }));
            continue;
        }
        for (which, coming) in layer.from.iter().enumerate() {
            let before = &layers[coming.layer];
            for from in (0..before.pairs()).filter(|from| before.base[*from] != Layer::NEVER) {
                let way = coming.left.get(from / before.rights, pair / layer.rights)
                    + coming.right.get(from % before.rights, pair % layer.rights)
                    + if coming.joint { both(at, which, from, pair) } else { 0 };
                let cost = cost + i64::from(way) + i64::from(before.base[from]);
                let order = [order.clone(), vec![(which, from)]].concat();
                open.push((cost, coming.layer, from, order, nodes.clone()));
            }
        }
    }
    done.sort_by(|a, b| (a.0, &a.1).cmp(&(b.0, &b.1)));
    done.into_iter().map(|(_, _, path)| path).collect()
}

fn check_all(plan: &Plan) -> Result<(), TestCaseError> {
    let solved = Solved::new(&plan.layers, both);
    let expected = all_paths(&plan.layers);
    prop_assert_eq!(solved.best(), expected.first().cloned());
    for count in [1, 2, 5, 20, expected.len() + 3] {
        let found = solved.cheapest(count).unwrap();
        prop_assert_eq!(&found[..], &expected[..count.min(expected.len())]);
    }
    Ok(())
}

/// In how many layers two paths differ.
fn differences(a: &Path, b: &Path, class: impl Fn(usize, usize) -> u32, layers: &[Layer]) -> usize {
    let of = |node: &(usize, usize, usize)| class(node.0, node.1 * layers[node.0].rights + node.2);
    a.nodes.iter().filter(|node| b.nodes.iter().all(|other| of(node) != of(other))).count()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3_000))]

    /// The cheapest, and however many in order, among all paths; the same among equals.
    #[test]
    fn prop_the_cheapest_are_the_first_of_all(plan in plans(4, 3, 1)) {
        check_all(&plan)?;
    }

    /// The same where short words do not hold the costs.
    #[test]
    fn prop_dear_ones_too(plan in plans(3, 3, 60_000)) {
        check_all(&plan)?;
    }

    /// Against the dense step, in larger sizes.
    #[test]
    fn prop_the_factored_step_finds_what_the_dense_step_finds(plan in plans(6, 6, 1)) {
        let solved = Solved::new(&plan.layers, both);
        prop_assert_eq!(solved.best(), best_dense(&plan.layers, both));
    }

    /// Each is the first of all that differs enough from those before it.
    #[test]
    fn prop_varied(plan in plans(4, 2, 1), least in 0usize..4, classes in 1u32..4) {
        let solved = Solved::new(&plan.layers, both);
        let class = |layer: usize, pair: usize| (layer as u32 * 65_536) + (layer as u32 + pair as u32) % classes;
        for by_pair in [true, false] {
            // Sometimes pairs of two layers count as the same, as where a chord may be played in two ways.
            let by_pair_of = |layer: usize, pair: usize| (layer as u32 / 2 * 65_536) + pair as u32;
            let class = |layer, pair: usize| if by_pair { by_pair_of(layer, pair) } else { class(layer, pair) };
            let found = solved.varied(4, least, class).unwrap();
            let mut expected: Vec<Path> = Vec::new();
            for path in all_paths(&plan.layers) {
                let far = |other: &Path| differences(&path, other, class, &plan.layers) >= least;
                if expected.len() < 4 && expected.iter().all(far) {
                    expected.push(path);
                }
                if least == 0 && expected.len() == 1 {
                    // Nothing need differ: the same path again and again.
                    let same = expected[0].clone();
                    expected = vec![same; 4];
                }
            }
            prop_assert_eq!(&found, &expected);
        }
    }
}

/// What the cheapest path to each pair costs, from the start on.
fn known_costs<J: Joint>(solved: &Solved<'_, J>, layers: &[Layer]) -> Vec<Vec<Option<i64>>> {
    let costs = solved.costs();
    let of_layer = |at: usize| {
        let cost = |cost: &i32| (*cost <= DEAREST).then_some(costs.ground(at) + i64::from(*cost));
        costs.of(at).iter().map(cost).collect()
    };
    (0..layers.len()).map(of_layer).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    /// From the costs of the first layers on, or without a pair: what is found from the start where that pair cannot be played.
    #[test]
    fn prop_resumed(plan in plans(4, 3, 1)) {
        let layers = &plan.layers;
        let whole = Solved::new(layers, both);
        let resumed = |costs| Solved::resume(layers, both, Cow::Owned(costs), |_| true).ok().unwrap();
        for (at, layer) in layers.iter().enumerate() {
            for pair in 0..=layer.pairs() {
                let mut fewer = layers.clone();
                // The last is no pair at all.
                if let Some(cost) = fewer[at].base.get_mut(pair) {
                    *cost = Layer::NEVER;
                }
                let fresh = Solved::new(&fewer, both);
                let resumed = resumed(whole.costs().without(at, pair));
                prop_assert_eq!(resumed.best(), fresh.best());
                prop_assert_eq!(known_costs(&resumed, &fewer), known_costs(&fresh, &fewer));
                prop_assert_eq!(resumed.cheapest(5), fresh.cheapest(5));
            }
        }
        let all = resumed(whole.costs().without(layers.len(), 0));
        prop_assert_eq!(all.costs(), whole.costs());
        let known = Cow::Borrowed(whole.costs());
        let none_left = Solved::resume(layers, both, known, |_| false).ok().unwrap();
        prop_assert_eq!(none_left.best(), whole.best());
    }

    /// Whoever is asked hears how it goes on, in order, changes nothing by saying yes, and is obeyed at once when saying no.
    #[test]
    fn prop_asked(plan in plans(4, 2, 1), least in 1usize..4) {
        let layers = plan.layers.len();
        let solved = Solved::new(&plan.layers, both);
        let class = |layer: usize, pair: usize| (layer as u32 * 65_536) + pair as u32;
        let mut heard = Vec::new();
        let asked = solved.cheapest_while(5, |found| { heard.push(found); true });
        prop_assert_eq!(asked.ok(), solved.cheapest(5));
        prop_assert!(heard.first() == Some(&0) && heard.is_sorted() && heard.iter().all(|found| *found < 5));
        for stop in 0..heard.len() {
            let mut asked = 0;
            let stopped = solved.cheapest_while(5, |_| { asked += 1; asked <= stop });
            prop_assert_eq!((stopped, asked), (Err(Halt::Stopped), stop + 1));
        }
        let mut heard = Vec::new();
        let asked = solved.varied_while(3, least, class, |past, layer| { heard.push((past, layer)); true });
        prop_assert_eq!(asked.ok(), solved.varied(3, least, class));
        prop_assert!(heard.first() == Some(&(0, 0)) && heard.is_sorted());
        prop_assert!(heard.iter().all(|(past, layer)| *past < 3 && *layer < layers));
        for stop in 0..heard.len() {
            let mut asked = 0;
            let stopped = solved.varied_while(3, least, class, |_, _| { asked += 1; asked <= stop });
            prop_assert_eq!((stopped, asked), (Err(Halt::Stopped), stop + 1));
        }
    }
}

/// A search among many equals asks again and again while it finds nothing.
#[test]
fn ok_a_long_search_asks() {
    let layer = |at: usize| Layer {
        lefts: 2,
        rights: 2,
        base: vec![0; 4],
        from: at
            .checked_sub(1)
            .map(|layer| Coming {
                layer,
                left: Ways::new(2, &[0; 4]),
                right: Ways::new(2, &[0; 4]),
                joint: false,
            })
            .into_iter()
            .collect(),
    };
    let layers: Vec<Layer> = (0..8).map(layer).collect();
    let solved = Solved::new(&layers, |_, _, _, _| 0);
    let class = |layer: usize, pair: usize| (layer * 4 + pair) as u32;
    // At six places of eight: no more than 4 · 4 paths, and only after a look at very many.
    let mut heard = Vec::new();
    let found = solved.varied_while(20, 7, class, |past, layer| {
        heard.push((past, layer));
        true
    });
    let within_search = heard.windows(2).filter(|two| two[0] == two[1] && two[0].1 == 0).count();
    assert!(found.is_ok() && within_search >= 3, "{within_search}");
    let mut last = (0, 0);
    let stopped = solved.varied_while(20, 7, class, |past, layer| {
        let again = last == (past, layer) && past > 2;
        last = (past, layer);
        !again
    });
    assert_eq!(stopped, Err(Halt::Stopped));
}

/// However dear the chords are, and however many, there is a way.
#[test]
fn ok_dear_layers_and_long_tunes() {
    let layer = |at: usize, cost: i32, joint: bool| Layer {
        lefts: 2,
        rights: 2,
        base: vec![cost, cost - 1, Layer::NEVER, cost],
        from: at
            .checked_sub(1)
            .map(|before| Coming {
                layer: before,
                left: Ways::new(2, &[0, 1, 1, 0]),
                right: Ways::new(2, &[0, 1, 1, 0]),
                joint,
            })
            .into_iter()
            .collect(),
    };
    for joint in [false, true] {
        let layers: Vec<Layer> = (0..4_000).map(|at| layer(at, 1_000_000 + at as i32 % 3, joint)).collect();
        let best = Solved::new(&layers, |_, _, _, _| 0).best().unwrap();
        assert!(best.nodes.iter().all(|(_, l, r)| (*l, *r) == (0, 1)));
        assert_eq!(best.cost, (0..4_000).map(|at| 999_999 + at % 3).sum::<i64>());
        let mad = [i32::MAX - 1, i32::MAX - 5, i32::MIN + 5];
        let mad: Vec<Layer> = mad.into_iter().enumerate().map(|(at, cost)| layer(at, cost, joint)).collect();
        assert_eq!(Solved::new(&mad, |_, _, _, _| i32::MAX).best().unwrap().nodes.len(), 3);
    }
}

#[test]
fn ok_nothing_to_search() {
    let none = |layers: &[Layer]| {
        let solved = Solved::new(layers, both);
        assert_eq!(solved.best(), None);
        assert!(
            solved.cheapest(3).unwrap().is_empty()
                && solved.varied(3, 1, |_, pair| pair as u32).unwrap().is_empty()
        );
        assert_eq!(best_dense(layers, both), None);
    };
    none(&[]);
    none(&[Layer::default()]);
    let never = Layer { lefts: 1, rights: 1, base: vec![Layer::NEVER], from: Vec::new() };
    none(std::slice::from_ref(&never));
    let coming = Coming { layer: 0, left: Ways::default(), right: Ways::default(), joint: false };
    none(&[never.clone(), Layer { from: vec![coming], ..never }]);
    assert!(Solved::while_asked(&[Layer::default(), Layer::default()], both, |at| at == 0).is_err());
}
