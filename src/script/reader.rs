//! Reads the values that a word was given against what it declares. Every fault is recorded with the
//! place of the very key or value; a broken value from an earlier fault stays silent.

use std::sync::Arc;

use rhai::{Array, Dynamic, ImmutableString};

use crate::drawing::outline::Outline;
use crate::fault::{Fault, Site, Span};
use crate::measure::{LengthError, Unit, parse_length};
use crate::script::declare::{Key, Kind, Range};
use crate::script::find_key::{self, Step};
use crate::script::given::{Given, KEYS, Values};
use crate::script::hole_tag::hole_for;
use crate::script::say::{describe, did_you_mean, is_broken};
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
    pub(super) path: Vec<Step>,
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
            Kind::Length(range) => {
                let mm = self.length(*range, value, kind)?;
                let hole = hole_for(value, self.state.part.unit);
                Some(hole.map_or(Given::Number(mm), |hole| Given::Hole(mm, hole)))
            }
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
            Kind::FlagOrMap(keys) if value.is_map() => self.map(keys, value, kind),
            Kind::FlagOrMap(_) => match value.as_bool() {
                Ok(flag) => Some(Given::Flag(flag)),
                Err(_) => self.wrong(kind, value),
            },
            Kind::Face
            | Kind::Faces
            | Kind::FaceOrOpening
            | Kind::Group
            | Kind::GroupFace
            | Kind::Features
            | Kind::GatingPiece
            | Kind::GatingPieces
            | Kind::Names => self.reference(kind, value),
            Kind::Up if value.is_array() => self.read(&Kind::Direction, value),
            Kind::Up => self.read(&Kind::Face, value),
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
