//! What a TOML syntax error most likely means to the person who wrote the file.
//!
//! Enters: the text of a scenario. Leaves: the text with unreadable lines put right, so that the rest can be read, and one finding for
//! each line that has any. A slip in a value that the parser can only call a syntax error (a decimal comma, a unit without quotes, a
//! day that does not exist) is named as what it is.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use super::lines::Lines;
use super::{NumberProblem, Quantity, read_date, read_moment, read_quantity};
use crate::diag::{Code, Diagnostic, File, Log};

/// How often the text is mended and read again.
const ROUNDS: usize = 16;

/// Logs every syntax error and returns a text of the same length in which the lines that can be mended are. The parser gives up at some
/// errors and would hide all that stand behind them; so each unreadable value is replaced and the text read again.
pub(super) fn mended(file: &Arc<File>, lines: &Lines, log: &mut Log) -> String {
    let mut text = file.text.clone();
    let mut seen = BTreeSet::new();
    for _ in 0..ROUNDS {
        let fresh = first_errors(&text, lines, &mut seen);
        let mut again = false;
        for (line, span, message) in fresh {
            if let Some(instead) = mend(&file.text[line.clone()]) {
                text.replace_range(line.clone(), &instead);
                again = true;
            }
            log.push_broken(finding(file, lines, line, span, &message));
        }
        if !again {
            break;
        }
    }
    text
}

type Found = (Range<usize>, Range<usize>, String);

/// The first error of each line that had none before: what follows on a line is most often caused by it.
fn first_errors(text: &str, lines: &Lines, seen: &mut BTreeSet<usize>) -> Vec<Found> {
    let (_, errors) = DeTable::parse_recoverable(text);
    let located = errors
        .iter()
        .map(|error| (error.span().unwrap_or(text.len()..text.len()), error.message()));
    let mut found: Vec<(Range<usize>, &str)> = located.collect();
    found.sort_by_key(|(span, _)| span.start);
    let with_line = found
        .into_iter()
        .map(|(span, message)| (lines.line_at(span.start), span, message.to_string()));
    with_line.filter(|(line, ..)| seen.insert(line.start)).collect()
}

/// A line of the same length that can be read: the value replaced by 0, or a lone word by blanks. `None` where the slip is not in this
/// line alone, or where mending would move what follows into another table.
fn mend(line: &str) -> Option<String> {
    let is_key = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.' | ' ' | '\t');
    let padded = |start: &str| start.to_string() + &" ".repeat(line.len() - start.len());
    let Some((key, value)) = line.split_once('=') else {
        let is_word = !line.trim().is_empty() && line.chars().all(is_key);
        return is_word.then(|| padded(""));
    };
    let value = value.trim();
    let goes_on =
        value.starts_with(['[', '{']) || value.starts_with("\"\"\"") || value.starts_with("'''");
    let readable = DeValue::parse(value.split(" #").next().unwrap_or_default().trim()).is_ok();
    if key.trim().is_empty() || !key.chars().all(is_key) || value.is_empty() || goes_on || readable
    {
        return None;
    }
    Some(padded(&format!("{key}=0")))
}

fn finding(
    file: &Arc<File>,
    lines: &Lines,
    line: Range<usize>,
    span: Range<usize>,
    message: &str,
) -> Diagnostic {
    if message == "duplicate key" {
        let key = file.text.get(span.clone()).unwrap_or_default().trim();
        let message = format!("`{key}` is given twice");
        let hint = "keep one; a second part, route or bath starts with its own `[[part]]`, `[[route]]` or `[[bath]]`";
        return Diagnostic::error(Code::DuplicateKey, &lines.place(span), message).hint(hint);
    }
    for range in candidates(&file.text, &line, span.start) {
        let value = file.text.get(range.clone()).unwrap_or_default();
        if let Some(problem) = slip(value) {
            return problem.at(&lines.place(range));
        }
    }
    let place = lines.place(shown_span(&file.text, &line, span));
    Diagnostic::error(Code::TomlSyntax, &place, format!("not TOML: {message}"))
        .hint(general_hint(message, &file.text[line]))
}

