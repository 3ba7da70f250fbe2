//! Entries and draws put together: a total by category, item and entry; hours and quantities by item.

use std::collections::BTreeMap;

use super::entry::own;
use super::story::millionths;
use super::{How, Node, Story, Unexplained, material};
use crate::ledger::{Account, Category, Entry, Movement, Total};
use crate::model::ItemClass;
use crate::sim::{Fate, What};

/// Up to where a figure goes: iterations up to so many, and the final where it counts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    pub n: u32,
    pub with_final: bool,
    /// True where the entries have the numbers of the budget file.
    pub numbered: bool,
}

impl Span {
    fn has(self, story: &Story, iteration: u32) -> bool {
        match story.last {
            Some(last) if last == iteration => self.with_final,
            _ => iteration <= self.n,
        }
    }
}

/// The part of a total that is asked for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Within {
    /// One category of it.
    pub category: Option<Category>,
    /// One item: a material, a machine, a step, a service.
    pub item: Option<String>,
}

/// A total of money, by category, item and entry.
pub(super) fn money(
    story: &Story,
    total: Total,
    span: Span,
    within: &Within,
) -> Result<Node, Unexplained> {
    let counts = |e: &Entry| e.counts_in(total) && span.has(story, e.iteration);
    let mut categories: BTreeMap<Category, Vec<usize>> = BTreeMap::new();
    for (index, (entry, _)) in story.entries.iter().enumerate().filter(|(_, e)| counts(&e.0)) {
        categories.entry(entry.category).or_default().push(index);
    }
    if let Some(wanted) = within.category {
        if !categories.contains_key(&wanted) {
            let known = categories.keys().map(|c| c.name().to_owned()).collect();
            return Err(Unexplained::NotThere { what: wanted.name().to_owned(), known });
        }
        categories.retain(|&category, _| category == wanted);
    }
    let mut nodes = Vec::new();
    for (category, entries) in categories {
        let item = within.item.as_deref();
        let items = by_item(story, entries, item, |i| numbered(story, i, span))?;
        nodes.push(Node::of(How::Sum, category.name(), own(story.shop), items));
    }
    Ok(only(nodes, within.category.is_some(), |nodes| {
        Node::of(How::Sum, "", own(story.shop), nodes)
    }))
}

/// The only figure where one was asked for, else what all make.
fn only(mut nodes: Vec<Node>, one: bool, all: impl FnOnce(Vec<Node>) -> Node) -> Node {
    match nodes.pop() {
        Some(node) if one && nodes.is_empty() => node,
        last => all(nodes.into_iter().chain(last).collect()),
    }
}

/// An entry with its number in the budget file.
fn numbered(story: &Story, index: usize, span: Span) -> Option<Node> {
    let node = story.entry(index)?;
    let place = story.place(&story.entries[index].0);
    let label = if span.numbered { format!("entry {}: {place}", index + 1) } else { place };
    Some(Node { label, ..node })
}

/// Entries by item, in the order of names; each made into a figure.
fn by_item(
    story: &Story,
    entries: Vec<usize>,
    wanted: Option<&str>,
    figure: impl Fn(usize) -> Option<Node>,
) -> Result<Vec<Node>, Unexplained> {
    let of = |index: usize| story.entries[index].0.item(story.shop.scenario).to_owned();
    let named = entries.into_iter().map(|index| (of(index), index));
    let mut items: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (name, index) in named {
        items.entry(name).or_default().push(index);
    }
    wanted_item(items, wanted, |name, entries| {
        let nodes: Vec<Node> = entries.into_iter().filter_map(&figure).collect();
        let unit = nodes.first().map_or(String::new(), |n| n.unit.clone());
        Node::of(How::Sum, name, &unit, nodes).of_many()
    })
}

/// All groups, or the one that is asked for.
fn wanted_item<T>(
    mut groups: BTreeMap<String, T>,
    wanted: Option<&str>,
    node: impl Fn(String, T) -> Node,
) -> Result<Vec<Node>, Unexplained> {
    if let Some(name) = wanted {
        let Some(group) = groups.remove(name) else {
            let known = groups.into_keys().collect();
            return Err(Unexplained::NotThere { what: name.to_owned(), known });
        };
        return Ok(vec![node(name.to_owned(), group)]);
    }
    Ok(groups.into_iter().map(|(name, group)| node(name, group)).collect())
}

