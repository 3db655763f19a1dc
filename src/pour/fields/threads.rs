//! Work shared out over the cores. What comes out doesn't depend on how many there are.

use std::ops::Range;
use std::panic::resume_unwind;

/// Less than this isn't worth a thread.
const WORTH_A_THREAD: usize = 1 << 14;

fn share(count: usize) -> usize {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    count.div_ceil(cores).max(WORTH_A_THREAD)
}

/// Runs `work` over runs of `out`; it is told where each begins.
pub(super) fn fill<T: Send>(out: &mut [T], work: impl Fn(usize, &mut [T]) + Sync) {
    fill_rows(out, 1, work);
}

/// The same, where no run may end within a row of `row` places.
pub(super) fn fill_rows<T: Send>(out: &mut [T], row: usize, work: impl Fn(usize, &mut [T]) + Sync) {
    let run = share(out.len()).next_multiple_of(row.max(1));
    if run >= out.len() {
        return work(0, out);
    }
    std::thread::scope(|scope| {
        let work = &work;
        for (i, part) in out.chunks_mut(run).enumerate() {
            scope.spawn(move || work(i * run, part));
        }
    });
}

/// Runs `work` over consecutive ranges of `0..count`; the answers are in order.
pub(super) fn gather<R: Send>(count: usize, work: impl Fn(Range<usize>) -> R + Sync) -> Vec<R> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let run = count.div_ceil(cores).max(512);
    if run >= count {
        return vec![work(0..count)];
    }
    std::thread::scope(|scope| {
        let work = &work;
        let starts = (0..count).step_by(run);
        let threads: Vec<_> = starts
            .map(|from| scope.spawn(move || work(from..(from + run).min(count))))
            .collect();
        threads
            .into_iter()
            .map(|t| t.join().unwrap_or_else(|panic| resume_unwind(panic)))
            .collect()
    })
}
