//! ISO 8062: casting tolerances (CT) and required machining allowances (RMA).
//!
//! CT rows to 400 mm, and 400 to 630 mm as far as CT12, were read in ISO 8062-3:2007 Table 2; the rest is
//! from memory of ISO 8062:1994 Table 1. RMA is from memory of ISO 8062:1994 Table 2; its column G was
//! checked to 1000 mm against a German casting design guide.
//!
//! A row holds for sizes over the row before it and up to its own. The row is chosen by the part's largest
//! dimension. Per face (worked out from the standard's formulas, half of the two-face and bore sums):
//! a flat face gets RMA + CT/2, the side of a bore or of a round body RMA + CT/4.

use std::fmt;

use super::source::Source;

/// Sizes up to which the CT rows hold (mm).
const CT_UP_TO_MM: [f64; 12] = [
    10.0, 16.0, 25.0, 40.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1600.0,
];

/// A cell that the standard leaves empty.
const NONE: f64 = 0.0;

/// Total tolerance width (mm); a row a size, a column a grade from CT1 to CT16.
#[rustfmt::skip]
const CT_MM: [[f64; 16]; 12] = [
    [0.09, 0.13, 0.18, 0.26, 0.36, 0.52, 0.74, 1.0, 1.5, 2.0, 2.8, 4.2, NONE, NONE, NONE, NONE],
    [0.10, 0.14, 0.20, 0.28, 0.38, 0.54, 0.78, 1.1, 1.6, 2.2, 3.0, 4.4, NONE, NONE, NONE, NONE],
    [0.11, 0.15, 0.22, 0.30, 0.42, 0.58, 0.82, 1.2, 1.7, 2.4, 3.2, 4.6,  6.0,  8.0, 10.0, 12.0],
    [0.12, 0.17, 0.24, 0.32, 0.46, 0.64, 0.90, 1.3, 1.8, 2.6, 3.6, 5.0,  7.0,  9.0, 11.0, 14.0],
    [0.13, 0.18, 0.26, 0.36, 0.50, 0.70, 1.00, 1.4, 2.0, 2.8, 4.0, 5.6,  8.0, 10.0, 12.0, 16.0],
    [0.14, 0.20, 0.28, 0.40, 0.56, 0.78, 1.10, 1.6, 2.2, 3.2, 4.4, 6.0,  9.0, 11.0, 14.0, 18.0],
    [0.15, 0.22, 0.30, 0.44, 0.62, 0.88, 1.20, 1.8, 2.5, 3.6, 5.0, 7.0, 10.0, 12.0, 16.0, 20.0],
    [NONE, 0.24, 0.34, 0.50, 0.70, 1.00, 1.40, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 14.0, 18.0, 22.0],
    [NONE, NONE, 0.40, 0.56, 0.78, 1.10, 1.60, 2.2, 3.2, 4.4, 6.2, 9.0, 12.0, 16.0, 20.0, 25.0],
    [NONE, NONE, NONE, 0.64, 0.90, 1.20, 1.80, 2.6, 3.6, 5.0, 7.0, 10.0, 14.0, 18.0, 22.0, 28.0],
    [NONE, NONE, NONE, NONE, 1.00, 1.40, 2.00, 2.8, 4.0, 6.0, 8.0, 11.0, 16.0, 20.0, 25.0, 32.0],
    [NONE, NONE, NONE, NONE, NONE, 1.60, 2.20, 3.2, 4.6, 7.0, 9.0, 13.0, 18.0, 23.0, 29.0, 37.0],
];

/// The grades of machining allowance.
const RMA_GRADES: [char; 10] = ['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H', 'J', 'K'];

/// Sizes up to which the RMA rows hold (mm).
const RMA_UP_TO_MM: [f64; 9] = [
    40.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1600.0,
];

/// Required machining allowance (mm); a row a size, a column a grade.
#[rustfmt::skip]
const RMA_MM: [[f64; 10]; 9] = [
    [0.1, 0.1, 0.2, 0.3, 0.4, 0.5, 0.5,  0.7,  1.0,  1.4],
    [0.1, 0.2, 0.3, 0.3, 0.4, 0.5, 0.7,  1.0,  1.4,  2.0],
    [0.2, 0.3, 0.4, 0.5, 0.7, 1.0, 1.4,  2.0,  2.8,  4.0],
    [0.3, 0.4, 0.5, 0.8, 1.1, 1.5, 2.2,  3.0,  4.0,  6.0],
    [0.3, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8,  4.0,  5.5,  8.0],
    [0.4, 0.7, 0.9, 1.3, 1.8, 2.5, 3.5,  5.0,  7.0, 10.0],
    [0.5, 0.8, 1.1, 1.5, 2.2, 3.0, 4.0,  6.0,  9.0, 12.0],
    [0.6, 0.9, 1.2, 1.8, 2.5, 3.5, 5.0,  7.0, 10.0, 14.0],
    [0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.5,  8.0, 11.0, 16.0],
];

/// What the tables can't answer.
#[derive(Debug, Clone, PartialEq)]
pub enum TableFault {
    /// A machining allowance grade that isn't one.
    UnknownAllowance {
        /// As given.
        grade: String,
    },
    /// A casting tolerance grade that isn't one.
    UnknownTolerance {
        /// As given.
        grade: String,
    },
    /// A size that the tables don't reach, or none at all.
    OutOfRange {
        /// The size (mm).
        size_mm: f64,
        /// The largest that the tables hold (mm).
        most_mm: f64,
    },
    /// The standard leaves this grade empty at this size.
    EmptyCell {
        /// The casting tolerance grade.
        ct: u8,
        /// The size (mm).
        size_mm: f64,
        /// The first grade that has a value there.
        first: u8,
        /// The last one.
        last: u8,
    },
}

