//! Recesses: the foot of a loose piece goes on below its seat, into a pocket of the same outline in what it stands on.
//!
//! Both come from one exact cut, whose body goes down into the host by a prism of its own rim: the pocket is the foot's
//! shape to the last bit. A hole in the foot stays one; what of the host stands under it stays there.
//!
//! Refused are pockets that a cutter doesn't get to, that come out of what they are in, or leave foam beside or under
//! them that is too thin to handle.

use std::collections::{BTreeMap, BTreeSet};

use crate::drawing::Part;
use crate::drawing::body::{Act, Band, Body, Shape};
use crate::drawing::foam::Recess;
use crate::drawing::given::{Edge, FeatureId};
use crate::drawing::outline::Outline;
use crate::fault::{Fault, Faults};
use crate::measure::{Frame, LIP_MM, Plane, TRIFLE_MM2, Vec2, Vec3};
use crate::pieces::cut::{Rough, frame_of};
use crate::pieces::dowels::{WALL_MM, clipped, cut_faces};
use crate::pieces::glue::{area_mm2, clip};
use crate::pieces::loose::stands_on;
use crate::pieces::nesting::signed_area;
use crate::pieces::region::SWELL_MM;
use crate::pieces::seat::loops;
use crate::pieces::{FoamPiece, Kind, Parting};
use crate::solid::reach::{Gap, Gaps};
use crate::solid::{Shell, Solid, minus, shell_of};

/// A point of a region this near to the plane that it was trimmed to lies in it (mm).
const IN_PLANE_MM: f64 = 1e-7;
/// Surfaces are looked at so far off the planes of a seat and of a pocket's floor (mm).
const OFF_MM: f64 = 1e-3;
/// Surfaces this near to a pocket's wall cross it (mm).
const CROSS_MM: f64 = 1e-2;
/// Outlines that enclose areas this near to each other are one, and lesser overlaps are rounding (mm²).
const SAME_MM2: f64 = 1e-3;
/// An overlap or a hole under this is a crumb (mm²).
const LEAST_MM2: f64 = 0.05;

/// A pocket that is asked for.
pub(super) struct Pocket<'a> {
    pub part: &'a Part,
    /// The loose feature.
    pub id: FeatureId,
    pub recess: &'a Recess,
    /// Its seat.
    pub plane: Plane,
}

