//! Dates: how the days of a plan come together, how likely a failure is and what one adds.

use super::group::Span;
use super::{How, Node, Story, time};
use crate::analysis::follow::{in_hand, places};
use crate::model::{DAY, Exact, RouteKind};
use crate::plan::{Plan, Shop};
use crate::sim::{Dates, Upset, What, WorkAt};

/// Which moment is asked about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Moment {
    /// The last piece is in hand.
    InHand,
    /// Making begins.
    Release,
}

/// Seconds from the start to a moment of the last iteration (or the final) of a span.
pub(super) fn seconds(story: &Story, span: Span, to: Moment) -> Node {
    let counts = |d: &&Dates| match story.last {
        Some(last) if last == d.iteration => span.with_final,
        _ => d.iteration <= span.n,
    };
    let dates: Vec<&Dates> = story.dates.iter().filter(counts).collect();
    let mut sum = Vec::new();
    let mut before: Option<&Dates> = None;
    if let Some(first) = dates.first().filter(|first| first.release != story.shop.start) {
        let label = format!("until {} is released", story.turn(first.iteration));
        sum.push(Node::happened(label, first.release - story.shop.start, "s"));
    }
    for (at, date) in dates.iter().enumerate() {
        if let Some(before) = before {
            sum.push(between(story, before, date));
        }
        if to == Moment::InHand || at + 1 < dates.len() {
            sum.push(making(story, date));
        }
        before = Some(date);
    }
    let node = Node::of(How::Sum, "time since the start", "s", sum);
    let when = story.shop.start + node.value.to_whole();
    let shown = format!("{} after {}", story.moment(when), story.moment(story.shop.start));
    Node { label: format!("until {shown}"), ..node }
}

/// The same in days.
pub(super) fn days(story: &Story, span: Span) -> Node {
    Node::of(How::InUnits(DAY), "", "days", vec![seconds(story, span, Moment::InHand)])
}

/// The time an iteration is in the making, with what begins when.
fn making(story: &Story, date: &Dates) -> Node {
    let label = format!(
        "{} made, {} to {}",
        story.turn(date.iteration),
        story.moment(date.release),
        story.moment(date.in_hand)
    );
    let begun = story.events.iter().filter(|e| e.iteration == date.iteration);
    let steps = begun.filter_map(|event| {
        let name = match &event.what {
            What::Work { at: WorkAt::Step, .. } => {
                time::step_of(story.shop, event).map_or("step", |s| s.name.as_str())
            }
            What::Work { at: WorkAt::Brief, .. } => "explaining",
            What::Work { at: WorkAt::OrderTime, .. } => "ordering",
            What::Order(_) => "order placed",
            _ => return None,
        };
        let route = event.route.map(|r| story.shop.scenario.route(r).name.as_str());
        let route = route.map_or(String::new(), |r| format!(" by {r}"));
        let after = event.when - date.release;
        let node = Node::happened(format!("{name}{route} begins"), after, "s");
        Some(node.shown(story.moment(event.when)))
    });
    let children = steps.collect();
    Node { children, ..Node::happened(label, date.in_hand - date.release, "s") }.of_many()
}

/// The time from an in hand to the next release: evaluate, and redesign where there is one.
fn between(story: &Story, before: &Dates, next: &Dates) -> Node {
    let shop = story.shop;
    let design = &shop.scenario.iterations;
    let mut parts = vec![stretch(
        Node::whole_input(shop, design.evaluate, "time to evaluate"),
        format!("evaluated until {}, in opening hours", story.moment(before.evaluated)),
        before.evaluated - before.in_hand,
    )];
    let rest = next.release - before.evaluated;
    if rest > 0 {
        let time = Node::whole_input(shop, design.redesign, "time to redesign");
        let time = if shop.values.exact(design.overlap).is_zero() {
            time
        } else {
            let one = Node::happened("all of it", 1i64, "");
            let overlap = Node::input(shop, design.overlap, "share done while pieces are made");
            let later = Node::of(How::Difference, "share that is left", "", vec![one, overlap]);
            Node::of(How::Product, "what is left of the redesign", "s", vec![time, later])
        };
        let label = format!("redesigned until {}, in opening hours", story.moment(next.release));
        parts.push(stretch(time, label, rest));
    }
    Node::of(How::Sum, format!("thought about after {}", story.turn(before.iteration)), "s", parts)
}

/// A stretch of time that rests on an input, and on opening hours.
fn stretch(input: Node, label: String, seconds: i64) -> Node {
    Node { children: vec![input], ..Node::happened(label, seconds, "s") }
}

/// The chance of at least one failure in iteration 1.
pub(super) fn risk(shop: &Shop, plan: &Plan) -> Node {
    let places = places(shop, plan).into_iter().map(|(upset, _)| chance(shop, upset));
    Node::of(How::AtLeastOne, "", "", places.collect())
}

/// The chance of failing at one place.
fn chance(shop: &Shop, upset: Upset) -> Node {
    let route = shop.scenario.route(upset.route);
    let step = upset.step.and_then(|s| route.steps.get(s));
    if let Some((name, slot)) = step.and_then(|s| Some((&s.name, s.spoil?))) {
        return Node::input(shop, slot, &format!("`{name}` of {} spoils it", route.name));
    }
    let (misread, reject) = match &route.kind {
        RouteKind::Order(terms) => (terms.misread, terms.reject),
        RouteKind::Bench(_) => (None, None),
    };
    let is = |slot: &crate::model::Slot| !shop.values.exact(*slot).is_zero();
    let misread = misread.filter(is).map(|s| Node::input(shop, s, "the lot is misread"));
    let reject = reject.filter(is).map(|s| Node::input(shop, s, "the lot is rejected"));
    let label = format!("a lot of {} is wrong", route.name);
    Node::of(How::AtLeastOne, label, "", misread.into_iter().chain(reject).collect())
}

/// Days one failure adds: iteration 1 with a failure at each place, weighed by how likely it is there.
pub(super) fn adds(shop: &Shop, plan: &Plan) -> Node {
    let places = places(shop, plan);
    let clean = in_hand(shop, plan, None);
    let late = |upset: Upset| {
        let late = clean.zip(in_hand(shop, plan, Some(upset))).map_or(0, |(c, l)| l - c);
        let late = Node::happened("later in hand, simulated", late, "s");
        let days = Node::of(How::InUnits(DAY), "days later", "days", vec![late]);
        Node::of(How::Product, "chance x days", "days", vec![chance(shop, upset), days])
    };
    let sum = places.iter().map(|&(upset, _)| late(upset)).collect();
    let chances = places.iter().map(|&(upset, _)| chance(shop, upset)).collect();
    if places.is_empty() {
        return Node::happened("", Exact::ZERO, "days");
    }
    let parts = vec![
        Node::of(How::Sum, "all places where it can fail", "days", sum),
        Node::of(How::Sum, "all chances", "", chances),
    ];
    Node::of(How::Quotient, "", "days", parts)
}
