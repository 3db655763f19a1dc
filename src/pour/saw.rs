//! Where the saw goes: stubs that come off in one pass along a fence, and what the casting rides on.
//!
//! Stubs that look the same way come off together where one plane, with the blade's kerf, crosses them all between the
//! casting and their ends. As many as can be are put into one pass (stabbing of intervals by their ends). A pass clashes
//! where metal of the casting stands out past its plane.

use crate::fault::Finding;
use crate::measure::Vec3;
use crate::pattern::LaidPlace;
use crate::pour::Subject;

/// What the blade takes (mm): common practice, a band saw.
pub(super) const KERF_MM: f64 = 1.5;
/// What is left to grind, so that the blade stays off the casting (mm).
pub(super) const CLEAR_MM: f64 = 1.0;
/// A face to ride on has at least this (mm²).
const LEAST_RIDE_MM2: f64 = 200.0;
/// How far facets of a face to ride on may lie out of its plane (mm).
const FLAT_MM: f64 = 0.02;
/// Metal that stands past a pass by less doesn't clash (mm).
const CLASH_MM: f64 = 0.1;

/// A pass of the saw. Distances are the casting's, shrunk (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct SawPass {
    /// The stubs that come off, by number in `part.gating.pieces`, in script order.
    pub pieces: Vec<usize>,
    /// Where they look (unit).
    pub toward: Vec3,
    /// The plane of the cut along `toward`, from the pattern's origin.
    pub plane_mm: f64,
    /// What the casting rides on along the fence, where it has something flat there.
    pub ride: Option<Ride>,
    /// The most that stays to grind on a stub.
    pub grind_mm: f64,
    /// The length of the shortest stub less what stays and the kerf: what there is to spare; negative where no blade
    /// goes between casting and end.
    pub room_mm: f64,
    /// A length along `toward` as the gate is cut over the same length of the casting.
    pub cut_over_cold: f64,
    /// Features that stand past the plane, farthest first, with how far.
    pub clashes: Vec<(usize, f64)>,
    /// A place of the cut, for the picture (mm, pattern).
    pub at_mm: Vec3,
}

/// A face that the casting rides on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ride {
    /// The feature with most of it.
    pub feature: usize,
    /// From it to the cut (mm, casting).
    pub distance_mm: f64,
}

#[derive(Clone, Copy)]
struct Stub {
    piece: usize,
    toward: Vec3,
    /// Along `toward`: the raw face, and the free end.
    face: f64,
    end: f64,
    at: Vec3,
}

pub(super) fn passes(subject: &Subject) -> Vec<SawPass> {
    let mut stubs: Vec<Stub> = subject
        .gated
        .laid
        .iter()
        .filter(|l| l.copy == 0)
        .filter_map(|l| match &l.place {
            LaidPlace::Stub { frame, length, .. } => {
                let face = frame.z.dot(frame.origin);
                Some(Stub {
                    piece: l.piece,
                    toward: frame.z,
                    face,
                    end: face + length,
                    at: frame.origin,
                })
            }
            _ => None,
        })
        .collect();
    let mut out = Vec::new();
    while let Some(first) = stubs.first().copied() {
        let alike = |s: &Stub| s.toward.distance(first.toward) < 1e-4;
        let (group, rest): (Vec<Stub>, Vec<Stub>) = stubs.into_iter().partition(alike);
        stubs = rest;
        out.extend(of_direction(subject, group));
    }
    out.sort_by_key(|pass| pass.pieces[0]);
    out
}

/// The passes of stubs that look the same way.
fn of_direction(subject: &Subject, mut group: Vec<Stub>) -> Vec<SawPass> {
    group.sort_by(|a, b| a.end.total_cmp(&b.end).then(a.piece.cmp(&b.piece)));
    let mut out = Vec::new();
    while let Some(first) = group.first().copied() {
        let last_chance = first.end - KERF_MM;
        let reached = |s: &Stub| s.piece == first.piece || s.face + CLEAR_MM <= last_chance;
        let (now, later): (Vec<Stub>, Vec<Stub>) = group.into_iter().partition(reached);
        group = later;
        out.push(pass(subject, &now));
    }
    out
}

fn pass(subject: &Subject, stubs: &[Stub]) -> SawPass {
    let toward = stubs[0].toward;
    let grow = subject.part.metal.growth();
    let shrunk = |mm: f64| mm / (toward * grow).length();
    let faces = stubs.iter().map(|s| s.face);
    let plane = faces.fold(f64::NEG_INFINITY, f64::max) + CLEAR_MM;
    let end = stubs.iter().map(|s| s.end).fold(f64::INFINITY, f64::min);
    let low = stubs.iter().map(|s| s.face).fold(f64::INFINITY, f64::min);
    let mut pieces: Vec<usize> = stubs.iter().map(|s| s.piece).collect();
    pieces.sort_unstable();
    SawPass {
        pieces,
        toward,
        plane_mm: plane,
        ride: ride(subject, toward).map(|(feature, at)| Ride {
            feature,
            distance_mm: shrunk(plane - at),
        }),
        grind_mm: shrunk(plane - low),
        room_mm: shrunk(end - plane - KERF_MM),
        cut_over_cold: (toward * grow).length(),
        clashes: clashes(subject, toward, plane)
            .into_iter()
            .map(|(feature, past)| (feature, shrunk(past)))
            .collect(),
        at_mm: stubs[0].at + toward * (plane - stubs[0].face),
    }
}

/// The flat face that lies farthest against a direction, if it is the outermost there: its feature and its place.
fn ride(subject: &Subject, toward: Vec3) -> Option<(usize, f64)> {
    let pattern = subject.pattern;
    let along = |p: Vec3| toward.dot(p);
    let low = pattern
        .points
        .iter()
        .map(|p| along(*p))
        .fold(f64::INFINITY, f64::min);
    let mut areas = vec![0.0; subject.part.features.len()];
    for (corners, &feature) in pattern.corners().zip(&pattern.features) {
        if corners.iter().all(|p| along(*p) - low < FLAT_MM) {
            let [a, b, c] = corners;
            areas[feature] += (b - a).cross(c - a).length() / 2.0;
        }
    }
    if areas.iter().sum::<f64>() < LEAST_RIDE_MM2 {
        return None;
    }
    let most = areas
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(&a.0)))?;
    Some((most.0, low))
}

/// Features with metal past the plane of a cut.
fn clashes(subject: &Subject, toward: Vec3, plane: f64) -> Vec<(usize, f64)> {
    let pattern = subject.pattern;
    let mut past = vec![0.0f64; subject.part.features.len()];
    for (corners, &feature) in pattern.corners().zip(&pattern.features) {
        for p in corners {
            past[feature] = past[feature].max(toward.dot(p) - plane);
        }
    }
    let mut out: Vec<(usize, f64)> = past
        .into_iter()
        .enumerate()
        .filter(|(_, past)| *past > CLASH_MM)
        .collect();
    out.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    out
}

/// The passes as findings.
pub(super) fn findings(subject: &Subject, passes: &[SawPass]) -> Vec<Finding> {
    passes
        .iter()
        .map(|p| super::findings::saw(subject, p))
        .collect()
}
