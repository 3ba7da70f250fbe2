//! The schema of scenario.toml: the committed file is what the command prints, scenarios that load agree with it, and every key takes
//! what the schema says it takes, as loading sees it.
//!
//! After a change that is meant, write the file anew with `FLIPCOUNT_BLESS=1 cargo test schema`.

mod keys;
mod validator;

use std::fs;
use std::path::{Path, PathBuf};

use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use serde_json::{Number, Value};
use toml::de::{DeTable, DeValue};

use self::validator::Schema;
use crate::generator::{Written, blueprint, write};
use crate::help::{flipcount, project};

const FILE: &str = "scenarios/scenario.schema.json";

fn printed() -> String {
    let output = flipcount().arg("schema").output().expect("the command runs");
    assert_eq!(output.status.code(), Some(0));
    String::from_utf8(output.stdout).expect("the schema is text")
}

fn schema() -> Schema {
    Schema::new(&printed())
}

/// A document as an editor hands it to a schema: dates are text.
fn document(text: &str) -> Value {
    let table = DeTable::parse(text).unwrap_or_else(|error| panic!("{error}\n{text}"));
    json(&DeValue::Table(table.into_inner()))
}

fn json(value: &DeValue) -> Value {
    match value {
        DeValue::String(text) => Value::String(text.to_string()),
        DeValue::Integer(number) => Value::Number(number.as_str().parse().expect("an integer")),
        DeValue::Float(number) => {
            let number = number.as_str().parse().expect("a number");
            Value::Number(Number::from_f64(number).expect("a finite number"))
        }
        DeValue::Boolean(flag) => Value::Bool(*flag),
        DeValue::Datetime(moment) => Value::String(moment.to_string()),
        DeValue::Array(list) => list.iter().map(|v| json(v.get_ref())).collect(),
        DeValue::Table(table) => table
            .iter()
            .map(|(key, value)| (key.get_ref().to_string(), json(value.get_ref())))
            .collect::<serde_json::Map<_, _>>()
            .into(),
    }
}

/// Every scenario.toml below a folder.
fn scenarios(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(scenarios(&path));
        } else if path.extension().is_some_and(|e| e == "toml") {
            found.push(path);
        }
    }
    found.sort();
    found
}

#[test]
fn the_committed_schema_is_what_the_command_prints() {
    let now = printed();
    let path = project(FILE);
    if std::env::var_os("FLIPCOUNT_BLESS").is_some() {
        fs::write(&path, &now).expect("the schema is written");
    }
    let then = fs::read_to_string(&path).expect("the committed schema");
    assert!(then == now, "{FILE} is not what the command prints now");
}

#[test]
fn starters_and_shipped_scenarios_agree_with_the_schema() {
    let schema = schema();
    let mut all = scenarios(&project("src/cli/starter"));
    all.extend(scenarios(&project("scenarios")));
    assert!(all.len() >= 4, "{all:?}");
    for path in all {
        let text = fs::read_to_string(&path).expect("a scenario");
        let faults = schema.faults(&document(&text));
        assert!(faults.is_empty(), "{}: {faults:?}", path.display());
    }
}

#[test]
fn a_first_line_that_names_the_schema_is_a_comment() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = fs::read_to_string(project("src/cli/starter/short.toml")).expect("a starter");
    let text = format!("#:schema scenario.schema.json\n{text}");
    fs::write(folder.path().join("scenario.toml"), text).expect("a scenario is written");
    let output = flipcount().arg("check").arg(folder.path()).output().expect("the command runs");
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}

/// What loads is never refused, on scenarios of the generator.
#[test]
fn generated_scenarios_agree_with_the_schema() {
    let schema = schema();
    let mut runner = TestRunner::deterministic();
    for _ in 0..200 {
        let drawn = blueprint().new_tree(&mut runner).expect("a description").current();
        let dir = write(&drawn, Written::PLAIN);
        let text = fs::read_to_string(dir.path().join("scenario.toml")).expect("a scenario");
        let faults = schema.faults(&document(&text));
        assert!(faults.is_empty(), "{faults:?}\n{text}");
    }
}

