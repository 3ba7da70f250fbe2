//! The sheet of curves: two charts, and under them their figures, beside which the ledger's sums stand for the plan it is of.

use rust_xlsxwriter::{
    Chart, ChartFormat, ChartLine, ChartLineDashType, ChartMarker, ChartMarkerType, ChartSolidFill,
    Worksheet, XlsxError,
};

use super::cells::{Looks, amount, computed, headings, said};
use super::ledger::{Entries, Of};
use super::{Book, SHEETS};
use crate::ledger::Total;
use crate::model::Money;
use crate::report::letter;

/// Plans drawn: more lines than these are told apart by no one.
const MOST: usize = 8;
/// The row of headings: the charts stand above it.
const HEAD: u32 = 22;
/// Size of a chart in pixels.
const SIZE: (u32, u32) = (620, 420);
/// The column in which the second chart begins.
const SECOND: u16 = 8;

/// The totals that are drawn.
const DRAWN: [(Total, &str, &str, Of); 2] = [
    (Total::Avoidable, "avoidable", "Avoidable cost after so many iterations", |r| r.avoidable),
    (Total::Outlay, "outlay", "Outlay after so many iterations", |r| r.outlay),
];

/// Colour, marker and dashes of a line, so that none is told by colour alone. The colours are apart for every kind of colour vision.
const LINES: [(u32, ChartMarkerType, ChartLineDashType); MOST] = [
    (0x0B_3954, ChartMarkerType::Circle, ChartLineDashType::Solid),
    (0xC4_4900, ChartMarkerType::Square, ChartLineDashType::Dash),
    (0x2A_7F62, ChartMarkerType::Triangle, ChartLineDashType::LongDash),
    (0x7B_3E9C, ChartMarkerType::Diamond, ChartLineDashType::DashDot),
    (0x8A_6D00, ChartMarkerType::X, ChartLineDashType::RoundDot),
    (0x1F_78B4, ChartMarkerType::Star, ChartLineDashType::LongDashDot),
    (0xA6_1E4D, ChartMarkerType::ShortDash, ChartLineDashType::SquareDot),
    (0x55_5555, ChartMarkerType::LongDash, ChartLineDashType::LongDashDotDot),
];

pub(super) fn fill(
    sheet: &mut Worksheet,
    book: &Book,
    looks: &Looks,
    entries: &Entries,
) -> Result<(), XlsxError> {
    let plans = plans(book);
    let count = u16::try_from(plans.len()).unwrap_or(u16::MAX);
    said(sheet, (0, 0), &title(book, plans.len()), &looks.strong)?;
    sheet.set_column_width(0, 10)?.set_column_range_width(1, 2 * count + 2, 13.0)?;
    sheet.set_landscape().set_print_fit_to_pages(1, 0);
    columns(sheet, book, &plans, looks)?;
    for (at, (_, name, heading, of)) in (0u16..).zip(DRAWN) {
        let first = 1 + at * count;
        let chart = chart(book, (heading, first, count));
        sheet.insert_chart(1, at * SECOND, &chart)?;
        from_ledger(sheet, 1 + 2 * count + at, (book, name, of), (looks, entries))?;
    }
    Ok(())
}

/// The cheapest plans, the verdict's among them, in the order of their ranking.
fn plans(book: &Book) -> Vec<usize> {
    let all = book.subject.answer.plans.len();
    let mut plans: Vec<usize> = (0..all.min(MOST)).collect();
    if book.plan >= MOST {
        plans.pop();
        plans.push(book.plan);
    }
    plans
}

fn title(book: &Book, shown: usize) -> String {
    let all = book.subject.answer.plans.len();
    let few = if all > shown { format!(", {shown} of {all} plans") } else { String::new() };
    let unproven = book.subject.answer.plans.iter().any(|p| p.unproven.is_some());
    let working = if unproven { ", unproven routes working" } else { "" };
    format!(
        "Cumulative cost in {}, without final{working}{few}; the letters are those of the sheet {}",
        book.budget.currency, SHEETS[1]
    )
}

/// Counts down, plans across, once for each total.
fn columns(
    sheet: &mut Worksheet,
    book: &Book,
    plans: &[usize],
    looks: &Looks,
) -> Result<(), XlsxError> {
    let named = DRAWN.iter().flat_map(|(_, name, ..)| {
        plans.iter().map(move |&index| format!("{}, {name}", letter(index)))
    });
    let names = ["iterations".to_owned()].into_iter().chain(named);
    headings(sheet, HEAD, names, (0, 2), looks)?;
    for n in 1..=book.subject.answer.horizon {
        sheet.write_number(HEAD + n, 0, n)?;
    }
    let of = |(total, ..): &(Total, _, _, _)| {
        let total = *total;
        plans.iter().map(move |&index| book.subject.plan(index).curves.money(total))
    };
    for (column, curve) in (1u16..).zip(DRAWN.iter().flat_map(of)) {
        for (row, &value) in (HEAD + 1..).zip(curve) {
            amount(sheet, (row, column), value, &looks.money)?;
        }
    }
    Ok(())
}

/// The same total of the ledger's plan, as sums of its entries up to each count it holds.
fn from_ledger(
    sheet: &mut Worksheet,
    column: u16,
    (book, name, of): (&Book, &str, Of),
    (looks, entries): (&Looks, &Entries),
) -> Result<(), XlsxError> {
    let heading = format!("{}, {name} by the ledger", letter(book.plan));
    said(sheet, (HEAD, column), &heading, &looks.over)?;
    for n in 1..=book.subject.answer.planned {
        let rows = book.budget.rows.iter().filter(|r| r.iteration <= n);
        let value: Money = rows.map(of).sum();
        let cells = entries.column(name).zip(entries.column("iteration"));
        let how = cells.map(|(amounts, counts)| {
            format!("SUMIFS({amounts},{counts},\"<=\"&$A{})", HEAD + n + 1)
        });
        computed(sheet, (HEAD + n, column), (how, value), (&looks.money, looks))?;
    }
    Ok(())
}

/// A chart of the columns from `first` on.
fn chart(book: &Book, (heading, first, count): (&str, u16, u16)) -> Chart {
    let sheet = SHEETS[2];
    let last = HEAD + book.subject.answer.horizon;
    let mut chart = Chart::new_line();
    for (column, (colour, marker, dashes)) in (first..first + count).zip(LINES) {
        chart
            .add_series()
            .set_categories((sheet, HEAD + 1, 0, last, 0))
            .set_values((sheet, HEAD + 1, column, last, column))
            .set_name((sheet, HEAD, column))
            .set_format(
                ChartFormat::new().set_line(
                    ChartLine::new().set_color(colour).set_width(1.75).set_dash_type(dashes),
                ),
            )
            .set_marker(
                ChartMarker::new().set_type(marker).set_size(6).set_format(
                    ChartFormat::new()
                        .set_line(ChartLine::new().set_color(colour))
                        .set_solid_fill(ChartSolidFill::new().set_color(colour)),
                ),
            );
    }
    chart.title().set_name(heading);
    chart.x_axis().set_name("iterations");
    chart.y_axis().set_name(book.budget.currency);
    chart.set_width(SIZE.0).set_height(SIZE.1).set_name(heading);
    chart.set_alt_text(format!(
        "{heading}, a line for each plan; the figures stand in the table below"
    ));
    chart
}
