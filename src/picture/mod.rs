//! Software pictures of solids: parallel views, shaded, with edges, one colour a feature, as PNG.
//!
//! Promises the same bytes for the same solid and sheet. It draws surfaces only: nothing here measures anything.

mod paint;
mod png_file;
mod smooth;
mod view;

pub use paint::{Palette, Picture, Sheet, draw, draw_in, shows_most};
pub use png_file::PictureFault;
pub use smooth::{CREASE_COS, corner_normals};
pub use view::{UnknownView, View};
