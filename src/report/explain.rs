//! A tree of figures as text for a terminal and as JSON.
//!
//! Enters: a tree, or what is known of an input. Leaves: lines, each figure on its own, what it follows from below it with the sign that
//! joins them; or one JSON document with every figure exact.

use serde::Serialize;

use super::terminal::{clean, wrapped};
use super::units::Units;
use super::words::grouped;
use super::{Subject, letter};
use crate::analysis::{At, Figure, How, InputUse, Node, Origin};
use crate::model::{DAY, Exact, HOUR, Money, Slot, Varies};

/// How much of a tree is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Depth {
    /// The most children of one kind.
    pub many: usize,
    /// True where each of them is followed down to what is stated.
    pub down: bool,
}

impl Depth {
    /// A total: its parts, and of the entries in them the first two in a line each.
    pub const TOTAL: Depth = Depth { many: 2, down: false };
    /// One category: some more entries, in a line each.
    pub const CATEGORY: Depth = Depth { many: 5, down: false };
    /// One item or one entry: down to what is stated.
    pub const ITEM: Depth = Depth { many: 2, down: true };
    /// Everything.
    pub const ALL: Depth = Depth { many: usize::MAX, down: true };
}

/// Decimals of a figure on a screen.
const DECIMALS: u32 = 6;

/// What a figure is, for the first line of its tree: `avoidable of plan A at 6 + final, resin`.
pub fn figure_title(subject: &Subject, figure: &Figure) -> String {
    let planned = At { n: subject.answer.planned, with_final: true };
    let at = figure.at.unwrap_or(planned);
    let last = if at.with_final && subject.has_final() { " + final" } else { "" };
    let mut text =
        format!("{} of plan {}", figure.kind.name().replace('_', " "), letter(figure.plan));
    if !matches!(figure.kind, crate::analysis::FigureKind::Risk | crate::analysis::FigureKind::Adds)
    {
        text.push_str(&format!(" at {}{last}", at.n));
    }
    let parts = [figure.within.category.map(|c| c.name().to_owned()), figure.within.item.clone()];
    for part in parts.into_iter().flatten() {
        text.push_str(&format!(", {part}"));
    }
    if subject.plan(figure.plan).unproven.is_some() && figure.at.is_none() {
        text.push_str(" (the plan rests on an unproven route)");
    }
    text
}

/// Lays a tree out in so many columns.
pub fn explain_text(subject: &Subject, node: &Node, depth: Depth, width: usize) -> String {
    let units = Units::new(subject.scenario());
    let mut draw =
        Draw { subject, units, depth, width: width.max(LEAST_WIDTH), text: String::new() };
    draw.node(node, 0, "");
    draw.text
}

/// The narrowest width that is laid out for.
const LEAST_WIDTH: usize = 40;
/// Least columns left to a label however wide its figure is.
const LEAST_LABEL: usize = 16;

struct Draw<'a, 's> {
    subject: &'a Subject<'s>,
    units: Units<'s>,
    depth: Depth,
    width: usize,
    text: String,
}

impl Draw<'_, '_> {
    fn node(&mut self, node: &Node, level: usize, sign: &str) {
        self.line(node, level, sign);
        let listed = level > 0 && self.is_listed(node);
        if listed && !self.depth.down {
            return;
        }
        let shown = if node.many { self.depth.many } else { usize::MAX };
        let shown = if node.children.len() <= shown.saturating_add(1) { usize::MAX } else { shown };
        for (at, child) in node.children.iter().take(shown).enumerate() {
            self.node(
                child,
                level + 1,
                if at == 0 { first_sign(node.how) } else { sign_of(node.how) },
            );
        }
        let rest = node.children.get(shown..).unwrap_or_default();
        if !rest.is_empty() {
            let sum: Exact = rest.iter().map(|n| n.value).sum();
            let label = format!("{} more", rest.len());
            let how = if node.how == How::Given { How::Given } else { How::Sum };
            let more = Node { how, ..Node::happened(label, sum, &node.unit) };
            let more = if node.how == How::Given { more.shown("") } else { more };
            self.line(&more, level + 1, sign_of(node.how));
        }
    }

    /// True for an entry, a draw and the like: what stands in a list of many.
    fn is_listed(&self, node: &Node) -> bool {
        matches!(node.how, How::Rounded(_)) && node.children.len() == 1
    }

