//! A price sheet: which columns it is declared to have, the check of those it has, and its cells, in declared columns alone.

use super::context::Load;
use crate::diag::{Code, did_you_mean_or_list, nearest};
use crate::input::{Cell, Row, Sheet};
use crate::model::resolve::keys::{
    DELIVERY, EQUIPMENT, EVERYWHERE, Key, MATERIALS, PRINT_TIME, QUOTES, RATES, SERVICES, SUPPLIES,
    find, names,
};
use crate::model::resolve::limits;

/// The eight sheets.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SheetKind {
    /// Printing materials.
    Materials,
    /// Consumables.
    Supplies,
    /// Machines.
    Equipment,
    /// Print-time coefficients.
    PrintTime,
    /// Price rows of services.
    Services,
    /// Delivery levels.
    Delivery,
    /// Quotations.
    Quotes,
    /// Named rates.
    Rates,
}

/// What a sheet is called and which columns it has.
#[derive(Debug)]
pub struct Spec {
    /// Which of the eight it is.
    pub kind: SheetKind,
    /// The name of its file.
    pub file: &'static str,
    /// The columns by which a row is found.
    pub found_by: &'static [&'static str],
    /// Its columns, beside those that every sheet may have.
    pub columns: &'static [Key],
}

/// The eight, in the order of [`SheetKind`].
pub const SPECS: [Spec; 8] = [
    Spec {
        kind: SheetKind::Materials,
        file: "materials.csv",
        found_by: &["material"],
        columns: MATERIALS,
    },
    Spec {
        kind: SheetKind::Supplies,
        file: "supplies.csv",
        found_by: &["item"],
        columns: SUPPLIES,
    },
    Spec {
        kind: SheetKind::Equipment,
        file: "equipment.csv",
        found_by: &["equipment"],
        columns: EQUIPMENT,
    },
    Spec {
        kind: SheetKind::PrintTime,
        file: "print_time.csv",
        found_by: &["printer", "material", "layer"],
        columns: PRINT_TIME,
    },
    Spec {
        kind: SheetKind::Services,
        file: "services.csv",
        found_by: &["service", "material", "finish", "speed", "from_qty"],
        columns: SERVICES,
    },
    Spec {
        kind: SheetKind::Delivery,
        file: "delivery.csv",
        found_by: &["service", "delivery"],
        columns: DELIVERY,
    },
    Spec {
        kind: SheetKind::Quotes,
        file: "quotes.csv",
        found_by: &["service", "material", "finish", "speed", "part", "qty"],
        columns: QUOTES,
    },
    Spec {
        kind: SheetKind::Rates,
        file: "rates.csv",
        found_by: &["rate", "service"],
        columns: RATES,
    },
];

impl Spec {
    /// The declaration of a column.
    fn declared(&self, column: &str) -> Option<&'static Key> {
        find(self.columns, column).or_else(|| find(EVERYWHERE, column))
    }

    /// True for a declared column, and for one with the spread of a declared number.
    fn is_known(&self, column: &str) -> bool {
        let mut ends = ["_low", "_high", "_varies"].iter();
        self.declared(column).is_some()
            || ends.any(|end| {
                let number = column.strip_suffix(end).and_then(|name| find(self.columns, name));
                number.is_some_and(|key| key.takes.has_spread())
            })
    }

    /// The names of its own columns that must be there.
    pub fn needed(&self) -> impl Iterator<Item = &'static str> {
        self.columns.iter().filter(|key| key.needed).map(|key| key.name)
    }
}

/// A sheet as read. Nothing but its declared columns can be seen of it.
pub struct PriceSheet {
    /// What it is declared to be.
    pub spec: &'static Spec,
    sheet: Sheet,
    /// Which of its columns are declared.
    known: Vec<bool>,
}

impl PriceSheet {
    /// Takes a sheet; columns that are not declared, and declared ones that must be there and are not, are logged.
    pub fn new(load: &mut Load, spec: &'static Spec, sheet: Sheet) -> PriceSheet {
        check_columns(load, spec, &sheet);
        let known = sheet.columns.iter().map(|column| spec.is_known(&column.text)).collect();
        PriceSheet { spec, sheet, known }
    }

    /// Its rows as they stand.
    pub fn rows(&self) -> &[Row] {
        &self.sheet.rows
    }

    /// The declaration of a column.
    pub fn declared(&self, column: &str) -> Option<&'static Key> {
        self.spec.declared(column)
    }

    /// True where it has a declared column.
    pub fn has_column(&self, column: &str) -> bool {
        self.index(column).is_some()
    }

    /// The cell of a row in a declared column; `None` where it is empty.
    pub fn cell<'a>(&self, row: &'a Row, column: &str) -> Option<&'a Cell> {
        row.cells.get(self.index(column)?).filter(|cell| !cell.text.is_empty())
    }

    /// The text of that cell.
    pub fn text<'a>(&self, row: &'a Row, column: &str) -> &'a str {
        self.cell(row, column).map_or("", |cell| cell.text.as_str())
    }

    fn index(&self, column: &str) -> Option<usize> {
        let index = self.sheet.columns.iter().position(|c| c.text == column)?;
        self.known.get(index).is_some_and(|known| *known).then_some(index)
    }
}

fn check_columns(load: &mut Load, spec: &Spec, sheet: &Sheet) {
    // Column names that cannot be told apart are one finding of the reader already.
    let unreadable = |column: &Cell| column.text.is_empty() || column.text.contains('\t');
    let mut meant: Vec<&str> = Vec::new();
    for column in sheet.columns.iter().filter(|c| !unreadable(c)) {
        if !spec.is_known(&column.text) {
            let message = format!("{} has no column `{}`", spec.file, column.text);
            let mut all = names(spec.columns);
            all.extend(names(EVERYWHERE));
            meant.extend(nearest(&column.text, all.iter().copied()));
            let hint = did_you_mean_or_list(&column.text, &all);
            load.error(Code::UnknownColumn, &column.place, message, hint);
        }
    }
    // A column that is probably there misspelt is found already.
    for name in spec.needed().filter(|name| !meant.contains(name)) {
        if !sheet.columns.iter().any(|c| c.text == name || unreadable(c)) {
            missing_column(load, spec, sheet, name);
        }
    }
    if sheet.rows.len() > limits::ROWS
        && let Some(row) = sheet.rows.get(limits::ROWS)
    {
        let message = format!("{} has more than {} rows", spec.file, limits::ROWS);
        load.error(Code::TooMany, &row.place, message, "take out rows that are not used");
    }
}

fn missing_column(load: &mut Load, spec: &Spec, sheet: &Sheet, name: &str) {
    let Some(first) = sheet.columns.first() else {
        return;
    };
    let message = format!("{} lacks the column `{name}`", spec.file);
    let hint = format!("its columns are {}", names(spec.columns).join(", "));
    load.error(Code::MissingColumn, &first.place, message, hint);
}
