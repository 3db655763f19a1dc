//! Shrink by the shrink rule: pattern = casting × (1 + s). Worked out; nothing here is measured.
//!
//! The other convention, true contraction, is casting = pattern × (1 - c); [`rule_from_contraction`] turns it.

use std::fmt;

/// Shrink in percent from inches in the foot.
pub fn percent_from_inch_per_foot(inch_per_foot: f64) -> f64 {
    inch_per_foot / 12.0 * 100.0
}

/// Inches in the foot from a shrink in percent.
pub fn inch_per_foot_from_percent(percent: f64) -> f64 {
    percent * 12.0 / 100.0
}

/// What the casting is multiplied by to give the pattern.
pub fn pattern_scale(percent: f64) -> f64 {
    1.0 + percent / 100.0
}

/// Shrink by the shrink rule (percent) from a true contraction (percent of the pattern).
pub fn rule_from_contraction(contraction_percent: f64) -> f64 {
    100.0 * contraction_percent / (100.0 - contraction_percent)
}

/// A test bar that can't be right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BarFault {
    /// A length that is not a size: zero, negative or not a number.
    NotALength {
        /// Whose: `pattern` or `casting`.
        of: &'static str,
        /// As given (mm).
        length_mm: f64,
    },
    /// The casting came out larger than the pattern, or so much smaller that no casting metal does it.
    NotAShrink {
        /// What the two lengths give (percent).
        percent: f64,
    },
}

/// No casting metal shrinks more than this (percent): magnesium and steels stay under 2.7.
const MOST_SHRINK_PERCENT: f64 = 5.0;

impl fmt::Display for BarFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            BarFault::NotALength { of, length_mm } => {
                write!(f, "the {of}'s length can't be {length_mm} mm")
            }
            BarFault::NotAShrink { percent } => write!(
                f,
                "the two lengths give a shrink of {percent:.2} %; no casting metal does that (0 to {MOST_SHRINK_PERCENT} %)"
            ),
        }
    }
}

impl std::error::Error for BarFault {}

/// Shrink in percent from one's own test bar: its length as pattern and as cold casting.
///
/// # Errors
/// [`BarFault`] where a length is no size, or the two can't belong together.
pub fn measured_percent(pattern_mm: f64, casting_mm: f64) -> Result<f64, BarFault> {
    for (of, length_mm) in [("pattern", pattern_mm), ("casting", casting_mm)] {
        if !(length_mm.is_finite() && length_mm > 0.0) {
            return Err(BarFault::NotALength { of, length_mm });
        }
    }
    let percent = (pattern_mm / casting_mm - 1.0) * 100.0;
    if (0.0..=MOST_SHRINK_PERCENT).contains(&percent) {
        Ok(percent)
    } else {
        Err(BarFault::NotAShrink { percent })
    }
}
