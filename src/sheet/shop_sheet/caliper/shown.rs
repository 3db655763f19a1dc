//! Which sizes can be measured on a piece, and where: read off the triangles of the features on the piece's own mesh.

use std::f64::consts::{PI, TAU};

use crate::drawing::Part;
use crate::drawing::given::FeatureId;
use crate::measure::{Frame, Vec2, Vec3};
use crate::sheet::shop_sheet::caliper::checks::{Check, Sight};
use crate::solid::Solid;

/// A vertex lies on a surface within this and a facet's sag (mm), where a cut made it in the middle of one.
const ON_MM: f64 = 0.01;
/// A surface that shows over less than this isn't measured (mm²).
const LEAST_MM2: f64 = 1.0;
/// A face of which a piece shows a smaller share isn't measured there.
const LEAST_SHARE: f64 = 0.1;
/// Steps of a turn, in which it is noted where a round wall shows.
const STEPS: usize = 720;
/// A triangle looks along an axis (cosine).
const SQUARE_COS: f64 = 0.9;

type Triangle = [Vec3; 3];

/// Where on a piece something is measured.
pub(super) enum Where {
    /// At a place.
    At {
        /// On the piece as it lies (mm).
        at: Vec3,
        /// Out of the free end or the mouth, as the piece lies.
        way: Vec3,
        /// The jaws' direction, where only some will do.
        across: Option<Vec3>,
    },
    /// In words.
    Said(&'static str),
}

/// A piece to be measured.
pub(super) struct Bench {
    /// Length, width and height (mm).
    pub size_mm: Vec3,
    lay: Frame,
    grow: Vec3,
    on_mm: f64,
    /// By feature, those of joints last: triangles in the casting's place and size.
    shown: Vec<(FeatureId, Vec<Triangle>)>,
}

impl Bench {
    /// A solid in the pattern's own place, which lies on `lay` there.
    pub fn new(part: &Part, solid: &Solid, lay: Frame, size_mm: Vec3) -> Bench {
        let grow = part.metal.growth();
        let points: Vec<Vec3> = solid.points.iter().map(|p| *p / grow).collect();
        let mut all: Vec<(FeatureId, Triangle)> = solid
            .triangles
            .iter()
            .zip(&solid.features)
            .map(|(t, f)| (*f, t.map(|v| points[v as usize])))
            .collect();
        all.sort_by_key(|(f, _)| *f);
        let mut shown: Vec<(FeatureId, Vec<Triangle>)> = Vec::new();
        for (feature, triangle) in all {
            match shown.last_mut().filter(|(f, _)| *f == feature) {
                Some((_, list)) => list.push(triangle),
                None => shown.push((feature, vec![triangle])),
            }
        }
        Bench {
            size_mm,
            lay,
            grow,
            on_mm: part.facet_mm + ON_MM,
            shown,
        }
    }

    fn of_feature(&self, id: FeatureId) -> &[Triangle] {
        let found = self.shown.binary_search_by_key(&id, |(f, _)| *f);
        found.map_or(&[], |at| &self.shown[at].1)
    }

    /// A place of the casting on the piece as it lies.
    fn lying(&self, p: Vec3) -> Vec3 {
        self.lay.local(p * self.grow)
    }

    fn lying_way(&self, d: Vec3) -> Vec3 {
        self.lay.local_vector(d * self.grow).normalize_or_zero()
    }

    /// Whether a surface that bounds a size shows here, be it in part.
    pub fn has(&self, id: FeatureId, check: &Check) -> bool {
        let far = match &check.sight {
            Sight::Faces { frame, other, .. } => {
                area(self.level(self.of_feature(id), frame, *other))
            }
            _ => 0.0,
        };
        self.area_of(id, &check.sight).max(far) > LEAST_MM2
    }

    /// How much shows here of the surface that a size is of (mm²).
    fn area_of(&self, id: FeatureId, sight: &Sight) -> f64 {
        let own = self.of_feature(id);
        match sight {
            Sight::Round { .. } => area(self.round_wall(id, sight).iter()),
            Sight::Faces { frame, own: at, .. } => area(self.level(own, frame, *at)),
            Sight::Edge(frame, _) => area(edges(own, frame)),
            Sight::Wall(_) | Sight::Tube(..) => area(own.iter()),
        }
    }

    /// Where a size of a feature is measured on this piece: nowhere, unless both of its ends show. `all` are the pieces.
    pub fn places(&self, id: FeatureId, check: &Check, all: &[(String, Bench)]) -> Vec<Where> {
        let own = self.area_of(id, &check.sight);
        let all_mm2 = all
            .iter()
            .fold(0.0, |sum, (_, b)| sum + b.area_of(id, &check.sight));
        if own < LEAST_MM2 || own < LEAST_SHARE * all_mm2 {
            return Vec::new();
        }
        let found = match &check.sight {
            Sight::Round { .. } => self.round(id, &check.sight, all),
            Sight::Faces { frame, own, other } => self.faces(id, frame, *own, *other),
            Sight::Edge(frame, path) => self.edge(id, frame, path),
            Sight::Wall(of) => {
                let shows = area(self.of_feature(*of).iter()) > LEAST_MM2;
                shows.then_some(Where::Said("at its open edge"))
            }
            Sight::Tube(legs, radii) => {
                let shows = |leg: &Frame, radius: f64| {
                    area(self.about(id, leg, radius, 0.0).iter()) > LEAST_MM2
                };
                let both = legs.iter().any(|leg| radii.iter().all(|r| shows(leg, *r)));
                both.then_some(Where::Said("at its joint and its mouth"))
            }
        };
        found.into_iter().collect()
    }

