//! Reads maps: which keys there are, which are missing, what holds between them.

use rhai::{Dynamic, Map};

use crate::script::declare::{Keys, Kind, Need, Rule};
use crate::script::find_key::Step;
use crate::script::given::{Given, Values};
use crate::script::nearest::nearest;
use crate::script::reader::{Caret, Reader};
use crate::script::say::{did_you_mean, either, listed};

impl Reader<'_> {
    /// Reads a map; its keys are checked even where one of them is faulty.
    pub fn map(&mut self, keys: &'static Keys, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let Some(map) = value.read_lock::<Map>() else {
            return self.wrong(kind, value);
        };
        let known = self.faults.len();
        let mut values = Values::default();
        for (name, value) in map.iter() {
            let step = Step::Key(name.to_string());
            let given = self.within(step, |r| match keys.key(name) {
                Some(key) => Some((key.name, r.read(&key.kind, value)?)),
                None => r.unknown_key(keys, name),
            });
            if let Some((name, given)) = given {
                values.put(name, given);
            }
        }
        // A key that is only mistyped isn't missing.
        let meant = map.keys().filter(|k| keys.key(k).is_none());
        let meant: Vec<&str> = meant
            .filter_map(|k| nearest(k, keys.all().map(|k| k.name)))
            .collect();
        let has = |name: &str| map.contains_key(name) || meant.contains(&name);
        self.missing(keys, &has);
        self.rules(keys, &has);
        (self.faults.len() == known && !self.broken).then_some(Given::Map(values))
    }

    fn unknown_key(&mut self, keys: &'static Keys, name: &str) -> Option<(&'static str, Given)> {
        let mut hints = did_you_mean(name, keys.all().map(|k| k.name));
        hints.push(format!(
            "{} takes {}",
            self.owner(1),
            listed(keys.all().map(|k| k.name))
        ));
        let text = format!("{} has no key `{name}`", self.owner(1));
        self.fault(Caret::Key, text, hints);
        None
    }

    /// The word, or the key whose map is read, `up` steps out.
    fn owner(&self, up: usize) -> String {
        let outer = &self.path[..self.path.len().saturating_sub(up)];
        let key = outer.iter().rev().find_map(|s| match s {
            Step::Key(k) => Some(k.as_str()),
            _ => None,
        });
        format!("`{}`", key.unwrap_or(self.word))
    }

    /// Where what is said of a whole map stands: the word, or the key that holds the map.
    fn whole(&self) -> Caret {
        if matches!(self.path.last(), Some(Step::Key(_))) {
            Caret::Key
        } else {
            Caret::Word
        }
    }

    fn missing(&mut self, keys: &'static Keys, has: &dyn Fn(&str) -> bool) {
        let must = keys.all().filter(|k| k.need == Need::Must && !has(k.name));
        for key in must {
            let text = format!("{} needs `{}`", self.owner(0), key.name);
            let hint = format!(
                "`{}`: {}; it takes {}",
                key.name,
                key.help,
                key.kind.accepts()
            );
            self.fault(self.whole(), text, vec![hint]);
        }
    }

    fn rules(&mut self, keys: &'static Keys, has: &dyn Fn(&str) -> bool) {
        for rule in keys.rules {
            let (names, must, most) = match rule {
                Rule::One(names) => (*names, true, 1),
                Rule::Some(names) => (*names, true, names.len()),
                Rule::AtMostOne(names) => (*names, false, 1),
                Rule::Needs(first, second) => {
                    if has(first) && !has(second) {
                        let text = format!("`{first}` needs `{second}` beside it");
                        self.within(Step::Key((*first).into()), |r| {
                            r.fault(Caret::Key, text, Vec::new())
                        });
                    }
                    continue;
                }
            };
            let given: Vec<&str> = names.iter().copied().filter(|n| has(n)).collect();
            match given[..] {
                [] if must => {
                    let hints = names.iter().filter_map(|n| keys.key(n));
                    let hints = hints.map(|k| format!("`{}`: {}", k.name, k.help)).collect();
                    let text = format!("{} needs {}", self.owner(0), either(names));
                    self.fault(self.whole(), text, hints);
                }
                [first, second, ..] if given.len() > most => {
                    let text = format!("`{first}` and `{second}` can't both be given");
                    let hint = format!("{} takes {}", self.owner(0), either(names));
                    self.within(Step::Key(second.into()), |r| {
                        r.fault(Caret::Key, text, vec![hint])
                    });
                }
                _ => {}
            }
        }
    }
}
