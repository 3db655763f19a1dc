//! Reading files, running the stages in order, writing what came out.

mod boards;
mod files;
mod first;
mod folder;
mod late;
mod library;
mod make;
mod mend;
mod mesh_file;
pub mod modules;
mod names;
mod pipeline;
mod proof;
mod prove;
pub mod watch;

pub use boards::{lacks_boards, laid};
pub use files::{Contents, Output, Written, write_all};
pub use first::first_script;
pub use late::sheet_of;
pub use library::LIBRARY;
pub use make::{
    build_files, foam_kg_m3, foam_name, folder_names, out_folder, report_of, write_build,
    write_first, write_picture, write_proof,
};
pub use mend::{as_cut_file, keep_as_cut, mend, write_mending};
pub use mesh_file::read_mesh;
pub use names::{FileNames, file_name};
pub use pipeline::{Bench, Build, Built, Failure, Progress, Seconds, Wish};
pub use proof::{Unproved, expect, prove, prove_all};
pub use prove::{PROVE_FACET_MM, prove_mesh, walls_at};

pub use crate::drawing::part::Cutter;
pub use crate::foundry::{metal_page, metals_list};
pub use crate::pattern::Stage;
pub use crate::picture::{Sheet, View};
pub use crate::pieces::nesting::Effort;
pub use crate::pieces::{Mending, SLIVER_MM};
pub use crate::script::{library_page, nearest_word, word_listing, word_page};
pub use crate::sheet::mend_bill::MendRow;
