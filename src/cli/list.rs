//! `words`, `metals` and `start`.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

use crate::cli::End;
use crate::cli::show::{fault, say};
use crate::fault::Fault;
use crate::shop::{
    LIBRARY, file_name, first_script, library_page, metal_page, metals_list, nearest_word,
    word_listing, word_page,
};

/// `foamwright words`.
pub fn words(word: Option<&str>) -> End {
    let Some(word) = word else {
        say(&word_listing(LIBRARY));
        return End::Good;
    };
    if let Some(page) = word_page(word).or_else(|| library_page(word, LIBRARY)) {
        say(&page);
        return End::Good;
    }
    let trouble = Fault::new(format!("there is no word \"{word}\""));
    let trouble = match nearest_word(word) {
        Some(near) => trouble.hint(format!("did you mean `{near}`?")),
        None => trouble,
    };
    fault(trouble.hint("`foamwright words` lists them all"))
}

/// `foamwright metals`.
pub fn metals(name: Option<&str>) -> End {
    match name.map(metal_page) {
        None => say(&metals_list()),
        Some(Ok(page)) => say(&page),
        Some(Err(unknown)) => {
            return fault(
                Fault::new(unknown.to_string()).hint("`foamwright metals` lists them all"),
            );
        }
    }
    End::Good
}

/// `foamwright start`.
pub fn start(name: &str) -> End {
    let stem = name.strip_suffix(".rhai").unwrap_or(name);
    let path = format!("{}.rhai", file_name(stem));
    let made = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(Path::new(&path));
    let written = made.and_then(|mut file| file.write_all(first_script(stem).as_bytes()));
    match written {
        Ok(()) => {
            say(&format!(
                "wrote {path}\nbuild it with: foamwright make {path}\n"
            ));
            End::Good
        }
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => fault(
            Fault::new(format!("{path} is there already"))
                .hint("give another name, or move that file away"),
        ),
        Err(e) => fault(Fault::new(format!("{path}: {e}"))),
    }
}
