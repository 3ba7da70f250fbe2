//! Plans by category (`compare --wide`), and one plan iteration by iteration (`compare --plan`).

use super::{Section, View, assemble, tables};
use crate::analysis::ledger_of;
use crate::ledger::{Category, Ledger, Total};
use crate::model::{DAY, HOUR, Moment, Money, second_of_day};
use crate::report::{Subject, letter};
use crate::sim::{Dates, Stop};

/// Blanks between columns.
const GAP: usize = 2;
/// From so many columns on dates have their year.
const WITH_YEAR: usize = 100;

/// The totals of plans by category, as planned with the final: tables as wide as the terminal, one below the other.
///
/// # Errors
/// [`Stop`] where a plan cannot be carried out, which the answer has found before.
pub fn wide_view(subject: &Subject, (all, width): (bool, usize)) -> Result<View, Stop> {
    let shown = tables::shown(subject, all);
    let ledgers: Vec<Ledger> = shown
        .iter()
        .map(|&index| ledger_of(subject.shop, &subject.plan(index).plan))
        .collect::<Result<_, _>>()?;
    let mut sections = vec![assemble::legend(subject, &shown)];
    for total in [Total::Avoidable, Total::Outlay, Total::Consumed] {
        sections.extend(by_category(subject, (&shown, &ledgers), total, width));
    }
    if shown.iter().any(|&i| subject.plan(i).unproven.is_some()) {
        let said = "a plan on an unproven route is shown with the route working".to_owned();
        sections.push(Section::sentences("Note", vec![said]));
    }
    Ok(View {
        title: assemble::title(subject),
        sections: sections.into_iter().flatten().collect(),
        lines: usize::MAX,
    })
}

fn name(total: Total) -> &'static str {
    match total {
        Total::Avoidable => "avoidable",
        Total::Outlay => "outlay",
        Total::Consumed => "consumed",
    }
}

/// One total of each plan, its sum first, then its categories.
fn by_category(
    subject: &Subject,
    (shown, ledgers): (&[usize], &[Ledger]),
    total: Total,
    width: usize,
) -> Vec<Option<Section>> {
    let words = subject.words();
    let sums: Vec<Vec<(Category, Money)>> =
        ledgers.iter().map(|l| l.by_category(total, u32::MAX)).collect();
    let of = |plan: usize, category: Category| {
        let found = sums[plan].iter().find(|s| s.0 == category);
        found.map_or(Money::ZERO, |s| s.1)
    };
    let used = Category::ALL
        .into_iter()
        .filter(|&category| (0..ledgers.len()).any(|plan| !of(plan, category).is_zero()));
    let mut columns =
        vec![column("in all", ledgers.iter().map(|l| words.money(l.total(total, u32::MAX))))];
    columns.extend(used.map(|category| {
        column(category.name(), (0..ledgers.len()).map(|plan| words.money(of(plan, category))))
    }));
    let first = column(name(total), shown.iter().map(|&index| tables::marked(subject, index)));
    let mut sections = Vec::new();
    let mut rest = columns.as_slice();
    while !rest.is_empty() {
        let mut used = first.width;
        let fits = |c: &&Column| {
            used += GAP + c.width;
            used <= width
        };
        let count = rest.iter().take_while(fits).count().max(1);
        let (now, later) = rest.split_at(count);
        sections.push(table(&first, now));
        rest = later;
    }
    sections
}

/// A column: its heading, then a cell for each plan.
struct Column {
    cells: Vec<String>,
    width: usize,
}

fn column(head: &str, cells: impl Iterator<Item = String>) -> Column {
    let cells: Vec<String> = std::iter::once(head.to_owned()).chain(cells).collect();
    let width = cells.iter().map(|c| c.chars().count()).max().unwrap_or(0);
    Column { cells, width }
}

fn table(first: &Column, columns: &[Column]) -> Option<Section> {
    let row = |at: usize| {
        std::iter::once(first).chain(columns).map(|c| c.cells[at].clone()).collect::<Vec<_>>()
    };
    Section::table(row(0), (1..first.cells.len()).map(row).collect())
}

/// The dates of one plan, iteration by iteration, with what it has cost after each; to the planned count and the final, or all to the
/// horizon.
pub fn plan_view(subject: &Subject, index: usize, (all, width): (bool, usize)) -> View {
    let plan = subject.plan(index);
    let planned = plan.plan.pace(subject.shop).planned(subject.answer.planned);
    let to = if all { subject.answer.horizon } else { planned };
    let moment = |when: Moment| to_the_minute(subject, when, width >= WITH_YEAR);
    let words = subject.words();
    let row = |head: String, dates: &Dates, next: Option<Moment>, costs: [Money; 2]| {
        let mut row = vec![head];
        row.extend([dates.release, dates.in_hand, dates.evaluated].map(moment));
        row.push(next.map_or(String::new(), moment));
        row.extend(costs.map(|c| words.money(c)));
        row
    };
    let curves = &plan.curves;
    let made = plan.dates.iter().filter(|d| d.iteration <= to);
    let mut rows: Vec<Vec<String>> = made
        .map(|d| {
            let at = d.iteration as usize - 1;
            let costs = [curves.avoidable[at], curves.outlay[at]];
            // After the last planned iteration there is a next release only if one more is made.
            row(d.iteration.to_string(), d, Some(d.redesigned), costs)
        })
        .collect();
    if let Some(last) = &plan.last {
        let costs = [last.figures.avoidable, last.figures.outlay];
        let head = if planned < to { format!("{planned} + final") } else { "final".to_owned() };
        rows.push(row(head, &last.dates, None, costs));
    }
    let head = [&*letter(index), "release", "in hand", "evaluated", "next", "avoidable", "outlay"];
    let mut notes = vec![
        "avoidable and outlay are those up to there; next: the next release, if one more iteration is made".to_owned(),
        "the final is released when the last iteration has been evaluated; dates are without failures".to_owned(),
    ];
    if plan.unproven.is_some() {
        notes.push(
            "the plan rests on an unproven route: dates and costs are those of the route working"
                .to_owned(),
        );
    }
    if let Some((n, why)) = &plan.ended {
        notes.push(format!("not followed beyond iteration {}: {why}", n - 1));
    }
    let sections = [
        Section::sentences("Plan", vec![format!("{}: {}", letter(index), plan.plan.name)]),
        Section::table(head.map(str::to_owned).to_vec(), rows),
        Section::sentences("Notes", notes),
    ];
    View {
        title: assemble::title(subject),
        sections: sections.into_iter().flatten().collect(),
        lines: usize::MAX,
    }
}

/// A date with its time of day: `2026-03-02 09:00`, in little room `03-02 09:00`; without a start `day 1 09:00`.
fn to_the_minute(subject: &Subject, when: Moment, with_year: bool) -> String {
    let date = subject.words().plain_date(when - when.rem_euclid(DAY));
    let date = match date.split_once('-') {
        Some((_, day)) if !with_year => day.to_owned(),
        _ => date,
    };
    let second = second_of_day(when);
    format!("{date} {:02}:{:02}", second / HOUR, second % HOUR / 60)
}
