//! What a record can be held against: print runs, hours and resin beside what the plan has for the same work.
//!
//! Enters: an iteration with what the one simulation made of it. Leaves: sums of planned and recorded figures, by route. Failed prints that
//! are recorded count as what they are, not as they were expected: how often a print fails is a lesson of its own.

use std::collections::BTreeMap;

use super::said::is_work_of;
use super::turns::Turn;
use crate::model::{AttendedAt, Exact, Happened, Hold, RouteId};
use crate::plan::Shop;
use crate::sim::{Event, Fate, Made, What, WorkAt};

/// A good print run beside its plan.
#[derive(Clone, Copy, Debug)]
pub(super) struct Print {
    pub route: RouteId,
    /// Layers, and mL of pieces and supports.
    pub layers: f64,
    pub solid: f64,
    /// Seconds as planned and as recorded, without a hold.
    pub planned: f64,
    pub actual: f64,
}

/// Planned and recorded figures of the same work.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct PlannedAndActual {
    pub planned: f64,
    pub actual: f64,
    /// How many records it rests on.
    pub count: u32,
}

impl PlannedAndActual {
    fn add(&mut self, planned: f64, actual: f64) {
        self.planned += planned;
        self.actual += actual;
        self.count += 1;
    }

    /// How many times as much as planned; `None` where nothing was planned or nothing recorded.
    pub fn factor(&self) -> Option<f64> {
        (self.planned > 0.0 && self.actual > 0.0).then(|| self.actual / self.planned)
    }
}

/// What the record shows so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Evidence {
    /// Failed print runs and all of them, by route.
    pub attempts: BTreeMap<RouteId, (u32, u32)>,
    /// Good print runs with their hours, in order.
    pub prints: Vec<Print>,
    /// Attended seconds by route; by step where the record names it.
    pub hours: BTreeMap<(RouteId, Option<WorkOf>), PlannedAndActual>,
    /// mL of resin drawn at the print, and mL of pieces and supports in what was planned for one run.
    pub resin: BTreeMap<RouteId, (PlannedAndActual, f64)>,
}

/// A print run: seconds where stated, and whether it was good.
type RunOf = (Option<i64>, bool);

/// At what somebody was busy.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum WorkOf {
    /// A step by its number.
    Step(u16),
    Brief,
    Order,
}

impl Evidence {
    /// Takes an iteration that is behind.
    pub fn observe(&mut self, shop: &Shop, turn: &Turn, (made, planned): (&[Made], &[Event])) {
        let mut routes: Vec<RouteId> = turn.made.iter().map(|m| m.1).collect();
        routes.sort_unstable();
        routes.dedup();
        for route in routes {
            let builds: Vec<&Made> = made.iter().filter(|m| m.route() == route).collect();
            let runs = runs(turn, route);
            if shop.route(route).print.is_some() && !runs.is_empty() {
                let failed = runs.iter().filter(|r| !r.1).count();
                let entry = self.attempts.entry(route).or_default();
                entry.0 += u32::try_from(failed).unwrap_or_default();
                entry.1 += u32::try_from(runs.len()).unwrap_or_default();
                self.prints(shop, route, (&builds, &runs));
                self.resin(shop, turn, (route, &runs, &builds, planned));
            }
            self.hours(shop, turn, (route, &runs, builds.len(), planned));
        }
    }

    /// Good runs are held against builds one by one: of one build every run, of several those of the same number in order.
    fn prints(&mut self, shop: &Shop, route: RouteId, (builds, runs): (&[&Made], &[RunOf])) {
        let good: Vec<Option<i64>> = runs.iter().filter(|r| r.1).map(|r| r.0).collect();
        if builds.is_empty() || (builds.len() > 1 && builds.len() != good.len()) {
            return;
        }
        let hold = match shop.scenario.route(route).steps.first().map(|s| s.hold) {
            Some(Hold::For(slot)) => shop.values.whole(slot),
            _ => 0,
        };
        for (at, seconds) in good.into_iter().enumerate() {
            let build = builds[at.min(builds.len() - 1)];
            let (Some(seconds), Some(planned)) = (seconds, build.print_seconds()) else {
                continue;
            };
            self.prints.push(Print {
                route,
                layers: build.layers() as f64,
                solid: build.solid().to_f64_lossy(),
                planned: (planned - hold) as f64,
                actual: seconds as f64,
            });
        }
    }

