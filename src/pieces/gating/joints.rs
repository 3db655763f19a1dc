//! Rows of the bill, what each is glued to, and the order in which they go on.

use std::collections::{BTreeMap, BTreeSet};

use crate::drawing::Part;
use crate::measure::{Bounds, Plane, Vec3};
use crate::pattern::{Gated, LaidPlace};
use crate::pieces::cut::Rough;
use crate::pieces::gating::lying::{best, lies};
use crate::pieces::gating::shaped::Shaped;
use crate::pieces::gating::{Labels, On};
use crate::pieces::glue::contact_mm2;
use crate::pieces::lay::flat;
use crate::pieces::{FoamPiece, Glue, Kind, Parting, Pieces, Step};
use crate::solid::Solid;

/// Pieces of two patterns of a tree are alike where their sizes differ by less (mm).
const ALIKE_MM: f64 = 0.01;
/// And their volumes (mm³).
const ALIKE_MM3: f64 = 0.5;
/// Joints under this are crumbs (mm²).
const LEAST_MM2: f64 = 0.01;
/// Normals that cancel to less than this share leave a joint without a way.
const CANCELLED: f64 = 0.1;

/// A row of the bill: pieces that are alike on each pattern.
struct Row {
    /// The number of the gating's piece.
    piece: usize,
    riser: bool,
    /// Its place in the list of parts, one a member.
    members: Vec<usize>,
    foam: FoamPiece,
}

/// Adds rows, joints and steps for the parts of the gating.
pub(super) fn join(
    part: &Part,
    gated: &Gated,
    rough: &[Rough],
    parts: Vec<Shaped>,
    labels: Labels,
    pieces: &mut Pieces,
) {
    let first = pieces.pieces.len();
    let rows = rows(part, gated, &parts);
    let mut row_of = vec![0; parts.len()];
    for (number, row) in rows.iter().enumerate() {
        row.members.iter().for_each(|&m| row_of[m] = first + number);
    }
    let places: Vec<LaidPlace> = rows
        .iter()
        .map(|row| gated.laid[parts[row.members[0]].laid].place.clone())
        .collect();
    let members: Vec<usize> = rows.iter().map(|row| row.members.len()).collect();
    let taken = pieces.pieces.iter().map(|p| p.name.clone()).collect();
    let names = names(part, &rows, taken);
    for (row, name) in rows.into_iter().zip(names) {
        pieces.pieces.push(FoamPiece { name, ..row.foam });
    }
    // Area by row, label group and what it is glued to, over all members.
    let mut areas: BTreeMap<(usize, Group), BTreeMap<usize, f64>> = BTreeMap::new();
    let mut seats: BTreeMap<(usize, Group), Plane> = BTreeMap::new();
    for (number, one) in parts.iter().enumerate() {
        let own: BTreeSet<usize> = one.solid.features.iter().copied().collect();
        for label in own {
            let on = labels.of(label);
            let group = match on {
                On::Nothing => continue,
                On::Pattern(_) => Group::Pattern,
                On::Laid(laid) => Group::Laid(gated.laid[laid].piece),
                On::Length => Group::Length(label),
            };
            let key = (row_of[number], group);
            for (to, area) in touched(gated, rough, &parts, number, label, on) {
                let to = to.unwrap_or_else(|part| row_of[part]);
                if area > LEAST_MM2 && to != key.0 {
                    *areas.entry(key).or_default().entry(to).or_default() += area;
                    seats
                        .entry(key)
                        .or_insert_with(|| seat(part, &one.solid, label));
                }
            }
        }
    }
    let per = |piece: usize| match piece.checked_sub(first) {
        Some(row) => members[row] as f64,
        None => gated.copies as f64,
    };
    for ((row, group), to) in areas {
        let split = pieces.splits.len();
        let name = pieces.pieces[row].name.clone();
        let glue_mm2 = to.values().sum::<f64>() / per(row);
        for (other, area) in to {
            for (of, piece) in [(row, other), (other, row)] {
                pieces.pieces[of].glued.push(Glue {
                    piece,
                    area_mm2: area / per(of),
                    split,
                });
            }
        }
        let site = pieces.pieces[row].site.clone();
        pieces.splits.push(Parting {
            name,
            plane: seats[&(row, group)],
            why: "it is glued on after coating".to_string(),
            site: site.unwrap_or_else(|| part.gating.pieces[0].site.clone()),
            of: Vec::new(),
            loose: true,
            recess_mm: 0.0,
            glue_mm2,
        });
    }
    for piece in &mut pieces.pieces {
        piece.glued.sort_by_key(|g| (g.piece, g.split));
    }
    steps(first, &places, pieces);
}

