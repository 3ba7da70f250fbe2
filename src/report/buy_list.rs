//! The buy list as a view, as CSV and as JSON.

use serde::Serialize;

use super::csv::{finished, writer};
use super::{Section, Subject, View, Words, capital, cautions, letter, listed, neutral};
use crate::analysis::{Bought, BuyLine};
use crate::model::{DAY, Money, RouteId, RouteKind};

/// Columns of the CSV file.
pub const BUY_LIST_COLUMNS: [&str; 15] = [
    "order_by",
    "there_on",
    "iteration",
    "final",
    "kind",
    "item",
    "quantity",
    "unit",
    "content",
    "content_unit",
    "cost",
    "currency",
    "parts",
    "routes",
    "note",
];

const NOT_COUNTED: &str = "price not counted";

/// The buy list of one plan of an answer.
#[derive(Clone, Copy, Debug)]
pub struct BuyList<'s> {
    /// The scenario with its answer.
    pub subject: Subject<'s>,
    /// The plan, by its index in the ranking.
    pub index: usize,
    /// The lines.
    pub lines: &'s [BuyLine],
}

/// A line in words; figures exact.
#[derive(Serialize)]
struct BuyRow<'s> {
    order_by: String,
    there_on: String,
    iteration: u32,
    #[serde(rename = "final")]
    last: bool,
    kind: &'static str,
    item: &'s str,
    quantity: String,
    unit: &'static str,
    content: Option<String>,
    content_unit: Option<&'static str>,
    cost: Option<String>,
    counted: bool,
    parts: Vec<&'s str>,
    routes: Vec<&'s str>,
}

#[derive(Serialize)]
struct Document<'s> {
    scenario: &'s str,
    plan: &'s str,
    currency: &'s str,
    lines: Vec<BuyRow<'s>>,
    total: String,
    notes: Vec<String>,
    cautions: Vec<String>,
}

impl<'s> BuyList<'s> {
    fn total(&self) -> Money {
        self.lines.iter().map(|l| l.cost).sum()
    }

    fn name(&self) -> &'s str {
        &self.subject.plan(self.index).plan.name
    }

    fn is_last(&self, line: &BuyLine) -> bool {
        line.iteration > self.subject.answer.planned
    }

    fn item(&self, what: Bought) -> &'s str {
        let scenario = self.subject.scenario();
        match what {
            Bought::Item(id) => &scenario.items[id.index()].name,
            Bought::Machine(id) => &scenario.equipment[id.index()].name,
            Bought::First(route) => &scenario.route(route).name,
            Bought::Order(route) => service(&self.subject, route),
        }
    }

    fn parts(&self, line: &BuyLine) -> Vec<&'s str> {
        let scenario = self.subject.scenario();
        line.parts.iter().map(|&p| scenario.part(p).name.as_str()).collect()
    }

    fn routes(&self, line: &BuyLine) -> Vec<&'s str> {
        let scenario = self.subject.scenario();
        line.routes.iter().map(|&r| scenario.route(r).name.as_str()).collect()
    }

    fn row(&self, line: &BuyLine) -> BuyRow<'s> {
        let words = self.subject.words();
        // Nothing is known of the cost of an item without price; an order without one still pays delivery.
        let known = line.counted || !line.cost.is_zero();
        BuyRow {
            order_by: words.plain_date(line.order_by * DAY),
            there_on: words.plain_date(line.there),
            iteration: line.iteration,
            last: self.is_last(line),
            kind: kind(line.what),
            item: self.item(line.what),
            quantity: line.quantity.to_string(),
            unit: line.unit,
            content: line.content.map(|c| c.0.to_string()),
            content_unit: line.content.map(|c| c.1),
            cost: known.then(|| line.cost.text(self.subject.scenario().minor())),
            counted: line.counted,
            parts: self.parts(line),
            routes: self.routes(line),
        }
    }

    /// What must be known to read the list.
    fn notes(&self) -> Vec<String> {
        let words = self.subject.words();
        let rest = self.subject.plan(self.index).decides.outlay - self.total();
        let not_listed = if rest.is_zero() {
            String::new()
        } else {
            let rest = some_money(&words, rest);
            format!("; {rest} of the outlay is not ordered (electricity, disposal, paid hours)")
        };
        let mut said = vec![
            format!("in all {} {}{not_listed}", words.money(self.total()), words.currency()),
            "dates are without failures; how much is expected, failures in it at their chances: one more failed build can ask for a \
             pack sooner"
                .to_owned(),
            "there on: goods must be there that day; pieces of an order can be used from then on".to_owned(),
        ];
        if self.lines.iter().any(|l| !l.counted) {
            said.push(format!("{NOT_COUNTED}: it is to be ordered all the same"));
        }
        said
    }
}

/// Money in whole units; what is not nothing is never shown as nothing.
fn some_money(words: &Words, amount: Money) -> String {
    let text = words.money(amount);
    if text == "0" && !amount.is_zero() { "under 1".to_owned() } else { text }
}

