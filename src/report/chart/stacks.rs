//! Stacked bars, one a plan: what the kinds of cost come to. The page's script draws them anew for another count by the same rule.

use maud::{Markup, html};

use super::open::{Head, WIDTH, at, text};

const LEFT: f64 = 28.0;
const RIGHT: f64 = 62.0;
/// Height of a bar's row.
const ROW: f64 = 38.0;
/// Height of a bar.
const BAR: f64 = 24.0;
/// From this width on a piece carries its number.
const NUMBERED: f64 = 13.0;
/// Looks of the pieces of a bar.
pub(in crate::report) const STACK_STYLES: usize = 7;

/// One bar.
#[derive(Clone, Debug)]
pub(in crate::report) struct Stack {
    /// The plan's letter.
    pub name: String,
    /// What its pieces come to; those below 0 stand left of it.
    pub values: Vec<f64>,
    /// What is said at its end.
    pub said: String,
}

/// Draws them on one scale.
pub(in crate::report) fn stacks(head: &Head, all: &[Stack]) -> Markup {
    let side = |sign: f64| {
        let sums = all.iter().map(|s| s.values.iter().map(|v| (v * sign).max(0.0)).sum::<f64>());
        sums.fold(0.0, f64::max)
    };
    let (below, above) = (side(-1.0), side(1.0));
    let room = WIDTH - LEFT - RIGHT;
    let per = if below + above > 0.0 { room / (below + above) } else { 0.0 };
    let zero = LEFT + below * per;
    let height = all.iter().fold(8.0, |sum, _| sum + ROW);
    let drawn = html! {
        g.stacks data-left=(at(LEFT)) data-room=(at(room)) {
            @for (index, stack) in (0u32..).zip(all) {
                (one(stack, 4.0 + f64::from(index) * ROW, (zero, per)))
            }
        }
    };
    head.svg(height, &drawn)
}

fn one(stack: &Stack, top: f64, (zero, per): (f64, f64)) -> Markup {
    let (mut left, mut right) = (zero, zero);
    let pieces: Vec<(f64, f64)> = stack
        .values
        .iter()
        .map(|value| {
            let width = value.abs() * per;
            if *value < 0.0 {
                left -= width;
                (left, width)
            } else {
                right += width;
                (right - width, width)
            }
        })
        .collect();
    let middle = top + BAR / 2.0 + 4.5;
    html! {
        (text("nm", (4.0, middle), "start", &stack.name))
        g.stack {
            @for (index, (x, width)) in pieces.iter().enumerate() {
                rect.(format!("fill g{}", index % STACK_STYLES)) x=(at(*x)) y=(at(top)) width=(at(*width)) height=(at(BAR)) {}
                text.gn x=(at(x + width / 2.0)) y=(at(middle)) text-anchor="middle" {
                    @if *width >= NUMBERED { (index + 1) }
                }
            }
            text.tx.bo x=(at(right + 6.0)) y=(at(middle)) { (stack.said) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_follow_each_other_and_what_is_below_nothing_stands_left() {
        let stack = |values: &[f64]| Stack {
            name: "A".to_owned(),
            values: values.to_vec(),
            said: "90".to_owned(),
        };
        let svg = stacks(
            &Head::new("s", "Kinds", ""),
            &[stack(&[60.0, -10.0, 30.0, 0.5]), stack(&[95.0])],
        );
        let svg = svg.into_string();
        // 370 units for 95 above and 10 below: 3.5238 each; nothing is at 28 + 35.2.
        assert!(
            svg.contains(
                "<rect class=\"fill g0\" x=\"63.2\" y=\"4\" width=\"211.4\" height=\"24\">"
            ),
            "{svg}"
        );
        assert!(
            svg.contains("<rect class=\"fill g1\" x=\"28\" y=\"4\" width=\"35.2\" height=\"24\">"),
            "{svg}"
        );
        assert!(
            svg.contains(
                "<rect class=\"fill g2\" x=\"274.7\" y=\"4\" width=\"105.7\" height=\"24\">"
            ),
            "{svg}"
        );
        assert!(svg.contains("text-anchor=\"middle\">3</text>"), "{svg}");
        assert!(!svg.contains("text-anchor=\"middle\">4</text>"), "too narrow for a number: {svg}");
    }
}