/// Joints that lie in one seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    Pattern,
    Laid(usize),
    Length(usize),
}

/// The rows, pieces that are alike together.
fn rows(part: &Part, gated: &Gated, parts: &[Shaped]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (number, one) in parts.iter().enumerate() {
        let laid = &gated.laid[one.laid];
        let gating = &part.gating.pieces[laid.piece];
        let riser = matches!(laid.place, LaidPlace::Bar { riser: true, .. });
        let rough = Rough {
            name: Some(gating.name.clone()),
            site: Some(gating.site.clone()),
            kind: Kind::Gating,
            down: None,
            solid: one.solid.clone(),
        };
        let Some(lie) = best(part, &one.solid, lies(part, laid, &one.solid)) else {
            continue;
        };
        let per_pattern = matches!(laid.place, LaidPlace::Stub { .. } | LaidPlace::Tie { .. });
        // The last pour may have fewer patterns than the tree has places.
        let count = if per_pattern {
            (part.patterns() - laid.copy).div_ceil(part.to_a_pour())
        } else {
            part.pours()
        };
        let mut foam = flat(part, &rough, gating.name.clone(), &lie);
        foam.count = count;
        let same = |row: &&mut Row| {
            let with = &gated.laid[parts[row.members[0]].laid];
            with.piece == laid.piece && with.copy != laid.copy && alike(&row.foam, &foam)
        };
        let free = |row: &&mut Row| {
            let copies = row.members.iter().map(|&m| gated.laid[parts[m].laid].copy);
            !copies.into_iter().any(|copy| copy == laid.copy)
        };
        match rows.iter_mut().filter(same).find(free) {
            Some(row) => {
                row.members.push(number);
                row.foam.count += count;
            }
            None => rows.push(Row {
                piece: laid.piece,
                riser,
                members: vec![number],
                foam,
            }),
        }
    }
    rows.sort_by_key(|row| (row.piece, row.riser));
    rows
}

fn alike(a: &FoamPiece, b: &FoamPiece) -> bool {
    let sizes = |p: &FoamPiece| {
        let mut sizes = p.size_mm.to_array();
        sizes.sort_by(f64::total_cmp);
        Vec3::from_array(sizes)
    };
    let off = (sizes(a) - sizes(b)).abs().max_element();
    off < ALIKE_MM && (a.volume_mm3 - b.volume_mm3).abs() < ALIKE_MM3
}

/// Names that tell pieces apart, and from those that are taken.
fn names(part: &Part, rows: &[Row], mut taken: BTreeSet<String>) -> Vec<String> {
    let base = |row: &Row| {
        let name = &part.gating.pieces[row.piece].name;
        if row.riser {
            format!("{name} riser")
        } else {
            name.clone()
        }
    };
    let all: Vec<String> = rows.iter().map(base).collect();
    let mut given: BTreeMap<&str, usize> = BTreeMap::new();
    let mut out = Vec::with_capacity(all.len());
    for (row, name) in rows.iter().zip(&all) {
        let mut own = name.clone();
        if all.iter().filter(|n| *n == name).count() > 1 {
            let number = given.entry(name).or_default();
            *number += 1;
            own = format!("{name}.{number}");
        }
        while !taken.insert(own.clone()) {
            own = format!("{own} {}", part.gating.pieces[row.piece].word);
        }
        out.push(own);
    }
    out
}

