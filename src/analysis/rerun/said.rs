//! Questions about the lines of one iteration: which money, hours and print runs they tell of.

use std::collections::BTreeMap;

use super::turns::{Turn, end_of, is_order, start_of};
use crate::model::{
    AttendedAt, Happened, InvoiceOf, Moment, PartId, RecordLine, RouteId, Scenario,
};
use crate::sim::{Event, WorkAt};

/// How often the same part was ordered.
pub(super) fn times_ordered(turn: &Turn, lines: &[&RecordLine]) -> usize {
    let mut by_part: BTreeMap<Option<PartId>, usize> = BTreeMap::new();
    for line in lines.iter().filter(|l| matches!(l.what, Happened::Ordered { .. })) {
        let parts = match turn.pieces_of(line)[..] {
            [only] => Some(only.0),
            _ => line.part,
        };
        *by_part.entry(parts).or_default() += 1;
    }
    by_part.into_values().max().unwrap_or(1)
}

/// Order routes of an iteration.
pub(super) fn order_routes(turn: &Turn) -> Vec<RouteId> {
    let mut routes: Vec<RouteId> =
        turn.made.iter().map(|m| m.1).chain(turn.lines.iter().filter_map(|l| l.route)).collect();
    routes.sort_unstable();
    routes.dedup();
    routes
}

/// True for a line with money of an order by a route.
pub(super) fn is_money_of(turn: &Turn, line: &RecordLine, route: RouteId) -> bool {
    let money = matches!(
        line.what,
        Happened::Ordered { .. } | Happened::Invoice { of: InvoiceOf::Order, .. }
    );
    money && turn.routes_of(line).first() == Some(&route)
}

/// Routes of which work has begun.
pub(super) fn routes_begun(turn: &Turn) -> Vec<RouteId> {
    let works = |line: &&&RecordLine| {
        matches!(
            line.what,
            Happened::Started
                | Happened::Build { .. }
                | Happened::Ordered { .. }
                | Happened::InHand
        )
    };
    let mut routes: Vec<RouteId> =
        turn.lines.iter().filter(works).flat_map(|line| turn.routes_of(line)).collect();
    routes.sort_unstable();
    routes.dedup();
    routes
}

/// Hours of each recorded print run of a route; `None` where there is none, or one without hours.
pub(super) fn builds_of(turn: &Turn, route: RouteId) -> Option<Vec<(i64, bool)>> {
    let mut builds = Vec::new();
    for line in &turn.lines {
        if let Happened::Build { seconds, good } = line.what
            && turn.routes_of(line).contains(&route)
        {
            builds.push((seconds?, good));
        }
    }
    (!builds.is_empty()).then_some(builds)
}

/// True where a line tells the hours of a planned piece of work.
pub(super) fn is_work_of(
    scenario: &Scenario,
    line: &RecordLine,
    event: &Event,
    at: WorkAt,
) -> bool {
    let Happened::Attended { at: said, .. } = line.what else {
        return false;
    };
    let of_part = line.part.is_none() || event.part.is_none() || line.part == event.part;
    let of_route = line.route.is_none() || line.route == event.route || event.route.is_none();
    let step_name = |route: RouteId, step: u16| {
        let steps = &scenario.route(route).steps;
        steps.get(usize::from(step).saturating_sub(1)).map(|s| s.name.as_str())
    };
    let same = match (said, at) {
        (None, _) => true,
        (Some(AttendedAt::Brief), WorkAt::Brief) => true,
        (Some(AttendedAt::Order), WorkAt::OrderTime) => true,
        (Some(AttendedAt::Step(route, step)), WorkAt::Step) => {
            let mine = event.route.and_then(|r| step_name(r, event.step));
            mine.is_some() && mine == step_name(route, step)
        }
        _ => false,
    };
    of_part && of_route && same
}

/// Good print runs of a route, and the lines with them.
pub(super) fn good_builds(turn: &Turn, route: RouteId) -> usize {
    let good = |line: &&&RecordLine| {
        matches!(line.what, Happened::Build { good: true, .. })
            && turn.routes_of(line).contains(&route)
    };
    turn.lines.iter().filter(good).count()
}

/// Orders that are away: each part with its route, when it was ordered, and the line.
pub(super) fn away<'r>(
    scenario: &Scenario,
    turn: &Turn<'r>,
) -> Vec<(PartId, RouteId, Moment, &'r RecordLine)> {
    let mut lots = Vec::new();
    for line in turn.lines.iter().copied() {
        if !matches!(line.what, Happened::Ordered { .. }) {
            continue;
        }
        for (part, route) in turn.pieces_of(line) {
            let known = lots
                .iter()
                .any(|l: &(PartId, RouteId, Moment, &RecordLine)| (l.0, l.1) == (part, route));
            if is_order(scenario, route) && !turn.there.contains(&part) && !known {
                lots.push((part, route, start_of(scenario, line), line));
            }
        }
    }
    lots
}

/// The last moment a line tells of.
pub(super) fn last_moment(scenario: &Scenario, line: &RecordLine) -> Moment {
    let ends = line.is_outcome()
        || matches!(
            line.what,
            Happened::InHand | Happened::Build { .. } | Happened::Attended { .. }
        );
    if ends { end_of(scenario, line) } else { start_of(scenario, line) }
}
