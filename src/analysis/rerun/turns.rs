//! The lines of a record by iteration: what was made by which route, when, and what came of it.

use std::collections::BTreeMap;

use crate::diag::{Code, Diagnostic};
use crate::model::{
    Happened, Moment, Outcome, PartId, Record, RecordLine, RouteId, RouteKind, Scenario,
};

/// One iteration as recorded.
#[derive(Clone, Debug)]
pub(super) struct Turn<'r> {
    /// Its number.
    pub n: u32,
    /// Its lines, in the order of the file.
    pub lines: Vec<&'r RecordLine>,
    /// What was made by which route, by part; a part can be there twice.
    pub made: Vec<(PartId, RouteId)>,
    /// When it began.
    pub began: Moment,
    /// When the last of what is in hand was.
    pub in_hand: Option<Moment>,
    /// Parts that are in hand.
    pub there: Vec<PartId>,
    /// What came of it, and when that was known.
    pub outcome: Option<(Outcome, Moment)>,
}

impl Turn<'_> {
    /// True where every part is in hand.
    pub fn is_in_hand(&self) -> bool {
        !self.made.is_empty() && self.made.iter().all(|m| self.there.contains(&m.0))
    }

    /// The routes a line is about: its own, or those of its part, or all of the iteration.
    pub fn routes_of(&self, line: &RecordLine) -> Vec<RouteId> {
        let of_line = |m: &&(PartId, RouteId)| {
            line.route.is_none_or(|r| r == m.1) && line.part.is_none_or(|p| p == m.0)
        };
        let mut routes: Vec<RouteId> = self.made.iter().filter(of_line).map(|m| m.1).collect();
        routes.extend(line.route);
        routes.sort_unstable();
        routes.dedup();
        routes
    }

    /// The parts a line is about, each with its route.
    pub fn pieces_of(&self, line: &RecordLine) -> Vec<(PartId, RouteId)> {
        let of_line = |m: &&(PartId, RouteId)| {
            line.route.is_none_or(|r| r == m.1) && line.part.is_none_or(|p| p == m.0)
        };
        self.made.iter().filter(of_line).copied().collect()
    }
}

/// The moment a line counts where something begins with it.
pub(super) fn start_of(scenario: &Scenario, line: &RecordLine) -> Moment {
    line.moment(scenario.hours.first_opening())
}

/// The moment a line counts where something ends with it.
pub(super) fn end_of(scenario: &Scenario, line: &RecordLine) -> Moment {
    line.moment(scenario.hours.spans.last().map_or(0, |span| span.1))
}

/// The iterations of a record in order, without a gap.
///
/// # Errors
/// Every place where the lines do not fit together.
pub(super) fn turns<'r>(
    scenario: &Scenario,
    record: &'r Record,
) -> Result<Vec<Turn<'r>>, Vec<Diagnostic>> {
    let mut by_number: BTreeMap<u32, Vec<&RecordLine>> = BTreeMap::new();
    for line in &record.lines {
        by_number.entry(line.iteration).or_default().push(line);
    }
    let mut found = Vec::new();
    let mut turns: Vec<Turn> = Vec::new();
    let mut before: BTreeMap<PartId, RouteId> = BTreeMap::new();
    for (n, lines) in by_number {
        let expected = turns.len() + 1;
        if n as usize != expected {
            let message = format!("iteration {n} follows iteration {}", expected - 1);
            let hint = format!("record iteration {expected} first, or correct the number");
            found.push(Diagnostic::error(Code::OutOfRange, &lines[0].place, message).hint(hint));
            break;
        }
        let made = made(scenario, (n, &lines), &before, &mut found);
        before.extend(made.iter().copied());
        let turn = turn(scenario, (n, lines, made), turns.last());
        found.extend(out_of_order(&turn));
        turns.push(turn);
    }
    if found.is_empty() { Ok(turns) } else { Err(found) }
}

fn turn<'r>(
    scenario: &Scenario,
    (n, lines, made): (u32, Vec<&'r RecordLine>, Vec<(PartId, RouteId)>),
    before: Option<&Turn>,
) -> Turn<'r> {
    let ended = before.and_then(|t| t.outcome.map(|o| o.1).or(t.in_hand));
    let begins = |line: &&&RecordLine| {
        !line.is_outcome() && !matches!(line.what, Happened::Invoice { .. } | Happened::InHand)
    };
    let began = lines.iter().filter(begins).map(|line| start_of(scenario, line)).min();
    let first = scenario.start.unwrap_or_default();
    let mut turn = Turn {
        n,
        made,
        began: began.or(ended).unwrap_or(first),
        in_hand: None,
        there: Vec::new(),
        outcome: None,
        lines,
    };
    let in_hand = turn.lines.iter().filter(|line| line.what == Happened::InHand);
    turn.in_hand = in_hand.clone().map(|line| end_of(scenario, line)).max();
    turn.there = in_hand.flat_map(|line| turn.pieces_of(line)).map(|piece| piece.0).collect();
    turn.outcome = outcome(scenario, &turn);
    turn
}

