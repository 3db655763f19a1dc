//! What has happened since an event stream last looked: numbers that only grow, for all pages and for each of its own.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use crate::shop::watch::{DeskId, Told};

/// When something last happened.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Mark {
    /// What is shown changed.
    pub shown: u64,
    /// What the build changed became known.
    pub changed: u64,
    /// The build's present step.
    pub step: Option<String>,
}

#[derive(Default)]
struct Noted {
    count: u64,
    main: Mark,
    desks: BTreeMap<DeskId, Mark>,
}

/// See the module.
#[derive(Default)]
pub struct Marks {
    noted: Mutex<Noted>,
}

impl Marks {
    /// Takes in what a watch tells.
    pub fn note(&self, told: &Told) {
        let desk = match told {
            Told::Step(desk, _) | Told::Shown(desk) | Told::Changed(desk) => *desk,
            Told::Round(_) | Told::Slow(_) => return,
        };
        let mut noted = self.noted.lock().unwrap_or_else(PoisonError::into_inner);
        noted.count += 1;
        let count = noted.count;
        let main = noted.main.clone();
        let mark = match desk {
            None => &mut noted.main,
            Some(id) => noted.desks.entry(id).or_insert(main),
        };
        match told {
            Told::Step(_, step) => mark.step = step.map(str::to_string),
            Told::Shown(_) => mark.shown = count,
            Told::Changed(_) => mark.changed = count,
            Told::Round(_) | Told::Slow(_) => {}
        }
    }

    /// The mark of a page that has settings of its own (`own`), or of all.
    pub fn of(&self, desk: DeskId, own: bool) -> Mark {
        let noted = self.noted.lock().unwrap_or_else(PoisonError::into_inner);
        let found = noted.desks.get(&desk).filter(|_| own);
        found.unwrap_or(&noted.main).clone()
    }

    /// Forgets a page.
    pub fn forget(&self, desk: DeskId) {
        let mut noted = self.noted.lock().unwrap_or_else(PoisonError::into_inner);
        noted.desks.remove(&desk);
    }
}
