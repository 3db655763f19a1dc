//! Pegs of foam across the splits, and under loose pieces that ask for them: holes in both pieces, so placed that neither
//! can be turned round.
//!
//! A centre is good when it lies inside the joint of both pieces, and no surface of either within the peg's depth is nearer
//! in plan than the peg's radius and a wall: exact, with no offsets. Of the good places three are chosen whose distances
//! all differ, so that no turn and no flip lays them on each other; else two whose middle lies off that of the joint.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::f64::consts::{PI, TAU};

use crate::drawing::Part;
use crate::drawing::foam::Dowels;
use crate::drawing::given::FeatureId;
use crate::fault::{Fault, Faults, Finding, Level};
use crate::measure::{Frame, Vec2, Vec3};
use crate::pieces::cut::{NO_JOINT, Rough, cut_out, frame_of};
use crate::pieces::{Dowel, Parting};
use crate::solid::{Memo, Shell, Solid, Workpiece};

/// Foam left beside and under a peg or a pocket where the script names no thinnest foam (mm).
pub(super) const WALL_MM: f64 = 3.0;
/// Distances between pegs that differ by less can be taken for each other (mm).
const UNLIKE_MM: f64 = 6.0;
/// Depths tried, as shares of the one asked for.
const SHARES: [f64; 3] = [1.0, 0.7, 0.5];
/// Pitches of the places looked at (mm), coarse to fine.
const PITCHES_MM: [f64; 3] = [4.0, 1.5, 0.5];
/// Good places that are enough to choose from.
const ENOUGH: usize = 8;
/// Good places among which pegs are chosen, at most, beside the outermost.
const CHOICE: usize = 40;
/// Side of the cells that surfaces are sorted into (mm).
const CELL_MM: f64 = 8.0;
/// A triangle this near to the plane lies in it (mm).
const IN_PLANE_MM: f64 = 1e-4;
/// How far a drill goes beyond the joint (mm).
const BEYOND_MM: f64 = 1.0;

/// The pegs asked for across a split, or under a loose piece.
fn wish<'a>(part: &'a Part, split: &Parting) -> Option<&'a Dowels> {
    if !split.loose {
        return part.dowels.as_ref();
    }
    let id = split.of.first()?;
    part.features[*id].located.pegs.as_ref()
}

/// Sets pegs across every split and under loose pieces, and cuts their holes.
pub(super) fn set(
    part: &Part,
    rough: &mut [Rough],
    splits: &[Parting],
    findings: &mut Vec<Finding>,
    memo: &mut Memo,
) -> Result<Vec<Dowel>, Faults> {
    let mut all = Vec::new();
    let given: &[Vec2] = part.dowels.as_ref().map_or(&[], |d| &d.at);
    let mut used = vec![false; given.len()];
    let mut drilled: BTreeMap<usize, Workpiece> = BTreeMap::new();
    for (number, split) in splits.iter().enumerate() {
        let Some(wish) = wish(part, split) else {
            continue;
        };
        // The largest joint of a split is the one that is told of: small ones hold by their glue.
        let mut largest: (f64, Option<Finding>) = (0.0, None);
        for [below, above] in joints(part, rough, number, split) {
            let joint = Joint::of(part, rough, number, split, [below, above]);
            let (chosen, sure) = joint.places(part, wish, &mut used);
            let wanted = wish.count.unwrap_or(3);
            if wish.at.is_empty() && joint.area_mm2() > largest.0 {
                let short = chosen.len() < wanted || !sure;
                let finding = short.then(|| few(part, wish, split, chosen.len(), wanted));
                largest = (joint.area_mm2(), finding);
            }
            for spot in chosen {
                let dowel = drill(part, rough, &mut drilled, &joint, wish, spot, memo)
                    .map_err(|text| Faults::from(Fault::new(text).from_site(&wish.site)))?;
                all.push(Dowel {
                    split: number,
                    pieces: [below, above],
                    ..dowel
                });
            }
            // The next joint's pegs keep clear of these.
            for piece in [below, above] {
                if let Some(work) = drilled.get(&piece) {
                    rough[piece].solid = work.solid();
                }
            }
        }
        findings.extend(largest.1);
    }
    if let Some(wish) = &part.dowels {
        for (at, _) in wish.at.iter().zip(used).filter(|(_, used)| !used) {
            findings.push(nowhere(part, wish, *at));
        }
    }
    Ok(all)
}

