//! What a part must be, and what is liked: `must` and `prefer`.

use crate::model::resolve::keys::{LATER, WANTS};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Lit, Load, One, Table, hardness};
use crate::model::{Need, Want};

/// Reads `must` or `prefer` of a part.
pub fn needs(load: &mut Load, part: &mut Table, key: &str) -> Vec<Need> {
    let Some(mut table) =
        part.one(key).and_then(|one| Table::new(load, one, WANTS, &format!("`{key}`")))
    else {
        return Vec::new();
    };
    WANTS.iter().filter_map(|want| need(load, &mut table, want.name)).collect()
}

fn need(load: &mut Load, table: &mut Table, key: &str) -> Option<Need> {
    let one = table.one(key)?;
    let source = table.source_of(load, key, one.place);
    let (value, from_iteration) = match one.lit {
        Lit::Table(_) => {
            let mut later = Table::new(load, one, LATER, &format!("`{key}`"))?;
            let from = later.one("from_iteration").and_then(|o| o.whole(load, 1, limits::HORIZON));
            let value = later.one("is").or_else(|| is_true(key, one));
            if value.is_none() {
                later.missing(
                    load,
                    "is",
                    "state what it must be: `{ is = ..., from_iteration = 4 }`",
                );
            }
            (value?, from.map_or(1, |n| u32::try_from(n).unwrap_or(1)))
        }
        _ => (one, 1),
    };
    let want = match key {
        "hardness" => Want::Hardness(hardness(load, value)?),
        "opaque" => Want::Opaque(value.flag(load)?),
        "colour" => Want::Colour(value.name(load)?.to_owned()),
        "skin_statement" => Want::SkinStatement(value.flag(load)?),
        _ => Want::Lead(value.whole(load, 0, limits::LEAD_DAYS)?),
    };
    Some(Need { want, from_iteration, source })
}

/// `opaque = { from_iteration = 4 }` means that it must be opaque from then on.
fn is_true<'a>(key: &str, one: One<'a>) -> Option<One<'a>> {
    matches!(key, "opaque" | "skin_statement")
        .then_some(One { place: one.place, lit: Lit::Bool(true) })
}
