//! The report as one page for a browser: self-contained, without a request, readable with scripts off, on a phone and on paper.
//!
//! Enters: a [`Subject`](super::Subject) and [`PageExtras`], what takes longer to compute and only the page shows. Leaves: one text. Every
//! text of the user's is escaped by the template, and `<` in the embedded figures by [`data`]; what may run is named by its digest in the
//! page's policy.

mod answers;
mod assume;
mod changes;
mod data;
mod extras;
mod frame;
mod kinds;
mod layout;
mod ledger;
mod material;
mod overview;
mod plans;
mod policy;
mod progress;
mod sources;
mod steps;
mod ticks;

pub use extras::{PageExtras, page_plans};
pub use layout::page;
