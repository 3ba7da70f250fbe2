//! Change-over bars: for each input the range it may lie in, as a multiple of today's value, and where the answer changes.

use maud::{Markup, html};

use super::open::{Head, WIDTH, at, bar, cut, rule, text};
use super::scale::Scale;

const LEFT: f64 = 8.0;
const RIGHT: f64 = 8.0;
const TOP: f64 = 20.0;
/// Height of an input's row.
const ROW: f64 = 40.0;
/// Farthest multiple that is shown: four doublings.
const FARTHEST: f64 = 4.0;
/// Width of a character of an input's name, and of what is said of it.
const LETTER: [f64; 2] = [6.3, 6.9];

/// One input.
#[derive(Clone, Debug)]
pub(in crate::report) struct Range {
    /// What it is.
    pub name: String,
    /// Today and at the change, in words.
    pub said: String,
    /// Its least and greatest value as multiples of today's, where it has a range.
    pub range: Option<(f64, f64)>,
    /// The multiple at which the answer changes.
    pub change: Option<f64>,
}

/// Draws them under one axis of multiples.
pub(in crate::report) fn ranges(head: &Head, all: &[Range]) -> Markup {
    let doublings = |v: f64| if v > 0.0 { v.log2().clamp(-FARTHEST, FARTHEST) } else { -FARTHEST };
    let places = all.iter().flat_map(|r| {
        let (low, high) = r.range.unwrap_or((1.0, 1.0));
        [low, high, r.change.unwrap_or(1.0)]
    });
    let far = places.map(|v| doublings(v).abs()).fold(1.0, f64::max).ceil();
    let x = Scale::new((-far, far), (LEFT + 12.0, WIDTH - RIGHT - 12.0));
    let height = all.iter().fold(TOP + 4.0, |sum, _| sum + ROW);
    let drawn = html! {
        @for step in -4i32..=4 {
            @if f64::from(step.abs()) <= far {
                (rule(if step == 0 { "ax" } else { "gr" }, (x.at(f64::from(step)), TOP - 4.0), (x.at(f64::from(step)), height)))
                (text("tx", (x.at(f64::from(step)), 11.0), "middle", &multiple(step)))
            }
        }
        @for (index, one) in (0u32..).zip(all) {
            (row(one, TOP + f64::from(index) * ROW, &|v| x.at(doublings(v))))
        }
    };
    head.svg(height, &drawn)
}

fn multiple(step: i32) -> String {
    match step {
        0 => "today".to_owned(),
        1.. => format!("\u{d7}{}", 2i32.pow(step.unsigned_abs())),
        _ => format!("\u{f7}{}", 2i32.pow(step.unsigned_abs())),
    }
}

fn row(one: &Range, top: f64, place: &dyn Fn(f64) -> f64) -> Markup {
    let middle = top + 30.0;
    let today = place(1.0);
    let taken = LETTER[1] * one.said.chars().fold(2.0, |sum, _| sum + 1.0);
    let name = cut_to(&one.name, WIDTH - LEFT - RIGHT - taken);
    html! {
        (bar("paper", (LEFT, top + 4.0), (WIDTH - LEFT - RIGHT, 16.0)))
        (text("tx", (LEFT, top + 16.0), "start", &name))
        (text("tx bo", (WIDTH - RIGHT, top + 16.0), "end", &one.said))
        (rule("gr", (place(0.0), middle), (place(16.0), middle)))
        @if let Some((low, high)) = one.range {
            (bar("fill col", (place(low), middle - 4.5), (place(high) - place(low), 9.0)))
        }
        (rule("tick", (today, middle - 6.0), (today, middle + 6.0)))
        @if let Some(change) = one.change {
            (rule("far", (today, middle), (place(change), middle)))
            path.chg d="M0-7L7 0L0 7L-7 0z" transform=(format!("translate({} {})", at(place(change)), at(middle))) {}
        }
    }
}

/// Cuts a name to a width.
fn cut_to(name: &str, width: f64) -> String {
    let most = (1..200usize).take_while(|n| LETTER[0] * *n as f64 <= width).last().unwrap_or(1);
    cut(name, most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_doubling_is_as_far_as_a_halving() {
        let one = |range, change| Range {
            name: "worth of an hour".to_owned(),
            said: "40 to 20".to_owned(),
            range,
            change,
        };
        let all = [one(Some((0.5, 2.0)), Some(0.25)), one(None, None)];
        let svg = ranges(&Head::new("r", "Inputs", ""), &all).into_string();
        // Two doublings each way over 420 units from x = 20: 105 a doubling, today at 230.
        assert!(
            svg.contains(
                "<rect class=\"fill col\" x=\"125\" y=\"45.5\" width=\"210\" height=\"9\">"
            ),
            "{svg}"
        );
        assert!(svg.contains("transform=\"translate(20 50)\""), "{svg}");
        assert!(
            svg.contains(">\u{f7}4</text>")
                && svg.contains(">\u{d7}4</text>")
                && !svg.contains("\u{d7}8")
        );
        assert_eq!(svg.matches("class=\"chg\"").count(), 1);
    }

    #[test]
    fn what_is_out_of_reach_stands_at_the_edge() {
        let far = Range {
            name: String::new(),
            said: String::new(),
            range: Some((0.0, 99.0)),
            change: Some(0.0),
        };
        let svg = ranges(&Head::new("r", "Inputs", ""), &[far]).into_string();
        assert!(svg.contains("translate(20 50)") && svg.contains("width=\"420\""), "{svg}");
    }
}
