//! Findings as text: with an excerpt of the file for a person, or one line each for an editor.
//!
//! Enters: findings in any order. Leaves: text sorted by file and place, at most [`MOST_PER_FILE`] findings a file, and a summary.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;

use annotate_snippets::{
    Annotation, AnnotationKind, Element, Group, Level, Origin, Renderer, Snippet,
};

use super::{Code, Diagnostic, Place, Severity};

/// Most findings shown of one file; the rest is counted.
pub const MOST_PER_FILE: usize = 20;
/// Most bytes of a line that are marked, and that are kept behind the mark.
const MOST_MARKED: usize = 400;

/// How findings are shown to a person.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Look {
    /// With colour (ANSI escapes).
    pub colour: bool,
    /// Width of the output in characters.
    pub width: usize,
}

/// Findings for a person: message, place, excerpt, what else matters, hint; a summary at the end. Empty if there are none.
pub fn render(found: &[Diagnostic], look: Look) -> String {
    let renderer = if look.colour { Renderer::styled() } else { Renderer::plain() };
    let renderer = renderer.term_width(look.width.max(40));
    listed(found, |finding| {
        let mut text = renderer.render(&[group(finding)]);
        text.push_str("\n\n");
        text
    })
}

/// Findings for an editor, one a line: `file:line:column: error[code]: message; hint`, and a summary.
pub fn render_lines(found: &[Diagnostic]) -> String {
    listed(found, |finding| format!("{}\n", one_line(finding)))
}

/// Number of errors and warnings in words: `3 errors, 1 warning`.
pub fn summary(found: &[Diagnostic]) -> String {
    let arranged = arrange(found);
    let count = |severity| arranged.iter().filter(|d| d.severity == severity).count();
    let word = |count: usize, word: &str| match count {
        0 => None,
        1 => Some(format!("1 {word}")),
        _ => Some(format!("{count} {word}s")),
    };
    let errors = word(count(Severity::Error), "error").unwrap_or_else(|| "no errors".to_string());
    match word(count(Severity::Warning), "warning") {
        Some(warnings) => format!("{errors}, {warnings}"),
        None => errors,
    }
}

/// Sorts by file, place, severity, code and message; findings without a file come first. What is there twice is shown once.
pub fn arrange(found: &[Diagnostic]) -> Vec<&Diagnostic> {
    let mut arranged: Vec<&Diagnostic> = found.iter().collect();
    arranged.sort_by(|a, b| sort_key(a).cmp(&sort_key(b)));
    arranged.dedup_by(|a, b| sort_key(a) == sort_key(b));
    arranged
}

type SortKey<'a> = (Option<(&'a str, usize, usize)>, Severity, Code, &'a str);

fn sort_key(finding: &Diagnostic) -> SortKey<'_> {
    let place = finding.place.as_ref().map(|p| (p.file.path.as_str(), p.line, p.column));
    (place, finding.severity, finding.code, finding.message.as_str())
}

/// All findings through one writer, at most so many a file, then what was left out and the summary.
fn listed(found: &[Diagnostic], write_one: impl Fn(&Diagnostic) -> String) -> String {
    let mut text = by_files(found, write_one);
    if !found.is_empty() {
        text.push_str(&summary(found));
        text.push('\n');
    }
    text
}

/// All findings through one writer, at most so many a file, then what was left out.
fn by_files(found: &[Diagnostic], write_one: impl Fn(&Diagnostic) -> String) -> String {
    let arranged = arrange(found);
    let mut by_file: BTreeMap<Option<&str>, Vec<&Diagnostic>> = BTreeMap::new();
    for finding in arranged {
        let file = finding.place.as_ref().map(|p| p.file.path.as_str());
        by_file.entry(file).or_default().push(finding);
    }
    let mut text = String::new();
    for (file, findings) in &by_file {
        for finding in shown(findings) {
            text.push_str(&write_one(finding));
        }
        let rest = findings.len().saturating_sub(MOST_PER_FILE);
        if rest > 0 {
            text.push_str(&format!("{}: {rest} more not shown\n", file.unwrap_or("-")));
        }
    }
    text
}

/// The findings of a file that are shown, in order: where there are too many, errors before warnings.
fn shown<'a>(findings: &[&'a Diagnostic]) -> Vec<&'a Diagnostic> {
    let mut kept = findings.to_vec();
    kept.sort_by_key(|finding| finding.severity);
    kept.truncate(MOST_PER_FILE);
    kept.sort_by(|a, b| sort_key(a).cmp(&sort_key(b)));
    kept
}

/// Findings beside an answer, one a line, at most so many a file.
pub fn render_asides(found: &[Diagnostic]) -> String {
    by_files(found, |finding| format!("{}\n", render_aside(finding)))
}

