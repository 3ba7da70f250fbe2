//! A group of named values, read key by key: a table of the scenario or a row of a sheet.
//!
//! A key that is not declared is an error at once; a declared one that nothing has asked for is one at the end, so that nothing a user
//! writes is without effect. What kind of number stands for a key is what its declaration says.

use super::context::{Load, line_of};
use super::one::{Lit, One};
use super::price_sheet::PriceSheet;
use super::spread::Spread;
use crate::diag::{Code, Place, did_you_mean_or_list, nearest};
use crate::input::{Entry, Row, read_lengths};
use crate::model::resolve::keys::{Key, NumberKind, find, names};
use crate::model::resolve::limits;
use crate::model::{CurrencyId, Dim, Exact, Input, Price, Slot, SourceId};

/// A group of named values.
pub struct Table<'a> {
    /// Where it starts.
    pub place: &'a Place,
    /// How its numbers are addressed: `part[sensor collar]`; empty at the top.
    pub address: String,
    fields: Fields<'a>,
    used: Vec<bool>,
    /// Keys that unknown ones were probably meant to be.
    meant: Vec<String>,
}

#[derive(Clone, Copy)]
enum Fields<'a> {
    Toml(&'static [Key], &'a [Entry]),
    Row(&'a PriceSheet, &'a Row),
}

