//! Where cutters of given sizes don't get to: too wide, or too short for the holder to stay clear.
//!
//! A cutter is an upright cylinder with a flat end; it comes from above or from below. At a place on a wall or slope it
//! stands beside the surface, towards the air; it fits where nothing of the mesh higher than the place lies within its
//! circle, and is long enough where nothing higher than its reach lies within its holder's. Nothing is rounded to a
//! grid: the mesh's own triangles are cut at the height and measured in plan.

use std::collections::BTreeMap;

use crate::drawing::given::FeatureId;
use crate::drawing::part::Cutter;
use crate::measure::{Bounds, Vec2, Vec3};
use crate::solid::Solid;
use crate::solid::reach::gaps::{corners, plan};
use crate::solid::reach::tree::Tree;

/// A cutter cuts into a wall by this little without harm (mm), more than twice the sag of a facet.
const GRAZE_MM: f64 = 0.05;

/// Foam left this thick where the cutter's round doesn't fill a corner is rubbed off by hand (mm).
const LEFT_MM: f64 = 0.2;

/// Turns of the cutter's place about the surface's normal that are tried in a corner (degrees).
const TURNS_DEG: [f64; 9] = [0.0, 6.0, -6.0, 12.0, -12.0, 24.0, -24.0, 40.0, -40.0];

/// A round corner of facets takes a cutter by this much narrower than the true round does (mm).
const FACETED_MM: f64 = 0.25;

/// How near to a facet's edge it is looked at (mm).
const EDGE_MM: f64 = 0.1;

/// Facets whose normal leans from upright by less than this (its sine) are floors and roofs, reached if the walls are.
const FLAT: f64 = 0.02;

/// The steps that a size is halved in: from a cutter's radius to under a hundredth.
const HALVINGS: usize = 10;

/// Why a place is missed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MissKind {
    /// Narrower than the smallest cutter.
    Narrow,
    /// An inside corner that the smallest cutter doesn't fill.
    Corner,
    /// Deeper than the reach of every cutter that fits.
    Deep,
}

/// A place that no cutter gets to, the worst of its kind between two features.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Miss {
    /// Why.
    pub kind: MissKind,
    /// The feature whose surface is missed.
    pub feature: FeatureId,
    /// The feature in the way; often the same.
    pub against: FeatureId,
    /// Where (mm).
    pub at: Vec3,
    /// The widest cutter that gets there (mm), or the reach that it takes (mm).
    pub size_mm: f64,
    /// The diameter of the smallest cutter (mm), or the longest reach of those that fit (mm).
    pub limit_mm: f64,
    /// How far the triangles with such places go up and down (mm).
    pub height_mm: (f64, f64),
}

/// A mesh, ready for cutters to be tried on it.
pub struct Clearance<'a> {
    solid: &'a Solid,
    boxes: Vec<Bounds>,
    tree: Tree,
    around: Bounds,
}

/// A place on the surface and the way out of it in plan.
#[derive(Debug, Clone, Copy)]
struct Place {
    triangle: u32,
    at: Vec3,
    out: Vec2,
}

/// What became of a place.
enum Verdict {
    Reached,
    Tight { up: bool, against: u32 },
    Deep { against: u32 },
}

