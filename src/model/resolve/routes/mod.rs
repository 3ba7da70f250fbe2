//! The routes.
//!
//! Enters: the tables `[[route]]` and the [`World`] their names are looked up in. Leaves: routes as meant, their steps with them: `bench`,
//! `printing` and `steps` for what is made in-house, `orders`, `offers` and `agreement` for what is bought, `unproven` for either.

mod agreement;
mod bench;
mod list;
mod offers;
mod orders;
mod printing;
mod steps;
mod unasked;
mod unproven;
mod world;

pub use agreement::check_agreement;
pub use list::routes;
pub use printing::counts_layers;
pub use unasked::check_unasked;
pub use unproven::settle;
pub use world::World;