fn general_hint(message: &str, line: &str) -> &'static str {
    if line.trim_start().starts_with('[') {
        "a table's name stands alone on its line, with as many closing brackets as opening ones: `[hours]`, `[[part]]`"
    } else if message.contains("must be quoted") {
        "put a text, or a number with a unit, in double quotes"
    } else if message.contains("string") {
        "close the text with the quote it starts with; inside double quotes a backslash is written twice"
    } else if message.contains("unclosed") {
        "every opening bracket needs its closing one, and every text its closing quote"
    } else if message.contains("recurs") {
        "a scenario needs less than ten levels"
    } else {
        "write one `key = value` a line; text and numbers with a unit in double quotes, plain numbers without"
    }
}

/// An empty span, as at the end of a line, is widened to the last character before it so that there is something to point at.
fn shown_span(text: &str, line: &Range<usize>, span: Range<usize>) -> Range<usize> {
    if !span.is_empty() || span.start <= line.start {
        return span;
    }
    let before = text.get(line.start..span.start).unwrap_or_default();
    before.chars().next_back().map_or(span.clone(), |c| span.start - c.len_utf8()..span.start)
}

/// Where the value with the slip may stand: the rest of the line after its `=`, else what lies round the error between the `=` before
/// it and the next comma or bracket.
fn candidates(text: &str, line: &Range<usize>, at: usize) -> Vec<Range<usize>> {
    let body = &text[line.clone()];
    if body.trim_start().starts_with('[') {
        return Vec::new();
    }
    let mut found = Vec::new();
    if let Some(equals) = body.find('=') {
        let rest = &body[equals + 1..];
        let end = rest.find(" #").unwrap_or(rest.len());
        if !rest.trim_start().starts_with(['"', '\'', '[', '{']) {
            found.push(trimmed(text, line.start + equals + 1..line.start + equals + 1 + end));
        }
    }
    let before = text.get(line.start..at).unwrap_or_default();
    if let Some(start) = before.rfind(['=', '[']) {
        let start = line.start + start + 1;
        let rest = &text[start..line.end];
        // A decimal comma inside an inline table: digits on both sides.
        for stop in [&[']', '}'][..], &[',', ']', '}'][..]] {
            let end = rest.find(stop).unwrap_or(rest.len());
            found.push(trimmed(text, start..start + end));
        }
    }
    found
}

fn trimmed(text: &str, range: Range<usize>) -> Range<usize> {
    let part = text.get(range.clone()).unwrap_or_default();
    let start = range.start + (part.len() - part.trim_start().len());
    start..start + part.trim().len()
}

/// What an unreadable bare value was most likely meant to be.
fn slip(value: &str) -> Option<NumberProblem> {
    let syntax = |message: String, hint: String| {
        Some(NumberProblem { code: Code::TomlSyntax, message, hint })
    };
    let first = value.chars().next()?;
    if looks_like_date(value) {
        return read_moment(value).err();
    }
    if first.is_ascii_digit() || matches!(first, '-' | '+' | '.') {
        return match read_quantity(value) {
            Ok(Quantity::Bare(_)) => None,
            Ok(_) => syntax(
                format!("number with a unit without quotes: `{value}`"),
                format!("write `\"{value}\"`"),
            ),
            Err(problem)
                if matches!(problem.code, Code::DecimalComma | Code::ThousandsSeparator) =>
            {
                Some(problem)
            }
            Err(_) if is_plain_word(value) => {
                syntax(format!("text without quotes: `{value}`"), format!("write `\"{value}\"`"))
            }
            Err(_) => None,
        };
    }
    if !first.is_alphabetic() || !is_plain_word(value) {
        return None;
    }
    match value.to_lowercase().as_str() {
        "true" | "yes" | "on" => {
            syntax(format!("expected true or false, found `{value}`"), "write `true`".into())
        }
        "false" | "no" | "off" => {
            syntax(format!("expected true or false, found `{value}`"), "write `false`".into())
        }
        _ => syntax(format!("text without quotes: `{value}`"), format!("write `\"{value}\"`")),
    }
}

/// A text with letters and without anything that has a meaning in TOML.
fn is_plain_word(value: &str) -> bool {
    value.contains(char::is_alphabetic) && !value.contains(['"', '\'', ',', '=', '{', '['])
}

