//! Labels in a row, each as near as can be to what it stands for.

/// Where the middles of labels go that want to stand at `wanted` (ascending) and are so wide, between `from` and `to`: in
/// order, none over another, none outside as far as there is room, and moved as little as may be: the sum of the squares of
/// the ways is least, up to rounding.
///
/// This is isotonic regression by pooling adjacent violators (Barlow, Bartholomew, Bremner and Brunk, *Statistical Inference
/// under Order Restrictions*, 1972): neighbours that would overlap become one block that stands at the mean of what its
/// members want.
pub(super) fn spread(labels: &[(i64, i64)], from: i64, to: i64) -> Vec<i64> {
    // Seen from the labels before them laid end to end, middles need only not descend.
    let mut behind = 0;
    let offsets: Vec<i64> = labels
        .iter()
        .map(|(_, width)| {
            let middle = behind + width / 2;
            behind += width;
            middle
        })
        .collect();
    // Blocks: sum of what the members want, and how many they are.
    let mut blocks: Vec<(i64, i64)> = Vec::new();
    for ((wanted, _), offset) in labels.iter().zip(&offsets) {
        let mut block = (wanted - offset, 1);
        while let Some((sum, count)) = blocks.last().copied() {
            if mean((sum, count)) <= mean(block) {
                break;
            }
            blocks.pop();
            block = (block.0 + sum, block.1 + count);
        }
        blocks.push(block);
    }
    let highest = (to - behind).max(from);
    let starts = blocks.iter().flat_map(|block| {
        let start = mean(*block).clamp(from, highest);
        (0..block.1).map(move |_| start)
    });
    starts.zip(offsets).map(|(start, offset)| start + offset).collect()
}

fn mean((sum, count): (i64, i64)) -> i64 {
    sum.div_euclid(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_only_those_that_overlap_move() {
        assert!(spread(&[], 0, 100).is_empty());
        assert_eq!(spread(&[(10, 10), (50, 10)], 0, 100), [10, 50]);
        assert_eq!(spread(&[(10, 10), (14, 10), (50, 10)], 0, 100), [7, 17, 50]);
        assert_eq!(spread(&[(0, 10), (100, 10)], 0, 100), [5, 95]);
    }

    /// The least sum of squares by trying all places.
    fn tried(labels: &[(i64, i64)], from: i64, to: i64) -> i64 {
        fn rest(labels: &[(i64, i64)], from: i64, to: i64) -> Option<i64> {
            let Some(((wanted, width), others)) = labels.split_first() else { return Some(0) };
            let starts = from..=to - width;
            starts
                .filter_map(|start| {
                    let way = start + width / 2 - wanted;
                    Some(way * way + rest(others, start + width, to)?)
                })
                .min()
        }
        rest(labels, from, to).unwrap()
    }

    proptest::proptest! {
        #[test]
        fn prop_in_order_inside_and_moved_little(
            mut wanted in proptest::collection::vec(0i64..40, 0..4),
            widths in proptest::collection::vec(2i64..12, 4),
        ) {
            wanted.sort_unstable();
            let labels: Vec<(i64, i64)> = wanted.iter().copied().zip(widths.iter().map(|width| width / 2 * 2)).collect();
            let places = spread(&labels, 0, 40);
            let mut end = 0;
            for (place, (_, width)) in places.iter().zip(&labels) {
                proptest::prop_assert!(place - width / 2 >= end);
                end = place + width / 2;
            }
            proptest::prop_assert!(end <= 40);
            let ways = places.iter().zip(&labels).map(|(place, (wanted, _))| (place - wanted).pow(2)).sum::<i64>();
            // A block stands less than one from its best place, which costs less than one for each member.
            let best = tried(&labels, 0, 40);
            proptest::prop_assert!(ways >= best && ways - best <= places.len() as i64, "{ways} {best}");
        }
    }
}
