//! Drawing samples while a person waits.

use super::args::Sampling;
use super::waiting::Bar;
use super::{interrupt, out};
use crate::analysis::{Answer, Asking, with_samples as analysed};
use crate::plan::Shop;

/// The answer with samples. On Ctrl-C what has been drawn so far counts, and how many those are is said; a second one ends the program.
pub(super) fn with_samples(shop: &Shop, answer: Answer, sampling: &Sampling) -> Answer {
    if sampling.samples == 0 || answer.plans.is_empty() {
        return answer;
    }
    let bar = Bar::new(u64::from(sampling.samples), "samples");
    let answer = interrupt::heeded(|stop| {
        let asking = Asking {
            samples: sampling.samples,
            seed: sampling.seed.unwrap_or(shop.scenario.seed),
            threads: sampling.threads.map_or(0, usize::from),
            progress: &|done| bar.at(u64::from(done)),
            stop,
        };
        analysed(shop, answer, &asking)
    });
    bar.end();
    if interrupt::was_enough() {
        let done = answer.sampled.as_ref().map_or(0, |s| s.samples);
        out::aside(&format!("flipcount: stopped after {done} of {} samples\n", sampling.samples));
    }
    answer
}
