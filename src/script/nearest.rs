//! The known word nearest to one that isn't known.

/// The candidate nearest to `word`: at most a third of its letters (at least one) may differ, counting
/// a letter put in, left out, changed or swapped with its neighbour as one. Ties: the first.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // Of a word of two letters everything is one or two letters away.
    let allowed = match word.chars().count() {
        0..=2 => 0,
        letters => (letters / 3).max(1),
    };
    let lower = word.to_lowercase();
    let scored = known
        .into_iter()
        .map(|k| (distance(&lower, &k.to_lowercase()), k));
    scored
        .filter(|(d, k)| *d <= allowed && *k != word)
        .min_by_key(|(d, _)| *d)
        .map(|(_, k)| k)
}

/// Edits between two words: optimal string alignment (the restricted Damerau-Levenshtein distance).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before[j - 2] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}
