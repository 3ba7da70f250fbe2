//! What changed between two runs: the difference of their verdicts, number by number.
//!
//! Enters: two kept runs and the scenario as it stands. Leaves: a [`Changes`]. The numbers that differ are exchanged one at a time, in the
//! order of the file, in the scenario as it stands; what each one moves is the verdict after it less the verdict before it. What is left
//! between the older run and the first of these verdicts comes of what is no number (a route, a row, a date, a text): it is named and stands
//! first, as one block. So the parts sum to the whole, whatever changed.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use super::changes_named::{Other, named};
use crate::analysis::answer::judged;
use crate::analysis::follow::{PlanResult, date_text, is_valid};
use crate::analysis::parallel::in_order;
use crate::analysis::sampling::Asking;
use crate::input::{Run, RunInput, RunVerdict, digests};
use crate::model::{Dim, Exact, Scenario, Slot, day_of, limits, texts};
use crate::plan::{Shop, Values};

/// What a verdict comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Came {
    /// The plan's name.
    pub plan: String,
    /// The route of each part.
    pub assign: BTreeMap<String, String>,
    /// What can still be avoided, with the final.
    pub avoidable: Exact,
    /// Money leaving.
    pub outlay: Exact,
    /// Seconds from start to in hand.
    pub seconds: i64,
}

/// A number that differs between the runs, in base units.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Number {
    /// Its slot in the scenario as it stands.
    pub slot: Slot,
    /// Low, likely and high in the older run.
    pub before: [Exact; 3],
    /// The same in the newer one.
    pub after: [Exact; 3],
}

/// What one change moved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// The numbers; several where the scenario has no answer with only some of them exchanged.
    pub numbers: Vec<Number>,
    /// True where what is no number is in it.
    pub others: bool,
    /// By how much what can be avoided grew.
    pub avoidable: Exact,
    /// By how much the outlay grew.
    pub outlay: Exact,
    /// By how many seconds the time to in hand grew.
    pub seconds: i64,
    /// The plan of the verdict after it, where that is another one than before it.
    pub plan: Option<String>,
}

/// What changed between two runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changes {
    /// The older verdict; `None` where no plan was feasible.
    pub before: Option<Came>,
    /// The newer one.
    pub after: Option<Came>,
    /// Changes in order. Where a verdict is missing on either side the numbers stand here without figures.
    pub moved: Vec<Moved>,
    /// What is no number, by key.
    pub others: Vec<Other>,
    /// The change after which the verdict is the newer one's plan for good, where the plans differ.
    pub tipped: Option<usize>,
}

impl Changes {
    /// True where the newer run took what the older one took, and came to the same.
    pub fn is_empty(&self) -> bool {
        self.moved.is_empty() && self.others.is_empty() && self.before == self.after
    }
}

/// A run as it is kept: everything that goes into an answer, and what came out.
pub fn run_of(
    shop: &Shop,
    verdict: Option<&PlanResult>,
    (by, options): (&str, BTreeMap<String, String>),
    files: &BTreeSet<PathBuf>,
) -> Run {
    let scenario = shop.scenario;
    let inputs = scenario.slots.iter().map(|(_, input)| RunInput {
        key: input.address.clone(),
        at: scenario.source(input.source).to_owned(),
        value: input.likely.to_string(),
        range: (input.low < input.high).then(|| [input.low, input.high].map(|v| v.to_string())),
    });
    Run {
        by: by.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        currency: scenario.currencies[0].code.clone(),
        options,
        files: digests(files),
        inputs: inputs.collect(),
        texts: texts(scenario, files),
        verdict: verdict.map(|plan| verdict_of(shop, plan)),
    }
}

fn verdict_of(shop: &Shop, plan: &PlanResult) -> RunVerdict {
    let (scenario, came) = (shop.scenario, came(shop, plan));
    let minor = scenario.minor();
    let in_hand = day_of(shop.start + came.seconds);
    RunVerdict {
        avoidable: plan.decides.avoidable.text(minor),
        outlay: plan.decides.outlay.text(minor),
        seconds: came.seconds,
        in_hand: scenario.start.map(|_| date_text(in_hand)),
        plan: came.plan,
        assign: came.assign,
    }
}

