//! What a build read, whole, so that a change can be told from a mere event.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::fault::Fault;
use crate::script::{Loaded, ModuleFault, Modules, NoModules};
use crate::shop::modules::FolderModules;
use crate::shop::pipeline::script_text;

/// Links that are followed one after another, at most.
const MOST_LINKS: usize = 16;

/// The answers that a build got: the script's text, and what each module name led to.
#[derive(Debug, Clone)]
pub struct Inputs {
    script: PathBuf,
    text: Result<String, Fault>,
    modules: BTreeMap<String, Result<Loaded, ModuleFault>>,
}

impl Inputs {
    /// Reads the script, and opens a record of its modules.
    pub fn read(script: &Path) -> (Inputs, Arc<Record>) {
        let inputs = Inputs {
            script: script.to_path_buf(),
            text: script_text(script),
            modules: BTreeMap::new(),
        };
        (inputs, Arc::new(Record::beside(script)))
    }

    /// Takes in what a build asked for.
    pub fn complete(&mut self, record: &Record) {
        self.modules = record.lock().clone();
    }

    /// The script's text, or why there is none.
    pub fn text(&self) -> Result<&str, &Fault> {
        self.text.as_deref()
    }

    /// Whether the script is missing or empty just now, as it is for a moment while an editor writes it.
    pub fn nothing_there(script: &Path) -> bool {
        std::fs::metadata(script).map_or(true, |about| about.len() == 0)
    }

    /// The first file whose content is not what was read, as the person names it.
    pub fn changed(&self) -> Option<String> {
        if script_text(&self.script) != self.text {
            return Some(self.script.display().to_string());
        }
        let record = Record::beside(&self.script);
        let differs = |(name, was): &(&String, &Result<Loaded, ModuleFault>)| {
            record.inner.load(name) != **was
        };
        self.modules.iter().find(differs).map(|(name, was)| {
            let now = record.inner.load(name);
            let file = now.as_ref().or(was.as_ref()).ok().map(|l| l.file.clone());
            file.unwrap_or_else(|| format!("module {name}"))
        })
    }

    /// The text of a file by the name that spans carry.
    pub fn text_of(&self, file: &str) -> Option<&str> {
        if self.script.as_os_str() == file {
            return self.text.as_deref().ok();
        }
        let mut loaded = self.modules.values().filter_map(|m| m.as_ref().ok());
        loaded.find(|l| l.file == file).map(|l| l.source.as_str())
    }

    /// The name that spans carry of every file on disk that was read.
    pub fn names(&self) -> Vec<String> {
        let loaded = self.modules.values().filter_map(|m| m.as_ref().ok());
        let own = loaded.filter(|l| l.path.is_some()).map(|l| l.file.clone());
        std::iter::once(self.script.display().to_string())
            .chain(own)
            .collect()
    }

    /// The path of a file by the name that spans carry; none for the built-in library.
    pub fn path_of(&self, file: &str) -> Option<PathBuf> {
        if self.script.as_os_str() == file {
            return std::path::absolute(&self.script).ok();
        }
        let mut loaded = self.modules.values().filter_map(|m| m.as_ref().ok());
        loaded.find(|l| l.file == file).and_then(|l| l.path.clone())
    }

    /// Every folder in which a change can matter; some may not exist.
    pub fn folders(&self) -> BTreeSet<PathBuf> {
        let script = std::path::absolute(&self.script).unwrap_or_else(|_| self.script.clone());
        let mut folders = BTreeSet::new();
        let mut files = vec![script.clone()];
        let beside = script.parent().unwrap_or(Path::new("/"));
        folders.insert(beside.to_path_buf());
        folders.insert(beside.join("library"));
        for (name, found) in &self.modules {
            if !matches!(found, Err(ModuleFault::ClimbsOut)) {
                files.push(module_file(beside, name));
                files.push(module_file(&beside.join("library"), name));
            }
            files.extend(found.as_ref().ok().and_then(|l| l.path.clone()));
        }
        for file in files {
            follow_links(file, &mut folders);
        }
        folders
    }
}

/// The file that a module name stands for in a folder.
fn module_file(folder: &Path, name: &str) -> PathBuf {
    folder.join(format!("{name}.rhai"))
}

/// The folder of a file, and of whatever it links to.
fn follow_links(mut file: PathBuf, folders: &mut BTreeSet<PathBuf>) {
    for _ in 0..MOST_LINKS {
        let Some(folder) = file.parent().map(Path::to_path_buf) else {
            return;
        };
        folders.insert(std::fs::canonicalize(&folder).unwrap_or_else(|_| folder.clone()));
        match std::fs::read_link(&file) {
            Ok(target) => file = folder.join(target),
            Err(_) => return,
        }
    }
}

/// Module files, with a note of every answer.
pub struct Record {
    inner: Arc<dyn Modules>,
    answers: Mutex<BTreeMap<String, Result<Loaded, ModuleFault>>>,
}

impl Record {
    fn beside(script: &Path) -> Record {
        let inner: Arc<dyn Modules> = match FolderModules::beside(script) {
            Ok(modules) => Arc::new(modules),
            Err(_) => Arc::new(NoModules),
        };
        Record {
            inner,
            answers: Mutex::default(),
        }
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<String, Result<Loaded, ModuleFault>>> {
        self.answers.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Modules for Record {
    fn load(&self, name: &str) -> Result<Loaded, ModuleFault> {
        let answer = self.inner.load(name);
        self.lock().insert(name.to_string(), answer.clone());
        answer
    }

    fn names(&self) -> Vec<String> {
        self.inner.names()
    }

    fn script_id(&self) -> Option<String> {
        self.inner.script_id()
    }
}
