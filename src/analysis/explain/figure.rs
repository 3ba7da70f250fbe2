//! Which figures can be asked for, and their trees.

use super::dates::{self, Moment};
use super::entry::own;
pub use super::group::Within;
use super::group::{self, Span};
use super::{How, Node, Story};
use crate::analysis::answer::Answer;
use crate::analysis::compare::{BreakEven, By};
use crate::analysis::follow::{Outcome, PlanResult};
use crate::ledger::Total;
use crate::model::{Exact, ItemClass, Money};
use crate::plan::Shop;
use crate::sim::Stop;

/// A figure that a report shows of a plan.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FigureKind {
    /// A total of money.
    Money(Total),
    /// Attended hours.
    Attended,
    /// Days from the start to in hand.
    Days,
    /// The moment of the last piece in hand.
    InHand,
    /// The moment of a release.
    Release,
    /// What is drawn of resin, solvent or dye.
    Drawn(ItemClass),
    /// What is discarded.
    Waste,
    /// Chance of a failure in an iteration.
    Risk,
    /// Days one failure adds.
    Adds,
}

impl FigureKind {
    /// All of them.
    pub const ALL: [FigureKind; 13] = [
        FigureKind::Money(Total::Avoidable),
        FigureKind::Money(Total::Outlay),
        FigureKind::Money(Total::Consumed),
        FigureKind::Attended,
        FigureKind::Days,
        FigureKind::InHand,
        FigureKind::Release,
        FigureKind::Drawn(ItemClass::Resin),
        FigureKind::Drawn(ItemClass::Solvent),
        FigureKind::Drawn(ItemClass::Dye),
        FigureKind::Waste,
        FigureKind::Risk,
        FigureKind::Adds,
    ];

    /// The word it is asked for by.
    pub fn name(self) -> &'static str {
        match self {
            FigureKind::Money(Total::Avoidable) => "avoidable",
            FigureKind::Money(Total::Outlay) => "outlay",
            FigureKind::Money(Total::Consumed) => "consumed",
            FigureKind::Attended => "attended",
            FigureKind::Days => "days",
            FigureKind::InHand => "in_hand",
            FigureKind::Release => "release",
            FigureKind::Drawn(ItemClass::Solvent) => "solvent",
            FigureKind::Drawn(ItemClass::Dye) => "dye",
            FigureKind::Drawn(_) => "resin",
            FigureKind::Waste => "waste",
            FigureKind::Risk => "risk",
            FigureKind::Adds => "adds",
        }
    }
}

/// A figure as asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// Which.
    pub kind: FigureKind,
    /// Of which plan, by its index in the ranking.
    pub plan: usize,
    /// After so many iterations; `None`: as planned, with the final, which is what decides.
    pub at: Option<At>,
    /// A part of it.
    pub within: Within,
}

/// A count of iterations.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct At {
    /// Iterations, from 1.
    pub n: u32,
    /// With the final on top.
    pub with_final: bool,
}

/// Why a figure has no tree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unexplained {
    /// The plan cannot be carried out so far.
    Stopped(Stop),
    /// A category or item is not in the figure; these are.
    NotThere {
        /// What was asked for.
        what: String,
        /// What there is.
        known: Vec<String>,
    },
}

impl From<Stop> for Unexplained {
    fn from(stop: Stop) -> Unexplained {
        Unexplained::Stopped(stop)
    }
}

/// The tree of a figure. Of a plan on an unproven route the figures that decide are expected ones; those at a count are of the route working.
///
/// ```
/// use flipcount::analysis::{Figure, FigureKind, Within};
/// use flipcount::ledger::Total;
/// use flipcount::{analysis, plan};
///
/// # let loaded = flipcount::model::load("scenarios/first-look".as_ref(), &Default::default());
/// # let scenario = loaded.scenario.expect("the first look is valid");
/// # let values = plan::Values::planning(&scenario.slots);
/// # let shop = plan::Shop::new(&scenario, &values);
/// # let answer = analysis::answer(&shop).expect("few enough plans");
/// let asked = Figure {
///     kind: FigureKind::Money(Total::Avoidable),
///     plan: 0,
///     at: None,
///     within: Within::default(),
/// };
/// let tree = analysis::figure(&shop, &answer, &asked).expect("the plan can be carried out");
/// // It is what the answer says, and every node below follows from its children.
/// assert_eq!(tree.value, answer.plans[0].decides.avoidable.exact());
/// assert!(tree.walk().count() > 20);
/// ```
///
/// # Errors
/// [`Unexplained`] where the plan cannot be carried out so far, or has nothing of a category or item.
pub fn figure(shop: &Shop, answer: &Answer, asked: &Figure) -> Result<Node, Unexplained> {
    let result = &answer.plans[asked.plan];
    match asked.kind {
        FigureKind::Risk => return Ok(dates::risk(shop, &result.plan)),
        FigureKind::Adds => return Ok(dates::adds(shop, &result.plan)),
        _ => {}
    }
    if let Some(expected) = expected(shop, answer, asked) {
        return Ok(expected);
    }
    let planned = At { n: shop.planned, with_final: true };
    let at = asked.at.unwrap_or(planned);
    // The entries of the budget file are those of the planned count with the final.
    let numbered = at.n <= shop.planned && (!at.with_final || at.n == shop.planned);
    let to = if numbered { planned } else { at };
    let story = Story::of(shop, &result.plan, to.n, to.with_final)?;
    told(&story, asked, Span { n: at.n, with_final: at.with_final, numbered })
}

