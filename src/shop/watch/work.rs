//! A watch: what is watched, what it tells, and what pages may ask of it.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::fault::Fault;
use crate::shop::pipeline::Wish;
use crate::shop::watch::behind::{gives_way, thread};
use crate::shop::watch::builder::Builder;
use crate::shop::watch::change::Pairs;
use crate::shop::watch::desk::{Board, Desk, DeskId, Shown};
use crate::shop::watch::good::Good;
use crate::shop::watch::inbox::Inbox;
use crate::shop::watch::round::Round;

/// What is to be watched.
#[derive(Debug, Clone)]
pub struct WatchWish {
    /// The script as the person named it.
    pub script: PathBuf,
    /// Settings and facet from the command line.
    pub wish: Wish,
    /// Folder for the files.
    pub out: PathBuf,
}

/// What a watch tells while it goes on. A desk of none stands for the script as it is.
#[derive(Debug)]
pub enum Told<'a> {
    /// A build has come to a step, or has ended.
    Step(Option<DeskId>, Option<&'a str>),
    /// Something else is shown now.
    Shown(Option<DeskId>),
    /// What the build shown has changed is known now.
    Changed(Option<DeskId>),
    /// A build has ended, and its files are written.
    Round(&'a Round),
    /// The system gives no events, for this reason: changes are found by looking every second.
    Slow(&'a str),
}

type Listener = Box<dyn Fn(&Told) + Send + Sync>;

/// What the builder, the comparer and the pages share.
pub(super) struct Inner {
    pub(super) wish: WatchWish,
    listener: Listener,
    pub(super) inbox: Inbox,
    board: Mutex<Board>,
    pub(super) pairs: Pairs,
    /// Held while files are written.
    pub(super) writing: Mutex<()>,
}

impl Inner {
    pub(super) fn board(&self) -> MutexGuard<'_, Board> {
        self.board.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn tell(&self, told: &Told) {
        (self.listener)(told);
    }
}

/// A script under watch; dropping it ends that.
pub struct Watch {
    inner: Arc<Inner>,
}

impl Watch {
    /// Begins: the first build starts at once.
    ///
    /// # Errors
    /// The system gives no thread.
    pub fn start(
        wish: WatchWish,
        listener: impl Fn(&Told) + Send + Sync + 'static,
    ) -> Result<Watch, Fault> {
        let inner = Arc::new(Inner {
            wish,
            listener: Box::new(listener),
            inbox: Inbox::default(),
            board: Mutex::default(),
            pairs: Pairs::default(),
            writing: Mutex::default(),
        });
        let builder = Arc::clone(&inner);
        thread("builder", move || Builder::new(builder).work())?;
        let comparer = Arc::clone(&inner);
        thread("comparer", move || {
            gives_way();
            comparer.pairs.work(|desk, changed| {
                if let Some(slot) = comparer.board().slot(desk)
                    && slot
                        .shown
                        .good
                        .as_ref()
                        .is_some_and(|g| g.number == changed.build)
                {
                    slot.shown.change = Some(Arc::new(changed));
                }
                comparer.tell(&Told::Changed(desk));
            });
        })?;
        Ok(Watch { inner })
    }

    /// The script.
    pub fn script(&self) -> &Path {
        &self.inner.wish.script
    }

    /// What a page sees.
    pub fn shown(&self, desk: DeskId) -> Shown {
        self.inner.board().shown(desk).clone()
    }

    /// Whether a page has settings of its own.
    pub fn has_desk(&self, desk: DeskId) -> bool {
        self.inner.board().desks.contains_key(&desk)
    }

    /// A build by its number, as far as a page may see it.
    pub fn find(&self, desk: DeskId, number: u64) -> Option<Arc<Good>> {
        self.inner.board().find(desk, number)
    }

    /// A page's own settings, all of them; none at all: it sees the script as it is again.
    pub fn set(&self, id: DeskId, overrides: Vec<(String, String)>) {
        if overrides.is_empty() {
            self.forget(id);
            self.inner.tell(&Told::Shown(Some(id)));
            return;
        }
        let mut board = self.inner.board();
        let shown = board.main.shown.clone();
        let desk = board.desks.entry(id).or_insert_with(|| {
            let mut desk = Desk::default();
            desk.slot.shown = shown;
            desk
        });
        desk.overrides = overrides;
        desk.wish += 1;
        desk.waiting = true;
        drop(board);
        self.inner.inbox.ask();
    }

    /// Forgets a page.
    pub fn forget(&self, id: DeskId) {
        self.inner.board().desks.remove(&id);
    }

    /// Ends the watch. Files that are being written are finished; a build that is going on comes to nothing.
    pub fn stop(&self) {
        self.inner.inbox.stop();
        self.inner.pairs.stop();
        drop(self.inner.writing.lock());
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.stop();
    }
}
