//! The known word nearest to one that isn't known.

/// Letters that two words must begin with alike where one is short for the other: `diameter` for `dia`.
const SHORT_FOR: usize = 3;

/// The candidate nearest to `word`: at most a third of its letters (at least one) may differ, counting
/// a letter put in, left out, changed or swapped with its neighbour as one. Ties: the first. Where none is so near, the
/// longest that `word` begins with, or the shortest that begins with it.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // Of a word of two letters everything is one or two letters away.
    let allowed = match word.chars().count() {
        0..=2 => 0,
        letters => (letters / 3).max(1),
    };
    let lower = word.to_lowercase();
    let known: Vec<&str> = known.into_iter().filter(|k| *k != word).collect();
    let near = known
        .iter()
        .map(|k| (distance(&lower, &k.to_lowercase()), *k))
        .filter(|(d, _)| *d <= allowed)
        .min_by_key(|(d, _)| *d);
    near.map(|(_, k)| k).or_else(|| short_for(&lower, &known))
}

/// The word that a longer one begins with, or that begins with a shorter one.
fn short_for<'a>(lower: &str, known: &[&'a str]) -> Option<&'a str> {
    let long_enough = |k: &&&str| k.chars().count().min(lower.chars().count()) >= SHORT_FOR;
    let known = || known.iter().filter(long_enough).copied();
    let begun_with = known()
        .filter(|k| lower.starts_with(&k.to_lowercase()))
        .max_by_key(|k| k.len());
    let begins_with = || {
        known()
            .filter(|k| k.to_lowercase().starts_with(lower))
            .min_by_key(|k| k.len())
    };
    begun_with.or_else(begins_with)
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
