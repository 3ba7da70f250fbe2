//! Cost by category for each plan: stacked by kind, and every category in a table.

use maud::{Markup, html};

use super::super::chart::{Head, STACK_STYLES, Stack, stacks};
use super::extras::Page;
use super::frame::{figure, opened, wide};
use crate::ledger::Category;
use crate::model::Money;

/// Kinds of cost in the order in which they are stacked.
const KINDS: [&str; STACK_STYLES] = [
    "material",
    "machines, power",
    "own hours",
    "disposal",
    "ordered pieces",
    "delivery, duty, tax",
    "delay",
];

/// The kind a category belongs to, by its place.
pub(super) fn kind(category: &str) -> usize {
    match category {
        "resin" | "solvent" | "dye" | "supplies" => 0,
        "electricity" | "machine" | "purchase" => 1,
        "labour" => 2,
        "waste" => 3,
        "piece" | "set-up" | "finish" | "minimum" => 4,
        "delivery" | "duty" | "tax" | "fee" => 5,
        _ => 6,
    }
}

/// The section.
pub(super) fn kinds(page: &Page) -> Markup {
    let all: Vec<Stack> = page.plans().map(|(look, _)| stack(page, look)).collect();
    let head = Head::new(
        "kinds-c",
        "Cost by kind",
        "For each plan a bar, its pieces numbered as in the list below.",
    );
    let said = format!(
        "After the chosen count{}. Numbers in the bars are those of the list; left of the start stands what comes back.",
        page.without_final()
    );
    let used = |at: usize| {
        page.extras.details.iter().flat_map(|d| &d.categories).any(|c| kind(c.0.name()) == at)
    };
    html! {
        section #kinds aria-labelledby="kinds-h" {
            h2 #kinds-h { "Cost by category, after " span data-f="n" { (page.subject.answer.planned) } }
            ol.keys {
                @for (at, name) in KINDS.iter().enumerate() {
                    @if used(at) { li { span.(format!("sw g{at}")) { (at + 1) } " " (name) } }
                }
            }
            (figure(&stacks(&head, &all), &said, &opened("Figures", &table(page))))
        }
    }
}

fn stack(page: &Page, look: usize) -> Stack {
    let mut values = vec![0.0; STACK_STYLES];
    for (category, curves) in page.detail(look).iter().flat_map(|d| &d.categories) {
        let at = curves[0].get(page.now()).copied().unwrap_or_default();
        values[kind(category.name())] += at.exact().to_f64_lossy();
    }
    Stack { name: page.letter(look), values, said: total(page, look) }
}

fn total(page: &Page, look: usize) -> String {
    let curve = &page.subject.plan(page.shown[look]).curves.avoidable;
    curve.get(page.now()).map_or(String::new(), |&m| page.words.money(m))
}

fn table(page: &Page) -> Markup {
    let used = |c: &Category| {
        page.extras.details.iter().flat_map(|d| &d.categories).any(|(other, _)| other == c)
    };
    let cell = |look: usize, category: Category| {
        let found = page.detail(look)?.categories.iter().find(|c| c.0 == category)?;
        found.1[0].get(page.now()).copied()
    };
    let text = |amount: Option<Money>| page.words.money(amount.unwrap_or_default());
    wide(
        "Cost by category",
        &html! {
            table {
                thead { tr {
                    th scope="col" { span data-f="t" { "avoidable" } ", " (page.words.currency()) }
                    @for look in 0..page.shown.len() { th.r scope="col" { (page.letter(look)) } }
                } }
                tbody {
                    @for category in Category::ALL.into_iter().filter(used) { tr {
                        th scope="row" { (category.name()) }
                        @for look in 0..page.shown.len() {
                            td.r data-f=(format!("{look}.#{}", category.name())) { (text(cell(look, category))) }
                        }
                    } }
                    tr.sum {
                        th scope="row" { "total" }
                        @for look in 0..page.shown.len() { td.r data-f=(format!("{look}.total")) { (total(page, look)) } }
                    }
                }
            }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_category_has_a_kind_of_its_own_choice() {
        let of = |at: usize| Category::ALL.into_iter().filter(|c| kind(c.name()) == at).count();
        let counts: Vec<usize> = (0..STACK_STYLES).map(of).collect();
        assert_eq!(counts, [4, 3, 1, 1, 4, 4, 1], "only delay is left for the last");
    }
}
