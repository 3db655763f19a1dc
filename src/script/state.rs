//! What words share while a script is read: the part as it grows, the faults so far, the texts read.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::drawing::given::Handle;
use crate::drawing::{Metal, Part};
use crate::fault::{Fault, Span};
use crate::script::same_names::Functions;
use crate::script::text::Text;

/// The state as the engine's words hold it.
pub type Shared = Arc<Mutex<State>>;

/// The most faults that are kept: after so many the script is not read on.
pub const MOST_FAULTS: usize = 50;

/// A value that a faulty word gives: whatever uses it stays silent.
#[derive(Debug, Clone, Copy)]
pub struct Broken;

/// `for` over a broken value goes round once, with a broken value.
impl IntoIterator for Broken {
    type Item = Broken;
    type IntoIter = std::iter::Once<Broken>;

    fn into_iter(self) -> Self::IntoIter {
        std::iter::once(self)
    }
}

/// A module whose own statements are running.
#[derive(Debug, Clone)]
pub struct Import {
    /// How many calls were open when it was imported.
    pub depth: usize,
    /// The module file as spans name it.
    pub file: String,
    /// The `import` that asked for it.
    pub span: Span,
}

/// See the module.
pub struct State {
    /// The part so far.
    pub part: Part,
    /// What went wrong so far, in script order.
    pub faults: Vec<Fault>,
    /// The script itself, as spans name it.
    pub main: String,
    /// Each file by the name that spans carry.
    pub texts: BTreeMap<String, Arc<Text>>,
    /// Files read for modules, in order.
    pub files: Vec<PathBuf>,
    /// The functions of the script and of each module so far.
    pub functions: Vec<Functions>,
    /// Modules whose own statements are running, outermost first.
    pub imports: Vec<Import>,
    /// The metals table by name.
    pub metals: BTreeMap<String, Metal>,
    /// Settings given from outside: name and value.
    pub overrides: Vec<(String, String)>,
    /// Names of settings given from outside that the script asked for.
    pub asked: BTreeSet<String>,
    /// The first place where a length was used, after which the unit is fixed.
    pub length_at: Option<Span>,
    /// Opening words said so far, with their place.
    pub said: Vec<(&'static str, Span)>,
    /// The shrink that the script sets itself, in percent.
    pub shrink_percent: Option<[f64; 3]>,
    /// Functions that don't exist, met while running: file and name.
    pub unknown: BTreeSet<(String, String)>,
    /// Whether the script stopped before its end.
    pub stopped: bool,
}

/// Locks the state; a panic elsewhere doesn't make it unreadable.
pub fn lock(shared: &Shared) -> MutexGuard<'_, State> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

impl State {
    /// Keeps a fault, once.
    pub fn fault(&mut self, fault: Fault) {
        let again = self
            .faults
            .iter()
            .any(|f| f.span == fault.span && f.text == fault.text && f.calls == fault.calls);
        if !again {
            self.faults.push(fault);
        }
    }

    /// The text of a file.
    pub fn text(&self, file: &str) -> Option<Arc<Text>> {
        self.texts.get(file).cloned()
    }

    /// Where an opening word was said.
    pub fn said_at(&self, word: &str) -> Option<&Span> {
        self.said
            .iter()
            .find(|(w, _)| *w == word)
            .map(|(_, span)| span)
    }

    /// A handle on each instance of a handle.
    pub fn each(&self, handle: &Handle) -> Vec<Handle> {
        let name = |id: usize| self.part.features.get(id).map_or(&handle.name, |f| &f.name);
        handle
            .ids
            .iter()
            .map(|&id| Handle {
                name: name(id).clone(),
                ids: vec![id],
            })
            .collect()
    }

    /// A length in mm written in the script's unit.
    pub fn show(&self, mm: f64) -> String {
        self.part.unit.show(mm)
    }
}
