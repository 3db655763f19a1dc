//! Names in a script's text: what is called, what is given a name, what a name stands for.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::script::text::{Text, is_word};

/// A name, number or keyword in the text.
pub struct Said {
    /// Where it is.
    pub range: Range<usize>,
    /// Itself.
    pub word: String,
    /// The one before it.
    pub last: String,
    /// The one before that.
    pub before_last: String,
}

impl Text {
    /// Every name, number and keyword outside strings and comments, in order.
    pub fn words(&self) -> Vec<Said> {
        let mut found = Vec::new();
        let (mut last, mut before_last) = (String::new(), String::new());
        let mut i = 0;
        while i < self.chars().len() {
            if let Some(end) = self.past_opaque(i) {
                i = end;
                continue;
            }
            if !is_word(self.chars()[i]) {
                i += 1;
                continue;
            }
            let range = i..self.word_end(i);
            i = range.end;
            let word = self.slice(&range);
            let said = Said {
                range,
                word: word.clone(),
                last: last.clone(),
                before_last,
            };
            before_last = std::mem::replace(&mut last, word);
            found.push(said);
        }
        found
    }

    /// Every place where `name(` is written as a plain call: not `.name(`, `x::name(` or `fn name(`.
    pub fn calls_of(&self, name: &str) -> Vec<Range<usize>> {
        let called = |s: &Said| self.chars().get(self.skip_blank(s.range.end)) == Some(&'(');
        let plain =
            |s: &Said| !matches!(self.before(s.range.start), Some('.' | ':')) && s.last != "fn";
        let words = self.words().into_iter();
        words
            .filter(|s| s.word == name && called(s) && plain(s))
            .map(|s| s.range)
            .collect()
    }

    /// Names that the text gives to values: after `let`, `const`, `for` and `as`, and the arguments of
    /// its functions; in order, each once.
    pub fn names_given(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for said in self.words() {
            match said.last.as_str() {
                "let" | "const" | "for" | "as" => names.push(said.word),
                "fn" => {
                    let open = self.skip_blank(said.range.end);
                    names.extend(self.items(open).iter().map(|r| self.slice(r)));
                }
                _ => {}
            }
        }
        let mut seen = BTreeSet::new();
        names.retain(|n| seen.insert(n.clone()));
        names
    }

    /// Where the map stands that was last given this name before `at`.
    pub fn map_named(&self, name: &str, at: usize) -> Option<Range<usize>> {
        let made = |s: &Said| s.word == name && matches!(s.last.as_str(), "let" | "const");
        let last = self
            .words()
            .into_iter()
            .rfind(|s| s.range.end < at && made(s))?;
        let equals = self.skip_blank(last.range.end);
        let open = self.skip_blank(equals + 1);
        let here = self.chars().get(equals) == Some(&'=') && self.chars().get(open) == Some(&'#');
        here.then(|| open..self.closed(open + 1))
    }

    /// The end of what stands between the bracket at `open` and its match.
    fn closed(&self, open: usize) -> usize {
        let last = self.items(open).last().map_or(open + 1, |r| r.end);
        self.skip_blank(last) + 1
    }
}
