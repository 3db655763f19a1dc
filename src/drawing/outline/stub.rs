use super::*;
use crate::drawing::outline::OutlineError;
#[allow(unused, missing_docs)]
impl Outline {
    pub fn stroke(path: &[Vec2], width: f64) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn belt(c: &[(Vec2, f64)]) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn arc_path(s: Vec2, c: &[PathStep]) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn corners(&self, r: f64) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn plus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn minus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn common(&self, o: &Outline) -> Result<Outline, OutlineError> {
        Ok(o.clone())
    }
    pub fn holds(&self, other: &Outline, slack: f64) -> bool {
        true
    }
    pub fn with_flat_moved(
        &self,
        moves: &[((usize, usize), f64)],
    ) -> Result<Outline, OutlineError> {
        todo!()
    }
}
