//! Lines over one axis, with a shaded range, marks, and one dot on each line at the count that is looked at.

use maud::{Markup, html};

use super::open::{Head, STYLES, WIDTH, at, bar, rule, shape_at, text};
use super::scale::{Scale, room_for, tick_text, ticks};

/// Room above the axes, right and below.
const TOP: f64 = 22.0;
const RIGHT: f64 = 22.0;
const BELOW: f64 = 34.0;
/// Width of a letter of what is said at a mark.
const LETTER: f64 = 6.8;
/// Least distance of the letters at the lines' ends.
const APART: f64 = 12.0;

/// A line.
#[derive(Clone, Debug)]
pub(in crate::report) struct Line {
    /// Which plan's look it has.
    pub style: usize,
    /// What stands at its end.
    pub name: String,
    /// Names the figure its dot is moved by.
    pub key: String,
    /// Its points, rising in x.
    pub points: Vec<(f64, f64)>,
}

/// A place that is pointed out.
#[derive(Clone, Debug)]
pub(in crate::report) struct Mark {
    /// Where.
    pub x: f64,
    /// Where.
    pub y: f64,
    /// What is said of it.
    pub name: String,
}

/// The chart.
#[derive(Clone, Debug)]
pub(in crate::report) struct LineChart {
    /// Its names.
    pub head: Head,
    /// What is to the right.
    pub x_name: String,
    /// What goes up.
    pub y_name: String,
    /// What stands below the axis, and where.
    pub x_ticks: Vec<(f64, String)>,
    /// The lines.
    pub lines: Vec<Line>,
    /// A range of x that is shaded, and what it is.
    pub band: Option<(f64, f64, String)>,
    /// Places that are pointed out.
    pub marks: Vec<Mark>,
    /// The point of each line at which its dot stands.
    pub now: usize,
    /// True where the dots stand above each other, on one upright line.
    pub upright: bool,
    /// Height of the element.
    pub height: f64,
}

struct Axes {
    x: Scale,
    y: Scale,
    y_ticks: Vec<f64>,
    left: f64,
    bottom: f64,
}

/// Draws it.
pub(in crate::report) fn line_chart(chart: &LineChart) -> Markup {
    let axes = axes(chart);
    let (per_x, per_y) = (axes.x.per(), axes.y.per());
    let drawn = html! {
        (band(chart, &axes))
        (grid(chart, &axes))
        g.plot data-x0=(at(axes.x.zero())) data-y0=(at(axes.y.zero()))
            data-kx=(format!("{per_x:.5}")) data-ky=(format!("{per_y:.7}")) data-by=(if chart.upright { "n" } else { "days" }) {
            @if chart.upright { (now_line(chart, &axes)) }
            @for line in &chart.lines { (path(line, &axes)) }
            (ends(chart, &axes))
            @for mark in (0u32..).zip(&chart.marks) { (mark_at(chart, &axes, mark)) }
            @for line in &chart.lines {
                @if let Some(&(x, y)) = line.points.get(chart.now) {
                    (shape_at(line.style, (axes.x.at(x), axes.y.at(y)), Some(&line.key)))
                }
            }
        }
    };
    chart.head.svg(chart.height, &drawn)
}

fn axes(chart: &LineChart) -> Axes {
    let points = || chart.lines.iter().flat_map(|l| l.points.iter());
    let least = points().map(|p| p.1).fold(0.0, f64::min);
    let most = points().map(|p| p.1).fold(0.0, f64::max);
    let y_ticks = ticks((least, most), 4.0);
    let (from, to) = (chart.x_ticks.first(), points().map(|p| p.0).fold(0.0, f64::max));
    let first = from.map_or(0.0, |t| t.0);
    let bottom = chart.height - BELOW;
    let ends = (y_ticks[0], y_ticks[y_ticks.len() - 1]);
    let left = room_for(&y_ticks);
    Axes {
        x: Scale::new((first, to), (left, WIDTH - RIGHT)),
        y: Scale::new(ends, (bottom, TOP)),
        y_ticks,
        left,
        bottom,
    }
}

fn grid(chart: &LineChart, axes: &Axes) -> Markup {
    let step = axes.y_ticks.windows(2).map(|two| two[1] - two[0]).next().unwrap_or(1.0);
    html! {
        @for &tick in &axes.y_ticks {
            (rule(if tick == 0.0 { "ax" } else { "gr" }, (axes.left, axes.y.at(tick)), (WIDTH - RIGHT, axes.y.at(tick))))
            (text("tx", (axes.left - 6.0, axes.y.at(tick) + 4.0), "end", &tick_text(tick, step)))
        }
        (text("tx", (2.0, 12.0), "start", &chart.y_name))
        @for (x, name) in &chart.x_ticks {
            (rule("ax", (axes.x.at(*x), axes.bottom), (axes.x.at(*x), axes.bottom + 4.0)))
            (text("tx", (axes.x.at(*x), axes.bottom + 16.0), "middle", name))
        }
        (text("tx", (WIDTH - RIGHT, axes.bottom + 30.0), "end", &chart.x_name))
    }
}

fn band(chart: &LineChart, axes: &Axes) -> Markup {
    let Some((from, to, name)) = &chart.band else {
        return html! {};
    };
    let (left, right) = (axes.x.at(*from), axes.x.at(*to));
    let width = (right - left).max(2.0);
    // Beside the name of the other axis.
    let long = |text: &str| LETTER * text.chars().fold(1.0, |sum, _| sum + 1.0);
    let middle = ((left + right) / 2.0).max(long(&chart.y_name) + long(name) / 2.0);
    html! {
        (bar("band", (left, TOP), (width, axes.bottom - TOP)))
        (text("tx", (middle, TOP - 6.0), "middle", name))
    }
}

