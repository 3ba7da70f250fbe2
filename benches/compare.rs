//! How long a question takes: `cargo bench --no-default-features --bench compare`.
//!
//! Measures, each as the median of several runs: loading and answering the demo in one process, what changes its answer, the command from
//! a cold start on the demo, a large scenario of 40 parts, six named plans and a horizon of 200 both ways, a project that goes on from a
//! record of 10,000 lines both ways, and the packing of 200 rectangles on plates.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use flipcount::analysis::{Resume, answer, flips, settle};
use flipcount::model::{Overrides, PartId, load};
use flipcount::plan::{Shop, Values};
use flipcount::sim::{Footprint, pack};

fn main() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/river-sonde");
    let large = tempfile::tempdir().expect("a temporary folder");
    write_large(large.path());
    report("demo, one process", 51, || ask(&demo));
    report("demo, what changes the answer", 15, || what_changes(&demo));
    report("demo, cold start", 31, || command(&demo));
    report("40 parts, 6 plans, horizon 200, one process", 5, || ask(large.path()));
    report("40 parts, 6 plans, horizon 200, cold start", 5, || command(large.path()));
    let recorded = tempfile::tempdir().expect("a temporary folder");
    write_recorded(recorded.path());
    report("record of 10,000 lines, one process", 11, || go_on(recorded.path()));
    report("record of 10,000 lines, cold start", 11, || command(recorded.path()));
    let rectangles = rectangles();
    for plate in [[196, 124], [350, 220]] {
        let millionths = plate.map(|side| side * 1_000_000);
        let plates = pack(&rectangles, millionths);
        assert_eq!(plates.iter().map(Vec::len).sum::<usize>(), rectangles.len());
        let [x, y] = plate;
        report(&format!("200 rectangles on {} plates of {x} x {y} mm", plates.len()), 21, || {
            assert_eq!(pack(&rectangles, millionths).len(), plates.len());
        });
    }
}

/// 200 of as many sizes, 8 to 60 mm, from a linear congruence (its constants are common ones, from memory).
fn rectangles() -> Vec<Footprint> {
    let mut seed: u64 = 20_260_302;
    let mut side = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        8_000_000 + i64::try_from((seed >> 33) % 52_000_000).expect("below 52 million")
    };
    let one = |part| Footprint { part: PartId::at(part), size: [side(), side()], copies: 1 };
    (0..200).map(one).collect()
}

fn report(name: &str, runs: usize, mut run: impl FnMut()) {
    let mut times: Vec<Duration> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    times.sort_unstable();
    let ms = |d: Duration| d.as_secs_f64() * 1000.0;
    println!(
        "{name}: median {:.1} ms, least {:.1} ms, of {runs}",
        ms(times[runs / 2]),
        ms(times[0])
    );
}

fn ask(folder: &Path) {
    let loaded = load(folder, &Overrides::default());
    let scenario = loaded.scenario.expect("a valid scenario");
    let values = Values::planning(&scenario.slots);
    let answer = answer(&Shop::new(&scenario, &values)).expect("few enough plans");
    assert!(answer.verdict.is_some(), "a verdict");
}

fn go_on(folder: &Path) {
    let mut scenario = load(folder, &Overrides::default()).scenario.expect("a valid scenario");
    settle(&mut scenario, Resume::default()).expect("the record fits together");
    let values = Values::planning(&scenario.slots);
    let answer = answer(&Shop::new(&scenario, &values)).expect("few enough plans");
    assert!(answer.verdict.is_some(), "a verdict");
}

