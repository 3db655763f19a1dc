//! Reads the values that a word was given against what it declares. Every fault is recorded with the
//! place of the very key or value; a broken value from an earlier fault stays silent.

use std::sync::Arc;

use rhai::{Array, Dynamic, ImmutableString, Map};

use crate::drawing::given::{FaceRef, Handle};
use crate::drawing::outline::Outline;
use crate::fault::{Fault, Site, Span};
use crate::measure::{LengthError, Unit, parse_length};
use crate::script::declare::{Key, Keys, Kind, Need, Range, Rule};
use crate::script::find_key::{self, Step};
use crate::script::given::{Given, KEYS, Values};
use crate::script::nearest::nearest;
use crate::script::state::{Broken, State};
use crate::script::text::Text;

/// Where the caret goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Caret {
    /// Under the word.
    Word,
    /// Under the key of the last step.
    Key,
    /// Under the value that the path leads to.
    Value,
}

/// Reads one call.
pub struct Reader<'a> {
    /// What words share.
    pub state: &'a mut State,
    /// Where the call stands.
    pub site: &'a Site,
    /// The word, as messages name it.
    pub word: &'a str,
    /// Whether a value was broken by an earlier fault.
    pub broken: bool,
    /// Faults of this call.
    pub faults: Vec<Fault>,
    text: Option<Arc<Text>>,
    at: usize,
    path: Vec<Step>,
    argument: &'static str,
}

