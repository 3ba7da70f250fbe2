//! What a material, row, route or step states about the finished piece.

use super::context::Load;
use super::one::One;
use super::table::Table;
use crate::input::read_hardness;
use crate::model::{Exact, Hardness, Properties};

/// A hardness or a range of it, on one scale.
pub fn hardness(load: &mut Load, one: One) -> Option<Hardness> {
    let text = one.name(load)?;
    match read_hardness(text) {
        Ok(read) => Some(Hardness {
            scale: read.scale,
            low: Exact::from(read.low),
            high: Exact::from(read.high),
        }),
        Err(problem) => {
            load.log.push(problem.at(one.place));
            None
        }
    }
}

/// What a row, a route or a step's `give` states; what is absent is not stated.
pub fn properties(load: &mut Load, table: &mut Table) -> Properties {
    Properties {
        hardness: table.one("hardness").and_then(|one| hardness(load, one)),
        colour: table.name(load, "colour").map(str::to_owned),
        opaque: table.flag(load, "opaque"),
        skin_statement: table.flag(load, "skin_statement"),
    }
}

/// Stated properties put over others.
pub fn over(base: &Properties, stated: &Properties) -> Properties {
    Properties {
        hardness: stated.hardness.clone().or_else(|| base.hardness.clone()),
        colour: stated.colour.clone().or_else(|| base.colour.clone()),
        opaque: stated.opaque.or(base.opaque),
        skin_statement: stated.skin_statement.or(base.skin_statement),
    }
}
