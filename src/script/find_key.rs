//! Finds the very characters of an argument, key, value or list item of a call in the script's text.
//!
//! The engine gives only the place of a call. From there the text is read on, matching brackets and
//! stepping over strings and comments, also in a map that a name stands for. Where the text doesn't hold
//! what is looked for, the nearest thing that it does hold is given instead.

use std::ops::Range;

use crate::script::text::{Text, is_word};

/// One step from a call to what is at fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// The argument with this number, from 0; a method's own value is not counted.
    Arg(usize),
    /// The key of a map.
    Key(String),
    /// The item of a list, from 0.
    Item(usize),
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The key, where the last step was one and the text holds it.
    pub key: Option<Range<usize>>,
    /// The value.
    pub value: Range<usize>,
    /// Whether every step was found.
    pub whole: bool,
}

/// Whether the call at `at` is written as a method: `value.word(…)`.
pub fn is_method(text: &Text, at: usize) -> bool {
    text.before(at) == Some('.')
}

/// The ranges of a call's arguments; `at` is where its name starts.
pub fn arguments(text: &Text, at: usize) -> Option<Vec<Range<usize>>> {
    let mut i = text.word_end(at);
    loop {
        i = text.skip_blank(i);
        match text.chars().get(i)? {
            '(' => return Some(text.items(i)),
            ':' => i += 1,
            c if is_word(*c) => i = text.word_end(i),
            _ => return None,
        }
    }
}

/// The entries of the first map literal in a range: key and value.
pub fn entries(text: &Text, range: &Range<usize>) -> Option<Vec<(Range<usize>, Range<usize>)>> {
    let open = text.find(range, "#{")? + 1;
    let split = |item: &Range<usize>| {
        let colon = text.find(item, ":")?;
        let key = item.start..item.start + trimmed_length(text, item.start, colon);
        Some((key, text.skip_blank(colon + 1).min(item.end)..item.end))
    };
    Some(text.items(open).iter().filter_map(split).collect())
}

fn trimmed_length(text: &Text, start: usize, end: usize) -> usize {
    text.slice(&(start..end)).trim_end().chars().count()
}

/// Follows a path from a call.
pub fn find(text: &Text, at: usize, path: &[Step]) -> Found {
    let word = at..text
        .word_end(at)
        .max(at + 1)
        .min(text.chars().len().max(at + 1));
    let mut found = Found {
        key: None,
        value: word,
        whole: true,
    };
    let mut arguments = arguments(text, at);
    for step in path {
        let next = match step {
            Step::Arg(n) => arguments
                .take()
                .and_then(|a| a.get(*n).cloned())
                .map(|v| (None, v)),
            Step::Key(name) => key_in(text, &found.value, name).map(|(k, v)| (Some(k), v)),
            Step::Item(n) => item_in(text, &found.value, *n).map(|v| (None, v)),
        };
        match next {
            Some((key, value)) => {
                found = Found {
                    key,
                    value,
                    whole: true,
                }
            }
            None => {
                return Found {
                    whole: false,
                    ..found
                };
            }
        }
    }
    found
}

fn key_in(text: &Text, range: &Range<usize>, name: &str) -> Option<(Range<usize>, Range<usize>)> {
    let kept = || text.map_named(&text.slice(range), range.start);
    let here = entries(text, range)
        .or_else(|| entries(text, &kept()?))
        .unwrap_or_default();
    let named = |(key, _): &(Range<usize>, Range<usize>)| text.slice(key).trim_matches('"') == name;
    here.into_iter().find(named)
}

fn item_in(text: &Text, range: &Range<usize>, n: usize) -> Option<Range<usize>> {
    let first = *text.chars().get(range.start)?;
    (first == '[')
        .then(|| text.items(range.start))
        .and_then(|items| items.get(n).cloned())
}
