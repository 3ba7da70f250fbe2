//! The whole answer to one scenario: everything a report says, as values.

use super::{RowAge, Without};
use crate::analysis::compare::{BreakEven, Preference, StopRow, Switch, Verdict};
use crate::analysis::follow::PlanResult;
use crate::analysis::next::{LastSafe, LookAgain, OrderAdvice};
use crate::analysis::sampling::Sampled;
use crate::plan::{Plan, RuledOut, TooMany};

/// Everything that is known about the plans of a scenario.
#[derive(Clone, Debug)]
pub struct Answer {
    /// Planned iterations.
    pub planned: u32,
    /// Last iteration of the curves.
    pub horizon: u32,
    /// Feasible plans, cheapest first by the totals that decide.
    pub plans: Vec<PlanResult>,
    /// Plans that cannot be used, with the reason, by name.
    pub infeasible: Vec<(Plan, String)>,
    /// What is ruled out and why.
    pub ruled_out: Vec<RuledOut>,
    /// The verdict; `None` where no plan is feasible.
    pub verdict: Option<Verdict>,
    /// Every pair among the six cheapest plans, by avoidable cost, outlay and days.
    pub break_even: Vec<BreakEven>,
    /// The best change of plan on the way, if it beats every plan.
    pub switch: Option<Switch>,
    /// The cost if the work ends after so many iterations.
    pub stops: Vec<StopRow>,
    /// What each preference costs.
    pub preferences: Vec<Preference>,
    /// Orders that could be better filled.
    pub advice: Vec<OrderAdvice>,
    /// What the samples say, where some were drawn.
    pub sampled: Option<Sampled>,
    /// What would change the verdict.
    pub look_again: LookAgain,
    /// How late the verdict's last orders can be released, where a due date is given.
    pub last_safe: Vec<LastSafe>,
    /// What the verdict was with routes that are closed, where that is known.
    pub without: Option<Without>,
    /// Rows of the sheets that are out of date and whose prices could change the verdict, where that was asked for.
    pub stale: Vec<RowAge>,
}

/// Why no answer can be given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoAnswer {
    /// More assignments than are tried.
    TooManyPlans(TooMany),
}
