//! Routes: ways to get a part. A bench route is steps; an order route is terms, then perhaps steps.

use super::{EquipmentId, ItemId, PartId, Price, Properties, Slot, SourceId, Terms};

/// An index into [`super::Scenario::routes`]; routes are in the order of their names.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct RouteId(pub u16);
super::index_id!(RouteId);

/// One way to get a part.
#[derive(Clone, Debug)]
pub struct Route {
    /// Its name.
    pub name: String,
    /// Where it is written.
    pub source: SourceId,
    /// Why it is not to be used, if so.
    pub closed: Option<String>,
    /// The parts it is for; absent: all.
    pub parts: Option<Vec<PartId>>,
    /// Bench or order.
    pub kind: RouteKind,
    /// Steps at the bench in order; for an order route, those after arrival.
    pub steps: Vec<Step>,
    /// Supplies of the route as a whole, entered with its first step.
    pub consumes: Vec<Consume>,
    /// A purchase this route needs first; paid once per plan at the route's first build.
    pub buy_first: Option<Price>,
    /// Properties of what comes out, before the needs of a part are held against them. For an order route those of the
    /// service row are in its [`Terms`] and these are empty.
    pub material: Properties,
    /// Properties given by steps, in order; a `Some` replaces what was before.
    pub given: Properties,
    /// True where a step gives a property (which clears any statement on skin contact).
    pub gives: bool,
    /// Whether the technique is known to work; `None`: it is proven.
    pub unproven: Option<Unproven>,
}

impl Route {
    /// True if the user means the route for this part at all (`for`).
    pub fn is_for(&self, part: PartId) -> bool {
        self.parts.as_ref().is_none_or(|parts| parts.contains(&part))
    }
}

/// A technique nobody has tried yet.
#[derive(Clone, Copy, Debug)]
pub struct Unproven {
    /// Chance that it works, 0 to 1 ([`super::Dim::Share`]).
    pub works: Slot,
    /// The proven route that takes its place where it does not; it is for every part this one is for.
    pub fallback: RouteId,
    /// How it can be tried first.
    pub trial: Option<Trial>,
}

/// A small build that tells whether a technique works.
#[derive(Clone, Copy, Debug)]
pub struct Trial {
    /// The part of which one piece is made.
    pub part: PartId,
    /// Chance that its result is right, 0.5 (it tells nothing) to 1 ([`super::Dim::Share`]).
    pub tells: Slot,
}

/// Bench or order.
#[derive(Clone, Debug)]
pub enum RouteKind {
    /// Made in-house by steps.
    Bench(Bench),
    /// Bought from an outside service.
    Order(Box<Terms>),
}

/// The bench side of a route.
#[derive(Clone, Debug)]
pub struct Bench {
    /// Printing, where the route prints: its first step is the print step.
    pub print: Option<Print>,
    /// True for the short form (`attended` and `print_time` in place of `steps`).
    pub short: bool,
}

/// What the print step needs.
#[derive(Clone, Debug)]
pub struct Print {
    /// The resin drawn; `None` where the short form names none.
    pub resin: Option<ItemId>,
    /// Supports as a share of the part volume.
    pub supports: Slot,
    /// Resin lost in each print run.
    pub loss: Slot,
    /// Free height under the part.
    pub stand_off: Option<Slot>,
    /// Layer height.
    pub layer: Option<Slot>,
    /// Which axis of a part points up on the plate.
    pub up: super::Up,
    /// Free room round each piece on the plate, in mm.
    pub gap: Option<Slot>,
    /// Film on supports, as a share of the part's area; 0 where there are no supports.
    pub support_area: Slot,
    /// How long a print run takes.
    pub time: PrintTime,
}

/// How the print time of a build is found.
#[derive(Clone, Copy, Debug)]
pub enum PrintTime {
    /// Stated per build.
    Stated(Slot),
    /// start_up + layers x per_layer + solid volume x per_volume. Needs `layer` and the parts' boxes.
    Layers {
        /// Time before the first layer.
        start_up: Slot,
        /// Time per layer.
        per_layer: Slot,
        /// Time per mL of solid volume ([`super::Dim::Pace`]).
        per_volume: Slot,
    },
}

/// How long a build stays where it is after the attended part of a step.
#[derive(Clone, Copy, Debug)]
pub enum Hold {
    /// Not at all.
    None,
    /// So long.
    For(Slot),
    /// Until the first opening of a bench day after the hold begins.
    Overnight,
}

/// One step of a route.
#[derive(Clone, Debug)]
pub struct Step {
    /// What is done, in the user's words.
    pub name: String,
    /// Attended time.
    pub attended: Option<Slot>,
    /// True where the attended time is per piece.
    pub per_piece: bool,
    /// Attended time added once per simulation.
    pub first_time: Option<Slot>,
    /// Unattended time after it. On the print step: added to the print time.
    pub hold: Hold,
    /// The equipment it occupies.
    pub at: Option<EquipmentId>,
    /// The bath it uses, and which axis of a part points up in it.
    pub bath: Option<(super::BathId, super::Up)>,
    /// Supplies used.
    pub consumes: Vec<Consume>,
    /// Chance that this step ruins the build.
    pub spoil: Option<Slot>,
    /// Share of the step already spent when the failure is noticed; absent: 1.
    pub spent_share: Option<Slot>,
    /// True where attended work goes on after each closing (the short form) instead of having to fit one span.
    pub flowing: bool,
    /// Where it is written.
    pub source: SourceId,
}

/// A supply used by a step or a route.
#[derive(Clone, Debug)]
pub struct Consume {
    /// The supply.
    pub item: ItemId,
    /// How much, in the item's own dimension (mass of a liquid is converted by its density).
    pub amount: Slot,
    /// Per what.
    pub per: Per,
}

/// What an amount of a supply is counted by.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Per {
    /// A good build (on a step: a run of the step).
    Build,
    /// A piece.
    Piece,
    /// A start of the build or step, failed ones included.
    Attempt,
    /// An hour of printing.
    PrintHour,
    /// A printed layer.
    Layer,
    /// A litre of resin drawn.
    LitreOfResin,
    /// A part and iteration.
    Design,
}
