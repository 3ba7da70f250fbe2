//! One plan followed to the end: what it comes to.
//!
//! Enters: a [`Shop`](crate::plan::Shop) and a plan. Leaves: a [`Project`], simulated and valued once, and the [`PlanResult`] read off it;
//! or, where only the cost is asked for, one amount, also under other numbers than today's (a probe). Nothing here knows another plan
//! but [`probe`], which takes two with the same numbers.

mod ahead;
mod curves;
mod failure;
mod in_words;
mod open;
mod policy;
mod probe;
mod project;
mod result;
mod unproven;

pub use ahead::cost_at_planned;
pub(super) use ahead::{cost_from, to_planned};
pub use curves::*;
pub use failure::{Failure, failure};
pub(super) use failure::{in_hand, places};
pub use in_words::*;
pub use policy::*;
pub(super) use probe::{Pair, fast_cost, is_price, is_valid, tried_values};
pub use project::*;
pub(super) use result::carried_out;
pub use result::{BathContent, CHEAPEST, Figures, Last, PlanResult, days};
pub use unproven::{
    AdviceChange, IfFails, Outcome, Policy, RouteAdvice, UNPROVEN_LIMIT, Unproven, unproven,
};
