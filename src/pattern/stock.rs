//! How much stock each marked surface gets.

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::drawing::feature::Form;
use crate::drawing::given::FeatureId;
use crate::drawing::marks::Slot;
use crate::drawing::part::StockRule;
use crate::fault::{Fault, Faults};

/// Stock in mm for every marked surface; for a round wall, on the radius.
pub type Stocks = BTreeMap<(FeatureId, Slot), f64>;

/// Stock of a grade: for a flat face, and for the side of a bore (mm).
pub type GradeStock<'a> = &'a dyn Fn(char, u8, f64) -> Result<(f64, f64), String>;

/// Settles every mark's amount. `largest_mm` is the finished part's largest dimension; `grade` gives the
/// allowance of a grade pair at that size.
///
/// # Errors
/// A mark without an amount where no rule is set; a grade that its table doesn't have.
pub fn settle_stock(part: &Part, largest_mm: f64, grade: GradeStock) -> Result<Stocks, Faults> {
    let mut stocks = Stocks::new();
    let mut faults = Vec::new();
    for ((id, slot), given) in part.marked() {
        let amount = match (given, part.stock) {
            (Some(mm), _) => Ok(mm),
            (None, StockRule::Flat(mm)) => Ok(mm),
            (None, StockRule::Grade { rma, ct }) => {
                grade(rma, ct, largest_mm).map(|(flat, side)| {
                    if is_round_wall(part, id, slot) {
                        side
                    } else {
                        flat
                    }
                })
            }
            (None, StockRule::None) => {
                Err("this mark gives no amount, and the script sets none".to_string())
            }
        };
        match amount {
            Ok(mm) if mm > 0.0 => {
                stocks.insert((id, slot), mm);
            }
            Ok(_) => {}
            Err(text) => faults.push(Fault::new(text).from_site(&part.features[id].site)),
        }
    }
    if faults.is_empty() {
        Ok(stocks)
    } else {
        Err(Faults(faults))
    }
}

/// Whether the surface is the side of a bore or of a round body: its two sides share the casting tolerance.
fn is_round_wall(part: &Part, id: FeatureId, slot: Slot) -> bool {
    match (&part.features[id].form, slot) {
        (_, Slot::Wall | Slot::Outside) => true,
        (Form::Turned(t), Slot::Run(i)) => {
            let (a, b) = (&t.profile[i], &t.profile[(i + 1) % t.profile.len()]);
            (a.r - b.r).abs() < 1e-6
        }
        _ => false,
    }
}
