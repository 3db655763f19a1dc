//! What the gaps hide: by feature, at what heights, and of each triangle how much.

use std::collections::BTreeMap;

use crate::drawing::given::FeatureId;
use crate::measure::{Bounds, Vec2, Vec3};
use crate::solid::Solid;
use crate::solid::reach::columns::{Corner, area, inside, kept, length, plan_box, turn, width};
use crate::solid::reach::gaps::{Gap, Gaps, NOISE_MM, corners, floor_sign, plan};
use crate::solid::reach::tree::Tree;

/// Sides of the polygon that stands for a disc.
const DISC_SIDES: usize = 12;

/// Most places looked at along one narrow piece.
const MOST_PLACES: f64 = 64.0;

/// How far in front of a wall its air is looked for (mm): over rounding, under any wall worth marking.
const BEFORE_WALL_MM: f64 = 1e-3;

/// The gaps left in a slab between two heights, without those that a strip of lip makes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Hidden {
    /// Gaps within the slab: place in [`Gaps::list`], and what of its plan is left.
    pub pieces: Vec<(usize, Vec<Corner>)>,
}

impl Gaps {
    /// What stays hidden in the slab between two heights (mm), of the gaps that `of` picks: floors above the lower and
    /// roofs below the upper one. Exact without cutting the solid, as cut faces hide nothing. Voids in which no disc of
    /// diameter `lip_mm` fits count as reached.
    pub fn hidden(
        &self,
        low_mm: f64,
        high_mm: f64,
        lip_mm: f64,
        of: &dyn Fn(&Gap) -> bool,
    ) -> Hidden {
        let mut voids: BTreeMap<u32, Vec<(usize, Vec<Corner>)>> = BTreeMap::new();
        for (i, gap) in self.list.iter().enumerate().filter(|(_, gap)| of(gap)) {
            let piece = within(&gap.corners, low_mm, high_mm);
            if piece.len() > 2 && width(&piece) >= NOISE_MM {
                voids.entry(gap.void).or_default().push((i, piece));
            }
        }
        let wide = voids.into_values().filter(|void| wider_than(void, lip_mm));
        Hidden {
            pieces: wide.flatten().collect(),
        }
    }

    /// All that is hidden of the mesh but for strips of lip.
    pub fn all_hidden(&self, lip_mm: f64) -> Hidden {
        self.hidden(f64::NEG_INFINITY, f64::INFINITY, lip_mm, &|_| true)
    }
}

/// What of a gap's plan has its floor over the lower height and its roof under the upper one (mm); empty where nothing has.
fn within(corners: &[Corner], low_mm: f64, high_mm: f64) -> Vec<Corner> {
    let over = |c: &Corner| c.floor_mm >= low_mm;
    let under = |c: &Corner| c.roof_mm <= high_mm;
    if !corners.iter().any(over) || !corners.iter().any(under) {
        return Vec::new();
    }
    let piece = if corners.iter().all(over) {
        corners.to_vec()
    } else {
        kept(corners, |c| c.floor_mm - low_mm)
    };
    if piece.iter().all(under) {
        piece
    } else {
        kept(&piece, |c| high_mm - c.roof_mm)
    }
}

/// Whether a disc fits into the plan of a void's pieces; they don't overlap.
fn wider_than(void: &[(usize, Vec<Corner>)], dia_mm: f64) -> bool {
    let rim = |p: &[Corner]| -> f64 {
        (0..p.len())
            .map(|i| p[i].at.distance(p[(i + 1) % p.len()].at))
            .sum()
    };
    // A convex piece holds a disc whose radius is its area over its perimeter.
    if void.iter().any(|(_, p)| area(p) >= dia_mm / 2.0 * rim(p)) {
        return true;
    }
    let total: f64 = void.iter().map(|(_, p)| area(p)).sum();
    if total < 0.7 * dia_mm * dia_mm {
        return false;
    }
    let boxes: Vec<Bounds> = void.iter().map(|(_, p)| flat_box(p)).collect();
    let tree = Tree::new(&boxes);
    void.iter().any(|(_, piece)| {
        places(piece, dia_mm / 2.0)
            .into_iter()
            .any(|at| disc_covered(void, &tree, at, dia_mm / 2.0))
    })
}

/// The plan box of a piece, as high as a box must be to cross another.
fn flat_box(piece: &[Corner]) -> Bounds {
    let (low, high) = plan_box(piece);
    Bounds {
        low: low.extend(-1.0),
        high: high.extend(1.0),
    }
}

/// Places along a piece at which a disc could stand: its middle, its corners, and along its length.
fn places(piece: &[Corner], step_mm: f64) -> Vec<Vec2> {
    let middle = piece.iter().map(|c| c.at).sum::<Vec2>() / piece.len() as f64;
    let mut out = vec![middle];
    let steps = (length(piece) / step_mm).ceil().clamp(1.0, MOST_PLACES);
    for (i, a) in piece.iter().enumerate() {
        let b = piece[(i + 1) % piece.len()].at;
        let count = (a.at.distance(b) / length(piece) * steps).ceil() as usize;
        out.extend((0..count).map(|k| a.at.lerp(b, k as f64 / count as f64)));
    }
    out
}

