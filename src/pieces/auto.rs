//! Adds the splits that boards still call for: a piece higher than its thickest board is parted into as few layers as
//! there can be, evenly, along flat faces where one is near.

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::fault::{Fault, Faults, Site};
use crate::measure::Plane;
use crate::pieces::Parting;
use crate::pieces::boards::{SLACK_MM, board_for, thickest_for};
use crate::pieces::cut::{Rough, sides};
use crate::pieces::lay::{Lie, lies};
use crate::pieces::snap::snapped;
use crate::solid::Solid;

/// Flat faces under this are no place to part at (mm²).
const LEAST_FLAT_MM2: f64 = 1.0;
/// A flat face this near to an even level, as a share of the board's thickness, is taken in its place.
const NEAR: f64 = 0.25;
/// The thinnest layer where the script doesn't say (mm).
const LEAST_LAYER_MM: f64 = 2.0;

/// A level within a piece as it lies.
struct Level {
    z_mm: f64,
    on_face: bool,
}

/// Parts what fits no board. `splits` gets a row for each level.
pub(super) fn split(
    part: &Part,
    site: &Site,
    rough: &mut Vec<Rough>,
    splits: &mut Vec<Parting>,
) -> Result<(), Faults> {
    for piece in std::mem::take(rough) {
        let lies = lies(part, &piece, splits);
        let fits = |lie: &Lie| board_for(part, lie.size_mm).is_some();
        let board = thickest_for(part, lies[0].size_mm);
        let (false, Some(board)) = (lies.iter().any(fits), board) else {
            rough.push(piece);
            continue;
        };
        let lie = &lies[0];
        let mut left = vec![piece];
        let whole = left[0].solid.clone();
        for level in levels(part, &whole.seen_from(&lie.frame), lie.size_mm.z, board) {
            let plane = lie.frame.raised(level.z_mm).plane();
            let plane = if plane.normal.z < -1e-9 {
                Plane {
                    normal: -plane.normal,
                    offset: -plane.offset,
                }
            } else {
                plane
            };
            let plane = snapped(&whole, plane);
            let id = part.features.len() + splits.len();
            splits.push(Parting {
                name: left[0].name.clone().unwrap_or_else(|| "whole".to_string()),
                plane,
                why: why(part, lie.size_mm.z, board, &level),
                site: site.clone(),
                of: Vec::new(),
                loose: false,
                glue_mm2: 0.0,
            });
            let mut next = Vec::new();
            for piece in left {
                let (under, over) = sides(&piece.solid, &plane, id)
                    .map_err(|text| Faults::from(Fault::new(text).from_site(site)))?;
                next.extend(under.into_iter().chain(over).map(|solid| Rough {
                    solid,
                    ..piece.clone()
                }));
            }
            left = next;
        }
        rough.extend(left);
    }
    Ok(())
}

fn why(part: &Part, height_mm: f64, board_mm: f64, level: &Level) -> String {
    let place = if level.on_face {
        "along a flat face"
    } else {
        "off flat faces"
    };
    format!(
        "{} high, and the thickest board is {}; {place}",
        part.unit.show(height_mm),
        part.unit.show(board_mm)
    )
}

/// Where a piece as it lies is parted, lowest first.
fn levels(part: &Part, solid: &Solid, height_mm: f64, board_mm: f64) -> Vec<Level> {
    let count = ((height_mm - SLACK_MM) / board_mm).ceil().max(1.0) as usize;
    let flats = flats(solid);
    let thin = part.min_foam_mm.unwrap_or(LEAST_LAYER_MM);
    let least = thin.min(height_mm / (2 * count) as f64);
    let mut levels: Vec<Level> = Vec::new();
    for k in 1..count {
        let before = levels.last().map_or(0.0, |l| l.z_mm);
        let left = (count - k) as f64;
        // What is left above must fit as many boards as are left.
        let low = (height_mm - left * board_mm).max(before + least);
        let high = (before + board_mm).min(height_mm - left * least).max(low);
        let even = (height_mm * k as f64 / count as f64).clamp(low, high);
        levels.push(best(&flats, [low, even, high], thin, NEAR * board_mm));
    }
    levels
}

/// The level in a window that leaves the least thin foam; of several as good, one on a flat face near the even one, or
/// else the nearest to it.
fn best(flats: &[Flat], [low, even, high]: [f64; 3], thin_mm: f64, near_mm: f64) -> Level {
    let beside = |f: &Flat| [f.z_mm, f.z_mm - thin_mm, f.z_mm + thin_mm];
    let mut levels: Vec<f64> = vec![even, low, high];
    levels.extend(flats.iter().flat_map(beside));
    levels.retain(|z| (low..=high).contains(z));
    let on_face = |z: f64| {
        let on = |f: &Flat| f.z_mm == z && f.up_mm2.max(f.down_mm2) >= LEAST_FLAT_MM2;
        flats.iter().any(on)
    };
    // Foam between the level and a face that ends it less than so far off.
    let thin_area = |z: f64| -> f64 {
        let area = |f: &Flat| match f.z_mm - z {
            above if above > SLACK_MM && above < thin_mm - SLACK_MM => f.up_mm2,
            below if below < -SLACK_MM && below > SLACK_MM - thin_mm => f.down_mm2,
            _ => 0.0,
        };
        flats.iter().map(area).sum()
    };
    let rank = |z: f64| {
        let off = (z - even).abs();
        let on = on_face(z) && off <= near_mm;
        (thin_area(z).round() as i64, !on, (off * 1e6) as i64)
    };
    let z_mm = levels.into_iter().min_by_key(|z| rank(*z)).unwrap_or(even);
    Level {
        z_mm,
        on_face: on_face(z_mm),
    }
}

/// Flat faces at one height.
struct Flat {
    z_mm: f64,
    up_mm2: f64,
    down_mm2: f64,
}

/// The flat faces that lie level, lowest first.
fn flats(solid: &Solid) -> Vec<Flat> {
    let mut flats: BTreeMap<i64, Flat> = BTreeMap::new();
    for [a, b, c] in solid.corners() {
        let doubled = (b - a).cross(c - a);
        if doubled.z.abs() <= (1.0 - 1e-6) * doubled.length() {
            continue;
        }
        let flat = flats.entry((a.z * 1e3).round() as i64).or_insert(Flat {
            z_mm: a.z,
            up_mm2: 0.0,
            down_mm2: 0.0,
        });
        if doubled.z > 0.0 {
            flat.up_mm2 += doubled.z / 2.0;
        } else {
            flat.down_mm2 -= doubled.z / 2.0;
        }
    }
    flats.into_values().collect()
}
