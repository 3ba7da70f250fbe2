//! A TOML document as a tree of nodes with places and exact literals.
//!
//! Enters: the text of a scenario. Leaves: a tree in the order of the file, and every syntax error. Numbers stay text: they are read
//! where their meaning is known, and never as binary floating point.

use std::ops::Range;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeInteger, DeTable, DeValue};

use super::lines::Lines;
use super::syntax;
use crate::diag::{Code, Diagnostic, File, Log, Place};

/// Greatest size of a scenario in bytes; a scenario is written by hand.
pub const DOCUMENT_LIMIT: usize = 4 * 1024 * 1024;
/// How deep tables and arrays may lie in each other.
pub const DEPTH_LIMIT: usize = 64;

/// A value with its place.
#[derive(Clone, Debug)]
pub struct Node {
    /// Where it is written.
    pub place: Place,
    /// What it is.
    pub value: Value,
}

/// What a node is.
#[derive(Clone, Debug)]
pub enum Value {
    /// A string.
    Text(String),
    /// An integer or float, as the exact literal without underscores.
    Number(String),
    /// `true` or `false`.
    Bool(bool),
    /// A date, a time or both, as written.
    Time(toml::value::Datetime),
    /// An array.
    List(Vec<Node>),
    /// A table in the order of the file.
    Table(Vec<Entry>),
}

impl Value {
    /// The type in words, for messages about a wrong one: `a text`, `a number`, ...
    pub const fn describe(&self) -> &'static str {
        match self {
            Value::Text(_) => "a text",
            Value::Number(_) => "a number",
            Value::Bool(_) => "true or false",
            Value::Time(_) => "a date or time",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
        }
    }
}

/// One key of a table.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The key.
    pub key: String,
    /// Where the key is written.
    pub key_place: Place,
    /// Its value.
    pub node: Node,
}

impl Node {
    /// The entry of a table with this key; `None` where the node is no table or lacks it.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        match &self.value {
            Value::Table(entries) => entries.iter().find(|entry| entry.key == key),
            _ => None,
        }
    }
}

/// Reads a TOML file. Every syntax error is logged; what could be read is returned. After a syntax error the tree may lack what is
/// there, so a missing key is no finding then. `None` only where the file is too large or too deep.
pub fn read_document(file: &Arc<File>, log: &mut Log) -> Option<Node> {
    let lines = Lines::new(file);
    if file.text.len() > DOCUMENT_LIMIT {
        let message = format!("scenario is larger than {} MB", DOCUMENT_LIMIT / (1024 * 1024));
        log.push(
            Diagnostic::error(Code::TooLarge, &lines.whole(), message)
                .hint("is it the right file?"),
        );
        return None;
    }
    let text = syntax::mended(file, &lines, log);
    let (table, _) = DeTable::parse_recoverable(&text);
    let mut walk = Walk { lines: &lines, too_deep: None };
    let value = walk.table(table.get_ref(), 0);
    if let Some(place) = walk.too_deep {
        let message = format!("tables and arrays lie more than {DEPTH_LIMIT} deep in each other");
        log.push(
            Diagnostic::error(Code::TooLarge, &place, message)
                .hint("a scenario needs less than ten levels"),
        );
        return None;
    }
    Some(Node { place: lines.whole(), value })
}

struct Walk<'a> {
    lines: &'a Lines,
    /// The first place that lies too deep.
    too_deep: Option<Place>,
}

impl Walk<'_> {
    fn table(&mut self, table: &DeTable<'_>, depth: usize) -> Value {
        let mut pairs: Vec<_> = table.iter().collect();
        // The parser keeps keys in alphabetical order.
        pairs.sort_by_key(|(key, _)| key.span().start);
        let entries =
            pairs.into_iter().filter(|(_, value)| is_readable(value)).map(|(key, value)| {
                let key_place = self.lines.place(key.span());
                let node = self.node(value, &key_place, depth + 1);
                Entry { key: key.get_ref().to_string(), key_place, node }
            });
        Value::Table(entries.collect())
    }

    /// What the parser put in place of something unreadable has no span; it gets the place of its owner.
    fn node(&mut self, value: &Spanned<DeValue<'_>>, owner: &Place, depth: usize) -> Node {
        let span: Range<usize> = value.span();
        let place = if span.is_empty() { owner.clone() } else { self.lines.place(span) };
        if depth > DEPTH_LIMIT {
            self.too_deep.get_or_insert_with(|| place.clone());
            return Node { place, value: Value::List(Vec::new()) };
        }
        let value = match value.get_ref() {
            DeValue::String(text) => Value::Text(text.to_string()),
            DeValue::Integer(integer) => Value::Number(integer_literal(integer)),
            DeValue::Float(float) => Value::Number(float.as_str().to_string()),
            DeValue::Boolean(truth) => Value::Bool(*truth),
            DeValue::Datetime(time) => Value::Time(*time),
            DeValue::Array(array) => {
                let items = array.iter().filter(|item| is_readable(item));
                Value::List(items.map(|item| self.node(item, &place, depth + 1)).collect())
            }
            DeValue::Table(table) => self.table(table, depth),
        };
        Node { place, value }
    }
}