fn disc_covered(void: &[(usize, Vec<Corner>)], tree: &Tree, at: Vec2, radius: f64) -> bool {
    let disc: [Corner; DISC_SIDES] = std::array::from_fn(|i| {
        let turned = Vec2::from_angle(i as f64 / DISC_SIDES as f64 * std::f64::consts::TAU);
        Corner {
            at: at + radius * turned,
            floor_mm: 0.0,
            roof_mm: 0.0,
        }
    });
    let mut covered = 0.0;
    tree.any(&flat_box(&disc), |i| {
        let rim: Vec<Vec2> = void[i as usize].1.iter().map(|c| c.at).collect();
        covered += area(&inside(&disc, &rim));
        false
    });
    covered >= 0.98 * area(&disc)
}

impl Hidden {
    /// Whether nothing is left.
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// The plan area hidden (mm²), counted once for each void that lies over another.
    pub fn plan_mm2(&self) -> f64 {
        self.pieces.iter().map(|(_, p)| area(p)).sum()
    }

    /// True area of hidden floors and roofs of each feature (mm²); walls are not in it.
    pub fn by_feature(&self, solid: &Solid, gaps: &Gaps) -> BTreeMap<FeatureId, f64> {
        let mut out = BTreeMap::new();
        for (i, piece) in &self.pieces {
            let gap = &gaps.list[*i];
            for triangle in [gap.floor, gap.roof] {
                let feature = solid.features[triangle as usize];
                *out.entry(feature).or_default() += area(piece) * stretch(solid, triangle as usize);
            }
        }
        out
    }

    /// The highest floor and the lowest roof (mm): a split of the pattern between them opens all of it. Where the first
    /// is above the second no one level opens all, but for the lip.
    pub fn window(&self) -> (f64, f64) {
        let corners = self.pieces.iter().flat_map(|(_, p)| p);
        corners.fold((f64::NEG_INFINITY, f64::INFINITY), |(floor, roof), c| {
            (floor.max(c.floor_mm), roof.min(c.roof_mm))
        })
    }

    /// The greatest height of air between a floor and its roof (mm).
    pub fn tallest(&self) -> f64 {
        let corners = self.pieces.iter().flat_map(|(_, p)| p);
        corners.fold(0.0, |most, c| most.max(c.roof_mm - c.floor_mm))
    }

    /// The lowest floor and the highest roof (mm).
    pub fn extent(&self) -> (f64, f64) {
        let corners = self.pieces.iter().flat_map(|(_, p)| p);
        corners.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), c| {
            (low.min(c.floor_mm), high.max(c.roof_mm))
        })
    }

    /// Of each triangle the share of its area that is hidden, 0 to 1: floors and roofs by their plan, walls at a few
    /// places each.
    pub fn shares(&self, solid: &Solid, gaps: &Gaps) -> Vec<f32> {
        let mut out = vec![0.0f64; solid.triangles.len()];
        let mut around = Bounds::EMPTY;
        let mut boxes = Vec::with_capacity(self.pieces.len());
        for (i, piece) in &self.pieces {
            let gap = &gaps.list[*i];
            for triangle in [gap.floor, gap.roof] {
                let whole = floor_sign(&corners(solid, triangle as usize)).abs() / 2.0;
                out[triangle as usize] += area(piece) / whole;
            }
            let bounds = Bounds::of(
                piece
                    .iter()
                    .flat_map(|c| [c.at.extend(c.floor_mm), c.at.extend(c.roof_mm)]),
            );
            around = around.joined(bounds);
            boxes.push(bounds);
        }
        let tree = Tree::new(&boxes);
        let around = around.grown(BEFORE_WALL_MM);
        for (triangle, share) in out.iter_mut().enumerate() {
            let corners = corners(solid, triangle);
            if floor_sign(&corners) == 0.0 && Bounds::of(corners).meets(&around) {
                *share = self.wall_share(&tree, &corners);
            }
        }
        out.into_iter().map(|s| s.min(1.0) as f32).collect()
    }

    fn wall_share(&self, tree: &Tree, c: &[Vec3; 3]) -> f64 {
        let out = plan((c[1] - c[0]).cross(c[2] - c[0])).normalize_or_zero();
        let middle = (c[0] + c[1] + c[2]) / 3.0;
        let places = [
            middle,
            middle.lerp(c[0], 0.6),
            middle.lerp(c[1], 0.6),
            middle.lerp(c[2], 0.6),
        ];
        let hidden = places.iter().filter(|p| {
            let at = **p + (out * BEFORE_WALL_MM).extend(0.0);
            let spot = Bounds::of([at]).grown(NOISE_MM);
            tree.any(&spot, |i| holds(&self.pieces[i as usize].1, at))
        });
        hidden.count() as f64 / places.len() as f64
    }
}

/// Whether a point lies in the air over a piece of the plan, between floor and roof.
fn holds(piece: &[Corner], at: Vec3) -> bool {
    let p = plan(at);
    let outside =
        (0..piece.len()).any(|i| turn(piece[i].at, piece[(i + 1) % piece.len()].at, p) < 0.0);
    let (floor, roof) = piece
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(f, r), c| {
            (f.min(c.floor_mm), r.max(c.roof_mm))
        });
    !outside && at.z > floor && at.z < roof
}

/// A triangle's area over its plan's.
fn stretch(solid: &Solid, triangle: usize) -> f64 {
    let c = corners(solid, triangle);
    let normal = (c[1] - c[0]).cross(c[2] - c[0]);
    normal.length() / normal.z.abs()
}
