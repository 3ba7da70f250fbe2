//! The JSON Schema of scenario.toml (draft 07), by which an editor completes and checks while one types.
//!
//! It is written from the keys the loader knows, and what a number may look like is found out by asking [`NumberKind`]. It refuses nothing
//! that loading accepts, but for words in capitals; what it cannot say (names that must exist, dimensions, keys that exclude each other)
//! is left to loading, which has the last word.

use rust_decimal::Decimal;
use serde_json::{Map, Value, json};

use super::number::NumberKind;
use super::{Key, SPREAD, TOP, Takes};
use crate::input::{Quantity, Unit, UnitKind};

/// A number as text, without what may follow it.
const NUMBER: &str = r"^\s*[-+−]?\s*([0-9]+(\.[0-9]+)?|\.[0-9]+)([eE][-+]?[0-9]+)?";
/// A day as text.
const DAY: &str = r"^\s*[0-9]{4}-[0-9]{2}-[0-9]{2}";
/// A time of day as text, without its end.
const CLOCK: &str = r"\s*[0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.0+)?)?\s*";

/// The schema of scenario.toml.
///
/// ```
/// let schema = flipcount::model::scenario_schema();
/// let needed = schema["required"].as_array().expect("a list of keys");
/// assert!(needed.iter().any(|key| key == "currency"));
/// assert_eq!(schema["properties"]["currency"]["type"], "string");
/// ```
pub fn scenario_schema() -> Value {
    let mut writer = Writer::default();
    let mut schema = writer.table(TOP, None);
    schema["$schema"] = json!("http://json-schema.org/draft-07/schema#");
    schema["title"] = json!("scenario.toml");
    schema["description"] = json!(
        "The question flipcount answers. A number may be a table with low, likely and high; one with a unit is a text, such as \"20 min\"."
    );
    schema["definitions"] = Value::Object(writer.definitions);
    schema
}

/// Kinds of numbers met so far, by name.
#[derive(Default)]
struct Writer {
    definitions: Map<String, Value>,
}

impl Writer {
    /// A table; `itself` is the number that stands in a spread.
    fn table(&mut self, keys: &[Key], itself: Option<&Value>) -> Value {
        let properties: Map<String, Value> = keys
            .iter()
            .map(|key| {
                let mut value = self.value(&key.takes, itself);
                // Beside a reference nothing is read.
                if value.get("$ref").is_some() {
                    value = json!({ "allOf": [value] });
                }
                value["description"] = json!(key.means);
                (key.name.to_owned(), value)
            })
            .collect();
        let mut table = json!({
            "type": "object",
            "properties": properties,
            "additionalProperties": false,
        });
        let needed = needed_of(keys, None);
        if !needed.is_empty() {
            table["required"] = json!(needed);
        }
        let kinds = kinds(keys);
        if !kinds.is_empty() {
            table["allOf"] = kinds.iter().map(|kind| of_kind(keys, kind)).collect();
        }
        table
    }

    fn value(&mut self, takes: &Takes, itself: Option<&Value>) -> Value {
        match takes {
            Takes::Text => json!({ "type": "string", "pattern": r"\S" }),
            Takes::Flag => json!({ "type": "boolean" }),
            Takes::Moment => text(format!("{DAY}([Tt ]{CLOCK})?$"), &["2026-03-02T09:00:00"]),
            Takes::Day => text(format!(r"{DAY}\s*$"), &["2026-04-24"]),
            Takes::TimeOfDay => text(format!("^{CLOCK}$"), &["14:00"]),
            Takes::Span => text(format!("^{CLOCK}[-–]{CLOCK}$"), &["09:00-12:30"]),
            Takes::Whole(least, most) => json!({
                "type": ["integer", "string"],
                "minimum": least,
                "maximum": most,
                "pattern": format!(r"{NUMBER}\s*$"),
            }),
            Takes::Certain(kinds) => self.number(kinds),
            Takes::Number(kinds) => self.spread(kinds),
            Takes::Lengths(count) => lengths(*count),
            Takes::Word(words) => json!({ "type": "string", "enum": words }),
            Takes::List(each) => json!({ "type": "array", "items": self.value(each, itself) }),
            Takes::Table(keys) => self.table(keys, itself),
            Takes::Map(each) => {
                json!({ "type": "object", "additionalProperties": self.value(each, itself) })
            }
            Takes::Any(all) => {
                let all: Vec<Value> = all.iter().map(|takes| self.value(takes, itself)).collect();
                json!({ "anyOf": all })
            }
            Takes::Itself => itself.cloned().unwrap_or_else(|| json!({})),
        }
    }

    /// A number without a spread: a reference where its kind has one name.
    fn number(&mut self, kinds: &[NumberKind]) -> Value {
        let number = number(kinds);
        let [one] = kinds else {
            return number;
        };
        self.defined(name_of(*one, &number), number)
    }

    /// A number, alone or with a spread.
    fn spread(&mut self, kinds: &[NumberKind]) -> Value {
        let certain = self.number(kinds);
        let table = self.table(SPREAD, Some(&certain));
        let whole = json!({ "anyOf": [certain, table] });
        let [one] = kinds else {
            return whole;
        };
        let name = format!("{}, alone or with a spread", name_of(*one, &number(kinds)));
        self.defined(name, whole)
    }

