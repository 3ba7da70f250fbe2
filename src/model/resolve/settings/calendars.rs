//! Opening hours of the bench, and the business days of services and carriers.

use crate::diag::{Code, Diagnostic, Place, did_you_mean};
use crate::input::{read_span, read_weekday};
use crate::model::resolve::keys::{CALENDAR, HOURS};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Lit, Load, One, Table};
use crate::model::{Calendar, CalendarId, Day, HOUR, Hours};

/// What holds where no hours are stated.
const NINE_TO_FIVE: (i64, i64) = (9 * HOUR, 17 * HOUR);

/// The calendars of a scenario; the first is Monday to Friday.
pub struct Calendars {
    /// By [`CalendarId`].
    pub list: Vec<Calendar>,
}

impl Calendars {
    /// Reads every `[calendar.NAME]`.
    pub fn read(load: &mut Load, top: &mut Table) -> Calendars {
        let mut list = vec![Calendar::weekdays()];
        let tables = top.one("calendar").map_or_else(Vec::new, |one| entries(load, one));
        if tables.len() > limits::CALENDARS {
            let message = format!("more than {} calendars", limits::CALENDARS);
            load.error(
                Code::TooMany,
                top.place_of("calendar"),
                message,
                "delete those that nothing names",
            );
        }
        for (name, one) in tables.into_iter().take(limits::CALENDARS) {
            if let Some(mut table) = Table::new(load, one, CALENDAR, "a calendar") {
                list.push(calendar(load, &mut table, name));
            }
        }
        list[1..].sort_by(|a, b| a.name.cmp(&b.name));
        Calendars { list }
    }

    /// The calendar of a name.
    pub fn id(&self, load: &mut Load, one: One) -> CalendarId {
        let Some(name) = one.name(load) else {
            return CalendarId(0);
        };
        match self.list.iter().position(|c| c.name == name) {
            Some(index) => CalendarId::at(index),
            None => {
                let known: Vec<&str> = self.list[1..].iter().map(|c| c.name.as_str()).collect();
                let message = format!("no calendar is called `{name}`");
                let key = if name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
                {
                    name.to_owned()
                } else {
                    format!("{name:?}")
                };
                let add = format!("add `[calendar.{key}]` to scenario.toml");
                let hint = match did_you_mean(name, known) {
                    Some(near) => format!("{near} or {add}"),
                    None => add,
                };
                load.error(Code::UnknownName, one.place, message, hint);
                CalendarId(0)
            }
        }
    }
}

fn entries<'a>(load: &mut Load, one: One<'a>) -> Vec<(&'a str, One<'a>)> {
    match one.lit {
        Lit::Table(entries) => {
            entries.iter().map(|e| (e.key.as_str(), One::from(&e.node))).collect()
        }
        _ => {
            one.wrong_type(
                load,
                "tables such as `[calendar.carrier]`",
                "give each calendar a name",
            );
            Vec::new()
        }
    }
}

fn calendar(load: &mut Load, table: &mut Table, name: &str) -> Calendar {
    Calendar { name: name.to_owned(), days: weekdays(load, table), closed: closed(load, table) }
}

/// The weekdays of `days`; Monday to Friday where absent.
fn weekdays(load: &mut Load, table: &mut Table) -> [bool; 7] {
    let Some(one) = table.one("days") else {
        return Calendar::weekdays().days;
    };
    let mut days = [false; 7];
    let words = one.list(load, "a list of weekdays");
    for word in &words {
        let Some(text) = word.name(load) else {
            continue;
        };
        match read_weekday(text) {
            Ok(day) => days[day] = true,
            Err(problem) => load.log.push(problem.at(word.place)),
        }
    }
    if !days.contains(&true) {
        if words.is_empty() {
            load.error(
                Code::EmptyList,
                one.place,
                "no weekday is open",
                "name at least one, such as `[\"Mon\"]`",
            );
        }
        return Calendar::weekdays().days;
    }
    days
}

fn closed(load: &mut Load, table: &mut Table) -> Vec<Day> {
    let Some(one) = table.one("closed") else {
        return Vec::new();
    };
    let days = one.days(load);
    if !days.is_empty() {
        dates_need_start(load, "closed days mean nothing", one.place);
    }
    days
}

/// Logs an error where dates are stated without a start date.
pub fn dates_need_start(load: &mut Load, what: &str, place: &Place) {
    if !load.has_start {
        let message = format!("{what} without `start`");
        load.error(
            Code::NoStart,
            place,
            message,
            "state `start = 2026-03-02T09:00:00`, or delete them",
        );
    }
}

/// Reads `[hours]`; Monday to Friday 09:00-17:00 where absent.
pub fn hours(load: &mut Load, top: &mut Table) -> Hours {
    let table = top.one("hours").and_then(|one| Table::new(load, one, HOURS, "`[hours]`"));
    let Some(mut table) = table else {
        return Hours { calendar: Calendar::weekdays(), spans: vec![NINE_TO_FIVE] };
    };
    Hours { calendar: calendar(load, &mut table, ""), spans: spans(load, &mut table) }
}

fn spans(load: &mut Load, table: &mut Table) -> Vec<(i64, i64)> {
    let Some(one) = table.one("open") else {
        return vec![NINE_TO_FIVE];
    };
    let words = one.list(load, "a list of spans such as `[\"09:00-17:00\"]`");
    if words.len() > limits::SPANS {
        let message = format!("more than {} spans", limits::SPANS);
        load.error(Code::TooMany, one.place, message, "unite those that touch");
    }
    let mut spans: Vec<((i64, i64), &Place)> = Vec::new();
    for word in words.iter().take(limits::SPANS) {
        let Some(text) = word.name(load) else {
            continue;
        };
        match read_span(text) {
            Ok(span) => spans.push((span, word.place)),
            Err(problem) => load.log.push(problem.at(word.place)),
        }
    }
    if words.is_empty() {
        load.error(
            Code::EmptyList,
            one.place,
            "no span is open",
            "name at least one, such as `\"09:00-17:00\"`",
        );
    }
    spans.sort_by_key(|s| s.0);
    for pair in spans.windows(2) {
        if pair[1].0.0 < pair[0].0.1 {
            let finding =
                Diagnostic::error(Code::OverlappingSpans, pair[1].1, "spans of open hours overlap");
            load.log.push(
                finding.see(pair[0].1, "the other").hint("let one end before the next begins"),
            );
        }
    }
    if spans.is_empty() { vec![NINE_TO_FIVE] } else { spans.into_iter().map(|s| s.0).collect() }
}
