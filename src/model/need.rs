//! What a part must be, what is preferred, and what a route gives.

use super::{Exact, SourceId};

/// A hardness or a range of it on one Shore scale (ISO 868, ASTM D2240).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hardness {
    /// The scale letters, such as `A` or `D`, upper case.
    pub scale: String,
    /// Lower end.
    pub low: Exact,
    /// Upper end.
    pub high: Exact,
}

/// What a material, a service row or a step states about the finished piece; `None` is "not stated".
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Properties {
    /// Hardness.
    pub hardness: Option<Hardness>,
    /// Colour as text; compared without regard to case.
    pub colour: Option<String>,
    /// Whether it blocks light.
    pub opaque: Option<bool>,
    /// Whether a supplier's statement on skin contact is on file. A step that gives a property clears it.
    pub skin_statement: Option<bool>,
}

/// One wanted property.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Want {
    /// Hardness inside this range.
    Hardness(Hardness),
    /// Blocks light, or lets it through.
    Opaque(bool),
    /// This colour.
    Colour(String),
    /// A supplier's statement on skin contact is on file (or must not be).
    SkinStatement(bool),
    /// Lead of at most so many business days.
    Lead(i64),
}

/// A `must` or a `prefer` of a part.
#[derive(Clone, Debug)]
pub struct Need {
    /// What is wanted.
    pub want: Want,
    /// From which iteration on (1: always).
    pub from_iteration: u32,
    /// Where it is written.
    pub source: SourceId,
}
