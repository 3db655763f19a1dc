//! The one diagnostic type and the findings. Nothing else in the program formats an error.
//!
//! A [`Fault`] stops a build: the script, or an argument, can't be built. A [`Finding`] travels in a
//! build that succeeded. Both name script places; both are rendered here.

mod render;

use std::fmt;
use std::sync::Arc;

pub use render::{harmless, no_markup, render, render_all};

/// A place in a script or module file. Lines and columns count from 1; a column counts characters.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The file as the person named it, or `library bosses` for a built-in module.
    pub file: Arc<str>,
    /// Line, from 1; 0 where the place is the file as a whole.
    pub line: usize,
    /// Column in characters, from 1; 0 where the place is the whole line.
    pub column: usize,
    /// How many characters the caret line underlines; at least 1.
    pub length: usize,
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, self.column) {
            (0, _) => write!(f, "{}", self.file),
            (line, 0) => write!(f, "{}:{line}", self.file),
            (line, column) => write!(f, "{}:{line}:{column}", self.file),
        }
    }
}

/// Where a feature was made: the place of its word, and the calls that led there, innermost first.
/// For a feature made inside a library function `span` is the library's line and `calls` ends with the script's own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Site {
    /// The place of the word.
    pub span: Span,
    /// The chain of calls back to the script, innermost first; empty when the script itself called.
    pub calls: Vec<Span>,
}

impl Site {
    /// The place in the person's own script: the outermost call.
    pub fn script(&self) -> &Span {
        self.calls.last().unwrap_or(&self.span)
    }
}

/// Whether long work is still wanted. Once this says no it must not say yes again: what comes out by then is cut short, and
/// whoever asked for it throws it away.
pub type Go<'a> = &'a (dyn Fn() -> bool + Sync);

/// Something that keeps the part from being built.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Where; `None` for a fault of an argument or a folder.
    pub span: Option<Span>,
    /// What is wrong, one sentence, no full stop needed.
    pub text: String,
    /// What to do about it, one line each: nearest known word, what is accepted.
    pub hints: Vec<String>,
    /// The chain of calls back to the script, innermost first.
    pub calls: Vec<Span>,
}

impl Fault {
    /// A fault with no place yet.
    pub fn new(text: impl Into<String>) -> Fault {
        Fault {
            span: None,
            text: text.into(),
            hints: Vec::new(),
            calls: Vec::new(),
        }
    }

    /// The same fault with a place.
    pub fn at(mut self, span: Span) -> Fault {
        self.span = Some(span);
        self
    }

    /// The same fault with one more hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Fault {
        self.hints.push(hint.into());
        self
    }

    /// The same fault with the call chain of `site`, and its span where none was given.
    pub fn from_site(mut self, site: &Site) -> Fault {
        self.span.get_or_insert_with(|| site.span.clone());
        self.calls.clone_from(&site.calls);
        self
    }
}

/// One or more faults that came out together.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Faults(pub Vec<Fault>);

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Faults {
        Faults(vec![fault])
    }
}

/// The codes of all findings that this version can make; `allow` takes no other.
pub const FINDING_CODES: &[&str] = &[
    "breaks-into",
    "capped",
    "comes-through",
    "cool-metal",
    "crucible-small",
    "drill-later",
    "feather-edge",
    "few-dowels",
    "fillet-big",
    "flask-small",
    "gate-thick",
    "gate-weak",
    "heavy",
    "hot-corner",
    "in-stock",
    "kept-open",
    "loose-lump",
    "many-walls",
    "misrun",
    "no-board",
    "no-effect",
    "no-sand",
    "out-of-reach",
    "part-marked",
    "raised-thin",
    "saw-plane",
    "sharp-inside",
    "slant-wall",
    "sprue-low",
    "thin-foam",
    "thin-wall",
    "tight-corner",
    "too-deep",
    "unparted",
    "wall-cut",
];

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// It will scrap the casting or can't be made.
    Stop,
    /// A practitioner should look before cutting foam.
    Look,
    /// Worth knowing.
    Note,
}

impl Level {
    /// The word used in reports: `stop`, `look`, `note`.
    pub const fn word(self) -> &'static str {
        match self {
            Level::Stop => "stop",
            Level::Look => "look",
            Level::Note => "note",
        }
    }
}

/// What a check found on a part that could be built.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Its stable code, such as `breaks-into`.
    pub code: &'static str,
    /// How bad it is.
    pub level: Level,
    /// One sentence: what, where, how far from the limit. Lengths in the script's unit.
    pub text: String,
    /// What to change in the script.
    pub remedy: String,
    /// The stage it was found in, where it belongs to one: `finished`, `casting`.
    pub stage: Option<&'static str>,
    /// The features it is about, each with its place.
    pub features: Vec<(String, Span)>,
    /// Where on the part (mm), where it has one place.
    pub at_mm: Option<[f64; 3]>,
    /// The value found and the limit it was held against; unit by code, lengths in mm, volumes in mm³.
    pub value: Option<f64>,
    /// See `value`.
    pub limit: Option<f64>,
    /// The reason from an `allow(...)` in the script, which made this a note.
    pub allowed: Option<String>,
}

impl Finding {
    /// A finding with neither place nor value.
    pub fn new(
        code: &'static str,
        level: Level,
        text: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Finding {
        Finding {
            code,
            level,
            text: text.into(),
            remedy: remedy.into(),
            stage: None,
            features: Vec::new(),
            at_mm: None,
            value: None,
            limit: None,
            allowed: None,
        }
    }

    /// The order of reports: level, then script place, then code and text.
    pub fn order(&self, other: &Finding) -> std::cmp::Ordering {
        let place = |f: &Finding| f.features.first().map(|(_, s)| (s.line, s.column));
        self.level
            .cmp(&other.level)
            .then_with(|| place(self).cmp(&place(other)))
            .then_with(|| (self.code, &self.text).cmp(&(other.code, &other.text)))
    }
}