impl Pocket<'_> {
    /// What cuts out the piece with its foot: a region over the seat, goes on by the recess. `foot` is what the region
    /// alone takes, its cut numbered `cut`; `rest` is what it is taken from.
    pub fn cutter(
        &self,
        region: &Shell,
        foot: &Solid,
        cut: FeatureId,
        rest: &Solid,
    ) -> Result<Shell, Fault> {
        let frame = frame_of(&self.plane);
        let depth = self.recess.depth_mm;
        let [_, seat] = cut_faces(foot, cut, &frame);
        let flat = |l: &Vec<Vec3>| l.iter().map(|p| frame.local(*p).truncate()).collect();
        let outlines: Vec<Vec<Vec2>> = loops(foot, &self.plane, cut).iter().map(flat).collect();
        let (deep, rim) = deepened(region, &self.plane, depth);
        let rim: Vec<[Vec2; 2]> = rim
            .iter()
            .map(|side| side.map(|p| frame.local(p).truncate()))
            .collect();
        // Seen from above, the rims of what looks down run clockwise.
        let (outer, holes): (Vec<&Vec<Vec2>>, Vec<&Vec<Vec2>>) =
            outlines.iter().partition(|l| signed_area(l) < 0.0);
        let around = |ls: &[&Vec<Vec2>]| ls.iter().map(|l| signed_area(l).abs()).sum::<f64>();
        let whole: f64 = rim.iter().map(|[a, b]| a.perp_dot(*b) / 2.0).sum();
        let own: f64 = around(&outer) - around(&holes_of(&rim, &holes));
        // A region stands out by its swell where nothing is round it.
        let long: f64 = rim.iter().map(|[a, b]| a.distance(*b)).sum();
        if (whole.abs() - own).abs() > SAME_MM2 + 2.0 * SWELL_MM * long {
            return Err(self.comes_out());
        }
        let least = least_mm(self.part);
        let [low, high] = ends(&seat);
        let near = |t: &[Vec3; 3]| {
            let [from, to] = ends(&[t.map(Vec3::truncate)]);
            let beside = from.cmpgt(high + least).any() || to.cmplt(low - least).any();
            !beside && t.iter().any(|p| p.z < 0.0) && t.iter().any(|p| p.z > -depth - least)
        };
        let close: Vec<[Vec3; 3]> = rest
            .corners()
            .map(|t| t.map(|p| frame.local(p)))
            .filter(near)
            .collect();
        match beside_mm(&close, &rim, depth) {
            Some(mm) if mm < CROSS_MM => return Err(self.comes_out()),
            Some(mm) if mm < least - OFF_MM => return Err(self.thin(mm, "beside")),
            _ => {}
        }
        let under = roof_mm(close.iter(), &seat, depth + least).map(|mm| mm - depth);
        self.stands(under)?;
        let islands = holes.iter().filter(|l| signed_area(l) > LEAST_MM2);
        let mut cutter = deep;
        for hole in islands {
            let island = island(hole, &frame, depth)
                .map_err(|text| self.refused(&format!("can't be cut: {text}")))?;
            cutter = minus(&cutter, &island).map_err(|fault| self.refused(&fault.text()))?;
        }
        Ok(cutter)
    }

    /// Refuses a floor with too little foam under it; `under_mm` is what there is where something is near.
    pub fn stands(&self, under_mm: Option<f64>) -> Result<(), Fault> {
        match under_mm {
            Some(mm) if mm < CROSS_MM => Err(self.comes_out()),
            Some(mm) if mm < least_mm(self.part) - OFF_MM => Err(self.thin(mm, "under")),
            _ => Ok(()),
        }
    }

    fn comes_out(&self) -> Fault {
        let on = |f: &FeatureId| stands_on(self.part, *f);
        let host = std::iter::successors(on(&self.id), on)
            .map(|f| &self.part.features[f])
            .find(|f| !f.is_opening());
        let host = host.map_or("what it stands on", |f| f.name.as_str());
        self.refused(&format!("would come out of {host}"))
    }

    fn thin(&self, mm: f64, where_: &str) -> Fault {
        let show = |mm: f64| self.part.unit.show(mm);
        let (left, least) = (show(mm), show(least_mm(self.part)));
        self.refused(&format!(
            "would leave {left} of foam {where_} it, and less than {least} breaks"
        ))
    }

    fn refused(&self, why: &str) -> Fault {
        let depth = self.part.unit.show(self.recess.depth_mm);
        let name = &self.part.features[self.id].name;
        let text = format!("the pocket for {name}, {depth} deep, {why}");
        let hint =
            format!("make `recess` smaller, set {name} on pegs (`peg`), or leave it out there");
        Fault::new(text).from_site(&self.recess.site).hint(hint)
    }
}

/// The least foam beside and under a pocket (mm).
fn least_mm(part: &Part) -> f64 {
    part.min_foam_mm.unwrap_or(WALL_MM)
}

/// Whether every pocket lies in foam that is thick enough, and open to the cutter, now that all is parted.
pub(super) fn check(
    part: &Part,
    rough: &[Rough],
    splits: &[Parting],
    pieces: &[FoamPiece],
) -> Result<(), Faults> {
    for (number, split) in splits.iter().enumerate() {
        let Some((id, recess)) = split.of.first().and_then(|&id| {
            let recess = part.features[id].located.recess.as_ref();
            recess.filter(|_| split.recess_mm > 0.0).map(|r| (id, r))
        }) else {
            continue;
        };
        let pocket = Pocket {
            part,
            id,
            recess,
            plane: split.plane,
        };
        let cut = part.features.len() + number;
        let hosts = rough.iter().zip(pieces);
        for (host, piece) in hosts.filter(|(r, _)| r.kind != Kind::Loose(id)) {
            pocket.holds(&host.solid, piece, &frame_of(&split.joint()), cut)?;
        }
    }
    Ok(())
}

