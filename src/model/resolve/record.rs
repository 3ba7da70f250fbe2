//! `record.csv`: what really happened, line by line. Every line is understood or reported; none is passed over.

use std::path::Path;

use super::keys::{NumberKind, RECORD, RESULTS, WHATS, What, find, names};
use super::limits;
use super::reading::{Load, One, currency_id};
use crate::diag::{Code, Place, did_you_mean_or_list, nearest};
use crate::input::{Cell, Quantity, Row, Sheet, UnitKind, read_file, read_sheet};
use crate::model::{
    AttendedAt, CurrencyId, Dim, Exact, Happened, InvoiceOf, ItemId, PartId, Record, RecordLine,
    RouteId, Scenario,
};

/// The file beside the scenario.
pub const RECORD_FILE: &str = "record.csv";
/// The words of the column `what`, in their order.
pub fn record_words() -> impl Iterator<Item = &'static str> {
    WHATS.iter().map(|w| w.0)
}

/// Reads the record beside a scenario; nothing where there is none. `text` stands in for the file: what a record would be.
pub(super) fn record(
    load: &mut Load,
    folder: &Path,
    scenario: &Scenario,
    text: Option<&str>,
) -> Option<Record> {
    let path = folder.join(RECORD_FILE);
    let file = match text {
        Some(text) => {
            let shown = path.display().to_string();
            std::sync::Arc::new(crate::diag::File { path: shown, text: text.to_owned() })
        }
        None if path.symlink_metadata().is_err() => return None,
        None => read_file(&path, &mut load.log)?,
    };
    let sheet = read_sheet(&file, &mut load.log)?;
    check_columns(load, &sheet);
    if sheet.rows.len() > limits::ROWS
        && let Some(row) = sheet.rows.get(limits::ROWS)
    {
        let message = format!("{RECORD_FILE} has more than {} lines", limits::ROWS);
        load.error(Code::TooMany, &row.place, message, "keep a record for each scenario");
    }
    let mut reading = Reading { load, scenario, sheet: &sheet };
    let rows = sheet.rows.iter().take(limits::ROWS);
    Some(Record { lines: rows.filter_map(|row| reading.line(row)).collect() })
}

fn check_columns(load: &mut Load, sheet: &Sheet) {
    let columns = names(RECORD);
    let mut meant: Vec<&str> = Vec::new();
    for column in &sheet.columns {
        if !column.text.is_empty() && find(RECORD, &column.text).is_none() {
            let message = format!("{RECORD_FILE} has no column `{}`", column.text);
            let hint = did_you_mean_or_list(&column.text, &columns);
            load.error(Code::UnknownColumn, &column.place, message, hint);
            meant.extend(nearest(&column.text, columns.iter().copied()));
        }
    }
    // Without these no line can be understood.
    let needed = RECORD.iter().filter(|key| key.needed).map(|key| key.name);
    let lacks = |name: &&str| sheet.column(name).is_none() && !meant.contains(name);
    if let Some(first) = sheet.columns.first() {
        for name in needed.filter(lacks) {
            let message = format!("{RECORD_FILE} lacks the column `{name}`");
            let hint = format!("its columns are {}", columns.join(", "));
            load.error(Code::MissingColumn, &first.place, message, hint);
        }
    }
}

struct Reading<'l, 's> {
    load: &'l mut Load,
    scenario: &'s Scenario,
    sheet: &'s Sheet,
}

