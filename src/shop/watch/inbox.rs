//! What wakes the builder: an event of the file system, a wish of a page, the end.

use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// Why the builder woke.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Call {
    /// It shall end.
    Stop,
    /// A file may have changed.
    Poked,
    /// A page wishes something.
    Asked,
    /// Nothing came for a while.
    Quiet,
}

#[derive(Debug, Default)]
struct Letters {
    stop: bool,
    poked: bool,
    asked: bool,
}

/// Any number of events of one kind count as one.
#[derive(Debug, Default)]
pub struct Inbox {
    letters: Mutex<Letters>,
    bell: Condvar,
}

impl Inbox {
    fn lock(&self) -> MutexGuard<'_, Letters> {
        self.letters.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A file may have changed.
    pub fn poke(&self) {
        self.lock().poked = true;
        self.bell.notify_all();
    }

    /// A page wishes something.
    pub fn ask(&self) {
        self.lock().asked = true;
        self.bell.notify_all();
    }

    /// The builder shall end.
    pub fn stop(&self) {
        self.lock().stop = true;
        self.bell.notify_all();
    }

    /// Whether the builder shall end.
    pub fn stopping(&self) -> bool {
        self.lock().stop
    }

    /// Waits for a call, at most so long. Pokes come before wishes.
    pub fn wait(&self, most: Duration) -> Call {
        let until = Instant::now() + most;
        let mut letters = self.lock();
        loop {
            if letters.stop {
                return Call::Stop;
            }
            if std::mem::take(&mut letters.poked) {
                return Call::Poked;
            }
            if std::mem::take(&mut letters.asked) {
                return Call::Asked;
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Call::Quiet;
            }
            letters = self
                .bell
                .wait_timeout(letters, left)
                .map_or_else(|e| e.into_inner().0, |w| w.0);
        }
    }

    /// Waits until no poke came for `quiet`, at most `most` in all.
    pub fn settle(&self, quiet: Duration, most: Duration) {
        let end = Instant::now() + most;
        let mut until = Instant::now() + quiet;
        let mut letters = self.lock();
        loop {
            if std::mem::take(&mut letters.poked) {
                until = Instant::now() + quiet;
            }
            let left = until.min(end).saturating_duration_since(Instant::now());
            if left.is_zero() || letters.stop {
                return;
            }
            letters = self
                .bell
                .wait_timeout(letters, left)
                .map_or_else(|e| e.into_inner().0, |w| w.0);
        }
    }
}
