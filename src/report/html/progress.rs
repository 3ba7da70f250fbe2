//! How a project with a record stands: what was spent, what is to go, and what made the difference.

use maud::{Markup, html};

use super::super::{behind_table, learned_table, progress, variance_table};
use super::extras::Page;
use super::frame::{opened, told};

/// The section; nothing without a record.
pub(super) fn progress_section(page: &Page) -> Markup {
    let Some(said) = progress(page.subject, true) else {
        return html! {};
    };
    let plain = |section: &super::super::Section| {
        let mut section = section.clone();
        section.heading.clear();
        told(&section)
    };
    let tables = [
        ("Iterations that are behind", behind_table(page.subject)),
        ("Prices, quantities and iterations against the plan", variance_table(page.subject)),
        ("What the record teaches", learned_table(page.subject)),
    ];
    html! {
        section #progress aria-labelledby="progress-h" {
            h2 #progress-h { "So far" }
            (plain(&said))
            @for (name, table) in &tables {
                @if let Some(table) = table { (opened(name, &told(table))) }
            }
        }
    }
}
