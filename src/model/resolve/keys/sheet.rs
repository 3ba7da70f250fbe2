//! Columns of the eight price sheets: first those of text, then those of numbers, as messages list them.
//!
//! A number that may have a spread has it in the columns `_low`, `_high` and `_varies` beside it, which are declared with it.

use super::Takes::{Any, Certain, Day, Flag, Lengths, List, Number, Text, TimeOfDay, Whole, Word};
use super::number::NumberKind as N;
use super::route::{PACK_PRICE, RATE};
use super::words::{BASES, CHARGES, CLASSES, DUTY_BASES};
use super::{Key, key, words};
use crate::model::resolve::limits;

/// Columns that every sheet may have.
pub const EVERYWHERE: &[Key] = &[
    key("currency", Text, "ISO 4217 code of the money in the row; absent: the scenario's"),
    key("valid_from", Day, "first day on which the row holds"),
    key("valid_to", Day, "last day on which the row holds"),
    key("source", Text, "where the figures come from, for you"),
    key("note", Text, "a note, for you"),
];

/// Columns of materials.csv.
pub const MATERIALS: &[Key] = &[
    key("material", Text, "name of the printing material").needed(),
    key("hardness", Text, "Shore hardness of the piece, such as \"70A\" or \"60A..80A\""),
    key("colour", Text, "colour of the piece"),
    key("opaque", Flag, "whether the piece is opaque"),
    key(
        "skin_statement",
        Flag,
        "whether the supplier's statement on skin contact is on file; no judgement of safety",
    ),
    key("pack", Number(&[N::Pack]), "content of a pack").needed(),
    key("pack_price", Number(PACK_PRICE), "price of a pack, or per unit without packs").needed(),
    key("density", Number(&[N::Density]), "density; a pack by mass needs it"),
    key("stock", Number(&[N::Amount]), "what is there at the start"),
    key("keep", Number(&[N::Share]), "share of its value that what is left over keeps"),
    key("lead", Number(&[N::Lead]), "business days until a pack is there"),
    key("delivery_cost", Number(&[N::Money]), "paid once for all packs bought at one moment"),
];

/// Columns of supplies.csv.
pub const SUPPLIES: &[Key] = &[
    key("item", Text, "name of the supply").needed(),
    key("kind", Word(const { &words(&CLASSES) }), "what it can be used as").needed(),
    key("pack", Number(&[N::Pack]), "content of a pack").needed(),
    key("pack_price", Number(PACK_PRICE), "price of a pack, or per unit without packs").needed(),
    key("density", Number(&[N::Density]), "density; a solvent or dye in packs by mass needs it"),
    key("stock", Number(&[N::Amount]), "what is there at the start"),
    key("keep", Number(&[N::Share]), "share of its value that what is left over keeps"),
    key(
        "waste_charge_per_l",
        Number(&[N::PerLitre]),
        "charged for each litre emptied out of a bath",
    ),
    key("lead", Number(&[N::Lead]), "business days until a pack is there"),
    key("delivery_cost", Number(&[N::Money]), "paid once for all packs bought at one moment"),
];

/// Columns of equipment.csv.
pub const EQUIPMENT: &[Key] = &[
    key("equipment", Text, "name of the machine").needed(),
    key(
        "charge",
        Word(const { &words(&CHARGES) }),
        "whether buying it or its wear is charged; absent: none",
    ),
    key("plate", Lengths(2), "length and width of a printer's plate; absent: no limit"),
    key("down", List(&Day), "days on which no step runs on it, with blanks between"),
    key("price", Number(&[N::Money]), "what it costs"),
    key("resale", Number(&[N::Money]), "what it sells for afterwards"),
    key("life_hours", Number(&[N::LifeHours]), "hours over which its wear is spread"),
    key("watts", Number(&[N::Watts]), "power while a step runs on it"),
    key("height", Number(&[N::Length]), "height of a printer's room; absent: no limit"),
    key("lead", Number(&[N::Lead]), "business days until a bought machine is there"),
    key("delivery_cost", Number(&[N::Money]), "paid once where it is bought"),
];

