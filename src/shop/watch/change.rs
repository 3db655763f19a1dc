//! What a build changed against the one before: the boolean differences of each stage, both ways. Worked out beside the
//! builds, never before one; a newer pair takes the place of one that still waits.

use std::collections::BTreeMap;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use crate::export::view;
use crate::pattern::Stage;
use crate::shop::watch::desk::DeskId;
use crate::shop::watch::good::Good;
use crate::solid::{Solid, difference};

/// Metal that came or went in one stage.
#[derive(Debug, Clone, Default)]
pub struct Difference {
    /// Its volume (mm³).
    pub volume_mm3: f64,
    /// Its mesh as `export::view` lays it out; none where nothing worth a look came or went.
    pub view: Option<Arc<Vec<u8>>>,
}

/// What a build changed.
#[derive(Debug, Clone)]
pub struct Changed {
    /// The newer build's number.
    pub build: u64,
    /// Each stage's name with what came and what went.
    pub stages: Vec<(&'static str, [Difference; 2])>,
}

impl Changed {
    /// A stage's mesh of what came (`added`) or went (`removed`).
    pub fn view(&self, stage: &str, which: &str) -> Option<Arc<Vec<u8>>> {
        let (_, [added, removed]) = self.stages.iter().find(|(name, _)| *name == stage)?;
        match which {
            "added" => added.view.clone(),
            "removed" => removed.view.clone(),
            _ => None,
        }
    }
}

type Pair = (Arc<Good>, Arc<Good>);

#[derive(Default)]
struct Waiting {
    pairs: BTreeMap<Option<DeskId>, Pair>,
    stop: bool,
}

/// Pairs that wait to be compared, one a page.
#[derive(Default)]
pub struct Pairs {
    waiting: Mutex<Waiting>,
    bell: Condvar,
}

impl Pairs {
    fn lock(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// One more pair: before, after.
    pub fn put(&self, desk: Option<DeskId>, before: Arc<Good>, after: Arc<Good>) {
        self.lock().pairs.insert(desk, (before, after));
        self.bell.notify_all();
    }

    /// No more.
    pub fn stop(&self) {
        self.lock().stop = true;
        self.bell.notify_all();
    }

    /// The next pair; none at the end.
    fn take(&self) -> Option<(Option<DeskId>, Pair)> {
        let mut waiting = self.lock();
        loop {
            if waiting.stop {
                return None;
            }
            if let Some(next) = waiting.pairs.pop_first() {
                return Some(next);
            }
            waiting = self
                .bell
                .wait(waiting)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }

    fn replaced(&self, desk: Option<DeskId>) -> bool {
        let waiting = self.lock();
        waiting.stop || waiting.pairs.contains_key(&desk)
    }

    /// Compares pairs until the end.
    pub fn work(&self, done: impl Fn(Option<DeskId>, Changed)) {
        while let Some((desk, (before, after))) = self.take() {
            let work = || self.compare(desk, &before, &after);
            // A difference that can't be had is only not shown.
            let found = std::panic::catch_unwind(std::panic::AssertUnwindSafe(work));
            if let Ok(Some(changed)) = found {
                done(desk, changed);
            }
        }
    }

    /// None where a newer pair waits already.
    fn compare(&self, desk: Option<DeskId>, before: &Good, after: &Good) -> Option<Changed> {
        let mut stages: Vec<(&'static str, [Difference; 2])> = Vec::new();
        let mut casting: Option<[Solid; 2]> = None;
        let grow = after.build.part.metal.shrink_percent;
        let grown_alike = grow == before.build.part.metal.shrink_percent;
        for built in &after.build.stages {
            if self.replaced(desk) {
                return None;
            }
            let Some(was) = before.build.stage(built.stage) else {
                continue;
            };
            let found = match (&casting, built.stage) {
                // The pattern is the casting grown, and so is what changed.
                (Some(found), Stage::Pattern) if grown_alike => {
                    let by = grow.map(|s| 1.0 + s / 100.0);
                    [found[0].scaled(by), found[1].scaled(by)]
                }
                _ => both(&was.solid, &built.solid),
            };
            stages.push((built.stage.name(), [shown(&found[0]), shown(&found[1])]));
            if built.stage == Stage::Casting {
                casting = Some(found);
            }
        }
        Some(Changed {
            build: after.number,
            stages,
        })
    }
}

/// What came and what went.
fn both(was: &Solid, now: &Solid) -> [Solid; 2] {
    if was.points == now.points && was.triangles == now.triangles {
        return [Solid::default(), Solid::default()];
    }
    [
        difference(now, was).unwrap_or_default(),
        difference(was, now).unwrap_or_default(),
    ]
}

fn shown(solid: &Solid) -> Difference {
    if solid.triangles.is_empty() {
        return Difference::default();
    }
    let mut bytes = Vec::new();
    let written = view::write(solid, &mut bytes);
    Difference {
        volume_mm3: solid.volume_mm3(),
        view: written.ok().map(|()| Arc::new(bytes)),
    }
}
