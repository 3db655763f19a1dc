//! Pictures of meshes as greys within the page.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::picture::{Palette, Sheet, View, draw_in};
use crate::sheet::shop_sheet::page::text;
use crate::solid::Solid;

/// Colours of a drawn solid: what is there, what this step sets, its wax.
const GREYS: Palette = Palette {
    paper: [1.0; 3],
    ink: [0.1; 3],
    colours: &[[0.86; 3], [0.5; 3], [0.24; 3]],
};

/// What is there already.
pub(super) const THERE: usize = 0;
/// What a step sets.
pub(super) const SET: usize = 1;
/// Wax that a step lays.
pub(super) const WAX: usize = 2;

/// A solid all in one tone.
pub(super) fn toned(solid: &Solid, tone: usize) -> Solid {
    Solid {
        features: vec![tone; solid.triangles.len()],
        ..solid.clone()
    }
}

/// A figure of a solid in tones; the caption is HTML already, `said` tells the picture in words.
pub(super) fn figure(
    solid: &Solid,
    view: View,
    size: [usize; 2],
    said: &str,
    caption: &str,
) -> String {
    let sheet = Sheet {
        views: vec![view],
        width_px: size[0],
        height_px: size[1],
    };
    let picture = draw_in(solid, &sheet, &GREYS);
    let mut bytes = Vec::new();
    // Writing to memory doesn't fail.
    let _ = picture.write_grey_png(&mut bytes);
    format!(
        "<figure><img width=\"{}\" height=\"{}\" alt=\"{}\" src=\"data:image/png;base64,{}\"/><figcaption>{caption}</figcaption></figure>\n",
        size[0],
        size[1],
        text(said),
        STANDARD.encode(&bytes)
    )
}
