//! Columns, one a month, with what is kept in reserve beside them.

use maud::{Markup, html};

use super::open::{Head, WIDTH, bar, rule, text};
use super::scale::{Scale, room_for, tick_text, ticks};

const TOP: f64 = 22.0;
const RIGHT: f64 = 8.0;
const BELOW: f64 = 24.0;
/// Widest column.
const WIDEST: f64 = 54.0;
/// Room a month's name takes.
const NAME: f64 = 52.0;

/// A column.
#[derive(Clone, Debug)]
pub(in crate::report) struct Column {
    /// What stands below it.
    pub name: String,
    /// How high it is.
    pub value: f64,
    /// What stands on it.
    pub said: String,
    /// True for what is kept in reserve.
    pub reserve: bool,
}

/// The chart.
#[derive(Clone, Debug)]
pub(in crate::report) struct Columns {
    /// Its names.
    pub head: Head,
    /// What goes up.
    pub y_name: String,
    /// The columns from left to right.
    pub columns: Vec<Column>,
    /// Height of the element.
    pub height: f64,
}

/// Draws it.
pub(in crate::report) fn columns(chart: &Columns) -> Markup {
    let values = || chart.columns.iter().map(|c| c.value);
    let marks = ticks((values().fold(0.0, f64::min), values().fold(0.0, f64::max)), 3.0);
    let bottom = chart.height - BELOW;
    let left = room_for(&marks);
    let y = Scale::new((marks[0], marks[marks.len() - 1]), (bottom, TOP));
    let count = chart.columns.iter().fold(0.0, |sum, _| sum + 1.0f64).max(1.0);
    let apart = (WIDTH - left - RIGHT) / count;
    // Every month's name where there is room, else every so many.
    let every = (NAME / apart).ceil().max(1.0);
    let step = marks[1] - marks[0];
    let drawn = html! {
        @for &tick in &marks {
            (rule(if tick == 0.0 { "ax" } else { "gr" }, (left, y.at(tick)), (WIDTH - RIGHT, y.at(tick))))
            (text("tx", (left - 6.0, y.at(tick) + 4.0), "end", &tick_text(tick, step)))
        }
        (text("tx", (2.0, 12.0), "start", &chart.y_name))
        @for (index, column) in (0u32..).zip(&chart.columns) {
            (one(column, left + (f64::from(index) + 0.5) * apart, (apart, bottom), y,
                f64::from(index) % every == 0.0 || column.reserve))
        }
    };
    chart.head.svg(chart.height, &drawn)
}

fn one(column: &Column, x: f64, (apart, bottom): (f64, f64), y: Scale, named: bool) -> Markup {
    let width = (apart * 0.62).min(WIDEST);
    let (zero, end) = (y.zero(), y.at(column.value));
    let (top, height) = (zero.min(end), (zero - end).abs());
    let class = if column.reserve { "fill hatch" } else { "fill col" };
    html! {
        (bar(class, (x - width / 2.0, top), (width, height)))
        @if named {
            (text("tx", (x, bottom + 17.0), "middle", &column.name))
            (text("tx bo", (x, top - 5.0), "middle", &column.said))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_on_the_axis_and_say_their_value() {
        let column = |value: f64, reserve| Column {
            name: "2026-03".to_owned(),
            value,
            said: format!("{value}"),
            reserve,
        };
        let chart = Columns {
            head: Head::new("m", "Months", ""),
            y_name: "USD".to_owned(),
            columns: vec![column(300.0, false), column(150.0, true)],
            height: 146.0,
        };
        let svg = columns(&chart).into_string();
        // 412 units for two; from y = 122 (0) to 22 (300).
        assert!(
            svg.contains(
                "<rect class=\"fill col\" x=\"116\" y=\"22\" width=\"54\" height=\"100\">"
            ),
            "{svg}"
        );
        assert!(
            svg.contains(
                "<rect class=\"fill hatch\" x=\"322\" y=\"72\" width=\"54\" height=\"50\">"
            ),
            "{svg}"
        );
        assert!(svg.contains(">300</text>"));
    }
}
