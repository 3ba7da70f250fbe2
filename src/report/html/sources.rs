//! Where the figures of the plan table come from: their trees by category and item, each item with the lines its prices are stated in.
//!
//! Enters: the trees of [`explain`](crate::analysis::figure), nothing valued here. Leaves: a list per figure that opens without a script.
//! Entries are counted and summed; `explain` shows them.

use maud::{Markup, html};

use super::super::explain::short_source;
use super::super::terminal::clean;
use super::super::words::grouped;
use super::super::{Subject, figure_title};
use super::data::total_name;
use super::extras::Page;
use crate::analysis::{Figure, FigureKind, How, Node, Origin, Within, figure};
use crate::ledger::Total;

/// Totals of the plan table at the planned count.
const SHOWN: [Total; 2] = [Total::Avoidable, Total::Outlay];
/// Most items of one category.
const MOST_ITEMS: usize = 40;
/// Most places named for one item.
const MOST_PLACES: usize = 2;
/// Decimals of a figure that is no money.
const DECIMALS: u32 = 6;

/// A figure of the plan table as a link to its tree.
pub(super) fn link(look: usize, total: Total, shown: &str) -> Markup {
    html! { a.from href=(format!("#{}", anchor(look, total))) { (shown) } }
}

fn anchor(look: usize, total: Total) -> String {
    format!("from-{look}-{}", total_name(total))
}

/// The trees of all figures that are linked.
pub(super) fn sources(page: &Page) -> Markup {
    html! {
        section #sources aria-labelledby="sources-h" {
            h2 #sources-h { "Where the figures come from" }
            p.said {
                "At " (page.at_planned()) ". " code { "flipcount explain SCENARIO 'WHAT'" }
                " follows each down to what is stated, WHAT as it stands beside an item, or "
                code { "entry:N" } " for any entry of the ledger."
            }
            @for look in 0..page.shown.len() {
                @for total in SHOWN { (tree(page, look, total)) }
            }
        }
    }
}

fn tree(page: &Page, look: usize, total: Total) -> Markup {
    let subject = page.subject;
    let (kind, within) = (FigureKind::Money(total), Within::default());
    let asked = Figure { kind, plan: page.shown[look], at: None, within };
    let what = format!("{}[{}]", total_name(total), page.letter(look));
    let title = clean(&figure_title(subject, &asked));
    html! {
        details id=(anchor(look, total)) {
            @match figure(subject.shop, subject.answer, &asked) {
                Ok(node) => {
                    summary { (title) ": " strong { (value(subject, &node)) } }
                    // Of a plan on an unproven route the figure is expected over outcomes, not a sum of categories.
                    @if node.how == How::Sum { ul { @for one in &node.children { (category(subject, one, &what)) } } }
                    @else { ul { @for one in &node.children { (step(subject, one)) } } }
                }
                Err(_) => { summary { (title) } p { "This plan cannot be carried out so far." } }
            }
        }
    }
}

fn category(subject: &Subject, node: &Node, what: &str) -> Markup {
    let what = format!("{what}/{}", node.label);
    let (few, rest) = node.children.split_at(node.children.len().min(MOST_ITEMS));
    let sum = Node::of(How::Sum, "", &node.unit, rest.to_vec());
    html! {
        li {
            details {
                summary { (node.label) " " strong { (value(subject, node)) } }
                ul {
                    @for one in few { (item(subject, one, &what)) }
                    @if !rest.is_empty() {
                        li { (rest.len()) " more items " b { (value(subject, &sum)) } " " code { (what) } }
                    }
                }
            }
        }
    }
}

fn item(subject: &Subject, node: &Node, what: &str) -> Markup {
    let count = node.children.len();
    let places = places(subject, node);
    let more = places.len().saturating_sub(MOST_PLACES);
    html! {
        li {
            (clean(&node.label)) " " b { (value(subject, node)) }
            @for place in places.iter().take(MOST_PLACES) { ", " (clean(place)) }
            @if more > 0 { " and " (more) " more" }
            ", " (count) @if count == 1 { " entry " } @else { " entries " }
            code { (clean(&format!("{what}/{}", node.label))) }
        }
    }
}

/// The lines and keys that the prices of an item's entries are stated in, each once.
fn places<'a>(subject: &Subject<'a>, item: &Node) -> Vec<&'a str> {
    let mut places = Vec::new();
    for entry in &item.children {
        let price = entry.children.first().filter(|n| n.how == How::Product);
        let price = price.and_then(|n| n.children.get(1)).unwrap_or(entry);
        for node in price.walk() {
            let source = match node.from {
                Origin::Input(slot) => subject.scenario().slots.get(slot).source,
                Origin::Source(source) => source,
                _ => continue,
            };
            let place = short_source(subject.scenario().source(source));
            if !places.contains(&place) {
                places.push(place);
            }
        }
    }
    places
}

/// A figure that is no category, and what it follows from.
fn step(subject: &Subject, node: &Node) -> Markup {
    html! {
        li {
            (clean(&node.label)) " " strong { (value(subject, node)) }
            @if !node.children.is_empty() { ul { @for one in &node.children { (step(subject, one)) } } }
        }
    }
}

fn value(subject: &Subject, node: &Node) -> String {
    let (scenario, value) = (subject.scenario(), node.value);
    let minor = scenario.minor();
    if node.unit == scenario.currencies[0].code {
        return grouped(&value.to_money(minor).text(minor));
    }
    format!("{} {}", grouped(&value.half_away(DECIMALS).to_string()), node.unit)
        .trim_end()
        .to_owned()
}
