//! Adds the splits that are still needed so that each piece fits a board and a cutter reaches all of it from two sides: as
//! few as there can be, in the middle of their room, along flat faces where one is near.

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::fault::{Fault, Faults, Site};
use crate::pieces::Parting;
use crate::pieces::boards::{SLACK_MM, board_for, thickest_for};
use crate::pieces::cut::{Rough, sides, upward};
use crate::pieces::lay::{Lie, lies};
use crate::pieces::levels::{Reach, Room};
use crate::pieces::snap::snapped;
use crate::solid::Solid;

/// Flat faces under this are no place to part at (mm²).
const LEAST_FLAT_MM2: f64 = 1.0;
/// A flat face this near to an even level, as a share of the board's thickness, is taken in its place.
const NEAR: f64 = 0.25;
/// The thinnest layer where the script doesn't say (mm).
const LEAST_LAYER_MM: f64 = 2.0;
/// Ways to lay a piece that are looked at, at most.
const MOST_WAYS: usize = 3;
/// A flat side under this share of the largest is no side to lie on.
const LEAST_SHARE: f64 = 0.2;
/// Rounds of giving up levels that leave foam too thin to handle.
const MOST_ROUNDS: usize = 12;
/// Features that a level's reason names, at most.
const MOST_NAMES: usize = 3;

/// A level within a piece as it lies.
struct Level {
    z_mm: f64,
    why: String,
}

/// A way to part a piece.
struct Plan {
    lie: Lie,
    levels: Vec<Level>,
    /// Pairs of features that stay hidden.
    unsolved: usize,
}

