//! The settings of a scenario, before any of its lists.
//!
//! Enters: the top table of scenario.toml and what the command line asks for in its place ([`Overrides`]). Leaves: [`Settings`], opening
//! hours, [`Calendars`] and the iterations.

mod calendars;
mod iterations;
mod overrides;
mod top;

pub use calendars::{Calendars, dates_need_start, hours};
pub use iterations::iterations;
pub use overrides::Overrides;
pub use top::{Settings, title_or};
