//! The tables: plans side by side, the cost if the work ends sooner or later, materials.

use std::collections::BTreeSet;

use super::Section;
use crate::analysis::{PlanResult, is_same_as_another};
use crate::ledger::{Account, Category, Ledger, Total};
use crate::model::{ItemClass, ItemId, Money};
use crate::report::{Subject, days_text, fixed, letter, listed, millilitres, percent};

/// Plans shown where not all are asked for.
const FEW: usize = 3;

/// The plans that are shown, by index: all, or the verdict, whatever is cheapest somewhere, and the next ones in the ranking.
pub(super) fn shown(subject: &Subject, all: bool) -> Vec<usize> {
    let answer = subject.answer;
    if all {
        return (0..answer.plans.len()).collect();
    }
    let verdict = answer.verdict.iter().map(|v| v.plan);
    let mut set: BTreeSet<usize> = verdict.chain(answer.stops.iter().map(|s| s.cheapest)).collect();
    // A plan by another name says nothing new.
    let new = |&i: &usize| !is_same_as_another(subject.shop, &answer.plans, i);
    let mut next = (0..answer.plans.len()).filter(new);
    while set.len() < FEW
        && let Some(index) = next.next()
    {
        set.insert(index);
    }
    set.into_iter().collect()
}

/// At what the figures are taken: `at 6 + final`.
fn at(subject: &Subject) -> String {
    let last = if subject.has_final() { " + final" } else { "" };
    format!("at {}{last}", subject.answer.planned)
}

fn head(first: String, rest: &[&str]) -> Vec<String> {
    std::iter::once(first).chain(rest.iter().map(|&h| h.to_owned())).collect()
}

/// A plan's letter; the verdict's is pointed at.
pub(super) fn marked(subject: &Subject, index: usize) -> String {
    let verdict = subject.answer.verdict.as_ref().map(|v| v.plan);
    let mark = if verdict == Some(index) { ">" } else { " " };
    let doubt = if subject.plan(index).unproven.is_some() { " ?" } else { "" };
    format!("{mark} {}{doubt}", letter(index))
}

/// Plans side by side; the verdict's is pointed at.
pub(super) fn plans(subject: &Subject, shown: &[usize]) -> Option<Section> {
    let words = subject.words();
    let row = |&index: &usize| {
        let plan = subject.plan(index);
        let decides = plan.decides;
        vec![
            marked(subject, index),
            words.money(decides.avoidable),
            words.money(decides.outlay),
            format!("{} h", fixed(decides.attended, 1)),
            days_text(decides.seconds),
            words.date(subject.shop.start + decides.seconds),
            percent(plan.failure.chance),
            if plan.failure.chance > 0.0 {
                format!("{:.1} d", plan.failure.days)
            } else {
                String::new()
            },
        ]
    };
    Section::table(
        head(at(subject), &["avoidable", "outlay", "attended", "days", "in hand", "risk", "adds"]),
        shown.iter().map(row).collect(),
    )
}

/// Avoidable cost if the work ends after so many iterations; the cheapest is starred.
pub(super) fn stops(subject: &Subject, shown: &[usize]) -> Option<Section> {
    let words = subject.words();
    let stops = &subject.answer.stops;
    let row = |&index: &usize| {
        let costs = stops.iter().map(|s| {
            let least = s.costs.get(s.cheapest);
            let star = if s.costs.get(index) == least { "*" } else { " " };
            s.costs.get(index).map_or(String::new(), |&c| format!("{}{star}", words.money(c)))
        });
        std::iter::once(format!("  {}", letter(index))).chain(costs).collect()
    };
    let counts = stops.iter().map(|s| format!("{} ", s.n));
    let first = if subject.has_final() { "cost with final after" } else { "cost if it ends after" };
    let head = std::iter::once(first.to_owned()).chain(counts).collect();
    Section::table(head, shown.iter().map(row).collect())
}

/// Millionths of mL of an item drawn up to the planned count, with the final.
fn drawn(subject: &Subject, plan: &PlanResult, item: ItemId) -> i64 {
    let at = subject.answer.planned as usize - 1;
    let curve = plan.curves.drawn.get(&item).and_then(|c| c.get(at)).copied().unwrap_or(0);
    let of_final = plan.last.iter().flat_map(|l| l.ledger.movements());
    // What runs on beside the final is in the curve.
    let of_final = of_final.filter(|m| m.iteration > subject.answer.planned);
    let last: i64 =
        of_final.filter(|m| m.item == item && m.from == Account::Stock).map(|m| m.amount).sum();
    curve + last
}

/// Every item in mL that some plan draws.
fn items(subject: &Subject) -> Vec<ItemId> {
    let of_plans = subject.answer.plans.iter().flat_map(|p| p.curves.drawn.keys().copied());
    of_plans.collect::<BTreeSet<_>>().into_iter().collect()
}

