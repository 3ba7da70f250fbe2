//! One value as written, in a scenario or in a sheet, and how it is read as a text, a date, a list.

use toml::value::Datetime;

use super::context::Load;
use crate::diag::{Code, Place};
use crate::input::{
    Cell, Entry, Node, NumberProblem, Quantity, Value, read_date, read_dates, read_moment,
    read_quantity, read_time_of_day, read_yes_no, toml_moment, toml_time_of_day,
};
use crate::model::Day;
use crate::model::resolve::limits;

/// A value with its place.
#[derive(Clone, Copy)]
pub struct One<'a> {
    /// Where it is.
    pub place: &'a Place,
    /// What it is.
    pub lit: Lit<'a>,
}

/// What a value is: one of TOML, or the text of a cell.
#[derive(Clone, Copy)]
pub enum Lit<'a> {
    /// A string.
    Text(&'a str),
    /// A number literal.
    Number(&'a str),
    /// `true` or `false`.
    Bool(bool),
    /// A date or time.
    Time(&'a Datetime),
    /// An array.
    List(&'a [Node]),
    /// A table.
    Table(&'a [Entry]),
    /// The text of a cell, which may stand for anything.
    Cell(&'a str),
}

impl<'a> From<&'a Node> for One<'a> {
    fn from(node: &'a Node) -> One<'a> {
        let lit = match &node.value {
            Value::Text(text) => Lit::Text(text),
            Value::Number(text) => Lit::Number(text),
            Value::Bool(value) => Lit::Bool(*value),
            Value::Time(value) => Lit::Time(value),
            Value::List(nodes) => Lit::List(nodes),
            Value::Table(entries) => Lit::Table(entries),
        };
        One { place: &node.place, lit }
    }
}

impl<'a> From<&'a Cell> for One<'a> {
    fn from(cell: &'a Cell) -> One<'a> {
        One { place: &cell.place, lit: Lit::Cell(&cell.text) }
    }
}

impl<'a> One<'a> {
    fn found(&self) -> String {
        match self.lit {
            Lit::Text(text) => format!("the text `{text}`"),
            Lit::Number(text) => format!("the number `{text}`"),
            Lit::Bool(value) => format!("`{value}`"),
            Lit::Time(value) => format!("the date or time `{value}`"),
            Lit::List(_) => "a list".to_owned(),
            Lit::Table(_) => "a table".to_owned(),
            Lit::Cell(text) => format!("`{text}`"),
        }
    }

    /// Logs that the value is of another type than expected.
    pub fn wrong_type(&self, load: &mut Load, expected: &str, hint: &str) {
        let message = format!("expected {expected}, found {}", self.found());
        load.error(Code::WrongType, self.place, message, hint);
    }

    fn kept<T>(&self, load: &mut Load, result: Result<T, NumberProblem>) -> Option<T> {
        result.map_err(|problem| load.log.push(problem.at(self.place))).ok()
    }

    /// A text of some length above 0.
    pub fn text(&self, load: &mut Load, most: usize) -> Option<&'a str> {
        let (Lit::Text(text) | Lit::Cell(text)) = self.lit else {
            self.wrong_type(load, "a text", "put it in quotes");
            return None;
        };
        if text.trim().is_empty() {
            load.error(
                Code::WrongType,
                self.place,
                "text is empty",
                "write a text or leave the key out",
            );
            return None;
        }
        if text.chars().count() > most {
            let message = format!("text is longer than {most} characters");
            load.error(Code::TooLong, self.place, message, "shorten it");
            return None;
        }
        Some(text)
    }

    /// A name.
    pub fn name(&self, load: &mut Load) -> Option<&'a str> {
        self.text(load, limits::NAME)
    }

    /// `true` or `false`; in a sheet also `yes` or `no`.
    pub fn flag(&self, load: &mut Load) -> Option<bool> {
        match self.lit {
            Lit::Bool(value) => Some(value),
            Lit::Cell(text) => self.kept(load, read_yes_no(text)),
            _ => {
                self.wrong_type(load, "true or false", "write `true` or `false` without quotes");
                None
            }
        }
    }

    /// A number with or without a unit, and its text.
    pub fn quantity(&self, load: &mut Load) -> Option<(Quantity, &'a str)> {
        match self.lit {
            Lit::Number(text) | Lit::Text(text) | Lit::Cell(text) => {
                self.kept(load, read_quantity(text)).map(|q| (q, text))
            }
            _ => {
                self.wrong_type(
                    load,
                    "a number",
                    "write a number, or a text with a unit such as `\"20 min\"`",
                );
                None
            }
        }
    }

    /// A whole number between two ends.
    pub fn whole(&self, load: &mut Load, least: i64, most: i64) -> Option<i64> {
        let (quantity, text) = self.quantity(load)?;
        let value = match quantity {
            Quantity::Bare(value) => value,
            other => {
                let message =
                    format!("expected a whole number, found {}: `{text}`", other.describe());
                load.error(Code::NeedlessUnit, self.place, message, "leave the unit out");
                return None;
            }
        };
        let whole = value.fract().is_zero().then(|| i64::try_from(value).ok()).flatten();
        match whole {
            Some(number) if (least..=most).contains(&number) => Some(number),
            _ => {
                let message =
                    format!("expected a whole number from {least} to {most}, found `{text}`");
                let code = match whole {
                    Some(number) if number > most => Code::TooLarge,
                    None if !value.fract().is_zero() => Code::NotWhole,
                    _ => Code::OutOfRange,
                };
                load.error(
                    code,
                    self.place,
                    message,
                    format!("write one between {least} and {most}"),
                );
                None
            }
        }
    }

    /// A day, and the second of it where a time is given.
    pub fn moment(&self, load: &mut Load) -> Option<(Day, Option<i64>)> {
        let read = match self.lit {
            Lit::Time(value) => toml_moment(value),
            Lit::Text(text) | Lit::Cell(text) => read_moment(text),
            _ => {
                self.wrong_type(load, "a date", "write it such as `2026-03-02`, without quotes");
                return None;
            }
        };
        self.kept(load, read)
    }

    /// A day.
    pub fn day(&self, load: &mut Load) -> Option<Day> {
        match self.lit {
            Lit::Cell(text) => self.kept(load, read_date(text)),
            _ => self.day_only(load),
        }
    }

    fn day_only(&self, load: &mut Load) -> Option<Day> {
        let (day, second) = self.moment(load)?;
        if second.is_some() {
            let message = format!("expected a day, found {}", self.found());
            load.error(
                Code::BadDate,
                self.place,
                message,
                "leave the time out, such as `2026-04-24`",
            );
        }
        Some(day)
    }

    /// Days, ascending: a list of dates, or dates separated by blanks in a cell.
    pub fn days(&self, load: &mut Load) -> Vec<Day> {
        let mut days: Vec<Day> = match self.lit {
            Lit::Cell(text) => {
                let (days, problems) = read_dates(text);
                for problem in problems {
                    load.log.push(problem.at(self.place));
                }
                days
            }
            _ => {
                let ones = self.list(load, "a list of dates such as `[2026-04-03]`");
                ones.iter().filter_map(|one| one.day(load)).collect()
            }
        };
        days.sort_unstable();
        days.dedup();
        if days.len() > limits::DAYS {
            let message = format!("more than {} days", limits::DAYS);
            load.error(Code::TooMany, self.place, message, "leave out days before the start");
        }
        days
    }

    /// The second of a day.
    pub fn time_of_day(&self, load: &mut Load) -> Option<i64> {
        let read = match self.lit {
            Lit::Time(value) => toml_time_of_day(value),
            Lit::Text(text) | Lit::Cell(text) => read_time_of_day(text),
            _ => {
                self.wrong_type(load, "a time of day", "write it such as `\"14:00\"`");
                return None;
            }
        };
        self.kept(load, read)
    }

    /// The elements of a list.
    pub fn list(&self, load: &mut Load, expected: &str) -> Vec<One<'a>> {
        match self.lit {
            Lit::List(nodes) => nodes.iter().map(One::from).collect(),
            _ => {
                self.wrong_type(load, expected, "write a list in square brackets");
                Vec::new()
            }
        }
    }

    /// One of a few words, upper and lower case alike.
    pub fn choice<T: Copy>(&self, load: &mut Load, what: &str, words: &[(&str, T)]) -> Option<T> {
        let text = self.text(load, limits::NAME)?;
        let wanted = text.trim().to_lowercase();
        let found = words.iter().find(|(word, _)| *word == wanted).map(|(_, value)| *value);
        if found.is_none() {
            let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            load.unknown_name(Code::UnknownWord, self.place, what, (text, &known));
        }
        found
    }
}
