//! Lengths as a shop writes them: `"2-3/8"`, `"3/4"`, `"20 mm"`, `"1 in"`.

use std::fmt;

/// The unit of a script's bare numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches of 25.4 mm exactly.
    Inch,
}

impl Unit {
    /// Millimetres in one of this unit.
    pub const fn mm(self) -> f64 {
        match self {
            Unit::Mm => 1.0,
            Unit::Inch => 25.4,
        }
    }

    /// The unit's symbol: `mm` or `in`.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::Mm => "mm",
            Unit::Inch => "in",
        }
    }

    /// A length in mm written in this unit, with its symbol: `4.5 mm`, `0.177 in`.
    pub fn show(self, mm: f64) -> String {
        format!("{} {}", self.number(mm), self.symbol())
    }

    /// The next length from one in mm on that is written without being rounded (mm).
    pub fn upward(self, mm: f64) -> f64 {
        let step = match self {
            Unit::Mm => 0.01,
            Unit::Inch => 1e-4 * Unit::Inch.mm(),
        };
        (mm / step - 1e-6).ceil() * step
    }

    /// A length in mm as a bare number in this unit: at most 2 decimals in mm, 4 in inches, no trailing zeros.
    pub fn number(self, mm: f64) -> String {
        let decimals = match self {
            Unit::Mm => 2,
            Unit::Inch => 4,
        };
        let text = format!("{:.*}", decimals, mm / self.mm());
        let text = text.trim_end_matches('0').trim_end_matches('.');
        if text == "-0" || text.is_empty() {
            "0".into()
        } else {
            text.into()
        }
    }
}

/// Why a text is not a length.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LengthError {
    /// No number where one is wanted.
    NotANumber {
        /// The text as given.
        text: String,
    },
    /// A fraction over zero.
    DividedByZero {
        /// The text as given.
        text: String,
    },
    /// A unit that is neither mm nor inches.
    UnknownUnit {
        /// The unit as given.
        unit: String,
    },
}

impl fmt::Display for LengthError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            LengthError::NotANumber { text } => write!(
                f,
                "\"{text}\" is not a length; write one as 9.5, \"3/4\", \"2-3/8\", \"20 mm\" or \"1 in\""
            ),
            LengthError::DividedByZero { text } => write!(f, "\"{text}\" divides by zero"),
            LengthError::UnknownUnit { unit } => {
                write!(f, "the unit \"{unit}\" is not known here; use mm or in")
            }
        }
    }
}

impl std::error::Error for LengthError {}

/// Reads a length and gives it in mm; a bare number is in `unit`.
///
/// # Errors
/// [`LengthError`] where the text is no number, divides by zero, or names another unit.
pub fn parse_length(text: &str, unit: Unit) -> Result<f64, LengthError> {
    let whole = text.trim();
    let not_a_number = || LengthError::NotANumber {
        text: text.to_string(),
    };
    let split = whole
        .find(|c: char| c.is_alphabetic() || c == '"' || c == '\'')
        .unwrap_or(whole.len());
    let (number, suffix) = (whole[..split].trim(), whole[split..].trim());
    let unit = match suffix {
        "" => unit,
        "mm" => Unit::Mm,
        "in" | "inch" | "\"" => Unit::Inch,
        other => {
            return Err(LengthError::UnknownUnit {
                unit: other.to_string(),
            });
        }
    };
    let (sign, number) = match number.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, number),
    };
    let plain = |s: &str| -> Result<f64, LengthError> {
        let s = s.trim();
        if s.is_empty() || !s.bytes().all(|b| b.is_ascii_digit() || b == b'.') {
            return Err(not_a_number());
        }
        s.parse::<f64>().map_err(|_| not_a_number())
    };
    let value = match number.split_once('/') {
        None => plain(number)?,
        Some((top, bottom)) => {
            let (whole_part, top) = match top.trim().rsplit_once(['-', ' ']) {
                Some((w, t)) => (plain(w.trim().trim_end_matches('-'))?, t),
                None => (0.0, top),
            };
            let bottom = plain(bottom)?;
            if bottom == 0.0 {
                return Err(LengthError::DividedByZero {
                    text: text.to_string(),
                });
            }
            whole_part + plain(top)? / bottom
        }
    };
    Ok(sign * value * unit.mm())
}