    /// The triangles that lie at a height of a frame.
    fn level<'a>(
        &self,
        triangles: &'a [Triangle],
        frame: &Frame,
        height: f64,
    ) -> impl Iterator<Item = &'a Triangle> + use<'a> {
        let (z, on_mm) = (frame.z, self.on_mm);
        let off = z.dot(frame.origin) + height;
        let on = move |p: &Vec3| (z.dot(*p) - off).abs() < on_mm;
        triangles.iter().filter(move |t| t.iter().all(on))
    }

    /// The triangles of a feature in a round wall, in the frame of its axis.
    fn round_wall(&self, id: FeatureId, sight: &Sight) -> Vec<Triangle> {
        match sight {
            Sight::Round {
                frame,
                radius,
                slope,
                ..
            } => self.about(id, frame, *radius, *slope),
            _ => Vec::new(),
        }
    }

    /// The triangles of a feature round a frame's z, in that frame; the radius gains `slope` with height.
    fn about(&self, id: FeatureId, frame: &Frame, radius: f64, slope: f64) -> Vec<Triangle> {
        let local = self.of_feature(id).iter();
        let local = local.map(|t| t.map(|p| frame.local(p)));
        let on = |p: Vec3| (p.truncate().length() - radius - slope * p.z).abs() < self.on_mm;
        local
            .filter(|t| t.iter().all(|p| on(*p)) && normal(t).z.abs() < SQUARE_COS)
            .collect()
    }

    fn round(&self, id: FeatureId, sight: &Sight, all: &[(String, Bench)]) -> Option<Where> {
        let Sight::Round {
            frame,
            radius,
            mouth,
            ..
        } = sight
        else {
            return None;
        };
        let mut wall = self.round_wall(id, sight);
        let end = |wall: &[Triangle]| {
            let heights = wall.iter().flatten().map(|p| p.z);
            heights.fold(f64::NEG_INFINITY, f64::max)
        };
        if *mouth {
            // The end that all pieces make together; one that stops short of its own comes out in another opening.
            let far = all.iter().map(|(_, b)| end(&b.round_wall(id, sight)));
            let far = far.fold(f64::NEG_INFINITY, f64::max);
            if far < -self.on_mm {
                return None;
            }
            let near = |t: &Triangle| t.iter().any(|p| p.z > far - *radius);
            wall.retain(near);
        }
        let open = opposite(&wall);
        let (across, whole) = match &open {
            Opposite::No => return None,
            Opposite::Whole => (None, true),
            Opposite::Some(steps) => {
                // Where most ways will do, a person sees which.
                let few = 2 * steps.iter().filter(|s| **s).count() < steps.len();
                (few.then(|| self.jaws(frame, steps)), false)
            }
        };
        let low = wall
            .iter()
            .flatten()
            .map(|p| p.z)
            .fold(f64::INFINITY, f64::min);
        let high = end(&wall);
        // A wall of its own end is measured there, a leg of a tunnel in its middle.
        let z = if *mouth || whole {
            high
        } else {
            (low + high) / 2.0
        };
        Some(Where::At {
            at: self.lying(frame.point(Vec3::new(0.0, 0.0, z))),
            way: self.lying_way(frame.z),
            across,
        })
    }

    /// How the jaws are set where only some steps of the half turn show on both sides: along the piece if that will do,
    /// else in the middle of the longest run.
    fn jaws(&self, frame: &Frame, steps: &[bool]) -> Vec3 {
        let half = steps.len();
        let way = |step: f64| {
            let a = (step + 0.5) / half as f64 * PI;
            self.lying_way(frame.vector(Vec3::new(a.cos(), a.sin(), 0.0)))
        };
        let ways = (0..half).filter(|s| steps[*s]).map(|s| way(s as f64));
        for axis in [Vec3::X, Vec3::Y, Vec3::Z] {
            if ways.clone().any(|w| w.dot(axis).abs() > 0.9999) {
                return axis;
            }
        }
        let first = (0..half).find(|s| steps[*s] && !steps[(s + half - 1) % half]);
        let (mut best, mut run) = ((0, 0), (0, 0));
        for s in (0..half).map(|s| (s + first.unwrap_or(0)) % half) {
            run = match (steps[s], run.1) {
                (false, _) => (0, 0),
                (true, 0) => (s, 1),
                (true, n) => (run.0, n + 1),
            };
            if run.1 > best.1 {
                best = run;
            }
        }
        way(best.0 as f64 + (best.1 as f64 - 1.0) / 2.0)
    }

