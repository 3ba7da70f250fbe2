//! The answer to one scenario: everything a report says, as values.

use super::{
    BreakEven, Curves, Failure, LastSafe, LookAgain, OrderAdvice, Preference, RowAge, Sampled,
    StopRow, Switch, Unproven, Verdict, Without,
};
use crate::ledger::Ledger;
use crate::model::{BathId, Exact, Money, Scenario};
use crate::plan::{ITERATION_LIMIT, PLAN_LIMIT, Plan, RuledOut, TooMany};
use crate::sim::{Crowd, Dates, Stop};
use crate::value::Notes;

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

/// One feasible plan.
#[derive(Clone, Debug)]
pub struct PlanResult {
    /// The plan.
    pub plan: Plan,
    /// Cumulative figures to the horizon, without the final.
    pub curves: Curves,
    /// Dates of the iterations to the horizon.
    pub dates: Vec<Dates>,
    /// The final at the planned count, where asked for.
    pub last: Option<Last>,
    /// The figures that decide: at the planned count, with the final.
    pub decides: Figures,
    /// What is in each bath in use after the planned count, the final included.
    pub baths: Vec<BathContent>,
    /// What a failure would mean.
    pub failure: Failure,
    /// What is best done about its unproven routes; the figures that decide are then expected ones, and curves, dates, final, baths and
    /// notes are those of the routes working.
    pub unproven: Option<Unproven>,
    /// What must be told about prices, up to the planned count.
    pub notes: Notes,
    /// Dips whose pieces may not go in side by side.
    pub crowds: Vec<Crowd>,
    /// The iteration from which the curves are flat because the simulation could not go on, with why; beyond the planned count.
    pub ended: Option<(u32, String)>,
}

/// A bath in service at the end. It is not emptied; this is what it holds and what emptying it would cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BathContent {
    /// The bath.
    pub bath: BathId,
    /// Millionths of mL of solvent, dye and resin in it.
    pub content: i64,
    /// What disposing of it would cost; `None` where no charge is stated.
    pub emptying: Option<Money>,
}

/// Figures of a plan at one count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Figures {
    /// What can be avoided today.
    pub avoidable: Money,
    /// Money leaving.
    pub outlay: Money,
    /// The cost of the versions.
    pub consumed: Money,
    /// Attended hours, expected.
    pub attended: Exact,
    /// Seconds from start to in hand, without failures.
    pub seconds: i64,
    /// Millionths of mL of resin discarded.
    pub waste: i64,
}

/// A final.
#[derive(Clone, Debug)]
pub struct Last {
    /// Its dates.
    pub dates: Dates,
    /// Totals at the planned count, final included.
    pub figures: Figures,
    /// Its own entries, and those of what still runs on beside it.
    pub ledger: Ledger,
}

/// Why no answer can be given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoAnswer {
    /// More assignments than are tried.
    TooManyPlans(TooMany),
}

/// Why more is asked than is done for one question, in words.
pub fn too_many_text(many: &TooMany) -> String {
    match many {
        TooMany::Plans => format!(
            "more than {PLAN_LIMIT} ways to make all parts: name those to compare with [[plan]] tables, or cut them down with `for` on \
             routes"
        ),
        TooMany::Iterations { plans, horizon } => format!(
            "{plans} plans and outcomes to a horizon of {horizon} are more than {ITERATION_LIMIT} iterations: name fewer plans with \
             [[plan]] tables, or shorten `horizon`"
        ),
    }
}

/// A stop in words, with names.
pub fn stop_text(scenario: &Scenario, stop: &Stop) -> String {
    let on = |day: &Option<i64>| match day {
        Some(day) => format!(" on {}", crate::analysis::date_text(*day)),
        None => String::new(),
    };
    match stop {
        Stop::NoPrice { part, route, iteration, day } => format!(
            "no price holds for {} by {} in iteration {iteration}{}",
            scenario.part(*part).name,
            scenario.route(*route).name,
            on(day)
        ),
        Stop::Deadlock { iteration, waiting } => {
            let builds: Vec<String> = waiting
                .iter()
                .map(|&(route, step, machine)| {
                    let r = scenario.route(route);
                    let name = r.steps.get(step - 1).map_or("", |s| &s.name);
                    let machine = &scenario.equipment[machine.index()].name;
                    format!("`{}` waits for `{machine}` to begin `{name}`", r.name)
                })
                .collect();
            format!("builds wait for each other in iteration {iteration}: {}", builds.join(", "))
        }
        Stop::Hopeless { route, iteration } => format!(
            "attempt after attempt by {} fails in iteration {iteration}",
            scenario.route(*route).name
        ),
        Stop::NoExchange { currency, day } => {
            format!("no exchange rate for {currency} is valid{}", on(day))
        }
        Stop::NoRoom { part, route, iteration, why } => format!(
            "{} by {} in iteration {iteration}: {why}",
            scenario.part(*part).name,
            scenario.route(*route).name
        ),
        Stop::Dip { route, bath, iteration, why } => format!(
            "the pieces of one build by {} cannot be dipped together in `{}` in iteration {iteration}: {why}",
            scenario.route(*route).name,
            scenario.baths[bath.index()].name
        ),
        Stop::TooLate { iteration } => format!("iteration {iteration} ends after the year 9999"),
        Stop::TooLarge { iteration } => {
            format!("an amount or quantity of iteration {iteration} is too large to sum exactly")
        }
    }
}

/// A day as ISO 8601 text.
pub fn date_text(day: i64) -> String {
    let date = i32::try_from(day).ok().and_then(chrono::NaiveDate::from_epoch_days);
    date.map_or_else(|| format!("day {day}"), |d| d.format("%Y-%m-%d").to_string())
}
