//! What is held in stock (materials and supplies), and equipment.

use super::{Day, Dim, Slot, SourceId};

/// An index into [`super::Scenario::items`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct ItemId(pub u16);
super::index_id!(ItemId);

/// An index into [`super::Scenario::equipment`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct EquipmentId(pub u16);
super::index_id!(EquipmentId);

/// An index into [`super::Scenario::currencies`]; 0 is the scenario's own currency.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct CurrencyId(pub u16);
super::index_id!(CurrencyId);

/// A currency of ISO 4217.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Currency {
    /// The three-letter code.
    pub code: String,
    /// Decimals of its minor unit: 2 for USD, 0 for JPY, 3 for KWD.
    pub minor: u32,
}

/// A price: an amount (or an amount per unit) in a currency.
#[derive(Clone, Copy, Debug)]
pub struct Price {
    /// The amount, or the amount per base unit.
    pub value: Slot,
    /// Its currency.
    pub currency: CurrencyId,
}

/// What kind of thing an item is; decides its ledger category.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum ItemClass {
    /// A printing material.
    Resin,
    /// A solvent.
    Solvent,
    /// A dye.
    Dye,
    /// Anything else that is used up.
    Supply,
}

/// How an item is paid.
#[derive(Clone, Copy, Debug)]
pub enum ItemPrice {
    /// No price known: listed under "not counted".
    Unknown,
    /// In whole packs.
    Pack {
        /// The pack's content. Its own dimension may be mass where the item counts in mL; then the density converts.
        pack: Slot,
        /// The price of one pack.
        price: Price,
    },
    /// What is used is paid: money per unit of the item's dimension (per mL, g, piece, cm2, mm).
    PerUnit(Price),
}

/// A material or a supply.
#[derive(Clone, Debug)]
pub struct Item {
    /// Its name.
    pub name: String,
    /// What kind of thing it is.
    pub class: ItemClass,
    /// What it counts in: [`Dim::Volume`] for resins, solvents and dyes; else the dimension of its pack.
    pub dim: Dim,
    /// How it is paid.
    pub price: ItemPrice,
    /// Density in g/mL.
    pub density: Option<Slot>,
    /// What is there at the start, in the slot's own dimension (mass is converted by the density).
    pub stock: Option<Slot>,
    /// Share of a stock change that counts as value kept; absent: 1 with a start stock, else 0.
    pub keep: Option<Slot>,
    /// Business days until it is there, from the start date.
    pub lead: Option<Slot>,
    /// Delivery paid once per purchase.
    pub delivery_cost: Option<Price>,
    /// What disposing of a litre costs (baths).
    pub waste_charge_per_l: Option<Price>,
    /// The sheet line or scenario key it comes from.
    pub source: SourceId,
    /// From when and until when its price is valid.
    pub valid: Validity,
}

/// First and last day on which a row of a sheet is valid; both ends included.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Validity {
    /// First valid day.
    pub from: Option<Day>,
    /// Last valid day.
    pub to: Option<Day>,
}

impl Validity {
    /// True if the day is past the last valid one.
    pub fn is_past(&self, day: Day) -> bool {
        self.to.is_some_and(|to| day > to)
    }

    /// True if the day is before the first valid one.
    pub fn is_ahead(&self, day: Day) -> bool {
        self.from.is_some_and(|from| day < from)
    }
}

/// How a machine is charged.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Charge {
    /// Its price is paid before first use, its resale kept.
    Buy,
    /// (price - resale) / life per hour of use, in `consumed` only.
    Wear,
    /// Owned and not charged.
    None,
}

/// A machine; exclusive: one build at a time.
#[derive(Clone, Debug)]
pub struct Equipment {
    /// Its name.
    pub name: String,
    /// What it costs.
    pub price: Option<Price>,
    /// What it can be sold for.
    pub resale: Option<Price>,
    /// Its life in hours of use ([`Dim::Share`]: a plain number of hours).
    pub life_hours: Option<Slot>,
    /// How it is charged.
    pub charge: Charge,
    /// Electrical power in W.
    pub watts: Option<Slot>,
    /// Build plate, x and y in mm.
    pub plate: Option<[Slot; 2]>,
    /// Greatest build height in mm.
    pub height: Option<Slot>,
    /// Days on which no step may touch it, ascending.
    pub down: Vec<Day>,
    /// Business days until it is there, from the start date.
    pub lead: Option<Slot>,
    /// Delivery paid with the purchase.
    pub delivery_cost: Option<Price>,
    /// The sheet line; `None` where a step names equipment that equipment.csv does not have.
    pub source: Option<SourceId>,
    /// From when and until when its price is valid.
    pub valid: Validity,
}