/// One finding beside an answer: `warning: message; hint (scenario.toml:78)`. The file is named without its folders.
pub fn render_aside(finding: &Diagnostic) -> String {
    let hint = finding.hint.as_ref().map_or(String::new(), |hint| format!("; {hint}"));
    let place = finding.place.as_ref().map_or(String::new(), |place| {
        let path = Path::new(&place.file.path);
        let name =
            path.file_name().map_or(place.file.path.as_str().into(), |n| n.to_string_lossy());
        format!(" ({name}:{})", place.line)
    });
    let word = severity_word(finding.severity);
    let text = format!("{word}: {}{hint}{place}", finding.message);
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn one_line(finding: &Diagnostic) -> String {
    let mut text = String::new();
    if let Some(place) = &finding.place {
        text.push_str(&position(place));
        text.push_str(": ");
    }
    text.push_str(&format!(
        "{}[{}]: {}",
        severity_word(finding.severity),
        finding.code,
        finding.message
    ));
    if let Some(cell) = finding.place.as_ref().and_then(cell_words) {
        text.push_str(&format!(" ({cell})"));
    }
    for (place, word) in &finding.related {
        text.push_str(&format!("; {word}: {}", position(place)));
    }
    if let Some(hint) = &finding.hint {
        text.push_str(&format!("; {hint}"));
    }
    // One finding stays one line, whatever the file held.
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

/// `file:line:column`, or the file alone.
fn position(place: &Place) -> String {
    if place.line == 0 {
        place.file.path.clone()
    } else {
        format!("{}:{}:{}", place.file.path, place.line, place.column)
    }
}

/// `column pack_price, cell C2`.
fn cell_words(place: &Place) -> Option<String> {
    let (column, cell) = place.cell.as_ref()?;
    Some(if column.is_empty() {
        format!("cell {cell}")
    } else {
        format!("column {column}, cell {cell}")
    })
}

/// The finding as the renderer takes it.
fn group(finding: &Diagnostic) -> Group<'_> {
    let level = match finding.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let mut elements: Vec<Element<'_>> = Vec::new();
    if let Some(place) = &finding.place {
        elements.push(excerpt(place, cell_words(place), AnnotationKind::Primary));
    }
    for (place, word) in &finding.related {
        let words =
            cell_words(place).map_or_else(|| word.clone(), |cell| format!("{word} ({cell})"));
        elements.push(excerpt(place, Some(words), AnnotationKind::Context));
    }
    if let Some(hint) = &finding.hint {
        elements.push(Level::HELP.with_name("hint").message(hint).into());
    }
    level.primary_title(&finding.message).id(finding.code.as_str()).elements(elements)
}

/// The position, and the line of the file with the place marked where there is one.
fn excerpt(place: &Place, label: Option<String>, kind: AnnotationKind) -> Element<'_> {
    if place.line == 0 {
        return Origin::path(&place.file.path).into();
    }
    let (line, span) = visible(place);
    let annotation: Annotation<'_> = kind.span(span).label(label);
    Snippet::source(line)
        .path(&place.file.path)
        .line_start(place.line)
        .annotation(annotation)
        .into()
}

/// The first line of a place and the place's range in it; the renderer trims a long line to the width. Every range that goes to the
/// renderer is made here: inside the line, on character boundaries, never reversed. A line of absurd length is cut behind the place.
fn visible(place: &Place) -> (&str, Range<usize>) {
    let text = &place.file.text;
    let start = floor(text, place.span.start);
    let line_start = text[..start].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let line_end = text[start..].find(['\n', '\r']).map_or(text.len(), |at| start + at);
    let end = floor(text, place.span.end.min(start + MOST_MARKED)).max(start).min(line_end);
    let line_end = floor(text, line_end.min(end + MOST_MARKED));
    (&text[line_start..line_end], start - line_start..end - line_start)
}

