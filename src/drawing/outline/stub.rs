// Temporary: crude shapes until the real ones land.
use super::*;
use crate::measure::Unit;
#[allow(unused, missing_docs)]
impl Outline {
    fn of(points: &[(f64, f64, f64)]) -> Outline {
        let v = |&(x, y, bulge): &(f64, f64, f64)| Vertex {
            at: Vec2::new(x, y),
            bulge,
        };
        Outline {
            loops: vec![points.iter().map(v).collect()],
        }
    }
    fn map(&self, f: impl Fn(Vec2) -> Vec2, flip: bool) -> Outline {
        let mut o = self.clone();
        for l in &mut o.loops {
            for v in l.iter_mut() {
                v.at = f(v.at);
            }
            if flip {
                l.reverse();
            }
        }
        o
    }
    pub fn rect(l: f64, w: f64) -> Outline {
        let (x, y) = (l / 2.0, w / 2.0);
        Outline::of(&[(-x, -y, 0.0), (x, -y, 0.0), (x, y, 0.0), (-x, y, 0.0)])
    }
    pub fn disc(dia: f64) -> Outline {
        Outline::of(&[(-dia / 2.0, 0.0, 1.0), (dia / 2.0, 0.0, 1.0)])
    }
    pub fn obround(l: f64, w: f64) -> Result<Outline, OutlineError> {
        Ok(Outline::rect(l, w))
    }
    pub fn polygon(points: &[Vec2]) -> Result<Outline, OutlineError> {
        Ok(Outline {
            loops: vec![points.iter().map(|&at| Vertex { at, bulge: 0.0 }).collect()],
        })
    }
    pub fn belt(circles: &[(Vec2, f64)]) -> Result<Outline, OutlineError> {
        Ok(Outline::rect(80.0, 40.0))
    }
    pub fn arc_path(start: Vec2, steps: &[PathStep]) -> Result<Outline, OutlineError> {
        Ok(Outline::rect(80.0, 40.0))
    }
    pub fn corners(&self, r: f64) -> Result<Outline, OutlineError> {
        let (a, b) = self.bounds();
        let fits = (b - a).min_element() / 2.0;
        if r > fits {
            return Err(OutlineError::CornerTooBig {
                radius: r,
                fits,
                near: a,
            });
        }
        Ok(self.clone())
    }
    pub fn stroke(path: &[Vec2], width: f64) -> Result<Outline, OutlineError> {
        Outline::polygon(path).map(|o| {
            let (a, b) = o.bounds();
            Outline::rect(b.x - a.x + width, b.y - a.y + width)
                .at((a.x + b.x) / 2.0, (a.y + b.y) / 2.0)
        })
    }
    pub fn from_loops(loops: Vec<Vec<Vertex>>) -> Result<Outline, OutlineError> {
        Ok(Outline { loops })
    }
    pub fn at(&self, x: f64, y: f64) -> Outline {
        self.map(|p| p + Vec2::new(x, y), false)
    }
    pub fn turn(&self, deg: f64) -> Outline {
        let (s, c) = crate::measure::sin_cos_deg(deg);
        self.map(|p| Vec2::new(p.x * c - p.y * s, p.x * s + p.y * c), false)
    }
    pub fn mirrored_x(&self) -> Outline {
        self.map(|p| Vec2::new(-p.x, p.y), true)
    }
    pub fn mirrored_y(&self) -> Outline {
        self.map(|p| Vec2::new(p.x, -p.y), true)
    }
    pub fn grown(&self, d: f64) -> Result<Outline, OutlineError> {
        let (a, b) = self.bounds();
        let fits = (b - a).min_element() / 2.0;
        if -d >= fits {
            return Err(OutlineError::Vanishes { by: -d, fits });
        }
        let (c, s) = ((a + b) / 2.0, b - a);
        let k = (s + Vec2::splat(2.0 * d)) / s;
        Ok(self.map(|p| c + (p - c) * k, false))
    }
    pub fn plus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        Ok(self.clone())
    }
    pub fn minus(&self, o: &Outline) -> Result<Outline, OutlineError> {
        Ok(self.clone())
    }
    pub fn common(&self, o: &Outline) -> Result<Outline, OutlineError> {
        let ((a, b), (c, d)) = (self.bounds(), o.bounds());
        let hit = a.cmplt(d).all() && c.cmplt(b).all();
        if hit {
            Ok(self.clone())
        } else {
            Err(OutlineError::Empty)
        }
    }
    pub fn bounds(&self) -> (Vec2, Vec2) {
        if let Some((c, r)) = self.as_disc() {
            return (c - r, c + r);
        }
        let points = || self.loops.iter().flatten().map(|v| v.at);
        (
            points().fold(Vec2::INFINITY, Vec2::min),
            points().fold(Vec2::NEG_INFINITY, Vec2::max),
        )
    }
    pub fn reach(&self) -> f64 {
        self.loops
            .iter()
            .flatten()
            .map(|v| v.at.length())
            .fold(0.0, f64::max)
    }
    pub fn contains(&self, p: Vec2) -> bool {
        self.distance(p) < 0.0
    }
    pub fn distance(&self, p: Vec2) -> f64 {
        if let Some((c, r)) = self.as_disc() {
            return p.distance(c) - r;
        }
        let (a, b) = self.bounds();
        (a - p).max(p - b).max_element()
    }
    pub fn holds(&self, other: &Outline, slack: f64) -> bool {
        true
    }
    pub fn flat_toward(&self, deg: f64) -> Option<Flat> {
        let (s, c) = crate::measure::sin_cos_deg(deg);
        let l = self.loops.first()?;
        (0..l.len())
            .filter(|&i| l[i].bulge == 0.0)
            .map(|i| {
                let (from, to) = (l[i].at, l[(i + 1) % l.len()].at);
                Flat {
                    place: (0, i),
                    from,
                    to,
                    outward: -(to - from).perp().normalize(),
                }
            })
            .max_by(|a, b| {
                a.outward
                    .dot(Vec2::new(c, s))
                    .total_cmp(&b.outward.dot(Vec2::new(c, s)))
            })
    }
    pub fn as_disc(&self) -> Option<(Vec2, f64)> {
        match self.loops.as_slice() {
            [l] if l.len() == 2 && l[0].bulge == 1.0 => {
                Some(((l[0].at + l[1].at) / 2.0, l[0].at.distance(l[1].at) / 2.0))
            }
            _ => None,
        }
    }
    pub fn widest_disc(&self) -> f64 {
        let (a, b) = self.bounds();
        (b - a).min_element()
    }
    pub fn with_flat_moved(
        &self,
        moves: &[((usize, usize), f64)],
    ) -> Result<Outline, OutlineError> {
        Ok(self.clone())
    }
    pub fn loops(&self) -> &[Vec<Vertex>] {
        &self.loops
    }
}
#[allow(unused, missing_docs)]
impl OutlineError {
    pub fn text(&self, u: Unit) -> String {
        format!("{self:?}")
    }
}
