//! Which price row, quote and delivery row hold for an order on a day.

use crate::model::{Chosen, Day, DeliveryRow, PartId, PriceRow, Quote, Terms, row_on};

/// What prices one part line.
#[derive(Clone, Copy, Debug)]
pub struct LinePrice {
    /// The price row, by index into [`Terms::rows`]; `None` where only a quote with its own lead holds.
    pub row: Option<Chosen>,
    /// The quote that replaces the part line, by index into [`Terms::quotes`].
    pub quote: Option<Chosen>,
}

/// The price of `copies` of a part ordered on a day; `None` where nothing holds.
///
/// Not yet valid rows are dropped; a quote with the largest quantity within `copies` replaces the part line; else the row with the
/// largest quantity within `copies` holds for all of them; among rows of one quantity see [`row_on`].
pub fn line_price(terms: &Terms, part: PartId, copies: i64, day: Option<Day>) -> Option<LinePrice> {
    let row = tier(&terms.rows, copies, day, |r: &PriceRow| (r.from_qty, &r.valid, true));
    // A price per piece stated on the route stands before a quotation as it stands before the sheet.
    let stated = row.is_some_and(|r| terms.rows[r.index].stated_piece);
    let quote =
        tier(&terms.quotes, copies, day, |q: &Quote| (q.qty, &q.valid, q.part == part && !stated));
    let quote_stands_alone = quote.is_some_and(|q| terms.quotes[q.index].lead.is_some());
    (row.is_some() || quote_stands_alone).then_some(LinePrice { row, quote })
}

fn tier<T>(
    rows: &[T],
    copies: i64,
    day: Option<Day>,
    of: impl Fn(&T) -> (i64, &crate::model::Validity, bool),
) -> Option<Chosen> {
    let begun = |row: &T| {
        let (qty, valid, wanted) = of(row);
        let begun = day.is_none_or(|day| valid.from.is_none_or(|from| from <= day));
        (wanted && begun && qty <= copies).then_some(qty)
    };
    let best = rows.iter().filter_map(&begun).max()?;
    let among = rows.iter().enumerate().filter(|(_, r)| begun(r) == Some(best));
    row_on(among.map(|(i, r)| (i, of(r).1)), day)
}

/// The delivery row that holds on a day, if the route has any.
pub fn delivery_on(terms: &Terms, day: Option<Day>) -> Option<Chosen> {
    row_on(terms.deliveries.iter().enumerate().map(|(i, d)| (i, &d.valid)), day)
}

impl LinePrice {
    /// The price row.
    pub fn row<'a>(&self, terms: &'a Terms) -> Option<&'a PriceRow> {
        self.row.map(|c| &terms.rows[c.index])
    }

    /// The quote.
    pub fn quote<'a>(&self, terms: &'a Terms) -> Option<&'a Quote> {
        self.quote.map(|c| &terms.quotes[c.index])
    }

    /// True where what holds is past its last valid day.
    pub fn expired(&self) -> bool {
        match self.quote {
            Some(quote) => quote.expired,
            None => self.row.is_some_and(|r| r.expired),
        }
    }
}

/// The delivery row at an index.
pub fn delivery_row(terms: &Terms, chosen: Option<Chosen>) -> Option<&DeliveryRow> {
    chosen.map(|c| &terms.deliveries[c.index])
}
