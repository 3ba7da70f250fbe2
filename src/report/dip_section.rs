//! A dip in section: tub, level, pieces and displacers cut along the tub's longer side, and that section in characters.
//!
//! Enters: a bath's numbers and what a dip asks for. Leaves: the outlines in mm that every drawing uses, and the drawing for a terminal.

use super::fixed;
use crate::analysis::{DipLoad, DipPlan, Pour};
use crate::model::Exact;
use crate::plan::{DyeTable, TubTable};

/// Most pieces drawn side by side.
const MOST_DRAWN: i64 = 6;

/// The outlines of a section, in mm; widths are counted from the middle, heights from the floor.
#[derive(Clone, Debug)]
pub(super) struct DipSection {
    tub: TubTable,
    /// Which of the tub's two sides the section runs along.
    long: usize,
    /// Left and right end of each piece drawn.
    pub pieces: Vec<[Exact; 2]>,
    /// Lowest point of the pieces.
    pub underside: Exact,
    /// Highest point of the pieces.
    pub top: Exact,
    /// Level with the pieces in.
    pub level: Exact,
    /// Level before.
    pub before: Exact,
    /// Width and height of a block that takes as much room as the displacers; where they stand is not known.
    pub displacers: Option<[Exact; 2]>,
}

impl DipSection {
    /// The section of a dip.
    pub fn new(table: &DyeTable, plan: &DipPlan, load: &DipLoad, pour: &Pour) -> DipSection {
        let [x, y, height] = plan.stands.unwrap_or_default();
        let sides = table.tub.inside(table.raise);
        let long = usize::from(sides[1] > sides[0]);
        DipSection {
            tub: table.tub,
            long,
            pieces: side_by_side(sides[long], x.max(y), load.copies),
            underside: table.raise,
            top: table.raise + height,
            level: pour.level,
            before: pour.before,
            displacers: displacers(table, long),
        }
    }

    /// Half the inside width at a height.
    pub fn half(&self, z: Exact) -> Exact {
        self.tub.inside(z)[self.long] / Exact::from(2i64)
    }

    /// Floor to rim.
    pub fn rim(&self) -> Exact {
        self.tub.depth
    }

    /// The inside at its widest.
    pub fn widest(&self) -> Exact {
        let both = [Exact::ZERO, self.rim()].map(|z| self.half(z) * Exact::from(2i64));
        both[0].max(both[1])
    }

    /// The highest point of tub and pieces.
    pub fn highest(&self) -> Exact {
        self.rim().max(self.top)
    }

    /// True where the pieces are under wholly.
    pub fn covers(&self) -> bool {
        self.level >= self.top
    }
}

/// Ends of pieces spread evenly over a width, where all fit and are few; else of one in the middle.
fn side_by_side(width: Exact, length: Exact, copies: i64) -> Vec<[Exact; 2]> {
    let fit = copies <= MOST_DRAWN && length * Exact::from(copies) <= width;
    let drawn = if fit { copies } else { 1 };
    let gap = (width - length * Exact::from(drawn)) / Exact::from(drawn + 1);
    let left = -width / Exact::from(2i64);
    (0..drawn)
        .map(|n| {
            let start = left + gap * Exact::from(n + 1) + length * Exact::from(n);
            [start, start + length]
        })
        .collect()
}

fn displacers(table: &DyeTable, long: usize) -> Option<[Exact; 2]> {
    let height = table.displacer_height;
    if height.is_zero() || table.displacers.is_zero() {
        return None;
    }
    let inside = table.tub.inside(height / Exact::from(2i64));
    let width = Exact::from(1_000i64) * table.displacers / (height * inside[1 - long]);
    Some([width.min(inside[long]), height])
}

/// Columns and rows of the tub's inside in characters; a character is about twice as tall as wide.
const COLUMNS: (i64, i64) = (14, 24);
const ROWS: (i64, i64) = (12, 16);

/// A drawing in characters as it comes to be.
struct Canvas<'s> {
    section: &'s DipSection,
    columns: i64,
    rows: i64,
    /// mm in a column, and in a row.
    cell: [Exact; 2],
    /// The row of the level, and of the level before.
    levels: [i64; 2],
    /// First row of the pieces, and the row after their last.
    span: [i64; 2],
}

/// The section in characters, at most 60 columns wide, with what its signs mean.
pub(super) fn drawing(section: &DipSection) -> Vec<String> {
    let canvas = Canvas::new(section);
    let mut lines: Vec<String> = (0..canvas.rows).map(|row| canvas.line(row)).collect();
    lines.push(canvas.floor());
    for line in &mut lines {
        line.truncate(line.trim_end().len());
    }
    lines.push("not to scale; ~ level with, ╌ before, ░ liquid".to_owned());
    if section.displacers.is_some() {
        lines.push("▓ displacers, placed anywhere".to_owned());
    }
    lines
}