    fn line(&mut self, node: &Node, level: usize, sign: &str) {
        let indent = "  ".repeat(level.min(self.width / 6));
        let value = self.value(node);
        let sign = if sign.is_empty() { String::new() } else { format!("{sign} ") };
        let label = format!("{indent}{sign}{}", clean(&self.label(node, level)));
        let columns = |text: &str| text.chars().count();
        let room = self.width.saturating_sub(columns(&value) + 2).max(LEAST_LABEL + indent.len());
        for (at, line) in wrapped(&label, room, indent.len() + 4).iter().enumerate() {
            self.text.push_str(line);
            if at == 0 && !value.is_empty() {
                let gap = self.width.saturating_sub(columns(line) + columns(&value)).max(2);
                self.text.push_str(&" ".repeat(gap));
                self.text.push_str(&value);
            }
            self.text.push('\n');
        }
    }

    /// What a figure is, and where it is stated or, in one line, what it is made of.
    fn label(&self, node: &Node, level: usize) -> String {
        let scenario = self.subject.scenario();
        match node.from {
            Origin::Input(slot) => {
                let input = scenario.slots.get(slot);
                let source = short_source(scenario.source(input.source));
                let assumed = if input.assumed { "assumed; " } else { "" };
                format!("{} ({}; {assumed}{source})", node.label, input.address)
            }
            Origin::Source(source) => format!("{} ({})", node.label, scenario.source(source)),
            _ if level > 0 && !self.depth.down && self.is_listed(node) => {
                match self.product(node) {
                    Some(product) => format!("{}: {product}", node.label),
                    None => node.label.clone(),
                }
            }
            _ => node.label.clone(),
        }
    }

    /// `0.25 h x 40 USD per h` of an entry.
    fn product(&self, node: &Node) -> Option<String> {
        let own = &self.subject.scenario().currencies[0].code;
        let amount = node.children.first().filter(|n| n.how == How::Product && n.unit == *own)?;
        let [quantity, price] = amount.children.as_slice() else {
            return None;
        };
        let source = inputs(price).next().map(|slot| {
            let scenario = self.subject.scenario();
            format!(" ({})", short_source(scenario.source(scenario.slots.get(slot).source)))
        });
        Some(format!(
            "{} x {}{}",
            self.value(quantity),
            self.value(price),
            source.unwrap_or_default()
        ))
    }

    /// A figure with its unit.
    fn value(&self, node: &Node) -> String {
        if let Some(shown) = &node.shown {
            return shown.clone();
        }
        if let Origin::Input(slot) = node.from
            && self.is_as_stated(node.value, slot)
        {
            return stated(&self.units, node.value, slot);
        }
        let scenario = self.subject.scenario();
        let own = &scenario.currencies[0].code;
        if node.unit == "s" {
            return duration(node.value);
        }
        let minor = scenario.minor();
        let text = if node.unit == *own && node.value.half_away(minor) == node.value {
            node.value.to_money(minor).text(minor)
        } else {
            node.value.half_away(DECIMALS).to_string()
        };
        let text = grouped(&text);
        match node.unit.as_str() {
            "" => text,
            "packs" | "orders" | "days" if node.value == Exact::ONE => {
                format!("{text} {}", node.unit.trim_end_matches('s'))
            }
            unit => format!("{text} {unit}"),
        }
    }

    /// True where a figure is the input itself, not what became of it in other units.
    fn is_as_stated(&self, value: Exact, slot: Slot) -> bool {
        let values = self.subject.shop.values;
        value == values.exact(slot) || value == Exact::from(values.whole(slot))
    }
}

/// A sheet line or a line of the scenario, without the key: the address says it.
pub(super) fn short_source(source: &str) -> &str {
    let (place, key) = source.split_once(' ').unwrap_or((source, ""));
    let is_line = place.rsplit_once(':').is_some_and(|(_, n)| n.parse::<u32>().is_ok());
    if is_line && !key.is_empty() { place } else { source }
}

fn inputs(node: &Node) -> impl Iterator<Item = Slot> {
    node.walk().filter_map(|n| match n.from {
        Origin::Input(slot) => Some(slot),
        _ => None,
    })
}

