//! What the fuzzers ask, whatever the bytes: nothing may panic, and what is told must hold together.
//!
//! The folder `fuzz/` gives these functions to libFuzzer; `seeds` runs them over all seeds that are kept, on the stable compiler.

use std::fs;
use std::io::{Cursor, Write};
use std::path::{Path, PathBuf};

use flipcount::analysis::{
    Asking, NoAnswer, Resume, answer, buy_list, date_text, dip_plans, ledger_of, settle,
    with_samples,
};
use flipcount::diag::{Diagnostic, Look, Severity, render, render_asides, render_lines};
use flipcount::input::{
    read_business_days, read_date, read_dates, read_hardness, read_lengths, read_moment,
    read_quantity, read_span, read_time_of_day, read_unit, read_weekday, read_yes_no,
};
use flipcount::ledger::Total;
use flipcount::mesh::{Format, Posed, Source, Up, check, measure_with_threads, read};
use flipcount::model::{Loaded, Overrides, Scenario, load, load_with_record};
use flipcount::plan::{Shop, Values};
use flipcount::report::{
    BuyList, Detail, Subject, budget, buy_list_view, dip_svg, dip_view, json, ledger_csv, terminal,
    view,
};
use zip::CompressionMethod;
use zip::write::{SimpleFileOptions, ZipWriter};

/// The sheets, in the order in which the first byte of an input picks them.
pub const SHEETS: [&str; 8] = [
    "materials.csv",
    "supplies.csv",
    "equipment.csv",
    "print_time.csv",
    "services.csv",
    "delivery.csv",
    "quotes.csv",
    "rates.csv",
];

/// A folder with a valid scenario, in which one file at a time is replaced by the input.
pub struct Ground {
    root: tempfile::TempDir,
}

impl Ground {
    /// The full starter with its sheets and fewer iterations, and what the demo names: its sheets, and a small solid for each of its meshes.
    pub fn new(project: &Path) -> Ground {
        let root = tempfile::tempdir().expect("a folder to work in");
        let ground = Ground { root };
        let starter = project.join("src/cli/starter/full");
        copied(&starter.join("pricing"), &ground.scenario().join("pricing"));
        copied(
            &project.join("pricing/river-sonde"),
            &ground.root.path().join("pricing/river-sonde"),
        );
        let parts = ground.scenario().join("parts");
        fs::create_dir(&parts).expect("a folder");
        let solid = project.join("tests/meshes/stl-models/tetrahedronIrregular.bin.stl");
        for name in ["sensor-collar.stl", "cable-boot.stl"] {
            fs::copy(&solid, parts.join(name)).expect("a mesh");
        }
        let full = fs::read_to_string(starter.join("scenario.toml")).expect("a scenario");
        let few = [
            ("low = 3, likely = 5, high = 9", "low = 1, likely = 2, high = 3"),
            ("horizon  = 24", "horizon  = 3"),
            ("iterations = 3 ", "iterations = 2 "),
        ];
        let few = few.into_iter().fold(full, |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replace(from, to)
        });
        fs::write(ground.toml(), few).expect("a scenario");
        ground
    }

    fn scenario(&self) -> PathBuf {
        self.root.path().join("scenarios/fuzzed")
    }

    fn toml(&self) -> PathBuf {
        self.scenario().join("scenario.toml")
    }

    /// The input is the text of scenario.toml.
    pub fn scenario_text(&self, data: &[u8]) {
        fs::write(self.toml(), data).expect("a file");
        self.loaded();
    }

    /// The first byte picks a sheet, the rest is its text.
    pub fn sheet(&self, data: &[u8]) {
        let Some((&first, text)) = data.split_first() else {
            return;
        };
        let path = self.scenario().join("pricing").join(SHEETS[usize::from(first) % SHEETS.len()]);
        let before = fs::read(&path).expect("a sheet");
        fs::write(&path, text).expect("a file");
        self.loaded();
        fs::write(&path, before).expect("a file");
    }

    /// The input is the text of record.csv beside a sound scenario.
    pub fn record(&self, data: &[u8]) {
        let text = String::from_utf8_lossy(data);
        judged(load_with_record(&self.scenario(), &Overrides::default(), Some(&text)));
    }

    fn loaded(&self) {
        judged(load(&self.scenario(), &Overrides::default()));
    }
}

/// Findings and scenario must agree. A scenario goes on from its record, and is asked if it is small enough.
fn judged(loaded: Loaded) {
    let found = &loaded.log.found;
    assert_eq!(loaded.scenario.is_some(), !loaded.log.has_errors(), "{}", render_lines(found));
    told(found);
    let Some(mut scenario) = loaded.scenario.filter(is_small) else {
        return;
    };
    match settle(&mut scenario, Resume::default()) {
        Ok(()) => asked(&scenario),
        Err(found) => told(&found),
    }
}

/// Every error says where it is and what to do, and can be shown at any width.
fn told(found: &[Diagnostic]) {
    for finding in found.iter().filter(|f| f.severity == Severity::Error) {
        assert!(finding.place.is_some() && finding.hint.is_some(), "{finding:?}");
    }
    for width in [20, 100] {
        let text = render(found, Look { colour: width == 20, width });
        assert_eq!(text.is_empty(), found.is_empty());
    }
    let _ = render_asides(found);
}

fn copied(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder of sheets").flatten() {
        fs::copy(entry.path(), to.join(entry.file_name())).expect("a sheet");
    }
}

