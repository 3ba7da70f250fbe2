//! From files to a scenario: the one place that turns what is written into what is meant, and that rejects.
//!
//! Enters: the path of a scenario. Leaves: a [`Scenario`](super::Scenario) that is valid by construction, and every finding of every
//! file in one log. Whatever is faulty is replaced by a placeholder so that reading goes on; a scenario with an error is not handed
//! out. Money is never assumed: what has no price is listed.

mod agreement;
mod assume;
mod baths;
mod bench;
mod build;
mod calendars;
mod checks;
mod context;
mod currency;
mod fields;
mod films;
mod geometry;
mod items;
mod iterations;
mod keys;
pub mod limits;
mod load;
mod machines;
mod measure;
mod meshes;
mod needs;
mod offers;
mod one;
mod orders;
mod parts;
mod plans;
mod price_sheet;
mod printing;
mod rates;
mod record;
mod routes;
mod rows;
mod schema;
mod services;
mod settings;
mod sheets;
mod spread;
mod steps;
mod stock;
mod table;
#[cfg(test)]
mod tests;
mod tubs;
mod two_ways;
mod typed;
mod unasked;
mod unproven;

pub use load::{Loaded, Overrides, load, load_with_record};
pub use record::{RECORD_FILE, record_words};
pub use schema::scenario_schema;
pub use typed::{TypedIn, TypedText, Typist, scenario_or_why};