/// A number of an input in the unit a person states it in.
fn stated(units: &Units, value: Exact, slot: Slot) -> String {
    let unit = units.of(slot);
    let size = Exact::of_float(unit.size).filter(|s| !s.is_zero()).unwrap_or(Exact::ONE);
    let text = grouped(&(value / size).half_away(DECIMALS).to_string());
    if unit.name.is_empty() { text } else { format!("{text} {}", unit.name) }
}

/// What joins the first child to the figure above it.
fn first_sign(how: How) -> &'static str {
    match how {
        How::Given => "-",
        _ => "=",
    }
}

/// What joins the others.
fn sign_of(how: How) -> &'static str {
    match how {
        How::Sum => "+",
        How::Difference => "less",
        How::Product => "x",
        How::Quotient => "/",
        How::Given => "-",
        How::Largest | How::Repeats | How::AtLeastOne | How::StepUp | How::Spent => "and",
        How::Rounded(_) | How::RoundedUp | How::InUnits(_) => "=",
    }
}

/// Seconds in words: `7 h 36 min 12 s`.
fn duration(seconds: Exact) -> String {
    let whole = seconds.half_away(0);
    let parts = |total: i64| {
        let (days, rest) = (total / DAY, total % DAY);
        let figures =
            [(days, "d"), (rest / HOUR, "h"), (rest % HOUR / 60, "min"), (rest % 60, "s")];
        let said: Vec<String> =
            figures.iter().filter(|f| f.0 != 0).map(|(n, unit)| format!("{n} {unit}")).collect();
        said.join(" ")
    };
    if seconds.abs() < Exact::from(60i64) || whole != seconds {
        let few = seconds.half_away(3).to_string();
        let about = if seconds.abs() < Exact::from(60i64) {
            String::new()
        } else {
            format!(" ({})", parts(whole.to_whole()))
        };
        return format!("{few} s{about}");
    }
    parts(whole.to_whole())
}

/// What is known of an input, for a terminal.
pub fn input_text(
    subject: &Subject,
    told: &InputUse,
    (plan, most): (usize, usize),
    width: usize,
) -> String {
    let (scenario, units) = (subject.scenario(), Units::new(subject.scenario()));
    let input = scenario.slots.get(told.slot);
    let show = |value: Exact| stated(&units, value, told.slot);
    let mut lines = vec![
        format!("{}: {}", input.address, show(input.likely)),
        format!("  {}", super::input_words(&input.address)),
        format!(
            "  stated in: {}{}",
            scenario.source(input.source),
            if input.assumed { " (assumed)" } else { "" }
        ),
    ];
    if input.low < input.high {
        let when = match input.varies {
            Varies::Once => "drawn once for the whole project",
            Varies::Each => "drawn anew in each iteration",
        };
        lines.push(format!(
            "  range: {} to {}, likely {}; {when}",
            show(input.low),
            show(input.high),
            show(input.likely)
        ));
    } else {
        lines.push("  certain: it has no range".to_owned());
    }
    lines.extend(input_effect(subject, told, (plan, most), &show));
    let wrap = |line: &String| {
        let indent = line.len() - line.trim_start().len();
        wrapped(&clean(line), width.max(LEAST_WIDTH), indent + 4).join("\n") + "\n"
    };
    lines.iter().map(wrap).collect()
}

/// What the plan costs over the range of an input, and the entries that are computed from it.
fn input_effect(
    subject: &Subject,
    told: &InputUse,
    (plan, most): (usize, usize),
    show: &dyn Fn(Exact) -> String,
) -> Vec<String> {
    let scenario = subject.scenario();
    let input = scenario.slots.get(told.slot);
    let (letter, minor) = (letter(plan), scenario.minor());
    let money = |value: Exact| value.to_money(minor).text(minor);
    let mut lines = Vec::new();
    if let [Some(low), Some(likely), Some(high)] = told.avoidable {
        let ends = [(low, input.low), (likely, input.likely), (high, input.high)];
        let said = ends.map(|(cost, value)| format!("{} at {}", money(cost), show(value)));
        let code = &scenario.currencies[0].code;
        lines.push(format!(
            "  avoidable of plan {letter} as planned, in {code}: {}",
            said.join(", ")
        ));
    }
    let count = told.entries.len();
    if count == 0 {
        lines.push(format!(
            "  no amount of plan {letter} is computed from it: it may move dates, or other plans"
        ));
        return lines;
    }
    let are = if count == 1 { "entry" } else { "entries" };
    let total = told.total().text(minor);
    lines.push(format!("  {count} {are} of plan {letter} computed from it, together {total}:"));
    for ((title, amount), number) in told.titles.iter().zip(&told.entries).take(most) {
        lines.push(format!("    entry {number}: {title}: {}", amount.text(minor)));
    }
    if count > most {
        lines.push(format!("    {} more (--all)", count - most));
    }
    lines
}

