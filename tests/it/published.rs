//! Figures from outside, reproduced: textbooks, a table of layer manufacturing, standards, a general-purpose library.
//!
//! Every check names its source. Where a number of the source is from memory, the check says so: it is then no published evidence.

mod calendar;
mod cases;
mod currency;
mod fits;
mod standard_costs;
mod units;