/// The nearest character boundary at or before a byte, inside the text.
fn floor(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use proptest::prelude::*;

    use super::*;
    use crate::diag::File;

    const PLAIN: Look = Look { colour: false, width: 100 };

    fn file(path: &str, text: &str) -> Arc<File> {
        Arc::new(File { path: path.into(), text: text.into() })
    }

    /// The place of the first occurrence of a word.
    fn at(file: &Arc<File>, word: &str) -> Place {
        let start = file.text.find(word).unwrap();
        let line_start = file.text[..start].rfind('\n').map_or(0, |n| n + 1);
        Place {
            file: Arc::clone(file),
            span: start..start + word.len(),
            line: file.text[..start].matches('\n').count() + 1,
            column: file.text[line_start..start].chars().count() + 1,
            cell: None,
        }
    }

    fn sheet_finding() -> Diagnostic {
        let sheet = file(
            "pricing/materials.csv",
            "material,pack,pack_price\nsoft resin,1 L,-3.20\nstiff resin,1 L,9\n",
        );
        let mut place = at(&sheet, "-3.20");
        place.cell = Some(("pack_price".into(), "C2".into()));
        Diagnostic::error(
            Code::OutOfRange,
            &place,
            "price is negative: `-3.20`, expected 0 or more",
        )
        .see(&at(&sheet, "stiff resin"), "compare with")
        .hint("was a digit dropped, or a lower price meant?")
    }

    #[test]
    fn a_finding_shows_place_cell_excerpt_related_place_and_hint() {
        let expected = "\
error[out-of-range]: price is negative: `-3.20`, expected 0 or more
 --> pricing/materials.csv:2:16
  |
2 | soft resin,1 L,-3.20
  |                ^^^^^ column pack_price, cell C2
  |
 ::: pricing/materials.csv:3:1
  |
3 | stiff resin,1 L,9
  | ----------- compare with
  |
  = hint: was a digit dropped, or a lower price meant?

1 error
";
        assert_eq!(render(&[sheet_finding()], PLAIN), expected);
    }

    #[test]
    fn one_line_for_an_editor() {
        assert_eq!(
            render_lines(&[sheet_finding()]),
            "pricing/materials.csv:2:16: error[out-of-range]: price is negative: `-3.20`, expected 0 or more \
             (column pack_price, cell C2); compare with: pricing/materials.csv:3:1; was a digit dropped, or a lower price meant?\n\
             1 error\n"
        );
    }

    #[test]
    fn beside_an_answer_a_finding_is_short() {
        assert_eq!(
            render_aside(&sheet_finding()),
            "error: price is negative: `-3.20`, expected 0 or more; was a digit dropped, or a lower price meant? \
             (materials.csv:2)"
        );
    }

    #[test]
    fn sorted_by_file_and_place_and_what_is_there_twice_once() {
        let (a, b) = (file("a.toml", "x = 1\ny = 2\n"), file("b.csv", "x\n"));
        let found = [
            Diagnostic::error(Code::UnknownColumn, &at(&b, "x"), "third"),
            Diagnostic::warning(Code::UnknownKey, &at(&a, "y"), "second"),
            Diagnostic::error(Code::UnknownKey, &at(&a, "x"), "first"),
            Diagnostic::error(Code::UnknownKey, &at(&a, "x"), "first"),
        ];
        let text = render_lines(&found);
        let lines: Vec<&str> = text.lines().map(|l| l.rsplit(": ").next().unwrap()).collect();
        assert_eq!(lines, ["first", "second", "third", "2 errors, 1 warning"]);
        assert_eq!(summary(&found), "2 errors, 1 warning");
        assert_eq!(summary(&found[1..2]), "no errors, 1 warning");
        assert_eq!(summary(&[]), "no errors");
        assert_eq!(render(&[], PLAIN), "");
    }

    #[test]
    fn many_findings_of_one_file_are_counted() {
        let a = file("a.toml", "x = 1\n");
        let found: Vec<Diagnostic> = (0..25)
            .map(|n| Diagnostic::error(Code::UnknownKey, &at(&a, "x"), format!("number {n:02}")))
            .collect();
        let text = render_lines(&found);
        assert_eq!(text.lines().count(), MOST_PER_FILE + 2);
        assert!(text.ends_with("a.toml: 5 more not shown\n25 errors\n"), "{text}");
    }

    #[test]
    fn a_file_as_a_whole_has_no_excerpt() {
        let gone = file("gone.toml", "");
        let place = Place { file: gone, span: 0..0, line: 0, column: 0, cell: None };
        let finding = Diagnostic::error(Code::FileMissing, &place, "`gone.toml` does not exist");
        assert_eq!(
            render_lines(std::slice::from_ref(&finding)),
            "gone.toml: error[file-missing]: `gone.toml` does not exist\n1 error\n"
        );
        let text = render(&[finding], PLAIN);
        assert!(text.contains("gone.toml") && !text.contains('^'), "{text}");
    }

    #[test]
    fn long_lines_are_cut_around_the_place() {
        let long = file(
            "long.toml",
            &format!("a = \"{}\" # {} end\n", "µ".repeat(5_000), "z".repeat(5_000)),
        );
        let text = render(&[Diagnostic::error(Code::UnknownKey, &at(&long, "# z"), "here")], PLAIN);
        assert!(text.lines().all(|line| line.chars().count() <= 200), "{text}");
        assert!(
            text.contains("long.toml:1:5008") && text.contains("# zzz") && text.contains('^'),
            "{text}"
        );
    }

    #[test]
    fn colour_only_when_asked() {
        let found = [sheet_finding()];
        let coloured = Look { colour: true, width: 100 };
        assert!(!render(&found, PLAIN).contains('\u{1b}'));
        assert!(render(&found, coloured).contains('\u{1b}'));
    }

    proptest! {
        #[test]
        fn any_span_renders(text in "(a|µ|\u{200b}|\u{7}|\t|\n|\r|b){0,30}", start in 0_usize..40, end in 0_usize..40, line in 0_usize..4) {
            let place = Place { file: file("x", &text), span: start..end, line, column: 1, cell: None };
            let finding = Diagnostic::error(Code::BadNumber, &place, "m").see(&place, "w");
            let shown = render(std::slice::from_ref(&finding), PLAIN);
            prop_assert!(shown.ends_with("1 error\n"));
            prop_assert_eq!(render_lines(&[finding]).lines().count(), 2);
        }
    }
}
