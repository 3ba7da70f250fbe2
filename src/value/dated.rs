//! Dated rates for the fast valuation: days fall into stretches in which the same rows hold.

use crate::model::{Day, RateRows, Route, RouteKind, Terms, Validity};
use crate::plan::Values;

/// The days on which a choice among dated rows may change, in order; between two of them it never does.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Epochs(Vec<Day>);

impl Epochs {
    fn of<'a>(valid: impl Iterator<Item = &'a Validity>) -> Epochs {
        let mut days: Vec<Day> =
            valid.flat_map(|v| [v.from, v.to.map(|to| to + 1)]).flatten().collect();
        days.sort_unstable();
        days.dedup();
        Epochs(days)
    }

    /// Those of an order on a route: duty, tax, fees and exchange. Price, quotation and delivery rows are chosen when it is placed.
    pub(super) fn of_route(route: &Route) -> Epochs {
        let RouteKind::Order(terms) = &route.kind else {
            return Epochs::default();
        };
        let Terms { duty, tax, import_fee, exchange_fee, exchange, .. } = &**terms;
        let tables = [duty, tax, import_fee, exchange_fee].into_iter().chain(exchange);
        Epochs::of(tables.flat_map(|rows| rows.0.iter().map(|r| &r.valid)))
    }

    /// True if the same rows hold on every day.
    pub(super) fn is_one(&self) -> bool {
        self.0.is_empty()
    }

    /// The number of the stretch a day is in; without a day one of its own.
    #[inline]
    pub(super) fn number(&self, day: Option<Day>) -> usize {
        match day {
            _ if self.0.is_empty() => 0,
            Some(day) => self.0.partition_point(|&d| d <= day),
            None => self.0.len() + 1,
        }
    }
}

/// The values of one rate by stretch.
#[derive(Clone, Debug)]
pub(super) struct Dated {
    epochs: Epochs,
    values: Vec<Option<f64>>,
}

impl Dated {
    pub(super) fn new(rows: &RateRows, values: &Values) -> Dated {
        let epochs = Epochs::of(rows.0.iter().map(|r| &r.valid));
        let days = epochs.0.first().map(|d| d - 1).into_iter().chain(epochs.0.iter().copied());
        let on = |day| rows.on(day).map(|(row, _)| values.exact(row.value).quick_f64());
        let mut by_epoch: Vec<Option<f64>> = days.map(|day| on(Some(day))).collect();
        by_epoch.push(on(None));
        Dated { epochs, values: by_epoch }
    }

    /// The value that holds on a day, as [`RateRows::on`] has it.
    #[inline]
    pub(super) fn on(&self, day: Option<Day>) -> Option<f64> {
        self.values[self.epochs.number(day)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Dim, Exact, Input, RateRow, Slots, SourceId, Varies};

    #[test]
    fn every_day_has_the_value_of_its_row() {
        let dates = [(None, Some(3)), (Some(5), None), (Some(8), Some(9)), (Some(7), Some(7))];
        let mut slots = Slots::default();
        let rows = dates.into_iter().zip(1i64..).map(|((from, to), n)| {
            let likely = Exact::from(n);
            let value = slots.add(Input {
                address: String::new(),
                source: SourceId(0),
                dim: Dim::Share,
                low: likely,
                likely,
                high: likely,
                varies: Varies::Once,
                assumed: false,
            });
            RateRow { value, valid: Validity { from, to }, source: SourceId(0) }
        });
        let all: Vec<RateRow> = rows.collect();
        let values = Values::planning(&slots);
        for count in 0..=all.len() {
            let rows = RateRows(all[..count].to_vec());
            let dated = Dated::new(&rows, &values);
            for day in (0..12).map(Some).chain([None]) {
                let exact = rows.on(day).map(|(row, _)| values.exact(row.value).to_f64_lossy());
                assert_eq!(dated.on(day), exact, "{count} rows, {day:?}");
            }
        }
    }
}