/// Columns of print_time.csv.
pub const PRINT_TIME: &[Key] = &[
    key("printer", Text, "the machine").needed(),
    key("material", Text, "the material").needed(),
    key("layer", Certain(&[N::Length]), "the layer height, matched by value").needed(),
    key("start_up", Number(&[N::Time]), "time before the first layer of a print").needed(),
    key("per_layer", Number(&[N::Time]), "time of one layer").needed(),
    key("per_volume", Number(&[N::Pace]), "time for each cm3").needed(),
];

/// Columns of services.csv.
pub const SERVICES: &[Key] = &[
    key("service", Text, "name of the service").needed(),
    key("material", Text, "its material; routes select the row by it"),
    key("finish", Text, "its finish, likewise"),
    key("speed", Text, "its speed, likewise"),
    key("basis", Word(const { &words(&BASES) }), "what `rate` is per").needed(),
    key("from_qty", Whole(1, limits::COPIES), "smallest quantity of the row; absent: 1"),
    key("cutoff", TimeOfDay, "orders placed later count from the next business day"),
    key("calendar", Text, "the `[calendar.NAME]` of the service; absent: Monday to Friday"),
    key("hardness", Text, "Shore hardness of the piece, such as \"70A\" or \"60A..80A\""),
    key("colour", Text, "colour of the piece"),
    key("opaque", Flag, "whether the piece is opaque"),
    key(
        "skin_statement",
        Flag,
        "whether the supplier's statement on skin contact is on file; no judgement of safety",
    ),
    key("max_box", Lengths(3), "largest box that the service makes"),
    key("rate", Number(RATE), "money per what `basis` names").needed(),
    key("piece_min", Number(&[N::Money]), "least price of a piece"),
    key("setup_per_part", Number(&[N::Money]), "set-up of each part in an order"),
    key("setup_per_order", Number(&[N::Money]), "set-up of an order"),
    key("finish_per_piece", Number(&[N::Money]), "finishing of each piece"),
    key("order_min", Number(&[N::Money]), "least sum of goods of an order"),
    key("lead", Number(&[N::Lead]), "business days until an order ships").needed(),
    key(
        "density",
        Number(&[N::Density]),
        "density of the material, for prices and parcels by mass",
    ),
];

/// Columns of delivery.csv.
pub const DELIVERY: &[Key] = &[
    key("service", Text, "the service").needed(),
    key("delivery", Text, "name of the delivery level").needed(),
    key("arrives", TimeOfDay, "time of day at which a parcel arrives; absent: 12:00"),
    key("calendar", Text, "the `[calendar.NAME]` of the carrier; absent: Monday to Friday"),
    key("base", Number(&[N::Money]), "price of a parcel without its mass").needed(),
    key("per_kg", Number(&[N::PerKg]), "price of a parcel for each kg"),
    key("divisor", Number(&[N::Divisor]), "volume of a parcel that counts as a kilogram"),
    key("mass_step", Number(&[N::MassStep]), "the mass of a parcel is rounded up to this"),
    key("transit", Number(&[N::Days]), "carrier's business days on the way; absent: 0"),
];

/// Columns of quotes.csv.
pub const QUOTES: &[Key] = &[
    key("service", Text, "the service").needed(),
    key("material", Text, "its material; routes select the quotation by it"),
    key("finish", Text, "its finish, likewise"),
    key("speed", Text, "its speed, likewise"),
    key("part", Text, "the part it is for").needed(),
    key("qty", Whole(1, limits::COPIES), "copies from which on it holds").needed(),
    key("reference", Text, "number of the quotation, for you"),
    key("unit_price", Number(&[N::Money]), "price of one piece").needed(),
    key("lead", Number(&[N::Lead]), "business days until it ships; absent: the price row's"),
];

/// Columns of rates.csv.
pub const RATES: &[Key] = &[
    key("rate", Text, "name of the rate").needed(),
    key("unit", Text, "unit of the value, such as per kWh"),
    key("service", Text, "the service it is for; absent: all"),
    key(
        "value",
        Any(&[
            Number(&[N::Electricity, N::Share, N::Money, N::Factor]),
            Word(const { &words(&DUTY_BASES) }),
            Flag,
        ]),
        "the rate: a number, for some rates a word",
    )
    .needed(),
];
