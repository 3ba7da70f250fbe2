//! What sections are made of: headings, charts with their figures, tables, sentences.

use maud::{Markup, html};

use super::super::terminal::clean;
use super::super::view::{Body, Section, Table};

/// Sentences of a section that are shown without opening the rest.
const FEW: usize = 5;

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

/// So many sentences, and the others to be opened; on paper it is said how many there are.
pub(super) fn shortened(said: &[String], few: usize) -> Markup {
    let few = few.min(said.len());
    html! {
        (sentences(&said[..few]))
        @if said.len() > few {
            details.more { summary { (said.len() - few) " more" } (sentences(&said[few..])) }
        }
    }
}

/// A section of the view under its heading.
pub(super) fn told(section: &Section) -> Markup {
    html! {
        @if !section.heading.is_empty() { h3 { (clean(&section.heading)) } }
        (body(&section.heading, &section.body, FEW))
    }
}

fn body(name: &str, body: &Body, few: usize) -> Markup {
    match body {
        Body::Sentences(said) => {
            // What the terminal joins in one sentence is a list here.
            let all: Vec<String> = match said.as_slice() {
                [only] => only.split("; ").map(str::to_owned).collect(),
                many => many.to_vec(),
            };
            if all.len() > few + 1 { shortened(&all, few) } else { sentences(said) }
        }
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
