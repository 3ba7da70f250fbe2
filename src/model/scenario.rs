//! The scenario as meant: valid by construction.

use super::{
    Calendar, Currency, Day, Equipment, Exact, Hours, Item, Moment, Part, PartId, RateRows, Route,
    RouteId, Slot, Slots, SourceId,
};

/// The question, ready to be asked.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// Title for reports.
    pub title: String,
    /// The folder's name.
    pub name: String,
    /// Every number.
    pub slots: Slots,
    /// Every source by [`SourceId`]: `materials.csv:2`, `scenario.toml:4 labour`, `assumed: supports`.
    pub sources: Vec<String>,
    /// Where each of them is written, by [`SourceId`]; `None` for a rule.
    pub places: Vec<Option<crate::diag::Place>>,
    /// Currencies met; 0 is the scenario's.
    pub currencies: Vec<Currency>,
    /// Exchange rates into the scenario's currency, by currency; for what is not ordered.
    pub exchange: Vec<RateRows>,
    /// First release; `None`: day 1 is a Monday.
    pub start: Option<Moment>,
    /// In hand before midnight at the end of this day.
    pub due: Option<Day>,
    /// Wanted chance of being done by `due`.
    pub sure: Slot,
    /// Share within which two costs are about equal.
    pub close: Slot,
    /// Money there is.
    pub budget: Option<Slot>,
    /// Labour per hour; `None`: hours are shown, money is not counted.
    pub labour: Option<Slot>,
    /// True where own hours are paid out.
    pub labour_paid: bool,
    /// Seed of sampled runs.
    pub seed: u64,
    /// The iterations.
    pub iterations: Iterations,
    /// The final, if asked.
    pub last: Option<Final>,
    /// When the bench is open.
    pub hours: Hours,
    /// Business-day calendars; 0 is Monday to Friday.
    pub calendars: Vec<Calendar>,
    /// Parts by name.
    pub parts: Vec<Part>,
    /// Routes by name.
    pub routes: Vec<Route>,
    /// Named plans by name; empty: every feasible assignment is tried.
    pub plans: Vec<NamedPlan>,
    /// Materials and supplies by name.
    pub items: Vec<Item>,
    /// Baths by name.
    pub baths: Vec<super::Bath>,
    /// Equipment by name.
    pub equipment: Vec<Equipment>,
    /// Electricity per kWh.
    pub electricity: RateRows,
    /// Currency of the electricity rate.
    pub electricity_currency: super::CurrencyId,
    /// What has no price, in words.
    pub not_counted: Vec<String>,
    /// What really happened so far; `None` where no record is kept.
    pub record: Option<super::Record>,
    /// What that comes to, and where things stand; worked out from it by `analysis`.
    pub past: Option<super::Past>,
}

/// How often the design turns, and how long thinking takes.
#[derive(Clone, Debug)]
pub struct Iterations {
    /// Iterations expected ([`super::Dim::Count`], at least 1).
    pub planned: Slot,
    /// How the count is drawn in a sampled run.
    pub drawn: CountDraw,
    /// Last iteration of the curves.
    pub horizon: u32,
    /// Design hours of looking at the pieces.
    pub evaluate: Slot,
    /// Design hours until the next version.
    pub redesign: Slot,
    /// Share of the redesign that is done while pieces are being made.
    pub overlap: Slot,
    /// Money per day of waiting.
    pub delay_cost_per_day: Option<Slot>,
}

/// How a sampled run draws the number of iterations.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CountDraw {
    /// From the spread of `planned`.
    Spread,
    /// Each iteration is accepted with this chance: a geometric count.
    Accepted(Exact),
    /// From a table of counts, ascending, and their chances, which sum to 1.
    Table(Vec<(u32, Exact)>),
}

/// The accepted design made again.
#[derive(Clone, Debug)]
pub struct Final {
    /// Routes that differ from the plan's.
    pub assign: Vec<(PartId, RouteId)>,
    /// Copies of every part; absent: the part's own.
    pub copies: Option<Slot>,
    /// Chance that it is accepted.
    pub accept: Slot,
    /// Where it is written.
    pub source: SourceId,
}

impl Final {
    /// The route it assigns a part to, where that is not left to the plan.
    pub fn route_of(&self, part: PartId) -> Option<RouteId> {
        self.assign.iter().rev().find(|a| a.0 == part).map(|a| a.1)
    }
}

/// A plan the user named.
#[derive(Clone, Debug)]
pub struct NamedPlan {
    /// Its name.
    pub name: String,
    /// Route of each part, by [`PartId`].
    pub assign: Vec<RouteId>,
    /// Several variants of each part in one iteration, where stated.
    pub variants: Option<Variants>,
    /// Second routes of parts, by part; a part has at most one.
    pub beside: Vec<Beside>,
    /// Where it is written.
    pub source: SourceId,
}

/// A second route for a part, beside the plan's own, in the first iterations.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Beside {
    /// The part.
    pub part: PartId,
    /// The second route.
    pub route: RouteId,
    /// The last iteration in which the part is made by it too.
    pub until: u32,
}

/// Several variants of each part made and judged in one iteration.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Variants {
    /// How many ([`super::Dim::Count`], at least 1).
    pub count: Slot,
    /// What each further variant is worth, as a share of an iteration ([`super::Dim::Share`]).
    pub worth: Slot,
}

impl Scenario {
    /// Decimals of the scenario's currency.
    pub fn minor(&self) -> u32 {
        self.currencies[0].minor
    }

    /// The source text of a number or entry.
    pub fn source(&self, id: SourceId) -> &str {
        self.sources.get(id.0 as usize).map_or("", String::as_str)
    }

    /// Planned iterations.
    pub fn planned(&self) -> u32 {
        u32::try_from(self.slots.likely(self.iterations.planned).to_whole()).unwrap_or(1).max(1)
    }

    /// Iterations that are behind: 0 without a record.
    pub fn done(&self) -> u32 {
        self.past.as_ref().map_or(0, |past| past.done)
    }

    /// A part.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.index()]
    }

    /// A route.
    pub fn route(&self, id: RouteId) -> &Route {
        &self.routes[id.index()]
    }
}
