//! Folders under watch. Editors write beside and rename, so folders are watched, not files; a folder that isn't there
//! is waited for in the nearest one above it. What can't be watched is left to the poll.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use notify::event::{AccessKind, AccessMode, EventKind};
use notify::{Event, RecommendedWatcher, RecursiveMode, Watcher};

/// What tells a folder from another that took its name.
type Identity = Option<(u64, u64)>;

/// See the module.
pub struct Folders {
    watcher: Option<RecommendedWatcher>,
    watched: BTreeMap<PathBuf, Identity>,
    /// Something was removed or renamed: a watched folder may be another one now.
    moved: Arc<AtomicBool>,
}

impl Folders {
    /// Nothing watched yet; `poke` is called when something may have changed. The second value says why the system's
    /// events can't be had, where it is so.
    pub fn new(poke: impl Fn() + Send + 'static) -> (Folders, Option<String>) {
        let moved = Arc::new(AtomicBool::new(false));
        let noticed = Arc::clone(&moved);
        let made = notify::recommended_watcher(move |event: notify::Result<Event>| {
            // Reading a file is an event too, and the builder reads.
            let kind = event.map_or(EventKind::Any, |e| e.kind);
            let matters = match kind {
                EventKind::Access(AccessKind::Close(AccessMode::Write)) => true,
                EventKind::Access(_) => false,
                _ => true,
            };
            let renames = matches!(
                kind,
                EventKind::Remove(_)
                    | EventKind::Any
                    | EventKind::Modify(notify::event::ModifyKind::Name(_))
            );
            if renames {
                noticed.store(true, Ordering::Release);
            }
            if matters {
                poke();
            }
        });
        let (watcher, trouble) = match made {
            Ok(watcher) => (Some(watcher), None),
            Err(error) => (None, Some(error.to_string())),
        };
        let folders = Folders {
            watcher,
            watched: BTreeMap::new(),
            moved,
        };
        (folders, trouble)
    }

    /// Watches these folders and no other.
    pub fn follow(&mut self, wanted: &BTreeSet<PathBuf>) {
        let Some(watcher) = &mut self.watcher else {
            return;
        };
        let wanted: BTreeMap<PathBuf, Identity> = wanted
            .iter()
            .filter_map(|folder| folder.ancestors().find(|f| f.is_dir()))
            .map(|folder| (folder.to_path_buf(), identity(folder)))
            .collect();
        let all = self.moved.swap(false, Ordering::AcqRel);
        if !all && wanted == self.watched {
            return;
        }
        for (folder, was) in std::mem::take(&mut self.watched) {
            if !all && wanted.get(&folder) == Some(&was) {
                self.watched.insert(folder, was);
            } else {
                // It may be gone already.
                let _ = watcher.unwatch(&folder);
            }
        }
        for (folder, now) in wanted {
            if !self.watched.contains_key(&folder)
                && watcher.watch(&folder, RecursiveMode::NonRecursive).is_ok()
            {
                self.watched.insert(folder, now);
            }
        }
    }
}

#[cfg(unix)]
fn identity(folder: &Path) -> Identity {
    use std::os::unix::fs::MetadataExt;
    let about = std::fs::metadata(folder).ok()?;
    Some((about.dev(), about.ino()))
}

#[cfg(not(unix))]
fn identity(_: &Path) -> Identity {
    None
}