impl<'s> Reading<'_, 's> {
    /// A cell that is filled; of declared columns alone.
    fn cell(&self, row: &'s Row, column: &str) -> Option<&'s Cell> {
        self.sheet.cell(row, find(RECORD, column)?.name)
    }

    /// A cell that must be filled; without its column there is one finding for the file already.
    fn needed(&mut self, row: &'s Row, column: &str, what: &str) -> Option<&'s Cell> {
        let cell = self.cell(row, column);
        let is_needed = find(RECORD, column).is_some_and(|key| key.needed);
        if cell.is_none() && (self.sheet.column(column).is_some() || !is_needed) {
            let index = self.sheet.columns.iter().position(|c| c.text == column);
            let place = index.and_then(|at| row.cells.get(at)).map_or(&row.place, |c| &c.place);
            let message = format!("{what} without `{column}`");
            self.load.error(Code::MissingKey, place, message, format!("fill in `{column}`"));
        }
        cell
    }

    /// One line; `None` where something in it is reported.
    fn line(&mut self, row: &'s Row) -> Option<RecordLine> {
        let found = self.load.log.found.len();
        let date = self.needed(row, "date", "line");
        let date = date.and_then(|cell| One::from(cell).moment(self.load));
        let iteration = self.needed(row, "iteration", "line");
        let iteration =
            iteration.and_then(|cell| One::from(cell).whole(self.load, 1, limits::HORIZON));
        let what = self.needed(row, "what", "line");
        let what = what
            .and_then(|cell| One::from(cell).choice(self.load, "kind of line (`what`)", &WHATS));
        let part = self.named(row, "part");
        let route = self.named(row, "route").map(RouteId::at);
        let part = part.map(PartId::at);
        self.check_pair(row, part, route);
        let what = what?;
        self.check_unused(row, what);
        let meant = self.happened(row, what, route)?;
        let note = self.cell(row, "note").map_or("", |cell| cell.text.as_str());
        if note.chars().count() > limits::TEXT
            && let Some(cell) = self.cell(row, "note")
        {
            let message = format!("note is longer than {} characters", limits::TEXT);
            self.load.error(Code::TooLong, &cell.place, message, "shorten it");
        }
        let ((day, second), iteration) = date.zip(iteration)?;
        (self.load.log.found.len() == found).then(|| RecordLine {
            day,
            second,
            iteration: u32::try_from(iteration).unwrap_or(u32::MAX),
            part,
            route,
            what: meant,
            note: note.to_owned(),
            source: self.load.source_line(&row.place),
            place: row.place.clone(),
        })
    }

    /// The index of a part or route by its name.
    fn named(&mut self, row: &'s Row, column: &str) -> Option<usize> {
        let cell = self.cell(row, column)?;
        let names: Vec<&str> = match column {
            "part" => self.scenario.parts.iter().map(|p| p.name.as_str()).collect(),
            _ => self.scenario.routes.iter().map(|r| r.name.as_str()).collect(),
        };
        let found = names.iter().position(|name| *name == cell.text);
        if found.is_none() {
            let code = if column == "part" { Code::UnknownPart } else { Code::UnknownRoute };
            self.load.unknown_name(code, &cell.place, column, (&cell.text, &names));
        }
        found
    }

    fn check_pair(&mut self, row: &'s Row, part: Option<PartId>, route: Option<RouteId>) {
        let (Some(part), Some(route)) = (part, route) else {
            return;
        };
        let for_parts = &self.scenario.route(route).parts;
        if for_parts.as_ref().is_some_and(|parts| !parts.contains(&part))
            && let Some(cell) = self.cell(row, "route")
        {
            let part = &self.scenario.part(part).name;
            let message = format!("`{}` is no route for `{part}`", cell.text);
            let hint = "name a route whose `for` lists the part, or add the part there";
            self.load.error(Code::NotForPart, &cell.place, message, hint);
        }
    }

    /// Reports cells that say nothing in such a line: whoever filled them in meant something.
    fn check_unused(&mut self, row: &'s Row, what: What) {
        for column in ["item", "quantity", "amount", "currency"] {
            let Some(cell) = self.cell(row, column) else { continue };
            if !what.columns().contains(&column) {
                let message = format!(
                    "`{column}` has no meaning in a line `{}`: `{}`",
                    what.word(),
                    cell.text
                );
                let hint = "leave it empty, or say it in `note`";
                self.load.error(Code::KeyUnused, &cell.place, message, hint);
            }
        }
    }

    fn happened(&mut self, row: &'s Row, what: What, route: Option<RouteId>) -> Option<Happened> {
        Some(match what {
            What::Ordered => {
                let (amount, currency) = self.amount(row, what)?;
                let back = self.cell(row, "quantity").map(|cell| self.money(cell));
                let back = match back {
                    Some(back) => back?,
                    None => Exact::ZERO,
                };
                self.check_back(row, back, amount)?;
                Happened::Ordered { amount, back, currency }
            }
            What::Build => {
                let word = self.needed(row, "item", "line `build`")?;
                let good = One::from(word).choice(self.load, "result of a build", &RESULTS)?;
                let seconds = self.cell(row, "quantity").map(|cell| self.hours(cell));
                let seconds = match seconds {
                    Some(seconds) => Some(seconds?),
                    None => None,
                };
                Happened::Build { seconds, good }
            }
            What::Attended => {
                let seconds = self.needed(row, "quantity", "line `attended`")?;
                let seconds = self.hours(seconds)?;
                let at = match self.cell(row, "item") {
                    Some(cell) => Some(self.attended_at(cell, route)?),
                    None => None,
                };
                Happened::Attended { seconds, at }
            }
            What::Used => {
                let cell = self.needed(row, "item", "line `used`")?;
                let item = self.item(cell)?;
                let amount = self.needed(row, "quantity", "line `used`")?;
                Happened::Used { item, amount: self.content(amount, item)? }
            }
            What::Invoice => {
                let (amount, currency) = self.amount(row, what)?;
                Happened::Invoice { amount, currency, of: self.invoice_of(row, route)? }
            }
            What::Started => Happened::Started,
            What::InHand => Happened::InHand,
            What::Accepted => Happened::Accepted,
            What::Redesign => Happened::Redesign,
            What::Failed => Happened::Failed,
            What::Stopped => Happened::Stopped,
        })
    }

    fn check_back(&mut self, row: &'s Row, back: Exact, amount: Exact) -> Option<()> {
        if back <= amount {
            return Some(());
        }
        let cell = self.cell(row, "quantity")?;
        let message = format!("a cancellation would return `{}`, more than was ordered", cell.text);
        let hint = "`quantity` is what a cancellation would return of `amount`";
        self.load.error(Code::ConflictingNumbers, &cell.place, message, hint);
        None
    }

    fn amount(&mut self, row: &'s Row, what: What) -> Option<(Exact, CurrencyId)> {
        let cell = self.needed(row, "amount", &format!("line `{}`", what.word()));
        let currency = match self.cell(row, "currency") {
            None => CurrencyId(0),
            Some(cell) => {
                let (load, text) = (&mut *self.load, cell.text.as_str());
                currency_id(&mut load.currencies, &mut load.log, text, &cell.place)
            }
        };
        let currency = self.exchanged(row, currency)?;
        Some((self.money(cell?)?, currency))
    }

    /// A currency that the scenario has a rate for.
    fn exchanged(&mut self, row: &'s Row, currency: CurrencyId) -> Option<CurrencyId> {
        let rates = self.scenario.exchange.get(currency.index());
        if currency == CurrencyId(0) || rates.is_some_and(|rates| !rates.0.is_empty()) {
            return Some(currency);
        }
        let cell = self.cell(row, "currency")?;
        let own = self.load.currencies.own().to_owned();
        let code = cell.text.to_uppercase();
        let message = format!("no rate from {code} to {own}");
        let hint = format!(
            "add a row `exchange {code}->{own}` to rates.csv, or state the amount in {own}"
        );
        self.load.error(Code::NoExchangeRate, &cell.place, message, hint);
        None
    }

    fn money(&mut self, cell: &'s Cell) -> Option<Exact> {
        self.taken(cell, NumberKind::Money)
    }

    fn taken(&mut self, cell: &'s Cell, kind: NumberKind) -> Option<Exact> {
        let (quantity, text) = One::from(cell).quantity(self.load)?;
        match kind.take(&quantity, text) {
            Ok(taken) => Some(taken.value),
            Err(problem) => {
                self.load.log.push(problem.at(&cell.place));
                None
            }
        }
    }

    /// A time; a bare number is hours.
    fn hours(&mut self, cell: &'s Cell) -> Option<i64> {
        let (quantity, text) = One::from(cell).quantity(self.load)?;
        let quantity = match quantity {
            Quantity::Bare(hours) => {
                Quantity::Of(UnitKind::Time, hours * rust_decimal::Decimal::from(3600))
            }
            other => other,
        };
        match NumberKind::Time.take(&quantity, text) {
            Ok(taken) => Some(taken.value.to_whole()),
            Err(problem) => {
                self.load.log.push(problem.at(&cell.place));
                None
            }
        }
    }

    fn item(&mut self, cell: &'s Cell) -> Option<ItemId> {
        let names: Vec<&str> = self.scenario.items.iter().map(|i| i.name.as_str()).collect();
        let found = names.iter().position(|name| *name == cell.text);
        if found.is_none() {
            let what = "material or supply";
            self.load.unknown_name(Code::UnknownItem, &cell.place, what, (&cell.text, &names));
        }
        found.map(ItemId::at)
    }

    /// A quantity of an item in millionths of its unit: mass becomes volume, or volume mass, at its density; a bare number is pieces.
    fn content(&mut self, cell: &'s Cell, id: ItemId) -> Option<i64> {
        let item = self.scenario.items[id.index()].clone();
        let (quantity, text) = One::from(cell).quantity(self.load)?;
        let quantity = match quantity {
            Quantity::Bare(number) if item.dim == Dim::Pieces => {
                Quantity::Of(UnitKind::Pieces, number)
            }
            other => other,
        };
        let taken = match NumberKind::Amount.take(&quantity, text) {
            Ok(taken) => taken,
            Err(problem) => {
                self.load.log.push(problem.at(&cell.place));
                return None;
            }
        };
        let density = item.density.map(|slot| self.load.slots.likely(slot));
        let value = match (taken.dim, item.dim, density.filter(|d| !d.is_zero())) {
            (found, own, _) if found == own => taken.value,
            (Dim::Mass, Dim::Volume, Some(density)) => taken.value / density,
            (Dim::Volume, Dim::Mass, Some(density)) => taken.value * density,
            _ => {
                let own = unit_word(item.dim);
                let message = format!("`{}` is counted in {own}, found `{}`", item.name, cell.text);
                let hint = format!("write it in {own}, or fill in the density of the item");
                self.load.error(Code::MixedUnits, &cell.place, message, hint);
                return None;
            }
        };
        Some(value.to_millionths())
    }

    fn attended_at(&mut self, cell: &'s Cell, route: Option<RouteId>) -> Option<AttendedAt> {
        match cell.text.as_str() {
            "brief" => return Some(AttendedAt::Brief),
            "order" => return Some(AttendedAt::Order),
            _ => {}
        }
        let routes = self.scenario.routes.iter().enumerate();
        let of_route = routes.filter(|(index, _)| route.is_none_or(|r| r.index() == *index));
        let steps: Vec<(AttendedAt, &str)> = of_route
            .flat_map(|(index, r)| r.steps.iter().zip(1..).map(move |(s, n)| (index, n, s)))
            .map(|(index, n, s)| (AttendedAt::Step(RouteId::at(index), n), s.name.as_str()))
            .collect();
        let found = steps.iter().find(|(_, name)| *name == cell.text);
        if found.is_none() {
            let mut known: Vec<&str> = steps.iter().map(|s| s.1).collect();
            known.extend(["brief", "order"]);
            known.sort_unstable();
            known.dedup();
            self.load.unknown_name(Code::UnknownName, &cell.place, "step", (&cell.text, &known));
        }
        found.map(|f| f.0)
    }

    fn invoice_of(&mut self, row: &'s Row, route: Option<RouteId>) -> Option<InvoiceOf> {
        let Some(cell) = self.cell(row, "item") else {
            self.refuse_quantity(row, "an invoice without `item`")?;
            let is_order = |r: RouteId| {
                matches!(self.scenario.route(r).kind, crate::model::RouteKind::Order(_))
            };
            if !route.is_some_and(is_order) {
                let message = "an invoice needs `item`, or in `route` the order it is for";
                let place: &Place = self.cell(row, "route").map_or(&row.place, |c| &c.place);
                let hint = "name what was bought, or the order route";
                self.load.error(Code::MissingKey, place, message, hint);
                return None;
            }
            return Some(InvoiceOf::Order);
        };
        let machine = self.scenario.equipment.iter().position(|e| e.name == cell.text);
        let is_item = self.scenario.items.iter().any(|item| item.name == cell.text);
        match machine.filter(|_| !is_item) {
            Some(machine) => {
                self.refuse_quantity(row, "the invoice of a machine")?;
                Some(InvoiceOf::Machine(crate::model::EquipmentId::at(machine)))
            }
            None => {
                let item = self.item(cell)?;
                let came = self.needed(row, "quantity", "invoice of an item")?;
                Some(InvoiceOf::Item(item, self.content(came, item)?))
            }
        }
    }

    fn refuse_quantity(&mut self, row: &'s Row, whose: &str) -> Option<()> {
        let Some(cell) = self.cell(row, "quantity") else {
            return Some(());
        };
        let message = format!("`quantity` has no meaning for {whose}: `{}`", cell.text);
        self.load.error(Code::KeyUnused, &cell.place, message, "leave it empty");
        None
    }
}

/// A unit in which an item can be counted, in words.
fn unit_word(dim: Dim) -> &'static str {
    match dim {
        Dim::Volume => "mL or L",
        Dim::Mass => "g or kg",
        Dim::Area => "cm2",
        Dim::Length => "mm or m",
        _ => "pcs",
    }
}