/// What a part's triangles of one label touch, and over what area (mm²): pieces of the pattern (`Ok`), or other parts
/// (`Err`), by their places in their lists.
fn touched(
    gated: &Gated,
    rough: &[Rough],
    parts: &[Shaped],
    number: usize,
    label: usize,
    on: On,
) -> Vec<(Result<usize, usize>, f64)> {
    let one = &parts[number];
    let own: Vec<[Vec3; 3]> = labelled(&one.solid, label).collect();
    match on {
        On::Nothing => Vec::new(),
        On::Pattern(copy) => {
            let place = &gated.places[copy];
            let own: Vec<[Vec3; 3]> = own.iter().map(|t| t.map(|p| place.back(p))).collect();
            let around = Bounds::of(own.iter().flatten().copied());
            let of_pattern = rough.iter().enumerate();
            of_pattern
                .filter(|(_, r)| !matches!(r.kind, Kind::Prop | Kind::Grip))
                .filter(|(_, r)| r.solid.bounds().grown(LEAST_MM2).meets(&around))
                .map(|(i, r)| (Ok(i), contact_mm2(own.iter().copied(), r.solid.corners())))
                .collect()
        }
        On::Laid(laid) => {
            let others = parts.iter().enumerate().filter(|(_, p)| p.laid == laid);
            others
                .map(|(i, p)| (Err(i), contact_mm2(own.iter().copied(), p.solid.corners())))
                .collect()
        }
        On::Length => {
            let others = parts[..number].iter().enumerate();
            others
                .filter(|(_, p)| p.laid == one.laid)
                .map(|(i, p)| {
                    let across = labelled(&p.solid, label);
                    (Err(i), contact_mm2(own.iter().copied(), across))
                })
                .collect()
        }
    }
}

fn labelled(solid: &Solid, label: usize) -> impl Iterator<Item = [Vec3; 3]> + '_ {
    let all = solid.corners().zip(&solid.features);
    all.filter(move |(_, l)| **l == label).map(|(t, _)| t)
}

/// The plane of a joint: through its middle, square to it on the whole; its normal looks up.
fn seat(part: &Part, solid: &Solid, label: usize) -> Plane {
    let (mut area, mut normal, mut middle) = (0.0, Vec3::ZERO, Vec3::ZERO);
    for [a, b, c] in labelled(solid, label) {
        let n = (b - a).cross(c - a) / 2.0;
        area += n.length();
        normal += n;
        middle += (a + b + c) / 3.0 * n.length();
    }
    let clear = normal.length() > CANCELLED * area;
    let normal = if clear {
        normal.normalize()
    } else {
        part.gating.up()
    };
    let normal = if normal.z < 0.0 { -normal } else { normal };
    Plane {
        normal,
        offset: normal.dot(middle / area.max(f64::MIN_POSITIVE)),
    }
}

/// Stubs and ties go on the pattern, then what joins them; what touches nothing that is there waits, or has no step.
fn steps(first: usize, places: &[LaidPlace], pieces: &mut Pieces) {
    let turn = |place: &LaidPlace| match place {
        LaidPlace::Stub { .. } => 0,
        LaidPlace::Tie { .. } => 1,
        LaidPlace::Bar { riser: true, .. } => 2,
        LaidPlace::Bar { riser: false, .. } => 3,
        LaidPlace::Sprue { .. } => 4,
    };
    let mut left: Vec<usize> = (0..places.len()).collect();
    left.sort_by_key(|&row| turn(&places[row]));
    let aid = |p: &usize| matches!(pieces.pieces[*p].kind, Kind::Prop | Kind::Grip);
    let mut there: BTreeSet<usize> = (0..first).filter(|p| !aid(p)).collect();
    let on = |piece: usize, there: &BTreeSet<usize>| {
        let glued = pieces.pieces[piece].glued.iter().map(|g| g.piece);
        let on: BTreeSet<usize> = glued.filter(|p| there.contains(p)).collect();
        on.into_iter().collect::<Vec<usize>>()
    };
    let mut out = Vec::new();
    while let Some(next) = left.iter().position(|&r| !on(first + r, &there).is_empty()) {
        let piece = first + left.remove(next);
        out.push(Step {
            piece,
            on: on(piece, &there),
            dowels: Vec::new(),
            wax: Vec::new(),
        });
        there.insert(piece);
    }
    pieces.steps.extend(out);
}