/// True where an answer takes milliseconds: many iterations, copies or parts are slow, and no more than that.
fn is_small(scenario: &Scenario) -> bool {
    let high = |slot| scenario.slots.get(slot).high.to_f64_lossy();
    let copies: f64 = scenario.parts.iter().map(|part| high(part.copies)).sum();
    let last = scenario.last.as_ref().and_then(|l| l.copies).map_or(0.0, high);
    let plans = scenario
        .plans
        .iter()
        .filter_map(|p| p.variants.as_ref())
        .map(|v| high(v.count))
        .fold(1.0, f64::max);
    let horizon = scenario.iterations.horizon;
    horizon <= 30
        && copies * plans <= 40.0
        && last <= 40.0
        && scenario.parts.len() <= 3
        && scenario.routes.len() <= 5
}

/// Asks a valid scenario what `compare`, `budget`, `buylist` and `dip` ask, with a few samples.
fn asked(scenario: &Scenario) {
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(scenario, &values);
    let answer = match answer(&shop) {
        Ok(answer) => answer,
        Err(NoAnswer::TooManyPlans(_)) => return,
    };
    let stop = std::sync::atomic::AtomicBool::new(false);
    let asking =
        Asking { samples: 2, seed: scenario.seed, threads: 1, progress: &|_| (), stop: &stop };
    let answer = with_samples(&shop, answer, &asking);
    let subject = Subject { shop: &shop, answer: &answer };
    for width in [40, 100] {
        let text = terminal(&view(&subject, Detail::All), width);
        assert!(!text.is_empty());
    }
    json(&subject, Vec::new()).expect("JSON");
    let dips = dip_plans(&shop);
    let _ = terminal(&dip_view(&shop, &dips), 100);
    for dip in &dips {
        let _ = dip_svg(&shop, dip, "dip");
    }
    for (index, result) in answer.plans.iter().enumerate().take(2) {
        let Ok(ledger) = ledger_of(&shop, &result.plan) else {
            continue;
        };
        let sum = ledger.total(Total::Avoidable, u32::MAX);
        let rows = budget(&subject, &result.plan.name, &ledger);
        ledger_csv(&rows).expect("CSV");
        if result.unproven.is_none() {
            assert_eq!(sum, result.decides.avoidable, "{}", result.plan.name);
        }
        if let Ok(lines) = buy_list(&shop, &result.plan) {
            let _ = terminal(&buy_list_view(&BuyList { subject, index, lines: &lines }), 100);
        }
    }
}

/// Numbers with units, dates, times and hardness: every reader takes any text.
pub fn units(data: &[u8]) {
    let text = &String::from_utf8_lossy(data);
    if let Ok(quantity) = read_quantity(text) {
        assert!(!quantity.describe().is_empty());
    }
    if let Ok(day) = read_date(text) {
        assert_eq!(date_text(day), text.trim(), "a date that is read is written the same");
    }
    if let Ok((from, to)) = read_span(text) {
        assert!(0 <= from && from < to && to <= 86_400, "{from} {to}");
    }
    if let Ok(time) = read_time_of_day(text) {
        assert!((0..=86_400).contains(&time), "{time}");
    }
    if let Ok(hardness) = read_hardness(text) {
        let _ = format!("{hardness:?}");
    }
    let _ = (read_business_days(text), read_unit(text), read_moment(text), read_dates(text));
    let _ = (read_weekday(text), read_yes_no(text), read_lengths(text, 2), read_lengths(text, 3));
}

/// A mesh of any bytes. What is trusted has a volume, and more of it is under water the deeper it is.
pub fn mesh(data: &[u8], format: Format) {
    let source = Source::Bytes(data);
    let measured = measure_with_threads(&source, format, 1);
    let Ok(mesh) = read(&source, format) else {
        return;
    };
    assert_eq!(mesh.measure(), measured, "kept and not kept measure the same");
    let Ok(checked) = check(&mesh) else {
        return;
    };
    let Ok(volume) = checked.volume() else {
        return;
    };
    assert!(volume.is_finite() && volume >= 0.0, "{volume}");
    for up in Up::ALL {
        let posed = Posed::new(&mesh, up);
        let whole = posed.whole();
        let mut before = 0.0;
        for depth in [0.0, 0.25, 0.5, 1.0] {
            let now = posed.immersed(depth * posed.height());
            assert!(
                now.volume.is_finite() && now.area.is_finite() && now.cut.is_finite(),
                "{now:?}"
            );
            assert!(now.volume <= whole.volume && now.volume >= 0.0, "{now:?}");
            before = f64::max(before, now.volume);
        }
        let _ = posed.depth_for(whole.volume / 3.0);
    }
}

/// The relationships part of a 3MF whose model is `3D/a.model`.
const RELS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/a.model"/></Relationships>"#;

/// A 3MF: an archive as it is, or the texts of its models a.model, b.model and so on with a zero byte between them. A fuzzer that
/// had to keep checksums right would hardly get beyond the archive.
pub fn threemf(data: &[u8]) {
    if data.starts_with(b"PK") {
        return mesh(data, Format::ThreeMf);
    }
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let names = ('a'..='d').map(|letter| format!("3D/{letter}.model"));
    let models = names.zip(data.split(|byte| *byte == 0));
    let rels = ("_rels/.rels".to_owned(), RELS.as_bytes());
    for (name, text) in std::iter::once(rels).chain(models) {
        zip.start_file(name, options).expect("a part");
        zip.write_all(text).expect("in memory");
    }
    mesh(&zip.finish().expect("an archive").into_inner(), Format::ThreeMf);
}
