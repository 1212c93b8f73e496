//! Did you mean: the known word that is nearest to what was found.

/// The word that is nearest to what was found, where one is near: of several, one of the same length.
pub(crate) fn nearest<S: AsRef<str>>(found: &str, known: impl Iterator<Item = S>) -> Option<S> {
    known
        .map(|word| (distance(found, word.as_ref()), word))
        .filter(|(distance, word)| *distance <= 1 + word.as_ref().len() / 6)
        .min_by_key(|(distance, word)| (*distance, word.as_ref().len().abs_diff(found.len())))
        .map(|(_, word)| word)
}

/// How many letters to change, add, drop or swap with their neighbour from one word to the other (optimal string
/// alignment).
fn distance(a: &str, b: &str) -> usize {
    let [a, b] = [a, b].map(|text| text.chars().take(64).collect::<Vec<_>>());
    let mut rows: Vec<Vec<usize>> = vec![(0..=b.len()).collect()];
    let cell = |rows: &[Vec<usize>], i: usize, j: usize| {
        rows.get(i).and_then(|row| row.get(j)).copied().unwrap_or(usize::MAX / 2)
    };
    for (i, from) in a.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, to) in b.iter().enumerate() {
            let replaced = cell(&rows, i, j) + usize::from(from != to);
            let dropped = cell(&rows, i, j + 1) + 1;
            let added = row.last().map_or(0, |d| d + 1);
            let mut least = replaced.min(dropped).min(added);
            let swaps = i > 0 && j > 0 && a.get(i - 1) == Some(to) && b.get(j - 1) == Some(from);
            if swaps {
                least = least.min(cell(&rows, i - 1, j - 1) + 1);
            }
            row.push(least);
        }
        rows.push(row);
    }
    cell(&rows, a.len(), b.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_distance_of_words() {
        for (a, b, expected) in [
            ("", "", 0),
            ("cost", "cost", 0),
            ("cots", "cost", 1),
            ("cst", "cost", 1),
            ("", "ab", 2),
            ("abc", "bca", 2),
        ] {
            assert_eq!(distance(a, b), expected, "{a} {b}");
        }
        assert_eq!(nearest("colur", ["cost", "colour"].iter()), Some(&"colour"));
        assert_eq!(nearest("zzzzzz", ["cost", "colour"].iter()), None);
    }
}