fn few(part: &Part, wish: &Dowels, split: &Parting, got: usize, wanted: usize) -> Finding {
    let text = match got {
        n if split.loose && n < wanted => format!(
            "{n} of {wanted} pegs fit under the loose piece \"{}\" with foam round them",
            split.name
        ),
        _ if split.loose => format!(
            "the pegs under the loose piece \"{}\" let it be set turned round",
            split.name
        ),
        n if n < wanted => format!(
            "{n} of {wanted} dowels fit across the split \"{}\" with foam round them",
            split.name
        ),
        _ => format!(
            "the dowels across the split \"{}\" let its pieces be put together turned round",
            split.name
        ),
    };
    let dia = part.unit.show(wish.dia_mm);
    let remedy = if split.loose {
        format!(
            "use thinner or shorter pegs than {dia} by {}, or fewer, and set it by its outline",
            part.unit.show(wish.depth_mm)
        )
    } else {
        format!("use thinner dowels than {dia}, or mark the pieces before they are parted")
    };
    let mut finding = Finding::new("few-dowels", Level::Look, text, remedy);
    finding.stage = Some("pattern");
    finding.features = vec![(split.name.clone(), wish.site.script().clone())];
    finding
}

fn nowhere(part: &Part, wish: &Dowels, at: Vec2) -> Finding {
    let text = format!(
        "no joint has room for a dowel at {}, {}",
        part.unit.number(at.x),
        part.unit.number(at.y)
    );
    let remedy = "move it into thick foam that a split runs through";
    let mut finding = Finding::new("few-dowels", Level::Look, text, remedy);
    finding.stage = Some("pattern");
    finding.features = vec![("dowels".to_string(), wish.site.script().clone())];
    finding
}

/// The pairs of pieces, below and above, whose cut faces of a split meet.
fn joints(part: &Part, rough: &[Rough], number: usize, split: &Parting) -> Vec<[usize; 2]> {
    let faces: Vec<[Vec<[Vec2; 3]>; 2]> = rough
        .iter()
        .map(|r| {
            let id = part.features.len() + number;
            cut_faces(&r.solid, id, &frame_of(&split.joint()))
        })
        .collect();
    let mut out = Vec::new();
    for (below, a) in faces.iter().enumerate() {
        for (above, b) in faces.iter().enumerate() {
            let mut middles = a[0].iter().map(|t| (t[0] + t[1] + t[2]) / 3.0);
            let mut backs = b[1].iter().map(|t| (t[0] + t[1] + t[2]) / 3.0);
            let meet = middles.any(|m| b[1].iter().any(|t| within(t, m)))
                || backs.any(|m| a[0].iter().any(|t| within(t, m)));
            if below != above && meet {
                out.push([below, above]);
            }
        }
    }
    out
}

/// A solid's triangles of a cut that lie in a plane, in its frame, counter-clockwise: those that look up, and down.
pub(super) fn cut_faces(solid: &Solid, id: FeatureId, frame: &Frame) -> [Vec<[Vec2; 3]>; 2] {
    let mut out = [Vec::new(), Vec::new()];
    let own = solid.corners().zip(&solid.features);
    for (corners, _) in own.filter(|(_, f)| **f == id) {
        let [a, b, c] = corners.map(|p| frame.local(p));
        if a.z.abs().max(b.z.abs()).max(c.z.abs()) > IN_PLANE_MM {
            continue;
        }
        let [a, b, c] = [a, b, c].map(Vec3::truncate);
        if (b - a).perp_dot(c - a) > 0.0 {
            out[0].push([a, b, c]);
        } else {
            out[1].push([a, c, b]);
        }
    }
    out
}