impl<'a> Table<'a> {
    /// A table of the scenario; keys that are not in `keys` are logged. `None` where the value is no table.
    pub fn new(
        load: &mut Load,
        one: One<'a>,
        keys: &'static [Key],
        what: &str,
    ) -> Option<Table<'a>> {
        let Lit::Table(entries) = one.lit else {
            let hint = "write it as a table of keys and values";
            one.wrong_type(load, &format!("{what} as a table"), hint);
            return None;
        };
        let known = names(keys);
        let mut used = vec![false; entries.len()];
        let mut meant = Vec::new();
        for (entry, used) in entries.iter().zip(&mut used) {
            if !known.contains(&entry.key.as_str()) {
                let message = format!("{what} has no key `{}`", entry.key);
                let hint = did_you_mean_or_list(&entry.key, &known);
                load.error(Code::UnknownKey, &entry.key_place, message, hint);
                meant.extend(nearest(&entry.key, known.iter().copied()).map(str::to_owned));
                *used = true;
            }
        }
        Some(Table {
            place: one.place,
            address: String::new(),
            fields: Fields::Toml(keys, entries),
            used,
            meant,
        })
    }

    /// A row of a sheet, whose columns are checked with the sheet.
    pub fn row(sheet: &'a PriceSheet, row: &'a Row, address: String) -> Table<'a> {
        Table {
            place: &row.place,
            address,
            fields: Fields::Row(sheet, row),
            used: Vec::new(),
            meant: Vec::new(),
        }
    }

    /// The same with an address.
    #[must_use]
    pub fn at(mut self, address: String) -> Table<'a> {
        self.address = address;
        self
    }

    /// The value of a key, which counts as used from now on.
    pub fn one(&mut self, key: &str) -> Option<One<'a>> {
        match self.fields {
            Fields::Toml(_, entries) => {
                let index = entries.iter().position(|e| e.key == key)?;
                self.used[index] = true;
                Some(One::from(&entries[index].node))
            }
            Fields::Row(sheet, row) => sheet.cell(row, key).map(One::from),
        }
    }

    /// What is declared of a key.
    fn declared(&self, key: &str) -> Option<&'static Key> {
        match self.fields {
            Fields::Toml(keys, _) => find(keys, key),
            Fields::Row(sheet, _) => sheet.declared(key),
        }
    }

    /// True if the key is there; it does not count as used by that.
    pub fn has(&self, key: &str) -> bool {
        match self.fields {
            Fields::Toml(_, entries) => entries.iter().any(|e| e.key == key),
            Fields::Row(sheet, row) => sheet.cell(row, key).is_some(),
        }
    }

    /// Where a key is written; the table where it is not.
    pub fn place_of(&self, key: &str) -> &'a Place {
        match self.fields {
            Fields::Toml(_, entries) => {
                entries.iter().find(|e| e.key == key).map_or(self.place, |e| &e.key_place)
            }
            Fields::Row(sheet, row) => sheet.cell(row, key).map_or(self.place, |c| &c.place),
        }
    }

    /// Logs every known key that nothing asked for.
    pub fn finish(self, load: &mut Load, why: &str) {
        let Fields::Toml(_, entries) = self.fields else {
            return;
        };
        for (entry, used) in entries.iter().zip(self.used) {
            if !used {
                let message = format!("`{}` has no meaning here: {why}", entry.key);
                load.error(Code::KeyUnused, &entry.key_place, message, "delete it");
            }
        }
    }

    /// Logs that a key is missing, unless it is there and was found faulty, or is probably there misspelt.
    pub fn missing(&self, load: &mut Load, key: &str, hint: &str) {
        self.lacks(load, Code::MissingKey, key, hint);
    }

    /// The same under a code of its own.
    pub fn lacks(&self, load: &mut Load, code: Code, key: &str, hint: &str) {
        // A column that is missing as a whole is one finding of its sheet.
        let lacks_column = match self.fields {
            Fields::Toml(..) => false,
            Fields::Row(sheet, _) => !sheet.has_column(key),
        };
        let misspelt = self.meant.iter().any(|meant| meant == key);
        if !self.has(key) && !lacks_column && !misspelt {
            let message = format!("`{key}` is missing");
            load.error(code, self.place, message, hint);
        }
    }

    /// The address of a key.
    pub fn address_of(&self, key: &str) -> String {
        if self.address.is_empty() { key.to_owned() } else { format!("{}.{key}", self.address) }
    }

    /// The source of a key: file, line and key.
    pub fn source_of(&self, load: &mut Load, key: &str, place: &Place) -> SourceId {
        let text = format!("{} {key}", line_of(place));
        load.source(text, Some(place))
    }

    /// A number of the declared kind; a faulty one is logged and stands in as a placeholder.
    pub fn number(&mut self, load: &mut Load, key: &str) -> Option<Slot> {
        let kind = self.number_kind(key)?;
        self.number_of(load, key, kind)
    }

    /// The same for a key that is declared with several kinds, of which something else names this one.
    pub fn number_as(&mut self, load: &mut Load, key: &str, kind: NumberKind) -> Option<Slot> {
        self.declared(key).filter(|declared| declared.takes.takes_number(kind))?;
        self.number_of(load, key, kind)
    }

    fn number_of(&mut self, load: &mut Load, key: &str, kind: NumberKind) -> Option<Slot> {
        let address = self.address_of(key);
        let (stated, typed) = (self.spread(load, key), load.typed(&address));
        let spread = match &typed {
            Some(text) => Spread::typed(stated.map_or(self.place, |s| s.likely.place), text),
            None => stated?,
        };
        let source = self.source_of(load, key, spread.likely.place);
        let found = load.log.found.len();
        let input = spread.input(load, kind, address, source);
        let slot = load.add(input);
        if load.log.found.len() > found {
            load.faulty.insert(slot);
        }
        Some(slot)
    }

    fn spread(&mut self, load: &mut Load, key: &str) -> Option<Spread<'a>> {
        if let Fields::Toml(..) = self.fields {
            return Spread::of(load, self.one(key)?);
        }
        let low = self.one(&format!("{key}_low"));
        let high = self.one(&format!("{key}_high"));
        let varies = self.one(&format!("{key}_varies"));
        let Some(likely) = self.one(key) else {
            if let Some(lone) = low.or(high) {
                let message = format!("a range without its likely value in `{key}`");
                load.error(
                    Code::LowLikelyHigh,
                    lone.place,
                    message,
                    format!("fill in `{key}` too"),
                );
            }
            return None;
        };
        Some(Spread { likely, low, high, varies })
    }

    /// A number that has a value where it is not stated: a setting, not an assumption.
    pub fn number_or(&mut self, load: &mut Load, key: &str, default: Input) -> Slot {
        match self.number(load, key) {
            Some(slot) => slot,
            None => load.add(default),
        }
    }

    /// What kind of number is declared for a key, where it is one kind.
    pub fn number_kind(&self, key: &str) -> Option<NumberKind> {
        self.declared(key)?.takes.number_kind()
    }

    /// What stands in for a number that is not stated: certain, of a dimension.
    pub fn default_of(&self, load: &mut Load, key: &str, dim: Dim, value: Exact) -> Input {
        let source = load.source(format!("default: {key}"), None);
        Input::certain(self.address_of(key), source, dim, value)
    }

    /// A price in a currency.
    pub fn price(&mut self, load: &mut Load, key: &str, currency: CurrencyId) -> Option<Price> {
        self.number(load, key).map(|value| Price { value, currency })
    }

    /// A text of any kind.
    pub fn text(&mut self, load: &mut Load, key: &str) -> Option<&'a str> {
        self.one(key)?.text(load, limits::TEXT)
    }

    /// A name.
    pub fn name(&mut self, load: &mut Load, key: &str) -> Option<&'a str> {
        self.one(key)?.name(load)
    }

    /// A truth value.
    pub fn flag(&mut self, load: &mut Load, key: &str) -> Option<bool> {
        self.one(key)?.flag(load)
    }

    /// The elements of a list; none where the key is absent.
    pub fn list(&mut self, load: &mut Load, key: &str, expected: &str) -> Vec<One<'a>> {
        self.one(key).map_or_else(Vec::new, |one| one.list(load, expected))
    }

    /// Two or three lengths above 0, such as `38 x 38 x 52 mm`, one slot each: `box.x`, `box.y`, `box.z`.
    pub fn lengths<const N: usize>(&mut self, load: &mut Load, key: &str) -> Option<[Slot; N]> {
        let one = self.one(key)?;
        let source = self.source_of(load, key, one.place);
        let read = lengths_of::<N>(load, one);
        let faulty = read.is_none();
        let values = read.unwrap_or([Exact::ONE; N]);
        let mut axis = ["x", "y", "z"].into_iter();
        Some(values.map(|value| {
            let address = format!("{}.{}", self.address_of(key), axis.next().unwrap_or_default());
            let typed = load.typed(&address);
            let typed =
                typed.map(|text| lengths_of::<1>(load, One { lit: Lit::Cell(&text), ..one }));
            let value = typed.map_or(value, |read| read.map_or(Exact::ONE, |[length]| length));
            let slot = load.add(Input::certain(address, source, Dim::Length, value));
            if faulty {
                load.faulty.insert(slot);
            }
            slot
        }))
    }
}

fn lengths_of<const N: usize>(load: &mut Load, one: One) -> Option<[Exact; N]> {
    let text = one.text(load, limits::TEXT)?;
    let read = match read_lengths(text, N) {
        Ok(read) => read,
        Err(problem) => {
            load.log.push(problem.at(one.place));
            return None;
        }
    };
    let values: Vec<Exact> = read.into_iter().map(Exact::from).collect();
    if values.iter().any(|v| *v <= Exact::ZERO) {
        let message = format!("expected lengths above 0, found `{text}`");
        load.error(Code::NotAboveZero, one.place, message, "write each length as a number above 0");
        return None;
    }
    if values.iter().any(|v| *v > Exact::from(1_000_000i64)) {
        let message = format!("`{text}` has a length above 1 km");
        load.error(Code::TooLarge, one.place, message, "check the unit");
        return None;
    }
    <[Exact; N]>::try_from(values).ok()
}
