//! What the files of a scenario say beside numbers: names, dates, choices, needs; and counts that no slot holds.
//!
//! Enters: a scenario and the files it was read from. Leaves: texts by key, addressed as numbers are. What a slot holds is left out, so
//! numbers and texts together are everything that can matter; titles, notes and rows that nothing reads are in neither.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use super::Scenario;
use crate::diag::Log;
use crate::input::{Node, Value, read_document, read_file, read_sheet};

/// Keys and columns that say nothing to the computation.
const SILENT: [&str; 5] = ["title", "note", "source", "reference", "pricing"];
/// Keys by which the tables of a list are told apart.
const NAMES: [&str; 3] = ["name", "do", "item"];

/// Everything that is no slot, by key. A file that cannot be read any more says nothing.
pub fn texts(scenario: &Scenario, files: &BTreeSet<PathBuf>) -> BTreeMap<String, String> {
    let mut gather = Gather {
        slots: scenario.slots.iter().map(|(_, input)| input.address.as_str()).collect(),
        lines: BTreeMap::new(),
        texts: BTreeMap::new(),
    };
    gather.rows(scenario);
    for path in files {
        let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default();
        let mut log = Log::default();
        match ending.to_lowercase().as_str() {
            "toml" => {
                let read = read_file(path, &mut log).and_then(|f| read_document(&f, &mut log));
                if let Some(document) = read {
                    gather.node("", &document);
                }
            }
            "csv" => {
                let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
                gather.sheet(path, &name);
            }
            _ => {}
        }
    }
    let closed = scenario.routes.iter().filter_map(|r| Some((&r.name, r.closed.as_ref()?)));
    for (route, reason) in closed {
        gather.texts.insert(format!("route[{route}].closed"), reason.clone());
    }
    gather.texts
}

struct Gather<'s> {
    /// Addresses of all slots.
    slots: BTreeSet<&'s str>,
    /// Address of a row that is read, by file and line, with the columns that are slots.
    lines: BTreeMap<String, (String, BTreeSet<String>)>,
    texts: BTreeMap<String, String>,
}

impl Gather<'_> {
    /// Finds the rows that some slot was read from.
    fn rows(&mut self, scenario: &Scenario) {
        for (_, input) in scenario.slots.iter() {
            let source = scenario.source(input.source);
            let Some((line, column)) = source.split_once(' ') else {
                continue;
            };
            if let Some(row) = input.address.strip_suffix(&format!(".{column}")) {
                let entry = self.lines.entry(line.to_owned());
                let row = entry.or_insert_with(|| (row.to_owned(), BTreeSet::new()));
                row.1.insert(column.to_owned());
            }
        }
    }

    /// True where a slot holds what stands at an address.
    fn is_slot(&self, address: &str) -> bool {
        let ends = [".low", ".likely", ".high"];
        let within = format!("{address}.");
        self.slots.contains(address)
            || ends
                .iter()
                .any(|end| address.strip_suffix(end).is_some_and(|a| self.slots.contains(a)))
            || self.slots.range(within.as_str()..).next().is_some_and(|s| s.starts_with(&within))
    }

    fn node(&mut self, address: &str, node: &Node) {
        match &node.value {
            Value::Table(entries) => {
                for entry in entries {
                    let key = &entry.key;
                    let at =
                        if address.is_empty() { key.clone() } else { format!("{address}.{key}") };
                    // What tells it from others is in the address.
                    let labels = address.ends_with(']') && NAMES.contains(&key.as_str());
                    if !SILENT.contains(&key.as_str()) && !labels {
                        self.node(&at, &entry.node);
                    }
                }
            }
            Value::List(nodes) if nodes.iter().any(|n| matches!(n.value, Value::Table(_))) => {
                // Steps are done in their order; that of parts, routes and supplies says nothing.
                if nodes.iter().all(|node| node.get("do").is_some()) {
                    let names: Vec<String> = nodes.iter().map(name_of).collect();
                    self.texts.insert(address.to_owned(), names.join(", "));
                }
                let mut taken: BTreeMap<String, usize> = BTreeMap::new();
                for node in nodes {
                    let name = name_of(node);
                    let same = taken.entry(name.clone()).or_default();
                    *same += 1;
                    let label = if *same == 1 { name } else { format!("{name}#{same}") };
                    self.node(&format!("{address}[{label}]"), node);
                }
            }
            value if !self.is_slot(address) => {
                self.texts.insert(address.to_owned(), plain(value));
            }
            _ => {}
        }
    }

    /// The cells of the rows that are read.
    fn sheet(&mut self, path: &std::path::Path, name: &str) {
        let mut log = Log::default();
        let sheet = read_file(path, &mut log).and_then(|f| read_sheet(&f, &mut log));
        for (sheet, row) in sheet.iter().flat_map(|s| s.rows.iter().map(move |row| (s, row))) {
            let Some((address, slots)) = self.lines.get(&format!("{name}:{}", row.place.line))
            else {
                continue;
            };
            for column in &sheet.columns {
                let column = column.text.as_str();
                let number = ["_low", "_high"].iter().find_map(|end| column.strip_suffix(end));
                let Some(cell) = sheet.cell(row, column).filter(|_| !SILENT.contains(&column))
                else {
                    continue;
                };
                let mut labels = address.split(['[', ']', '|']);
                let labels = labels.any(|label| label == cell.text);
                if !labels && !slots.contains(number.unwrap_or(column)) {
                    self.texts.insert(format!("{address}.{column}"), cell.text.clone());
                }
            }
        }
    }
}

/// What tells a table of a list from the others; its text where it is none.
fn name_of(node: &Node) -> String {
    let named = NAMES.iter().find_map(|name| node.get(name));
    named.map_or_else(String::new, |entry| plain(&entry.node.value))
}

/// A value as one text.
fn plain(value: &Value) -> String {
    match value {
        Value::Text(text) | Value::Number(text) => text.clone(),
        Value::Bool(flag) => flag.to_string(),
        Value::Time(time) => time.to_string(),
        Value::List(nodes) => {
            nodes.iter().map(|n| plain(&n.value)).collect::<Vec<String>>().join(", ")
        }
        Value::Table(entries) => {
            let pairs = entries.iter().map(|e| format!("{} = {}", e.key, plain(&e.node.value)));
            pairs.collect::<Vec<String>>().join(", ")
        }
    }
}