/// Whether a point lies in a triangle that turns counter-clockwise.
fn within(t: &[Vec2; 3], p: Vec2) -> bool {
    (0..3).all(|k| (t[(k + 1) % 3] - t[k]).perp_dot(p - t[k]) >= 0.0)
}

/// A joint of two pieces, in the frame of its split.
struct Joint {
    frame: Frame,
    pieces: [usize; 2],
    /// The cut faces of the piece below and of the one above.
    faces: [Vec<[Vec2; 3]>; 2],
    /// Their other triangles.
    others: [Vec<[Vec3; 3]>; 2],
    /// The box round the faces of both.
    low: Vec2,
    high: Vec2,
}

/// A place, and how deep a peg goes there, below and above (mm).
#[derive(Debug, Clone, Copy)]
struct Spot {
    at: Vec2,
    depth_mm: f64,
}

impl Joint {
    fn of(
        part: &Part,
        rough: &[Rough],
        number: usize,
        split: &Parting,
        pieces: [usize; 2],
    ) -> Joint {
        let frame = frame_of(&split.joint());
        let [below, above] = pieces.map(|p| {
            let id = part.features.len() + number;
            cut_faces(&rough[p].solid, id, &frame)
        });
        let others = pieces.map(|p| {
            let local = rough[p].solid.corners().map(|t| t.map(|c| frame.local(c)));
            local
                .filter(|t| t.iter().any(|c| c.z.abs() > IN_PLANE_MM))
                .collect()
        });
        let [below, _] = below;
        let [_, above] = above;
        let around = |faces: &[[Vec2; 3]]| {
            faces.iter().flatten().fold(
                (Vec2::INFINITY, Vec2::NEG_INFINITY),
                |(low, high): (Vec2, Vec2), p| (low.min(*p), high.max(*p)),
            )
        };
        let (a, b) = (around(&below), around(&above));
        Joint {
            frame,
            pieces,
            faces: [below, above],
            others,
            low: a.0.max(b.0),
            high: a.1.min(b.1),
        }
    }

    /// Whether both pieces have foam at a place.
    fn holds(&self, p: Vec2) -> bool {
        self.faces
            .iter()
            .all(|faces| faces.iter().any(|t| within(t, p)))
    }

    /// The places of this joint's pegs, and whether they can't be mistaken.
    fn places(&self, part: &Part, wish: &Dowels, used: &mut [bool]) -> (Vec<Spot>, bool) {
        let wall = part.min_foam_mm.unwrap_or(WALL_MM);
        let clear = wish.dia_mm / 2.0 + wall;
        let wanted = wish.count.unwrap_or(3);
        let mut best: (Vec<Spot>, bool) = (Vec::new(), false);
        for share in SHARES {
            let depth_mm = share * wish.depth_mm;
            let field = Field::of(&self.others, depth_mm + wall, clear);
            if !wish.at.is_empty() {
                let by = part.metal.growth();
                for (at, used) in wish.at.iter().zip(used.iter_mut()) {
                    let at = *at * by.truncate();
                    let taken = best.0.iter().any(|s| s.at == at);
                    if !taken && self.holds(at) && field.clear(at, clear) {
                        best.0.push(Spot { at, depth_mm });
                        *used = true;
                    }
                }
                continue;
            }
            let mut good = Vec::new();
            for pitch in PITCHES_MM {
                good = self.grid(pitch, |p| field.clear(p, clear));
                if good.len() >= ENOUGH {
                    break;
                }
            }
            let (chosen, sure) = choose(&good, wish.dia_mm, wanted, self.middle());
            let better = (chosen.len(), sure) > (best.0.len(), best.1);
            if better {
                let spot = |at| Spot { at, depth_mm };
                best = (chosen.into_iter().map(spot).collect(), sure);
            }
            if best.0.len() >= wanted && best.1 {
                break;
            }
        }
        best
    }

