//! What is known of one plan that was followed: curves, dates, the figures that decide.

use super::{Curves, Doubts, Failure, Project, UNPROVEN_LIMIT, Unproven, stop_text, unproven};
use crate::ledger::Ledger;
use crate::model::{BathId, DAY, Exact, Money};
use crate::plan::{Plan, Shop};
use crate::sim::{Crowd, Dates};
use crate::value::Notes;

/// How many of the cheapest plans are compared in pairs.
pub const CHEAPEST: usize = 6;

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

/// Days as a number, from seconds.
pub fn days(seconds: i64) -> f64 {
    seconds as f64 / DAY as f64
}

/// One plan with its cost at some counts, expected where a route is unproven; why not, if it cannot be carried out.
pub fn carried_out(
    shop: &Shop,
    plan: &Plan,
    horizon: u32,
    counts: &[u32],
) -> Result<(PlanResult, Vec<Money>), String> {
    let doubts = Doubts::of(shop, &plan.assign).list.len();
    if doubts > UNPROVEN_LIMIT {
        return Err(format!(
            "it rests on {doubts} unproven routes; at most {UNPROVEN_LIMIT} are weighed together"
        ));
    }
    let why = |stop| stop_text(shop.scenario, &stop);
    let project = Project::of(shop, plan, horizon, counts).map_err(why)?;
    let mut costs: Vec<Money> = counts.iter().map(|&n| project.cost_at(n)).collect();
    let mut result = project.result(shop, plan.clone());
    if let Some(unproven) = unproven(shop, plan, counts).map_err(why)? {
        result.decides = unproven.best().figures(shop);
        costs.clone_from(&unproven.costs);
        result.unproven = Some(unproven);
    }
    Ok((result, costs))
}
