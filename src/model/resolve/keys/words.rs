//! Words that may stand for a key or in a column, and what each of them means.

use crate::mesh::MeshUnit;
use crate::model::{Basis, Charge, ItemClass, Per, Up, Varies};

/// Made in-house, or bought.
#[derive(Clone, Copy)]
pub enum RouteWord {
    /// Made in-house.
    Bench,
    /// Bought.
    Order,
}

/// Words of `kind` of a route.
pub const ROUTE_WORDS: [(&str, RouteWord); 2] =
    [("bench", RouteWord::Bench), ("order", RouteWord::Order)];

/// Wash or dye.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum BathWord {
    /// Collects resin.
    Wash,
    /// Colours.
    Dye,
}

/// Words of `kind` of a bath.
pub const BATH_WORDS: [(&str, BathWord); 2] = [("wash", BathWord::Wash), ("dye", BathWord::Dye)];

/// Shape of a tub.
#[derive(Clone, Copy)]
pub enum Shape {
    /// With a length and a width.
    Box,
    /// With a diameter.
    Round,
}

/// Words of `shape`.
pub const SHAPES: [(&str, Shape); 2] = [("box", Shape::Box), ("round", Shape::Round)];

/// A piece immersed as a whole.
pub const FULL: &str = "full";

/// Words of `up` and `pose`.
pub const UPS: [(&str, Up); 7] = [
    ("x", Up::Axis { axis: 0, down: false }),
    ("y", Up::Axis { axis: 1, down: false }),
    ("z", Up::Z),
    ("-x", Up::Axis { axis: 0, down: true }),
    ("-y", Up::Axis { axis: 1, down: true }),
    ("-z", Up::Axis { axis: 2, down: true }),
    ("shortest", Up::Shortest),
];

/// Words for `mesh_unit` and what each is in mm; the same numbers the 3MF reader has for its units.
pub const UNITS: [(&str, f64); 5] = [
    stated(MeshUnit::Mm),
    stated(MeshUnit::Cm),
    stated(MeshUnit::M),
    stated(MeshUnit::In),
    stated(MeshUnit::Um),
];

const fn stated(unit: MeshUnit) -> (&'static str, f64) {
    (unit.name(), unit.mm())
}

/// Words of `varies`.
pub const VARIES: [(&str, Varies); 2] = [("once", Varies::Once), ("each", Varies::Each)];

/// Words of `per` where the attended time of a step is counted: true for each piece.
pub const PER_PIECE: [(&str, bool); 2] = [("piece", true), ("build", false)];

/// A hold that ends at the next opening.
pub const OVERNIGHT: &str = "overnight";

/// Words of `per` where supplies of a route are counted.
pub const PERS: [(&str, Per); 7] = [
    ("build", Per::Build),
    ("piece", Per::Piece),
    ("attempt", Per::Attempt),
    ("print hour", Per::PrintHour),
    ("layer", Per::Layer),
    ("litre of resin", Per::LitreOfResin),
    ("design", Per::Design),
];

/// Words of `basis`.
pub const BASES: [(&str, Basis); 5] = [
    ("piece", Basis::Piece),
    ("part_volume", Basis::PartVolume),
    ("box_volume", Basis::BoxVolume),
    ("area", Basis::Area),
    ("mass", Basis::Mass),
];

/// Words of the column `kind` of supplies.csv.
pub const CLASSES: [(&str, ItemClass); 3] =
    [("solvent", ItemClass::Solvent), ("dye", ItemClass::Dye), ("supply", ItemClass::Supply)];

/// Words of the column `charge`.
pub const CHARGES: [(&str, Charge); 3] =
    [("buy", Charge::Buy), ("wear", Charge::Wear), ("none", Charge::None)];

/// What duty is a share of: true with the delivery.
pub const DUTY_BASES: [(&str, bool); 2] = [("goods", false), ("goods and delivery", true)];

/// What can be said of a print run in a record: true where it is good.
pub const RESULTS: [(&str, bool); 2] = [("good", true), ("failed", false)];
