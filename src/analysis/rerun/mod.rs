//! Running a project again with what has happened: from the lines of a record to where things stand.
//!
//! Enters: a scenario with a record, and today. Leaves: the same scenario with its [`Past`](crate::model::Past), from which everything else
//! goes on: dates and money of what is behind are those of the record, the rest is forecast by the one simulation there is.

mod actual;
mod beta;
mod counts;
mod evidence;
mod learn;
mod nnls;
mod settle;
mod standing;
mod turns;

pub use beta::*;
pub use nnls::{Fit, fit};
pub use settle::*;
pub use standing::*;
