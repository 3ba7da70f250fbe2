//! A strip of bars: which step of one iteration runs when, and what waits.

use maud::{Markup, html};

use super::open::{Head, WIDTH, at, bar, cut, rule, text};
use super::scale::Scale;

const LEFT: f64 = 8.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 6.0;
/// Height of a row: its name above its bars.
const ROW: f64 = 50.0;
const BELOW: f64 = 22.0;
/// Characters of a row's name.
const NAME: usize = 68;
/// Width of a character over the bars.
const LETTER: f64 = 5.4;
/// Least distance of the numbers over the bars.
const APART: f64 = 9.0;

/// What a piece of a strip is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::report) enum PieceKind {
    /// Someone works at it.
    Attended,
    /// It runs by itself.
    Alone,
    /// It is with a service or a carrier.
    Away,
    /// It waits.
    Waits,
}

impl PieceKind {
    fn class(self) -> &'static str {
        match self {
            PieceKind::Attended => "fill hand",
            PieceKind::Alone => "fill alone",
            PieceKind::Away => "fill hatch",
            PieceKind::Waits => "wait",
        }
    }
}

/// A piece; from and to in days.
#[derive(Clone, Debug)]
pub(in crate::report) struct Piece {
    /// What it is.
    pub kind: PieceKind,
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// What stands over its beginning: a number, or what is waited for.
    pub number: Option<String>,
}

/// One row.
#[derive(Clone, Debug)]
pub(in crate::report) struct StripRow {
    /// Whose it is.
    pub name: String,
    /// Its pieces in order.
    pub pieces: Vec<Piece>,
}

/// The chart.
#[derive(Clone, Debug)]
pub(in crate::report) struct Strip {
    /// Its names.
    pub head: Head,
    /// What stands below the axis, and where.
    pub ticks: Vec<(f64, String)>,
    /// Days that are shown.
    pub days: f64,
    /// The rows.
    pub rows: Vec<StripRow>,
}

/// Draws it.
pub(in crate::report) fn strip(chart: &Strip) -> Markup {
    let x = Scale::new((0.0, chart.days.max(0.01)), (LEFT, WIDTH - RIGHT));
    let bottom = chart.rows.iter().fold(TOP, |sum, _| sum + ROW);
    let drawn = html! {
        @for (day, name) in &chart.ticks {
            (rule("gr", (x.at(*day), TOP), (x.at(*day), bottom + 4.0)))
            (text("tx", (x.at(*day), bottom + 16.0), if *day == 0.0 { "start" } else { "middle" }, name))
        }
        @for (index, one) in (0u32..).zip(&chart.rows) { (row(one, TOP + f64::from(index) * ROW, x)) }
    };
    chart.head.svg(bottom + BELOW, &drawn)
}

fn row(one: &StripRow, top: f64, x: Scale) -> Markup {
    let mut last = f64::MIN;
    let numbers: Vec<(f64, &str)> = one
        .pieces
        .iter()
        .filter_map(|piece| {
            let (place, number) = (x.at(piece.from), piece.number.as_deref()?);
            let room = x.at(piece.to) - place;
            let long = LETTER * number.chars().fold(0.0, |sum, _| sum + 1.0);
            if piece.kind == PieceKind::Waits && long > room {
                return None;
            }
            (place - last >= APART).then(|| last = place)?;
            Some((place, number))
        })
        .collect();
    html! {
        (bar("paper", (LEFT, top), (WIDTH - LEFT - RIGHT, 14.0)))
        (text("tx", (LEFT, top + 11.0), "start", &cut(&one.name, NAME)))
        @for piece in &one.pieces {
            @let (from, to) = (x.at(piece.from), x.at(piece.to));
            @if piece.kind == PieceKind::Waits { (rule("wait", (from, top + 35.0), (to, top + 35.0))) }
            @else { (bar(piece.kind.class(), (from, top + 28.0), ((to - from).max(1.2), 14.0))) }
        }
        @for (place, number) in numbers { text.gs x=(at(place)) y=(at(top + 25.5)) { (number) } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_stand_at_their_times() {
        let piece = |kind, from, to, number: Option<&str>| Piece {
            kind,
            from,
            to,
            number: number.map(str::to_owned),
        };
        let chart = Strip {
            head: Head::new("p", "Steps", ""),
            ticks: vec![(0.0, "0".to_owned())],
            days: 4.4,
            rows: vec![StripRow {
                name: "collar".to_owned(),
                pieces: vec![
                    piece(PieceKind::Attended, 0.0, 0.001, Some("1")),
                    piece(PieceKind::Alone, 0.001, 1.0, None),
                    piece(PieceKind::Waits, 1.0, 2.0, None),
                    piece(PieceKind::Attended, 2.0, 2.5, Some("2")),
                    piece(PieceKind::Away, 2.51, 4.4, Some("3")),
                ],
            }],
        };
        let svg = strip(&chart).into_string();
        // A day takes 100 units from x = 8.
        assert!(
            svg.contains("<rect class=\"fill hand\" x=\"8\" y=\"34\" width=\"1.2\" height=\"14\">"),
            "{svg}"
        );
        assert!(svg.contains("<path class=\"wait\" d=\"M108 41L208 41\">"), "{svg}");
        assert!(
            svg.contains(
                "<rect class=\"fill hatch\" x=\"259\" y=\"34\" width=\"189\" height=\"14\">"
            ),
            "{svg}"
        );
        assert!(svg.contains("<text class=\"gs\" x=\"208\" y=\"31.5\">2</text>"), "{svg}");
    }

    #[test]
    fn numbers_that_would_cover_each_other_are_left_out() {
        let piece = |from: f64| Piece {
            kind: PieceKind::Attended,
            from,
            to: from + 0.01,
            number: Some("1".to_owned()),
        };
        let row =
            StripRow { name: String::new(), pieces: vec![piece(0.0), piece(0.05), piece(0.2)] };
        let chart =
            Strip { head: Head::new("p", "", ""), ticks: Vec::new(), days: 4.4, rows: vec![row] };
        assert_eq!(strip(&chart).into_string().matches("class=\"gs\"").count(), 2);
    }
}
