//! What sections are made of: headings, charts with their figures, tables, sentences.

use maud::{Markup, html};

use super::super::terminal::clean;
use super::super::view::{Body, Section, Table};

/// A chart with what is said under it and its figures as a table that can be opened.
pub(super) fn figure(chart: &Markup, said: &str, figures: &Markup) -> Markup {
    html! {
        figure {
            (chart)
            @if !said.is_empty() { figcaption { (clean(said)) } }
            (figures)
        }
    }
}

/// Figures that can be opened.
pub(super) fn opened(name: &str, inside: &Markup) -> Markup {
    html! { details { summary { (name) } (inside) } }
}

/// A wide thing that is scrolled sideways on a narrow screen; it can be reached by keyboard.
pub(super) fn wide(name: &str, inside: &Markup) -> Markup {
    html! { div.wide tabindex="0" role="region" aria-label=(format!("Table: {name}")) { (inside) } }
}

/// A plain table: the first column names the rows.
pub(super) fn table(name: &str, head: &[String], rows: &[Vec<String>], words: &[usize]) -> Markup {
    let class = |column: usize| (column > 0 && !words.contains(&column)).then_some("r");
    wide(
        name,
        &html! {
            table {
                thead { tr { @for (column, text) in head.iter().enumerate() {
                @if text.is_empty() { td {} }
                @else { th scope="col" class=[class(column)] { (clean(text)) } }
            } } }
            tbody { @for row in rows { tr { @for (column, text) in row.iter().enumerate() {
                    @if column == 0 { th scope="row" { (clean(text)) } }
                    @else { td class=[class(column)] { (clean(text)) } }
                } } } }
            }
        },
    )
}

/// Sentences: one is a paragraph, several are a list.
pub(super) fn sentences(said: &[String]) -> Markup {
    match said {
        [] => html! {},
        [only] => html! { p { (clean(only)) } },
        many => html! { ul { @for one in many { li { (clean(one)) } } } },
    }
}

/// A section of the view under its heading.
pub(super) fn told(section: &Section) -> Markup {
    html! {
        @if !section.heading.is_empty() { h3 { (clean(&section.heading)) } }
        (body(&section.heading, &section.body))
    }
}

fn body(name: &str, body: &Body) -> Markup {
    match body {
        Body::Sentences(said) => sentences(said),
        Body::Table(view) => view_table(name, view),
        Body::Drawing(lines) => html! { pre { @for line in lines { (clean(line)) "\n" } } },
    }
}

/// A table of the view.
pub(super) fn view_table(name: &str, view: &Table) -> Markup {
    let first = view.head.first().cloned().unwrap_or_default();
    let name = if name.is_empty() { &first } else { name };
    let name = if name.is_empty() { "Figures" } else { name };
    table(name, &view.head, &view.rows, &view.words)
}
