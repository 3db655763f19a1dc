//! The builder: waits, looks whether anything changed, builds, shows, writes, and proves when nothing is more urgent.

use std::collections::VecDeque;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::fault::{Fault, Go};
use crate::shop::boards::{lacks_boards, laid};
use crate::shop::make::{write_first, write_proof};
use crate::shop::pipeline::{Bench, Build, Failure};
use crate::shop::proof::{Unproved, expect, prove};
use crate::shop::watch::behind::Behind;
use crate::shop::watch::desk::{Broken, DeskId};
use crate::shop::watch::folders::Folders;
use crate::shop::watch::good::{Good, Made};
use crate::shop::watch::inbox::Call;
use crate::shop::watch::inputs::Inputs;
use crate::shop::watch::round::{Outcome, Round};
use crate::shop::watch::work::{Inner, Told, WatchWish};

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

/// How often files are looked at during a proof, though no event came: what is newer goes before it.
const LOOKS: Duration = Duration::from_millis(100);

/// A build with what it was built from.
struct Attempt {
    inputs: Inputs,
    result: Result<Made, Failure>,
    /// What the longer checks need, where they aren't done.
    unproved: Option<Box<Unproved>>,
    seconds: f64,
}

/// A build that is shown, with what is still to be done to it.
struct Task {
    desk: Option<DeskId>,
    file: Option<String>,
    overrides: Vec<(String, String)>,
    good: Arc<Good>,
    /// What the longer checks need, where they aren't done.
    unproved: Option<Arc<Unproved>>,
    /// What is known but for the boards is written.
    noted: bool,
    /// The first thing that went wrong with it.
    trouble: Option<Fault>,
}

/// How a build is changed, as long as it is wanted; `None` where it was given up.
type Change = Box<dyn FnOnce(Build, Go) -> Option<Build> + Send>;

/// A step of what is done to a build once it is shown.
struct Step {
    /// What it does, for those who wait.
    what: &'static str,
    /// All checks are done with it.
    last: bool,
    change: Change,
}

/// What came of a step: a build with more known of it, nothing where it was given up.
type Renewed = Result<Option<Good>, Failure>;

/// A task with its next step, which goes on beside.
struct Running {
    task: Task,
    step: Behind<Renewed>,
}

pub(super) struct Builder {
    inner: Arc<Inner>,
    bench: Bench,
    folders: Folders,
    /// The first build was begun.
    begun: bool,
    /// Builds that are shown and not done; the first comes next.
    tasks: VecDeque<Task>,
    running: Option<Running>,
    /// A step that was given up and may not have heard of it yet: none is begun beside it.
    leaving: Option<Behind<Renewed>>,
}

