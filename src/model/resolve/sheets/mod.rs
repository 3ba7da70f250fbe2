//! The price sheets, each to what its rows state.
//!
//! Enters: the folder that `pricing` names. Leaves: [`Items`], [`Machines`] and print times, [`Services`] and [`Rates`], in which routes and
//! baths look names up. What a route states in the place of a row is read by the same code ([`ItemFields`], [`PriceFields`],
//! [`DeliveryFields`]) and put over it.

mod fields;
mod folder;
mod items;
mod machines;
mod rates;
mod services;
mod stock;

pub use fields::{DELIVERY_COLUMNS, DeliveryFields, PriceFields};
pub use folder::Sheets;
pub use items::class_word;
pub use machines::{Coefficients, Machines, print_times};
pub use rates::Rates;
pub use services::{Offer, Services};
pub use stock::{ItemFields, Items, SHARED, User, own_item, per_kind};
