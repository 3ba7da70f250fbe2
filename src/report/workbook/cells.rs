//! What goes into a cell: text that stays text, figures, sums with their results.

use rust_xlsxwriter::{
    ExcelDateTime, Format, FormatAlign, FormatBorder, Formula, Worksheet, XlsxError,
};

use crate::model::Money;

/// A cell by row and column, from 0.
pub(super) type At = (u32, u16);

/// How cells look.
pub(super) struct Looks {
    /// Headings of columns of text.
    pub head: Format,
    /// Headings of columns of figures.
    pub over: Format,
    /// Names of rows and sums of text.
    pub strong: Format,
    /// Sentences.
    pub wrapped: Format,
    /// Amounts.
    pub money: Format,
    /// Sums of amounts.
    pub sum: Format,
    /// An amount below its label.
    pub left: Format,
    /// Prices of a unit.
    pub price: Format,
    /// Days.
    pub date: Format,
    /// Months.
    pub month: Format,
    /// Days and hours.
    pub tenth: Format,
    /// Chances.
    pub share: Format,
    /// Decimals of amounts.
    pub minor: u32,
}

impl Looks {
    /// The looks for a currency with so many decimals.
    pub(super) fn new(minor: u32) -> Looks {
        let digits = match minor {
            0 => "#,##0".to_owned(),
            more => format!("#,##0.{}", "0".repeat(more as usize)),
        };
        let price = format!("{}{}", if minor == 0 { "0.0" } else { "0.00" }, "####");
        let money = || Format::new().set_num_format(&digits);
        let head = || {
            let bold = Format::new().set_bold().set_text_wrap();
            bold.set_align(FormatAlign::Bottom).set_border_bottom(FormatBorder::Thin)
        };
        Looks {
            over: head().set_align(FormatAlign::Right),
            head: head(),
            strong: Format::new().set_bold().set_align(FormatAlign::Top),
            wrapped: Format::new().set_text_wrap().set_align(FormatAlign::Top),
            money: money(),
            sum: money().set_bold().set_border_top(FormatBorder::Thin),
            left: money().set_align(FormatAlign::Left),
            price: Format::new().set_num_format(price),
            date: Format::new().set_num_format("yyyy-mm-dd"),
            month: Format::new().set_num_format("yyyy-mm").set_align(FormatAlign::Left),
            tenth: Format::new().set_num_format("#,##0.0"),
            share: Format::new().set_num_format("0%"),
            minor,
        }
    }
}

/// Height of a line in points.
const LINE: f64 = 15.0;
/// Most lines of a row: it may be 409 points high.
const MOST_LINES: u32 = 27;
/// Most UTF-16 units in a cell.
const MOST: usize = 32_767;

/// Text as a cell can hold it: characters that XML has not are blanks, and what is longer than a cell is cut with a mark.
pub(super) fn text_of(text: &str) -> String {
    let clean = text.chars().map(|c| match c {
        '\n' | '\t' => c,
        '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
        _ if c.is_control() => ' ',
        _ => c,
    });
    let whole: String = clean.collect();
    if whole.encode_utf16().count() <= MOST {
        return whole;
    }
    let mut used = 1;
    let mut cut: String = whole
        .chars()
        .take_while(|c| {
            used += c.len_utf16();
            used <= MOST
        })
        .collect();
    cut.push('\u{2026}');
    cut
}

/// Text, never a formula.
pub(super) fn text(sheet: &mut Worksheet, at: At, text: &str) -> Result<(), XlsxError> {
    sheet.write_string(at.0, at.1, text_of(text)).map(drop)
}

/// Text with a look.
pub(super) fn said(
    sheet: &mut Worksheet,
    at: At,
    text: &str,
    look: &Format,
) -> Result<(), XlsxError> {
    sheet.write_string_with_format(at.0, at.1, text_of(text), look).map(drop)
}

