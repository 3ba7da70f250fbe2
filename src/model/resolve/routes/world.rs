//! The world that the names on a route are looked up in.

use super::agreement::Stated;
use super::unproven::Doubt;
use crate::model::Day;
use crate::model::resolve::baths::Baths;
use crate::model::resolve::parts::PartNames;
use crate::model::resolve::settings::Calendars;
use crate::model::resolve::sheets::{
    Coefficients, Items, Machines, Offer, Rates, Services, Sheets,
};

/// What the names on a route are looked up in.
pub struct World<'a> {
    /// The sheets.
    pub sheets: &'a Sheets,
    /// Calendars.
    pub calendars: &'a Calendars,
    /// Parts.
    pub parts: &'a PartNames,
    /// Materials and supplies.
    pub items: Items,
    /// Baths.
    pub baths: Baths,
    /// Equipment.
    pub machines: Machines,
    /// Print times.
    pub print_times: Vec<Coefficients>,
    /// Price rows, delivery levels, quotations.
    pub services: Services,
    /// Named rates.
    pub rates: Rates,
    /// The start day.
    pub start_day: Option<Day>,
    /// What order routes select in the sheets of services.
    pub asked: Vec<Offer>,
    /// What order routes state about their order.
    pub stated: Vec<Stated>,
    /// What routes state about not being proven.
    pub doubts: Vec<Doubt<'a>>,
}
