//! Work spread over the cores, with results in the order of the tasks: the number of threads changes nothing but the time.

use std::collections::BTreeMap;
use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

/// Applies `work` to 0..count and returns the results in that order.
pub fn in_order<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    on_threads(0, count, work)
}

/// The same on so many threads; 0 means one for each core.
pub fn on_threads<T: Send>(
    threads: usize,
    count: usize,
    work: impl Fn(usize) -> T + Sync,
) -> Vec<T> {
    let cores = || thread::available_parallelism().map_or(1, NonZero::get);
    let threads = if threads == 0 { cores() } else { threads }.min(count);
    if threads <= 1 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done: Vec<(usize, T)> = Vec::new();
        loop {
            let task = next.fetch_add(1, Ordering::Relaxed);
            if task >= count {
                return done;
            }
            done.push((task, work(task)));
        }
    };
    let mut done: Vec<(usize, T)> = thread::scope(|scope| {
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(take)).collect();
        workers
            .into_iter()
            .flat_map(|worker| match worker.join() {
                Ok(done) => done,
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    });
    done.sort_by_key(|d| d.0);
    done.into_iter().map(|d| d.1).collect()
}

/// Tasks that may be done ahead of the one that is waited for, for each thread.
const AHEAD: usize = 4;

/// What the threads of [`streamed`] know of each other.
struct Line<T> {
    next: usize,
    taken: usize,
    done: BTreeMap<usize, T>,
    /// No more is to be begun.
    over: bool,
    /// Threads that work.
    working: usize,
}

struct Stream<T> {
    line: Mutex<Line<T>>,
    moved: Condvar,
}

impl<T> Stream<T> {
    fn line(&self) -> MutexGuard<'_, Line<T>> {
        // A panic of a worker is passed on where it is joined.
        self.line.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Waits until something moves.
    fn wait<'l>(&self, line: MutexGuard<'l, Line<T>>) -> MutexGuard<'l, Line<T>> {
        self.moved.wait(line).unwrap_or_else(PoisonError::into_inner)
    }
}

/// Counts a worker out, also where it panics.
struct Out<'s, T>(&'s Stream<T>);

impl<T> Drop for Out<'_, T> {
    fn drop(&mut self) {
        self.0.line().working -= 1;
        self.0.moved.notify_all();
    }
}

/// Applies `work` to 0..count on so many threads (0: one for each core) and hands the results to `sink` in that order as they come, no more
/// than a few waiting: memory stays flat. Ends early where `sink` says so by `false`.
pub fn streamed<T: Send>(
    threads: usize,
    count: usize,
    work: impl Fn(usize) -> T + Sync,
    mut sink: impl FnMut(T) -> bool,
) {
    let cores = || thread::available_parallelism().map_or(1, NonZero::get);
    let threads = if threads == 0 { cores() } else { threads }.min(count).max(1);
    let (next, taken, done) = (0, 0, BTreeMap::new());
    let line = Line { next, taken, done, over: false, working: threads };
    let stream = Stream { line: Mutex::new(line), moved: Condvar::new() };
    let take = || {
        let _out = Out(&stream);
        loop {
            let mut line = stream.line();
            while !line.over && line.next < count && line.next >= line.taken + threads * AHEAD {
                line = stream.wait(line);
            }
            if line.over || line.next >= count {
                return;
            }
            let task = line.next;
            line.next += 1;
            drop(line);
            let result = work(task);
            stream.line().done.insert(task, result);
            stream.moved.notify_all();
        }
    };
    thread::scope(|scope| {
        (0..threads).for_each(|_| drop(scope.spawn(take)));
        for task in 0..count {
            let mut line = stream.line();
            while !line.done.contains_key(&task) && line.working > 0 {
                line = stream.wait(line);
            }
            let Some(result) = line.done.remove(&task) else {
                break;
            };
            drop(line);
            let goes_on = sink(result);
            let mut line = stream.line();
            line.taken = task + 1;
            line.over = !goes_on;
            drop(line);
            stream.moved.notify_all();
            if !goes_on {
                break;
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::{on_threads, streamed};

    #[test]
    fn a_stream_comes_in_order_and_can_be_ended() {
        for threads in [1, 2, 8] {
            let mut seen = Vec::new();
            streamed(
                threads,
                200,
                |n| n * n,
                |n| {
                    seen.push(n);
                    seen.len() < 150
                },
            );
            assert_eq!(seen, (0..150).map(|n| n * n).collect::<Vec<_>>());
        }
        streamed(2, 0, |n| n, |_| unreachable!("nothing comes"));
    }

    #[test]
    fn results_come_in_the_order_of_the_tasks() {
        let expected: Vec<usize> = (0..100).map(|n| n * n).collect();
        for threads in [1, 2, 8] {
            assert_eq!(on_threads(threads, 100, |n| n * n), expected);
        }
        assert!(on_threads(2, 0, |n| n).is_empty());
    }
}
