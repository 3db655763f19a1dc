//! The words, a file for each kind. Each is declared once.

mod faces;
mod foam;
mod gating;
mod links;
mod marks;
mod metal;
mod mirrored;
mod opening;
mod openings;
mod outlines;
mod pieces;
mod points;
mod raised;
mod records;
mod router;
mod sizes;
mod tunnel;
mod turned;
mod values;

use std::sync::LazyLock;

use crate::script::declare::Word;

pub use metal::{DEFAULT_METAL, default_metal};

static WORDS: LazyLock<Vec<&'static Word>> = LazyLock::new(|| {
    let files: [&'static [Word]; 18] = [
        opening::WORDS,
        metal::WORDS,
        router::WORDS,
        foam::WORDS,
        pieces::WORDS,
        records::WORDS,
        marks::WORDS,
        outlines::WORDS,
        points::WORDS,
        sizes::WORDS,
        raised::WORDS,
        tunnel::WORDS,
        turned::WORDS,
        openings::WORDS,
        mirrored::WORDS,
        faces::WORDS,
        values::WORDS,
        gating::WORDS,
    ];
    files.iter().flat_map(|words| words.iter()).collect()
});

/// Every word, in the order of the word list's groups within each file.
pub fn word_list() -> &'static [&'static Word] {
    &WORDS
}
