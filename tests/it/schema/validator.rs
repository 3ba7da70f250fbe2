//! A small judge of documents by a JSON Schema: the words of draft 07 that ours uses, and a panic at any other.

use std::cell::RefCell;
use std::collections::HashMap;

use regex_lite::Regex;
use serde_json::{Map, Value};

/// Words that say nothing about what is valid.
const SILENT: [&str; 6] = ["$schema", "title", "description", "definitions", "examples", "then"];

/// A schema, and the patterns met in it.
pub struct Schema {
    whole: Value,
    patterns: RefCell<HashMap<String, Regex>>,
}

impl Schema {
    /// A schema from its text.
    pub fn new(text: &str) -> Schema {
        let whole = serde_json::from_str(text).expect("the schema is JSON");
        Schema { whole, patterns: RefCell::default() }
    }

    /// Its root.
    pub fn root(&self) -> &Value {
        &self.whole
    }

    /// What a reference means, or the schema itself.
    pub fn meant<'a>(&'a self, schema: &'a Value) -> &'a Value {
        match schema.get("$ref") {
            None => schema,
            Some(name) => {
                let pointer = name.as_str().expect("a text").trim_start_matches('#');
                let pointer = pointer.replace("%20", " ");
                self.whole.pointer(&pointer).unwrap_or_else(|| panic!("nothing at {pointer}"))
            }
        }
    }

    /// Where a document is refused: pointers into it, with the word that refuses.
    pub fn faults(&self, document: &Value) -> Vec<(String, String)> {
        let mut faults = Vec::new();
        self.judge(&self.whole, document, "", &mut faults);
        faults
    }

    fn accepts(&self, schema: &Value, value: &Value) -> bool {
        let mut faults = Vec::new();
        self.judge(schema, value, "", &mut faults);
        faults.is_empty()
    }

    fn judge(&self, schema: &Value, value: &Value, at: &str, faults: &mut Vec<(String, String)>) {
        let words = match schema {
            Value::Bool(true) => return,
            Value::Object(words) => words,
            _ => return faults.push((at.to_owned(), "false".to_owned())),
        };
        for (word, says) in words {
            match word.as_str() {
                "properties" => self.properties(says, value, at, faults),
                "additionalProperties" => self.others(words, value, at, faults),
                "items" => {
                    for (index, item) in value.as_array().into_iter().flatten().enumerate() {
                        self.judge(says, item, &format!("{at}/{index}"), faults);
                    }
                }
                "allOf" => {
                    for one in says.as_array().expect("a list") {
                        self.judge(one, value, at, faults);
                    }
                }
                "$ref" => self.judge(self.meant(schema), value, at, faults),
                "if" if self.accepts(says, value) => self.judge(&words["then"], value, at, faults),
                "if" => {}
                "required" => {
                    let keys = says.as_array().expect("a list").iter().filter_map(Value::as_str);
                    for key in keys.filter(|key| value.is_object() && value.get(key).is_none()) {
                        faults.push((at.to_owned(), format!("required {key}")));
                    }
                }
                word if SILENT.contains(&word) => {}
                word if self.holds(word, says, value) => {}
                word => faults.push((at.to_owned(), word.to_owned())),
            }
        }
    }

    fn properties(
        &self,
        says: &Value,
        value: &Value,
        at: &str,
        faults: &mut Vec<(String, String)>,
    ) {
        for (key, schema) in says.as_object().expect("properties") {
            if let Some(value) = value.get(key) {
                self.judge(schema, value, &format!("{at}/{key}"), faults);
            }
        }
    }

    fn others(
        &self,
        words: &Map<String, Value>,
        value: &Value,
        at: &str,
        faults: &mut Vec<(String, String)>,
    ) {
        for (key, value) in value.as_object().into_iter().flatten() {
            if words.get("properties").and_then(|all| all.get(key)).is_none() {
                let says = &words["additionalProperties"];
                self.judge(says, value, &format!("{at}/{key}"), faults);
            }
        }
    }

    /// A word that looks at the value alone.
    fn holds(&self, word: &str, says: &Value, value: &Value) -> bool {
        let number = value.as_f64();
        let end = || says.as_f64().expect("a number");
        match word {
            "type" => match says {
                Value::Array(types) => types.iter().any(|says| is(says, value)),
                says => is(says, value),
            },
            "anyOf" => says.as_array().expect("a list").iter().any(|one| self.accepts(one, value)),
            "enum" => says.as_array().expect("a list").contains(value),
            "const" => says == value,
            "minimum" => number.is_none_or(|n| n >= end()),
            "maximum" => number.is_none_or(|n| n <= end()),
            "exclusiveMinimum" => number.is_none_or(|n| n > end()),
            "pattern" => value.as_str().is_none_or(|text| {
                let pattern = says.as_str().expect("a pattern");
                let mut patterns = self.patterns.borrow_mut();
                let known = patterns
                    .entry(pattern.to_owned())
                    .or_insert_with(|| Regex::new(pattern).expect("a pattern"));
                known.is_match(text)
            }),
            other => panic!("the judge does not know `{other}`"),
        }
    }
}

fn is(says: &Value, value: &Value) -> bool {
    match says.as_str().expect("a type") {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "number" => value.is_number(),
        "integer" => value.as_f64().is_some_and(|number| number.fract().abs() < f64::EPSILON),
        other => panic!("the judge does not know the type {other}"),
    }
}
