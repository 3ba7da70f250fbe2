//! Drawing samples while a person waits: how far it is, and an end before the end.

use std::io::{self, IsTerminal};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

use super::args::Sampling;
use super::{interrupt, out};
use crate::analysis::{Answer, Asking, with_samples as analysed};
use crate::plan::Shop;

/// Nothing is shown of what takes less than this.
const PATIENCE: Duration = Duration::from_millis(400);

/// The answer with samples. On Ctrl-C what has been drawn so far counts, and how many those are is said; a second one ends the program.
pub(super) fn with_samples(shop: &Shop, answer: Answer, sampling: &Sampling) -> Answer {
    if sampling.samples == 0 || answer.plans.is_empty() {
        return answer;
    }
    let bar = bar(sampling.samples);
    let progress = |done| {
        if bar.is_hidden() || bar.elapsed() > PATIENCE {
            bar.set_position(u64::from(done));
        }
    };
    let answer = interrupt::drawing(|stop| {
        let asking = Asking {
            samples: sampling.samples,
            seed: sampling.seed.unwrap_or(shop.scenario.seed),
            threads: sampling.threads.map_or(0, usize::from),
            progress: &progress,
            stop,
        };
        analysed(shop, answer, &asking)
    });
    bar.finish_and_clear();
    if interrupt::was_enough() {
        let done = answer.sampled.as_ref().map_or(0, |s| s.samples);
        out::aside(&format!("flipcount: stopped after {done} of {} samples\n", sampling.samples));
    }
    answer
}

/// How far it is, on a terminal; else nothing is seen of it.
fn bar(samples: u32) -> ProgressBar {
    if !io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(u64::from(samples));
    match ProgressStyle::with_template("{bar:30} {pos} of {len} samples, {eta} left") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
