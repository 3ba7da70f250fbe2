//! Date bars: for each plan when it is in hand, from start to the date without failures, with the range of the samples and the due date.

use maud::{Markup, html};

use super::open::{Head, STYLES, WIDTH, at, bar, rule, shape_at, text};
use super::scale::Scale;

const LEFT: f64 = 34.0;
const TOP: f64 = 26.0;
const RIGHT: f64 = 34.0;
const BELOW: f64 = 24.0;
/// Height of a plan's row.
const ROW: f64 = 40.0;

/// One plan's bar; everything in days from the start.
#[derive(Clone, Debug)]
pub(in crate::report) struct DateBar {
    /// Which plan's look it has.
    pub style: usize,
    /// The plan's letter.
    pub name: String,
    /// In hand without failures.
    pub clean: f64,
    /// P10, P50, P90 of the samples.
    pub drawn: Option<[f64; 3]>,
    /// What is said at the end of the bar.
    pub said: String,
}

/// The chart.
#[derive(Clone, Debug)]
pub(in crate::report) struct DateBars {
    /// Its names.
    pub head: Head,
    /// What stands below the axis, and where.
    pub ticks: Vec<(f64, String)>,
    /// The due date, and what is said of it.
    pub due: Option<(f64, String)>,
    /// The bars.
    pub bars: Vec<DateBar>,
}

/// Draws it.
pub(in crate::report) fn date_bars(chart: &DateBars) -> Markup {
    let ends = chart.bars.iter().flat_map(|b| [b.clean, b.drawn.map_or(0.0, |d| d[2])]);
    let due = chart.due.as_ref().map_or(0.0, |d| d.0);
    let most = ends.filter(|e| e.is_finite()).fold(due, f64::max).max(0.1);
    let x = Scale::new((0.0, most), (LEFT, WIDTH - RIGHT));
    let due = chart.due.as_ref().map(|d| x.at(d.0));
    let rows = chart.bars.iter().fold(0.0, |sum, _| sum + ROW);
    let bottom = TOP + rows;
    let drawn = html! {
        @for (day, name) in &chart.ticks {
            (rule("gr", (x.at(*day), TOP), (x.at(*day), bottom + 4.0)))
            (text("tx", (x.at(*day), bottom + 17.0), "middle", name))
        }
        (rule("ax", (LEFT, bottom), (WIDTH - RIGHT, bottom)))
        @for (index, one) in (0u32..).zip(&chart.bars) {
            (row(one, TOP + f64::from(index) * ROW, (x, due)))
        }
        @if let Some((day, name)) = &chart.due { (due_line(x.at(*day), bottom, name)) }
    };
    chart.head.svg(bottom + BELOW, &drawn)
}

fn row(one: &DateBar, top: f64, (x, due): (Scale, Option<f64>)) -> Markup {
    let style = one.style % STYLES;
    let end = x.at(one.clean);
    let length = end - LEFT;
    // Behind the bar, unless the text would leave the chart or lie on the due line there.
    let room = 6.4 * one.said.chars().fold(0.0, |sum, _| sum + 1.0) + 10.0;
    let crossed = due.is_some_and(|due| due > end && due < end + room);
    let inside = length > room && (crossed || end + room > WIDTH);
    html! {
        (text("nm", (4.0, top + 17.0), "start", &one.name))
        (bar(&format!("fill t{style}"), (LEFT, top + 5.0), (length, 16.0)))
        (shape_at(style, (end, top + 13.0), None))
        @if inside { (text("tx", (end - 9.0, top + 17.0), "end", &one.said)) }
        @else { (text("tx", (end + 9.0, top + 17.0), "start", &one.said)) }
        @if let Some([low, half, high]) = one.drawn {
            (rule("wk", (x.at(low), top + 29.0), (x.at(high), top + 29.0)))
            (rule("wk", (x.at(low), top + 25.5), (x.at(low), top + 32.5)))
            (rule("wk", (x.at(high), top + 25.5), (x.at(high), top + 32.5)))
            circle.wk cx=(at(x.at(half))) cy=(at(top + 29.0)) r="3" {}
        }
    }
}

fn due_line(x: f64, bottom: f64, name: &str) -> Markup {
    let anchor = if x > WIDTH * 0.7 { "end" } else { "start" };
    html! {
        (rule("due", (x, TOP - 8.0), (x, bottom)))
        (text("tx bo", (x, TOP - 13.0), anchor, name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart() -> DateBars {
        let one = |style, clean, drawn| DateBar {
            style,
            name: "A".to_owned(),
            clean,
            drawn,
            said: "2026-04-22 (Wed)".to_owned(),
        };
        DateBars {
            head: Head::new("dates", "Dates", "Two plans."),
            ticks: vec![(0.0, "2 Mar".to_owned())],
            due: Some((70.0, "due 8 May".to_owned())),
            bars: vec![one(0, 50.0, Some([40.0, 60.0, 98.0])), one(1, 10.0, None)],
        }
    }

    #[test]
    fn bars_ranges_and_the_due_date_share_one_axis() {
        let svg = date_bars(&chart()).into_string();
        // 98 days take 392 units from x = 34: four a day.
        assert!(
            svg.contains("<rect class=\"fill t0\" x=\"34\" y=\"31\" width=\"200\" height=\"16\">"),
            "{svg}"
        );
        assert!(svg.contains("<path class=\"wk\" d=\"M194 55L426 55\">"), "{svg}");
        assert!(svg.contains("<path class=\"due\" d=\"M314 18L314 106\">"), "{svg}");
        assert!(svg.contains("due 8 May"));
    }

    #[test]
    fn a_date_stands_behind_a_short_bar() {
        let svg = date_bars(&chart()).into_string();
        assert!(
            svg.contains("<text class=\"tx\" x=\"83\" y=\"83\">2026-04-22 (Wed)</text>"),
            "{svg}"
        );
        assert!(
            svg.contains("<text class=\"tx\" x=\"225\" y=\"43\" text-anchor=\"end\">"),
            "{svg}"
        );
    }
}
