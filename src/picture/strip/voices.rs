//! Which note of a hand goes where in the next chord.

/// The voices from one shape of a hand to the next, as pairs of places in them; both ascending. As rules on motion match
/// them: one by one where both have as many notes; else in order and without crossings, a voice may split and two may join,
/// so that all together move the fewest semitones. Of several such ways the one in which voices go on one by one first.
/// None where one of the hands is empty.
pub(super) fn voices(from: &[u8], to: &[u8]) -> Vec<(usize, usize)> {
    if from.len() == to.len() || from.is_empty() || to.is_empty() {
        return (0..from.len().min(to.len())).map(|at| (at, at)).collect();
    }
    // How far all voices move from these places on, the two places being one voice.
    let mut rest = vec![u32::MAX / 2; (from.len() + 1) * (to.len() + 1)];
    let place = |(i, j): (usize, usize)| i * (to.len() + 1) + j;
    let at = |rest: &[u32], ij| rest.get(place(ij)).copied().unwrap_or(u32::MAX / 2);
    let nexts = |(i, j): (usize, usize)| [(i + 1, j + 1), (i, j + 1), (i + 1, j)];
    for (i, low) in from.iter().enumerate().rev() {
        for (j, high) in to.iter().enumerate().rev() {
            let last = (i + 1, j + 1) == (from.len(), to.len());
            let on =
                if last { 0 } else { nexts((i, j)).map(|ij| at(&rest, ij)).into_iter().min().unwrap_or(0) };
            if let Some(cell) = rest.get_mut(place((i, j))) {
                *cell = u32::from(low.abs_diff(*high)) + on;
            }
        }
    }
    let within = |ij: &(usize, usize)| ij.0 < from.len() && ij.1 < to.len();
    let next = |ij: &(usize, usize)| {
        nexts(*ij).into_iter().filter(|next| within(next)).min_by_key(|next| at(&rest, *next)) // the first of the best
    };
    std::iter::successors(Some((0, 0)), next).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::rules::RuleSet;

    #[test]
    fn ok_voices_split_and_join() {
        assert_eq!(voices(&[48, 58], &[48, 52]), [(0, 0), (1, 1)]);
        assert_eq!(voices(&[48, 51, 58], &[47, 57]), [(0, 0), (1, 0), (2, 1)]);
        // Of two ways as long the one in which the voices go on first.
        assert_eq!(voices(&[48, 52, 58], &[47, 57]), [(0, 0), (1, 1), (2, 1)]);
        assert_eq!(voices(&[53], &[48, 52, 58]), [(0, 0), (0, 1), (0, 2)]);
        assert!(voices(&[], &[48]).is_empty() && voices(&[48], &[]).is_empty());
    }

    fn hand() -> impl proptest::strategy::Strategy<Value = Vec<u8>> {
        use proptest::prelude::*;
        proptest::collection::btree_set(0u8..=127, 1..=5).prop_map(|keys| keys.into_iter().collect())
    }

    proptest::proptest! {
        /// The whole way is as long as the one that a rule on motion charges, a point a semitone.
        #[test]
        fn prop_voices_as_the_rules_match_them(from in hand(), to in hand()) {
            let text = r#"
                format = 1
                name = "way"
                [[rule]]
                id = "way"
                kind = "motion"
                hand = "left"
                per-semitone = 1
                message = "voices move"
                help = "stay"
                source = "invented for this test"
            "#;
            let rules = RuleSet::from_toml("way.toml", text).unwrap();
            let judge = rules.judge_for(chord("C7"), &Default::default());
            let pairs = voices(&from, &to);
            let way: i32 = pairs.iter().map(|(i, j)| i32::from(from[*i].abs_diff(to[*j]))).sum();
            proptest::prop_assert_eq!(way, judge.motion_cost(true, &from, &to));
            // In order, from corner to corner, nobody left out.
            proptest::prop_assert_eq!(pairs[0], (0, 0));
            proptest::prop_assert_eq!(pairs[pairs.len() - 1], (from.len() - 1, to.len() - 1));
            for pair in pairs.windows(2) {
                let step = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
                proptest::prop_assert!([(1, 1), (0, 1), (1, 0)].contains(&step));
            }
        }
    }
}
