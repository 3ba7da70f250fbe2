//! How long a point of a sweep takes: core time for each point, all plans, planning runs, one thread. Writing the table is left out.
//!
//!     cargo bench --no-default-features --bench sweep

use std::path::Path;
use std::time::Instant;

use flipcount::analysis::{Sweep, Vary};
use flipcount::input::read_series;
use flipcount::model::{Overrides, load};

/// A name, what is varied, and how many points are taken.
type Question = (&'static str, &'static [(&'static str, &'static str)], u64);

const QUESTIONS: [Question; 6] = [
    (
        "prices",
        &[("labour", "20..60/0.1 per h"), ("supplies[isopropanol 99].pack_price", "40..60/0.1")],
        20_000,
    ),
    (
        "chances",
        &[
            ("route[bench, dyed].steps[dye].spoil", "0..0.5/0.001"),
            ("route[bench, clear].steps[print].spoil", "0..0.4/0.01"),
        ],
        20_000,
    ),
    (
        "times",
        &[("iterations.redesign", "1..20/0.1 h"), ("iterations.evaluate", "0.5..8/0.1 h")],
        10_000,
    ),
    (
        "a time and a price",
        &[("iterations.redesign", "1..20/0.1 h"), ("labour", "20..60/0.1 per h")],
        20_000,
    ),
    (
        "a chance and a price",
        &[("labour", "20..60/0.1 per h"), ("route[bench, dyed].steps[dye].spoil", "0..0.5/0.001")],
        20_000,
    ),
    ("counts", &[("iterations.planned", "3..24"), ("final.copies", "1..40")], 800),
];

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/river-sonde");
    println!("{:<24}{:>10}{:>16}{:>16}", "", "points", "us for each", "by core, us");
    for (name, varied, points) in QUESTIONS {
        let scenario = load(&folder, &Overrides::default()).scenario.expect("the demo loads");
        let vary = |&(key, values): &(&str, &str)| {
            let series = read_series(values).expect("a series");
            Vary { key: key.to_owned(), series }
        };
        let varied: Vec<Vary> = varied.iter().map(vary).collect();
        let sweep = Sweep::new(&folder, scenario, &varied).expect("a sweep");
        let points = points.min(sweep.grid().points());
        let (begun, before) = (Instant::now(), worked());
        let mut rows = 0;
        for from in (0..points).step_by(4096) {
            rows += sweep.rows(from, (from + 4096).min(points), false).rows.len();
        }
        let each = |seconds: f64| seconds * 1e6 / points as f64;
        let time = each(begun.elapsed().as_secs_f64());
        let core = before.zip(worked()).map_or(0.0, |(before, after)| each(after - before));
        assert!(rows as u64 >= points);
        println!("{name:<24}{points:>10}{time:>16.2}{core:>16.2}");
    }
}

/// Seconds a core has worked for this process, where the system tells (Linux: clock ticks of a hundredth of a second).
fn worked() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    let ticks = text.rsplit(") ").next()?.split(' ').skip(11).take(2);
    Some(ticks.filter_map(|t| t.parse::<f64>().ok()).sum::<f64>() / 100.0)
}
