//! The folder of price sheets: which of them are there, and whether they were read in full.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use crate::diag::{Code, Place};
use crate::input::{Row, read_date, read_file, read_sheet};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Load, PriceSheet, SPECS, SheetKind, Spec, Table, line_of};
use crate::model::{SheetRow, Validity};

#[derive(Default)]
enum State {
    #[default]
    Absent,
    Broken,
    Read(PriceSheet),
}

/// The sheets of a scenario.
#[derive(Default)]
pub struct Sheets {
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
            let Some(spec): Option<&'static Spec> = SPECS.iter().find(|s| s.file == name) else {
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
                Some(sheet) => State::Read(PriceSheet::new(load, spec, sheet)),
                None => State::Broken,
            };
        }
    }

    /// Every row of every sheet that was read, used or not: sheets by name, rows as they stand.
    pub fn rows(&self) -> Vec<SheetRow> {
        let mut specs: Vec<&Spec> = SPECS.iter().collect();
        specs.sort_by_key(|spec| spec.file);
        let read = specs.into_iter().filter_map(|spec| self.get(spec.kind));
        read.flat_map(|sheet| sheet.rows().iter().map(|row| sheet_row(sheet, row))).collect()
    }

    /// A sheet, where it was read.
    pub fn get(&self, kind: SheetKind) -> Option<&PriceSheet> {
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
    pub fn has_column(&self, kind: SheetKind, name: &str) -> bool {
        self.get(kind).is_some_and(|sheet| sheet.has_column(name))
    }

    /// True where a sheet is absent, and not merely faulty.
    pub fn is_absent(&self, kind: SheetKind) -> bool {
        !self.folder_broken && matches!(self.states[kind as usize], State::Absent)
    }

    /// Logs that a sheet is needed, if it is absent. True where it was read in full.
    pub fn need(&self, load: &mut Load, kind: SheetKind, place: &Place, why: &str) -> bool {
        let spec = &SPECS[kind as usize];
        if self.is_absent(kind) {
            let columns = spec.needed().collect::<Vec<_>>().join(", ");
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
    pub fn is_whole(&self, kind: SheetKind) -> bool {
        self.get(kind).is_some() && !self.partial[kind as usize]
    }
}

fn sheet_row(sheet: &PriceSheet, row: &Row) -> SheetRow {
    let text = |column: &str| sheet.text(row, column);
    // A bad date of a row that is used is an error of its own.
    let day = |column: &str| read_date(text(column)).ok();
    let keys = sheet.spec.found_by.iter().map(|column| text(column));
    let keys: Vec<&str> = keys.filter(|key| !key.is_empty()).collect();
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
