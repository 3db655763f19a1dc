//! A script's text by characters, with the little reading that finding a place in it needs: lines,
//! strings, comments and matching brackets. It never judges the text; the engine does that.

use std::ops::Range;
use std::sync::Arc;

use crate::fault::Span;

/// One script or module file.
#[derive(Debug)]
pub struct Text {
    /// The file as faults name it.
    file: Arc<str>,
    chars: Vec<char>,
    /// Index of the first character of each line.
    lines: Vec<usize>,
}

impl Text {
    /// The text of a file.
    pub fn new(file: &str, source: &str) -> Text {
        let chars: Vec<char> = source.chars().collect();
        let starts = chars
            .iter()
            .enumerate()
            .filter(|(_, c)| **c == '\n')
            .map(|(i, _)| i + 1);
        let lines = std::iter::once(0).chain(starts).collect();
        Text {
            file: file.into(),
            chars,
            lines,
        }
    }

    /// All characters.
    pub fn chars(&self) -> &[char] {
        &self.chars
    }

    /// The characters of a range as a string.
    pub fn slice(&self, range: &Range<usize>) -> String {
        self.chars[range.clone()].iter().collect()
    }

    /// The index of a line and column, both from 1; the end of the text where they lie beyond it.
    pub fn index(&self, line: usize, column: usize) -> usize {
        let start = line.checked_sub(1).and_then(|l| self.lines.get(l)).copied();
        let end = self.chars.len();
        start.map_or(end, |s| (s + column.saturating_sub(1)).min(end))
    }

    /// The span of a range: its first line only, and at least one character.
    pub fn span(&self, range: &Range<usize>) -> Span {
        let line = self
            .lines
            .partition_point(|&start| start <= range.start)
            .max(1);
        let start = self.lines[line - 1];
        let on_line = (range.start..range.end).take_while(|&i| self.chars.get(i) != Some(&'\n'));
        let length = on_line.count().max(1);
        Span {
            file: self.file.clone(),
            line,
            column: range.start - start + 1,
            length,
        }
    }

    /// The span of the word (name, number or single sign) at a line and column; for a point before a
    /// name, that name.
    pub fn span_at(&self, line: usize, column: usize) -> Span {
        let mut at = self.index(line, column);
        let next = self.skip_blank(at + 1);
        if self.chars.get(at) == Some(&'.') && self.chars.get(next).is_some_and(|c| is_word(*c)) {
            at = next;
        }
        let end = self.word_end(at).max(at + 1);
        self.span(&(at..end))
    }

    /// The span of the place right behind what stands before a line and column.
    pub fn span_behind(&self, line: usize, column: usize) -> Span {
        let at = self.index(line, column);
        let blank = self.chars[..at]
            .iter()
            .rev()
            .take_while(|c| c.is_whitespace())
            .count();
        self.span(&(at - blank..at - blank))
    }

    /// Where the name that starts at `at` ends.
    pub fn word_end(&self, at: usize) -> usize {
        let rest = self.chars.get(at..).unwrap_or(&[]);
        at + rest.iter().take_while(|c| is_word(**c)).count()
    }

    /// The next index that is neither white space nor in a comment.
    pub fn skip_blank(&self, mut at: usize) -> usize {
        loop {
            while self.chars.get(at).is_some_and(|c| c.is_whitespace()) {
                at += 1;
            }
            match self.comment_end(at) {
                Some(end) => at = end,
                None => return at,
            }
        }
    }

    /// The last index before `at` that isn't white space.
    pub fn before(&self, at: usize) -> Option<char> {
        self.chars[..at.min(self.chars.len())]
            .iter()
            .rev()
            .find(|c| !c.is_whitespace())
            .copied()
    }