    /// The area of the lesser of its two cut faces (mm²).
    fn area_mm2(&self) -> f64 {
        let area = |faces: &Vec<[Vec2; 3]>| -> f64 {
            let twice = faces.iter().map(|[a, b, c]| (*b - *a).perp_dot(*c - *a));
            twice.sum::<f64>() / 2.0
        };
        area(&self.faces[0]).min(area(&self.faces[1]))
    }

    /// The middle of the lower piece's cut face.
    fn middle(&self) -> Vec2 {
        let (mut sum, mut area) = (Vec2::ZERO, 0.0);
        for [a, b, c] in &self.faces[0] {
            let twice = (*b - *a).perp_dot(*c - *a);
            sum += (*a + *b + *c) / 3.0 * twice;
            area += twice;
        }
        if area > 0.0 { sum / area } else { self.low }
    }

    /// The good places of a grid, on round figures where they can be.
    fn grid(&self, pitch: f64, good: impl Fn(Vec2) -> bool) -> Vec<Vec2> {
        let first = ((self.low / pitch).floor() + Vec2::splat(0.5)) * pitch;
        let count = ((self.high - first) / pitch).ceil().max(Vec2::ZERO);
        let mut out = Vec::new();
        for row in 0..count.y as usize {
            for column in 0..count.x as usize {
                let p = first + Vec2::new(column as f64, row as f64) * pitch;
                if good(p) && self.holds(p) {
                    out.push(p);
                }
            }
        }
        out
    }
}

/// The surfaces of both pieces within a depth of the joint, in plan.
struct Field {
    low: Vec2,
    columns: usize,
    rows: usize,
    cells: Vec<Vec<u32>>,
    bits: Vec<Vec<Vec2>>,
}

impl Field {
    fn of(others: &[Vec<[Vec3; 3]>; 2], depth_mm: f64, reach_mm: f64) -> Field {
        let mut bits: Vec<Vec<Vec2>> = Vec::new();
        for (side, triangles) in others.iter().enumerate() {
            let down = side == 0;
            for t in triangles {
                // From the joint outward, whichever way that is.
                let out = |p: &Vec3| if down { -p.z } else { p.z };
                let near = clipped(t.as_slice(), out);
                let bit = clipped(&near, |p| depth_mm - out(p));
                if !bit.is_empty() {
                    bits.push(bit.iter().map(|p| p.truncate()).collect());
                }
            }
        }
        let all = bits.iter().flatten();
        let (low, high) = all.fold((Vec2::INFINITY, Vec2::NEG_INFINITY), |(a, b), p| {
            (a.min(*p), b.max(*p))
        });
        let size = ((high - low) / CELL_MM).max(Vec2::ZERO);
        let (columns, rows) = (size.x as usize + 1, size.y as usize + 1);
        let mut field = Field {
            low,
            columns,
            rows,
            cells: vec![Vec::new(); columns * rows],
            bits: Vec::new(),
        };
        for (i, bit) in bits.iter().enumerate() {
            let ends = bit
                .iter()
                .fold((Vec2::INFINITY, Vec2::NEG_INFINITY), |(a, b), p| {
                    (a.min(*p), b.max(*p))
                });
            let (from, to) = (field.cell(ends.0 - reach_mm), field.cell(ends.1 + reach_mm));
            for row in from.1..=to.1 {
                for column in from.0..=to.0 {
                    field.cells[row * columns + column].push(i as u32);
                }
            }
        }
        field.bits = bits;
        field
    }

    fn cell(&self, p: Vec2) -> (usize, usize) {
        let at = ((p - self.low) / CELL_MM).max(Vec2::ZERO);
        (
            (at.x as usize).min(self.columns - 1),
            (at.y as usize).min(self.rows - 1),
        )
    }