impl<'a> Reader<'a> {
    /// A reader of the call at `site`.
    pub fn new(state: &'a mut State, site: &'a Site, word: &'a str) -> Reader<'a> {
        let text = state.text(&site.span.file);
        let at = text
            .as_ref()
            .map_or(0, |t| t.index(site.span.line, site.span.column));
        let (path, faults) = (Vec::new(), Vec::new());
        Reader {
            state,
            site,
            word,
            broken: false,
            faults,
            text,
            at,
            path,
            argument: "",
        }
    }

    /// Where a caret goes.
    pub fn span(&self, caret: Caret) -> Span {
        let Some(text) = self.text.as_ref().filter(|_| caret != Caret::Word) else {
            return self.site.span.clone();
        };
        let found = find_key::find(text, self.at, &self.path);
        match (caret, found.key) {
            (Caret::Key, Some(key)) => text.span(&key),
            _ => text.span(&found.value),
        }
    }

    /// Records a fault.
    pub fn fault(&mut self, caret: Caret, text: impl Into<String>, hints: Vec<String>) {
        let span = self.span(caret);
        let calls = self.site.calls.clone();
        self.faults.push(Fault {
            span: Some(span),
            text: text.into(),
            hints,
            calls,
        });
    }

    /// Does something one step further in.
    pub fn within<T>(&mut self, step: Step, read: impl FnOnce(&mut Self) -> T) -> T {
        self.path.push(step);
        let result = read(self);
        self.path.pop();
        result
    }

    /// How messages name the value being read: its key or argument, and the item.
    pub fn label(&self) -> String {
        let mut label = match self.argument {
            KEYS => "this word".to_string(),
            argument => format!("`{argument}`"),
        };
        for step in &self.path {
            match step {
                Step::Key(key) => label = format!("`{key}`"),
                Step::Item(n) => label = format!("{label} item {}", n + 1),
                Step::Arg(_) => {}
            }
        }
        label
    }

    /// Records that the value is of another kind than `kind`.
    pub fn wrong(&mut self, kind: &Kind, value: &Dynamic) -> Option<Given> {
        let text = format!(
            "{} takes {}, not {}",
            self.label(),
            kind.accepts(),
            describe(value)
        );
        self.fault(Caret::Value, text, Vec::new());
        None
    }

    /// Reads the arguments of a word.
    pub fn arguments(&mut self, takes: &'static [Key], arguments: &[Dynamic]) -> Values {
        let mut values = Values::default();
        for (n, (key, value)) in takes.iter().zip(arguments).enumerate() {
            self.argument = key.name;
            let given = self.within(Step::Arg(n), |r| r.read(&key.kind, value));
            if let Some(given) = given {
                values.put(key.name, given);
            }
        }
        values
    }

    /// Reads a value of a kind; `None` where it is faulty or broken, which is recorded.
    pub fn read(&mut self, kind: &Kind, value: &Dynamic) -> Option<Given> {
        if value.is::<Broken>() {
            self.broken = true;
            return None;
        }
        match kind {
            Kind::Length(range) => self.length(*range, value, kind).map(Given::Number),
            Kind::Number(range) => {
                let n = self.number(value, kind)?;
                self.in_range(n, *range, value).map(Given::Number)
            }
            Kind::Fraction => self.fraction(value, kind),
            Kind::Degrees(least, most) => self.degrees(*least, *most, value, kind),
            Kind::Count(least) => self.count(*least, value, kind),
            Kind::Flag => match value.as_bool() {
                Ok(flag) => Some(Given::Flag(flag)),
                Err(_) => self.wrong(kind, value),
            },
            Kind::Text => self.text(value, kind).map(Given::Text),
            Kind::Name => self.name(value, kind).map(Given::Text),
            Kind::Choice(words) => self.choice(words, value, kind).map(Given::Text),
            Kind::Scalar => self.scalar(value, kind),
            Kind::Through => self.through(value, kind),
            Kind::Outline => match value.clone().try_cast::<Outline>() {
                Some(outline) => Some(Given::Outline(outline)),
                None => self.wrong(kind, value),
            },
            Kind::Section => self.section(value, kind),
            Kind::Side => self.side(value, kind),
            Kind::Map(keys) => self.map(keys, value, kind),
            Kind::NameOrMap(keys) if value.is_map() => self.map(keys, value, kind),
            Kind::NameOrMap(_) => self.name(value, kind).map(Given::Text),
            Kind::Face
            | Kind::Faces
            | Kind::FaceOrOpening
            | Kind::Group
            | Kind::GroupFace
            | Kind::Features
            | Kind::Names => self.reference(kind, value),
            _ => self.shape(kind, value),
        }
    }

    /// A length in mm.
    pub fn length(&mut self, range: Range, value: &Dynamic, kind: &Kind) -> Option<f64> {
        let mm = if let Some(text) = value.read_lock::<ImmutableString>() {
            match parse_length(&text, self.state.part.unit) {
                Ok(mm) => mm,
                Err(error) => {
                    // A text without any number is no length, whatever its letters are.
                    let bare = !text.contains(|c: char| c.is_ascii_digit());
                    let error = if bare {
                        LengthError::NotANumber {
                            text: text.to_string(),
                        }
                    } else {
                        error
                    };
                    let text = format!("{}: {error}", self.label());
                    self.fault(Caret::Value, text, Vec::new());
                    return None;
                }
            }
        } else {
            self.number(value, kind)? * self.state.part.unit.mm()
        };
        self.length_used();
        self.in_range(mm, range, value)
    }

    /// From here on the unit is fixed.
    pub fn length_used(&mut self) {
        let span = &self.site.span;
        self.state.length_at.get_or_insert_with(|| span.clone());
    }

    /// A finite number.
    pub fn number(&mut self, value: &Dynamic, kind: &Kind) -> Option<f64> {
        let number = match (value.as_float(), value.as_int()) {
            (Ok(n), _) => n,
            (_, Ok(n)) => n as f64,
            _ => {
                self.wrong(kind, value);
                return None;
            }
        };
        if !number.is_finite() {
            let text = format!("{} is not a finite number", self.label());
            self.fault(
                Caret::Value,
                text,
                vec![format!("{} takes {}", self.label(), kind.accepts())],
            );
            return None;
        }
        Some(number)
    }

    /// A number that may be written as a text; no unit.
    fn fraction(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let Some(text) = value.read_lock::<ImmutableString>() else {
            return self.number(value, kind).map(Given::Number);
        };
        let plain = !text.chars().any(char::is_alphabetic);
        match parse_length(&text, Unit::Mm).ok().filter(|_| plain) {
            Some(number) => Some(Given::Number(number)),
            None => self.wrong(kind, value),
        }
    }

    fn in_range(&mut self, number: f64, range: Range, value: &Dynamic) -> Option<f64> {
        let wanted = match range {
            Range::Any => return Some(number),
            Range::OrZero if number >= 0.0 => return Some(number),
            Range::Positive if number > 0.0 => return Some(number),
            Range::OrZero => "must be 0, which means none, or more",
            Range::Positive => "must be over 0",
        };
        let text = format!("{} {wanted}, not {value}", self.label());
        self.fault(Caret::Value, text, Vec::new());
        None
    }

    fn degrees(&mut self, least: f64, most: f64, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let degrees = self.number(value, kind)?;
        if (least..=most).contains(&degrees) {
            return Some(Given::Number(degrees));
        }
        let text = format!("{} must be {}, not {degrees}", self.label(), kind.accepts());
        self.fault(Caret::Value, text, Vec::new());
        None
    }

    fn count(&mut self, least: i64, value: &Dynamic, kind: &Kind) -> Option<Given> {
        const MOST: i64 = 10_000;
        let whole = value
            .as_float()
            .ok()
            .filter(|f| f.fract() == 0.0 && f.abs() < 1e9);
        match value.as_int().ok().or(whole.map(|f| f as i64)) {
            Some(n) if n > MOST => {
                let text = format!("{} must not be over {MOST}", self.label());
                self.fault(Caret::Value, text, Vec::new());
                None
            }
            Some(n) if n >= least => Some(Given::Count(n)),
            _ => self.wrong(kind, value),
        }
    }

    /// A text.
    pub fn text(&mut self, value: &Dynamic, kind: &Kind) -> Option<String> {
        let text = value.read_lock::<ImmutableString>().map(|t| t.to_string());
        if text.is_none() {
            self.wrong(kind, value);
        }
        text
    }

    fn name(&mut self, value: &Dynamic, kind: &Kind) -> Option<String> {
        let name = self.text(value, kind)?;
        if name.trim().is_empty() {
            let text = format!("{} must not be empty", self.label());
            self.fault(Caret::Value, text, Vec::new());
            return None;
        }
        Some(name)
    }

    fn choice(&mut self, words: &[&'static str], value: &Dynamic, kind: &Kind) -> Option<String> {
        let text = self.text(value, kind)?;
        if words.contains(&text.as_str()) {
            return Some(text);
        }
        let said = format!("{} takes {}, not \"{text}\"", self.label(), kind.accepts());
        self.fault(
            Caret::Value,
            said,
            did_you_mean(&text, words.iter().copied()),
        );
        None
    }

    fn scalar(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        if value.is_float() || value.is_int() {
            self.number(value, kind)?;
        } else if !value.is_bool() && !value.is_string() {
            return self.wrong(kind, value);
        }
        Some(Given::Scalar(value.clone()))
    }

    fn through(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let all = value
            .read_lock::<ImmutableString>()
            .is_some_and(|t| t.as_str() == "all");
        match value.as_bool() {
            Ok(true) => Some(Given::Flag(false)),
            _ if all => Some(Given::Flag(true)),
            _ => {
                let label = self.label();
                let text = format!("{label} takes {}, not {}", kind.accepts(), describe(value));
                let hint = "for an opening that ends in the metal say `depth` or `to` instead";
                self.fault(Caret::Value, text, vec![hint.into()]);
                None
            }
        }
    }

    fn section(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        if let Some(outline) = value.clone().try_cast::<Outline>() {
            return Some(Given::Outline(outline));
        }
        let dia = self.length(Range::Positive, value, kind)?;
        Some(Given::Outline(Outline::disc(dia)))
    }

    fn side(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        const SIDES: [(&str, f64); 4] = [
            ("right", 0.0),
            ("back", 90.0),
            ("left", 180.0),
            ("front", 270.0),
        ];
        if !value.is_string() {
            return self.number(value, kind).map(Given::Number);
        }
        let text = self.text(value, kind)?;
        if let Some((_, degrees)) = SIDES.iter().find(|(name, _)| *name == text) {
            return Some(Given::Number(*degrees));
        }
        let said = format!("{} takes {}, not \"{text}\"", self.label(), kind.accepts());
        self.fault(
            Caret::Value,
            said,
            did_you_mean(&text, SIDES.iter().map(|(n, _)| *n)),
        );
        None
    }

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
            let (names, must) = match rule {
                Rule::One(names) => (*names, true),
                Rule::AtMostOne(names) => (*names, false),
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
                [first, second, ..] => {
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

    /// A list.
    pub fn list(&mut self, value: &Dynamic, kind: &Kind) -> Option<Array> {
        match value.clone().try_cast::<Array>() {
            Some(list) => Some(list),
            None => {
                self.wrong(kind, value);
                None
            }
        }
    }

    /// Whether any value in a list, or the value itself, is broken; remembers it.
    pub fn any_broken(&mut self, value: &Dynamic) -> bool {
        let broken = is_broken(value);
        self.broken |= broken;
        broken
    }
}

/// Whether a value holds one that an earlier fault broke.
pub fn is_broken(value: &Dynamic) -> bool {
    if let Some(list) = value.read_lock::<Array>() {
        return list.iter().any(is_broken);
    }
    if let Some(map) = value.read_lock::<Map>() {
        return map.values().any(is_broken);
    }
    value.is::<Broken>()
}

/// `did you mean …?`, where a known word is near.
pub fn did_you_mean<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Vec<String> {
    nearest(word, known)
        .map(|near| format!("did you mean `{near}`?"))
        .into_iter()
        .collect()
}

/// Names in back ticks, comma between them.
pub fn listed<'k>(names: impl IntoIterator<Item = &'k str>) -> String {
    names
        .into_iter()
        .map(|n| format!("`{n}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

/// `a`, `b` or `c`.
pub fn either(names: &[&str]) -> String {
    match names {
        [rest @ .., last] if !rest.is_empty() => {
            format!("{} or `{last}`", listed(rest.iter().copied()))
        }
        _ => listed(names.iter().copied()),
    }
}

/// What a value is, in words.
pub fn describe(value: &Dynamic) -> String {
    if let Some(text) = value.read_lock::<ImmutableString>() {
        let short: String = text.chars().take(30).collect();
        return format!("the text \"{short}\"");
    }
    if let Some(handle) = value.read_lock::<Handle>() {
        return format!("the feature \"{}\"", handle.name);
    }
    if let Some(list) = value.read_lock::<Array>() {
        return format!("a list of {}", list.len());
    }
    if value.is_int() || value.is_float() {
        return format!("the number {value}");
    }
    let kind = match () {
        () if value.is_bool() => "true or false",
        () if value.is_map() => "a map #{ … }",
        () if value.is_unit() => "nothing",
        () if value.is::<Outline>() => "an outline",
        () if value.is::<FaceRef>() => "a face",
        () if value.is_char() => "a letter in single quotes",
        () if value.is_fnptr() => "a function",
        () => "another kind of value",
    };
    kind.into()
}
