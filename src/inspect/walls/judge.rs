//! From candidates to thin places: for each pair of patches the thinnest wall, and a slanting or oblique one that is
//! thinner still.

use rustc_hash::FxHashMap;

use super::extent::{extent, is_raised};
use super::search::{Candidate, Found, Kind, in_parallel};
use super::surface::{FEATHER_DEG, KnifeEdge, Surface};
use super::{Class, ThinPlace};
use crate::measure::Vec3;

/// Faces up to this far from parallel make a plain wall (degrees).
pub(super) const PLAIN_DEG: f64 = 5.0;

/// A later class is told only if it is thinner than this share of the wall found: on a tight round the sag alone is a
/// hundredth.
const THINNER: f64 = 0.98;

/// A curved slanting wall is known to this share.
const KNOWN: f64 = 0.995;

/// Curved faces that are this far from parallel may be on their way to the thin end of something (degrees).
const LEANS_DEG: f64 = 0.5;

/// A pair thinner than this is two faces that touch (mm).
const NOTHING_MM: f64 = 1e-3;

/// The candidates of each pair of patches, in order of the pairs; each list by thickness.
pub(super) fn by_patches(surface: &Surface, found: &Found) -> Vec<([u32; 2], Vec<u32>)> {
    let mut lists: FxHashMap<[u32; 2], Vec<u32>> = FxHashMap::default();
    for (i, c) in found.candidates.iter().enumerate() {
        let mut pair = owners(surface, c).map(|t| surface.patches[t]);
        pair.sort_unstable();
        lists.entry(pair).or_default().push(i as u32);
    }
    let mut lists: Vec<_> = lists.into_iter().collect();
    lists.sort_unstable_by_key(|(pair, _)| *pair);
    let thickness = |i: &u32| found.candidates[*i as usize].thickness;
    for (_, list) in &mut lists {
        list.sort_unstable_by(|a, b| thickness(a).total_cmp(&thickness(b)).then(a.cmp(b)));
    }
    lists
}

/// The triangles that a candidate's ends belong to.
pub(super) fn owners(surface: &Surface, c: &Candidate) -> [usize; 2] {
    if c.kind != Kind::Touch {
        return c.triangles;
    }
    let out = (c.ends[0] - c.ends[1]).normalize_or_zero();
    [
        surface.owner(c.triangles[0], c.ends[0], out),
        surface.owner(c.triangles[1], c.ends[1], -out),
    ]
}

/// All thin places: walls by pair of patches, then knife edges by pair of features.
pub(super) fn judge(surface: &Surface, found: &Found) -> Vec<ThinPlace> {
    let knives = knives_by_patches(surface);
    let lists = by_patches(surface, found);
    in_parallel(lists.len(), 1, &|| true, |i, out| {
        let (pair, list) = &lists[i];
        let pair = Pair {
            surface,
            found,
            list,
            knives: knives.get(pair).map_or(&[], Vec::as_slice),
        };
        pair.judge(out);
    })
}

fn knives_by_patches(surface: &Surface) -> FxHashMap<[u32; 2], Vec<KnifeEdge>> {
    let mut out: FxHashMap<[u32; 2], Vec<KnifeEdge>> = FxHashMap::default();
    for knife in &surface.knives {
        let mut pair = knife.triangles.map(|t| surface.patches[t]);
        pair.sort_unstable();
        out.entry(pair).or_default().push(*knife);
    }
    out
}

/// The classes in the order that they are looked for.
#[derive(Clone, Copy, PartialEq)]
enum Look {
    Plain,
    Slanting,
    Oblique,
}

struct Pair<'a> {
    surface: &'a Surface,
    found: &'a Found,
    list: &'a [u32],
    knives: &'a [KnifeEdge],
}