/// A date that could not be read has been reported; it is left out of the tree, so that it is not reported twice.
fn is_readable(value: &Spanned<DeValue<'_>>) -> bool {
    !matches!(value.get_ref(), DeValue::Datetime(time) if time.date.is_none() && time.time.is_none())
}

/// The decimal digits of an integer; one in another base is converted.
fn integer_literal(integer: &DeInteger<'_>) -> String {
    if integer.radix() == 10 {
        return integer.as_str().to_string();
    }
    i128::from_str_radix(integer.as_str(), integer.radix())
        .map_or_else(|_| integer.to_string(), |value| value.to_string())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> (Option<Node>, Log) {
        let mut log = Log::default();
        let node = read_document(
            &Arc::new(File { path: "scenario.toml".into(), text: text.into() }),
            &mut log,
        );
        (node, log)
    }

    fn good(text: &str) -> Node {
        let (node, log) = read(text);
        assert!(log.found.is_empty(), "{:?}", log.found);
        node.unwrap()
    }

    #[test]
    fn keys_come_in_the_order_of_the_file_with_places() {
        let root = good(
            "title = \"µ\"\n[iterations]\nplanned = 6\n[[part]]\nname = \"b\"\n[[part]]\nname = \"a\"\n[hours]\n",
        );
        let Value::Table(entries) = &root.value else { panic!("no table") };
        let keys: Vec<&str> = entries.iter().map(|e| e.key.as_str()).collect();
        assert_eq!(keys, ["title", "iterations", "part", "hours"]);
        let planned = root.get("iterations").unwrap().node.get("planned").unwrap();
        assert_eq!(
            (planned.key_place.line, planned.key_place.column, planned.node.place.column),
            (3, 1, 11)
        );
        let Value::List(parts) = &root.get("part").unwrap().node.value else { panic!("no list") };
        assert_eq!(parts.iter().map(|p| p.place.line).collect::<Vec<_>>(), [4, 6]);
    }

    #[test]
    fn numbers_keep_their_literal() {
        let root = good("a = 148.00\nb = 1_000\nc = 0x1F\nd = 6.0e-3\ne = inf\nf = -0.10\n");
        let literal = |key: &str| match &root.get(key).unwrap().node.value {
            Value::Number(text) => text.clone(),
            other => panic!("{other:?}"),
        };
        let literals = ["a", "b", "c", "d", "e", "f"].map(literal);
        assert_eq!(literals, ["148.00", "1000", "31", "6.0e-3", "inf", "-0.10"]);
    }

    #[test]
    fn dates_and_inline_tables() {
        let root = good(
            "start = 2026-03-02T09:00:00\nn = { low = 4, high = 12 }\nclosed = [2026-04-03]\n",
        );
        assert!(matches!(root.get("start").unwrap().node.value, Value::Time(_)));
        assert!(root.get("n").unwrap().node.get("high").is_some());
    }

    #[test]
    fn depth_is_limited_where_arrays_dotted_keys_or_headers_nest() {
        let arrays = |n: usize| format!("a = {}{}\n", "[".repeat(n), "]".repeat(n));
        assert!(read(&arrays(60)).1.found.is_empty());
        let dotted = format!("{}a = 1\n", "a.".repeat(70));
        for text in [arrays(70), dotted, arrays(5_000)] {
            let (_, log) = read(&text);
            assert!(log.has_errors());
        }
        assert!(read(&arrays(70)).1.found.iter().any(|d| d.code == Code::TooLarge));
    }

    #[test]
    fn too_large_is_refused() {
        let (node, log) = read(&"# x\n".repeat(DOCUMENT_LIMIT / 4 + 1));
        assert!(node.is_none());
        assert_eq!(log.found[0].code, Code::TooLarge);
    }

    proptest! {
        #[test]
        fn arbitrary_text_never_panics(text in "\\PC{0,80}") {
            read(&text);
        }

        #[test]
        fn arbitrary_toml_like_text_never_panics(text in "([a-c]{1,2}|[\\[\\]{}=.,\"'#\n \\\\]|[0-9]{1,3}|µ|\"\"\"|\r\n|true|2026-02-3|:|-|_|e){0,40}") {
            let (node, log) = read(&text);
            prop_assert!(node.is_some() || log.has_errors());
        }
    }
}
