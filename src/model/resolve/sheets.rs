//! The folder of price sheets: which files are there, and whether their columns are known.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use super::context::{Load, line_of};
use super::limits;
use super::table::Table;
use crate::diag::{Code, Place, did_you_mean_or_list, nearest};
use crate::input::{Cell, Row, Sheet, read_date, read_file, read_sheet};
use crate::model::{SheetRow, Validity};

/// The eight sheets.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
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
struct Spec {
    kind: Kind,
    file: &'static str,
    /// The columns by which a row is found.
    keys: &'static [&'static str],
    required: &'static [&'static str],
    texts: &'static [&'static str],
    numbers: &'static [&'static str],
}

const SPECS: [Spec; 8] = [
    Spec {
        kind: Kind::Materials,
        file: "materials.csv",
        keys: &["material"],
        required: &["material", "pack", "pack_price"],
        texts: &["material", "hardness", "colour", "opaque", "skin_statement"],
        numbers: &["pack", "pack_price", "density", "stock", "keep", "lead", "delivery_cost"],
    },
    Spec {
        kind: Kind::Supplies,
        file: "supplies.csv",
        keys: &["item"],
        required: &["item", "kind", "pack", "pack_price"],
        texts: &["item", "kind"],
        numbers: &[
            "pack",
            "pack_price",
            "density",
            "stock",
            "keep",
            "waste_charge_per_l",
            "lead",
            "delivery_cost",
        ],
    },
    Spec {
        kind: Kind::Equipment,
        file: "equipment.csv",
        keys: &["equipment"],
        required: &["equipment"],
        texts: &["equipment", "charge", "plate", "down"],
        numbers: &["price", "resale", "life_hours", "watts", "height", "lead", "delivery_cost"],
    },
    Spec {
        kind: Kind::PrintTime,
        file: "print_time.csv",
        keys: &["printer", "material", "layer"],
        required: &["printer", "material", "layer", "start_up", "per_layer", "per_volume"],
        texts: &["printer", "material", "layer"],
        numbers: &["start_up", "per_layer", "per_volume"],
    },
    Spec {
        kind: Kind::Services,
        file: "services.csv",
        keys: &["service", "material", "finish", "speed", "from_qty"],
        required: &["service", "basis", "rate", "lead"],
        texts: &[
            "service",
            "material",
            "finish",
            "speed",
            "basis",
            "from_qty",
            "cutoff",
            "calendar",
            "hardness",
            "colour",
            "opaque",
            "skin_statement",
            "max_box",
        ],
        numbers: &[
            "rate",
            "piece_min",
            "setup_per_part",
            "setup_per_order",
            "finish_per_piece",
            "order_min",
            "lead",
            "density",
        ],
    },
    Spec {
        kind: Kind::Delivery,
        file: "delivery.csv",
        keys: &["service", "delivery"],
        required: &["service", "delivery", "base"],
        texts: &["service", "delivery", "arrives", "calendar"],
        numbers: &["base", "per_kg", "divisor", "mass_step", "transit"],
    },
    Spec {
        kind: Kind::Quotes,
        file: "quotes.csv",
        keys: &["service", "material", "finish", "speed", "part", "qty"],
        required: &["service", "part", "qty", "unit_price"],
        texts: &["service", "material", "finish", "speed", "part", "qty", "reference"],
        numbers: &["unit_price", "lead"],
    },
    Spec {
        kind: Kind::Rates,
        file: "rates.csv",
        keys: &["rate", "service"],
        required: &["rate", "value"],
        texts: &["rate", "unit", "service"],
        numbers: &["value"],
    },
];

/// Columns every sheet may have.
const EVERYWHERE: [&str; 5] = ["currency", "valid_from", "valid_to", "source", "note"];

#[derive(Default)]
enum State {
    #[default]
    Absent,
    Broken,
    Read(Sheet),
}

/// The sheets of a scenario.
#[derive(Default)]
pub(super) struct Sheets {
    folder_named: bool,
    folder_broken: bool,
    states: [State; 8],
    /// Sheets that were read with findings about their form: rows may be missing.
    partial: [bool; 8],
}

impl Sheets {
    /// Reads the folder that `pricing` names, as seen from the scenario's folder.
    pub fn read(load: &mut Load, top: &mut Table, base: &Path) -> Sheets {
        let mut sheets = Sheets::default();
        let Some(one) = top.one("pricing") else {
            return sheets;
        };
        sheets.folder_named = true;
        let Some(text) = one.text(load, limits::TEXT) else {
            sheets.folder_broken = true;
            return sheets;
        };
        let folder = base.join(text);
        match file_names(&folder) {
            Ok(names) => sheets.read_all(load, one.place, &folder, &names),
            Err((code, message)) => {
                sheets.folder_broken = true;
                let hint = "`pricing` names the folder of the price sheets, as seen from the scenario's folder";
                load.error(code, one.place, format!("`{text}` {message}"), hint);
            }
        }
        sheets
    }

    fn read_all(&mut self, load: &mut Load, place: &Place, folder: &Path, names: &[String]) {
        for name in names {
            let Some(spec) = SPECS.iter().find(|s| s.file == name) else {
                if name != "record.csv" {
                    let known = SPECS.map(|s| s.file);
                    load.unknown_name(Code::UnknownName, place, "price sheet", (name, &known));
                }
                continue;
            };
            let found = load.log.found.len();
            let sheet = read_file(&folder.join(name), &mut load.log)
                .and_then(|f| read_sheet(&f, &mut load.log));
            self.partial[spec.kind as usize] = load.log.found.len() > found;
            self.states[spec.kind as usize] = match sheet {
                Some(sheet) => {
                    check_columns(load, spec, &sheet);
                    State::Read(sheet)
                }
                None => State::Broken,
            };
        }
    }

