#![allow(missing_docs)]
use crate::drawing::part::Metal;
pub struct GradeStock {
    pub flat_mm: f64,
    pub round_side_mm: f64,
}
pub fn stock_of_grade(_rma: char, _ct: u8, _l: f64) -> Result<GradeStock, String> {
    Err("x".into())
}
pub fn metal(_n: &str) -> Result<Metal, String> {
    Err("x".into())
}
pub fn metal_names() -> Vec<&'static str> {
    vec![]
}
