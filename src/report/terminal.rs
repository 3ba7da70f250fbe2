//! A view as text for a terminal: sentences wrapped, tables aligned, nothing told by colour alone.

use std::fmt::Write;

use anstyle::{Effects, Style};
use tabled::builder::Builder;
use tabled::grid::util::string::get_line_width;
use tabled::settings::object::{Columns, Object, Rows};
use tabled::settings::peaker::Priority;
use tabled::settings::{Alignment, Padding, Style as Lines, Width};

use super::{Body, Section, Table, View};

/// Columns where the output is no terminal.
pub const USUAL_WIDTH: usize = 100;
/// The narrowest width that is laid out for.
const LEAST_WIDTH: usize = 40;
/// What marks headings; the stream takes it away where colour is not wanted.
const STRONG: Style = Style::new().effects(Effects::BOLD);
/// Lines after the first of a sentence are indented by so much.
const HANG: usize = 2;

/// Lays a view out in so many columns. Headings carry escape sequences for bold, to be stripped by the stream.
pub fn terminal(view: &View, width: usize) -> String {
    let width = width.max(LEAST_WIDTH);
    let airy = laid_out(view, width, true);
    if airy.lines().count() <= view.lines {
        return airy;
    }
    let mut view = view.clone();
    loop {
        let text = laid_out(&view, width, false);
        if text.lines().count() <= view.lines || !spare_one(&mut view) {
            return text;
        }
    }
}

/// Leaves out the last sentence that can be spared; false if there is none.
fn spare_one(view: &mut View) -> bool {
    for section in view.sections.iter_mut().rev() {
        if let Body::Sentences(said) = &mut section.body
            && said.len() > section.least
        {
            said.pop();
            return true;
        }
    }
    false
}

fn laid_out(view: &View, width: usize, gaps: bool) -> String {
    let mut text = String::new();
    for line in wrapped(&clean(&view.title), width, 0) {
        strong(&mut text, &line);
        text.push('\n');
    }
    for (at, section) in view.sections.iter().enumerate() {
        // The verdict stands apart in any case.
        if !section.close && (gaps || at == 1) {
            text.push('\n');
        }
        match &section.body {
            Body::Sentences(said) => sentences(&mut text, section, said, width),
            Body::Table(table) => text.push_str(&table_text(table, width)),
            Body::Drawing(lines) => lines.iter().for_each(|line| {
                text.push_str(clean(line).trim_end());
                text.push('\n');
            }),
        }
    }
    text
}

/// Names come from files: no control character of theirs reaches the terminal.
pub(super) fn clean(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn strong(text: &mut String, what: &str) {
    // Writing to a string cannot fail.
    let _ = write!(text, "{STRONG}{what}{STRONG:#}");
}

/// A heading with the first sentence on its line; further sentences below it, indented.
fn sentences(text: &mut String, section: &Section, said: &[String], width: usize) {
    let heading = clean(&section.heading);
    let lead = if heading.is_empty() { String::new() } else { format!("{heading}:") };
    for (at, sentence) in said.iter().enumerate() {
        let before = match at {
            0 if !lead.is_empty() => format!("{lead} "),
            _ if lead.is_empty() => String::new(),
            _ => " ".repeat(HANG),
        };
        let hang = if at == 0 || lead.is_empty() { HANG } else { 2 * HANG };
        for (n, line) in
            wrapped(&format!("{before}{}", clean(sentence)), width, hang).iter().enumerate()
        {
            match line.strip_prefix(&lead) {
                Some(rest) if (at, n) == (0, 0) && !lead.is_empty() => {
                    strong(text, &lead);
                    text.push_str(rest);
                }
                _ => text.push_str(line),
            }
            text.push('\n');
        }
    }
}

/// Breaks a text at blanks into lines of at most `width` columns; lines after the first are indented. A longer word is cut.
pub(super) fn wrapped(text: &str, width: usize, hang: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let leading = text.len() - text.trim_start_matches(' ').len();
    let mut line = " ".repeat(leading);
    let mut used = leading;
    let mut fresh = true;
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        for piece in pieces(word, width - hang) {
            let needs = get_line_width(&piece);
            if !fresh && used + 1 + needs > width {
                lines.push(std::mem::replace(&mut line, " ".repeat(hang)));
                used = hang;
                fresh = true;
            }
            if !fresh {
                line.push(' ');
                used += 1;
            }
            line.push_str(&piece);
            used += needs;
            fresh = false;
        }
    }
    lines.push(line);
    lines
}

/// A word as it is, or cut into pieces that fit.
fn pieces(word: &str, width: usize) -> Vec<String> {
    if get_line_width(word) <= width {
        return vec![word.to_owned()];
    }
    let chars: Vec<char> = word.chars().collect();
    // Half as many characters as columns fit even where each is two columns wide.
    chars.chunks((width / 2).max(1)).map(|c| c.iter().collect()).collect()
}

/// Names to the left, figures to the right, two columns between; what is too wide is wrapped.
fn table_text(table: &Table, width: usize) -> String {
    let mut builder = Builder::default();
    for row in std::iter::once(&table.head).chain(&table.rows) {
        builder.push_record(row.iter().map(|cell| clean(cell)));
    }
    let mut laid = builder.build();
    laid.with(Lines::empty())
        .with(Padding::zero())
        .modify(Columns::new(1..), Padding::new(2, 0, 0, 0))
        .modify(Columns::new(1..).not(Rows::new(..0)), Alignment::right());
    for &column in &table.words {
        laid.modify(Columns::one(column).not(Rows::new(..0)), Alignment::left());
    }
    laid.with(Width::wrap(width).keep_words(true).priority(Priority::max(true)));
    let mut text = String::new();
    for (at, line) in laid.to_string().lines().enumerate() {
        let line = line.trim_end();
        if at == 0 {
            strong(&mut text, line);
        } else {
            text.push_str(line);
        }
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_blanks_and_hang() {
        assert_eq!(wrapped("one two three four", 9, 2), ["one two", "  three", "  four"]);
        assert_eq!(wrapped("  a bb", 10, 4), ["  a bb"]);
        assert_eq!(wrapped("", 10, 2), [""]);
    }

    #[test]
    fn a_word_longer_than_the_line_is_cut() {
        let lines = wrapped(&"x".repeat(25), 10, 2);
        assert!(lines.iter().all(|l| l.len() <= 10), "{lines:?}");
        assert_eq!(lines.concat().replace(' ', "").len(), 25);
    }

    #[test]
    fn no_control_character_passes() {
        assert_eq!(clean("a\u{1b}[31mb\nc"), "a [31mb c");
    }

    #[test]
    fn a_table_stays_within_the_width() {
        let table = Table {
            head: ["plan", "first figure", "second figure"].map(str::to_owned).to_vec(),
            rows: vec![["a very long name of a plan indeed", "1", "2"].map(str::to_owned).to_vec()],
            words: Vec::new(),
        };
        let text = table_text(&table, 40);
        let plain = anstream::adapter::strip_str(&text).to_string();
        assert!(plain.lines().all(|l| get_line_width(l) <= 40), "{plain}");
        assert!(["first", "second", "very"].iter().all(|w| plain.contains(w)), "{plain}");
    }
}
