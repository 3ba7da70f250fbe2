//! The user's own files with what a record has taught put in the place of what was planned with; nothing else is touched.
//!
//! Enters: a scenario that goes on from a record, and its document. Leaves: new texts of the files concerned, by name, and what has to be
//! changed by hand. Nothing is written here.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use super::filled::{Edit, added, edited, owner_of};
use crate::diag::{File, Place};
use crate::input::{Node, Value};
use crate::model::{Changed, Dim, Exact, Input, Scenario};

/// Files with what was learnt in them.
#[derive(Clone, Debug, Default)]
pub struct Taught {
    /// Texts by file name.
    pub files: Vec<(String, String)>,
    /// Numbers changed.
    pub count: usize,
    /// What has to be changed by hand, in words.
    pub by_hand: Vec<String>,
}

/// Puts what was learnt into the files it is written in. `file` is the scenario's own, read as `document`.
pub fn taught(scenario: &Scenario, (file, document): (&Arc<File>, &Node)) -> Taught {
    let mut edits: BTreeMap<String, (Arc<File>, Vec<Edit>)> = BTreeMap::new();
    let mut result = Taught::default();
    let learned = scenario.past.iter().flat_map(|past| &past.learned);
    for change in learned.flat_map(|l| &l.changes) {
        let input = scenario.slots.get(change.slot);
        let place = scenario.places.get(input.source.0 as usize).and_then(Option::as_ref);
        let found = match place {
            Some(place) => stated(place, document, (input, change)).map(|e| (&place.file, e)),
            None => assumed(file, document, (input, change)).map(|e| (file, vec![e])),
        };
        match found {
            Some((file, new)) => {
                let of_file = edits.entry(file.path.clone());
                of_file.or_insert_with(|| (Arc::clone(file), Vec::new())).1.extend(new);
                result.count += 1;
            }
            None => result.by_hand.push(format!(
                "{}: {} in place of {}",
                input.address,
                literal("", input.dim, change.new),
                literal("", input.dim, change.old)
            )),
        }
    }
    for (path, (file, edits)) in edits {
        let name =
            Path::new(&path).file_name().map_or(path.clone(), |n| n.to_string_lossy().into());
        result.files.push((name, edited(&file.text, edits)));
    }
    result
}

/// A number where it is written. Of a range all three are changed; in a sheet that is left to the user, since they stand in other cells.
fn stated(
    place: &Place,
    document: &Node,
    (input, change): (&Input, &Changed),
) -> Option<Vec<Edit>> {
    let text = place.file.text.get(place.span.clone())?;
    let new = |old: &str, value: Exact| literal(old, input.dim, value);
    let own = (place.span.clone(), new(text, change.new));
    if place.cell.is_some() {
        return (input.low == input.high).then(|| vec![own]);
    }
    let Some(range) = range_with(document, &place.span) else {
        return Some(vec![own]);
    };
    let ends = [("low", input.low), ("high", input.high)].into_iter().filter_map(|(key, value)| {
        let span = range.get(key)?.node.place.span.clone();
        let old = place.file.text.get(span.clone())?;
        Some((span, new(old, value)))
    });
    Some(ends.chain([own]).collect())
}

/// The table of a range whose likely value stands here.
fn range_with<'d>(node: &'d Node, span: &Range<usize>) -> Option<&'d Node> {
    match &node.value {
        Value::Table(entries) => {
            let here = node.get("likely").is_some_and(|e| e.node.place.span == *span);
            if here {
                return Some(node);
            }
            entries.iter().find_map(|e| range_with(&e.node, span))
        }
        Value::List(nodes) => nodes.iter().find_map(|n| range_with(n, span)),
        _ => None,
    }
}

/// A number nobody stated becomes a key of its table.
fn assumed(file: &File, document: &Node, (input, change): (&Input, &Changed)) -> Option<Edit> {
    let (owner, key) = input.address.rsplit_once('.')?;
    let table = owner_of(document, owner)?;
    if table.get(key).is_some() {
        return None;
    }
    added(&file.text, table, key, &literal("\"", input.dim, change.new), " # from the record")
}

/// A number as it is written in the place of another one: with quotes where that has some, and in its unit where it is one of time.
fn literal(old: &str, dim: Dim, value: Exact) -> String {
    let quote = if old.starts_with('"') { "\"" } else { "" };
    let plain = |value: Exact| value.half_away(6).to_string();
    match dim {
        Dim::Time if old.trim_matches('"').ends_with('h') => {
            format!("{quote}{} h{quote}", plain(value / Exact::from(3600i64)))
        }
        Dim::Time if value >= Exact::from(120i64) => {
            format!("{quote}{} min{quote}", plain(value / Exact::from(60i64)))
        }
        Dim::Time | Dim::Pace => format!("{quote}{} s{quote}", plain(value)),
        Dim::Volume => format!("{quote}{} mL{quote}", plain(value)),
        _ => plain(value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_dress() {
        let new = |old, dim, value: i64| literal(old, dim, Exact::from(value));
        assert_eq!(new("\"2.2 h\"", Dim::Time, 5_400), "\"1.5 h\"");
        assert_eq!(new("\"15 min\"", Dim::Time, 930), "\"15.5 min\"");
        assert_eq!(new("9 s", Dim::Time, 11), "11 s");
        assert_eq!(new("2 s", Dim::Pace, 1), "1 s");
        assert_eq!(new("\"10 mL\"", Dim::Volume, 9), "\"9 mL\"");
        assert_eq!(new("0.12", Dim::Share, 1), "1");
    }

    #[test]
    fn edits_stand_in_the_order_of_the_text() {
        let edits = vec![(4..5, "5".to_owned()), (0..1, "1".to_owned())];
        assert_eq!(edited("a = b", edits), "1 = 5");
    }
}
