//! From files to a scenario: the one place that turns what is written into what is meant, and that rejects.
//!
//! Enters: the path of a scenario. Leaves: a [`Scenario`](super::Scenario) that is valid by construction, and every finding of every
//! file in one log. Whatever is faulty is replaced by a placeholder so that reading goes on; a scenario with an error is not handed
//! out. Money is never assumed: what has no price is listed.
//!
//! Each of these imports from those above it alone:
//!
//! - `limits`: the most there can be of each thing
//! - `keys`: every key and column, declared
//! - `reading`: the tools that read a value, a table, a row
//! - `settings`, `parts`, `sheets`, `baths`, `routes`, `plans`: what is written, in the order in which one names the other
//! - `checks`: what only the whole can tell
//! - `build`: the recipe of a scenario; `record`: what has happened to one
//! - `load`: the recipe of loading; `typist`: loading again with numbers typed in

mod baths;
mod build;
mod checks;
mod keys;
pub mod limits;
mod load;
mod parts;
mod plans;
mod reading;
mod record;
mod routes;
mod settings;
mod sheets;
#[cfg(test)]
mod tests;
mod typist;

pub use keys::scenario_schema;
pub use load::{Loaded, load, load_with_record};
pub use record::{RECORD_FILE, record_words};
pub use settings::Overrides;
pub use typist::{TypedIn, TypedText, Typist, scenario_or_why};
