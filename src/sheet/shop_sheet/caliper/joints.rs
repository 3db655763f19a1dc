//! What is cut into a piece for others that are glued to it: pockets for feet, and holes for dowels.

use crate::measure::{Bounds, Unit, Vec3};
use crate::pieces::{Dowel, Pieces};
use crate::sheet::shop_sheet::caliper::shown::Where;
use crate::sheet::shop_sheet::caliper::{count_text, size_text, written};

/// The depth of each pocket in a piece, then diameter and depth of its dowel holes by their sizes.
pub(super) fn rows(unit: Unit, pieces: &Pieces, piece: usize, rows: &mut Vec<Vec<String>>) {
    let row = &pieces.pieces[piece];
    let place = |p: Vec3, out: Vec3| {
        let at = Where::At {
            at: row.lay.local(p),
            way: row.lay.local_vector(out),
            across: None,
        };
        at.text(row.size_mm, unit)
    };
    for seat in pieces.seats.iter().filter(|s| s.on == piece) {
        let Some(depth_mm) = pieces.recess_of(seat.piece) else {
            continue;
        };
        let set = &pieces.pieces[seat.piece];
        let middle = Bounds::of(seat.loops.iter().flatten().copied()).middle();
        let own = set.glued.iter().find(|g| {
            let split = &pieces.splits[g.split];
            g.piece == piece && split.recess_mm > 0.0
        });
        let out = own.map_or(Vec3::Z, |g| pieces.splits[g.split].plane.normal);
        let what = format!("pocket for {}, depth", set.name);
        let at = place(middle, out);
        rows.push(written(&[&what, &size_text(unit, depth_mm), &at]));
    }
    let mut sizes: Vec<(&Dowel, Vec<String>)> = Vec::new();
    for dowel in pieces.dowels.iter().filter(|d| d.pieces.contains(&piece)) {
        let out = if dowel.pieces[0] == piece {
            dowel.axis
        } else {
            -dowel.axis
        };
        let at = place(dowel.at, out);
        let like = |(d, _): &&mut (&Dowel, Vec<String>)| {
            d.dia_mm == dowel.dia_mm && d.depth_mm == dowel.depth_mm
        };
        match sizes.iter_mut().find(like) {
            Some((_, places)) => places.push(at),
            None => sizes.push((dowel, vec![at])),
        }
    }
    for (dowel, places) in sizes {
        let holes = format!("dowel hole{}", count_text(places.len()));
        let both = [
            ("dia", dowel.dia_mm, places.join("; ")),
            ("depth", dowel.depth_mm, again(places.len())),
        ];
        for (what, mm, at) in both {
            let what = format!("{holes}, {what}");
            rows.push(written(&[&what, &size_text(unit, mm), &at]));
        }
    }
}

/// Where what was told last was measured.
fn again(places: usize) -> String {
    match places {
        1 => "the same place".to_string(),
        _ => "the same places".to_string(),
    }
}
