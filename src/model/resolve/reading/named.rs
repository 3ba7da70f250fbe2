//! Lists of tables that bear names, such as `[[part]]`.

use super::context::Load;
use super::table::Table;
use crate::diag::Code;
use crate::model::resolve::keys::Key;

/// A table with its name.
pub struct Named<'a> {
    /// The name.
    pub name: &'a str,
    /// The table.
    pub table: Table<'a>,
}

/// The tables of a list such as `[[part]]`, by name; the order in the file never matters. Names that are missing or there twice are
/// logged.
pub fn named<'a>(
    load: &mut Load,
    top: &mut Table<'a>,
    key: &str,
    known: &'static [Key],
    most: usize,
) -> Vec<Named<'a>> {
    let what = format!("a `[[{key}]]`");
    let ones = top.list(load, key, &format!("tables such as `[[{key}]]`"));
    if ones.len() > most {
        let message = format!("more than {most} of `[[{key}]]`");
        load.error(Code::TooMany, top.place_of(key), message, "split the scenario");
    }
    let mut result: Vec<Named> = Vec::new();
    for one in ones.into_iter().take(most) {
        let Some(mut table) = Table::new(load, one, known, &what) else {
            continue;
        };
        let Some(name) = table.name(load, "name") else {
            table.missing(load, "name", "give it a name");
            continue;
        };
        if let Some(first) = result.iter().find(|n| n.name == name) {
            load.duplicate(
                &format!("{key}s"),
                name,
                table.place_of("name"),
                first.table.place_of("name"),
            );
            continue;
        }
        let address = format!("{key}[{name}]");
        result.push(Named { name, table: table.at(address) });
    }
    result.sort_by(|a, b| a.name.cmp(b.name));
    result
}
