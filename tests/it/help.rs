//! What several tests need: folders, the command, the ledger as text, TOML as JSON.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use flipcount::ledger::{Entry, Ledger};
use flipcount::model::{Exact, Moment, Overrides, Scenario, load};
use flipcount::plan::{Shop, Values};
use serde_json::Value;
use toml::de::{DeTable, DeValue};

/// A path inside the project.
pub fn project(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// The command, with nothing from outside that could change what it prints.
pub fn flipcount() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_flipcount"));
    command
        .env("NO_COLOR", "1")
        .env("COLUMNS", "100")
        .env_remove("CLICOLOR_FORCE")
        .current_dir(project(""));
    command
}

/// What `compare FOLDER --json` answers, with more options; planned with the likely values alone unless they ask for samples.
pub fn compare(folder: &Path, options: &[&str]) -> Value {
    let samples: &[&str] = if options.contains(&"--samples") { &[] } else { &["--samples", "0"] };
    let output = flipcount()
        .arg("compare")
        .arg(folder)
        .arg("--json")
        .args(samples)
        .args(options)
        .output()
        .expect("the command runs");
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{}: {error}", folder.display());
    serde_json::from_slice(&output.stdout).expect("the answer is JSON")
}

/// The plan of a name in an answer.
pub fn plan<'a>(answer: &'a Value, name: &str) -> &'a Value {
    let plans = answer["plans"].as_array().expect("plans");
    plans
        .iter()
        .find(|p| p["name"] == name)
        .unwrap_or_else(|| panic!("no plan {name:?} in {answer:#}"))
}

/// A scenario from text and sheets in a folder of its own, which lives as long as the value.
pub fn folder(scenario: &str, sheets: &[(&str, &str)]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder for a scenario");
    fs::write(dir.path().join("scenario.toml"), scenario).expect("scenario.toml is written");
    if !sheets.is_empty() {
        fs::create_dir(dir.path().join("pricing")).expect("a folder for sheets");
    }
    for (name, text) in sheets {
        fs::write(dir.path().join("pricing").join(name), text).expect("a sheet is written");
    }
    dir
}

/// Loads a scenario that must be valid.
pub fn scenario(folder: &Path) -> Scenario {
    scenario_with(folder, Overrides::default())
}

/// The same with numbers asked for on the command line.
pub fn scenario_with(folder: &Path, again: Overrides) -> Scenario {
    let loaded = load(folder, &again);
    match loaded.scenario {
        Some(scenario) => scenario,
        None => {
            let found = flipcount::diag::render_lines(&loaded.log.found);
            let text = fs::read_to_string(folder.join("scenario.toml")).unwrap_or_default();
            panic!("the scenario does not load:\n{found}\n{text}")
        }
    }
}

/// Lays out a scenario's tables for its likely numbers.
pub fn in_shop<T>(scenario: &Scenario, ask: impl FnOnce(&Shop) -> T) -> T {
    let values = Values::planning(&scenario.slots);
    ask(&Shop::new(scenario, &values))
}

/// A moment as `2026-03-02T09:00`, to the minute.
pub fn minute(moment: Moment) -> String {
    let at = moment.rem_euclid(86_400) / 60;
    let date = flipcount::analysis::date_text(moment.div_euclid(86_400));
    format!("{date}T{:02}:{:02}", at / 60, at % 60)
}

/// An entry as one line, without where its price comes from.
pub fn line(entry: &Entry, scenario: &Scenario) -> String {
    format!(
        "{} {} {:?} {:?} {} {} {:?} {} {} {} {} {} {} {}",
        entry.when,
        entry.iteration,
        entry.part_name(scenario),
        entry.route_name(scenario),
        entry.step,
        entry.category.name(),
        entry.item(scenario),
        entry.quantity,
        entry.unit,
        entry.unit_price,
        entry.amount.text(scenario.minor()),
        entry.kind.name(),
        entry.invoice,
        entry.assumed,
    )
}

/// A ledger as text, sources left out.
pub fn text(ledger: &Ledger, scenario: &Scenario) -> String {
    let lines: Vec<String> = ledger.entries().iter().map(|e| line(e, scenario)).collect();
    lines.join("\n")
}

/// A decimal from text; `a/b` is a fraction.
pub fn number(text: &str) -> Exact {
    let part =
        |text: &str| Exact::from(text.trim().parse::<rust_decimal::Decimal>().expect("a decimal"));
    match text.split_once('/') {
        Some((above, below)) => part(above) / part(below),
        None => part(text),
    }
}

/// A TOML file as JSON; dates and numbers that are not whole become text.
pub fn toml(path: &Path) -> Value {
    let text = fs::read_to_string(path).expect("a file of expected values");
    let table = DeTable::parse(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    json(&DeValue::Table(table.into_inner()))
}

fn json(value: &DeValue) -> Value {
    match value {
        DeValue::String(text) => Value::String(text.to_string()),
        DeValue::Integer(number) => Value::from(
            i64::from_str_radix(number.as_str(), number.radix()).expect("a whole number"),
        ),
        DeValue::Float(number) => Value::String(number.as_str().to_owned()),
        DeValue::Boolean(flag) => Value::Bool(*flag),
        DeValue::Datetime(moment) => Value::String(moment.to_string()),
        DeValue::Array(list) => list.iter().map(|v| json(v.get_ref())).collect(),
        DeValue::Table(table) => table
            .iter()
            .map(|(k, v)| (k.get_ref().to_string(), json(v.get_ref())))
            .collect::<serde_json::Map<_, _>>()
            .into(),
    }
}
