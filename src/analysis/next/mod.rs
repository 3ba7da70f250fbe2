//! What to do next: when to look again, how late to order, what to buy.
//!
//! Enters: a plan that was chosen, with its shop and the plans it was chosen from. Leaves: what would change the verdict ([`LookAgain`]), the
//! last safe days of orders ([`LastSafe`]), orders that could be better filled ([`OrderAdvice`]), the lines of the buy list ([`BuyLine`]).

mod buy_list;
mod last_safe;
mod look_again;
mod orders;

pub use buy_list::*;
pub use last_safe::*;
pub(super) use look_again::taken;
pub use look_again::{AtCount, FailuresInRow, LookAgain, MOST_FAILURES, PriceAt, look_again};
pub use orders::*;