/// What came of an iteration as a whole: known where a line says so without naming a part, or says so of every part.
fn outcome(scenario: &Scenario, turn: &Turn) -> Option<(Outcome, Moment)> {
    let lines: Vec<&&RecordLine> = turn.lines.iter().filter(|line| line.is_outcome()).collect();
    let says = |part: PartId| lines.iter().any(|line| line.part.is_none_or(|p| p == part));
    if lines.is_empty() || !turn.made.iter().all(|m| says(m.0)) {
        return None;
    }
    let when = lines.iter().map(|line| end_of(scenario, line)).max()?;
    // Of each part the last word counts; the whole is as far as its least advanced part.
    let last = |part: Option<PartId>| {
        let of_part = |line: &&&&RecordLine| line.part.is_none() || line.part == part;
        lines.iter().rfind(of_part).map(|line| line.what)
    };
    let words: Vec<Happened> = if turn.made.is_empty() {
        last(None).into_iter().collect()
    } else {
        turn.made.iter().filter_map(|m| last(Some(m.0))).collect()
    };
    let any = |what: Happened| words.contains(&what);
    let outcome = if any(Happened::Failed) || any(Happened::Stopped) {
        Outcome::Failed
    } else if any(Happened::Redesign) {
        Outcome::Redesign
    } else {
        Outcome::Accepted
    };
    Some((outcome, when.max(turn.in_hand.unwrap_or(when))))
}

/// What does not follow in time.
fn out_of_order(turn: &Turn) -> Option<Diagnostic> {
    let ends = |line: &&&RecordLine| line.is_outcome() || line.what == Happened::InHand;
    let end = turn.outcome.map(|o| o.1).or(turn.in_hand)?;
    let line = turn.lines.iter().rfind(ends)?;
    (end < turn.began).then(|| {
        let n = turn.n;
        let message = format!("iteration {n} ends before it begins");
        Diagnostic::error(Code::BackwardsDates, &line.place, message)
            .hint("correct one of the dates of this iteration")
    })
}

/// What was made in an iteration, by part. Where no line names a part or a route, every part planned for it, each as last time.
fn made(
    scenario: &Scenario,
    (n, lines): (u32, &[&RecordLine]),
    before: &BTreeMap<PartId, RouteId>,
    found: &mut Vec<Diagnostic>,
) -> Vec<(PartId, RouteId)> {
    let parts = || (0..scenario.parts.len()).map(PartId::at);
    let planned = |part: &PartId| {
        let count = scenario.part(*part).iterations;
        count.is_none_or(|slot| i64::from(n) <= scenario.slots.likely(slot).to_whole())
    };
    let mut made: Vec<(PartId, RouteId)> =
        lines.iter().filter_map(|line| line.part.zip(line.route)).collect();
    for route in lines.iter().filter(|line| line.part.is_none()).filter_map(|line| line.route) {
        let open = |part: &PartId| !made.iter().any(|m| m.0 == *part && m.1 != route);
        let more: Vec<PartId> =
            parts().filter(|p| planned(p) && open(p) && scenario.route(route).is_for(*p)).collect();
        made.extend(more.into_iter().map(|part| (part, route)));
    }
    let named: Vec<PartId> = lines.iter().filter_map(|line| line.part).collect();
    let all = named.is_empty() && made.is_empty();
    let open: Vec<PartId> = if all { parts().filter(planned).collect() } else { named };
    for part in open {
        if made.iter().any(|m| m.0 == part) {
            continue;
        }
        match before.get(&part).copied().or_else(|| only_route(scenario, part)) {
            Some(route) => made.push((part, route)),
            None => found.push(no_route(scenario, n, part, lines[0])),
        }
    }
    made.sort_unstable();
    made.dedup();
    made
}

fn no_route(scenario: &Scenario, n: u32, part: PartId, line: &RecordLine) -> Diagnostic {
    let name = &scenario.part(part).name;
    let message = format!("iteration {n} does not say by which route `{name}` was made");
    let hint = "name part and route in one of its lines, such as one with `started`";
    Diagnostic::error(Code::MissingKey, &line.place, message).hint(hint)
}

/// The only route for a part, where there is no other.
fn only_route(scenario: &Scenario, part: PartId) -> Option<RouteId> {
    let mut routes = (0..scenario.routes.len()).map(RouteId::at);
    let first = routes.find(|r| scenario.route(*r).is_for(part))?;
    routes.all(|r| !scenario.route(r).is_for(part)).then_some(first)
}

/// True for an order route.
pub(super) fn is_order(scenario: &Scenario, route: RouteId) -> bool {
    matches!(scenario.route(route).kind, RouteKind::Order(_))
}