/// A row of headings from the left, the first so many over text, the others over figures, of so many lines.
pub(super) fn headings<S: AsRef<str>>(
    sheet: &mut Worksheet,
    row: u32,
    names: impl IntoIterator<Item = S>,
    (texts, lines): (u16, u32),
    looks: &Looks,
) -> Result<(), XlsxError> {
    tall(sheet, row, lines)?;
    (0u16..).zip(names).try_for_each(|(column, name)| {
        let look = if column < texts { &looks.head } else { &looks.over };
        said(sheet, (row, column), name.as_ref(), look)
    })
}

/// Gives a row room for so many lines: not every program does so by itself.
pub(super) fn tall(sheet: &mut Worksheet, row: u32, lines: u32) -> Result<(), XlsxError> {
    if lines > 1 {
        sheet.set_row_height(row, LINE * f64::from(lines.min(MOST_LINES)))?;
    }
    Ok(())
}

/// A figure; one that is none leaves the cell empty.
pub(super) fn figure(
    sheet: &mut Worksheet,
    at: At,
    value: f64,
    look: &Format,
) -> Result<(), XlsxError> {
    if value.is_finite() {
        sheet.write_number_with_format(at.0, at.1, value, look)?;
    }
    Ok(())
}

/// An amount.
pub(super) fn amount(
    sheet: &mut Worksheet,
    at: At,
    value: Money,
    look: &Format,
) -> Result<(), XlsxError> {
    figure(sheet, at, value.exact().to_f64_lossy(), look)
}

/// An amount that is computed in the sheet, rounded to whole minor units, with what it comes to; the amount alone where nothing is there to
/// compute it from.
pub(super) fn computed(
    sheet: &mut Worksheet,
    at: At,
    (how, value): (Option<String>, Money),
    (look, looks): (&Format, &Looks),
) -> Result<(), XlsxError> {
    let Some(how) = how else {
        return amount(sheet, at, value, look);
    };
    let formula = Formula::new(format!("=ROUND({how},{})", looks.minor));
    let formula = formula.set_result(value.text(looks.minor));
    sheet.write_formula_with_format(at.0, at.1, formula, look).map(drop)
}

/// A day or the first of a month as a date that the sheet knows; `None` where days are counted.
pub(super) fn date_of(text: &str) -> Option<ExcelDateTime> {
    let mut parts = text.split('-');
    let year = parts.next()?.parse().ok()?;
    let month = parts.next()?.parse().ok()?;
    let day = parts.next().map_or(Some(1), |d| d.parse().ok())?;
    ExcelDateTime::from_ymd(year, month, day).ok()
}

/// A day or a month: a date, or text where days are counted.
pub(super) fn dated(
    sheet: &mut Worksheet,
    at: At,
    when: &str,
    look: &Format,
) -> Result<(), XlsxError> {
    match date_of(when) {
        Some(date) => sheet.write_datetime_with_format(at.0, at.1, date, look).map(drop),
        None => text(sheet, at, when),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_fits_a_cell_and_xml() {
        assert_eq!(text_of("a\u{1}b\rc\nd\u{ffff}"), "a b c\nd\u{fffd}");
        assert_eq!(text_of("\u{200f}=x"), "\u{200f}=x");
        // Two units each: the last that fits whole, then the mark.
        let long = text_of(&"\u{1f600}".repeat(20_000));
        assert_eq!(long.encode_utf16().count(), MOST);
        assert!(long.ends_with('\u{2026}'));
        assert_eq!(text_of(&"x".repeat(MOST)).len(), MOST);
    }

    #[test]
    fn days_and_months_are_dates_where_there_is_a_start() {
        // Days since the end of 1899, as the format counts.
        let days = |text| date_of(text).map(|date| date.to_excel().to_string());
        assert_eq!(days("2026-03-02").as_deref(), Some("46083"));
        assert_eq!(days("2026-03").as_deref(), Some("46082"));
        assert_eq!((days("day 3"), days("month 1")), (None, None));
    }
}
