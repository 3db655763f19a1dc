//! From a body as described to a shell ready for the booleans: laid over its ground, trimmed, cut back.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use rustc_hash::FxHashMap;

use crate::drawing::body::{Body, Drape};
use crate::measure::{Frame, Vec2};
use crate::solid::{ShapeFault, Shell, SolidFault, common, minus, shell_of, trimmed};

/// Why a body can't be made.
#[derive(Debug, Clone, PartialEq)]
pub enum BodyFault {
    /// Its shape is impossible.
    Shape(ShapeFault),
    /// A boolean that prepares it failed.
    Solid(SolidFault),
}

impl From<ShapeFault> for BodyFault {
    fn from(fault: ShapeFault) -> BodyFault {
        BodyFault::Shape(fault)
    }
}

impl From<SolidFault> for BodyFault {
    fn from(fault: SolidFault) -> BodyFault {
        BodyFault::Solid(fault)
    }
}

/// The closed shell of a body with its drape, trims, `less` and `within` applied, in part coordinates.
///
/// # Errors
/// An impossible shape, or a kernel failure in preparing it.
pub fn shell_of_body(body: &Body, facet_mm: f64) -> Result<Shell, BodyFault> {
    let mut shell = shell_of(body, facet_mm)?;
    if let Some(drape) = body.drape {
        lay_over(&mut shell, &body.frame, &drape);
    }
    for plane in &body.trims {
        shell = trimmed(&shell, plane)?;
    }
    for less in &body.less {
        shell = minus(&shell, &shell_of_body(less, facet_mm)?)?;
    }
    for within in &body.within {
        shell = common(&shell, &shell_of_body(within, facet_mm)?)?;
    }
    Ok(shell)
}

/// Moves every point along the frame's z by the height of the ground under it.
fn lay_over(shell: &mut Shell, frame: &Frame, drape: &Drape) {
    for point in &mut shell.points {
        let local = frame.local(*point);
        *point += frame.z * drape.height(Vec2::new(local.x, local.y));
    }
}

/// Shells by the description of their body, kept over a few runs: an edit makes anew only what it changed.
#[derive(Debug, Default)]
pub struct ShellStore {
    /// Body (as text, which is exact for f64) and facet to shell; with the run it was last used in.
    kept: FxHashMap<String, (Arc<Shell>, u64)>,
    run: u64,
}

/// A body and facet as text, whosever it is.
fn key(body: &Body, facet_mm: f64) -> String {
    let anonymous = Body {
        feature: 0,
        ..body.clone()
    };
    format!("{facet_mm:?} {anonymous:?}")
}

/// Does some work on each of several things, side by side; results in their order.
fn on_all_cores<T: Sync, R: Send>(things: &[T], work: &(dyn Fn(&T) -> R + Sync)) -> Vec<R> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let workers = cores.min(things.len());
    if workers < 2 {
        return things.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let worker = || {
        let mut done = Vec::new();
        while let Some(thing) = {
            let i = next.fetch_add(1, Ordering::Relaxed);
            things.get(i).map(|thing| (i, thing))
        } {
            done.push((thing.0, work(thing.1)));
        }
        done
    };
    let mut done: Vec<(usize, R)> = std::thread::scope(|scope| {
        let workers: Vec<_> = (1..workers).map(|_| scope.spawn(worker)).collect();
        let mut done = worker();
        for other in workers {
            match other.join() {
                Ok(more) => done.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, result)| result).collect()
}

/// How many runs an unused shell is kept.
const RUNS_KEPT: u64 = 3;

impl ShellStore {
    /// The shell of a body, from the store or made.
    ///
    /// # Errors
    /// See [`shell_of_body`].
    pub fn shell(&mut self, body: &Body, facet_mm: f64) -> Result<Arc<Shell>, BodyFault> {
        let mut shells = self.shells(&[body], facet_mm);
        shells.pop().expect("one body gives one shell")
    }

    /// The shells of several bodies, one each; those that the store doesn't have are made on all cores.
    pub fn shells(
        &mut self,
        bodies: &[&Body],
        facet_mm: f64,
    ) -> Vec<Result<Arc<Shell>, BodyFault>> {
        let keys: Vec<String> = bodies.iter().map(|b| key(b, facet_mm)).collect();
        let mut wanted: FxHashMap<&str, &Body> = FxHashMap::default();
        for (key, body) in keys.iter().zip(bodies) {
            match self.kept.get_mut(key) {
                Some((_, used)) => *used = self.run,
                None => {
                    wanted.entry(key).or_insert(body);
                }
            }
        }
        let wanted: Vec<(&str, &Body)> = wanted.into_iter().collect();
        let made = on_all_cores(&wanted, &|(_, body)| shell_of_body(body, facet_mm));
        let mut faults: FxHashMap<&str, BodyFault> = FxHashMap::default();
        for ((key, _), made) in wanted.into_iter().zip(made) {
            match made {
                Ok(shell) => {
                    let kept = (Arc::new(shell), self.run);
                    self.kept.insert(key.to_string(), kept);
                }
                Err(fault) => {
                    faults.insert(key, fault);
                }
            }
        }
        let shell = |key: &String| match self.kept.get(key) {
            Some((shell, _)) => Ok(Arc::clone(shell)),
            None => Err(faults[key.as_str()].clone()),
        };
        keys.iter().map(shell).collect()
    }

    /// Ends a run: what has not been used for a few runs is dropped.
    pub fn end_run(&mut self) {
        self.run += 1;
        let run = self.run;
        self.kept.retain(|_, (_, used)| run - *used <= RUNS_KEPT);
    }
}
