//! What was assumed: the numbers no one stated, as far as some plan uses them, in units a person reads.

use super::Subject;
use crate::model::{Dim, Exact, HOUR, Input, Scenario};

/// One assumed number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AssumedLine {
    /// Its address.
    pub address: String,
    /// Low end of its range.
    pub low: String,
    /// What planning uses.
    pub likely: String,
    /// High end of its range.
    pub high: String,
    /// The unit of the three; empty for a share or a count.
    pub unit: &'static str,
}

impl AssumedLine {
    /// The last word of the address: the key to state.
    pub fn key(&self) -> &str {
        self.address.rsplit('.').next().unwrap_or(&self.address)
    }

    /// The value with its range: `10 mL (5..20)`.
    pub fn with_range(&self) -> String {
        let blank = if self.unit.is_empty() { "" } else { " " };
        format!("{}{blank}{} ({}..{})", self.likely, self.unit, self.low, self.high)
    }
}

/// Every assumed number but those of routes that no plan uses and of their baths, in the order they were read.
pub fn assumed(subject: &Subject) -> Vec<AssumedLine> {
    let used = subject.used_routes();
    let baths = used.iter().flat_map(|(_, r)| r.steps.iter().filter_map(|s| s.bath));
    let mut prefixes: Vec<String> = baths
        .map(|(id, _)| format!("bath[{}].", subject.scenario().baths[id.index()].name))
        .collect();
    prefixes.extend(used.iter().map(|(_, r)| format!("route[{}].", r.name)));
    let is_used = |address: &str| {
        let of_one = address.starts_with("route[") || address.starts_with("bath[");
        !of_one || prefixes.iter().any(|p| address.starts_with(p))
    };
    all_assumed(subject.scenario()).into_iter().filter(|line| is_used(&line.address)).collect()
}

/// Every assumed number of a scenario, in the order they were read.
pub fn all_assumed(scenario: &Scenario) -> Vec<AssumedLine> {
    scenario.slots.iter().map(|(_, input)| input).filter(|i| i.assumed).map(line).collect()
}

fn line(input: &Input) -> AssumedLine {
    let (unit, size) = unit(input);
    let text = |value: Exact| (value / size).half_away(6).to_string();
    AssumedLine {
        address: input.address.clone(),
        low: text(input.low),
        likely: text(input.likely),
        high: text(input.high),
        unit,
    }
}

/// A unit for a number and how much of the base unit it is.
pub(super) fn unit(input: &Input) -> (&'static str, Exact) {
    match input.dim {
        Dim::Time if input.likely < Exact::from(HOUR) => ("min", Exact::from(60i64)),
        Dim::Time => ("h", Exact::from(HOUR)),
        Dim::Volume => ("mL", Exact::ONE),
        Dim::Mass => ("g", Exact::ONE),
        Dim::Area => ("cm2", Exact::ONE),
        Dim::Length => ("mm", Exact::ONE),
        Dim::Pieces => ("pcs", Exact::ONE),
        Dim::Power => ("W", Exact::ONE),
        Dim::Density => ("g/mL", Exact::ONE),
        // Of ratios only evaporation is ever assumed.
        Dim::Ratio => ("mL per h", Exact::ONE),
        Dim::Count | Dim::Share | Dim::Money | Dim::Rate | Dim::Pace => ("", Exact::ONE),
    }
}