/// Three groups of digits with points, slashes or hyphens between, or an ISO date with something after it.
fn looks_like_date(value: &str) -> bool {
    let day = value.split(['T', ' ']).next().unwrap_or_default();
    let groups: Vec<&str> = day.split(['.', '/', '-']).collect();
    let digits =
        |group: &&str| (1..=4).contains(&group.len()) && group.bytes().all(|b| b.is_ascii_digit());
    groups.len() == 3 && groups.iter().all(digits) && !(day.contains('.') && read_date(day).is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::read_document;

    fn findings(text: &str) -> Vec<(Code, usize, usize, String, String)> {
        let file = Arc::new(File { path: "scenario.toml".into(), text: text.into() });
        let mut log = Log::default();
        read_document(&file, &mut log);
        let row = |d: Diagnostic| {
            let place = d.place.unwrap();
            (d.code, place.line, place.column, d.message, d.hint.unwrap_or_default())
        };
        log.found.into_iter().map(row).collect()
    }

    fn only(text: &str) -> (Code, usize, usize, String, String) {
        let mut all = findings(text);
        assert_eq!(all.len(), 1, "{text}: {all:?}");
        all.remove(0)
    }

    #[test]
    fn slips_in_values_are_named() {
        for (text, code, hint) in [
            ("piece = 148,00\n", Code::DecimalComma, "write `148.00`"),
            ("piece = 1,5 # each\n", Code::DecimalComma, "write `1.5`"),
            ("budget = 1,200,000\n", Code::ThousandsSeparator, "write `1200000`"),
            ("volume = 92 cm3\n", Code::TomlSyntax, "write `\"92 cm3\"`"),
            ("steps = [ { attended = 15 min } ]\n", Code::TomlSyntax, "write `\"15 min\"`"),
            ("steps = [ { spoil = 0,1 } ]\n", Code::DecimalComma, "write `0.1`"),
            ("title = river sonde\n", Code::TomlSyntax, "write `\"river sonde\"`"),
            (
                "must = { hardness = 60A..80A, opaque = true }\n",
                Code::TomlSyntax,
                "write `\"60A..80A\"`",
            ),
            ("opaque = yes\n", Code::TomlSyntax, "write `true`"),
            ("start = 2026-02-30\n", Code::BadDate, "2026-02 has 28 days"),
            (
                "due = 24.04.2026\n",
                Code::BadDate,
                "write four, two and two digits: `2026-03-02` is the second of March",
            ),
        ] {
            let found = only(text);
            assert_eq!((found.0, found.4.as_str()), (code, hint), "{text}");
        }
    }

    #[test]
    fn a_slip_in_a_table_name_is_not_taken_for_a_value() {
        let found = only("[[route]\nname = \"a\"\n");
        assert_eq!((found.0, found.1), (Code::TomlSyntax, 1));
        assert!(found.4.contains("closing brackets"), "{}", found.4);
    }

    #[test]
    fn a_key_given_twice_points_at_the_second() {
        let found = only("a = 1\nb = 2\na = 3\n");
        assert_eq!((found.0, found.1, found.2), (Code::DuplicateKey, 3, 1));
        let found = only("[hours]\n[hours]\n");
        assert_eq!((found.0, found.1), (Code::DuplicateKey, 2));
    }

    #[test]
    fn all_lines_are_reported_in_one_pass() {
        let text = "a = 1,5\nb = \"x\"\nc = 3 mm\nd\ne = \"open\nf = 2026-13-01\n";
        let lines: Vec<usize> = findings(text).iter().map(|f| f.1).collect();
        assert_eq!(lines, [1, 3, 4, 5, 6]);
        let text = "title = \"x\nlabour\n[iterations]\nplanned = 6,5\n[[part]]\nname = collar\nvolume = 92 cm3\n";
        let lines: Vec<usize> = findings(text).iter().map(|f| f.1).collect();
        assert_eq!(lines, [1, 2, 4, 6, 7]);
    }

    #[test]
    fn good_lines_of_a_bad_file_are_kept() {
        let file =
            Arc::new(File { path: "s".into(), text: "a = 1,5\nb = \"x\"\n[t]\nc = 2\n".into() });
        let root = read_document(&file, &mut Log::default()).unwrap();
        assert!(root.get("b").is_some());
        assert!(root.get("t").unwrap().node.get("c").is_some());
    }
}
