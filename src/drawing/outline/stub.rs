use super::*;
use crate::measure::Unit;
#[allow(unused, missing_docs)]
impl Outline {
    pub fn rect(l: f64, w: f64) -> Outline {
        todo!()
    }
    pub fn disc(dia: f64) -> Outline {
        todo!()
    }
    pub fn stroke(path: &[Vec2], width: f64) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn from_loops(loops: Vec<Vec<Vertex>>) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn at(&self, x: f64, y: f64) -> Outline {
        todo!()
    }
    pub fn turn(&self, deg: f64) -> Outline {
        todo!()
    }
    pub fn mirrored_x(&self) -> Outline {
        todo!()
    }
    pub fn mirrored_y(&self) -> Outline {
        todo!()
    }
    pub fn grown(&self, d: f64) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn plus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn minus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn common(&self, o: &Outline) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn bounds(&self) -> (Vec2, Vec2) {
        todo!()
    }
    pub fn reach(&self) -> f64 {
        todo!()
    }
    pub fn contains(&self, p: Vec2) -> bool {
        todo!()
    }
    pub fn distance(&self, p: Vec2) -> f64 {
        todo!()
    }
    pub fn holds(&self, other: &Outline, slack: f64) -> bool {
        todo!()
    }
    pub fn flat_toward(&self, deg: f64) -> Option<Flat> {
        todo!()
    }
    pub fn as_disc(&self) -> Option<(Vec2, f64)> {
        todo!()
    }
    pub fn widest_disc(&self) -> f64 {
        todo!()
    }
    pub fn with_flat_moved(
        &self,
        moves: &[((usize, usize), f64)],
    ) -> Result<Outline, OutlineError> {
        todo!()
    }
    pub fn loops(&self) -> &[Vec<Vertex>] {
        &self.loops
    }
}
#[allow(unused, missing_docs)]
impl OutlineError {
    pub fn text(&self, u: Unit) -> String {
        todo!()
    }
}
