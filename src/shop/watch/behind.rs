//! Work that goes on behind what a person waits for: on a thread that gives way to all others of this machine.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use thread_priority::{ThreadPriority, set_current_thread_priority};

use crate::fault::{Fault, Go};

/// Work on a thread of its own; what is dropped goes on to its end, or to the next look whether it is wanted.
pub(super) struct Behind<T> {
    given_up: Arc<AtomicBool>,
    result: Arc<Mutex<Option<T>>>,
}

impl<T: Send + 'static> Behind<T> {
    /// Begins; `ended` is called when the result is there. The work asks now and then whether it is wanted.
    ///
    /// # Errors
    /// The system gives no thread.
    pub(super) fn start(
        name: &str,
        work: impl FnOnce(Go) -> T + Send + 'static,
        ended: impl FnOnce() + Send + 'static,
    ) -> Result<Behind<T>, Fault> {
        let behind = Behind {
            given_up: Arc::default(),
            result: Arc::default(),
        };
        let (given_up, result) = (Arc::clone(&behind.given_up), Arc::clone(&behind.result));
        thread(name, move || {
            gives_way();
            let made = work(&|| !given_up.load(Ordering::Relaxed));
            *result.lock().unwrap_or_else(PoisonError::into_inner) = Some(made);
            ended();
        })?;
        Ok(behind)
    }

    /// Lets the work know that it isn't wanted any more.
    pub(super) fn give_up(&self) {
        self.given_up.store(true, Ordering::Relaxed);
    }

    /// Whether the result is there.
    pub(super) fn ended(&self) -> bool {
        let result = self.result.lock();
        result.unwrap_or_else(PoisonError::into_inner).is_some()
    }

    /// The result, once it is there.
    pub(super) fn result(self) -> Option<T> {
        let result = self.result.lock();
        result.unwrap_or_else(PoisonError::into_inner).take()
    }
}

/// From now on this thread, and what it starts, has the processor only when no other wants it: a person's editor and
/// picture go first. Where the system doesn't allow that, all go on alike.
pub(super) fn gives_way() {
    let _ = set_current_thread_priority(ThreadPriority::Min);
}

/// A thread with a name.
///
/// # Errors
/// The system gives none.
pub(super) fn thread(name: &str, work: impl FnOnce() + Send + 'static) -> Result<(), Fault> {
    let made = std::thread::Builder::new()
        .name(name.to_string())
        .spawn(work);
    made.map(|_| ())
        .map_err(|e| Fault::new(format!("the system gives no thread to watch with: {e}")))
}