    fn hours(
        &mut self,
        shop: &Shop,
        turn: &Turn,
        (route, runs, builds, planned): (RouteId, &[RunOf], usize, &[Event]),
    ) {
        let mut by: BTreeMap<Option<WorkOf>, PlannedAndActual> = BTreeMap::new();
        for line in &turn.lines {
            let Happened::Attended { seconds, at } = line.what else { continue };
            if turn.routes_of(line) != [route] {
                continue;
            }
            let of = at.map(|at| match at {
                AttendedAt::Step(_, step) => WorkOf::Step(step),
                AttendedAt::Brief => WorkOf::Brief,
                AttendedAt::Order => WorkOf::Order,
            });
            by.entry(of).or_default().actual += seconds as f64;
        }
        // As often as the print was really started.
        let starts = (builds > 0 && !runs.is_empty()).then(|| runs.len() as f64 / builds as f64);
        for event in planned {
            let What::Work { at, seconds, times, once } = &event.what else { continue };
            let mine = event.route == Some(route) || (event.route.is_none() && *at != WorkAt::Step);
            if !mine {
                continue;
            }
            let times = match starts {
                Some(starts) if event.step == 1 && *at == WorkAt::Step => starts,
                _ => times.to_f64_lossy(),
            };
            let time = *seconds as f64 * times + *once as f64;
            let said = turn.lines.iter().filter(|l| is_work_of(shop.scenario, l, event, *at));
            // A line that names the step goes before one that does not.
            let of = match at {
                WorkAt::Step => WorkOf::Step(event.step),
                WorkAt::Brief => WorkOf::Brief,
                _ => WorkOf::Order,
            };
            let key = if by.contains_key(&Some(of)) { Some(of) } else { None };
            if said.count() > 0
                && let Some(pair) = by.get_mut(&key)
            {
                pair.planned += time;
            }
        }
        for (of, pair) in by {
            self.hours.entry((route, of)).or_default().add(pair.planned, pair.actual);
        }
    }

    /// Resin at the print: what is recorded, less what the plan has for the film that goes into baths.
    fn resin(
        &mut self,
        shop: &Shop,
        turn: &Turn,
        (route, runs, builds, planned): (RouteId, &[RunOf], &[&Made], &[Event]),
    ) {
        let Some(item) = shop.route(route).print.and_then(|p| p.resin) else { return };
        let users = turn
            .made
            .iter()
            .filter(|m| shop.route(m.1).print.and_then(|p| p.resin) == Some(item) && m.1 != route);
        let mut used = turn.lines.iter().filter_map(|line| match line.what {
            Happened::Used { item: of, amount } if of == item => Some((line.route, amount)),
            _ => None,
        });
        let alone = users.count() == 0;
        let recorded: Vec<i64> = used
            .by_ref()
            .filter(|u| u.0 == Some(route) || (u.0.is_none() && alone))
            .map(|u| u.1)
            .collect();
        if recorded.is_empty() || builds.is_empty() {
            return;
        }
        let film: i64 = planned
            .iter()
            .filter(|e| e.route == Some(route))
            .filter_map(|e| match &e.what {
                What::Draw(d) if d.item == item && matches!(d.to, Fate::Bath(_)) => Some(d.amount),
                _ => None,
            })
            .sum();
        let print = shop.route(route).print;
        let loss = print.map_or(0.0, |p| p.loss.to_f64_lossy());
        let solid: f64 = builds.iter().map(|b| b.solid().to_f64_lossy()).sum();
        let each = (solid + loss * builds.len() as f64) / builds.len() as f64;
        let spent = shop.route(route).steps.first().map_or(1.0, |s| s.spent.to_f64_lossy());
        let good = runs.iter().filter(|r| r.1).count() as f64;
        let failed = runs.len() as f64 - good;
        let actual = (recorded.iter().sum::<i64>() - film) as f64 / 1e6;
        let entry = self.resin.entry(route).or_default();
        entry.0.add(each * (good + failed * spent), actual);
        entry.1 = solid / builds.len() as f64;
    }
}

/// Print runs of a route: seconds where stated, and whether they were good.
fn runs(turn: &Turn, route: RouteId) -> Vec<RunOf> {
    let of_route = turn.lines.iter().filter(|line| turn.routes_of(line).contains(&route));
    let runs = of_route.filter_map(|line| match line.what {
        Happened::Build { seconds, good } => Some((seconds, good)),
        _ => None,
    });
    runs.collect()
}

/// A figure as text with at most four leading digits, as a number.
pub(super) fn short(value: f64) -> Option<Exact> {
    if !value.is_finite() {
        return None;
    }
    let size = value.abs().log10().floor();
    let decimals = if value == 0.0 { 0.0 } else { (3.0 - size).clamp(0.0, 9.0) };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and 9")]
    let text = format!("{value:.*}", decimals as usize);
    text.parse::<rust_decimal::Decimal>().ok().map(|d| Exact::from(d.normalize()))
}
