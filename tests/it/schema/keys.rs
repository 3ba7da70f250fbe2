//! What the schema says a key takes, held against what loading makes of it: every key of every table gets values of many kinds, one at
//! a time, in a scenario in which it has a meaning. Loading and schema must agree on what is of the right kind.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use flipcount::diag::{Code, Diagnostic, Severity};
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
            "displacers = \"0.1 L\"",
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
const PLAIN: [Section; 10] = [
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
    (
        "/plan/0/assign/cable grommet/1",
        "[[plan.assign.\"cable grommet\"]]",
        &["route = \"service\"", "until = 2"],
    ),
    ("/plan/0/assign/mast seal/0", "[[plan.assign.\"mast seal\"]]", &["route = \"shop\""]),
    (
        "/plan/0/assign/mast seal/1",
        "[[plan.assign.\"mast seal\"]]",
        &["route = \"service\"", "until = 2"],
    ),
];

/// Stated at length.
const LONG: [Section; 16] = [
    ("/iterations", "[iterations]", &[]),
    ("/iterations/planned", "[iterations.planned]", &["likely = 5"]),
    (
        "/part/0",
        "[[part]]",
        &["name = \"mast seal\"", "area = \"150 cm2\"", "mesh = \"a.stl\"", "mesh_unit = \"mm\""],
    ),
    ("/part/0/volume", "[part.volume]", &["likely = \"92 cm3\""]),
    ("/part/0/prefer/hardness", "[part.prefer.hardness]", &["is = \"60A\""]),
    ("/part/0/prefer/colour", "[part.prefer.colour]", &["is = \"black\""]),
    ("/part/0/prefer/opaque", "[part.prefer.opaque]", &[]),
    ("/part/0/prefer/lead", "[part.prefer.lead]", &["is = 5"]),
    (
        "/part/1",
        "[[part]]",
        &["name = \"cable grommet\"", "box = \"30 x 30 x 24 mm\"", "fill = 0.5"],
    ),
    (
        "/route/4",
        "[[route]]",
        &[
            "name = \"own material\"",
            "kind = \"bench\"",
            "printer = \"another\"",
            "layer = \"0.1 mm\"",
            "attended = \"2 h\"",
            "start_up = \"8 min\"",
            "per_layer = \"9 s\"",
            "per_volume = \"2 s per cm3\"",
        ],
    ),
    (
        "/plan/0",
        "[[plan]]",
        &[
            "variants = 2",
            "variant_worth = 0.5",
            "assign = { \"mast seal\" = \"short\", \"cable grommet\" = \"shop\" }",
        ],
    ),
    ("/plan/1", "[[plan]]", &["name = \"two ways\""]),
    ("/plan/1/assign/cable grommet/0", "[[plan.assign.\"cable grommet\"]]", &["route = \"shop\""]),
    (
        "/plan/1/assign/cable grommet/1",
        "[[plan.assign.\"cable grommet\"]]",
        &["route = \"service\"", "until = 2"],
    ),
    ("/plan/1/assign/mast seal/0", "[[plan.assign.\"mast seal\"]]", &["route = \"shop\""]),
    (
        "/plan/1/assign/mast seal/1",
        "[[plan.assign.\"mast seal\"]]",
        &["route = \"service\"", "until = 2"],
    ),
];

/// Values of every kind; what else a key takes the schema shows by examples.
const VALUES: [&str; 21] = [
    "\"x\"",
    "3",
    "true",
    "[]",
    "\"20 min\"",
    "\"2 mm\"",
    "\"30 per h\"",
    "\"130 per L\"",
    "\"4 pcs\"",
    "\"8 business days\"",
    "\"6\"",
    "\"40 x 40 x 40 mm\"",
    "\"14:00\"",
    "0.6",
    "0",
    "-1",
    "2026-10-02",
    "14:00:00",
    "[\"Mon\"]",
    "{}",
    "{ likely = 3 }",
];

/// Dates and times among them.
const DATES: [&str; 2] = ["2026-10-02", "14:00:00"];

/// Keys that stand in place of all others of their table.
const ALONE: [&str; 2] = ["accept_chance", "chances"];

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
    "[{ name = \"short\", kind = \"bench\", attended = \"2 h\", print_time = \"3 h\" }, \
      { name = \"shop\", kind = \"order\", piece = 40, arrives_after = 6 }, \
      { name = \"service\", kind = \"order\", piece = 50, arrives_after = 5 }]",
    "[{ name = \"wash\", kind = \"wash\", solvent = \"isopropanol\", fill = \"1 L\" }, \
      { name = \"black dye\", kind = \"dye\", solvent = \"isopropanol\", dye = \"alcohol dye, black\", dye_share = 0.02, \
        tub = { shape = \"round\", bottom = \"150 mm\", top = \"170 mm\", depth = \"90 mm\" } }]",
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
        let replaced = is_within(section, &place);
        if replaced {
            continue;
        }
        let _ = writeln!(text, "{header}");
        if *section == at {
            let _ = writeln!(text, "{key} = {value}");
            line = text.lines().count();
        }
        let is_key = |line: &&&str| {
            *section == at && (ALONE.contains(&key) || line.split(" =").next() == Some(key))
        };
        for line in lines.iter().filter(|line| !is_key(line)) {
            let _ = writeln!(text, "{line}");
        }
    }
    (text, line)
}

