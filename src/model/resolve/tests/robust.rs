//! No change of a single value makes loading panic, and a scenario comes out exactly where no error was found.

use super::*;

/// Values that may be put in the place of any other.
const ODD: [&str; 16] = [
    "",
    "0",
    "-1",
    "1e9",
    "nan",
    "\"\"",
    "\"7 h\"",
    "\"5 mL\"",
    "\"130 per L\"",
    "[]",
    "[1, \"a\"]",
    "{}",
    "{ likely = 3, high = 1 }",
    "true",
    "2026-02-28",
    "99999999999999999999999999999",
];

/// Texts that may be put into any cell.
const CELLS: [&str; 9] =
    ["", "0", "-1", "1e20", "7 h", "5 kg", "130 per kg", "yes", "79228162514264337593543950335"];

/// A folder that holds the full starter.
fn starter() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = root().join("src/cli/starter/full");
    fs::create_dir(folder.path().join("pricing")).unwrap();
    for name in ["scenario.toml"].into_iter().chain(SHEETS) {
        fs::copy(from.join(name), folder.path().join(name)).unwrap();
    }
    folder
}

const SHEETS: [&str; 8] = [
    "pricing/materials.csv",
    "pricing/supplies.csv",
    "pricing/equipment.csv",
    "pricing/print_time.csv",
    "pricing/services.csv",
    "pricing/delivery.csv",
    "pricing/quotes.csv",
    "pricing/rates.csv",
];

fn consistent(loaded: &Loaded) {
    assert_eq!(loaded.scenario.is_some(), !loaded.log.has_errors(), "{:#?}", findings(loaded));
}

#[test]
fn any_value_of_a_scenario_may_be_odd() {
    let folder = starter();
    let path = folder.path().join("scenario.toml");
    let full = fs::read_to_string(&path).unwrap();
    for text in [TEN, &full, &baths::every_key()] {
        let lines: Vec<&str> = text.lines().collect();
        for (index, line) in lines.iter().enumerate() {
            let Some((key, _)) = line.split_once('=').filter(|_| !line.starts_with('#')) else {
                continue;
            };
            for odd in ODD {
                let odd_line = format!("{key}= {odd}");
                let mut changed = lines.clone();
                changed[index] = &odd_line;
                fs::write(&path, changed.join("\n")).unwrap();
                consistent(&load(folder.path(), &Overrides::default()));
            }
        }
    }
}

#[test]
fn any_cell_of_a_sheet_may_be_odd() {
    let folder = starter();
    for name in SHEETS {
        let path = folder.path().join(name);
        let text = fs::read_to_string(&path).unwrap();
        let header = text.lines().next().unwrap();
        let columns = header.split(',').count();
        for column in 0..columns {
            for odd in CELLS {
                let mut cells = vec!["x"; columns];
                cells[column] = odd;
                let row = cells.join(",");
                let blank = row.replace('x', "");
                fs::write(&path, format!("{text}{row}\n{blank}\n")).unwrap();
                consistent(&load(folder.path(), &Overrides::default()));
            }
        }
        fs::write(&path, text).unwrap();
    }
}
