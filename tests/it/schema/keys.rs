//! What the schema says a key takes, held against what loading makes of it: every key of every table gets values of many kinds, one at
//! a time, in a scenario in which it has a meaning. Loading and schema must agree on what is of the right kind.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use flipcount::diag::{Code, Severity};
use flipcount::model::{Overrides, load};
use serde_json::Value;

use super::validator::Schema;
use super::{document, schema};
use crate::help::project;

/// A table of a scenario: where it is in the document, its header, the lines it has.
type Section = (&'static str, &'static str, &'static [&'static str]);

/// What both scenarios have.
const COMMON: [Section; 17] = [
    (
        "",
        "",
        &[
            "title = \"a\"",
            "currency = \"USD\"",
            "start = 2026-09-07T09:00:00",
            "labour = \"28 per h\"",
            "pricing = \"pricing\"",
        ],
    ),
    ("/hours", "[hours]", &[]),
    ("/calendar/carrier", "[calendar.carrier]", &[]),
    ("/final", "[final]", &[]),
    (
        "/bath/0",
        "[[bath]]",
        &["name = \"wash\"", "kind = \"wash\"", "solvent = \"isopropanol\"", "fill = \"1 L\""],
    ),
    (
        "/bath/1",
        "[[bath]]",
        &[
            "name = \"black dye\"",
            "kind = \"dye\"",
            "solvent = \"isopropanol\"",
            "dye = \"alcohol dye, black\"",
            "dye_share = 0.02",
        ],
    ),
    (
        "/bath/1/tub",
        "[bath.tub]",
        &[
            "shape = \"box\"",
            "bottom = \"150 x 110 mm\"",
            "top = \"160 x 120 mm\"",
            "depth = \"70 mm\"",
        ],
    ),
    (
        "/route/0",
        "[[route]]",
        &[
            "name = \"dyed\"",
            "kind = \"bench\"",
            "printer = \"small resin printer\"",
            "material = \"soft resin 60A, clear\"",
            "layer = \"0.1 mm\"",
            "works = 0.8",
            "fallback = \"shop\"",
        ],
    ),
    ("/route/0/trial", "[route.trial]", &["part = \"mast seal\"", "tells = 0.9"]),
    ("/route/0/consumes/0", "[[route.consumes]]", &["item = \"gloves\"", "amount = \"4 pcs\""]),
    ("/route/0/steps/0", "[[route.steps]]", &["do = \"print\"", "attended = \"15 min\""]),
    (
        "/route/0/steps/1",
        "[[route.steps]]",
        &["do = \"wash\"", "attended = \"15 min\"", "bath = \"wash\""],
    ),
    (
        "/route/0/steps/2",
        "[[route.steps]]",
        &["do = \"dye\"", "attended = \"15 min\"", "bath = \"black dye\""],
    ),
    ("/route/0/steps/2/give", "[route.steps.give]", &["colour = \"black\""]),
    (
        "/route/1",
        "[[route]]",
        &[
            "name = \"short\"",
            "kind = \"bench\"",
            "attended = \"2 h\"",
            "print_time = \"7 h\"",
            "resin = \"130 per L\"",
        ],
    ),
    (
        "/route/2",
        "[[route]]",
        &[
            "name = \"service\"",
            "kind = \"order\"",
            "service = \"Print service B\"",
            "material = \"rubber-like, black\"",
        ],
    ),
    (
        "/route/3",
        "[[route]]",
        &[
            "name = \"shop\"",
            "kind = \"order\"",
            "piece = 40",
            "delivery_cost = 9",
            "arrives_after = 6",
        ],
    ),
];