fn told(story: &Story, asked: &Figure, span: Span) -> Result<Node, Unexplained> {
    let within = &asked.within;
    match asked.kind {
        FigureKind::Money(total) => group::money(story, total, span, within),
        FigureKind::Attended => group::attended(story, span, within),
        FigureKind::Drawn(class) => group::drawn(story, class, span, within),
        FigureKind::Waste => group::waste(story, span, within),
        FigureKind::InHand | FigureKind::Release => {
            let to =
                if asked.kind == FigureKind::InHand { Moment::InHand } else { Moment::Release };
            let node = dates::seconds(story, span, to);
            let when = story.moment(story.shop.start + node.value.to_whole());
            Ok(node.shown(when))
        }
        _ => Ok(dates::days(story, span)),
    }
}

/// The expected figure of a plan on an unproven route; `None` where the figure is that of the route working, or the plan has none.
fn expected(shop: &Shop, answer: &Answer, asked: &Figure) -> Option<Node> {
    let best = answer.plans[asked.plan].unproven.as_ref()?.best();
    let stop = |at: At| answer.stops.iter().position(|s| s.n == at.n && at.with_final);
    let of = |outcome: &Outcome| match (asked.kind, asked.at) {
        (FigureKind::Money(Total::Avoidable), Some(at)) => {
            outcome.costs.get(stop(at)?).map(|c| c.exact())
        }
        (_, Some(_)) => None,
        (FigureKind::Money(total), None) => Some(match total {
            Total::Avoidable => outcome.figures.avoidable.exact(),
            Total::Outlay => outcome.figures.outlay.exact(),
            Total::Consumed => outcome.figures.consumed.exact(),
        }),
        (FigureKind::Attended, None) => Some(outcome.figures.attended),
        (FigureKind::Waste, None) => Some(Exact::from_millionths(outcome.figures.waste)),
        _ => None,
    };
    if asked.within != Within::default() {
        return None;
    }
    let (unit, decimals) = match asked.kind {
        FigureKind::Money(_) => (own(shop), shop.scenario.minor()),
        FigureKind::Attended => ("h", 28),
        _ => ("mL", super::material::MICRO),
    };
    let each: Option<Vec<Node>> = best
        .outcomes
        .iter()
        .map(|outcome| {
            let how = if outcome.works { "as hoped" } else { "not as hoped" };
            let parts = vec![
                Node::happened("chance", outcome.chance, ""),
                Node::happened(format!("if it turns out {how}, simulated"), of(outcome)?, unit),
            ];
            Some(Node::of(How::Product, format!("chance x figure, {how}"), unit, parts))
        })
        .collect();
    let sum = Node::of(How::Sum, "expected over what can happen", unit, each?);
    Some(Node::of(How::Rounded(decimals), "", unit, vec![sum]))
}

/// Where the curves of two plans cross: their difference after each count of iterations.
pub fn break_even(shop: &Shop, answer: &Answer, (a, b): (usize, usize), by: By) -> Option<Node> {
    let same = |e: &&BreakEven| e.by == by && ((e.a, e.b) == (a, b) || (e.a, e.b) == (b, a));
    let found = answer.break_even.iter().find(same)?;
    let (a, b) = (found.a, found.b);
    let curve = |p: &PlanResult| -> Vec<Exact> {
        let money = |of: &[Money]| of.iter().map(|m| m.exact()).collect();
        match by {
            By::Avoidable => money(&p.curves.avoidable),
            By::Outlay => money(&p.curves.outlay),
            By::Days => p.curves.seconds.iter().map(|&s| Exact::from(s)).collect(),
        }
    };
    let unit = if by == By::Days { "s" } else { own(shop) };
    let (first, second) = (&answer.plans[a], &answer.plans[b]);
    let each = curve(first).into_iter().zip(curve(second)).zip(1u32..);
    let each = each.map(|((x, y), n)| {
        let mark = if found.crossings.contains(&n) { ": the order changes" } else { "" };
        let parts = vec![
            Node::happened(&first.plan.name, x, unit),
            Node::happened(&second.plan.name, y, unit),
        ];
        Node::of(How::Difference, format!("after {n}{mark}"), unit, parts)
    });
    let counts: Vec<String> = found.crossings.iter().map(u32::to_string).collect();
    let shown = match (found.n_star, counts.is_empty()) {
        (Some(n_star), _) => format!("{} (straight lines)", n_star.half_away(2)),
        (None, true) => "no crossing".to_owned(),
        (None, false) => counts.join(", "),
    };
    let last = found.crossings.last().copied().unwrap_or(0);
    let value = found.n_star.unwrap_or_else(|| Exact::from(last));
    let node = Node { children: each.collect(), ..Node::happened("", value, "") };
    Some(node.shown(shown))
}

/// What the change of plan costs, by category, and what it saves against the best plan. `None` where no change pays.
///
/// # Errors
/// [`Unexplained`] where it cannot be carried out.
pub fn switch(shop: &Shop, answer: &Answer) -> Option<Result<Node, Unexplained>> {
    let switch = answer.switch.as_ref()?;
    let then = &answer.plans[switch.then];
    let best = answer.plans.first()?.decides.avoidable;
    let unit = own(shop);
    let cost = || -> Result<Node, Unexplained> {
        let story = Story::switched(shop, (&switch.first, switch.after), &then.plan)?;
        let span = Span { n: shop.planned, with_final: true, numbered: false };
        let cost = group::money(&story, Total::Avoidable, span, &Within::default())?;
        Ok(if cost.value == switch.avoidable.exact() {
            cost
        } else {
            Node::happened("", switch.avoidable.exact(), unit)
        })
    };
    Some(cost().map(|cost| {
        let label =
            format!("{} to iteration {}, then {}", switch.first.name, switch.after, then.plan.name);
        let parts =
            vec![Node::happened("the best plan", best.exact(), unit), Node { label, ..cost }];
        Node::of(How::Difference, "", unit, parts)
    }))
}
