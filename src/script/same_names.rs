//! Functions of two files with one name: the engine (rhai 1.27) remembers which function a name stood for, and may run
//! one file's in place of the other's. So that a part never takes a wrong number from it, this is a fault.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::fault::Fault;
use crate::script::state::State;
use crate::script::text::{Text, is_word};

/// A function of a file.
#[derive(Debug, Clone)]
struct Function {
    name: String,
    takes: usize,
    /// Its name in the text.
    place: Range<usize>,
}

/// The functions of a file, and which names it calls without saying whose they are.
#[derive(Debug, Clone)]
pub struct Functions {
    file: String,
    own: Vec<Function>,
    called: BTreeSet<String>,
}

/// Enters a file's functions; the faults of those that may be taken for another file's.
pub fn clashes(file: &str, text: &Text, state: &mut State) -> Vec<Fault> {
    let functions = Functions::of(file, text);
    let faults = state
        .functions
        .iter()
        .flat_map(|other| functions.clashes(other))
        .map(|(function, other)| {
            let (name, takes) = (&function.name, function.takes);
            let values = if takes == 1 { "value" } else { "values" };
            Fault::new(format!(
                "{other} has a function {name} of {takes} {values} too, and a call of {name} could run either"
            ))
            .at(text.span(&function.place))
            .hint(format!("give one of them another name: {name}_here, say"))
        })
        .collect();
    state.functions.push(functions);
    faults
}

impl Functions {
    /// The functions of a file's text.
    pub fn of(file: &str, text: &Text) -> Functions {
        let mut found = Functions {
            file: file.to_string(),
            own: Vec::new(),
            called: BTreeSet::new(),
        };
        let mut declares = false;
        let mut i = 0;
        while let Some(&c) = text.chars().get(i) {
            if let Some(end) = text.past_opaque(i) {
                i = end;
                continue;
            }
            if !is_word(c) {
                i += 1;
                continue;
            }
            let place = i..text.word_end(i);
            let name = text.slice(&place);
            let open = text.skip_blank(place.end);
            if text.chars().get(open) == Some(&'(') {
                let takes = text.items(open).len();
                if declares {
                    found.own.push(Function {
                        name: name.clone(),
                        takes,
                        place: place.clone(),
                    });
                } else if text.before(place.start) != Some(':') {
                    found.called.insert(name.clone());
                }
            }
            declares = name == "fn";
            i = place.end;
        }
        found
    }

    /// The functions here that could be taken for one of another file, with that file.
    fn clashes<'a>(
        &'a self,
        other: &'a Functions,
    ) -> impl Iterator<Item = (&'a Function, &'a str)> {
        let by_name =
            move |name: &String| self.called.contains(name) || other.called.contains(name);
        let twin = move |f: &Function| {
            let mut theirs = other.own.iter();
            theirs.any(|o| (&o.name, o.takes) == (&f.name, f.takes)) && by_name(&f.name)
        };
        self.own
            .iter()
            .filter(move |f| twin(f))
            .map(|f| (f, other.file.as_str()))
    }
}
