//! Diagnostics: what is wrong or doubtful in the user's files, as values with a place, rendered in one file.
//!
//! Enters: findings of every stage. Leaves: text for a person, one line per finding for editors. Nothing here stops a run: stages
//! collect into a [`Log`] and the command decides.

mod code;
mod diagnostic;
mod render;
mod suggest;

pub use code::*;
pub use diagnostic::*;
pub use render::*;
pub use suggest::*;
