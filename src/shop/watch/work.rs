//! The builder: waits, looks whether anything changed, builds, shows, writes.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::fault::Fault;
use crate::shop::boards::{lacks_boards, laid};
use crate::shop::make::{write_first, write_proof};
use crate::shop::pipeline::{Bench, Build, Failure, Wish};
use crate::shop::proof::{Unproved, expect, prove};
use crate::shop::watch::change::Pairs;
use crate::shop::watch::desk::{Board, Broken, Desk, DeskId, Shown};
use crate::shop::watch::folders::Folders;
use crate::shop::watch::good::{Good, Made};
use crate::shop::watch::inbox::{Call, Inbox};
use crate::shop::watch::inputs::Inputs;
use crate::shop::watch::round::{Outcome, Round};

/// How often files are looked at though no event came.
const POLL: Duration = Duration::from_secs(1);

/// Events that follow each other faster than this belong to one save.
const QUIET: Duration = Duration::from_millis(35);

/// A stream of events is not waited out for longer than this.
const MOST_QUIET: Duration = Duration::from_millis(400);

/// A script that is missing or empty gets this long to come back: some editors delete or empty it first.
const COMES_BACK: Duration = Duration::from_millis(300);

/// A script that is saved during every build is shown all the same after so many builds were dropped.
const MOST_DROPPED: usize = 8;

/// How often files are looked at while boards are laid: what comes of them is of no use once one has changed.
const LOOKS: Duration = Duration::from_millis(100);

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

struct Inner {
    wish: WatchWish,
    listener: Listener,
    inbox: Inbox,
    board: Mutex<Board>,
    pairs: Pairs,
    /// Held while files are written.
    writing: Mutex<()>,
}

