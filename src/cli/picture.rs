//! `picture`.

use std::path::PathBuf;

use crate::cli::arguments::PictureWish;
use crate::cli::show::{Progress, fault, say};
use crate::cli::{End, shaped};
use crate::fault::Fault;
use crate::shop::{Sheet, Stage, View, write_picture};

/// Size of one view.
const WIDTH_PX: usize = 1100;
const HEIGHT_PX: usize = 825;

/// `foamwright picture`.
pub fn picture(wish: &PictureWish) -> End {
    let mut views = Vec::new();
    for name in &wish.view {
        match name.parse::<View>() {
            Ok(view) => views.push(view),
            Err(unknown) => return fault(Fault::new(unknown.to_string())),
        }
    }
    let Some(stage) = Stage::ALL.into_iter().find(|s| s.name() == wish.stage) else {
        return fault(
            Fault::new(format!("there is no stage \"{}\"", wish.stage))
                .hint("there are finished, casting, pattern and, where the script gates it, gated"),
        );
    };
    let progress = Progress::new();
    let build = match shaped(&wish.common, &progress) {
        Ok(build) => build,
        Err(end) => return end,
    };
    let path = wish.out.clone().unwrap_or_else(|| {
        PathBuf::from(
            wish.common
                .script
                .with_extension("png")
                .file_name()
                .unwrap_or_default(),
        )
    });
    progress.step("drawing");
    let sheet = Sheet {
        views,
        width_px: WIDTH_PX,
        height_px: HEIGHT_PX,
    };
    match write_picture(&build, stage, &sheet, &path) {
        Ok(written) => {
            say(&format!("wrote {}\n", written.path.display()));
            if build.stops() { End::Stops } else { End::Good }
        }
        Err(trouble) => fault(trouble),
    }
}
