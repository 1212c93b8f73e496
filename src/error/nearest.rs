//! Did you mean: the known word that is nearest to what was found.

/// The word that is nearest to what was found, where one is near.
pub(crate) fn nearest<S: AsRef<str>>(found: &str, known: impl Iterator<Item = S>) -> Option<S> {
    known
        .map(|word| (distance(found, word.as_ref()), word))
        .filter(|(distance, word)| *distance <= 1 + word.as_ref().len() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

/// How many letters to change, add or drop from one word to the other (Levenshtein).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().take(64).enumerate() {
        let mut next = vec![i + 1];
        for (j, to) in b.iter().enumerate() {
            let replaced = row.get(j).map_or(0, |d| d + usize::from(from != *to));
            let dropped = row.get(j + 1).map_or(0, |d| d + 1);
            let added = next.last().map_or(0, |d| d + 1);
            next.push(replaced.min(dropped).min(added));
        }
        row = next;
    }
    row.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_distance_of_words() {
        for (a, b, expected) in
            [("", "", 0), ("cost", "cost", 0), ("cots", "cost", 2), ("cst", "cost", 1), ("", "ab", 2)]
        {
            assert_eq!(distance(a, b), expected, "{a} {b}");
        }
        assert_eq!(nearest("colur", ["cost", "colour"].iter()), Some(&"colour"));
        assert_eq!(nearest("zzzzzz", ["cost", "colour"].iter()), None);
    }
}