/// Attended hours, by what is done.
pub(super) fn attended(story: &Story, span: Span, within: &Within) -> Result<Node, Unexplained> {
    let counts = |e: &Entry| e.category == Category::Labour && span.has(story, e.iteration);
    let entries: Vec<usize> =
        (0..story.entries.len()).filter(|&i| counts(&story.entries[i].0)).collect();
    let hours = |index: usize| {
        let mut amount = numbered(story, index, span)?;
        let label = std::mem::take(&mut amount.label);
        let quantity = amount.children.pop()?.children.into_iter().next()?;
        Some(Node { label, ..quantity })
    };
    let items = by_item(story, entries, within.item.as_deref(), hours)?;
    Ok(only(items, within.item.is_some(), |items| Node::of(How::Sum, "", "h", items)))
}

/// What is drawn of a class of materials, by item.
pub(super) fn drawn(
    story: &Story,
    class: ItemClass,
    span: Span,
    within: &Within,
) -> Result<Node, Unexplained> {
    let items = &story.shop.scenario.items;
    let of_class = |m: &Movement| m.from == Account::Stock && items[m.item.index()].class == class;
    let mut groups = recorded(story, span, of_class);
    for (index, event) in story.events.iter().enumerate() {
        let What::Draw(draw) = &event.what else {
            continue;
        };
        let item = &items[draw.item.index()];
        if item.class == class && span.has(story, event.iteration) {
            let node = material::drawn(story, index, draw);
            let label = happening(story, index);
            groups.entry(item.name.clone()).or_default().push(Node { label, ..node });
        }
    }
    grouped(groups, within)
}

/// What has been moved so far, by item and iteration.
fn recorded(
    story: &Story,
    span: Span,
    counts: impl Fn(&Movement) -> bool,
) -> BTreeMap<String, Vec<Node>> {
    let scenario = story.shop.scenario;
    let movements = scenario.past.iter().flat_map(|past| &past.movements);
    let mut sums: BTreeMap<(String, u32), i64> = BTreeMap::new();
    for m in movements.filter(|m| counts(m) && span.has(story, m.iteration)) {
        let name = scenario.items[m.item.index()].name.clone();
        *sums.entry((name, m.iteration)).or_default() += m.amount;
    }
    let mut groups: BTreeMap<String, Vec<Node>> = BTreeMap::new();
    for ((name, n), sum) in sums {
        let node = Node::happened(format!("iteration {n}, recorded"), millionths(sum), "mL");
        groups.entry(name).or_default().push(node);
    }
    groups
}

fn grouped(groups: BTreeMap<String, Vec<Node>>, within: &Within) -> Result<Node, Unexplained> {
    let sum = |name: String, nodes| Node::of(How::Sum, name, "mL", nodes).of_many();
    let items = wanted_item(groups, within.item.as_deref(), sum)?;
    Ok(only(items, within.item.is_some(), |items| Node::of(How::Sum, "", "mL", items)))
}

/// What is discarded, by item: prints that fail, what each build loses, baths that are emptied.
pub(super) fn waste(story: &Story, span: Span, within: &Within) -> Result<Node, Unexplained> {
    let items = &story.shop.scenario.items;
    let wasted =
        |m: &Movement| m.to == Account::Waste && items[m.item.index()].class != ItemClass::Supply;
    let mut groups = recorded(story, span, wasted);
    for (index, event) in story.events.iter().enumerate() {
        if !span.has(story, event.iteration) {
            continue;
        }
        let (item, node) = match &event.what {
            What::Draw(draw) => match draw.to {
                Fate::Print(good) => {
                    let good =
                        Node::happened("in good pieces and supports", millionths(good), "mL");
                    let parts = vec![material::drawn(story, index, draw), good];
                    (draw.item, Node::of(How::Difference, "", "mL", parts))
                }
                _ => continue,
            },
            What::Move { item, amount, to: Account::Waste, .. } => {
                (*item, Node::happened("", millionths(*amount), "mL"))
            }
            _ => continue,
        };
        let item = &items[item.index()];
        if item.class != ItemClass::Supply {
            let label = happening(story, index);
            groups.entry(item.name.clone()).or_default().push(Node { label, ..node });
        }
    }
    grouped(groups, within)
}

/// What an event belongs to, in words.
fn happening(story: &Story, index: usize) -> String {
    let (event, scenario) = (&story.events[index], story.shop.scenario);
    let step = super::time::step_of(story.shop, event).map_or("", |s| s.name.as_str());
    let emptied = match &event.what {
        What::Move { from: Account::Bath(bath), .. } => {
            format!("{} emptied at ", scenario.baths[bath.index()].name)
        }
        _ => String::new(),
    };
    let route = event.route.map(|r| format!(" by {}", scenario.route(r).name)).unwrap_or_default();
    format!("{emptied}{step}{route}, {}, {}", story.turn(event.iteration), story.date(event.when))
}
