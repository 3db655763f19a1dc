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
        let lies = lies(part, &piece.solid, splits);
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
        "evenly between flat faces"
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
    let least = part
        .min_foam_mm
        .unwrap_or(LEAST_LAYER_MM)
        .min(height_mm / (2 * count) as f64);
    let mut levels: Vec<Level> = Vec::new();
    for k in 1..count {
        let before = levels.last().map_or(0.0, |l| l.z_mm);
        let left = (count - k) as f64;
        // What is left above must fit as many boards as are left.
        let low = (height_mm - left * board_mm).max(before + least);
        let high = (before + board_mm).min(height_mm - left * least).max(low);
        let even = (height_mm * k as f64 / count as f64).clamp(low, high);
        let near = flats
            .iter()
            .copied()
            .filter(|z| (low..=high).contains(z) && (z - even).abs() <= NEAR * board_mm)
            .min_by(|a, b| (a - even).abs().total_cmp(&(b - even).abs()));
        levels.push(Level {
            z_mm: near.unwrap_or(even),
            on_face: near.is_some(),
        });
    }
    levels
}

/// Heights of the flat faces that lie level (mm), lowest first.
fn flats(solid: &Solid) -> Vec<f64> {
    let mut areas: BTreeMap<i64, (f64, f64)> = BTreeMap::new();
    for [a, b, c] in solid.corners() {
        let doubled = (b - a).cross(c - a);
        if doubled.z.abs() > (1.0 - 1e-6) * doubled.length() {
            let of = areas
                .entry((a.z * 1e3).round() as i64)
                .or_insert((0.0, a.z));
            of.0 += doubled.length() / 2.0;
        }
    }
    let large = areas
        .into_values()
        .filter(|(area, _)| *area >= LEAST_FLAT_MM2);
    large.map(|(_, z)| z).collect()
}