fn now_line(chart: &LineChart, axes: &Axes) -> Markup {
    let x = chart.lines.first().and_then(|l| l.points.get(chart.now)).map_or(0.0, |p| p.0);
    html! {
        path.now d=(format!("M0 {}V{}", at(TOP), at(axes.bottom))) data-f="now"
            transform=(format!("translate({} 0)", at(axes.x.at(x)))) {}
    }
}

fn path(line: &Line, axes: &Axes) -> Markup {
    let mut data = String::new();
    for (index, &(x, y)) in line.points.iter().enumerate() {
        let (x, y) = (at(axes.x.at(x)), at(axes.y.at(y)));
        data.push_str(&format!("{}{x} {y}", if index == 0 { "M" } else { "L" }));
    }
    html! { path.(format!("ln s{}", line.style % STYLES)) d=(data) {} }
}

/// The letters at the ends, moved apart where they would cover each other.
fn ends(chart: &LineChart, axes: &Axes) -> Markup {
    let mut ends: Vec<(f64, f64, &Line)> = chart
        .lines
        .iter()
        .filter_map(|line| {
            let &(x, y) = line.points.last()?;
            Some((axes.x.at(x) + 8.0, axes.y.at(y) + 4.0, line))
        })
        .collect();
    ends.sort_by(|a, b| b.1.total_cmp(&a.1));
    for index in 1..ends.len() {
        let above = ends[index - 1].1 - APART;
        let near = (ends[index].0 - ends[index - 1].0).abs() < 2.0 * APART;
        if near && ends[index].1 > above {
            ends[index].1 = above;
        }
    }
    html! { @for (x, y, line) in &ends {
        (text("nm", (*x, *y), "start", &line.name))
    } }
}

/// A ring at a place, with a line to what is said of it: over all lines where that fits, else under them.
fn mark_at(chart: &LineChart, axes: &Axes, (index, mark): (u32, &Mark)) -> Markup {
    let (x, y) = (axes.x.at(mark.x), axes.y.at(mark.y));
    let width = mark.name.chars().fold(8.0, |sum, _| sum + LETTER);
    let left = x.min(WIDTH - width);
    let points = chart.lines.iter().flat_map(|l| &l.points);
    let near = points.map(|&(x, y)| (axes.x.at(x), axes.y.at(y)));
    let near = near.filter(|p| p.0 > left - 20.0 && p.0 < left + width + 20.0);
    let (top, low) = near.fold((y, y), |(top, low), p| (p.1.min(top), p.1.max(low)));
    let apart = f64::from(index) * 14.0;
    let (tip, said) = if top - apart > TOP + 22.0 {
        (top - apart - 6.0, top - apart - 10.0)
    } else {
        (low + apart + 10.0, low + apart + 21.0)
    };
    html! {
        (rule("mk", (x, y), (x, tip)))
        circle.mk cx=(at(x)) cy=(at(y)) r="6.5" {}
        (text("tx bo", (left, said), "start", &mark.name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart() -> LineChart {
        let line = |style, points: &[(f64, f64)]| Line {
            style,
            name: ["A", "B"][style].to_owned(),
            key: format!("{style}.avoidable"),
            points: points.to_vec(),
        };
        LineChart {
            head: Head::new("cost", "Cost", "Two plans."),
            x_name: "iterations".to_owned(),
            y_name: "USD".to_owned(),
            x_ticks: vec![(1.0, "1".to_owned()), (3.0, "3".to_owned())],
            lines: vec![
                line(0, &[(1.0, 0.0), (2.0, 50.0), (3.0, 100.0)]),
                line(1, &[(1.0, 40.0), (2.0, 60.0), (3.0, 99.0)]),
            ],
            band: Some((1.0, 2.0, "likely".to_owned())),
            marks: vec![Mark { x: 3.0, y: 100.0, name: "A from 3".to_owned() }],
            now: 1,
            upright: true,
            height: 256.0,
        }
    }

    #[test]
    fn points_stand_where_their_numbers_say() {
        let svg = line_chart(&chart()).into_string();
        // From x = 40 (count 1) to 438 (count 3), from y = 222 (0) to 22 (100).
        assert!(svg.contains("<path class=\"ln s0\" d=\"M40 222L239 122L438 22\">"), "{svg}");
        assert!(svg.contains("<path class=\"ln s1\" d=\"M40 142L239 102L438 24\">"), "{svg}");
        assert!(svg.contains("data-f=\"0.avoidable\" transform=\"translate(239 122)\""), "{svg}");
        assert!(svg.contains("data-f=\"now\" transform=\"translate(239 0)\""), "{svg}");
        assert!(svg.contains(
            "data-x0=\"-159\" data-y0=\"222\" data-kx=\"199.00000\" data-ky=\"-2.0000000\""
        ));
        assert!(
            svg.contains("<rect class=\"band\" x=\"40\" y=\"22\" width=\"199\" height=\"200\">")
        );
    }

    #[test]
    fn letters_at_the_ends_do_not_cover_each_other() {
        let svg = line_chart(&chart()).into_string();
        // B ends at 99 (y 24 + 4), A at 100 (y 22 + 4), moved up by a line.
        assert!(svg.contains("<text class=\"nm\" x=\"446\" y=\"28\">B</text>"), "{svg}");
        assert!(svg.contains("<text class=\"nm\" x=\"446\" y=\"16\">A</text>"), "{svg}");
    }

    #[test]
    fn nothing_to_draw_is_no_fault() {
        let empty = LineChart { lines: Vec::new(), x_ticks: Vec::new(), ..chart() };
        assert!(line_chart(&empty).into_string().starts_with("<svg"));
    }
}