/// One column of the materials table: what is summed in it.
type Column = (String, Vec<ItemId>);

fn class_columns(subject: &Subject) -> Vec<Column> {
    let classes =
        [(ItemClass::Resin, "resin"), (ItemClass::Solvent, "solvent"), (ItemClass::Dye, "dye")];
    let of = |class| {
        let is = |i: &ItemId| subject.scenario().items[usize::from(i.0)].class == class;
        items(subject).into_iter().filter(is).collect::<Vec<_>>()
    };
    classes
        .into_iter()
        .map(|(class, name)| (name.to_owned(), of(class)))
        .filter(|c| !c.1.is_empty())
        .collect()
}

/// What each plan draws and discards; by item where `by_item`, else by class.
pub(super) fn materials(subject: &Subject, shown: &[usize], by_item: bool) -> Option<Section> {
    let columns = if by_item {
        let name = |i: &ItemId| subject.scenario().items[usize::from(i.0)].name.clone();
        items(subject).into_iter().map(|i| (name(&i), vec![i])).collect()
    } else {
        class_columns(subject)
    };
    if columns.is_empty() {
        return None;
    }
    let row = |&index: &usize| {
        let plan = subject.plan(index);
        let sum = |items: &[ItemId]| items.iter().map(|&i| drawn(subject, plan, i)).sum::<i64>();
        let drawn = columns.iter().map(|(_, items)| millilitres(sum(items)));
        let waste = millilitres(plan.decides.waste);
        std::iter::once(format!("  {}", letter(index))).chain(drawn).chain([waste]).collect()
    };
    let names: Vec<&str> = columns.iter().map(|c| c.0.as_str()).chain(["resin wasted"]).collect();
    let unit = |name: &str| format!("{name}, mL");
    let names: Vec<String> = names.into_iter().map(unit).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    Section::table(head(at(subject), &names), shown.iter().map(row).collect())
}

/// The materials of the verdict's plan in a sentence.
pub(super) fn materials_briefly(subject: &Subject) -> Option<Section> {
    let index = subject.answer.verdict.as_ref()?.plan;
    let plan = subject.plan(index);
    let sum = |items: &[ItemId]| items.iter().map(|&i| drawn(subject, plan, i)).sum::<i64>();
    let drawn: Vec<String> = class_columns(subject)
        .into_iter()
        .map(|(name, items)| format!("{} mL {name}", millilitres(sum(&items))))
        .collect();
    let text = format!(
        "{} draws {}; {} mL discarded (others: --all).",
        letter(index),
        listed(&drawn),
        millilitres(plan.decides.waste)
    );
    Section::sentences("Materials", if drawn.is_empty() { Vec::new() } else { vec![text] })
}

/// The ledger of one plan by category, each in its three totals.
pub(super) fn by_category(subject: &Subject, name: &str, ledger: &Ledger) -> Option<Section> {
    let words = subject.words();
    let of = |total| ledger.by_category(total, u32::MAX);
    let (avoidable, outlay, consumed) =
        (of(Total::Avoidable), of(Total::Outlay), of(Total::Consumed));
    let find = |list: &[(Category, Money)], category: Category| {
        list.iter().find(|c| c.0 == category).map_or(Money::ZERO, |c| c.1)
    };
    let row = |label: &str, sums: [Money; 3]| {
        let mut row = vec![format!("  {label}")];
        row.extend(sums.map(|m| words.money(m)));
        row
    };
    let mut rows: Vec<Vec<String>> = Category::ALL
        .into_iter()
        .map(|c| (c, [&avoidable, &outlay, &consumed].map(|list| find(list, c))))
        .filter(|(_, sums)| sums.iter().any(|s| !s.is_zero()))
        .map(|(c, sums)| row(c.name(), sums))
        .collect();
    rows.push(row(
        "total",
        [Total::Avoidable, Total::Outlay, Total::Consumed].map(|t| ledger.total(t, u32::MAX)),
    ));
    Section::table(
        head(format!("plan {name} by category"), &["avoidable", "outlay", "consumed"]),
        rows,
    )
}

/// The curves of one plan: its totals after each count of iterations to the horizon, without the final.
pub(super) fn curves(subject: &Subject, index: usize) -> Option<Section> {
    let words = subject.words();
    let curves = &subject.plan(index).curves;
    let row = |n: usize| {
        vec![
            format!("  {}", n + 1),
            words.money(curves.avoidable[n]),
            words.money(curves.outlay[n]),
            words.money(curves.consumed[n]),
            fixed(curves.attended[n], 1),
            days_text(curves.seconds[n]),
            millilitres(curves.waste[n]),
        ]
    };
    let first = format!("plan {} after", letter(index));
    let names = ["avoidable", "outlay", "consumed", "attended h", "days", "waste, mL"];
    Section::table(head(first, &names), (0..curves.avoidable.len()).map(row).collect())
}
