//! Charts as SVG elements inside a page: lines, date bars, stacked bars, columns, change-over bars, a strip of steps, a map.
//!
//! Enters: numbers and texts, ready to be shown. Leaves: one `<svg>` element each, with a name and a description for those who do not see
//! it. Colours and dashes are classes; the page's style says what they are. No chart tells anything by colour alone. Nothing here decides
//! what is shown.

mod columns;
mod dates;
mod lines;
mod map;
mod open;
mod ranges;
mod scale;
mod stacks;
mod strip;

pub(super) use columns::{Column, Columns, columns};
pub(super) use dates::{DateBar, DateBars, date_bars};
pub(super) use lines::{Line, LineChart, Mark, line_chart};
pub(super) use map::{Map, map};
pub(super) use open::{Head, marker};
pub(super) use ranges::{Range, ranges};
pub(super) use stacks::{STACK_STYLES, Stack, stacks};
pub(super) use strip::{Piece, PieceKind, Strip, StripRow, strip};
