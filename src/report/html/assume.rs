//! What stands beside the figures: notes, assumptions, cautions, what is not counted.

use maud::{Markup, html};

use super::super::view::beside_figures;
use super::super::{assumed, input_words};
use super::extras::Page;
use super::frame::{opened, sentences, table, told};

/// Cautions for the steps that are used.
pub(super) fn cautions(page: &Page) -> Markup {
    let said = super::super::cautions(page.subject);
    if said.is_empty() {
        return html! {};
    }
    html! {
        section.caution #cautions aria-labelledby="cautions-h" { h2 #cautions-h { "Cautions" } (sentences(&said)) }
    }
}

/// What is said beside the figures.
pub(super) fn notes(page: &Page) -> Markup {
    html! {
        section #notes aria-labelledby="notes-h" {
            h2 #notes-h { "Beside the figures" }
            div.cards { @for section in beside_figures(page.subject) { div { (told(&section)) } } }
            @if !page.extras.warnings.is_empty() { h3 { "Found while reading" } (sentences(page.extras.warnings)) }
        }
    }
}

/// What was assumed.
pub(super) fn assumptions(page: &Page) -> Markup {
    let lines = assumed(page.subject);
    let head = ["input", "value", "range", "key"].map(str::to_owned);
    let row = |line: &super::super::AssumedLine| {
        vec![
            input_words(&line.address),
            format!("{} {}", line.likely, line.unit).trim_end().to_owned(),
            format!("{}..{}", line.low, line.high),
            line.address.clone(),
        ]
    };
    let rows: Vec<Vec<String>> = lines.iter().map(row).collect();
    html! {
        section #assumed aria-labelledby="assumed-h" {
            h2 #assumed-h { "Assumptions" }
            @if rows.is_empty() { p { "Nothing is assumed: every value is stated or measured." } }
            @else {
                p { (rows.len()) " values are assumed, each with a range; state your own to replace them." }
                (opened("Assumed values", &table("Assumed values", &head, &rows, &[3])))
            }
        }
    }
}
