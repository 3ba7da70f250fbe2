//! How fast samples are: `cargo bench --no-default-features --bench sampling`; a folder behind `--` is measured instead of the demo.
//!
//! Measures a draw; samples of all plans of a scenario on one core, in time that passes and in time the core worked; whether the time is
//! proportional to the samples; and what a second thread brings. Other programs on the machine lengthen the first, hardly the second.

use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use flipcount::analysis::{Answer, Asking, answer, sample};
use flipcount::model::{Overrides, load};
use flipcount::plan::{Key, Pert, Shop, Values};

/// Runs of which the least time counts: what lengthens a run comes from outside.
const RUNS: usize = 5;

fn main() {
    let stated = std::env::args().skip(1).find(|a| !a.starts_with("--")).map(PathBuf::from);
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/river-sonde");
    let loaded = load(&stated.unwrap_or(demo), &Overrides::default());
    let scenario = loaded.scenario.expect("a valid scenario");
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(&scenario, &values);
    let answer = answer(&shop).expect("few enough plans");
    draws();
    throughput(&shop, &answer);
    proportion(&shop, &answer);
    threads(&shop, &answer);
}

/// The least time of several runs.
fn least(mut run: impl FnMut()) -> Duration {
    let times = (0..RUNS).map(|_| {
        let start = Instant::now();
        run();
        start.elapsed()
    });
    times.min().unwrap_or_default()
}

/// A draw: an address, its uniform number, and the quantile there.
fn draws() {
    const DRAWS: u32 = 10_000_000;
    let (pert, key) = (Pert::new(3.0, 6.0, 14.0), Key::new(7));
    let address = Key::named("iterations.redesign");
    let before = worked();
    let time = least(|| {
        let draw = |n: u32| pert.quantile(key.with(u64::from(n)).of(address).uniform());
        black_box((0..DRAWS).map(draw).sum::<f64>());
    });
    let core = before.zip(worked()).map_or(0.0, |(before, after)| after - before) / RUNS as f64;
    let each = |seconds: f64| seconds * 1e9 / f64::from(DRAWS);
    println!("a draw: {:.1} ns, {:.1} ns by core", each(time.as_secs_f64()), each(core));
}

fn draw_samples(shop: &Shop, answer: &Answer, samples: u32, threads: usize) {
    let stop = AtomicBool::new(false);
    let asking = Asking { samples, seed: 7, threads, progress: &|_| {}, stop: &stop };
    let sampled = sample(shop, &answer.plans, &asking).expect("plans to sample");
    assert_eq!(black_box(sampled).samples, samples);
}

fn throughput(shop: &Shop, answer: &Answer) {
    const SAMPLES: u32 = 20_000;
    let worked = worked();
    let time = least(|| draw_samples(shop, answer, SAMPLES, 1)).as_secs_f64();
    let plan_samples = f64::from(SAMPLES) * answer.plans.len() as f64;
    println!(
        "{} plans, one thread: {:.0} plan-samples per second of time, {:.1} us each",
        answer.plans.len(),
        plan_samples / time,
        time * 1e6 / plan_samples
    );
    if let (Some(before), Some(after)) = (worked, self::worked()) {
        let each = (after - before) / RUNS as f64 / plan_samples;
        println!("the same by core: {:.0} per core-second, {:.1} us each", 1.0 / each, each * 1e6);
    }
}

/// Seconds a core has worked for this process, where the system tells (Linux: clock ticks of a hundredth of a second).
fn worked() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let ticks = text.rsplit(") ").next()?.split(' ').skip(11).take(2);
    Some(ticks.filter_map(|t| t.parse::<f64>().ok()).sum::<f64>() / 100.0)
}

fn proportion(shop: &Shop, answer: &Answer) {
    for samples in [1_000, 10_000, 100_000] {
        let time = least(|| draw_samples(shop, answer, samples, 0)).as_secs_f64();
        println!(
            "{samples} samples, all cores: {:.3} s, {:.2} us a sample",
            time,
            time * 1e6 / f64::from(samples)
        );
    }
}

fn threads(shop: &Shop, answer: &Answer) {
    let time = |threads| {
        let before = worked();
        let time = least(|| draw_samples(shop, answer, 20_000, threads)).as_secs_f64();
        let core = before.zip(worked()).map_or(0.0, |(before, after)| after - before);
        (time, core / RUNS as f64)
    };
    let (one, two) = (time(1), time(2));
    println!(
        "20000 samples: {:.3} s on one thread, {:.3} s on two, ratio {:.2}",
        one.0,
        two.0,
        one.0 / two.0
    );
    println!("the same by core: {:.3} core-seconds on one, {:.3} on two", one.1, two.1);
}
