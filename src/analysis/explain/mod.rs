//! Where a figure comes from: a tree from a total down to the lines of price sheets.
//!
//! Enters: a shop, a plan and what is asked ([`Asked`]). Leaves: a [`Node`], whose value is computed from those of its children, down to
//! numbers that somebody stated. The same tables and the same simulation as everywhere else; nothing is valued a second way. A node knows
//! how it follows from its children ([`How`]), so that a reader can redo the sum.

mod bath;
mod dates;
mod entry;
mod figure;
mod group;
mod input;
mod material;
mod node;
mod order;
mod story;
mod time;

pub use figure::*;
pub use input::*;
pub use node::*;
pub use story::*;