fn came(shop: &Shop, plan: &PlanResult) -> Came {
    let scenario = shop.scenario;
    let parts = scenario.parts.iter().map(|part| part.name.clone());
    let routes = plan.plan.assign.iter().map(|&route| scenario.route(route).name.clone());
    Came {
        plan: plan.plan.name.clone(),
        assign: parts.zip(routes).collect(),
        avoidable: plan.decides.avoidable.exact(),
        outlay: plan.decides.outlay.exact(),
        seconds: plan.decides.seconds,
    }
}

/// Compares two runs of a scenario. `asking` draws what is uncertain where a due date is given, as the newer run did.
///
/// # Errors
/// In words, where the amounts cannot be compared, or a run holds a number that no scenario may state.
pub fn changes(
    scenario: &Scenario,
    (before, after): (&Run, &Run),
    asking: &Asking,
) -> Result<Changes, String> {
    if before.currency != after.currency {
        return Err(format!(
            "one run is in {}, the other in {}: their amounts cannot be compared",
            before.currency, after.currency
        ));
    }
    let stood = Stood::new(scenario, (before, after))?;
    let others = named((before, after), &stood.numbers, scenario);
    let (was, is) = (read(before), read(after));
    let mut result = Changes { before: was, after: is, moved: Vec::new(), others, tipped: None };
    let (Some(was), Some(is)) = (&result.before, &result.after) else {
        let unknown = |number: Number| Moved { numbers: vec![number], ..Moved::nothing() };
        result.moved = stood.numbers.into_iter().map(unknown).collect();
        return Ok(result);
    };
    let course = in_order(stood.numbers.len() + 1, |done| stood.verdict(done, asking));
    result.moved = moves((was, is), stood.numbers, course, !result.others.is_empty());
    if was.plan != is.plan || was.assign != is.assign {
        result.tipped = result.moved.iter().rposition(|moved| moved.plan.is_some());
    }
    Ok(result)
}

fn read(run: &Run) -> Option<Came> {
    let verdict = run.verdict.as_ref()?;
    Some(Came {
        plan: verdict.plan.clone(),
        assign: verdict.assign.clone(),
        avoidable: exact(&verdict.avoidable),
        outlay: exact(&verdict.outlay),
        seconds: verdict.seconds,
    })
}

/// A figure of a run; those that are none are refused where the run is read.
fn exact(text: &str) -> Exact {
    text.parse::<rust_decimal::Decimal>().map_or(Exact::ZERO, Exact::from)
}

impl Moved {
    fn nothing() -> Moved {
        Moved {
            numbers: Vec::new(),
            others: false,
            avoidable: Exact::ZERO,
            outlay: Exact::ZERO,
            seconds: 0,
            plan: None,
        }
    }
}

/// From verdict to verdict: the block of what is no number, each number, and at the end what the scenario as it stands has otherwise than
/// the newer run. A change after which there is no answer is put together with the next one.
fn moves(
    (was, is): (&Came, &Came),
    numbers: Vec<Number>,
    course: Vec<Option<Came>>,
    others: bool,
) -> Vec<Moved> {
    let block = |others| Moved { others, ..Moved::nothing() };
    let steps = std::iter::once(block(true))
        .chain(numbers.into_iter().map(|n| Moved { numbers: vec![n], ..Moved::nothing() }))
        .chain([block(true)]);
    let reached = course.into_iter().chain([Some(is.clone())]);
    let mut result: Vec<Moved> = Vec::new();
    let (mut now, mut open) = (was.clone(), Moved::nothing());
    for (index, (step, reached)) in steps.zip(reached).enumerate() {
        open.numbers.extend(step.numbers);
        open.others |= step.others;
        let Some(next) = reached else {
            continue;
        };
        let done = std::mem::replace(&mut open, Moved::nothing()).between(&now, &next);
        // Blocks that moved nothing are told where something is in them.
        let idle = done.numbers.is_empty() && done.is_idle();
        if !idle || (others && index == 0) {
            result.push(done);
        }
        now = next;
    }
    result
}

impl Moved {
    fn between(self, a: &Came, b: &Came) -> Moved {
        let same = a.plan == b.plan && a.assign == b.assign;
        Moved {
            avoidable: b.avoidable - a.avoidable,
            outlay: b.outlay - a.outlay,
            seconds: b.seconds - a.seconds,
            plan: (!same).then(|| b.plan.clone()),
            ..self
        }
    }