impl Pocket<'_> {
    /// Refuses what of the pocket is in a piece where it can't be; the frame lies on its floor.
    fn holds(
        &self,
        host: &Solid,
        piece: &FoamPiece,
        frame: &Frame,
        cut: FeatureId,
    ) -> Result<(), Fault> {
        let [floor, _] = cut_faces(host, cut, frame);
        let own = host.corners().zip(&host.features);
        let wall: f64 = own
            .filter(|(_, f)| **f == cut)
            .map(|(t, _)| {
                let t = t.map(|p| frame.local(p));
                let over = clipped(&t, |p| p.z - OFF_MM);
                let within = clipped(&over, |p| self.recess.depth_mm - OFF_MM - p.z);
                let doubled = within.windows(2).map(|w| {
                    let first = within[0];
                    (w[0] - first).cross(w[1] - first)
                });
                doubled.sum::<Vec3>().length() / 2.0
            })
            .sum();
        if floor.is_empty() {
            let name = &piece.name;
            return if wall > LEAST_MM2 {
                Err(self.refused(&format!(
                    "would go right through {name}: a split runs beside its floor"
                )))
            } else {
                Ok(())
            };
        }
        let lying = host.seen_from(&piece.lay);
        let of_pocket = |gap: &Gap| {
            [gap.floor, gap.roof]
                .iter()
                .any(|&t| lying.features[t as usize] == cut)
        };
        let lip = LIP_MM.max(2.5 * self.part.facet_mm);
        let hidden = Gaps::of(&lying).hidden(f64::NEG_INFINITY, f64::INFINITY, lip, &of_pocket);
        if hidden.plan_mm2() > TRIFLE_MM2 {
            return Err(self.refused(&format!(
                "would be hidden from the cutter in {} as that lies to be cut",
                piece.name
            )));
        }
        let local: Vec<[Vec3; 3]> = host.corners().map(|t| t.map(|p| frame.local(p))).collect();
        self.stands(roof_mm(local.iter(), &floor, least_mm(self.part)))
    }
}

/// A region over a plane that goes on below it by a depth, straight down from its rim there; and that rim, whose sides run
/// clockwise round it as seen from the end of the plane's normal.
fn deepened(region: &Shell, plane: &Plane, depth_mm: f64) -> (Shell, Vec<[Vec3; 2]>) {
    let seated = |v: &u32| plane.distance(region.points[*v as usize]).abs() < IN_PLANE_MM;
    let (cap, mut triangles): (Vec<[u32; 3]>, Vec<[u32; 3]>) = region
        .triangles
        .iter()
        .copied()
        .partition(|t| t.iter().all(seated));
    let mut points = region.points.clone();
    let mut below: BTreeMap<u32, u32> = BTreeMap::new();
    for &v in cap.iter().flatten() {
        below.entry(v).or_insert_with(|| {
            let p = region.points[v as usize];
            let flat = p - plane.normal * plane.distance(p);
            points.push(flat - plane.normal * depth_mm);
            points.len() as u32 - 1
        });
    }
    let sides: BTreeSet<(u32, u32)> = cap
        .iter()
        .flat_map(|t| (0..3).map(|k| (t[k], t[(k + 1) % 3])))
        .collect();
    let rim = sides.iter().filter(|(a, b)| !sides.contains(&(*b, *a)));
    let mut out = Vec::new();
    for &(a, b) in rim {
        let (under_a, under_b) = (below[&a], below[&b]);
        triangles.extend([[a, b, under_b], [a, under_b, under_a]]);
        out.push([a, b].map(|v| region.points[v as usize]));
    }
    triangles.extend(cap.iter().map(|t| t.map(|v| below[&v])));
    (Shell::plain(points, triangles), out)
}

/// Those of some holes that are holes of the rim itself: they lie along it.
fn holes_of<'a>(rim: &[[Vec2; 2]], holes: &[&'a Vec<Vec2>]) -> Vec<&'a Vec<Vec2>> {
    let on = |p: &Vec2| rim.iter().any(|side| to_side(side, *p) < CROSS_MM);
    let own = holes.iter().filter(|l| l.iter().all(on));
    own.copied().collect()
}

/// What of the host stays standing under a hole of the foot: a little off the hole's wall, so that no cut lies in it.
fn island(hole: &[Vec2], frame: &Frame, depth_mm: f64) -> Result<Shell, String> {
    let n = hole.len();
    let moved: Vec<Vec2> = (0..n)
        .map(|i| {
            let way = |from: usize, to: usize| (hole[to % n] - hole[from % n]).normalize_or_zero();
            let (before, after) = (way(i + n - 1, i), way(i, i + 1));
            // Its inside lies to the left.
            let across = before.perp() + after.perp();
            let stretch = (1.0 + before.dot(after)).max(0.1);
            hole[i] + across / stretch * SWELL_MM
        })
        .collect();
    let unit = crate::measure::Unit::Mm;
    let outline = Outline::polygon(&moved).map_err(|e| e.text(unit))?;
    let band = Band {
        outline,
        holds: 0.0,
        z0: -depth_mm - 1.0,
        z1: SWELL_MM,
        draft_deg: 0.0,
        flare: Edge::Sharp,
        edge: Edge::Sharp,
        below: 0.0,
        above: 0.0,
    };
    let body = Body::plain(0, Act::Add, *frame, Shape::Band(band));
    shell_of(&body, SWELL_MM).map_err(|fault| fault.text(unit))
}

