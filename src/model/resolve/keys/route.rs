//! Keys of routes, their steps and what they consume.

use super::Takes::{Any, Day, Flag, Lengths, List, Number, Table, Text, TimeOfDay, Word};
use super::number::NumberKind as N;
use super::words::{BASES, OVERNIGHT, PER_PIECE, PERS, ROUTE_WORDS, UPS};
use super::{Key, Takes, key, words};
use crate::input::UnitKind as U;

const BENCH: &str = "bench";
const ORDER: &str = "order";

/// Money per unit of a material or supply, where the text names the unit.
const PER_UNIT: &[N] = &[
    N::RateOf(U::Volume),
    N::RateOf(U::Mass),
    N::RateOf(U::Area),
    N::RateOf(U::Length),
    N::RateOf(U::Pieces),
];
/// A pack's price, or one per unit.
pub(super) const PACK_PRICE: &[N] = &[
    N::Money,
    N::RateOf(U::Volume),
    N::RateOf(U::Mass),
    N::RateOf(U::Area),
    N::RateOf(U::Length),
    N::RateOf(U::Pieces),
];
/// Money per what `basis` names.
pub(super) const RATE: &[N] =
    &[N::PriceOf(U::Pieces), N::PriceOf(U::Volume), N::PriceOf(U::Area), N::PriceOf(U::Mass)];
/// Which axis points up.
const UP: Takes = Word(const { &words(&UPS) });

/// Keys of a `[[route]]`: its own, then the columns of materials.csv, print_time.csv, services.csv and delivery.csv.
pub const ROUTE: &[Key] = &[
    key("name", Text, "name of the route").needed(),
    key("kind", Word(const { &words(&ROUTE_WORDS) }), "made in-house, or bought").needed(),
    key("for", List(&Text), "parts it is meant for; absent: all"),
    key("closed", Text, "the reason why it is closed; it is ruled out with that reason"),
    key("printer", Text, "a machine that prints one build at a time").only(BENCH),
    key("material", Text, "a row of materials.csv, or of the service's rows in services.csv"),
    key(
        "layer",
        Number(&[N::Length]),
        "layer height; with printer and material it finds the row of print_time.csv",
    )
    .only(BENCH),
    key("up", UP, "the axis of the part that points up in the printer; absent: z").only(BENCH),
    key(
        "supports",
        Number(&[N::Share]),
        "volume of supports as a share of the part's; absent: assumed",
    )
    .only(BENCH),
    key("gap", Number(&[N::Gap]), "room kept beside each piece on the plate; absent: 0")
        .only(BENCH),
    key("stand_off", Number(&[N::Gap]), "height of the supports under the part; absent: 0")
        .only(BENCH),
    key("per_build_loss", Number(&[N::Loss]), "resin lost in each print; absent: assumed")
        .only(BENCH),
    key(
        "support_area",
        Number(&[N::Share]),
        "surface of the supports as a share of the part's; absent: assumed where a wash needs it",
    )
    .only(BENCH),
    key("buy_first", Number(&[N::Money]), "money spent once, when the route is used first"),
    key(
        "works",
        Number(&[N::Share]),
        "chance that the technique works at all; needs `fallback`; absent: it is proven",
    ),
    key("fallback", Text, "the proven route that takes its place if it does not work"),
    key(
        "trial",
        Table(TRIAL),
        "a part of which one piece can be made first, to see whether the technique works",
    ),
    key("consumes", List(&Table(CONSUME)), "supplies, drawn with the route's first step"),
    key("steps", List(&Table(STEP)), "what is done at the bench; on an order route, after arrival"),
    key(
        "resin",
        Number(PER_UNIT),
        "price of the resin itself, no bottle to buy; in place of `material`",
    )
    .only(BENCH),
    key("print_time", Number(&[N::Time]), "time of one print; absent: from print_time.csv")
        .only(BENCH),
    key(
        "attended",
        Number(&[N::Attended]),
        "short form, in place of `steps`: your time for one print",
    )
    .only(BENCH),
    key(
        "spoil",
        Number(&[N::Failure]),
        "short form: chance that a print fails and is started again; absent: assumed",
    )
    .only(BENCH),
    key("wash_solvent", Number(&[N::Loss]), "short form: solvent for one print; absent: assumed")
        .only(BENCH),
    key(
        "other_time",
        Number(&[N::Time]),
        "short form: washing, drying, curing that nobody attends; absent: assumed",
    )
    .only(BENCH),
    key("piece", Number(&[N::Money]), "price of one piece; stands before sheet and quotation")
        .only(ORDER),
    key("delivery_cost", Number(&[N::Money]), "fixed price of one delivery"),
    key(
        "arrives_after",
        Number(&[N::Lead]),
        "business days from placing to arrival, in place of `lead` and `delivery`",
    )
    .only(ORDER),
    key("service", Text, "selects rows of services.csv and quotes.csv").only(ORDER),
    key("finish", Text, "selects rows of services.csv and quotes.csv").only(ORDER),
    key("speed", Text, "selects rows of services.csv and quotes.csv").only(ORDER),
    key("delivery", Text, "selects the row of delivery.csv; absent: the service's only level")
        .only(ORDER),
    key("order_time", Number(&[N::Attended]), "your time for one order; absent: assumed")
        .only(ORDER),
    key(
        "brief",
        Number(&[N::Attended]),
        "your time to explain each part, in each iteration; absent: none",
    )
    .only(ORDER),
    key("reject", Number(&[N::Failure]), "chance that a lot is wrong and replaced free; absent: 0")
        .only(ORDER),
    key(
        "misread",
        Number(&[N::Failure]),
        "chance that a lot is wrong and you pay again; absent: 0",
    )
    .only(ORDER),
    key("currency", Text, "ISO 4217 code of the money on this route; absent: the scenario's"),
    key("valid_from", Day, "first day on which the prices of this route hold"),
    key("valid_to", Day, "last day on which the prices of this route hold"),
    key("source", Text, "where the figures come from, for you"),
    key("note", Text, "a note, for you"),
    key("pack", Number(&[N::Pack]), "content of a pack of material").only(BENCH),
    key("pack_price", Number(PACK_PRICE), "price of a pack of material, or per unit without packs")
        .only(BENCH),
    key("density", Number(&[N::Density]), "density of the material"),
    key("hardness", Text, "Shore hardness of the piece, such as \"70A\" or \"60A..80A\""),
    key("colour", Text, "colour of the piece"),
    key("opaque", Flag, "whether the piece is opaque"),
    key(
        "skin_statement",
        Flag,
        "whether the supplier's statement on skin contact is on file; no judgement of safety",
    ),
    key("stock", Number(&[N::Amount]), "material that is there at the start").only(BENCH),
    key("keep", Number(&[N::Share]), "share of its value that material left over keeps")
        .only(BENCH),
    key(
        "lead",
        Number(&[N::Lead]),
        "business days until an order ships, or until a pack of material is there",
    ),
    key("start_up", Number(&[N::Time]), "time before the first layer of a print").only(BENCH),
    key("per_layer", Number(&[N::Time]), "time of one layer of a print").only(BENCH),
    key("per_volume", Number(&[N::Pace]), "time of a print for each cm3").only(BENCH),
    key("basis", Word(const { &words(&BASES) }), "what `rate` is per; absent: piece").only(ORDER),
    key("rate", Number(RATE), "money per what `basis` names").only(ORDER),
    key("piece_min", Number(&[N::Money]), "least price of a piece").only(ORDER),
    key("setup_per_part", Number(&[N::Money]), "set-up of each part in an order").only(ORDER),
    key("setup_per_order", Number(&[N::Money]), "set-up of an order").only(ORDER),
    key("finish_per_piece", Number(&[N::Money]), "finishing of each piece").only(ORDER),
    key("order_min", Number(&[N::Money]), "least sum of goods of an order").only(ORDER),
    key("cutoff", TimeOfDay, "orders placed later count from the next business day").only(ORDER),
    key("calendar", Text, "the `[calendar.NAME]` of service and carrier; absent: Monday to Friday")
        .only(ORDER),
    key("max_box", Lengths(3), "largest box that the service makes").only(ORDER),
    key("base", Number(&[N::Money]), "price of a parcel without its mass").only(ORDER),
    key("per_kg", Number(&[N::PerKg]), "price of a parcel for each kg").only(ORDER),
    key("divisor", Number(&[N::Divisor]), "volume of a parcel that counts as a kilogram")
        .only(ORDER),
    key("mass_step", Number(&[N::MassStep]), "the mass of a parcel is rounded up to this")
        .only(ORDER),
    key("transit", Number(&[N::Days]), "carrier's business days on the way").only(ORDER),
    key("arrives", TimeOfDay, "time of day at which a parcel arrives").only(ORDER),
];

