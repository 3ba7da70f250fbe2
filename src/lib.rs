//! Print a part at the bench, or send it out?
//!
//! Given parts, needs, an expected iteration count and price sheets, this library computes for each route what an iteration costs, how
//! much resin and solvent it takes, and when it is in hand; it finds the counts at which the answer changes.
//!
//! Data flows one way: [`input`] reads text with places, [`model`] gives it meaning, [`plan`] lays it out as tables, [`sim`] turns a plan
//! into dated events, [`value`] turns events into a [`ledger`], [`analysis`] reads ledgers, [`report`] says what they mean. The command is
//! in [`cli`].
//!
//! ```
//! use flipcount::{analysis, model, plan};
//!
//! let loaded = model::load("scenarios/first-look".as_ref(), &model::Overrides::default());
//! let scenario = loaded.scenario.expect("the first look is valid");
//! let values = plan::Values::planning(&scenario.slots);
//! let shop = plan::Shop::new(&scenario, &values);
//! let answer = analysis::answer(&shop).expect("few enough plans");
//!
//! let verdict = answer.verdict.expect("a plan is feasible");
//! let best = &answer.plans[verdict.plan];
//! assert_eq!(best.plan.name, "sensor collar = my bench");
//! assert!(best.decides.avoidable < answer.plans[1].decides.avoidable);
//! ```

pub mod analysis;
pub mod cli;
pub mod diag;
pub mod input;
pub mod ledger;
pub mod mesh;
pub mod model;
pub mod plan;
pub mod report;
pub mod sim;
pub mod value;
