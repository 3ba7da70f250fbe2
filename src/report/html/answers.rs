//! The verdict in three lines, and when to look again.

use maud::{Markup, html};

use super::super::look_again::{changing, last_safe};
use super::super::terminal::clean;
use super::super::view::{Body, Section};
use super::super::{letter, verdict_sentences};
use super::extras::Page;
use super::frame::{sentences, shortened};
use crate::analysis::DueDate;

/// Parts named together.
const MOST_PARTS: usize = 6;
/// Characters above which the first line is set smaller.
const LONG: usize = 180;
/// Changes that are shown without opening the rest.
const FEW: usize = 5;

/// What to do, what it costs and when it is there, and what comes next.
pub(super) fn verdict(page: &Page) -> Markup {
    let name = |index: usize| format!("plan {}", letter(index));
    let said = verdict_sentences(page.subject, &name, MOST_PARTS);
    let due = page.subject.answer.verdict.as_ref().map(|v| v.due);
    // That nothing is in time comes first and belongs to what to do.
    let first = if due == Some(DueDate::Missed) { 2 } else { 1 }.min(said.len());
    let last = said.len().saturating_sub(1).max(first);
    let lines = [said[..first].join(" "), said[first..last].join(" "), said[last..].join(" ")];
    html! {
        section #verdict aria-labelledby="verdict-h" {
            h2 #verdict-h { "Verdict" }
            @for (index, line) in lines.iter().filter(|l| !l.is_empty()).enumerate() {
                p.(class(index, line)) { (clean(line)) }
            }
        }
    }
}

/// The first line is the largest, unless it is long.
fn class(index: usize, line: &str) -> &'static str {
    match index {
        0 if line.chars().count() > LONG => "first long-first",
        0 => "first",
        _ => "next",
    }
}

/// What would change the verdict, and how late the last orders can go.
fn said(page: &Page) -> (Vec<String>, Vec<String>) {
    let all = |section: Option<Section>| match section.map(|s| s.body) {
        Some(Body::Sentences(said)) => said,
        _ => Vec::new(),
    };
    (changing(page.subject), all(last_safe(page.subject)))
}

/// When to look again, as a section.
pub(super) fn look_again(page: &Page) -> Markup {
    let (said, safe) = said(page);
    html! {
        section.note #look aria-labelledby="look-h" {
            h2 #look-h { "Look again when" }
            @if said.is_empty() { p { "Nothing near changes the verdict." } }
            (shortened(&said, FEW))
            @if !safe.is_empty() { h3 { "Last safe release" } (sentences(&safe)) }
        }
    }
}
