//! The tree itself: a figure, how it follows from the figures below it, and where those that follow from nothing are stated.

use crate::model::{Exact, Slot, SourceId};
use crate::plan::Shop;

/// One figure of a tree.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// What it is.
    pub label: String,
    /// Its value, unrounded, in `unit`.
    pub value: Exact,
    /// The unit: `s`, `h`, `mL`, a currency, or empty.
    pub unit: String,
    /// How it follows from its children.
    pub how: How,
    /// Where it is stated; for figures without children.
    pub from: Origin,
    /// What the terminal shows in place of the value, where that is a date or a word.
    pub shown: Option<String>,
    /// True where its children are many of one kind: a reader sees the first few.
    pub many: bool,
    /// What it follows from; of a given figure what it rests on.
    pub children: Vec<Node>,
}

/// How a figure follows from its children.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum How {
    /// It is stated, or known from what happened.
    Given,
    /// All added.
    Sum,
    /// The first less the others.
    Difference,
    /// All multiplied.
    Product,
    /// The first divided by the others.
    Quotient,
    /// The largest.
    Largest,
    /// The only one, rounded half away from zero to so many decimals.
    Rounded(u32),
    /// The only one, rounded up to the next whole number.
    RoundedUp,
    /// The first, rounded up to the next multiple of the second.
    StepUp,
    /// The only one in a larger unit: divided by so much.
    InUnits(i64),
    /// 1 divided by the chance that none of them happens.
    Repeats,
    /// The chance that at least one of them happens.
    AtLeastOne,
    /// Starts that pass count once, those that fail the share spent: 1 - first + first x second.
    Spent,
}

/// Where a figure is stated.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Origin {
    /// It follows from its children.
    Children,
    /// An input of the scenario.
    Input(Slot),
    /// A line of a sheet or a key of the scenario.
    Source(SourceId),
    /// What happened in the simulation: counts of pieces, moments, what was in stock.
    Happened,
}

impl How {
    /// The word used in files.
    pub fn name(self) -> &'static str {
        match self {
            How::Given => "given",
            How::Sum => "sum",
            How::Difference => "difference",
            How::Product => "product",
            How::Quotient => "quotient",
            How::Largest => "largest",
            How::Rounded(_) => "rounded",
            How::RoundedUp => "rounded up",
            How::StepUp => "rounded up to a step",
            How::InUnits(_) => "in units",
            How::Repeats => "1 / chance of none",
            How::AtLeastOne => "chance of at least one",
            How::Spent => "1 - first + first x second",
        }
    }

    /// What follows from these values.
    fn value(self, of: &[Node]) -> Exact {
        let first = of.first().map_or(Exact::ZERO, |n| n.value);
        let rest = || of.iter().skip(1).map(|n| n.value);
        let none = || of.iter().fold(Exact::ONE, |p, n| p * (Exact::ONE - n.value));
        match self {
            How::Given => first,
            How::Sum => of.iter().map(|n| n.value).sum(),
            How::Difference => rest().fold(first, |a, b| a - b),
            How::Product => rest().fold(first, |a, b| a * b),
            How::Quotient => rest().filter(|d| !d.is_zero()).fold(first, |a, b| a / b),
            How::Largest => rest().fold(first, Exact::max),
            How::Rounded(decimals) => first.half_away(decimals),
            How::RoundedUp => Exact::from(first.ceil()),
            How::StepUp => match rest().next().filter(|s| !s.is_zero()) {
                Some(step) => Exact::from((first / step).ceil()) * step,
                None => first,
            },
            How::InUnits(size) => first / Exact::from(size),
            How::Repeats => match none() {
                never if never.is_zero() => Exact::ZERO,
                none => Exact::ONE / none,
            },
            How::AtLeastOne => Exact::ONE - none(),
            How::Spent => {
                let spent = rest().next().unwrap_or(Exact::ONE);
                Exact::ONE - first + first * spent
            }
        }
    }
}

impl Node {
    /// A figure that follows from others.
    pub fn of(how: How, label: impl Into<String>, unit: &str, children: Vec<Node>) -> Node {
        let value = how.value(&children);
        let (label, unit) = (label.into(), unit.to_owned());
        Node { label, value, unit, how, from: Origin::Children, shown: None, many: false, children }
    }

    /// The only one of some figures as it is, else what follows from all.
    pub fn of_some(how: How, label: &str, unit: &str, mut children: Vec<Node>) -> Node {
        match children.pop() {
            Some(only) if children.is_empty() => only,
            Some(last) => {
                children.push(last);
                Node::of(how, label, unit, children)
            }
            None => Node::of(how, label, unit, children),
        }
    }

