//! Work spread over the cores, with results in the order of the tasks: the number of threads changes nothing but the time.

use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
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

#[cfg(test)]
mod tests {
    use super::on_threads;

    #[test]
    fn results_come_in_the_order_of_the_tasks() {
        let expected: Vec<usize> = (0..100).map(|n| n * n).collect();
        for threads in [1, 2, 8] {
            assert_eq!(on_threads(threads, 100, |n| n * n), expected);
        }
        assert!(on_threads(2, 0, |n| n).is_empty());
    }
}