impl Builder {
    pub(super) fn new(inner: Arc<Inner>) -> Builder {
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
            tasks: VecDeque::new(),
            running: None,
            leaving: None,
        }
    }

    /// Builds until the watch ends.
    pub(super) fn work(mut self) {
        while !self.inner.inbox.stopping() {
            // Builds guard themselves; this keeps the watch alive whatever else fails.
            if catch_unwind(AssertUnwindSafe(|| self.turn())).is_err() {
                self.bench = Bench::new();
                self.give_way();
                self.tasks.clear();
                self.inner.inbox.wait(POLL);
            }
        }
    }

    /// Does what is most urgent: a save, then a page's wish, then a step of what is shown and not yet proved; waits where
    /// there is nothing to do.
    fn turn(&mut self) {
        if !std::mem::replace(&mut self.begun, true) {
            return self.build_script(None);
        }
        let most = match self.tasks.is_empty() {
            _ if self.running.is_some() => LOOKS,
            true => POLL,
            false if self.leaves() => LOOKS,
            false => Duration::ZERO,
        };
        match self.inner.inbox.wait(most) {
            Call::Stop => return self.give_way(),
            Call::Poked => self.inner.inbox.settle(QUIET, MOST_QUIET),
            Call::Asked | Call::Quiet => {}
        }
        if let Some(file) = self.changed() {
            self.give_way();
            self.build_script(Some(file));
        } else if self.inner.board().waits() {
            self.give_way();
            self.build_desk();
            // There may be more; the script comes first.
            self.inner.inbox.ask();
        } else {
            self.go_on();
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

    /// Shows and writes what came out; what is still to be proved of it comes when nothing is more urgent.
    fn end_script(&mut self, file: Option<String>, mut attempt: Attempt) {
        let unproved = attempt.unproved.take();
        let outcome = self.show(None, attempt);
        let trouble = self.write(&outcome);
        if matches!(outcome, Outcome::Good(_)) {
            // What was built before is shown no more, to no page.
            self.tasks.clear();
        }
        let round = Round {
            desk: None,
            file,
            overrides: Vec::new(),
            outcome,
            trouble,
        };
        self.take_up(round, unproved.map(Arc::from));
    }

    /// A good build becomes the task that comes next; a broken one has ended.
    fn take_up(&mut self, round: Round, unproved: Option<Arc<Unproved>>) {
        let good = match &round.outcome {
            Outcome::Good(good) => Arc::clone(good),
            Outcome::Broken(_) => return self.end_round(round),
        };
        self.tasks.push_front(Task {
            desk: round.desk,
            file: round.file,
            overrides: round.overrides,
            good,
            unproved,
            noted: false,
            trouble: round.trouble,
        });
    }

    /// What goes on beside comes to its end, or is given up, before anything else is done to a build.
    fn give_way(&mut self) {
        let Some(running) = self.running.take() else {
            return;
        };
        if running.step.ended() {
            return self.end_step(running);
        }
        running.step.give_up();
        self.tell_step(running.task.desk, None);
        self.leaving = Some(running.step);
        self.tasks.push_front(running.task);
    }

    /// Whether a step that was given up still goes on.
    fn leaves(&self) -> bool {
        self.leaving.as_ref().is_some_and(|left| !left.ended())
    }

    /// Ends a step that has come to its end, and begins the next where nothing goes on.
    fn go_on(&mut self) {
        match self.running.take() {
            Some(running) if running.step.ended() => self.end_step(running),
            Some(running) => return self.running = Some(running),
            None => {}
        }
        if self.leaves() {
            return;
        }
        self.leaving = None;
        if let Some(task) = self.tasks.pop_front() {
            self.begin_step(task);
        }
    }

    /// Begins the next step of a task; one to which nothing is left to do has ended.
    fn begin_step(&mut self, mut task: Task) {
        let Some(step) = self.next_step(&mut task) else {
            self.note(&mut task);
            return self.end_task(task);
        };
        self.tell_step(task.desk, Some(step.what));
        let (inner, good) = (Arc::clone(&self.inner), Arc::clone(&task.good));
        let work = move |go: Go| renewed(&inner, &good, step, go);
        let inner = Arc::clone(&self.inner);
        match Behind::start("prover", work, move || inner.inbox.ask()) {
            Ok(step) => self.running = Some(Running { task, step }),
            Err(fault) => {
                self.tell_step(task.desk, None);
                task.trouble = task.trouble.or(Some(fault));
                self.end_task(task);
            }
        }
    }

    /// A task's next step: pieces and walls, then what is expected of the pour, then the boards. `None` where nothing is
    /// left to do.
    fn next_step(&self, task: &mut Task) -> Option<Step> {
        let build = &task.good.build;
        if let Some(unproved) = task.unproved.clone() {
            return Some(Step {
                what: "proving walls and reach",
                last: build.gated.is_none(),
                change: Box::new(move |build, go| prove(build, &unproved, go)),
            });
        }
        if !task.good.proved {
            return Some(Step {
                what: "looking how it fills and freezes",
                last: true,
                change: Box::new(expect),
            });
        }
        let effort = self.inner.wish.wish.effort?;
        if !lacks_boards(build) {
            return None;
        }
        if !std::mem::replace(&mut task.noted, true) {
            self.note(task);
        }
        let lay = move |build, go: Go| {
            let done = laid(build, effort, go);
            (!lacks_boards(&done)).then_some(done)
        };
        Some(Step {
            what: "laying the pieces on boards",
            last: true,
            change: Box::new(lay),
        })
    }

    /// Shows what came of a step; where it isn't the last, the task comes again.
    fn end_step(&mut self, running: Running) {
        let Running { mut task, step } = running;
        self.tell_step(task.desk, None);
        match step.result() {
            Some(Ok(Some(good))) => {
                let good = Arc::new(good);
                if let Some(slot) = self.inner.board().slot(task.desk) {
                    slot.renew(&good);
                }
                self.inner.tell(&Told::Shown(task.desk));
                task.good = good;
                // The first step is what these are for.
                task.unproved = None;
                self.tasks.push_front(task);
            }
            Some(Ok(None)) | None => self.tasks.push_front(task),
            Some(Err(mut failure)) => {
                task.trouble = task.trouble.or(failure.faults.0.pop());
                self.end_task(task);
            }
        }
    }

    fn tell_step(&self, desk: Option<DeskId>, step: Option<&str>) {
        let tell = || self.inner.tell(&Told::Step(desk, step));
        let _ = catch_unwind(AssertUnwindSafe(tell));
    }

    /// Writes what proof and boards add, where the task is one of the script and all its files could be written.
    fn note(&self, task: &mut Task) {
        if task.desk.is_none() && task.trouble.is_none() {
            task.trouble = self.write_proof(&task.good);
        }
    }

    fn end_task(&self, task: Task) {
        let newer = {
            let mut board = self.inner.board();
            let shown = board.slot(task.desk).map(|slot| &slot.shown);
            // A script that was broken since has had the last word.
            shown.is_none_or(|shown| shown.broken.is_some())
        };
        if newer {
            return;
        }
        self.end_round(Round {
            desk: task.desk,
            file: task.file,
            overrides: task.overrides,
            outcome: Outcome::Good(task.good),
            trouble: task.trouble,
        });
    }

    /// Builds for a page that waits.
    fn build_desk(&mut self) {
        let next = {
            let mut board = self.inner.board();
            let waiting = board.desks.iter_mut().find(|(_, d)| d.waiting);
            waiting.map(|(id, desk)| {
                desk.waiting = false;
                (*id, desk.wish, desk.overrides.clone())
            })
        };
        let Some((id, wish, overrides)) = next else {
            return;
        };
        let mut attempt = self.build(Some(id), &overrides);
        if self.inner.inbox.stopping() {
            return;
        }
        let read = self.read();
        let mut all = read.iter().chain(std::iter::once(&attempt.inputs));
        let stale = all.any(|i| i.changed().is_some());
        {
            let mut board = self.inner.board();
            match board.desks.get_mut(&id) {
                None => return,
                Some(desk) if stale || desk.wish != wish => {
                    desk.waiting = true;
                    return;
                }
                Some(_) => {}
            }
        }
        let unproved = attempt.unproved.take();
        let outcome = self.show(Some(id), attempt);
        if matches!(outcome, Outcome::Good(_)) {
            // What it saw before is shown no more; a wish that can't be built leaves that, and its proof goes on.
            self.tasks.retain(|task| task.desk != Some(id));
        }
        let round = Round {
            desk: Some(id),
            file: None,
            overrides,
            outcome,
            trouble: None,
        };
        self.take_up(round, unproved.map(Arc::from));
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
        self.tell_step(desk, None);
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
    fn write_proof(&self, good: &Good) -> Option<Fault> {
        let _writing = self.inner.writing.lock();
        if self.inner.inbox.stopping() {
            return None;
        }
        let wanted = self.inner.wish.wish.effort.is_some();
        let last = !(wanted && lacks_boards(&good.build));
        write_proof(&good.build, &good.report, &self.inner.wish.out, last).err()
    }

    /// Says how a build went, and lets pages with settings of their own come next.
    fn end_round(&self, round: Round) {
        if self.inner.inbox.stopping() {
            return;
        }
        if round.desk.is_none() && round.trouble.is_some() {
            let mut board = self.inner.board();
            board.main.shown.trouble.clone_from(&round.trouble);
            drop(board);
            self.inner.tell(&Told::Shown(None));
        }
        self.inner.tell(&Told::Round(&round));
        self.inner.inbox.ask();
    }
}

/// A build with a step done to it.
fn renewed(inner: &Inner, good: &Good, step: Step, go: Go) -> Renewed {
    let go = || go() && !inner.inbox.stopping();
    let Step { last, change, .. } = step;
    let work = || {
        let made = good.changed_by(|build| change(build, &go), last)?;
        let (script, inputs) = (&inner.wish.script, good.inputs().clone());
        Some(Good::new(good.number, made, inputs, script, good.seconds))
    };
    catch_unwind(AssertUnwindSafe(work)).map_err(|cause| panicked(cause.as_ref()))
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