    /// Whether no surface comes this near to a place in plan.
    fn clear(&self, p: Vec2, reach_mm: f64) -> bool {
        let (column, row) = self.cell(p);
        let near = &self.cells[row * self.columns + column];
        near.iter()
            .all(|&i| distance(&self.bits[i as usize], p) >= reach_mm)
    }
}

/// The part of a convex polygon where `side` is at least 0.
pub(super) fn clipped(shape: &[Vec3], side: impl Fn(&Vec3) -> f64) -> Vec<Vec3> {
    let mut out = Vec::with_capacity(shape.len() + 1);
    for (i, p) in shape.iter().enumerate() {
        let q = &shape[(i + 1) % shape.len()];
        let (s, t) = (side(p), side(q));
        if s >= 0.0 {
            out.push(*p);
        }
        if s * t < 0.0 {
            out.push(p.lerp(*q, s / (s - t)));
        }
    }
    out
}

/// How far a place lies from a convex polygon, 0 within it.
fn distance(shape: &[Vec2], p: Vec2) -> f64 {
    let mut least = f64::INFINITY;
    let (mut left, mut right) = (false, false);
    for (i, a) in shape.iter().enumerate() {
        let b = shape[(i + 1) % shape.len()];
        let way = b - *a;
        let share = if way == Vec2::ZERO {
            0.0
        } else {
            ((p - *a).dot(way) / way.length_squared()).clamp(0.0, 1.0)
        };
        least = least.min(p.distance(*a + way * share));
        let turn = way.perp_dot(p - *a);
        left |= turn > 0.0;
        right |= turn < 0.0;
    }
    if left != right && shape.len() > 2 {
        0.0
    } else {
        least
    }
}

/// The places taken of the good ones, and whether they can't be mistaken.
fn choose(good: &[Vec2], dia_mm: f64, wanted: usize, middle: Vec2) -> (Vec<Vec2>, bool) {
    let Some(&first) = good.first() else {
        return (Vec::new(), false);
    };
    let ends = outermost(good, first);
    let apart = 2.0 * dia_mm;
    if wanted >= 3
        && let Some(mut three) = triple(&ends, apart)
    {
        while three.len() < wanted {
            let far = |p: &Vec2| {
                let nearest = three.iter().map(|q| p.distance(*q));
                nearest.fold(f64::INFINITY, f64::min)
            };
            let next = ends.iter().max_by(|a, b| far(a).total_cmp(&far(b)));
            match next.copied().filter(|p| far(p) >= apart) {
                Some(p) => three.push(p),
                None => break,
            }
        }
        return (three, true);
    }
    if wanted >= 2
        && let Some((two, sure)) = pair(&ends, apart, middle)
    {
        return (two, sure);
    }
    let near = |p: &Vec2| p.distance(middle);
    let one = good.iter().min_by(|a, b| near(a).total_cmp(&near(b)));
    (one.copied().into_iter().collect(), wanted == 1)
}

/// The good places farthest out in sixteen directions, and some of the others.
fn outermost(good: &[Vec2], first: Vec2) -> Vec<Vec2> {
    let mut ends: Vec<Vec2> = (0..16)
        .map(|k| {
            let way = Vec2::from_angle(f64::from(k) * PI / 8.0);
            let far = |a: &Vec2, b: &Vec2| a.dot(way).total_cmp(&b.dot(way));
            let most = good.iter().copied().max_by(far);
            most.unwrap_or(first)
        })
        .collect();
    ends.extend(good.iter().step_by(good.len() / CHOICE + 1));
    ends.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    ends.dedup();
    ends
}

