//! Where a number of the tables is from.

use std::fmt;

/// Where a number is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Read in the text named.
    Read(&'static str),
    /// From memory; the publication named was not at hand.
    Memory(&'static str),
    /// Common practice, without a text behind it.
    Common,
    /// Worked out from what is named.
    Derived(&'static str),
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Source::Read(text) => write!(f, "{text}"),
            Source::Memory(text) => write!(f, "from memory: {text}"),
            Source::Common => write!(f, "common practice"),
            Source::Derived(text) => write!(f, "worked out: {text}"),
        }
    }
}

/// A number, or a range, with where it is from. The unit is that of the field that holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sourced {
    /// The value, or the low end of a range.
    pub low: f64,
    /// The high end; the same as `low` for one value.
    pub high: f64,
    /// Where it is from.
    pub source: Source,
    /// Whether the source leaves it open: print a warning with it.
    pub doubtful: bool,
}

impl Sourced {
    /// One value.
    pub const fn one(value: f64, source: Source) -> Sourced {
        Sourced::range(value, value, source)
    }

    /// A range.
    pub const fn range(low: f64, high: f64, source: Source) -> Sourced {
        Sourced {
            low,
            high,
            source,
            doubtful: false,
        }
    }

    /// The same, marked doubtful.
    pub const fn doubtful(self) -> Sourced {
        Sourced {
            doubtful: true,
            ..self
        }
    }

    /// The value, or the range as `555 to 615`; a doubtful one ends in ` ?`.
    pub fn text(&self) -> String {
        let mark = if self.doubtful { " ?" } else { "" };
        if self.low == self.high {
            format!("{}{mark}", self.low)
        } else {
            format!("{} to {}{mark}", self.low, self.high)
        }
    }
}