    /// A figure of what happened.
    pub fn happened(label: impl Into<String>, value: impl Into<Exact>, unit: &str) -> Node {
        Node {
            label: label.into(),
            value: value.into(),
            unit: unit.to_owned(),
            how: How::Given,
            from: Origin::Happened,
            shown: None,
            many: false,
            children: Vec::new(),
        }
    }

    /// An input, as this run has it, in its base unit.
    pub fn input(shop: &Shop, slot: Slot, label: &str) -> Node {
        let value = shop.values.exact(slot);
        Node { from: Origin::Input(slot), ..Node::happened(label, value, base_unit(shop, slot)) }
    }

    /// An input in whole seconds or whole days, as the simulation has it.
    pub fn whole_input(shop: &Shop, slot: Slot, label: &str) -> Node {
        Node { value: Exact::from(shop.values.whole(slot)), ..Node::input(shop, slot, label) }
    }

    /// The same figure with another unit.
    #[must_use]
    pub fn in_unit(self, unit: &str) -> Node {
        Node { unit: unit.to_owned(), ..self }
    }

    /// The same figure, shown by a text.
    #[must_use]
    pub fn shown(self, text: impl Into<String>) -> Node {
        Node { shown: Some(text.into()), ..self }
    }

    /// The same figure of many children of one kind.
    #[must_use]
    pub fn of_many(self) -> Node {
        Node { many: true, ..self }
    }

    /// Every figure of the tree, this one first.
    pub fn walk(&self) -> impl Iterator<Item = &Node> {
        let mut stack = vec![self];
        std::iter::from_fn(move || {
            let node = stack.pop()?;
            stack.extend(node.children.iter().rev());
            Some(node)
        })
    }
}

/// The unit in which numbers of an input's dimension are kept; empty for money, rates and plain numbers.
fn base_unit(shop: &Shop, slot: Slot) -> &'static str {
    use crate::model::Dim;
    match shop.scenario.slots.get(slot).dim {
        Dim::Time => "s",
        Dim::Volume => "mL",
        Dim::Mass => "g",
        Dim::Area => "cm2",
        Dim::Length => "mm",
        Dim::Pieces => "pcs",
        Dim::Power => "W",
        Dim::Density => "g/mL",
        Dim::Pace => "s per mL",
        Dim::Count | Dim::Share | Dim::Money | Dim::Rate | Dim::Ratio => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn n(text: &str) -> Node {
        Node::happened("n", crate::model::e(text), "")
    }

    fn e(how: How, of: &[&str]) -> String {
        Node::of(how, "x", "", of.iter().map(|t| n(t)).collect()).value.to_string()
    }

    #[test]
    fn figures_follow_from_their_children() {
        assert_eq!(e(How::Sum, &["1", "2", "3.5"]), "6.5");
        assert_eq!(e(How::Difference, &["10", "2", "3"]), "5");
        assert_eq!(e(How::Product, &["2", "3", "0.5"]), "3");
        assert_eq!(e(How::Quotient, &["12", "4", "0"]), "3");
        assert_eq!(e(How::Largest, &["1", "7", "3"]), "7");
        assert_eq!(e(How::Rounded(2), &["1.005"]), "1.01");
        assert_eq!(e(How::RoundedUp, &["1.2"]), "2");
        assert_eq!(e(How::StepUp, &["701", "500"]), "1000");
        assert_eq!(e(How::InUnits(3600), &["900"]), "0.25");
        // Two steps that fail with 0.2 and 0.5: 1 / 0.4, and 1 - 0.4.
        assert_eq!(e(How::Repeats, &["0.2", "0.5"]), "2.5");
        assert_eq!(e(How::AtLeastOne, &["0.2", "0.5"]), "0.6");
        assert_eq!(e(How::Spent, &["0.2", "0.5"]), "0.9");
    }

    #[test]
    fn a_tree_is_walked_from_the_top() {
        let tree =
            Node::of(How::Sum, "x", "", vec![Node::of(How::Sum, "y", "", vec![n("1")]), n("2")]);
        let labels: Vec<&str> = tree.walk().map(|n| n.label.as_str()).collect();
        assert_eq!(labels, ["x", "y", "n", "n"]);
        assert_eq!(Node::of_some(How::Sum, "s", "", vec![n("4")]).label, "n");
    }
}