/// Parts what fits no board or hides foam from the cutter. `splits` gets a row for each level.
pub(super) fn split(
    part: &Part,
    site: &Site,
    rough: &mut Vec<Rough>,
    splits: &mut Vec<Parting>,
) -> Result<(), Faults> {
    for mut piece in std::mem::take(rough) {
        let Some(plan) = plan(part, &piece, splits) else {
            rough.push(piece);
            continue;
        };
        piece.down = Some(-plan.lie.frame.z);
        let mut left = vec![piece];
        let whole = left[0].solid.clone();
        for level in plan.levels {
            let plane = upward(plan.lie.frame.raised(level.z_mm).plane());
            let plane = snapped(&whole, plane);
            let id = part.features.len() + splits.len();
            splits.push(Parting {
                name: left[0].name.clone().unwrap_or_else(|| "whole".to_string()),
                plane,
                why: level.why,
                site: site.clone(),
                of: Vec::new(),
                loose: false,
                recess_mm: 0.0,
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

/// How a piece is best laid and parted; `None` where nothing can be done.
fn plan(part: &Part, piece: &Rough, splits: &[Parting]) -> Option<Plan> {
    let lies = lies(part, piece, splits);
    let mut ways: Vec<&Lie> = Vec::new();
    for lie in &lies {
        let along = |other: &&Lie| other.frame.z.dot(lie.frame.z).abs() > 1.0 - 1e-6;
        let small = lie.area_mm2 < LEAST_SHARE * lies[0].area_mm2;
        if !small && !ways.iter().any(along) && ways.len() < MOST_WAYS {
            ways.push(lie);
        }
    }
    let mut best: Option<Plan> = None;
    for lie in ways {
        let Some(plan) = plan_of(part, &piece.solid, lie) else {
            continue;
        };
        let rank = |p: &Plan| (p.unsolved, p.levels.len());
        if best.as_ref().is_none_or(|b| rank(&plan) < rank(b)) {
            best = Some(plan);
        }
        if best.as_ref().is_some_and(|b| rank(b) == (0, 0)) {
            break;
        }
    }
    best
}

/// How a piece is parted as it lies; `None` where no board takes its plan or layers grow too thin.
fn plan_of(part: &Part, solid: &Solid, lie: &Lie) -> Option<Plan> {
    let height = lie.size_mm.z;
    let board = if part.boards.is_empty() {
        f64::INFINITY
    } else {
        thickest_for(part, lie.size_mm)?
    };
    let seen = solid.seen_from(&lie.frame);
    let mut reach = Reach::of(&seen, height, board, part.facet_mm);
    let fits = part.boards.is_empty() || board_for(part, lie.size_mm).is_some();
    let levels = if fits && reach.reached() {
        Vec::new()
    } else {
        let mut found = levels(part, &seen, lie, board, &reach)?;
        for _ in 0..MOST_ROUNDS {
            let Some([low, high]) = too_thin(part, &found, height, board, &reach) else {
                break;
            };
            reach.give_up(low, high);
            found = levels(part, &seen, lie, board, &reach)?;
        }
        found
    };
    Some(Plan {
        lie: lie.clone(),
        levels,
        unsolved: reach.unsolved(),
    })
}

/// Of the levels beside the first layer that is too thin to handle the one that opens least, by the levels round it: with
/// it gone the layer is one with its neighbour. None where boards alone call for it.
fn too_thin(
    part: &Part,
    levels: &[Level],
    height_mm: f64,
    board_mm: f64,
    reach: &Reach,
) -> Option<[f64; 2]> {
    let thin = part.min_foam_mm.unwrap_or(LEAST_LAYER_MM);
    let mut ends = vec![0.0];
    ends.extend(levels.iter().map(|l| l.z_mm));
    ends.push(height_mm);
    for k in 1..ends.len() {
        if ends[k] - ends[k - 1] >= thin - SLACK_MM {
            continue;
        }
        let around = [k - 1, k]
            .into_iter()
            .filter(|&i| i > 0 && i + 1 < ends.len())
            .map(|i| [ends[i - 1], ends[i + 1]])
            .filter(|[low, high]| high - low <= board_mm + SLACK_MM)
            .map(|[low, high]| (reach.hidden_mm2(low, high), [low, high]))
            .filter(|(area, _)| *area > 0.0);
        if let Some((_, least)) = around.min_by(|a, b| a.0.total_cmp(&b.0)) {
            return Some(least);
        }
    }
    None
}

/// Where a piece as it lies is parted, lowest first.
fn levels(
    part: &Part,
    solid: &Solid,
    lie: &Lie,
    board_mm: f64,
    reach: &Reach,
) -> Option<Vec<Level>> {
    let rooms = reach.rooms()?;
    let height_mm = lie.size_mm.z;
    let count = rooms.len() + 1;
    let flats = flats(solid);
    let thin = part.min_foam_mm.unwrap_or(LEAST_LAYER_MM);
    let least = thin.min(height_mm / (2 * count) as f64);
    let mut levels: Vec<Level> = Vec::new();
    for (k, room) in rooms.iter().enumerate() {
        let before = levels.last().map_or(0.0, |l| l.z_mm);
        let left = (count - k - 1) as f64;
        let most = if k == 0 {
            room.high
        } else {
            room.high.min(reach.up(before))
        };
        let low = room.low.max(before + least).min(most);
        let high = most.min(height_mm - left * least).max(low);
        // Boards alone leave as much room as their thickness; less is the cutter's doing.
        let by_boards = Room {
            low: (height_mm - left * board_mm).max(0.0),
            high: ((k + 1) as f64 * board_mm).min(height_mm),
        };
        let forced = room.low > by_boards.low + 0.1 || room.high < by_boards.high - 0.1;
        let (middle, near) = if forced {
            ((low + high) / 2.0, (high - low) / 2.0)
        } else {
            let even = height_mm * (k + 1) as f64 / count as f64;
            (even.clamp(low, high), NEAR * board_mm)
        };
        let (z_mm, on_face) = best(&flats, [low, middle, high], thin, near);
        let next = rooms.get(k + 1).map_or(height_mm, |r| r.high);
        let why = why(
            part,
            lie,
            board_mm,
            reach,
            [before, z_mm, next],
            *room,
            on_face,
        );
        levels.push(Level { z_mm, why });
    }
    Some(levels)
}

/// Why a level lies where it does; `at` is where its layer starts, the level, and where the next layer ends.
fn why(
    part: &Part,
    lie: &Lie,
    board_mm: f64,
    reach: &Reach,
    at: [f64; 3],
    room: Room,
    on_face: bool,
) -> String {
    let height = lie.size_mm.z;
    let mut reasons = Vec::new();
    if height > board_mm + SLACK_MM {
        reasons.push(format!(
            "{} high, and the thickest board is {}",
            part.unit.show(height),
            part.unit.show(board_mm)
        ));
    }
    let mut names: Vec<&str> = Vec::new();
    for id in reach.hides(at[0], at[2]) {
        if let Some(feature) = part.features.get(id)
            && !names.contains(&feature.group.as_str())
        {
            names.push(&feature.group);
        }
    }
    let more = names.len().saturating_sub(MOST_NAMES);
    names.truncate(MOST_NAMES);
    if !names.is_empty() {
        let others = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        let room = if room.high - room.low > 0.1 {
            format!(
                ", anywhere over {} of height",
                part.unit.show(room.high - room.low)
            )
        } else {
            ", here alone".to_string()
        };
        reasons.push(format!(
            "opens {}{others} to the cutter{room}",
            names.join(", ")
        ));
    }
    let place = if on_face {
        "along a flat face"
    } else {
        "off flat faces"
    };
    format!("{}; {place}", reasons.join("; "))
}

/// The level in a window that leaves the least thin foam; of several as good, one on a flat face near the even one, or
/// else the nearest to it.
fn best(flats: &[Flat], [low, even, high]: [f64; 3], thin_mm: f64, near_mm: f64) -> (f64, bool) {
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
    (z_mm, on_face(z_mm))
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
