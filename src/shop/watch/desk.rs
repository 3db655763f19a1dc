//! What is shown: to all pages, or to the one page that changed settings for itself.

use std::collections::{BTreeMap, VecDeque};
use std::path::PathBuf;
use std::sync::Arc;

use crate::fault::Fault;
use crate::shop::pipeline::Failure;
use crate::shop::watch::change::Changed;
use crate::shop::watch::good::{Good, beside};
use crate::shop::watch::inputs::Inputs;

/// A page with settings of its own.
pub type DeskId = u64;

/// Good builds that are kept: for pages that are still fetching, and so that an undo is free.
const KEPT: usize = 3;

/// A build that failed.
#[derive(Debug)]
pub struct Broken {
    /// Why.
    pub failure: Failure,
    /// How long it took to find out (s).
    pub seconds: f64,
    pub(super) inputs: Inputs,
}

impl Broken {
    /// A line of a file that was read, by the name that spans carry; lines count from 1.
    pub fn line(&self, file: &str, line: usize) -> Option<&str> {
        let text = self.failure.texts.get(file).map(String::as_str);
        let text = text.or_else(|| self.inputs.text_of(file))?;
        text.lines().nth(line.checked_sub(1)?)
    }
}

/// What is shown at one time.
#[derive(Debug, Clone, Default)]
pub struct Shown {
    /// The last good build.
    pub good: Option<Arc<Good>>,
    /// Why the last save, or the last wish, isn't built; what is shown is then stale.
    pub broken: Option<Arc<Broken>>,
    /// Why the files of the good build couldn't be written.
    pub trouble: Option<Fault>,
    /// What the good build changed against the one before, once it is known.
    pub change: Option<Arc<Changed>>,
}

impl Shown {
    /// The path of a file that was read, by its name as shown to pages (from the script's folder).
    pub fn path_of(&self, script: &std::path::Path, file: &str) -> Option<PathBuf> {
        let good = self.good.iter().map(|g| g.inputs());
        let mut all = good.chain(self.broken.iter().map(|b| &b.inputs));
        all.find_map(|inputs| {
            let names = inputs.names();
            let name = names.into_iter().find(|n| beside(script, n) == file)?;
            inputs.path_of(&name)
        })
    }
}

/// What is shown, and what was.
#[derive(Debug, Default)]
pub struct Slot {
    /// At present.
    pub shown: Shown,
    /// What it was built from, good or not.
    pub inputs: Option<Inputs>,
    recent: VecDeque<Arc<Good>>,
}

impl Slot {
    /// A new good build; gives the one before.
    pub fn put(&mut self, good: Arc<Good>) -> Option<Arc<Good>> {
        self.recent.push_back(Arc::clone(&good));
        while self.recent.len() > KEPT {
            self.recent.pop_front();
        }
        let before = self.shown.good.take();
        self.shown = Shown {
            good: Some(good),
            ..Shown::default()
        };
        before
    }

    /// A build again, with more known of it; nothing where it isn't shown any more.
    pub fn renew(&mut self, good: &Arc<Good>) {
        let shown = self.shown.good.iter_mut();
        let same = shown
            .chain(&mut self.recent)
            .filter(|g| g.number == good.number);
        same.for_each(|g| *g = Arc::clone(good));
    }

    fn find(&self, number: u64) -> Option<Arc<Good>> {
        let shown = self.shown.good.iter();
        shown
            .chain(&self.recent)
            .find(|g| g.number == number)
            .cloned()
    }
}

/// A page's own.
#[derive(Debug, Default)]
pub struct Desk {
    /// Its settings.
    pub overrides: Vec<(String, String)>,
    /// Counts its wishes: a build for an older one is dropped.
    pub wish: u64,
    /// Not built yet.
    pub waiting: bool,
    /// What it sees.
    pub slot: Slot,
}

/// Everything that is shown.
#[derive(Debug, Default)]
pub struct Board {
    /// To pages without settings of their own.
    pub main: Slot,
    /// To the others.
    pub desks: BTreeMap<DeskId, Desk>,
    /// The number of the last good build.
    pub number: u64,
}

impl Board {
    /// What a page sees.
    pub fn shown(&self, desk: DeskId) -> &Shown {
        self.desks
            .get(&desk)
            .map_or(&self.main.shown, |d| &d.slot.shown)
    }

    /// The slot of a page, or the one of all.
    pub fn slot(&mut self, desk: Option<DeskId>) -> Option<&mut Slot> {
        match desk {
            None => Some(&mut self.main),
            Some(id) => self.desks.get_mut(&id).map(|d| &mut d.slot),
        }
    }

    /// Good builds that a page may see, or all may.
    pub fn recent(&self, desk: Option<DeskId>) -> Vec<Arc<Good>> {
        let own = desk.and_then(|id| self.desks.get(&id));
        let own = own.into_iter().flat_map(|d| &d.slot.recent);
        own.chain(&self.main.recent).cloned().collect()
    }

    /// Whether a page waits for its wish.
    pub fn waits(&self) -> bool {
        self.desks.values().any(|desk| desk.waiting)
    }

    /// A build by its number, as far as a page may see it.
    pub fn find(&self, desk: DeskId, number: u64) -> Option<Arc<Good>> {
        let own = self.desks.get(&desk).and_then(|d| d.slot.find(number));
        own.or_else(|| self.main.find(number))
    }
}