/// Slips that an editor should mark while they are typed.
#[test]
fn slips_are_refused_where_they_stand() {
    let schema = schema();
    let good =
        fs::read_to_string(project("src/cli/starter/full/scenario.toml")).expect("a starter");
    for (right, wrong, at) in [
        ("currency = \"USD\"", "curency = \"USD\"", "/curency"),
        ("volume = \"60 cm3\"", "volume = 60", "/part/0/volume"),
        ("volume = \"60 cm3\"", "volume = \"60\"", "/part/0/volume"),
        ("labour   = \"28 per h\"", "labour = \"28\"", "/labour"),
        ("labour   = \"28 per h\"", "labour = \"28 h\"", "/labour"),
        ("labour_paid = false", "labour_paid = \"no\"", "/labour_paid"),
        ("close    = 0.05", "close = 5", "/close"),
        ("copies = 2   ", "copies = 1.5   ", "/final/copies"),
        ("kind    = \"wash\"", "kind = \"bucket\"", "/bath/0/kind"),
        ("fill    = \"1 L\"", "dye_share = 0.1", "/bath/0/dye_share"),
        ("fill    = \"1 L\"", "dye_share = 0.1", "/bath/0"),
        ("start    = 2026-09-07T09:00:00", "start = \"7 September\"", "/start"),
        ("box    = \"30 x 30 x 24 mm\"", "box = \"30 x 24 mm\"", "/part/1/box"),
        ("days   = [\"Mon\",", "days = [\"Moo\",", "/hours/days/0"),
        ("likely = \"4 h\", ", "", "/iterations/redesign"),
        (
            "planned  = { low = 3, likely = 5, high = 9 }",
            "planned = { low = 3, hgh = 9 }",
            "/iterations/planned",
        ),
        ("order_time = \"20 min\"", "layer = \"0.1 mm\"", "/route/2/layer"),
    ] {
        assert!(good.contains(right), "the starter has no {right}");
        let faults = schema.faults(&document(&good.replacen(right, wrong, 1)));
        assert!(faults.iter().any(|(place, _)| place == at), "{wrong}: {faults:?}");
    }
}

/// The reference for people names every key that the schema has.
#[test]
fn the_readme_explains_every_key() {
    let readme = fs::read_to_string(project("README.md")).expect("README.md");
    let start = readme.find("### scenario.toml").expect("the reference");
    let reference = &readme[start..readme.find("### Largest sizes").expect("its end")];
    let schema = schema();
    let mut missing = Vec::new();
    keys_below(schema.root(), &mut |key| {
        let words = reference.split(|c: char| !c.is_ascii_alphanumeric() && c != '_');
        if !words.into_iter().any(|word| word == key) {
            missing.push(key.to_owned());
        }
    });
    missing.retain(|key| !["low", "likely", "high", "varies"].contains(&key.as_str()));
    assert!(missing.is_empty(), "{missing:?}");
}

/// Tells every key of every table of a schema, each of which must say what it means.
fn keys_below(schema: &Value, tell: &mut dyn FnMut(&str)) {
    match schema {
        Value::Object(words) => {
            for (key, value) in
                words.get("properties").and_then(Value::as_object).into_iter().flatten()
            {
                if value.is_object() {
                    assert!(value["description"].as_str().is_some_and(|d| d.len() > 3), "{key}");
                    tell(key);
                }
            }
            // A condition names keys without saying what they mean.
            let others = words.iter().filter(|(word, _)| !matches!(word.as_str(), "if" | "then"));
            others.for_each(|(_, value)| keys_below(value, tell));
        }
        Value::Array(list) => list.iter().for_each(|value| keys_below(value, tell)),
        _ => {}
    }
}