impl Canvas<'_> {
    fn new(section: &DipSection) -> Canvas<'_> {
        let (width, height) = (section.widest(), section.highest());
        let two = Exact::from(2i64);
        // mm in a column, so that neither the width nor the height is exceeded; then the least size at which one sees something.
        let mm = (width / Exact::from(COLUMNS.1)).max(height / (two * Exact::from(ROWS.1)));
        let columns = (width / mm).to_whole().clamp(COLUMNS.0, COLUMNS.1);
        let rows = (height / (two * mm)).to_whole().clamp(ROWS.0, ROWS.1);
        let cell = [width / Exact::from(columns), height / Exact::from(rows)];
        let mut canvas = Canvas { section, columns, rows, cell, levels: [0; 2], span: [0; 2] };
        canvas.place();
        canvas
    }

    /// Puts levels and pieces on rows of their own, so that what is under looks under and what stands out looks so.
    fn place(&mut self) {
        let section = self.section;
        let raised = i64::from(section.underside > Exact::ZERO);
        let bottom = self.edge(section.underside).clamp(4, self.rows - raised);
        let top = self.edge(section.top).clamp(0, bottom - 2);
        let level = self.row(section.level);
        let (top, level) = if section.covers() {
            let top = top.max(1);
            (top, level.min(top - 1))
        } else {
            (top, level.clamp(top + 1, (bottom - 1).max(top + 1)))
        };
        self.span = [top, bottom];
        self.levels = [level, self.row(section.before).max(level)];
    }

    /// The row boundary nearest to a height.
    fn edge(&self, z: Exact) -> i64 {
        ((self.section.highest() - z) / self.cell[1]).to_whole()
    }

    /// The row a height is in.
    fn row(&self, z: Exact) -> i64 {
        let from_top = (self.section.highest() - z) / self.cell[1];
        (-(-from_top).ceil()).clamp(0, self.rows - 1)
    }

    /// The height of a row's middle.
    fn middle(&self, row: i64) -> Exact {
        let half = Exact::ONE / Exact::from(2i64);
        self.section.highest() - (Exact::from(row) + half) * self.cell[1]
    }

    /// Columns between wall and edge of the canvas at a height, on either side.
    fn margin(&self, z: Exact) -> i64 {
        let inside = self.section.half(z) / self.cell[0];
        let margin = Exact::from(self.columns) / Exact::from(2i64) - inside;
        margin.to_whole().clamp(0, self.columns / 2 - 2)
    }

    /// The column of a place counted from the middle, the left wall of the widest row being column 0.
    fn column(&self, x: Exact) -> i64 {
        let left = self.section.widest() / Exact::from(2i64);
        1 + ((x + left) / self.cell[0]).to_whole()
    }

    fn line(&self, row: i64) -> String {
        let z = self.middle(row);
        let margin = self.margin(z);
        let walled = z < self.section.rim();
        let walls = [margin, self.columns + 1 - margin];
        let mut text: String = (0..self.columns + 2)
            .map(|column| match (walled, walls.contains(&column)) {
                (true, true) => '│',
                (_, _) if column < walls[0] || column > walls[1] => ' ',
                _ => self.inside(row, column, walled),
            })
            .collect();
        let labels = self.labels(row);
        if !labels.is_empty() {
            text.push_str("  ");
            text.push_str(&labels);
        }
        text
    }

    fn inside(&self, row: i64, column: i64, walled: bool) -> char {
        let section = self.section;
        if let Some(sign) = section.pieces.iter().find_map(|ends| self.piece(*ends, row, column)) {
            return sign;
        }
        if !walled {
            return ' ';
        }
        if let Some([width, height]) = section.displacers {
            let from = self.margin(Exact::ZERO) + 1;
            let wide = (width / self.cell[0]).to_whole().max(1);
            let tall = (height / self.cell[1]).to_whole().max(1);
            if row >= self.rows - tall && (from..from + wide).contains(&column) {
                return '▓';
            }
        }
        match row {
            _ if row == self.levels[0] => '~',
            _ if row == self.levels[1] => '╌',
            _ if row > self.levels[0] => '░',
            _ => ' ',
        }
    }

    /// The sign of a piece at a place, if it is there.
    fn piece(&self, ends: [Exact; 2], row: i64, column: i64) -> Option<char> {
        let left = self.column(ends[0]).clamp(1, self.columns - 2);
        let right = (self.column(ends[1]) - 1).clamp(left + 2, self.columns.max(left + 2));
        let (top, bottom) = (self.span[0], self.span[1] - 1);
        if !(left..=right).contains(&column) || !(top..=bottom).contains(&row) {
            return None;
        }
        Some(match (row == top, row == bottom, column == left, column == right) {
            (true, _, true, _) => '┌',
            (true, _, _, true) => '┐',
            (_, true, true, _) => '└',
            (_, true, _, true) => '┘',
            (true, _, _, _) | (_, true, _, _) => '─',
            (_, _, true, _) | (_, _, _, true) => '│',
            _ => ' ',
        })
    }

    fn floor(&self) -> String {
        let margin = usize::try_from(self.margin(Exact::ZERO)).unwrap_or(0);
        let columns = usize::try_from(self.columns).unwrap_or(0).saturating_sub(2 * margin);
        let blank = " ".repeat(margin);
        format!("{blank}└{}┘{blank}  floor", "─".repeat(columns))
    }

    /// What is at the height of a row, with figures where there is room for them.
    fn labels(&self, row: i64) -> String {
        let section = self.section;
        let rim = (0..self.rows).find(|&r| self.middle(r) < section.rim());
        let all = [
            (rim == Some(row), "rim", section.rim()),
            (self.levels[0] == row, "with", section.level),
            (self.levels[1] == row, "before", section.before),
        ];
        let here = all.iter().filter(|label| label.0);
        let full: Vec<String> =
            here.clone().map(|(_, word, z)| format!("{word} {} mm", fixed(*z, 1))).collect();
        let room = usize::try_from(MOST_WIDE - self.columns - 4).unwrap_or(0);
        let text = full.join(", ");
        if text.len() <= room {
            return text;
        }
        here.map(|label| label.1).collect::<Vec<_>>().join(", ")
    }
}