/// Stated at its plainest.
const PLAIN: [Section; 8] = [
    ("/iterations", "[iterations]", &["planned = 5"]),
    (
        "/part/0",
        "[[part]]",
        &[
            "name = \"mast seal\"",
            "volume = \"60 cm3\"",
            "area = \"150 cm2\"",
            "box = \"92 x 92 x 22 mm\"",
        ],
    ),
    ("/part/0/must", "[part.must]", &[]),
    (
        "/part/1",
        "[[part]]",
        &["name = \"cable grommet\"", "volume = \"9 cm3\"", "box = \"30 x 30 x 24 mm\""],
    ),
    (
        "/route/4",
        "[[route]]",
        &["name = \"rated\"", "kind = \"order\"", "rate = 40", "base = 9", "lead = 6"],
    ),
    ("/plan/0", "[[plan]]", &[]),
    ("/plan/0/assign/cable grommet/0", "[[plan.assign.\"cable grommet\"]]", &["route = \"shop\""]),
    ("/plan/0/assign/mast seal/0", "[[plan.assign.\"mast seal\"]]", &["route = \"shop\""]),
];

/// Stated at length.
const LONG: [Section; 13] = [
    ("/iterations", "[iterations]", &[]),
    ("/iterations/planned", "[iterations.planned]", &[]),
    (
        "/part/0",
        "[[part]]",
        &["name = \"mast seal\"", "area = \"150 cm2\"", "mesh = \"a.stl\"", "mesh_unit = \"mm\""],
    ),
    ("/part/0/volume", "[part.volume]", &["likely = \"60 cm3\""]),
    ("/part/0/prefer/hardness", "[part.prefer.hardness]", &["is = \"60A\""]),
    ("/part/0/prefer/colour", "[part.prefer.colour]", &["is = \"black\""]),
    ("/part/0/prefer/opaque", "[part.prefer.opaque]", &[]),
    ("/part/0/prefer/lead", "[part.prefer.lead]", &["is = 5"]),
    ("/part/1", "[[part]]", &["name = \"cable grommet\"", "box = \"30 x 30 x 24 mm\""]),
    (
        "/route/4",
        "[[route]]",
        &[
            "name = \"own material\"",
            "kind = \"bench\"",
            "printer = \"another\"",
            "layer = \"0.1 mm\"",
            "attended = \"2 h\"",
        ],
    ),
    (
        "/plan/0",
        "[[plan]]",
        &[
            "variants = 2",
            "variant_worth = 0.5",
            "assign = { \"mast seal\" = \"shop\", \"cable grommet\" = \"shop\" }",
        ],
    ),
    ("/plan/1", "[[plan]]", &["name = \"two ways\""]),
    ("/plan/1/assign/mast seal/0", "[[plan.assign.\"mast seal\"]]", &["route = \"shop\""]),
];

/// Values of every kind.
const VALUES: [&str; 27] = [
    "\"x\"",
    "3",
    "true",
    "[]",
    "\"20 min\"",
    "\"2 mm\"",
    "\"9 cm3\"",
    "\"96 cm2\"",
    "\"30 per h\"",
    "\"130 per L\"",
    "\"1.09 g/mL\"",
    "\"4 pcs\"",
    "\"10 mL per h\"",
    "\"2 s per cm3\"",
    "\"8 business days\"",
    "\"6\"",
    "\"40 x 40 x 40 mm\"",
    "\"14:00\"",
    "0.6",
    "0",
    "-1",
    "2026-10-02",
    "2026-10-02T10:00:00",
    "14:00:00",
    "[\"Mon\"]",
    "{}",
    "{ likely = 3 }",
];

/// So many of them where a key is met again.
const FEW: usize = 4;

/// Names and words that texts refer to.
const NAMES: [&str; 22] = [
    "USD",
    "pricing",
    "a.stl",
    "wash",
    "black dye",
    "isopropanol",
    "alcohol dye, black",
    "mast seal",
    "shop",
    "carrier",
    "small resin printer",
    "cure lamp",
    "soft resin 60A, clear",
    "gloves",
    "Print service B",
    "rubber-like, black",
    "as printed",
    "standard",
    "parcel",
    "60A",
    "print",
    "service",
];