    /// Where the comment that starts at `at` ends.
    fn comment_end(&self, at: usize) -> Option<usize> {
        let two = (self.chars.get(at)?, self.chars.get(at + 1)?);
        let rest = &self.chars[at..];
        match two {
            ('/', '/') => Some(
                at + rest
                    .iter()
                    .position(|c| *c == '\n')
                    .map_or(rest.len(), |n| n + 1),
            ),
            ('/', '*') => {
                let mut depth = 0_usize;
                let mut i = at;
                while i + 1 < self.chars.len() {
                    match (self.chars[i], self.chars[i + 1]) {
                        ('/', '*') => (depth, i) = (depth + 1, i + 2),
                        ('*', '/') => {
                            (depth, i) = (depth - 1, i + 2);
                            if depth == 0 {
                                return Some(i);
                            }
                        }
                        _ => i += 1,
                    }
                }
                Some(self.chars.len())
            }
            _ => None,
        }
    }

    /// Where the string or character that starts at `at` ends.
    fn string_end(&self, at: usize) -> Option<usize> {
        let quote = *self.chars.get(at)?;
        if !matches!(quote, '"' | '\'' | '`') {
            return None;
        }
        let mut i = at + 1;
        while let Some(&c) = self.chars.get(i) {
            match c {
                '\\' if quote != '`' => i += 2,
                _ if c == quote => return Some(i + 1),
                _ => i += 1,
            }
        }
        Some(self.chars.len())
    }

    /// Where the raw string `#"…"#` that starts at `at` ends.
    fn raw_string_end(&self, at: usize) -> Option<usize> {
        let signs = self
            .chars
            .get(at..)?
            .iter()
            .take_while(|c| **c == '#')
            .count();
        if signs == 0 || self.chars.get(at + signs) != Some(&'"') {
            return None;
        }
        let mut close = vec!['#'; signs + 1];
        close[0] = '"';
        let body = at + signs + 1;
        let length = self.chars[body..]
            .windows(signs + 1)
            .position(|w| w == close);
        Some(length.map_or(self.chars.len(), |n| body + n + signs + 1))
    }

    /// The end of whatever stands at `at` and must be stepped over as one: a comment or a string.
    pub fn past_opaque(&self, at: usize) -> Option<usize> {
        let end = self.comment_end(at).or_else(|| self.string_end(at));
        end.or_else(|| self.raw_string_end(at))
    }

    /// Splits what stands between the bracket at `open` and its match at the commas of that level.
    /// Each range is trimmed of white space; an empty list gives none.
    pub fn items(&self, open: usize) -> Vec<Range<usize>> {
        let mut items = Vec::new();
        let mut depth = 0_usize;
        let mut start = open + 1;
        let mut i = open;
        while let Some(&c) = self.chars.get(i) {
            if let Some(end) = self.past_opaque(i) {
                i = end;
                continue;
            }
            match c {
                '(' | '[' | '{' => depth += 1,
                ')' | ']' | '}' => {
                    depth = depth.saturating_sub(1);
                    if depth == 0 {
                        break;
                    }
                }
                ',' if depth == 1 => {
                    items.push(self.trimmed(start..i));
                    start = i + 1;
                }
                _ => {}
            }
            i += 1;
        }
        let last = self.trimmed(start.min(i)..i.min(self.chars.len()));
        if !last.is_empty() {
            items.push(last);
        }
        items
    }

    /// A range without white space and comments before it, and white space after it.
    fn trimmed(&self, range: Range<usize>) -> Range<usize> {
        let start = self.skip_blank(range.start).min(range.end);
        let tail = self.chars[start..range.end].iter().rev();
        start..range.end - tail.take_while(|c| c.is_whitespace()).count()
    }

    /// The first index in a range where `wanted` stands outside strings and comments.
    pub fn find(&self, range: &Range<usize>, wanted: &str) -> Option<usize> {
        let wanted: Vec<char> = wanted.chars().collect();
        let mut i = range.start;
        while i < range.end {
            if self.chars[i..].starts_with(&wanted) {
                return Some(i);
            }
            i = self.past_opaque(i).unwrap_or(i + 1);
        }
        None
    }
}

/// Whether a character can stand in a name or number.
pub fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}