    fn defined(&mut self, name: String, value: Value) -> Value {
        let reference = json!({ "$ref": format!("#/definitions/{}", name.replace(' ', "%20")) });
        self.definitions.insert(name, value);
        reference
    }
}

/// Keys that must be there, in every kind of table or in one.
fn needed_of(keys: &[Key], kind: Option<&str>) -> Vec<&'static str> {
    keys.iter().filter(|key| key.needed && key.only == kind).map(|key| key.name).collect()
}

/// The kinds of a table whose kinds have keys of their own.
fn kinds(keys: &[Key]) -> &'static [&'static str] {
    let kind = keys.iter().find(|key| key.name == "kind");
    match kind.map(|key| &key.takes) {
        Some(Takes::Word(words)) if keys.iter().any(|key| key.only.is_some()) => words,
        _ => &[],
    }
}

/// A table of one kind has its own keys that must be there, and none of another kind's.
fn of_kind(keys: &[Key], kind: &str) -> Value {
    let others = keys.iter().filter(|key| key.only.is_some_and(|only| only != kind));
    let refused: Map<String, Value> = others.map(|k| (k.name.to_owned(), json!(false))).collect();
    let mut then = json!({ "properties": refused });
    let needed = needed_of(keys, Some(kind));
    if !needed.is_empty() {
        then["required"] = json!(needed);
    }
    json!({ "if": { "properties": { "kind": { "const": kind } }, "required": ["kind"] }, "then": then })
}

fn text(pattern: String, examples: &[&str]) -> Value {
    json!({ "type": "string", "pattern": pattern, "examples": examples })
}

/// Lengths with an x between.
fn lengths(count: usize) -> Value {
    let one = r"[^xX×*]*[0-9][^xX×*]*";
    let pattern = format!("^{one}([xX×*]{one}){{{}}}$", count.saturating_sub(1));
    text(pattern, if count == 2 { &["190 x 120 mm"] } else { &["38 x 38 x 52 mm"] })
}

/// What a number is called where it is defined.
fn name_of(kind: NumberKind, number: &Value) -> String {
    let above = if number.get("exclusiveMinimum").is_some() { " above 0" } else { "" };
    let name = kind.expected();
    let name = name.strip_prefix("a ").or(name.strip_prefix("an ")).unwrap_or(name);
    format!("{}{above}", name.replace(',', ""))
}

/// What a number of any of these kinds may look like, found out by trying.
fn number(kinds: &[NumberKind]) -> Value {
    let tried = |quantity: Quantity| kinds.iter().any(|m| m.take(&quantity, "").is_ok());
    let bare = |hundredths: i64| tried(Quantity::Bare(Decimal::new(hundredths, 2)));
    let one = Decimal::ONE;
    let of = UnitKind::ALL.into_iter().any(|kind| tried(Quantity::Of(kind, one)));
    let per = UnitKind::ALL.into_iter().any(|kind| {
        let mut above = UnitKind::ALL.into_iter().map(Some).chain([None]);
        above.any(|of| tried(Quantity::Per { number: one, of, per: Unit { kind, factor: one } }))
    });
    let days = kinds.iter().any(|m| matches!(m, NumberKind::Lead | NumberKind::Days));
    let mut ends = Vec::new();
    if bare(100) {
        ends.push(r"\s*$");
    }
    if days {
        ends.push(r"\s*[Bb][Uu][Ss][Ii][Nn][Ee][Ss][Ss]\s+[Dd][Aa][Yy][Ss]?\s*$");
    }
    if of {
        ends.push(r"\s*[^\s0-9.,].*$");
    } else if per {
        ends.push(r"(.*/|.*\sper\s|\s*per\s).*$");
    }
    let mut found = json!({ "pattern": format!("{NUMBER}({})", ends.join("|")) });
    found["description"] = json!(in_words(kinds));
    let examples = kinds.iter().flat_map(|m| m.example().split("` or `"));
    found["examples"] = examples.map(|text| example(text, bare(100) && !days)).collect();
    found["type"] = match (bare(100), bare(50)) {
        (true, true) => json!(["number", "string"]),
        (true, false) => json!(["integer", "string"]),
        (false, _) => json!("string"),
    };
    if bare(100) {
        let ends = if bare(0) {
            ("minimum", json!(0))
        } else if bare(25) || !bare(50) {
            ("exclusiveMinimum", json!(0))
        } else {
            ("minimum", json!(0.5))
        };
        found[ends.0] = ends.1;
        if !bare(200) {
            found["maximum"] = json!(1);
        }
    }
    found
}

fn in_words(kinds: &[NumberKind]) -> String {
    let mut words: Vec<&str> = kinds.iter().map(|m| m.expected()).collect();
    words.dedup();
    words.join(", or ")
}

/// An example as it is written in TOML: a bare number without quotes.
fn example(text: &str, bare: bool) -> Value {
    match text.parse::<serde_json::Number>() {
        Ok(number) if bare => Value::Number(number),
        _ => json!(text),
    }
}
