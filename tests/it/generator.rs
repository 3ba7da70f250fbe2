//! The one generator of scenarios: a description of few numbers that shrinks well, and the files that say it.
//!
//! Every description is a valid scenario: what one number refers to is taken modulo what there is, machines are used in one order so
//! that builds cannot wait for each other (baths too), and what needs a start date is left out where there is none. Money is in hundredths.

mod baths;
mod describe;
mod draw;
mod features;
mod prices;
mod rooms;
mod routes;
mod sheets;
mod write;

pub use describe::*;
pub use draw::blueprint;
pub use features::{FEATURES, features};
pub use write::{Written, write};