/// Keys of a step.
pub const STEP: &[Key] = &[
    key(
        "do",
        Text,
        "what is done; `print` is the first step of a route with a printer, and of no other",
    )
    .needed(),
    key(
        "attended",
        Number(&[N::Attended]),
        "time in which somebody is busy; must fit one span of open hours",
    ),
    key(
        "first_time",
        Number(&[N::Attended]),
        "added once, to the first build that starts the step",
    ),
    key(
        "per",
        Word(const { &words(&PER_PIECE) }),
        "piece: attended time for each piece; absent: build",
    ),
    key(
        "hold",
        Any(&[Word(&[OVERNIGHT]), Number(&[N::Time])]),
        "goes on alone, day and night; overnight ends at the next opening",
    ),
    key("at", Text, "equipment that the step occupies"),
    key("bath", Text, "the `[[bath]]` that the pieces go into"),
    key("pose", UP, "which axis points up in a dye bath; absent: the route's `up`"),
    key("consumes", List(&Table(CONSUME)), "supplies of this step"),
    key("give", Table(GIVE), "what the piece becomes"),
    key("spoil", Number(&[N::Failure]), "chance that the step ruins the build; absent: 0"),
    key(
        "spent_share",
        Number(&[N::Share]),
        "how much of the step is over when that is noticed; absent: 1",
    ),
];

/// Keys of a consumed supply.
pub const CONSUME: &[Key] = &[
    key("item", Text, "a row of supplies.csv or materials.csv").needed(),
    key("amount", Number(&[N::Amount]), "how much of it").needed(),
    key("per", Word(const { &words(&PERS) }), "what the amount is counted by; absent: build"),
];

/// Keys of `give`.
pub const GIVE: &[Key] = &[
    key("hardness", Text, "Shore hardness, such as \"70A\" or \"60A..80A\""),
    key("colour", Text, "colour"),
    key("opaque", Flag, "whether it is opaque"),
];

/// Keys of `trial`.
pub const TRIAL: &[Key] = &[
    key("part", Text, "the part to try it on").needed(),
    key("tells", Number(&[N::Tells]), "chance that the trial's result is right").needed(),
];