#[derive(Serialize)]
struct Document<'a> {
    scenario: &'a str,
    what: &'a str,
    plan: Option<&'a str>,
    figure: Figured<'a>,
}

/// A figure of a tree; numbers are decimal texts.
#[derive(Serialize)]
struct Figured<'a> {
    label: &'a str,
    value: String,
    unit: &'a str,
    how: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    shown: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    address: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<&'a str>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    assumed: bool,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    children: Vec<Figured<'a>>,
}

fn figured<'a>(subject: &Subject<'a>, node: &'a Node) -> Figured<'a> {
    let scenario = subject.scenario();
    let input = match node.from {
        Origin::Input(slot) => Some(scenario.slots.get(slot)),
        _ => None,
    };
    let source = match node.from {
        Origin::Source(source) => Some(source),
        _ => input.map(|i| i.source),
    };
    Figured {
        label: &node.label,
        value: node.value.to_string(),
        unit: &node.unit,
        how: node.how.name(),
        shown: node.shown.as_deref(),
        address: input.map(|i| i.address.as_str()),
        source: source.map(|s| scenario.source(s)),
        assumed: input.is_some_and(|i| i.assumed),
        children: node.children.iter().map(|n| figured(subject, n)).collect(),
    }
}

/// A tree as one JSON document, ending in a line feed; `plan` is the plan it is of, where it is of one.
///
/// # Errors
/// Only if a text has no form in JSON, which none of these lacks.
pub fn explain_json(
    subject: &Subject,
    (what, plan): (&str, Option<usize>),
    node: &Node,
) -> Result<String, serde_json::Error> {
    let document = Document {
        scenario: &subject.scenario().name,
        what,
        plan: plan.map(|i| subject.plan(i).plan.name.as_str()),
        figure: figured(subject, node),
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}

#[derive(Serialize)]
struct InputDocument<'a> {
    scenario: &'a str,
    address: &'a str,
    words: String,
    plan: &'a str,
    low: String,
    likely: String,
    high: String,
    varies: &'static str,
    assumed: bool,
    source: &'a str,
    entries: &'a [usize],
    amount: String,
    avoidable: Option<[String; 3]>,
}

/// What is known of an input as one JSON document; its values are in the unit it is stated in.
///
/// # Errors
/// As [`explain_json`].
pub fn input_json(
    subject: &Subject,
    told: &InputUse,
    plan: usize,
) -> Result<String, serde_json::Error> {
    let (scenario, units) = (subject.scenario(), Units::new(subject.scenario()));
    let input = scenario.slots.get(told.slot);
    let show = |value: Exact| stated(&units, value, told.slot).replace('\u{202f}', "");
    let money = |value: Money| value.text(scenario.minor());
    let avoidable = match told.avoidable {
        [Some(low), Some(likely), Some(high)] => {
            Some([low, likely, high].map(|v| money(v.to_money(scenario.minor()))))
        }
        _ => None,
    };
    let document = InputDocument {
        scenario: &scenario.name,
        address: &input.address,
        words: super::input_words(&input.address),
        plan: &subject.plan(plan).plan.name,
        low: show(input.low),
        likely: show(input.likely),
        high: show(input.high),
        varies: if input.varies == Varies::Each { "each" } else { "once" },
        assumed: input.assumed,
        source: scenario.source(input.source),
        entries: &told.entries,
        amount: money(told.total()),
        avoidable,
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::e;

    #[test]
    fn durations_are_said_in_their_units() {
        assert_eq!(duration(e("27372")), "7 h 36 min 12 s");
        assert_eq!(duration(e("900")), "15 min");
        assert_eq!(duration(e("9")), "9 s");
        assert_eq!(duration(e("0")), "0 s");
        assert_eq!(duration(e("90061.5")), "90061.5 s (1 d 1 h 1 min 2 s)");
    }
}