    /// Every row of every sheet that was read, used or not: sheets by name, rows as they stand.
    pub fn rows(&self) -> Vec<SheetRow> {
        let mut specs: Vec<&Spec> = SPECS.iter().collect();
        specs.sort_by_key(|spec| spec.file);
        let read = specs.into_iter().filter_map(|spec| Some((spec, self.get(spec.kind)?)));
        read.flat_map(|(spec, sheet)| sheet.rows.iter().map(move |row| sheet_row(spec, sheet, row)))
            .collect()
    }

    /// A sheet, where it was read.
    pub fn get(&self, kind: Kind) -> Option<&Sheet> {
        match &self.states[kind as usize] {
            State::Read(sheet) => Some(sheet),
            State::Absent | State::Broken => None,
        }
    }

    /// True where the scenario names a folder of price sheets, whatever is in it.
    pub fn has_folder(&self) -> bool {
        self.folder_named
    }

    /// True where a sheet was read and has a column.
    pub fn has_column(&self, kind: Kind, name: &str) -> bool {
        self.get(kind).is_some_and(|sheet| sheet.column(name).is_some())
    }

    /// True where a sheet is absent, and not merely faulty.
    pub fn is_absent(&self, kind: Kind) -> bool {
        !self.folder_broken && matches!(self.states[kind as usize], State::Absent)
    }

    /// Logs that a sheet is needed, if it is absent. True where it was read in full.
    pub fn need(&self, load: &mut Load, kind: Kind, place: &Place, why: &str) -> bool {
        let spec = &SPECS[kind as usize];
        if self.is_absent(kind) {
            let columns = spec.required.join(", ");
            let hint = if self.folder_named {
                format!(
                    "add {} to the folder of the price sheets, with the columns {columns}",
                    spec.file
                )
            } else {
                format!(
                    "name a folder with `pricing = \"pricing\"` and add {} with the columns {columns}",
                    spec.file
                )
            };
            let message = format!("{} is needed {why} and is not there", spec.file);
            load.error(Code::SheetMissing, place, message, hint);
        }
        self.is_whole(kind)
    }

    /// True where a sheet was read in full, so that a name that is not in it is really missing.
    pub fn is_whole(&self, kind: Kind) -> bool {
        self.get(kind).is_some() && !self.partial[kind as usize]
    }
}

fn sheet_row(spec: &Spec, sheet: &Sheet, row: &Row) -> SheetRow {
    let text = |column: &str| sheet.cell(row, column).map_or("", |cell| cell.text.as_str());
    // A bad date of a row that is used is an error of its own.
    let day = |column: &str| read_date(text(column)).ok();
    let keys: Vec<&str> = spec.keys.iter().map(|k| text(k)).filter(|k| !k.is_empty()).collect();
    SheetRow {
        line: line_of(&row.place),
        name: keys.join(", "),
        valid: Validity { from: day("valid_from"), to: day("valid_to") },
        said: text("source").to_owned(),
    }
}

/// Names of the sheets in a folder, in order; a message where there is no such folder.
fn file_names(folder: &Path) -> Result<Vec<String>, (Code, &'static str)> {
    if folder.is_file() {
        return Err((Code::FileMissing, "is a file, expected a folder"));
    }
    let entries = fs::read_dir(folder).map_err(|error| match error.kind() {
        ErrorKind::NotFound => (Code::FileMissing, "does not exist"),
        ErrorKind::PermissionDenied => (Code::FileUnreadable, "cannot be read: permission denied"),
        _ => (Code::FileUnreadable, "cannot be read as a folder"),
    })?;
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter(|name| name.to_lowercase().ends_with(".csv") && !name.starts_with('.'))
        .collect();
    names.sort();
    Ok(names)
}

fn check_columns(load: &mut Load, spec: &Spec, sheet: &Sheet) {
    // Column names that cannot be told apart are one finding of the reader already.
    let unreadable = |column: &Cell| column.text.is_empty() || column.text.contains('\t');
    let mut meant: Vec<&str> = Vec::new();
    for column in sheet.columns.iter().filter(|c| !unreadable(c)) {
        if !is_known(spec, &column.text) {
            let message = format!("{} has no column `{}`", spec.file, column.text);
            let names: Vec<&str> =
                spec.texts.iter().chain(spec.numbers).chain(&EVERYWHERE).copied().collect();
            meant.extend(nearest(&column.text, names.iter().copied()));
            load.error(
                Code::UnknownColumn,
                &column.place,
                message,
                did_you_mean_or_list(&column.text, &names),
            );
        }
    }
    // A column that is probably there misspelt is found already.
    for name in spec.required.iter().filter(|name| !meant.contains(name)) {
        if !sheet.columns.iter().any(|c| c.text == *name || unreadable(c)) {
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
    let hint = format!(
        "its columns are {}",
        spec.texts.iter().chain(spec.numbers).copied().collect::<Vec<_>>().join(", ")
    );
    load.error(Code::MissingColumn, &first.place, message, hint);
}

fn is_known(spec: &Spec, column: &str) -> bool {
    let companion = ["_low", "_high", "_varies"].iter().filter_map(|end| column.strip_suffix(end));
    EVERYWHERE.contains(&column)
        || spec.texts.contains(&column)
        || spec.numbers.contains(&column)
        || companion.into_iter().any(|name| spec.numbers.contains(&name))
}