/// One part, two routes, and 400 iterations of 25 lines each behind.
fn write_recorded(folder: &Path) {
    let text = "title = \"Long\"\ncurrency = \"USD\"\nstart = 2026-03-02\nlabour = \"30 per h\"\n[iterations]\nplanned = 6\n\
[[part]]\nname = \"collar\"\nvolume = \"92 cm3\"\n[[route]]\nname = \"bench\"\nkind = \"bench\"\nresin = \"130 per L\"\n\
print_time = \"7 h\"\nattended = \"2.2 h\"\nspoil = 0.12\n[[route]]\nname = \"house\"\nkind = \"order\"\npiece = 148\n\
delivery_cost = 24\narrives_after = \"8 business days\"\n";
    fs::write(folder.join("scenario.toml"), text).expect("a scenario");
    let mut record =
        "date,iteration,part,route,what,item,quantity,amount,currency,note\n".to_owned();
    for n in 1..=400u32 {
        let day = |k: u32| flipcount::analysis::date_text(20_514 + i64::from(2 * n + k));
        let mut line = |k: u32, rest: &str| {
            writeln!(record, "{},{n},collar,bench,{rest}", day(k)).expect("text");
        };
        line(0, "started,,,,,");
        (0..11).for_each(|_| line(0, "attended,,0.2,,,step by step"));
        (0..9).for_each(|_| line(0, "used,resin,15 mL,,,"));
        line(0, "build,failed,3,,,");
        line(0, "build,good,7.1,,,");
        line(1, "in_hand,,,,,");
        line(1, "redesign,,,,,");
    }
    fs::write(folder.join("record.csv"), record).expect("a record");
}

fn what_changes(folder: &Path) {
    let scenario = load(folder, &Overrides::default()).scenario.expect("a valid scenario");
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(&scenario, &values);
    let answer = answer(&shop).expect("few enough plans");
    let found = flips(&shop, &answer).expect("two plans");
    assert!(found.rows.len() > 3, "rows");
}

fn command(folder: &Path) {
    let status = Command::new(env!("CARGO_BIN_EXE_flipcount"))
        .arg("compare")
        .arg(folder)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .expect("the command runs");
    assert!(status.success(), "exit code {status}");
}

/// Forty parts, four bench routes and two services, six named plans that mix them.
fn write_large(folder: &Path) {
    let mut text = String::from(
        "title = \"Forty parts\"\ncurrency = \"EUR\"\nstart = 2026-01-05T09:00:00\nlabour = \"35 per h\"\n\
         [iterations]\nplanned = 40\nhorizon = 200\nevaluate = \"1 h\"\nredesign = \"4 h\"\n",
    );
    for part in 0..40 {
        let volume = 8 + part * 3;
        writeln!(text, "[[part]]\nname = \"part {part:02}\"\nvolume = \"{volume}.37 cm3\"\nbox = \"60 x 60 x 50 mm\"\ncopies = {}", 1 + part % 3)
            .expect("text");
    }
    for bench in 0..4 {
        writeln!(
            text,
            "[[route]]\nname = \"bench {bench}\"\nkind = \"bench\"\nprinter = \"printer {bench}\"\nresin = \"{} per L\"\nprint_time = \"5 h\"\nsupports = 0.25\nper_build_loss = \"10 mL\"\n\
             steps = [ {{ do = \"print\", attended = \"15 min\", spoil = 0.1, spent_share = 0.6 }}, {{ do = \"wash\", attended = \"10 min\", hold = \"12 min\", at = \"pot\" }}, \
             {{ do = \"trim\", attended = \"5 min\", per = \"piece\" }}, {{ do = \"dry\", attended = \"2 min\", hold = \"overnight\" }}, {{ do = \"cure\", attended = \"4 min\", hold = \"30 min\", at = \"cure box\", spoil = 0.02 }} ]",
            110 + bench * 15
        )
        .expect("text");
    }
    for house in 0..2 {
        writeln!(
            text,
            "[[route]]\nname = \"house {house}\"\nkind = \"order\"\npiece = {}.50\ndelivery_cost = 18.00\narrives_after = \"8 business days\"\norder_time = \"20 min\"\n\
             steps = [ {{ do = \"inspect\", attended = \"2 min\", per = \"piece\" }} ]",
            32 + house * 9
        )
        .expect("text");
    }
    for plan in 0..6 {
        let assign: Vec<String> = (0..40)
            .map(|part| {
                let route = match (part * 7 + plan * 5) % 6 {
                    r @ 0..=3 => format!("bench {r}"),
                    r => format!("house {}", r - 4),
                };
                format!("\"part {part:02}\" = \"{route}\"")
            })
            .collect();
        writeln!(text, "[[plan]]\nname = \"plan {plan}\"\nassign = {{ {} }}", assign.join(", "))
            .expect("text");
    }
    fs::write(folder.join("scenario.toml"), text).expect("a scenario");
}