impl Pair<'_> {
    fn candidates(&self) -> impl Iterator<Item = &Candidate> {
        self.list
            .iter()
            .map(|&i| &self.found.candidates[i as usize])
    }

    fn judge(&self, out: &mut Vec<ThinPlace>) {
        let mut told: Option<f64> = None;
        for look in [Look::Plain, Look::Slanting, Look::Oblique] {
            let under = told.map_or(self.found.limit, |t| t * THINNER);
            let mut thin = self
                .candidates()
                .take_while(|c| c.thickness < under)
                .filter(|c| c.thickness >= NOTHING_MM && self.is(look, c));
            let holds = |c: &&Candidate| {
                !self.knife_explains(c)
                    && (look == Look::Plain && !self.leans(c)
                        || !self.surface.fades(c.thickness, c.ends, c.triangles))
                    && self.surface.in_metal(c.ends)
            };
            if let Some(c) = thin.find(holds) {
                told = Some(c.thickness);
                out.push(self.place(c, look));
            }
        }
    }

    /// How far from parallel the faces are (degrees).
    fn slant(&self, c: &Candidate) -> f64 {
        if c.kind == Kind::Touch {
            return 0.0;
        }
        180.0 - self.surface.turn_between(c.ends, c.triangles)
    }

    fn is(&self, look: Look, c: &Candidate) -> bool {
        if look == Look::Oblique || c.kind == Kind::Oblique {
            return look == Look::Oblique && c.kind == Kind::Oblique;
        }
        let slanting = self.slant(c) > PLAIN_DEG;
        let unsure = slanting && self.curved(c) && c.thickness > KNOWN * self.found.limit;
        slanting == (look == Look::Slanting) && !unsure
    }

    /// Whether a plain wall's curved faces lean enough to be no end of a wall.
    fn leans(&self, c: &Candidate) -> bool {
        c.kind == Kind::Wall && self.curved(c) && self.slant(c) > LEANS_DEG
    }

    fn curved(&self, c: &Candidate) -> bool {
        let at = |t: &usize| self.surface.curved[*t] || self.surface.turn[*t] > 0.0;
        c.triangles.iter().any(at)
    }

    /// Whether a knife edge of the same two patches says it already: the metal runs out there.
    fn knife_explains(&self, c: &Candidate) -> bool {
        let middle = (c.ends[0] + c.ends[1]) * 0.5;
        self.knives.iter().any(|knife| {
            let [p, q] = knife.ends;
            let s = ((middle - p).dot(q - p) / (q - p).length_squared().max(1e-30)).clamp(0.0, 1.0);
            let far = middle.distance(p + (q - p) * s);
            let half = (knife.angle_deg.min(FEATHER_DEG).to_radians() / 2.0).sin();
            far < self.found.limit / (2.0 * half) + 0.2 && c.thickness > 1.2 * far * half - 0.02
        })
    }

    fn place(&self, c: &Candidate, look: Look) -> ThinPlace {
        let alike = |x: &&Candidate| (x.kind == Kind::Oblique) == (look == Look::Oblique);
        let same: Vec<Candidate> = self.candidates().filter(alike).copied().collect();
        let extent = extent(self.surface, &same, c, self.found.limit);
        let class = match look {
            Look::Oblique => Class::Oblique,
            _ if is_raised(self.surface, c, &extent, self.found.limit) => Class::Raised,
            Look::Slanting => Class::Slanting,
            Look::Plain => Class::Wall,
        };
        ThinPlace {
            class,
            thickness_mm: c.thickness,
            angle_deg: self.slant(c),
            at: (c.ends[0] + c.ends[1]) * 0.5,
            ends: c.ends,
            curved: self.curved(c),
            features: owners(self.surface, c).map(|t| self.surface.features[t]),
            extent_mm: extent.size,
        }
    }
}

/// Knife edges by pair of features: the sharpest place of each, and how long the edges are together.
pub(super) fn knife_places(surface: &Surface) -> Vec<ThinPlace> {
    let mut found: FxHashMap<[usize; 2], ThinPlace> = FxHashMap::default();
    for knife in &surface.knives {
        let mut pair = knife.triangles.map(|t| surface.features[t]);
        pair.sort_unstable();
        let length = knife.ends[0].distance(knife.ends[1]);
        let middle = (knife.ends[0] + knife.ends[1]) * 0.5;
        let place = found.entry(pair).or_insert(ThinPlace {
            class: Class::Feather,
            thickness_mm: 0.0,
            angle_deg: 180.0,
            at: Vec3::ZERO,
            ends: [Vec3::ZERO; 2],
            curved: false,
            features: pair,
            extent_mm: [0.0, 0.0],
        });
        place.extent_mm[1] += length;
        if knife.angle_deg < place.angle_deg {
            place.angle_deg = knife.angle_deg;
            place.at = middle;
            place.ends = knife.ends;
        }
    }
    let mut out: Vec<ThinPlace> = found.into_values().collect();
    out.sort_unstable_by_key(|p| p.features);
    out
}
