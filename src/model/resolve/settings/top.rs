//! The scenario's own keys: title, currency, dates, labour, and the wishes a verdict is held against.

use super::calendars::dates_need_start;
use crate::diag::Code;
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Load, Table, currency};
use crate::model::{CLOSE, Currency, DAY, Day, Dim, Hours, Moment, SURE, Slot, day_of};

/// The scenario's own keys.
pub struct Settings {
    /// Title for reports.
    pub title: Option<String>,
    /// First release, once the opening hours are known.
    pub start: Option<(Day, Option<i64>)>,
    /// Last day.
    pub due: Option<Day>,
    /// Wanted chance of being done by then.
    pub sure: Slot,
    /// Share within which costs are about equal.
    pub close: Slot,
    /// Money there is.
    pub budget: Option<Slot>,
    /// Labour per hour.
    pub labour: Option<Slot>,
    /// True where it is paid out.
    pub labour_paid: bool,
    /// Seed of sampled runs.
    pub seed: u64,
}

impl Settings {
    /// Reads them. The currency comes first: everything else may need it.
    pub fn read(load: &mut Load, top: &mut Table) -> Settings {
        own_currency(load, top);
        let start = top.one("start").and_then(|one| one.moment(load));
        load.has_start = top.has("start");
        let sure = top.default_of(load, "sure", Dim::Share, SURE);
        let close = top.default_of(load, "close", Dim::Share, CLOSE);
        let settings = Settings {
            title: top.text(load, "title").map(str::to_owned),
            start,
            due: due(load, top, start),
            sure: top.number_or(load, "sure", sure),
            close: top.number_or(load, "close", close),
            budget: top.number(load, "budget"),
            labour: top.number(load, "labour"),
            labour_paid: top.flag(load, "labour_paid").unwrap_or(false),
            seed: seed(load, top),
        };
        if settings.labour.is_none() {
            load.not_counted("labour (no rate stated)".to_owned());
        }
        settings
    }

    /// The first release: a start day without a time begins at the first opening of that day.
    pub fn start_moment(&self, hours: &Hours) -> Option<Moment> {
        self.start.map(|(day, second)| day * DAY + second.unwrap_or(hours.first_opening()))
    }

    /// The start day.
    pub fn start_day(&self) -> Option<Day> {
        self.start.map(|(day, second)| day_of(day * DAY + second.unwrap_or(0)))
    }
}

fn own_currency(load: &mut Load, top: &mut Table) {
    let read = top.one("currency").and_then(|one| {
        let code = one.name(load)?;
        currency(code).map_err(|problem| load.log.push(problem.at(one.place))).ok()
    });
    if read.is_none() {
        top.missing(load, "currency", "state its three letters, such as `currency = \"USD\"`");
    }
    let placeholder = Currency { code: "USD".to_owned(), minor: 2 };
    load.currencies.id(read.unwrap_or(placeholder));
}

fn due(load: &mut Load, top: &mut Table, start: Option<(Day, Option<i64>)>) -> Option<Day> {
    let one = top.one("due")?;
    let due = one.day(load);
    dates_need_start(load, "`due` means nothing", one.place);
    if due.zip(start).is_some_and(|(due, (start, _))| due < start) {
        load.error(
            Code::BackwardsDates,
            one.place,
            "`due` is before `start`",
            "correct one of them",
        );
    }
    due
}

fn seed(load: &mut Load, top: &mut Table) -> u64 {
    let value = top.one("seed").and_then(|one| one.whole(load, 0, i64::MAX));
    value.map_or(1, i64::unsigned_abs)
}

/// A name for a scenario without a title, within the limit.
pub fn title_or(title: Option<String>, name: &str) -> String {
    title.unwrap_or_else(|| name.chars().take(limits::NAME).collect())
}