/// Columns of a drawing with its labels.
const MOST_WIDE: i64 = 60;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::e;

    fn section(
        tub: (&str, &str, &str),
        piece: (&str, &str, &str),
        levels: (&str, &str),
    ) -> DipSection {
        let (bottom, top, depth) = (e(tub.0), e(tub.1), e(tub.2));
        let tub = TubTable { bottom: [bottom; 2], top: [top; 2], depth, round: true };
        let underside = e(piece.1);
        DipSection {
            tub,
            long: 0,
            pieces: side_by_side(tub.inside(underside)[0], e(piece.0), 1),
            underside,
            top: underside + e(piece.2),
            level: e(levels.0),
            before: e(levels.1),
            displacers: None,
        }
    }

    #[test]
    fn a_piece_under_the_level() {
        let drawn = drawing(&section(("190", "206", "110"), ("80", "5", "34"), ("44", "38.5")));
        let expected = "\
│                        │  rim 110.0 mm
│                        │
│                        │
│                        │
│                        │
│                        │
 │                      │
 │~~~~~~~~~~~~~~~~~~~~~~│   with 44.0 mm, before 38.5 mm
 │░░░░░░┌────────┐░░░░░░│
 │░░░░░░│        │░░░░░░│
 │░░░░░░└────────┘░░░░░░│
 │░░░░░░░░░░░░░░░░░░░░░░│
 └──────────────────────┘   floor
not to scale; ~ level with, ╌ before, ░ liquid";
        assert_eq!(drawn.join("\n"), expected);
    }

    #[test]
    fn a_piece_that_stands_out_of_the_tub() {
        let drawn = drawing(&section(("60", "60", "40"), ("20", "0", "80"), ("30", "26")));
        let expected = "         ┌──────┐
         │      │
         │      │
         │      │
         │      │
         │      │
         │      │
         │      │
│        │      │        │  rim 40.0 mm
│        │      │        │
│~~~~~~~~│      │~~~~~~~~│  with 30.0 mm, before 26.0 mm
│░░░░░░░░│      │░░░░░░░░│
│░░░░░░░░│      │░░░░░░░░│
│░░░░░░░░│      │░░░░░░░░│
│░░░░░░░░│      │░░░░░░░░│
│░░░░░░░░└──────┘░░░░░░░░│
└────────────────────────┘  floor
not to scale; ~ level with, ╌ before, ░ liquid";
        assert_eq!(drawn.join("\n"), expected);
    }

    #[test]
    fn whatever_the_sizes_the_drawing_stays_in_its_frame() {
        let sizes = ["1", "7", "60", "333", "2500", "10000"];
        for wide in sizes {
            for deep in sizes {
                for piece in sizes {
                    let (level, before) = (deep, "0.5");
                    let section = section((wide, wide, deep), (piece, "0", piece), (level, before));
                    let lines = drawing(&section);
                    assert!(lines.iter().all(|l| l.chars().count() <= 60), "{lines:#?}");
                    assert!(lines.len() <= 19, "{lines:#?}");
                    let all = lines.concat();
                    let shown = ['~', '┌', '┘'].iter().all(|&sign| all.contains(sign));
                    assert!(shown, "{wide} {deep} {piece}: {lines:#?}");
                }
            }
        }
    }

    #[test]
    fn pieces_stand_side_by_side_where_they_fit() {
        let two = side_by_side(e("100"), e("30"), 2);
        // 100 - 60 leaves 40 for three gaps.
        assert_eq!(two.len(), 2);
        assert_eq!(two[0][0].half_away(3), e("-36.667"));
        assert_eq!(two[1][1].half_away(3), e("36.667"));
        assert_eq!(side_by_side(e("100"), e("30"), 4), [[e("-15"), e("15")]]);
    }
}