impl Inner {
    fn board(&self) -> MutexGuard<'_, Board> {
        self.board.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn tell(&self, told: &Told) {
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

fn thread(name: &str, work: impl FnOnce() + Send + 'static) -> Result<(), Fault> {
    let made = std::thread::Builder::new()
        .name(name.to_string())
        .spawn(work);
    made.map(|_| ())
        .map_err(|e| Fault::new(format!("the system gives no thread to watch with: {e}")))
}

/// A build with what it was built from.
struct Attempt {
    inputs: Inputs,
    result: Result<Made, Failure>,
    /// What the longer checks need, where they aren't done.
    unproved: Option<Box<Unproved>>,
    seconds: f64,
}

/// A step of what is done to a build once it is shown.
#[derive(Clone, Copy)]
struct Renewal {
    /// What it does, for those who wait.
    what: &'static str,
    /// All checks are done with it.
    last: bool,
}

struct Builder {
    inner: Arc<Inner>,
    bench: Bench,
    folders: Folders,
    /// The first build was begun.
    begun: bool,
}

impl Builder {
    fn new(inner: Arc<Inner>) -> Builder {
        let poked = Arc::downgrade(&inner);
        let (folders, trouble) = Folders::new(move || {
            if let Some(inner) = poked.upgrade() {
                inner.inbox.poke();
            }
        });
        if let Some(trouble) = trouble {
            inner.tell(&Told::Slow(&trouble));
        }
        Builder {
            inner,
            bench: Bench::new(),
            folders,
            begun: false,
        }
    }

    fn work(mut self) {
        while !self.inner.inbox.stopping() {
            // Builds guard themselves; this keeps the watch alive whatever else fails.
            if catch_unwind(AssertUnwindSafe(|| self.turn())).is_err() {
                self.bench = Bench::new();
                self.inner.inbox.wait(POLL);
            }
        }
    }

    /// Waits for a call, and does what it needs.
    fn turn(&mut self) {
        if !std::mem::replace(&mut self.begun, true) {
            return self.build_script(None);
        }
        match self.inner.inbox.wait(POLL) {
            Call::Stop => return,
            Call::Poked => self.inner.inbox.settle(QUIET, MOST_QUIET),
            Call::Asked | Call::Quiet => {}
        }
        if let Some(file) = self.changed() {
            self.build_script(Some(file));
        } else if self.build_desk() {
            // There may be more; the script comes first.
            self.inner.inbox.ask();
        }
    }

    /// The file that differs from what the last builds read. Folders are followed first, so that a change after this
    /// look gives an event.
    fn changed(&mut self) -> Option<String> {
        let read = self.read();
        self.follow(&read);
        let changed = || read.iter().find_map(Inputs::changed);
        changed()?;
        self.wait_for_script();
        changed()
    }

    /// What the builds shown, and those that failed, were built from.
    fn read(&self) -> Vec<Inputs> {
        let board = self.inner.board();
        let desks = board.desks.values().filter_map(|d| d.slot.inputs.clone());
        board.main.inputs.clone().into_iter().chain(desks).collect()
    }

    fn follow(&mut self, read: &[Inputs]) {
        let wanted = read.iter().flat_map(Inputs::folders).collect();
        self.folders.follow(&wanted);
    }

    /// Gives a script that is missing or empty a moment to come back.
    fn wait_for_script(&self) {
        let until = Instant::now() + COMES_BACK;
        while Inputs::nothing_there(&self.inner.wish.script) && Instant::now() < until {
            self.inner.inbox.settle(QUIET, QUIET);
            if self.inner.inbox.stopping() {
                return;
            }
        }
    }

    fn build_script(&mut self, mut file: Option<String>) {
        for tries in 1.. {
            let attempt = self.build(None, &[]);
            let mut read = self.read();
            read.push(attempt.inputs.clone());
            self.follow(&read);
            if self.inner.inbox.stopping() {
                return;
            }
            match attempt.inputs.changed() {
                Some(newer) if tries <= MOST_DROPPED => {
                    // Saved while it was built: what came out is stale already.
                    self.inner.inbox.settle(QUIET, MOST_QUIET);
                    self.wait_for_script();
                    file = Some(newer);
                }
                _ => return self.end_script(file, attempt),
            }
        }
    }

    /// Shows and writes what came out, then proves it. A save that came meanwhile goes before each step of the proof, and
    /// the build of it before the round of this one.
    fn end_script(&mut self, file: Option<String>, mut attempt: Attempt) {
        let (unproved, inputs) = (attempt.unproved.take(), attempt.inputs.clone());
        let outcome = self.show(None, attempt);
        let trouble = self.write(&outcome);
        if unproved.is_some() && inputs.changed().is_some() {
            return self.inner.inbox.ask();
        }
        let whole = trouble.is_none();
        let proving = unproved.is_some();
        let (outcome, failed) = self.proved(None, outcome, unproved);
        if proving && failed.is_none() && inputs.changed().is_some() {
            return self.inner.inbox.ask();
        }
        let (outcome, failed) = self.expected(None, outcome, failed);
        let report = whole.then(|| self.write_proof(&outcome)).flatten();
        let (outcome, failed) = if failed.is_none() && self.lacks_boards(&outcome) {
            let (outcome, failed) = self.laid(None, outcome, &inputs);
            let written = (whole && failed.is_none()).then(|| self.write_proof(&outcome));
            (outcome, failed.or(written.flatten()))
        } else {
            (outcome, failed)
        };
        self.end_round(Round {
            desk: None,
            file,
            overrides: Vec::new(),
            outcome,
            trouble: trouble.or(report).or(failed),
        });
    }

    /// The same build with its pieces and what is found about them and the walls, shown in its place; and what failed.
    fn proved(
        &self,
        desk: Option<DeskId>,
        outcome: Outcome,
        unproved: Option<Box<Unproved>>,
    ) -> (Outcome, Option<Fault>) {
        let (Outcome::Good(good), Some(unproved)) = (&outcome, unproved) else {
            return (outcome, None);
        };
        let prove = |build| prove(build, &unproved);
        let step = Renewal {
            what: "proving walls and reach",
            last: good.build.gated.is_none(),
        };
        self.renewed(desk, good, step, &prove)
    }

    /// The same build with what is expected of the pour, where that is still to be found and nothing failed before.
    fn expected(
        &self,
        desk: Option<DeskId>,
        outcome: Outcome,
        failed: Option<Fault>,
    ) -> (Outcome, Option<Fault>) {
        let Outcome::Good(good) = &outcome else {
            return (outcome, failed);
        };
        if good.proved || failed.is_some() {
            return (outcome, failed);
        }
        let step = Renewal {
            what: "looking how it fills and freezes",
            last: true,
        };
        self.renewed(desk, good, step, &expect)
    }

    fn lacks_boards(&self, outcome: &Outcome) -> bool {
        let wanted = self.inner.wish.wish.effort.is_some();
        wanted && matches!(outcome, Outcome::Good(good) if lacks_boards(&good.build))
    }

    /// The same build with its pieces laid on boards, shown in its place. A save that comes meanwhile ends it.
    fn laid(
        &self,
        desk: Option<DeskId>,
        outcome: Outcome,
        inputs: &Inputs,
    ) -> (Outcome, Option<Fault>) {
        let (Outcome::Good(good), Some(effort)) = (&outcome, self.inner.wish.wish.effort) else {
            return (outcome, None);
        };
        // Once given up it stays so, whatever the files are by the next look: the layout has been cut short.
        let looked = Mutex::new((Instant::now(), true));
        let go = || {
            let mut looked = looked.lock().unwrap_or_else(PoisonError::into_inner);
            let (last, going) = &mut *looked;
            if *going && last.elapsed() >= LOOKS {
                *going = !self.inner.inbox.stopping() && inputs.changed().is_none();
                *last = Instant::now();
            }
            *going
        };
        let lay = |build| laid(build, effort, &go);
        let step = Renewal {
            what: "laying the pieces on boards",
            last: true,
        };
        self.renewed(desk, good, step, &lay)
    }

    /// A build with something done to it, shown in its place; and what failed.
    fn renewed(
        &self,
        desk: Option<DeskId>,
        good: &Arc<Good>,
        renewal: Renewal,
        change: &dyn Fn(Build) -> Build,
    ) -> (Outcome, Option<Fault>) {
        let step = |step| {
            let tell = || self.inner.tell(&Told::Step(desk, step));
            let _ = catch_unwind(AssertUnwindSafe(tell));
        };
        step(Some(renewal.what));
        let work = || {
            let made = good.changed_by(change, renewal.last);
            let script = &self.inner.wish.script;
            Good::new(
                good.number,
                made,
                good.inputs().clone(),
                script,
                good.seconds,
            )
        };
        let done = catch_unwind(AssertUnwindSafe(work)).map(Arc::new);
        step(None);
        match done {
            Ok(done) => {
                if let Some(slot) = self.inner.board().slot(desk) {
                    slot.renew(&done);
                }
                self.inner.tell(&Told::Shown(desk));
                (Outcome::Good(done), None)
            }
            Err(cause) => {
                let fault = panicked(cause.as_ref()).faults.0.pop();
                (Outcome::Good(Arc::clone(good)), fault)
            }
        }
    }

    /// Builds for a page that waits; whether there was one.
    fn build_desk(&mut self) -> bool {
        let next = {
            let mut board = self.inner.board();
            let waiting = board.desks.iter_mut().find(|(_, d)| d.waiting);
            waiting.map(|(id, desk)| {
                desk.waiting = false;
                (*id, desk.wish, desk.overrides.clone())
            })
        };
        let Some((id, wish, overrides)) = next else {
            return false;
        };
        let attempt = self.build(Some(id), &overrides);
        if self.inner.inbox.stopping() {
            return false;
        }
        let read = self.read();
        let mut all = read.iter().chain(std::iter::once(&attempt.inputs));
        let stale = all.any(|i| i.changed().is_some());
        {
            let mut board = self.inner.board();
            match board.desks.get_mut(&id) {
                None => return true,
                Some(desk) if stale || desk.wish != wish => {
                    desk.waiting = true;
                    return true;
                }
                Some(_) => {}
            }
        }
        let mut attempt = attempt;
        let (unproved, inputs) = (attempt.unproved.take(), attempt.inputs.clone());
        let outcome = self.show(Some(id), attempt);
        let (outcome, trouble) = self.proved(Some(id), outcome, unproved);
        let (outcome, trouble) = self.expected(Some(id), outcome, trouble);
        let (outcome, trouble) = if trouble.is_none() && self.lacks_boards(&outcome) {
            self.laid(Some(id), outcome, &inputs)
        } else {
            (outcome, trouble)
        };
        self.inner.tell(&Told::Round(&Round {
            desk: Some(id),
            file: None,
            overrides,
            outcome,
            trouble,
        }));
        true
    }

    fn build(&mut self, desk: Option<DeskId>, overrides: &[(String, String)]) -> Attempt {
        let clock = Instant::now();
        let recent = self.inner.board().recent(desk);
        let same =
            |g: &&Arc<Good>| g.proved && g.overrides == overrides && g.inputs().changed().is_none();
        if let Some(before) = recent.iter().find(same) {
            // An undo: it is built already.
            return Attempt {
                inputs: before.inputs().clone(),
                result: Ok(before.again()),
                unproved: None,
                seconds: clock.elapsed().as_secs_f64(),
            };
        }
        let WatchWish { script, wish, .. } = &self.inner.wish;
        let (mut inputs, record) = Inputs::read(script);
        let mut wish = wish.clone();
        wish.overrides.extend_from_slice(overrides);
        let shown = script.display().to_string();
        let (inner, bench) = (&self.inner, &mut self.bench);
        let mut unproved = None;
        let result = match inputs.text() {
            Err(fault) => Err(Failure {
                faults: fault.clone().into(),
                ..Failure::default()
            }),
            Ok(text) => {
                let step = |step: &str| inner.tell(&Told::Step(desk, Some(step)));
                let modules = Arc::clone(&record);
                let work = || bench.shape_text(text, &shown, modules, &wish, &step);
                match catch_unwind(AssertUnwindSafe(work)) {
                    Ok(Ok((build, rest))) => {
                        unproved = Some(Box::new(rest));
                        Ok(Made::new(build, overrides.to_vec()))
                    }
                    Ok(Err(failure)) => Err(*failure),
                    Err(cause) => {
                        // Whatever it held may be half done.
                        self.bench = Bench::new();
                        Err(panicked(cause.as_ref()))
                    }
                }
            }
        };
        inputs.complete(&record);
        let ended = || self.inner.tell(&Told::Step(desk, None));
        let _ = catch_unwind(AssertUnwindSafe(ended));
        Attempt {
            inputs,
            result,
            unproved,
            seconds: clock.elapsed().as_secs_f64(),
        }
    }

    /// Puts what came out where pages see it.
    fn show(&self, desk: Option<DeskId>, attempt: Attempt) -> Outcome {
        let Attempt {
            inputs,
            result,
            seconds,
            ..
        } = attempt;
        let number = self.inner.board().number + 1;
        let good = result.and_then(|made| {
            let script = &self.inner.wish.script;
            let work = || Good::new(number, made, inputs.clone(), script, seconds);
            catch_unwind(AssertUnwindSafe(work)).map_err(|cause| panicked(cause.as_ref()))
        });
        let outcome = match good {
            Ok(good) => Outcome::Good(Arc::new(good)),
            Err(failure) => Outcome::Broken(Arc::new(Broken {
                failure,
                seconds,
                inputs: inputs.clone(),
            })),
        };
        let mut board = self.inner.board();
        if let Outcome::Good(good) = &outcome {
            board.number = good.number;
        }
        if let Some(slot) = board.slot(desk) {
            slot.inputs = Some(inputs);
            match &outcome {
                Outcome::Good(good) => {
                    if let Some(before) = slot.put(Arc::clone(good)) {
                        self.inner.pairs.put(desk, before, Arc::clone(good));
                    }
                }
                Outcome::Broken(broken) => slot.shown.broken = Some(Arc::clone(broken)),
            }
        }
        if desk.is_none() {
            for desk in board.desks.values_mut() {
                desk.waiting = true;
                // What it read before is no measure any more.
                desk.slot.inputs = None;
            }
        }
        drop(board);
        self.inner.tell(&Told::Shown(desk));
        outcome
    }

    /// Writes the files of a good build; says what went wrong.
    fn write(&self, outcome: &Outcome) -> Option<Fault> {
        let Outcome::Good(good) = outcome else {
            return None;
        };
        let _writing = self.inner.writing.lock();
        if self.inner.inbox.stopping() {
            return None;
        }
        write_first(&good.build, &good.report, &self.inner.wish.out).err()
    }

    /// Writes what proof and boards add.
    fn write_proof(&self, outcome: &Outcome) -> Option<Fault> {
        let Outcome::Good(good) = outcome else {
            return None;
        };
        let _writing = self.inner.writing.lock();
        if self.inner.inbox.stopping() {
            return None;
        }
        let last = !self.lacks_boards(outcome);
        write_proof(&good.build, &good.report, &self.inner.wish.out, last).err()
    }

    /// Says how a build went, and lets pages with settings of their own come next.
    fn end_round(&self, round: Round) {
        if self.inner.inbox.stopping() {
            return;
        }
        if round.trouble.is_some() {
            self.inner
                .board()
                .main
                .shown
                .trouble
                .clone_from(&round.trouble);
            self.inner.tell(&Told::Shown(None));
        }
        self.inner.tell(&Told::Round(&round));
        self.inner.inbox.ask();
    }
}

/// A failure of this program, told like any other.
fn panicked(cause: &(dyn std::any::Any + Send)) -> Failure {
    let what = cause
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| cause.downcast_ref::<&str>().copied())
        .unwrap_or("no reason given");
    let fault = Fault::new(format!(
        "this program failed while it built the part: {what}"
    ))
    .hint("please keep this script and report it: the program should have built it");
    Failure {
        faults: fault.into(),
        ..Failure::default()
    }
}
