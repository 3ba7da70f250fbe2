//! The plans and the final.
//!
//! Enters: `[[plan]]` and `[final]`, and the parts and routes they name ([`Names`]). Leaves: a route for every part, with a second one where
//! that is stated.

mod list;
mod two_ways;

pub use list::{Names, check_copies, last, plans};
