//! The scenario as its file has it, with every assumption spelled out, ready to edit.
//!
//! Enters: the file's text and the scenario it became. Leaves: the text with lines added and nothing else touched; it gives the same
//! answer.

use std::ops::Range;

use super::{AssumedLine, all_assumed};
use crate::input::{Entry, Node, Value};
use crate::model::{Hours, Scenario};

/// What marks a line that was added.
const MARK: &str = " # assumed";

/// A stretch of the text and what stands in its place; where several begin at one place, the first comes first.
pub(super) type Edit = (Range<usize>, String);

/// Spells out what was assumed. `document` is what the text was read as.
pub fn filled(text: &str, document: &Node, scenario: &Scenario) -> String {
    let mut edits = Vec::new();
    edits.extend(wishes(text, document, scenario));
    edits.extend(count(document, scenario));
    if let Some(table) = document.get("iterations").filter(|t| t.node.get("horizon").is_none()) {
        let horizon = scenario.iterations.horizon.to_string();
        edits.extend(added(text, &table.node, "horizon", &horizon, MARK));
    }
    for line in all_assumed(scenario) {
        edits.extend(spelled(text, document, &line));
    }
    let mut result = edited(text, edits);
    if document.get("hours").is_none() {
        result.push_str(&hours(&scenario.hours));
    }
    result
}

/// A text with its edits carried out.
pub(super) fn edited(text: &str, mut edits: Vec<Edit>) -> String {
    edits.sort_by_key(|(range, _)| range.start);
    let mut result = String::with_capacity(text.len() + 1024);
    let mut at = 0;
    for (range, new) in edits {
        result.push_str(text.get(at..range.start).unwrap_or_default());
        result.push_str(&new);
        at = at.max(range.end);
    }
    result.push_str(text.get(at..).unwrap_or_default());
    result
}

/// The shares a verdict is held against stand on top, before any table.
fn wishes(text: &str, document: &Node, scenario: &Scenario) -> Vec<Edit> {
    let Value::Table(entries) = &document.value else {
        return Vec::new();
    };
    let first = entries.iter().map(|e| line_start(text, e.key_place.span.start)).min().unwrap_or(0);
    [("sure", scenario.sure), ("close", scenario.close)]
        .into_iter()
        .filter(|(key, _)| document.get(key).is_none())
        .map(|(key, slot)| {
            (first..first, format!("{key} = {}{MARK}\n", scenario.slots.likely(slot)))
        })
        .collect()
}

/// A bare count of iterations has a range.
fn count(document: &Node, scenario: &Scenario) -> Option<Edit> {
    let entry = document.get("iterations")?.node.get("planned")?;
    let input = scenario.slots.get(scenario.iterations.planned);
    let bare = matches!(entry.node.value, Value::Number(_)) && input.low < input.high;
    let range = [input.low, input.likely, input.high].map(|v| v.to_string());
    bare.then(|| (entry.node.place.span.clone(), table_of(&range)))
}

/// An assumed number, put where its address says.
fn spelled(text: &str, document: &Node, line: &AssumedLine) -> Option<Edit> {
    let (owner, key) = line.address.rsplit_once('.')?;
    let table = owner_of(document, owner)?;
    let value = value_of(line);
    match table.get(key) {
        // A word such as `fill = "solid"` stands for the number.
        Some(entry) => Some((entry.node.place.span.clone(), value)),
        None => added(text, table, key, &value, MARK),
    }
}

/// The table of an address: `iterations`, `route[my bench]`.
pub(super) fn owner_of<'d>(document: &'d Node, address: &str) -> Option<&'d Node> {
    let Some((kind, name)) = address.strip_suffix(']').and_then(|a| a.split_once('[')) else {
        return document.get(address).map(|e| &e.node);
    };
    let Value::List(tables) = &document.get(kind)?.node.value else {
        return None;
    };
    let is_named = |e: &Entry| matches!(&e.node.value, Value::Text(text) if text == name);
    tables.iter().find(|t| t.get("name").is_some_and(is_named))
}

/// A key added to a table: below its header, or first inside its braces.
pub(super) fn added(text: &str, table: &Node, key: &str, value: &str, mark: &str) -> Option<Edit> {
    let start = table.place.span.start;
    match text.as_bytes().get(start)? {
        b'[' => {
            let end = text[start..].find('\n').map_or(text.len(), |at| start + at + 1);
            let gap = if text[..end].ends_with('\n') { "" } else { "\n" };
            Some((end..end, format!("{gap}{key} = {value}{mark}\n")))
        }
        b'{' => Some((start + 1..start + 1, format!(" {key} = {value},"))),
        _ => None,
    }
}

fn line_start(text: &str, at: usize) -> usize {
    text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1)
}

/// One value, or all three where they differ.
fn value_of(line: &AssumedLine) -> String {
    let one = |value: &str| {
        if line.unit.is_empty() { value.to_owned() } else { format!("\"{value} {}\"", line.unit) }
    };
    if line.low == line.high {
        return one(&line.likely);
    }
    table_of(&[&line.low, &line.likely, &line.high].map(|v| one(v)))
}

fn table_of([low, likely, high]: &[String; 3]) -> String {
    format!("{{ low = {low}, likely = {likely}, high = {high} }}")
}

fn hours(hours: &Hours) -> String {
    const NAMES: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
    let days: Vec<String> = NAMES
        .iter()
        .zip(hours.calendar.days)
        .filter(|(_, open)| *open)
        .map(|(d, _)| format!("\"{d}\""))
        .collect();
    let time = |second: i64| format!("{:02}:{:02}", second / 3_600, second % 3_600 / 60);
    let open: Vec<String> =
        hours.spans.iter().map(|&(from, to)| format!("\"{}-{}\"", time(from), time(to))).collect();
    format!("\n[hours]{MARK}\ndays = [{}]\nopen = [{}]\n", days.join(", "), open.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_equal_values_are_one() {
        let line = |low: &str, unit| AssumedLine {
            address: "route[a].supports".to_owned(),
            low: low.to_owned(),
            likely: "0.25".to_owned(),
            high: "0.25".to_owned(),
            unit,
        };
        assert_eq!(value_of(&line("0.25", "")), "0.25");
        assert_eq!(value_of(&line("0.15", "")), "{ low = 0.15, likely = 0.25, high = 0.25 }");
        assert_eq!(
            value_of(&line("0.15", "mL")),
            "{ low = \"0.15 mL\", likely = \"0.25 mL\", high = \"0.25 mL\" }"
        );
    }

    #[test]
    fn a_line_starts_after_the_last_feed() {
        assert_eq!(line_start("ab\ncd", 4), 3);
        assert_eq!(line_start("ab", 1), 0);
    }

    #[test]
    fn hours_are_written_as_they_are_read() {
        let hours_of = Hours {
            calendar: crate::model::Calendar::weekdays(),
            spans: vec![(9 * 3_600, 17 * 3_600 + 1_800)],
        };
        assert_eq!(
            hours(&hours_of),
            "\n[hours] # assumed\ndays = [\"Mon\", \"Tue\", \"Wed\", \"Thu\", \"Fri\"]\nopen = [\"09:00-17:30\"]\n"
        );
    }
}