/// True if a place of the document is another one or below it.
fn is_within(place: &str, other: &str) -> bool {
    place.strip_prefix(other).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
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

/// Values to try for a key: of every kind, and what the schema shows; then names and structures, to find one that is taken.
fn values(schema: &Schema, key: &Value) -> (Vec<String>, Vec<String>) {
    let mut kinds: Vec<String> = VALUES.iter().map(|v| (*v).to_owned()).collect();
    let mut more = Vec::new();
    for way in ways(schema, key) {
        let words = way.get("enum").or(way.get("examples")).and_then(Value::as_array);
        kinds.extend(words.into_iter().flatten().map(Value::to_string));
        if way["pattern"] == r"\S" {
            more.extend(NAMES.map(|name| format!("{name:?}")));
        }
        if way["type"] == "object" || way["type"] == "array" {
            more.extend(STRUCTURES.map(str::to_owned));
        }
    }
    (kinds, more)
}

/// What loading says of a value: nothing, something, or that it is of another kind than its key takes.
#[derive(Clone, Copy, PartialEq)]
enum Loading {
    Fine,
    Fault,
    WrongKind,
}

fn loading(folder: &Path, text: &str, line: usize) -> Loading {
    fs::write(folder.join("scenario.toml"), text).expect("a scenario is written");
    let loaded = load(folder, &Overrides::default());
    let mut here = loaded.log.found.iter().filter(|d| {
        let place = d.place.as_ref();
        d.severity == Severity::Error
            && place.is_some_and(|p| p.line == line && p.file.path.ends_with("scenario.toml"))
    });
    let is_kind =
        |d: &Diagnostic| d.code == Code::WrongType || d.message.contains("found a bare number");
    if here.any(is_kind) {
        Loading::WrongKind
    } else if loaded.scenario.is_some() {
        Loading::Fine
    } else {
        Loading::Fault
    }
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

/// Loading and schema asked about the same values.
struct Comparison {
    schema: Schema,
    folder: tempfile::TempDir,
    tried: usize,
    /// Where they do not agree, a line each.
    wrong: String,
}

impl Comparison {
    /// Tries a value of a key; true where both take it.
    fn taken(&mut self, sections: &[Section], (at, key): (&str, &str), value: &str) -> bool {
        let (text, line) = with(sections, at, key, value);
        let place = format!("{at}/{key}");
        let faults = self.schema.faults(&document(&text));
        // Of a choice the whole is refused, wherever in it the fault is.
        let refused = faults
            .iter()
            .any(|(p, word)| is_within(p, &place) || (word == "anyOf" && is_within(&place, p)));
        self.tried += 1;
        let loading = loading(self.folder.path(), &text, line);
        // To a schema a date is a text.
        let has_date = DATES.iter().any(|date| value.contains(date));
        if loading == Loading::Fine && refused {
            let _ = writeln!(self.wrong, "loads, and is refused: {place} = {value} {faults:?}");
        } else if loading == Loading::WrongKind && !refused && !has_date {
            let _ = writeln!(self.wrong, "does not load, and is taken: {place} = {value}");
        }
        loading == Loading::Fine && !refused
    }

    /// Tries values of a key until it has had every kind; `met` where it was taken before in another table of its kind.
    fn key(
        &mut self,
        sections: &[Section],
        place: (&str, &str),
        described: &Value,
        met: bool,
    ) -> bool {
        let (kinds, more) = values(&self.schema, described);
        let few = if met { FEW } else { kinds.len() };
        let mut met = met;
        for value in &kinds[..few] {
            met |= self.taken(sections, place, value);
        }
        // The first that is taken ends the search.
        met || more.iter().any(|value| self.taken(sections, place, value))
    }
}

#[test]
fn every_key_takes_what_the_schema_says() {
    let schema = schema();
    let mut both =
        Comparison { schema: super::schema(), folder: folder(), tried: 0, wrong: String::new() };
    let mut met: BTreeMap<String, bool> = BTreeMap::new();
    for own in [&PLAIN[..], &LONG[..]] {
        let sections: Vec<Section> = COMMON.iter().chain(own).copied().collect();
        let (plain, _) = with(&sections, "/none", "none", "");
        assert!(loading(both.folder.path(), &plain, 0) == Loading::Fine, "{plain}");
        assert_eq!(schema.faults(&document(&plain)), []);
        for (at, ..) in &sections {
            let tables = tables(&schema, at);
            assert!(!tables.is_empty(), "no table at {at}");
            let keys = tables.iter().filter_map(|table| table["properties"].as_object());
            for (key, described) in keys.flatten() {
                let general = format!("{at}/{key}").replace(|c: char| c.is_ascii_digit(), "");
                let met = met.entry(general).or_default();
                *met = both.key(&sections, (at, key), described, *met);
            }
        }
    }
    println!("{} values of {} keys", both.tried, met.len());
    assert!(both.wrong.is_empty(), "{}", both.wrong);
    let never: Vec<&String> = met.iter().filter(|(_, met)| !**met).map(|(key, _)| key).collect();
    assert!(never.is_empty(), "no value is taken by both: {never:#?}");
}
