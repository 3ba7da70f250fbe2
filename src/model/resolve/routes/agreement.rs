//! Order routes that share an order must say the same about it.

use super::world::World;
use crate::diag::{Code, Diagnostic, Place};
use crate::model::resolve::reading::{Load, Table};
use crate::model::resolve::sheets::{DeliveryFields, PriceFields};
use crate::model::{Exact, Slot};

/// What an order route states about its order as a whole, to be held against the other routes of the same order.
pub struct Stated {
    /// The route.
    pub route: String,
    /// Where it is.
    pub place: Place,
    /// Service and delivery level; empty service for a route that orders alone.
    pub group: (String, String),
    /// Columns, each with its number; the flag tells whether it must be on every route of the order.
    pub columns: Vec<(&'static str, Option<[Exact; 3]>, bool)>,
}

/// Notes what a route states about its order.
pub fn note_stated(
    load: &Load,
    world: &mut World,
    table: &Table,
    (route, service, delivery): (&str, &str, &str),
    (own, parcel): (&PriceFields, &DeliveryFields),
) {
    if !table.has("service") {
        return;
    }
    let spread = |slot: Option<Slot>| slot.map(|s| load.spread(s));
    let mut columns = vec![
        ("setup_per_order", spread(own.setup_per_order), false),
        ("order_min", spread(own.order_min), false),
    ];
    columns.extend(parcel.columns().into_iter().map(|(name, slot)| (name, spread(slot), true)));
    columns.push(("arrives", parcel.arrives().map(|second| [Exact::from(second); 3]), true));
    columns.push(("arrives_after", spread(own.lead.filter(|_| table.has("arrives_after"))), true));
    world.stated.push(Stated {
        route: route.to_owned(),
        place: table.place.clone(),
        group: (service.to_owned(), delivery.to_owned()),
        columns,
    });
}

/// Logs order routes that share an order and state different things about it.
pub fn check_agreement(load: &mut Load, stated: &[Stated]) {
    for (index, route) in stated.iter().enumerate() {
        let Some(first) = stated[..index].iter().find(|s| s.group == route.group) else {
            continue;
        };
        for (a, b) in first.columns.iter().zip(&route.columns) {
            let differ = match (a.1, b.1) {
                (Some(x), Some(y)) => x != y,
                (None, None) => false,
                _ => a.2,
            };
            if differ {
                let message = format!(
                    "routes `{}` and `{}` share an order and differ in `{}`",
                    first.route, route.route, a.0
                );
                let finding = Diagnostic::error(Code::MustAgree, &route.place, message);
                load.log.push(
                    finding
                        .see(&first.place, "the other route")
                        .hint(format!("state the same `{}` on both, or on neither", a.0)),
                );
            }
        }
    }
}
