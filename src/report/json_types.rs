//! The document's shape: names and order of its keys. Money and quantities are decimal texts; days and hours are numbers.

use std::collections::BTreeMap;

use serde::Serialize;

use super::json_unproven::UnprovenEntry;

#[derive(Serialize)]
pub(super) struct Document<'s> {
    pub scenario: &'s str,
    pub title: &'s str,
    pub currency: &'s str,
    pub planned: u32,
    pub horizon: u32,
    pub plans: Vec<PlanEntry<'s>>,
    pub ruled_out: Vec<RuledOutEntry<'s>>,
    pub break_even: Vec<BreakEvenEntry<'s>>,
    pub stops: Vec<StopEntry<'s>>,
    pub switch: Option<SwitchEntry<'s>>,
    pub verdict: Option<VerdictEntry<'s>>,
    /// Nothing is sampled in a planning run.
    pub sampled: Option<SampledEntry<'s>>,
    /// How the project stands; left out without a record.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub record: Option<super::progress::RecordEntry<'s>>,
    pub preferences: Vec<PreferenceEntry<'s>>,
    pub advice: Vec<AdviceEntry<'s>>,
    pub look_again: super::look_again::LookAgainEntry<'s>,
    pub last_safe: Vec<super::look_again::LastSafeEntry<'s>>,
    pub assumed: Vec<AssumedEntry>,
    pub not_counted: Vec<String>,
    pub cautions: Vec<String>,
    pub warnings: Vec<String>,
}

/// A plan; what an infeasible one does not have is left out.
#[derive(Default, Serialize)]
pub(super) struct PlanEntry<'s> {
    pub name: &'s str,
    pub assign: BTreeMap<&'s str, &'s str>,
    /// Second routes, beside those of `assign`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<BesideEntry<'s>>,
    pub feasible: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<&'s str>,
    /// The count it is compared at.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub planned: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub variants: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub curves: Option<CurvesEntry<'s>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub iterations: Vec<IterationEntry>,
    #[serde(rename = "final", skip_serializing_if = "Option::is_none")]
    pub last: Option<FinalEntry>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failure_chance: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failure_days: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unproven: Option<UnprovenEntry<'s>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended: Option<EndedEntry<'s>>,
}

/// A part that is made by a second route too, up to an iteration.
#[derive(Serialize)]
pub(super) struct BesideEntry<'s> {
    pub part: &'s str,
    pub route: &'s str,
    pub until: u32,
}

#[derive(Serialize)]
pub(super) struct CurvesEntry<'s> {
    pub outlay: Vec<String>,
    pub avoidable: Vec<String>,
    pub consumed: Vec<String>,
    pub days: Vec<f64>,
    pub attended_h: Vec<f64>,
    pub resin_ml: BTreeMap<&'s str, Vec<String>>,
    pub solvent_ml: BTreeMap<&'s str, Vec<String>>,
    pub dye_ml: BTreeMap<&'s str, Vec<String>>,
    pub waste_ml: Vec<String>,
}

#[derive(Serialize)]
pub(super) struct IterationEntry {
    pub n: u32,
    pub release: Option<String>,
    pub in_hand: Option<String>,
}

#[derive(Serialize)]
pub(super) struct FinalEntry {
    pub outlay: String,
    pub avoidable: String,
    pub consumed: String,
    pub days: f64,
    pub release: Option<String>,
    pub in_hand: Option<String>,
}

/// The curves are flat from iteration `n` on because the plan could not be followed further.
#[derive(Serialize)]
pub(super) struct EndedEntry<'s> {
    pub n: u32,
    pub reason: &'s str,
}

#[derive(Serialize)]
pub(super) struct RuledOutEntry<'s> {
    pub part: &'s str,
    pub route: &'s str,
    pub from_iteration: u32,
    pub reason: &'s str,
}

#[derive(Serialize)]
pub(super) struct BreakEvenEntry<'s> {
    pub a: &'s str,
    pub b: &'s str,
    pub by: &'s str,
    pub crossings: &'s [u32],
    pub n_star: Option<f64>,
    pub about_equal: &'s [u32],
    pub stays_from: Option<u32>,
    pub cheaper_after: Option<&'s str>,
}

#[derive(Serialize)]
pub(super) struct StopEntry<'s> {
    pub n: u32,
    pub cheapest: &'s str,
    pub avoidable: BTreeMap<&'s str, String>,
}

#[derive(Serialize)]
pub(super) struct SwitchEntry<'s> {
    pub first: &'s str,
    pub then: &'s str,
    pub after: u32,
    pub avoidable: String,
    pub saves: String,
}

#[derive(Serialize)]
pub(super) struct VerdictEntry<'s> {
    pub plan: &'s str,
    pub too_close: bool,
    pub sentence: String,
    pub parts: Vec<PartEntry<'s>>,
    pub candidates: Vec<&'s str>,
    pub find_out: Option<FindOutEntry<'s>>,
}

#[derive(Serialize)]
pub(super) struct PartEntry<'s> {
    pub part: &'s str,
    pub kind: &'static str,
    pub route: Option<&'s str>,
}

#[derive(Serialize)]
pub(super) struct FindOutEntry<'s> {
    pub key: &'s str,
    pub swing: String,
}

#[derive(Serialize)]
pub(super) struct PreferenceEntry<'s> {
    pub part: &'s str,
    pub prefer: String,
    pub plan: Option<&'s str>,
    pub costs: Option<String>,
}

/// A remark on orders: `instead` pieces for `less`, or what sending one more part along `adds`.
#[derive(Default, Serialize)]
pub(super) struct AdviceEntry<'s> {
    pub part: &'s str,
    pub route: &'s str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub copies: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub instead: Option<i64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub less: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub adds: Option<String>,
}

#[derive(Serialize)]
pub(super) struct AssumedEntry {
    pub key: String,
    pub low: String,
    pub likely: String,
    pub high: String,
}

/// What the samples say.
#[derive(Serialize)]
pub(super) struct SampledEntry<'s> {
    pub samples: u32,
    /// Samples asked for; more than were drawn where the run was stopped.
    pub asked: u32,
    pub seed: u64,
    pub plans: Vec<SampledPlanEntry<'s>>,
    pub evpi: f64,
    pub evpi_se: f64,
    pub iterations: DistributionEntry,
    /// Share of samples cut at the horizon.
    pub cut: f64,
}

#[derive(Serialize)]
pub(super) struct SampledPlanEntry<'s> {
    pub name: &'s str,
    pub p_cheapest: f64,
    pub p_cheapest_se: f64,
    pub p_fastest: f64,
    pub p_fastest_se: f64,
    pub p_due: Option<f64>,
    pub p_due_se: Option<f64>,
    pub p_budget: Option<f64>,
    pub p_budget_se: Option<f64>,
    /// Null where the plan was carried out in no sample.
    pub avoidable: Option<DistributionEntry>,
    pub outlay: Option<DistributionEntry>,
    pub days: Option<DistributionEntry>,
    pub regret: f64,
    pub regret_se: f64,
    /// Share of samples in which the plan could not be carried out.
    pub stopped: f64,
}

/// A sampled figure: mean, its standard error, quantiles.
#[derive(Serialize)]
pub(super) struct DistributionEntry {
    pub mean: f64,
    pub se: f64,
    pub p10: f64,
    pub p50: f64,
    pub p80: f64,
    pub p90: f64,
}