    fn faces(&self, id: FeatureId, frame: &Frame, own: f64, other: f64) -> Option<Where> {
        let face: Vec<&Triangle> = self.level(self.of_feature(id), frame, own).collect();
        let ground = self
            .shown
            .iter()
            .map(|(_, t)| area(self.level(t, frame, other)));
        let ground = ground.fold(0.0, |sum, mm2| sum + mm2);
        if ground < LEAST_MM2 {
            return None;
        }
        let flat = |t: &Triangle| t.map(|p| frame.local(p).truncate());
        let middle = face.iter().any(|t| covers(&flat(t), Vec2::ZERO));
        let at = if middle {
            Vec3::new(0.0, 0.0, own)
        } else {
            // The middle isn't there: on the face's largest triangle.
            let largest = face
                .iter()
                .max_by(|a, b| area_of(a).total_cmp(&area_of(b)))?;
            let [a, b, c] = flat(largest);
            ((a + b + c) / 3.0).extend(own)
        };
        Some(Where::At {
            at: self.lying(frame.point(at)),
            way: self.lying_way(frame.z),
            across: None,
        })
    }

    fn edge(&self, id: FeatureId, frame: &Frame, path: &[Vec2]) -> Option<Where> {
        let (mut sum, mut middle) = (0.0, Vec3::ZERO);
        for t in edges(self.of_feature(id), frame) {
            let mm2 = area_of(t);
            sum += mm2;
            middle += (t[0] + t[1] + t[2]) / 3.0 * mm2;
        }
        if sum < LEAST_MM2 {
            return None;
        }
        let middle = frame.local(middle / sum);
        let on = path
            .windows(2)
            .map(|leg| nearest(leg[0], leg[1], middle.truncate()));
        let far = |p: &Vec2| p.distance(middle.truncate());
        let on = on.min_by(|a, b| far(a).total_cmp(&far(b)))?;
        Some(Where::At {
            at: self.lying(frame.point(on.extend(middle.z))),
            way: self.lying_way(frame.z),
            across: None,
        })
    }
}

/// Which opposite steps of a half turn show.
enum Opposite {
    No,
    Whole,
    Some(Vec<bool>),
}

/// Where triangles of a round wall about z face each other.
fn opposite(wall: &[Triangle]) -> Opposite {
    let mut steps = vec![false; STEPS];
    let width = TAU / STEPS as f64;
    for t in wall {
        let middle = (t[0] + t[1] + t[2]).truncate();
        let angle = middle.y.atan2(middle.x);
        let off = t.map(|p| middle.angle_to(p.truncate()));
        let low = off.iter().copied().fold(0.0, f64::min) - width / 2.0;
        let high = off.iter().copied().fold(0.0, f64::max) + width / 2.0;
        let first = ((angle + low) / width).floor() as i64;
        let last = ((angle + high) / width).floor() as i64;
        for step in first..=last {
            steps[step.rem_euclid(STEPS as i64) as usize] = true;
        }
    }
    if steps.iter().all(|s| *s) {
        return Opposite::Whole;
    }
    let half = STEPS / 2;
    let both: Vec<bool> = (0..half).map(|s| steps[s] && steps[s + half]).collect();
    if both.iter().any(|s| *s) {
        Opposite::Some(both)
    } else {
        Opposite::No
    }
}

/// The triangles of a rib's free edge.
fn edges<'a>(triangles: &'a [Triangle], frame: &'a Frame) -> impl Iterator<Item = &'a Triangle> {
    triangles
        .iter()
        .filter(|t| normal(t).dot(frame.z) > 1.0 - SQUARE_COS)
}

fn normal(t: &Triangle) -> Vec3 {
    (t[1] - t[0]).cross(t[2] - t[0]).normalize_or_zero()
}

fn area_of(t: &Triangle) -> f64 {
    (t[1] - t[0]).cross(t[2] - t[0]).length() / 2.0
}

fn area<'a>(triangles: impl Iterator<Item = &'a Triangle>) -> f64 {
    triangles.fold(0.0, |sum, t| sum + area_of(t))
}

/// Whether a flat triangle covers a point, its rim included.
fn covers([a, b, c]: &[Vec2; 3], p: Vec2) -> bool {
    let side = |from: Vec2, to: Vec2| (to - from).perp_dot(p - from);
    let sides = [side(*a, *b), side(*b, *c), side(*c, *a)];
    sides.iter().all(|s| *s >= -1e-9) || sides.iter().all(|s| *s <= 1e-9)
}

/// The point of a leg nearest to a place.
fn nearest(from: Vec2, to: Vec2, p: Vec2) -> Vec2 {
    let along = to - from;
    let t = (p - from).dot(along) / along.length_squared().max(f64::MIN_POSITIVE);
    from + along * t.clamp(0.0, 1.0)
}
