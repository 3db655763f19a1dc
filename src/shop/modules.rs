//! Module files on disk, for a script's `import`: the script's own folder and its `library/` folder.
//!
//! A name may lead into folders below (`pumps/seals`), never out: no `..`, no absolute path, and no link
//! whose real place lies outside of the script's folder.

use std::fs;
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};

use crate::script::{Loaded, ModuleFault, Modules};

/// Where a script's modules are looked for, below its own folder.
const PLACES: [&str; 2] = ["", "library"];

/// The most that a module file may hold (bytes).
const MOST_BYTES: u64 = 4 << 20;

/// The modules of one script.
#[derive(Debug, Clone)]
pub struct FolderModules {
    /// The script as the person named it.
    script: PathBuf,
    /// Its real folder.
    folder: PathBuf,
}

impl FolderModules {
    /// The modules that stand beside a script; `script` as the person named it.
    ///
    /// # Errors
    /// The script's folder isn't there.
    pub fn beside(script: &Path) -> std::io::Result<FolderModules> {
        let folder = match script.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        Ok(FolderModules {
            script: script.to_path_buf(),
            folder: fs::canonicalize(folder)?,
        })
    }

    /// One place: `None` where it holds no such file.
    fn at(&self, place: &str, name: &str) -> Option<Result<Loaded, ModuleFault>> {
        let file = Path::new(place).join(format!("{name}.rhai"));
        let real = match fs::canonicalize(self.folder.join(&file)) {
            Ok(real) => real,
            Err(error) if error.kind() == ErrorKind::NotFound => return None,
            Err(error) => return Some(Err(self.unreadable(&file, &error))),
        };
        if !real.starts_with(&self.folder) {
            return Some(Err(ModuleFault::ClimbsOut));
        }
        Some(self.load_file(&file, real))
    }

    fn load_file(&self, file: &Path, real: PathBuf) -> Result<Loaded, ModuleFault> {
        let unreadable = |error: std::io::Error| self.unreadable(file, &error);
        let about = fs::metadata(&real).map_err(unreadable)?;
        let why = match () {
            () if !about.is_file() => Some("it is not a file"),
            () if about.len() > MOST_BYTES => Some("it is far too large for a module"),
            () => None,
        };
        if let Some(why) = why {
            return Err(ModuleFault::Unreadable {
                file: self.shown(file),
                why: why.into(),
            });
        }
        let bytes = fs::read(&real).map_err(unreadable)?;
        let bytes = bytes
            .strip_prefix(b"\xef\xbb\xbf")
            .map(<[u8]>::to_vec)
            .unwrap_or(bytes);
        let source = String::from_utf8(bytes).map_err(|_| ModuleFault::NotText {
            file: self.shown(file),
        })?;
        Ok(Loaded {
            id: real.to_string_lossy().into_owned(),
            file: self.shown(file),
            source,
            path: Some(real),
        })
    }

    fn unreadable(&self, file: &Path, error: &std::io::Error) -> ModuleFault {
        ModuleFault::Unreadable {
            file: self.shown(file),
            why: error.kind().to_string(),
        }
    }

    /// A file as the person would name it: beside the script.
    fn shown(&self, file: &Path) -> String {
        let folder = self.script.parent().unwrap_or(Path::new(""));
        let shown = folder.join(file.strip_prefix("").unwrap_or(file));
        shown.to_string_lossy().replace('\\', "/")
    }
}

impl Modules for FolderModules {
    fn load(&self, name: &str) -> Result<Loaded, ModuleFault> {
        let inside = |c: Component| matches!(c, Component::Normal(_));
        let odd = name.is_empty() || name.contains(['\\', ':', '\0']);
        if odd || !Path::new(name).components().all(inside) || name.ends_with('/') {
            return Err(ModuleFault::ClimbsOut);
        }
        let found = PLACES.iter().find_map(|place| self.at(place, name));
        found.unwrap_or(Err(ModuleFault::NotThere))
    }

    fn names(&self) -> Vec<String> {
        let mut names = Vec::new();
        for place in PLACES {
            let Ok(entries) = fs::read_dir(self.folder.join(place)) else {
                continue;
            };
            for entry in entries.flatten() {
                let path = entry.path();
                let script = path.extension().is_some_and(|e| e == "rhai");
                let own = path.file_name() == self.script.file_name() && place.is_empty();
                if let Some(stem) = path.file_stem().filter(|_| script && !own) {
                    names.push(stem.to_string_lossy().into_owned());
                }
            }
        }
        names.sort();
        names.dedup();
        names
    }

    fn script_id(&self) -> Option<String> {
        let real = fs::canonicalize(self.folder.join(self.script.file_name()?)).ok()?;
        Some(real.to_string_lossy().into_owned())
    }
}
