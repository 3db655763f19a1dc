//! Binary STL: millimetres, one true normal a triangle, points rounded to f32.
//!
//! The layout is the format's usual one: 80 bytes of free text, the number of triangles, then fifty bytes a triangle,
//! all little-endian. The free text never begins with `solid`, which some readers take for the text form.

use std::io::{self, Write};

use crate::measure::Vec3;
use crate::solid::Solid;

/// Bytes of the free text.
const HEAD: usize = 80;
/// Bytes a triangle.
const ROW: usize = 50;
/// Triangles written in one go.
const BLOCK: usize = 2048;

/// How many bytes a solid's file has.
pub fn bytes(solid: &Solid) -> u64 {
    HEAD as u64 + 4 + ROW as u64 * solid.triangles.len() as u64
}

/// Writes a solid; `title` goes into the free text.
///
/// # Errors
/// What the writer says; more triangles than the format can count.
pub fn write(solid: &Solid, title: &str, to: &mut dyn Write) -> io::Result<()> {
    let count = u32::try_from(solid.triangles.len()).map_err(|_| {
        io::Error::new(
            io::ErrorKind::InvalidInput,
            "more triangles than an STL file can hold",
        )
    })?;
    let mut head = [b' '; HEAD];
    let text = format!("foamwright: {title}, mm");
    for (byte, c) in head.iter_mut().zip(text.chars()) {
        *byte = if c.is_ascii_graphic() || c == ' ' {
            c as u8
        } else {
            b'?'
        };
    }
    to.write_all(&head)?;
    to.write_all(&count.to_le_bytes())?;
    // A block at a time: a call a row takes as long as the rows themselves.
    let mut rows = Vec::with_capacity(BLOCK * ROW);
    for block in solid.triangles.chunks(BLOCK) {
        rows.clear();
        for t in block {
            rows.extend_from_slice(&row(t.map(|i| solid.points[i as usize])));
        }
        to.write_all(&rows)?;
    }
    Ok(())
}

/// A triangle's fifty bytes: normal, corners, and two that mean nothing.
fn row(corners: [Vec3; 3]) -> [u8; ROW] {
    let corners = corners.map(|p| p.to_array().map(|x| x as f32 + 0.0));
    let [a, b, c] = corners.map(|p| Vec3::from_array(p.map(f64::from)));
    let normal = (b - a)
        .cross(c - a)
        .normalize_or_zero()
        .to_array()
        .map(|x| x as f32 + 0.0);
    let mut row = [0u8; ROW];
    for (at, x) in normal.iter().chain(corners.iter().flatten()).enumerate() {
        row[4 * at..4 * at + 4].copy_from_slice(&x.to_le_bytes());
    }
    row
}