/// Lists and tables.
const STRUCTURES: [&str; 20] = [
    "{ planned = 3 }",
    "{ copies = 1 }",
    "{ days = [\"Mon\"] }",
    "{ carrier = { days = [\"Mon\"] } }",
    "[{ name = \"mast seal\", volume = \"60 cm3\" }, { name = \"cable grommet\", volume = \"9 cm3\" }]",
    "[{ name = \"short\", kind = \"bench\", attended = \"2 h\", print_time = \"3 h\" }]",
    "[{ name = \"first\", kind = \"wash\", solvent = \"isopropanol\", fill = \"1 L\" }]",
    "[{ do = \"print\" }]",
    "[{ do = \"inspect\" }]",
    "[{ item = \"gloves\", amount = \"4 pcs\" }]",
    "[\"mast seal\"]",
    "[\"09:00-12:30\"]",
    "[2026-10-02]",
    "{ opaque = true }",
    "{ part = \"mast seal\", tells = 0.9 }",
    "{ shape = \"round\", bottom = \"150 mm\", top = \"170 mm\", depth = \"90 mm\" }",
    "{ \"4\" = 0.5, \"6\" = 0.5 }",
    "{ \"mast seal\" = \"shop\", \"cable grommet\" = \"shop\" }",
    "{ from_iteration = 2 }",
    "{ is = \"60A\", from_iteration = 2 }",
];

/// The document with a key set in one of its tables, and the line of that key.
fn with(sections: &[Section], at: &str, key: &str, value: &str) -> (String, usize) {
    let mut text = String::new();
    let mut line = 0;
    let place = format!("{at}/{key}");
    for (section, header, lines) in sections {
        let replaced =
            section.strip_prefix(&place).is_some_and(|r| r.is_empty() || r.starts_with('/'));
        if replaced {
            continue;
        }
        let _ = writeln!(text, "{header}");
        if *section == at {
            let _ = writeln!(text, "{key} = {value}");
            line = text.lines().count();
        }
        let is_key = |line: &&&str| line.split(" =").next() == Some(key) && *section == at;
        for line in lines.iter().filter(|line| !is_key(line)) {
            let _ = writeln!(text, "{line}");
        }
    }
    (text, line)
}

/// The tables that may stand at a place of the document.
fn tables<'a>(schema: &'a Schema, at: &str) -> Vec<&'a Value> {
    let mut here = vec![schema.root()];
    for step in at.split('/').skip(1) {
        here = here
            .into_iter()
            .flat_map(|one| ways(schema, one))
            .filter_map(|one| {
                let found = one.pointer("/properties").and_then(|all| all.get(step));
                let inner =
                    if step.parse::<u32>().is_ok() { "items" } else { "additionalProperties" };
                found.or_else(|| one.get(inner)).filter(|found| found.is_object())
            })
            .collect();
    }
    let ways = here.into_iter().flat_map(|one| ways(schema, one));
    ways.filter(|one| one.get("properties").is_some()).collect()
}

/// A schema, or those of which one or all must hold.
fn ways<'a>(schema: &'a Schema, one: &'a Value) -> Vec<&'a Value> {
    let one = schema.meant(one);
    let parts = ["anyOf", "allOf"].into_iter().filter_map(|word| one.get(word)?.as_array());
    let parts: Vec<&Value> = parts.flatten().filter(|part| part.get("if").is_none()).collect();
    if parts.is_empty() || one.get("properties").is_some() {
        return vec![one];
    }
    parts.into_iter().flat_map(|part| ways(schema, part)).collect()
}

/// Values to try for a key: of every kind, and what the schema shows; names and structures where it takes them.
fn values(schema: &Schema, key: &Value) -> Vec<String> {
    let mut found: Vec<String> = VALUES.iter().map(|v| (*v).to_owned()).collect();
    for way in ways(schema, key) {
        let words = way.get("enum").or(way.get("examples")).and_then(Value::as_array);
        found.extend(words.into_iter().flatten().map(Value::to_string));
        if way["pattern"] == r"\S" {
            found.extend(NAMES.map(|name| format!("{name:?}")));
        }
        if way["type"] == "object" || way["type"] == "array" {
            found.extend(STRUCTURES.map(str::to_owned));
        }
    }
    found
}

/// What loading says about the line of a key: nothing, something, or that the value is of another kind than it takes.
#[derive(Clone, Copy, PartialEq)]
enum Loading {
    Fine,
    Fault,
    WrongKind,
}

