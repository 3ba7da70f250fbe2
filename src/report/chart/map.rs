//! A small map: one letter a cell, for the plan that is cheapest there.

use maud::{Markup, html};

use super::open::{Head, STYLES, WIDTH, bar, text};

const LEFT: f64 = 52.0;
const TOP: f64 = 34.0;
const RIGHT: f64 = 6.0;
/// Height of a cell.
const CELL: f64 = 24.0;

/// The map.
#[derive(Clone, Debug)]
pub(in crate::report) struct Map {
    /// Its names.
    pub head: Head,
    /// What grows to the right, and what downwards.
    pub axes: (String, String),
    /// What stands over each column; the flag is today's.
    pub columns: Vec<(String, bool)>,
    /// What stands before each row; the flag is today's.
    pub rows: Vec<(String, bool)>,
    /// By row: the look and the letter of each cell, or nothing.
    pub cells: Vec<Vec<Option<(usize, String)>>>,
}

/// Draws it.
pub(in crate::report) fn map(chart: &Map) -> Markup {
    let count = chart.columns.iter().fold(0.0, |sum, _| sum + 1.0f64).max(1.0);
    let wide = (WIDTH - LEFT - RIGHT) / count;
    let height = chart.rows.iter().fold(TOP + 4.0, |sum, _| sum + CELL);
    let class = |today: bool| if today { "tx bo" } else { "tx" };
    let drawn = html! {
        (text("tx", (WIDTH - RIGHT, 11.0), "end", &format!("{} \u{2192}", chart.axes.0)))
        (text("tx", (2.0, 11.0), "start", &format!("\u{2193} {}", chart.axes.1)))
        @for (column, (name, today)) in (0u32..).zip(&chart.columns) {
            (text(class(*today), (LEFT + (f64::from(column) + 0.5) * wide, TOP - 6.0), "middle", name))
        }
        @for (row, ((name, today), cells)) in (0u32..).zip(chart.rows.iter().zip(&chart.cells)) {
            @let top = TOP + f64::from(row) * CELL;
            (text(class(*today), (LEFT - 6.0, top + 16.0), "end", name))
            @for (column, cell) in (0u32..).zip(cells) {
                (one(cell.as_ref(), (LEFT + f64::from(column) * wide, top), wide))
            }
        }
        (today_cell(chart, wide))
    };
    chart.head.svg(height, &drawn)
}

fn one(cell: Option<&(usize, String)>, (left, top): (f64, f64), wide: f64) -> Markup {
    let middle = (left + wide / 2.0, top + 16.5);
    match cell {
        Some((style, letter)) => html! {
            (bar(&format!("fill t{}", style % STYLES), (left + 0.5, top + 0.5), (wide - 1.0, CELL - 1.0)))
            (text("nm", middle, "middle", letter))
        },
        None => text("tx", middle, "middle", "\u{2013}"),
    }
}

/// Today's cell has a frame.
fn today_cell(chart: &Map, wide: f64) -> Markup {
    let column = (0u32..).zip(&chart.columns).find(|(_, c)| c.1).map(|c| f64::from(c.0));
    let row = (0u32..).zip(&chart.rows).find(|(_, r)| r.1).map(|r| f64::from(r.0));
    match (column, row) {
        (Some(column), Some(row)) => {
            bar("frame", (LEFT + column * wide, TOP + row * CELL), (wide, CELL))
        }
        _ => html! {},
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cell_has_a_letter_and_todays_a_frame() {
        let chart = Map {
            head: Head::new("map", "Map", ""),
            axes: ("iterations".to_owned(), "hour".to_owned()),
            columns: vec![("1".to_owned(), false), ("2".to_owned(), true)],
            rows: vec![("10".to_owned(), true), ("20".to_owned(), false)],
            cells: vec![
                vec![Some((0, "A".to_owned())), Some((1, "B".to_owned()))],
                vec![None, Some((0, "A".to_owned()))],
            ],
        };
        let svg = map(&chart).into_string();
        // Two columns of 201 units from x = 52.
        assert!(
            svg.contains("<rect class=\"frame\" x=\"253\" y=\"34\" width=\"201\" height=\"24\">"),
            "{svg}"
        );
        assert_eq!(svg.matches(">A</text>").count(), 2);
        assert_eq!(svg.matches("\u{2013}").count(), 1);
    }
}
