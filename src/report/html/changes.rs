//! What changes the answer: bars with the change-over, the values to replace first, and the map.

use maud::{Markup, html};

use super::super::chart::{Head, Map, Range, map as draw_map, ranges};
use super::super::flips::flip_lines;
use super::super::terminal::clean;
use super::super::units::{Units, figure_text};
use super::super::view::Body;
use super::super::{assumed, input_words, letter, map_view};
use super::extras::Page;
use super::frame::{figure, opened, sentences, table, view_table};
use crate::analysis::{FlipInput, FlipMap, Flips};
use crate::model::{Exact, Slot};

/// Inputs that are drawn.
const DRAWN: usize = 10;
/// Inputs in the table.
const MOST: usize = 60;

/// Bars of the inputs that tell most.
pub(super) fn changes(page: &Page) -> Markup {
    html! {
        section #changes aria-labelledby="changes-h" {
            h2 #changes-h { "What changes the answer" }
            @match page.extras.flips {
                Some(flips) => (found(page, flips)),
                None => p { "Fewer than two plans are feasible: no input changes which is best." },
            }
        }
    }
}

fn found(page: &Page, flips: &Flips) -> Markup {
    let (question, lines) = flip_lines(page.subject, flips);
    let drawn: Vec<Range> = lines
        .iter()
        .take(DRAWN)
        .map(|line| Range {
            name: line.cells[0].clone(),
            said: format!("{} \u{2192} {}", line.cells[1], line.cells[2]),
            range: line.range,
            change: line.change,
        })
        .collect();
    let head = Head::new(
        "changes-c",
        "Where the answer changes",
        "For each input its range as a bar and the value at which the second plan becomes as cheap as a diamond, as multiples of today's value.",
    );
    let said = "Bars: the range stated or assumed. Diamonds: where the second plan becomes as cheap, the other inputs as today. \
        At the planned count; not moved by the slider.";
    let swing = format!("swing, {}", page.words.currency());
    let names = ["input", "today", "changes at", &swing].map(str::to_owned);
    let rows: Vec<Vec<String>> = lines.iter().take(MOST).map(|l| l.cells.clone()).collect();
    let figures = html! {
        (table("What changes the answer", &names, &rows, &[]))
        @if lines.len() > MOST { p { (lines.len() - MOST) " more inputs: flipcount flips --all." } }
    };
    html! {
        p { (clean(&question.join(" "))) }
        (figure(&ranges(&head, &drawn), said, &opened("Figures", &figures)))
    }
}

/// The assumed values that move the difference most.
pub(super) fn replace_first(page: &Page) -> Markup {
    let Some(flips) = page.extras.flips else {
        return html! {};
    };
    let said: Vec<String> =
        flips.replace_first.iter().map(|&slot| replace(page, flips, slot)).collect();
    html! {
        section.note #replace aria-labelledby="replace-h" {
            h2 #replace-h { "Replace first" }
            @if said.is_empty() {
                @if assumed(page.subject).is_empty() { p { "Nothing is assumed: every value is stated." } }
                @else { p { "No assumed value moves the difference between the two best plans." } }
            } @else {
                p { "Assumed values that move the answer most; state your own." }
                (sentences(&said))
            }
        }
    }
}

fn replace(page: &Page, flips: &Flips, slot: Slot) -> String {
    let address = &page.subject.scenario().slots.get(slot).address;
    let row = flips.rows.iter().find(|r| r.input == FlipInput::Slot(slot));
    let swing = row.and_then(|r| r.swing).and_then(Exact::of_float);
    let minor = page.subject.scenario().minor();
    let swing = swing.map_or(String::new(), |s| {
        format!(" moves the difference by {}", page.words.money(s.to_money(minor)))
    });
    let now = assumed(page.subject).into_iter().find(|l| l.address == *address);
    let now = now.map_or(String::new(), |l| format!(", now {}", l.with_range()));
    format!("{}{now}:{swing} ({address}).", input_words(address))
}

/// The map.
pub(super) fn map(page: &Page) -> Markup {
    let Some(map) = page.extras.map else {
        return html! {};
    };
    let head = Head::new(
        "map-c",
        "The cheapest plan over two inputs",
        "A table of letters; its figures follow.",
    );
    let view = map_view(page.subject, map);
    let table = view.sections.iter().find_map(|s| match &s.body {
        Body::Table(table) => Some(table),
        _ => None,
    });
    let said = "The cheapest plan by avoidable cost, late ones too; the frame marks today's values. Not moved by the slider.";
    let legend = unseen(page, map);
    html! {
        section #map aria-labelledby="map-h" {
            h2 #map-h { "Map" }
            @if let Some(table) = table {
                (figure(&draw_map(&chart(page, map, head)), said, &html! {
                    (sentences(&legend))
                    (opened("Figures", &view_table("The cheapest plan over two inputs", table)))
                }))
            }
        }
    }
}

/// The plans on the map that the page's own table does not name.
fn unseen(page: &Page, map: &FlipMap) -> Vec<String> {
    let on_map = |i: &usize| map.cells.iter().flatten().flatten().any(|c| c.plan == *i);
    let unseen = (0..map.plans.len()).filter(|i| page.look(*i).is_none()).filter(on_map);
    unseen.map(|i| format!("{} = {}", letter(i), map.plans[i].name)).collect()
}

fn chart(page: &Page, map: &FlipMap, head: Head) -> Map {
    let scenario = page.subject.scenario();
    let units = Units::new(scenario);
    let axis = |slot: Slot, values: &[f64]| {
        let unit = units.of(slot);
        let input = scenario.slots.get(slot);
        let name = input_words(&input.address);
        let said = if unit.name.is_empty() { name } else { format!("{name}, {}", unit.name) };
        let today = input.likely.quick_f64();
        let is_today = |v: f64| (v - today).abs() <= 1e-9 * today.abs();
        let marks = values.iter().map(|&v| (figure_text(v / unit.size), is_today(v)));
        (said, marks.collect::<Vec<(String, bool)>>())
    };
    let (across, columns) = axis(map.across, &map.columns);
    let (down, rows) = axis(map.down, &map.rows);
    // Plans that the page does not show have the looks behind those it shows.
    let mut unseen: Vec<usize> = Vec::new();
    let mut look = |plan: usize| {
        page.look(plan).unwrap_or_else(|| {
            let known = unseen.iter().position(|&u| u == plan);
            page.shown.len()
                + known.unwrap_or_else(|| {
                    unseen.push(plan);
                    unseen.len() - 1
                })
        })
    };
    let mut cells: Vec<Vec<Option<(usize, String)>>> = Vec::with_capacity(map.cells.len());
    for row in &map.cells {
        cells.push(row.iter().map(|c| c.map(|c| (look(c.plan), letter(c.plan)))).collect());
    }
    Map { head, axes: (across, down), columns, rows, cells }
}