/// How far under the plane z = 0 the nearest surface lies that looks down over some faces there (mm); `None` where none is
/// nearer than `deep_mm`.
fn roof_mm<'t>(
    triangles: impl Iterator<Item = &'t [Vec3; 3]>,
    floor: &[[Vec2; 3]],
    deep_mm: f64,
) -> Option<f64> {
    let (mut area, mut highest) = (0.0, f64::NEG_INFINITY);
    let [low, high] = ends(floor);
    for &[a, b, c] in triangles {
        let normal = (b - a).cross(c - a);
        if normal.z >= 0.0 {
            continue;
        }
        let under = clipped(&[a, c, b], |p| -OFF_MM - p.z);
        let bit = clipped(&under, |p| p.z + deep_mm);
        let plan: Vec<Vec2> = bit.iter().map(|p| p.truncate()).collect();
        let away = |side: Vec2| side.x > 0.0 || side.y > 0.0;
        let [from, to] = plan
            .iter()
            .fold([Vec2::INFINITY, Vec2::NEG_INFINITY], |e, p| {
                [e[0].min(*p), e[1].max(*p)]
            });
        if plan.len() < 3 || away(from - high) || away(low - to) {
            continue;
        }
        for t in floor {
            let both = clip(plan.clone(), t);
            let mm2 = area_mm2(&both);
            if mm2 > SAME_MM2 {
                area += mm2;
                let height = |p: &Vec2| a.z - (normal.truncate().dot(*p - a.truncate())) / normal.z;
                highest = both.iter().map(height).fold(highest, f64::max);
            }
        }
    }
    (area > LEAST_MM2).then_some(-highest)
}

/// How near in plan a surface outside of a rim comes to it, over the depth of a pocket (mm); 0 where it crosses it.
fn beside_mm(triangles: &[[Vec3; 3]], rim: &[[Vec2; 2]], depth_mm: f64) -> Option<f64> {
    let mut least: Option<f64> = None;
    for t in triangles {
        let under = clipped(t, |p| -OFF_MM - p.z);
        let bit = clipped(&under, |p| p.z + depth_mm - OFF_MM);
        let plan: Vec<Vec2> = bit.iter().map(|p| p.truncate()).collect();
        let Some(&first) = plan.first() else {
            continue;
        };
        let mut far = f64::INFINITY;
        for (i, a) in plan.iter().enumerate() {
            let own = [*a, plan[(i + 1) % plan.len()]];
            far = rim.iter().map(|side| apart(&own, side)).fold(far, f64::min);
        }
        if far < CROSS_MM || !inside(rim, first) {
            least = Some(least.map_or(far, |l| l.min(far)));
        }
    }
    least
}

/// Whether a place lies within closed rims.
fn inside(rim: &[[Vec2; 2]], p: Vec2) -> bool {
    let crossed = rim.iter().filter(|[a, b]| {
        (a.y > p.y) != (b.y > p.y) && a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) > p.x
    });
    crossed.count() % 2 == 1
}

/// How far two lines with ends lie apart.
fn apart(a: &[Vec2; 2], b: &[Vec2; 2]) -> f64 {
    let side = |l: &[Vec2; 2], p: Vec2| (l[1] - l[0]).perp_dot(p - l[0]);
    let parted = |l: &[Vec2; 2], m: &[Vec2; 2]| side(l, m[0]) * side(l, m[1]) < 0.0;
    if parted(a, b) && parted(b, a) {
        return 0.0;
    }
    let to = |l: &[Vec2; 2], m: &[Vec2; 2]| to_side(l, m[0]).min(to_side(l, m[1]));
    to(a, b).min(to(b, a))
}

/// How far a place lies from a line with ends.
fn to_side([from, to]: &[Vec2; 2], p: Vec2) -> f64 {
    let way = *to - *from;
    let t = (p - *from).dot(way) / way.length_squared().max(f64::MIN_POSITIVE);
    p.distance(*from + way * t.clamp(0.0, 1.0))
}

/// The corners of the box round some triangles.
fn ends(triangles: &[[Vec2; 3]]) -> [Vec2; 2] {
    let all = triangles.iter().flatten();
    all.fold([Vec2::INFINITY, Vec2::NEG_INFINITY], |e, p| {
        [e[0].min(*p), e[1].max(*p)]
    })
}