fn kind(what: Bought) -> &'static str {
    match what {
        Bought::Item(_) => "item",
        Bought::Machine(_) => "machine",
        Bought::First(_) => "first purchase",
        Bought::Order(_) => "order",
    }
}

fn service<'s>(subject: &Subject<'s>, route: RouteId) -> &'s str {
    let route = subject.scenario().route(route);
    match &route.kind {
        RouteKind::Order(terms) => &terms.service,
        RouteKind::Bench(_) => &route.name,
    }
}

/// Says what to order by when.
pub fn buy_list_view(list: &BuyList) -> View {
    let head = ["order by", "item", "how much", "cost", "there on", "for"];
    let words = list.subject.words();
    let mut rows: Vec<Vec<String>> = list.lines.iter().map(|l| cells(list, &words, l)).collect();
    if !rows.is_empty() {
        let total = words.money(list.total());
        rows.push(vec!["in all".to_owned(), String::new(), String::new(), total]);
        rows.iter_mut().for_each(|row| row.resize(head.len(), String::new()));
    }
    let table = Section::table(head.map(str::to_owned).to_vec(), rows);
    let nothing = || Section::sentences("", vec!["Nothing is to be ordered.".to_owned()]);
    let notes = list.notes().iter().map(|n| format!("{}.", capital(n))).collect();
    let plan = format!("{}: {}", letter(list.index), list.name());
    let sections = [
        Section::sentences("Plan", vec![plan]),
        table.map(|t| t.with_words(&[1, 5])).or_else(nothing),
        Section::sentences("Notes", notes),
        Section::sentences("Caution", cautions(&list.subject)).map(Section::closely),
    ];
    let title = format!(
        "{} (what to order by when; money in {})",
        list.subject.scenario().title,
        words.currency()
    );
    View { title, sections: sections.into_iter().flatten().collect(), lines: usize::MAX }
}

fn cells(list: &BuyList, words: &Words, line: &BuyLine) -> Vec<String> {
    let item = list.item(line.what);
    let item = match line.what {
        Bought::Item(_) | Bought::Machine(_) => item.to_owned(),
        Bought::First(_) => format!("first purchase of {item}"),
        Bought::Order(_) => format!("order to {item}"),
    };
    let much = match line.content {
        // Packs of one kind: so many of so much each.
        Some((content, unit)) => {
            format!("{} x {} {unit}", line.quantity, (content / line.quantity).half_away(1))
        }
        None if line.unit.is_empty() => String::new(),
        None => format!("{} {}", line.quantity.half_away(1), line.unit),
    };
    let cost = match (line.counted, line.cost.is_zero()) {
        (true, _) => some_money(words, line.cost),
        (false, true) => NOT_COUNTED.to_owned(),
        (false, false) => format!("{}, {NOT_COUNTED}", words.money(line.cost)),
    };
    let turn = if list.is_last(line) { "final".to_owned() } else { format!("{}", line.iteration) };
    let names = list.parts(line);
    let whom = listed(&if names.is_empty() { list.routes(line) } else { names });
    vec![
        // With the weekday, and narrow: six columns have to fit a small terminal.
        words.date(line.order_by * DAY).replace(['(', ')'], ""),
        item,
        much,
        cost,
        words.plain_date(line.there),
        format!("{turn}: {whom}"),
    ]
}

/// The list as CSV with one header line; what has no price has an empty cost.
///
/// # Errors
/// Only if the text cannot be written to memory.
pub fn buy_list_csv(list: &BuyList) -> Result<Vec<u8>, ::csv::Error> {
    let mut writer = writer();
    writer.write_record(BUY_LIST_COLUMNS)?;
    for line in list.lines {
        let row = list.row(line);
        let note = if row.counted { "" } else { NOT_COUNTED };
        writer.write_record([
            row.order_by.as_str(),
            &row.there_on,
            &row.iteration.to_string(),
            if row.last { "yes" } else { "no" },
            row.kind,
            &neutral(row.item),
            &row.quantity,
            row.unit,
            row.content.as_deref().unwrap_or(""),
            row.content_unit.unwrap_or(""),
            row.cost.as_deref().unwrap_or(""),
            &list.subject.scenario().currencies[0].code,
            &neutral(&row.parts.join("; ")),
            &neutral(&row.routes.join("; ")),
            note,
        ])?;
    }
    finished(writer)
}

/// The list as one JSON document, ending in a line feed; what has no price has a null cost.
///
/// # Errors
/// Only if a text has no form in JSON, which none of these lacks.
pub fn buy_list_json(list: &BuyList) -> Result<String, serde_json::Error> {
    let scenario = list.subject.scenario();
    let document = Document {
        scenario: &scenario.name,
        plan: list.name(),
        currency: &scenario.currencies[0].code,
        lines: list.lines.iter().map(|l| list.row(l)).collect(),
        total: list.total().text(scenario.minor()),
        notes: list.notes(),
        cautions: cautions(&list.subject),
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}