impl<'a> Clearance<'a> {
    /// Prepares a closed mesh (mm).
    pub fn of(solid: &'a Solid) -> Clearance<'a> {
        let boxes: Vec<Bounds> = (0..solid.triangles.len())
            .map(|t| Bounds::of(corners(solid, t)))
            .collect();
        Clearance {
            solid,
            tree: Tree::new(&boxes),
            around: boxes.iter().fold(Bounds::EMPTY, |all, b| all.joined(*b)),
            boxes,
        }
    }

    /// What none of these cutters gets to, by kind and pair of features; nothing where there are no cutters. What can
    /// be seen from neither side is left to [`Gaps`](super::Gaps).
    pub fn misses(&self, cutters: &[Cutter]) -> Vec<Miss> {
        let mut cutters = cutters.to_vec();
        cutters.sort_by(|a, b| a.dia_mm.total_cmp(&b.dia_mm));
        if cutters.is_empty() {
            return Vec::new();
        }
        let count = self.solid.triangles.len();
        let halves = [0..count / 2, count / 2..count].map(|range| {
            let cutters = &cutters;
            move || -> Vec<(Place, Verdict)> { self.missed_among(range, cutters) }
        });
        let [first, second] = halves;
        let mut missed = std::thread::scope(|scope| {
            let second = scope.spawn(second);
            let mut missed = first();
            let more = second.join();
            missed.extend(more.unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
            missed
        });
        let mut worst: BTreeMap<(MissKind, FeatureId, FeatureId), Miss> = BTreeMap::new();
        for (place, verdict) in missed.drain(..) {
            self.note(&mut worst, &place, &verdict, &cutters);
        }
        worst.into_values().collect()
    }

    fn missed_among(
        &self,
        range: std::ops::Range<usize>,
        cutters: &[Cutter],
    ) -> Vec<(Place, Verdict)> {
        let mut out = Vec::new();
        for triangle in range {
            for place in self.places(triangle) {
                match self.tried(&place, cutters) {
                    Verdict::Reached => {}
                    missed => out.push((place, missed)),
                }
            }
        }
        out
    }

    /// Where a triangle is looked at: its middle, and close to the middles of its sides.
    fn places(&self, triangle: usize) -> Vec<Place> {
        let c = corners(self.solid, triangle);
        let across = (c[1] - c[0]).cross(c[2] - c[0]);
        let out = plan(across);
        let lean = out.length();
        if lean <= FLAT * across.length() {
            return Vec::new();
        }
        let middle = (c[0] + c[1] + c[2]) / 3.0;
        let place = |at: Vec3| Place {
            triangle: triangle as u32,
            at,
            out: out / lean,
        };
        let mut places = vec![place(middle)];
        let rim: f64 = (0..3).map(|k| c[k].distance(c[(k + 1) % 3])).sum();
        if across.length() / rim > 2.0 * EDGE_MM {
            for k in 0..3 {
                let side = c[(k + 1) % 3] - c[k];
                let in_from = across.cross(side).normalize_or_zero();
                places.push(place(c[k] + side / 2.0 + in_from * EDGE_MM));
            }
        }
        places
    }

    fn tried(&self, place: &Place, cutters: &[Cutter]) -> Verdict {
        let mut short = None;
        let mut tight = None;
        for up in [true, false] {
            for cutter in cutters {
                let centre = match self.stands(place, cutter.dia_mm / 2.0, up) {
                    Ok(centre) => centre,
                    Err(against) => {
                        // A wider one has no room either.
                        tight = tight.or(Some((up, against)));
                        break;
                    }
                };
                match self.holder_hits(place, cutter, centre, up) {
                    None => return Verdict::Reached,
                    Some(against) => short = short.or(Some(against)),
                }
            }
        }
        if let Some(against) = short {
            return Verdict::Deep { against };
        }
        // Where not even a needle gets from either side the place is hidden.
        let needle = |up| {
            self.blocked(
                plan(place.at) + place.out * EDGE_MM,
                GRAZE_MM / 2.0,
                place.at.z,
                up,
            )
        };
        match tight {
            Some((first, against)) => {
                let open = [first, !first].into_iter().find(|&up| needle(up).is_none());
                let Some(up) = open else {
                    return Verdict::Reached;
                };
                Verdict::Tight { up, against }
            }
            None => Verdict::Reached,
        }
    }

    /// Where the axis of a cutter of this radius can stand to cut a place, or the triangle in its way.
    fn stands(&self, place: &Place, radius: f64, up: bool) -> Result<Vec2, u32> {
        let at = plan(place.at);
        let touching = at + place.out * radius;
        let Some(against) = self.blocked(touching, radius - GRAZE_MM, place.at.z, up) else {
            return Ok(touching);
        };
        for deg in TURNS_DEG {
            let way = place.out.rotate(Vec2::from_angle(deg.to_radians()));
            let centre = at + way * (radius + LEFT_MM - GRAZE_MM);
            if self
                .blocked(centre, radius - GRAZE_MM, place.at.z, up)
                .is_none()
            {
                return Ok(centre);
            }
        }
        Err(against)
    }

    /// A triangle that has something higher (lower, from below) than a place within a circle in plan.
    fn blocked(&self, centre: Vec2, radius: f64, z: f64, up: bool) -> Option<u32> {
        let radius = radius.max(1e-3);
        let level = if up { z + LEFT_MM } else { z - LEFT_MM };
        let wanted = beyond(centre, radius, level, up);
        let mut found = None;
        self.tree.any(&wanted, |i| {
            let own = &self.boxes[i as usize];
            let hit = own.low.cmplt(wanted.high).all()
                && own.high.cmpgt(wanted.low).all()
                && near_beyond(&corners(self.solid, i as usize), level, up, centre, radius);
            if hit {
                found = Some(i);
            }
            hit
        });
        found
    }

    /// The feature whose walls reach beyond a height within a circle in plan: `own` where they do, else the last.
    fn in_the_way(
        &self,
        circle: (Vec2, f64),
        level: f64,
        up: bool,
        own: FeatureId,
    ) -> Option<FeatureId> {
        let (centre, radius) = circle;
        let mut found: Option<FeatureId> = None;
        self.tree.any(&beyond(centre, radius, level, up), |i| {
            let c = corners(self.solid, i as usize);
            let across = (c[1] - c[0]).cross(c[2] - c[0]);
            let steep = plan(across).length() > FLAT * across.length();
            if steep && near_beyond(&c, level, up, centre, radius) {
                let feature = self.solid.features[i as usize];
                found = Some(found.map_or(feature, |f| f.max(feature)));
                if feature == own {
                    found = Some(own);
                    return true;
                }
            }
            false
        });
        found
    }

    /// How far it is from a place straight out to what rises beyond its height, at most `far` (mm).
    fn across(&self, place: &Place, far: f64, up: bool) -> f64 {
        let from = plan(place.at) + place.out * GRAZE_MM;
        let along = place.out * far;
        let level = place.at.z + if up { LEFT_MM } else { -LEFT_MM };
        let mut least = far;
        self.tree
            .any(&beyond(from + along / 2.0, far / 2.0, level, up), |i| {
                let (rim, count) = cut_beyond(&corners(self.solid, i as usize), level, up);
                for k in 0..count {
                    let (a, b) = (rim[k] - from, rim[(k + 1) % count] - from);
                    let (s, t) = (along.perp_dot(a), along.perp_dot(b));
                    if s * t <= 0.0 && s != t {
                        let share = a.lerp(b, s / (s - t)).dot(place.out);
                        if share > 0.0 {
                            least = least.min(share + GRAZE_MM);
                        }
                    }
                }
                false
            });
        least
    }

    fn holder_hits(&self, place: &Place, cutter: &Cutter, centre: Vec2, up: bool) -> Option<u32> {
        let level = if up {
            place.at.z + cutter.reach_mm
        } else {
            place.at.z - cutter.reach_mm
        };
        match cutter.holder_dia_mm {
            Some(dia) => self.blocked(centre, dia / 2.0, level, up),
            None => {
                let beyond = if up {
                    self.around.high.z > level + LEFT_MM
                } else {
                    self.around.low.z < level - LEFT_MM
                };
                beyond.then_some(place.triangle)
            }
        }
    }

    /// Keeps the worst miss of each kind and pair of features.
    fn note(
        &self,
        worst: &mut BTreeMap<(MissKind, FeatureId, FeatureId), Miss>,
        place: &Place,
        verdict: &Verdict,
        cutters: &[Cutter],
    ) {
        let feature = |t: u32| self.solid.features[t as usize];
        let own = feature(place.triangle);
        let (kind, against, size_mm, limit_mm) = match *verdict {
            Verdict::Reached => return,
            Verdict::Deep { against } => {
                let taken = self.reach_taken(place, cutters);
                let against = taken.against.unwrap_or(feature(against));
                (MissKind::Deep, against, taken.takes_mm, taken.has_mm)
            }
            Verdict::Tight { up, against } => {
                let least = cutters[0].dia_mm;
                let radius = self.widest(place, least / 2.0, up);
                let centre = plan(place.at) + place.out * (least / 2.0);
                let level = place.at.z + if up { LEFT_MM } else { -LEFT_MM };
                let against = self
                    .in_the_way((centre, least / 2.0 - GRAZE_MM), level, up, own)
                    .unwrap_or(feature(against));
                let across = self.across(place, least, up);
                if across < least && self.faces_wall(place, radius, up) {
                    (MissKind::Narrow, against, across, least)
                } else if 2.0 * radius > least - FACETED_MM {
                    return;
                } else {
                    (MissKind::Corner, against, 2.0 * radius, least)
                }
            }
        };
        let bounds = &self.boxes[place.triangle as usize];
        let miss = Miss {
            kind,
            feature: own,
            against,
            at: place.at,
            size_mm,
            limit_mm,
            height_mm: (bounds.low.z, bounds.high.z),
        };
        let kept = worst
            .entry((kind, miss.feature, miss.against))
            .or_insert(miss);
        let worse = match kind {
            MissKind::Deep => size_mm > kept.size_mm,
            _ => size_mm < kept.size_mm,
        };
        let (low, high) = kept.height_mm;
        if worse {
            *kept = miss;
        }
        kept.height_mm = (low.min(bounds.low.z), high.max(bounds.high.z));
    }

    /// The radius of the widest cutter that stands at a place, less than `radius` (mm).
    fn widest(&self, place: &Place, radius: f64, up: bool) -> f64 {
        let (mut fits, mut wide) = (0.0, radius);
        for _ in 0..HALVINGS {
            let middle = (fits + wide) / 2.0;
            if self.stands(place, middle, up).is_ok() {
                fits = middle;
            } else {
                wide = middle;
            }
        }
        fits
    }

    /// Whether what a slightly wider cutter meets lies across from the place, not beside it.
    fn faces_wall(&self, place: &Place, radius: f64, up: bool) -> bool {
        let opposite = plan(place.at) + place.out * (2.0 * radius + LEFT_MM);
        self.blocked(opposite, LEFT_MM, place.at.z, up).is_some()
    }

    /// The reach that is least short of what a place takes, of the cutters that fit.
    fn reach_taken(&self, place: &Place, cutters: &[Cutter]) -> Taken {
        let own = self.solid.features[place.triangle as usize];
        let mut best: Option<Taken> = None;
        for up in [true, false] {
            for cutter in cutters {
                let Ok(centre) = self.stands(place, cutter.dia_mm / 2.0, up) else {
                    break;
                };
                let most = if up {
                    self.around.high.z - place.at.z
                } else {
                    place.at.z - self.around.low.z
                };
                let (mut hits, mut clear) = (cutter.reach_mm, most.max(cutter.reach_mm));
                for _ in 0..HALVINGS {
                    let middle = (hits + clear) / 2.0;
                    let longer = Cutter {
                        reach_mm: middle,
                        ..*cutter
                    };
                    if self.holder_hits(place, &longer, centre, up).is_some() {
                        hits = middle;
                    } else {
                        clear = middle;
                    }
                }
                let short = clear - cutter.reach_mm;
                if best.as_ref().is_none_or(|b| short < b.takes_mm - b.has_mm) {
                    let level = place.at.z
                        + if up {
                            cutter.reach_mm
                        } else {
                            -cutter.reach_mm
                        };
                    let against = match cutter.holder_dia_mm {
                        Some(dia) => self.in_the_way((centre, dia / 2.0), level, up, own),
                        None => Some(own),
                    };
                    best = Some(Taken {
                        takes_mm: clear,
                        has_mm: cutter.reach_mm,
                        against,
                    });
                }
            }
        }
        best.unwrap_or_default()
    }
}

/// What reach a place takes.
#[derive(Default)]
struct Taken {
    takes_mm: f64,
    has_mm: f64,
    against: Option<FeatureId>,
}

/// The box of all that lies beyond a height over a circle.
fn beyond(centre: Vec2, radius: f64, level: f64, up: bool) -> Bounds {
    let (low, high) = if up {
        (level, f64::INFINITY)
    } else {
        (f64::NEG_INFINITY, level)
    };
    Bounds {
        low: (centre - Vec2::splat(radius)).extend(low),
        high: (centre + Vec2::splat(radius)).extend(high),
    }
}

/// The plan of what of a triangle lies beyond a height, and how many corners it has.
fn cut_beyond(c: &[Vec3; 3], level: f64, up: bool) -> ([Vec2; 4], usize) {
    let over = |p: &Vec3| if up { p.z - level } else { level - p.z };
    let mut rim = [Vec2::ZERO; 4];
    let mut count = 0;
    for (k, p) in c.iter().enumerate() {
        let q = &c[(k + 1) % 3];
        let (s, t) = (over(p), over(q));
        if s >= 0.0 {
            rim[count] = plan(*p);
            count += 1;
        }
        if s * t < 0.0 {
            rim[count] = plan(p.lerp(*q, s / (s - t)));
            count += 1;
        }
    }
    (rim, count)
}

/// Whether what of a triangle lies beyond a height comes nearer to a point in plan than `radius`.
fn near_beyond(c: &[Vec3; 3], level: f64, up: bool, centre: Vec2, radius: f64) -> bool {
    let (rim, count) = cut_beyond(c, level, up);
    let rim = &rim[..count];
    let (mut left, mut right) = (count > 2, count > 2);
    for (i, &a) in rim.iter().enumerate() {
        let b = rim[(i + 1) % count];
        let side = (b - a).perp_dot(centre - a);
        left &= side > 0.0;
        right &= side < 0.0;
        let along = (b - a).length_squared();
        let share = if along > 0.0 {
            ((centre - a).dot(b - a) / along).clamp(0.0, 1.0)
        } else {
            0.0
        };
        if a.lerp(b, share).distance_squared(centre) < radius * radius {
            return true;
        }
    }
    left || right
}