fn loading(folder: &Path, text: &str, line: usize) -> Loading {
    fs::write(folder.join("scenario.toml"), text).expect("a scenario is written");
    let loaded = load(folder, &Overrides::default());
    let here = loaded.log.found.iter().filter(|d| {
        let place = d.place.as_ref();
        d.severity == Severity::Error
            && place.is_some_and(|p| p.line == line && p.file.path.ends_with("scenario.toml"))
    });
    let mut verdict = Loading::Fine;
    for finding in here {
        let bare = finding.message.contains("found a bare number");
        if finding.code == Code::WrongType || bare {
            return Loading::WrongKind;
        }
        verdict = Loading::Fault;
    }
    verdict
}

/// A folder with sheets and a mesh for scenarios to refer to.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("pricing")).expect("a folder for sheets");
    for sheet in fs::read_dir(project("src/cli/starter/full/pricing")).expect("sheets").flatten() {
        fs::copy(sheet.path(), folder.path().join("pricing").join(sheet.file_name()))
            .expect("a sheet is copied");
    }
    let corners = ["0 0 0", "0 0 40", "0 40 0", "40 0 0"];
    let mut mesh = String::from("solid a\n");
    for face in [[0, 2, 3], [0, 1, 2], [0, 3, 1], [1, 3, 2]] {
        let [a, b, c] = face.map(|corner| corners[corner]);
        let _ = writeln!(
            mesh,
            "facet normal 0 0 0\nouter loop\nvertex {a}\nvertex {b}\nvertex {c}\nendloop\nendfacet"
        );
    }
    mesh.push_str("endsolid a\n");
    fs::write(folder.path().join("a.stl"), mesh).expect("a mesh is written");
    folder
}

#[test]
fn every_key_takes_what_the_schema_says() {
    let (schema, folder) = (schema(), folder());
    // Whether a key was met with a value that both take.
    let mut taken: BTreeMap<String, bool> = BTreeMap::new();
    let (mut tried, mut wrong) = (0, String::new());
    for own in [&PLAIN[..], &LONG[..]] {
        let sections: Vec<Section> = COMMON.iter().chain(own).copied().collect();
        for (at, ..) in &sections {
            let tables = tables(&schema, at);
            assert!(!tables.is_empty(), "no table at {at}");
            for (key, described) in
                tables.iter().flat_map(|t| t["properties"].as_object()).flatten()
            {
                let general: String =
                    format!("{at}/{key}").chars().filter(|c| !c.is_ascii_digit()).collect();
                let both = taken.entry(general).or_default();
                // Once a key has had its values, another table of its kind needs a few of them.
                let few = if *both { FEW } else { usize::MAX };
                for value in values(&schema, described).into_iter().take(few) {
                    let (text, line) = with(&sections, at, key, &value);
                    let loading = loading(folder.path(), &text, line);
                    let place = format!("{at}/{key}");
                    let faults = schema.faults(&document(&text));
                    let below = |p: &str| {
                        p.strip_prefix(place.as_str())
                            .is_some_and(|r| r.is_empty() || r.starts_with('/'))
                    };
                    let refused = faults.iter().any(|(p, _)| below(p));
                    tried += 1;
                    match (loading, refused) {
                        (Loading::Fine, true) => {
                            let _ = writeln!(
                                wrong,
                                "loads, and is refused: {place} = {value} {faults:?}"
                            );
                        }
                        (Loading::WrongKind, false) => {
                            let _ =
                                writeln!(wrong, "does not load, and is taken: {place} = {value}");
                        }
                        (Loading::Fine, false) => *both = true,
                        _ => {}
                    }
                }
            }
        }
    }
    println!("{tried} values of {} keys", taken.len());
    let never: Vec<&String> = taken.iter().filter(|(_, both)| !**both).map(|(k, _)| k).collect();
    assert!(wrong.is_empty(), "{wrong}");
    assert!(never.is_empty(), "no value is taken by both: {never:#?}");
}