impl fmt::Display for TableFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TableFault::UnknownAllowance { grade } => write!(
                f,
                "\"{grade}\" is no machining allowance grade of ISO 8062; they are A to H, J and K"
            ),
            TableFault::UnknownTolerance { grade } => write!(
                f,
                "\"{grade}\" is no casting tolerance grade of ISO 8062; they are CT1 to CT16"
            ),
            TableFault::OutOfRange { size_mm, most_mm } => write!(
                f,
                "the tables of ISO 8062 hold sizes up to {most_mm} mm, and this one is {size_mm:.1} mm"
            ),
            TableFault::EmptyCell {
                ct,
                size_mm,
                first,
                last,
            } => write!(
                f,
                "ISO 8062 gives no CT{ct} at {size_mm:.1} mm; there it has CT{first} to CT{last}"
            ),
        }
    }
}

impl std::error::Error for TableFault {}

/// A cell of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// The value (mm).
    pub mm: f64,
    /// Where it is from.
    pub source: Source,
}

/// The casting tolerance (total width) of grade CT`ct` at a size in mm.
///
/// # Errors
/// A grade or a size that the table doesn't have.
pub fn casting_tolerance(ct: u8, size_mm: f64) -> Result<Cell, TableFault> {
    if !(1..=16).contains(&ct) {
        let grade = format!("CT{ct}");
        return Err(TableFault::UnknownTolerance { grade });
    }
    let row = row_of(&CT_UP_TO_MM, size_mm)?;
    let mm = CT_MM[row][usize::from(ct) - 1];
    if mm == NONE {
        let filled = |n: &u8| CT_MM[row][usize::from(*n) - 1] != NONE;
        return Err(TableFault::EmptyCell {
            ct,
            size_mm,
            first: (1..=16).find(filled).unwrap_or(1),
            last: (1..=16).rev().find(filled).unwrap_or(16),
        });
    }
    let read = CT_UP_TO_MM[row] <= 400.0 || (CT_UP_TO_MM[row] <= 630.0 && ct <= 12);
    let source = if read {
        Source::Read("ISO 8062-3:2007 Table 2")
    } else {
        Source::Memory("ISO 8062:1994 Table 1")
    };
    Ok(Cell { mm, source })
}

/// The required machining allowance of a grade for a part whose largest dimension is given in mm.
///
/// # Errors
/// A grade or a size that the table doesn't have.
pub fn machining_allowance(rma: char, largest_mm: f64) -> Result<Cell, TableFault> {
    let grade = rma.to_ascii_uppercase();
    let column = RMA_GRADES.iter().position(|g| *g == grade).ok_or_else(|| {
        TableFault::UnknownAllowance {
            grade: rma.to_string(),
        }
    })?;
    let row = row_of(&RMA_UP_TO_MM, largest_mm)?;
    Ok(Cell {
        mm: RMA_MM[row][column],
        source: Source::Memory("ISO 8062:1994 Table 2"),
    })
}

/// Machining stock by grades.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradeStock {
    /// On a flat face: RMA + CT/2 (mm).
    pub flat_mm: f64,
    /// On the side of a bore or of a round body: RMA + CT/4 (mm, on the radius).
    pub round_side_mm: f64,
}

/// Machining stock by an allowance grade and a tolerance grade, for a part whose largest dimension is given.
///
/// # Errors
/// A grade or a size that the tables don't have.
pub fn stock_of_grade(rma: char, ct: u8, largest_mm: f64) -> Result<GradeStock, TableFault> {
    let allowance_mm = machining_allowance(rma, largest_mm)?.mm;
    let tolerance_mm = casting_tolerance(ct, largest_mm)?.mm;
    Ok(GradeStock {
        flat_mm: allowance_mm + tolerance_mm / 2.0,
        round_side_mm: allowance_mm + tolerance_mm / 4.0,
    })
}

/// Reads a pair of grades as a script writes them: `"G"` and `"CT11"`.
///
/// # Errors
/// A grade that isn't one.
pub fn read_grades(rma: &str, ct: &str) -> Result<(char, u8), TableFault> {
    let unknown_rma = || TableFault::UnknownAllowance { grade: rma.into() };
    let unknown_ct = || TableFault::UnknownTolerance { grade: ct.into() };
    let mut letters = rma.trim().chars();
    let letter = letters.next().ok_or_else(unknown_rma)?.to_ascii_uppercase();
    if letters.next().is_some() || !RMA_GRADES.contains(&letter) {
        return Err(unknown_rma());
    }
    let upper = ct.trim().to_ascii_uppercase();
    let number = upper.strip_prefix("CT").map(str::trim).unwrap_or("");
    let number = number.parse::<u8>().map_err(|_| unknown_ct())?;
    if (1..=16).contains(&number) {
        Ok((letter, number))
    } else {
        Err(unknown_ct())
    }
}

/// The first row that reaches the size.
fn row_of(up_to_mm: &[f64], size_mm: f64) -> Result<usize, TableFault> {
    let most_mm = up_to_mm.last().copied().unwrap_or(0.0);
    if size_mm.is_nan() || size_mm <= 0.0 {
        return Err(TableFault::OutOfRange { size_mm, most_mm });
    }
    // A size that two sums of shop dimensions put a hair over the row's end still belongs to it.
    up_to_mm
        .iter()
        .position(|end| size_mm <= end + crate::measure::FLUSH_MM)
        .ok_or(TableFault::OutOfRange { size_mm, most_mm })
}
