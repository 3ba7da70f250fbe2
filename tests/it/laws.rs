//! What must be true of every scenario, held against scenarios of the generator. The seed is fixed: a failure is there again tomorrow.

mod ahead;
mod changed;
mod explained;
mod fast;
mod flips;
mod held;
mod material;
mod money;
mod monotone;
mod resumed;
mod same;
mod sweep;
mod time;
mod two_ways;

pub use resumed::silent;