    /// True where nothing was moved by it.
    pub fn is_idle(&self) -> bool {
        let still = self.avoidable.is_zero() && self.outlay.is_zero() && self.seconds == 0;
        still && self.plan.is_none()
    }
}

/// The scenario as it stands with the numbers of the newer run, and those that the older one has otherwise.
struct Stood {
    scenario: Scenario,
    /// In the order of the file.
    numbers: Vec<Number>,
}

impl Stood {
    fn new(now: &Scenario, (before, after): (&Run, &Run)) -> Result<Stood, String> {
        let of = |run: &Run| -> BTreeMap<String, RunInput> {
            run.inputs.iter().map(|input| (input.key.clone(), input.clone())).collect()
        };
        let (was, is) = (of(before), of(after));
        let mut scenario = now.clone();
        let mut numbers = Vec::new();
        for (slot, input) in now.slots.iter() {
            let (Some(was), Some(is)) = (was.get(&input.address), is.get(&input.address)) else {
                continue;
            };
            let [before, after] = [was, is].map(|run| run.spread().map(exact));
            for spread in [&before, &after] {
                if !may_be(now, slot, spread) {
                    return Err(format!(
                        "a kept run has {} for `{}`, which no scenario may state",
                        spread[1], input.address
                    ));
                }
            }
            put(&mut scenario, slot, &after);
            if before != after {
                numbers.push((place(&is.at), Number { slot, before, after }));
            }
        }
        numbers.sort_by(|a, b| (&a.0, a.1.slot).cmp(&(&b.0, b.1.slot)));
        Ok(Stood { scenario, numbers: numbers.into_iter().map(|n| n.1).collect() })
    }

    /// The verdict with so many of the numbers exchanged.
    fn verdict(&self, done: usize, asking: &Asking) -> Option<Came> {
        let mut scenario = self.scenario.clone();
        self.numbers[done..].iter().for_each(|n| put(&mut scenario, n.slot, &n.before));
        let planned = scenario.planned();
        scenario.iterations.horizon = scenario.iterations.horizon.max(planned);
        let values = Values::planning(&scenario.slots);
        let shop = Shop::new(&scenario, &values);
        let valid = is_valid(&shop);
        let asking = Some(asking).filter(|a| scenario.due.is_some() && a.samples > 0);
        valid.then(|| judged(&shop, asking)).flatten().map(|plan| came(&shop, &plan))
    }
}

fn put(scenario: &mut Scenario, slot: Slot, [low, likely, high]: &[Exact; 3]) {
    let input = scenario.slots.get_mut(slot);
    (input.low, input.likely, input.high) = (*low, *likely, *high);
}

/// Scenario before sheets, sheets by name, lines in order; what is written nowhere comes last.
fn place(at: &str) -> (u8, String, usize) {
    let line = at.split(' ').next().unwrap_or_default().rsplit_once(':');
    match line.and_then(|(file, line)| Some((file, line.parse().ok()?))) {
        Some((file, line)) => (u8::from(file.ends_with(".csv")), file.to_owned(), line),
        None => (2, at.to_owned(), 0),
    }
}

/// True for what loading would let pass: a run is a file that anyone may have edited.
fn may_be(scenario: &Scenario, slot: Slot, spread: &[Exact; 3]) -> bool {
    let input = scenario.slots.get(slot);
    let whole = input.dim == Dim::Count;
    let most = match input.dim {
        Dim::Count if slot == scenario.iterations.planned => limits::HORIZON,
        Dim::Count => limits::COPIES,
        Dim::Time => limits::TIME,
        Dim::Money | Dim::Rate => limits::MONEY,
        _ => limits::QUANTITY,
    };
    // What is above 0, or below 1, in a scenario that is valid stays so.
    let least = if input.low > Exact::ZERO && whole { Exact::ONE } else { Exact::ZERO };
    let chance = [".spoil", ".misread", ".reject"].iter().any(|end| input.address.ends_with(end));
    let in_range =
        |v: &Exact| *v >= least && *v <= Exact::from(most) && !(chance && *v >= Exact::ONE);
    spread.iter().all(in_range)
        && spread.windows(2).all(|pair| pair[0] <= pair[1])
        && (!whole || spread[1] == Exact::from(spread[1].to_whole()))
}
