//! The ledger of the verdict's plan, and its outlay by month with the reserve.

use maud::{Markup, html};

use super::super::chart::{Column, Columns, Head, columns};
use super::super::terminal::clean;
use super::super::{Budget, BudgetRow, budget, folded, letter};
use super::extras::Page;
use super::frame::{figure, opened, table, wide};
use crate::model::{Exact, Money};

/// Rows of the ledger that the page holds.
const MOST: usize = 5_000;

fn laid_out<'a>(page: &Page<'a>) -> Option<(usize, Budget<'a>)> {
    let verdict = page.subject.answer.verdict.as_ref()?.plan;
    let ledger = page.extras.ledger?;
    Some((verdict, budget(page.subject, &page.subject.plan(verdict).plan.name, ledger)))
}

/// Outlay of each month in the order of the ledger.
fn by_month(budget: &Budget) -> Vec<(String, Money)> {
    let mut months: Vec<(String, Money)> = Vec::new();
    for sum in folded(budget) {
        match months.iter_mut().find(|m| m.0 == sum.month) {
            Some(month) => month.1 += sum.outlay,
            None => months.push((sum.month, sum.outlay)),
        }
    }
    months
}

/// Outlay by month, with what should be kept in reserve.
pub(super) fn months(page: &Page) -> Markup {
    let Some((verdict, budget)) = laid_out(page) else {
        return html! {};
    };
    let months = by_month(&budget);
    let reserve = reserve(page, verdict);
    let column = |name: &str, value: f64, said: String, reserve: bool| Column {
        name: name.to_owned(),
        value,
        said,
        reserve,
    };
    let bars = months
        .iter()
        .map(|(m, v)| column(m, v.exact().to_f64_lossy(), page.words.money(*v), false));
    let kept = reserve.iter().map(|&r| column("reserve", r, page.words.about(r), true));
    let chart = Columns {
        head: Head::new("months-c", "Outlay by month", "A column a month, and the reserve."),
        y_name: page.words.currency().to_owned(),
        columns: bars.chain(kept).collect(),
        height: 240.0,
    };
    let said = format!(
        "Money leaving by plan {} at {}, without failures{}. {}Not moved by the slider.",
        letter(verdict),
        page.at_planned(),
        if page.subject.plan(verdict).unproven.is_some() {
            ", its unproven route working"
        } else {
            ""
        },
        if reserve.is_some() {
            "Reserve: what P80 of the outlay in the samples is above P50. "
        } else {
            ""
        }
    );
    html! {
        section #months aria-labelledby="months-h" {
            h2 #months-h { "Outlay by month" }
            (figure(&columns(&chart), &said, &opened("Figures", &month_figures(page, &months, reserve))))
        }
    }
}

/// P80 less P50 of the outlay.
fn reserve(page: &Page, plan: usize) -> Option<f64> {
    let outlay = page.subject.answer.sampled.as_ref()?.plans.get(plan)?.outlay;
    Some(outlay.p80 - outlay.p50).filter(|r| r.is_finite())
}

fn month_figures(page: &Page, months: &[(String, Money)], reserve: Option<f64>) -> Markup {
    let code = page.words.currency();
    let head = ["month".to_owned(), format!("outlay, {code}"), format!("so far, {code}")];
    let mut sum = Money::ZERO;
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (month, outlay) in months {
        sum += *outlay;
        rows.push(vec![month.clone(), page.words.money(*outlay), page.words.money(sum)]);
    }
    let with = |more: f64| page.words.about(sum.exact().to_f64_lossy() + more);
    rows.extend(reserve.map(|r| vec!["reserve".to_owned(), page.words.about(r), with(r)]));
    let budget = page.subject.scenario().budget.map(|slot| page.subject.shop.values.exact(slot));
    let minor = page.subject.scenario().minor();
    let said = |b: Exact| page.words.money(b.to_money(minor));
    html! {
        (table("Outlay by month", &head, &rows, &[]))
        @if let Some(budget) = budget { p { "Budget: " (said(budget)) " " (code) "." } }
    }
}

/// The ledger: searched and sorted by the script, left out in print.
pub(super) fn ledger(page: &Page) -> Markup {
    let Some((verdict, budget)) = laid_out(page) else {
        return html! {};
    };
    let rows = &budget.rows[..MOST.min(budget.rows.len())];
    let working = page.subject.plan(verdict).unproven.is_some();
    html! {
        section #ledger aria-labelledby="ledger-h" {
            h2 #ledger-h { "Ledger of plan " (letter(verdict)) }
            p.said {
                (budget.rows.len()) " entries to " (page.at_planned()) "; amounts in " (budget.currency) ". "
                @if working { "Entries are those of the unproven route working. " }
                "Counts in: a avoidable, o outlay, c consumed. The whole ledger: " code { (clean(page.extras.ledger_file)) } "."
            }
            p.find hidden {
                label for="q" { "Search " } input #q type="search" autocomplete="off";
                " " span #found role="status" {}
            }
            (wide("Ledger", &entries(&budget, rows)))
            @if budget.rows.len() > MOST { (rest(page, &budget)) }
        }
    }
}

fn entries(budget: &Budget, rows: &[BudgetRow]) -> Markup {
    let names = [
        "#",
        "date",
        "it.",
        "part",
        "route",
        "category",
        "item",
        "quantity",
        "amount",
        "counts in",
        "source",
    ];
    let right = |name: &str| matches!(name, "#" | "it." | "quantity" | "amount");
    html! {
        table.sort #entries {
            thead { tr { @for name in names { th scope="col" class=[right(name).then_some("r")] { (name) } } } }
            tbody { @for row in rows { tr {
                td.r { (row.entry) } td { (row.date) } td.r { (row.iteration) }
                td { (clean(row.part)) } td { (clean(row.route)) }
                td { (row.category) } td { (clean(row.item)) } td.r { (row.quantity) " " (row.unit) }
                td.r { (row.amount.text(budget.minor)) } td { (counts(row)) @if row.assumed { " assumed" } }
                td { (clean(row.source)) }
            } } }
        }
    }
}

/// The totals an entry counts in.
fn counts(row: &BudgetRow) -> &'static str {
    match row.kind {
        "consume" => "c",
        "pay" if row.consumed == row.amount && !row.amount.is_zero() => "a o c",
        "pay" => "a o",
        _ if row.consumed == row.amount && !row.amount.is_zero() => "a c",
        _ => "a",
    }
}

/// What does not fit, by month.
fn rest(page: &Page, budget: &Budget) -> Markup {
    let later = Budget { rows: budget.rows[MOST..].to_vec(), ..budget.clone() };
    let mut months: Vec<(String, [Money; 3])> = Vec::new();
    for sum in folded(&later) {
        let at = months.iter().position(|m| m.0 == sum.month).unwrap_or_else(|| {
            months.push((sum.month.clone(), [Money::ZERO; 3]));
            months.len() - 1
        });
        months[at].1[0] += sum.avoidable;
        months[at].1[1] += sum.outlay;
        months[at].1[2] += sum.consumed;
    }
    let head = ["month", "avoidable", "outlay", "consumed"].map(str::to_owned);
    let row = |(month, sums): &(String, [Money; 3])| {
        std::iter::once(month.clone()).chain(sums.map(|m| page.words.money(m))).collect()
    };
    let rows: Vec<Vec<String>> = months.iter().map(row).collect();
    html! {
        h3 { "The other " (budget.rows.len() - MOST) " entries by month" }
        (table("Further entries by month", &head, &rows, &[]))
    }
}
