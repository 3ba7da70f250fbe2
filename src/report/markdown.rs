//! A view as Markdown: headings, lists and tables of the common dialect (CommonMark with pipe tables).
//!
//! Enters: a [`View`]. Leaves: text that reads well as it is. Names come from files: what Markdown or HTML would take for marks is escaped.

use super::terminal::clean;
use super::{Body, Section, Table, View};

/// The heading of the first section, which has none of its own.
const VERDICT: &str = "Verdict";

/// Lays a view out as Markdown, ending in a line feed.
pub fn markdown(view: &View) -> String {
    let mut text = format!("# {}\n", inline(&view.title));
    for section in &view.sections {
        text.push('\n');
        match &section.body {
            Body::Sentences(said) => sentences(&mut text, section, said),
            Body::Table(table) => pipes(&mut text, table),
            Body::Drawing(lines) => drawing(&mut text, lines),
        }
    }
    text
}

/// A heading, then the sentence, or a list of them.
fn sentences(text: &mut String, section: &Section, said: &[String]) {
    let heading = if section.heading.is_empty() { VERDICT } else { &section.heading };
    text.push_str(&format!("## {}\n\n", inline(heading)));
    for sentence in said {
        text.push_str(&format!("- {}\n", inline(sentence)));
    }
}

/// A table with names to the left and figures to the right.
fn pipes(text: &mut String, table: &Table) {
    let line = |cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|c| inline(c.trim())).collect();
        format!("| {} |\n", cells.join(" | "))
    };
    let words = |at: usize| at == 0 || table.words.contains(&at);
    let rule: Vec<&str> =
        (0..table.head.len()).map(|at| if words(at) { ":--" } else { "--:" }).collect();
    text.push_str(&line(&table.head));
    text.push_str(&format!("|{}|\n", rule.join("|")));
    table.rows.iter().for_each(|row| text.push_str(&line(row)));
}

/// A drawing as it is: lines that are indented by four are not read as marks.
fn drawing(text: &mut String, lines: &[String]) {
    for line in lines {
        text.push_str(format!("    {}", clean(line)).trim_end());
        text.push('\n');
    }
}

/// Text in which nothing is a mark. An underscore inside a word is none.
fn inline(text: &str) -> String {
    let text = clean(text);
    let text = text.trim();
    let mut safe = String::with_capacity(text.len() + 8);
    let mut before = None;
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        let in_word = |other: Option<char>| other.is_some_and(char::is_alphanumeric);
        let mark = match c {
            '_' => !(in_word(before) && in_word(rest.peek().copied())),
            '\\' | '`' | '*' | '[' | ']' | '<' | '>' | '|' | '&' | '~' | '$' => true,
            '#' | '+' | '-' | '=' => before.is_none(),
            // `1. ` and `1) ` begin a list.
            '.' | ')' => {
                let ends = rest.peek().is_none_or(|c| c.is_whitespace());
                ends && before.is_some() && safe.chars().all(|c| c.is_ascii_digit())
            }
            _ => false,
        };
        if mark {
            safe.push('\\');
        }
        safe.push(c);
        before = Some(c);
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_name_is_a_mark() {
        for (from, to) in [
            ("<b>x</b> & y", "\\<b\\>x\\</b\\> \\& y"),
            ("# a", "\\# a"),
            ("1. a", "1\\. a"),
            ("1.5 L", "1.5 L"),
            ("12) a", "12\\) a"),
            ("a. b) 1.5", "a. b) 1.5"),
            ("print_time _x_", "print_time \\_x\\_"),
            ("a|b\nc", "a\\|b c"),
            ("- x - y", "\\- x - y"),
            ("[a](b) `c` *d*", "\\[a\\](b) \\`c\\` \\*d\\*"),
        ] {
            assert_eq!(inline(from), to);
        }
    }

    #[test]
    fn sections_are_headings_lists_and_tables() {
        let table = Table {
            head: ["at 6", "cost", "route"].map(str::to_owned).to_vec(),
            rows: vec![["> A", "12", "bench|x"].map(str::to_owned).to_vec()],
            words: vec![2],
        };
        let sections = [
            Section::sentences("", vec!["Make it.".to_owned()]),
            Section::table(table.head.clone(), table.rows.clone()).map(|s| s.with_words(&[2])),
            Section::sentences("Notes", vec!["one".to_owned(), "two".to_owned()]),
        ];
        let sections = sections.into_iter().flatten().collect();
        let view = View { title: "A & B".to_owned(), sections, lines: 0 };
        assert_eq!(
            markdown(&view),
            "# A \\& B\n\n## Verdict\n\n- Make it.\n\n| at 6 | cost | route |\n|:--|--:|:--|\n\
             | \\> A | 12 | bench\\|x |\n\n## Notes\n\n- one\n- two\n"
        );
    }
}