/// Three places with the longest shortest side, all sides unlike.
fn triple(ends: &[Vec2], apart: f64) -> Option<Vec<Vec2>> {
    let mut best = (apart, None);
    for i in 0..ends.len() {
        for j in 0..i {
            let a = ends[i].distance(ends[j]);
            if a < best.0 {
                continue;
            }
            for k in 0..j {
                let (b, c) = (ends[j].distance(ends[k]), ends[k].distance(ends[i]));
                let unlike = (a - b).abs().min((b - c).abs()).min((c - a).abs());
                let least = a.min(b).min(c);
                if unlike >= UNLIKE_MM && (least > best.0 || (best.1.is_none() && least >= best.0))
                {
                    best = (least, Some(vec![ends[i], ends[j], ends[k]]));
                }
            }
        }
    }
    best.1
}

/// Two places far apart, their middle off the joint's where that can be.
fn pair(ends: &[Vec2], apart: f64, middle: Vec2) -> Option<(Vec<Vec2>, bool)> {
    let mut best: Option<(bool, f64, [Vec2; 2])> = None;
    for (i, a) in ends.iter().enumerate() {
        for b in &ends[..i] {
            let long = a.distance(*b);
            let off = 2.0 * ((*a + *b) / 2.0).distance(middle) >= UNLIKE_MM;
            let better = best.is_none_or(|(was_off, was, _)| (off, long) > (was_off, was));
            if long >= apart && better {
                best = Some((off, long, [*a, *b]));
            }
        }
    }
    best.map(|(off, _, two)| (two.to_vec(), off))
}

/// Cuts the two holes of a peg.
fn drill(
    part: &Part,
    rough: &[Rough],
    drilled: &mut BTreeMap<usize, Workpiece>,
    joint: &Joint,
    wish: &Dowels,
    spot: Spot,
    memo: &mut Memo,
) -> Result<Dowel, String> {
    let mut volume_mm3 = 0.0;
    for (side, &piece) in joint.pieces.iter().enumerate() {
        let (low, high) = if side == 0 {
            (-spot.depth_mm, BEYOND_MM)
        } else {
            (-BEYOND_MM, spot.depth_mm)
        };
        let (points, triangles) = cylinder(part, &joint.frame, spot.at, wish.dia_mm, low, high);
        let cutter = Shell::plain(points, triangles);
        let work = match drilled.entry(piece) {
            Entry::Occupied(work) => work.into_mut(),
            Entry::Vacant(place) => {
                let solid = &rough[piece].solid;
                let work = Workpiece::of(solid, &solid.bounds().grown(BEYOND_MM));
                place.insert(work.map_err(|fault| fault.text())?)
            }
        };
        let peg = cut_out(work, cutter, NO_JOINT, 0.0, memo)?;
        volume_mm3 += peg.volume_mm3();
    }
    Ok(Dowel {
        split: 0,
        pieces: joint.pieces,
        at: joint.frame.point(spot.at.extend(0.0)),
        axis: joint.frame.z,
        dia_mm: wish.dia_mm,
        depth_mm: spot.depth_mm,
        volume_mm3,
    })
}

/// An upright cylinder in a frame, its rim on the true circle.
fn cylinder(
    part: &Part,
    frame: &Frame,
    at: Vec2,
    dia_mm: f64,
    low: f64,
    high: f64,
) -> (Vec<Vec3>, Vec<[u32; 3]>) {
    let radius = dia_mm / 2.0;
    let turn = 2.0 * (1.0 - (part.facet_mm / radius).min(0.3)).acos();
    let n = ((TAU / turn).ceil() as u32).max(12);
    let rim = |z: f64| {
        (0..n).map(move |i| {
            let way = Vec2::from_angle(f64::from(i) / f64::from(n) * TAU);
            frame.point((at + way * radius).extend(z))
        })
    };
    let points: Vec<Vec3> = rim(low).chain(rim(high)).collect();
    let mut triangles = Vec::new();
    for i in 0..n {
        let j = (i + 1) % n;
        triangles.push([i, j, n + j]);
        triangles.push([i, n + j, n + i]);
    }
    for i in 1..n - 1 {
        triangles.push([0, i + 1, i]);
        triangles.push([n, n + i, n + i + 1]);
    }
    (points, triangles)
}
