//! Time: attended hours, machine hours, print time, and how often a step that can fail is expected to run.

use super::{How, Node, Story};
use crate::model::{Exact, HOUR, Hold, Print, PrintTime, Route, RouteId, RouteKind, Slot, Step};
use crate::plan::Shop;
use crate::sim::{Event, Made, WorkAt};

/// The stated step of an event.
pub(super) fn step_of<'a>(shop: &Shop<'a>, event: &Event) -> Option<&'a Step> {
    let route = event.route?;
    shop.scenario.route(route).steps.get(step_index(event)?)
}

/// The index of an event's step.
pub(super) fn step_index(event: &Event) -> Option<usize> {
    usize::from(event.step).checked_sub(1)
}

/// The chances of failing of the steps of a route from one on.
fn chances(shop: &Shop, route: RouteId, from: usize) -> Vec<Node> {
    let steps = shop.scenario.route(route).steps.iter().skip(from);
    let chance = |step: &Step| {
        let slot = step.spoil.filter(|&s| !shop.values.exact(s).is_zero())?;
        Some(Node::input(shop, slot, &format!("chance that `{}` spoils it", step.name)))
    };
    steps.filter_map(chance).collect()
}

/// How often a step is started for each good build; `None` where that is once.
pub(super) fn starts(shop: &Shop, route: RouteId, step: usize) -> Option<Node> {
    let chances = chances(shop, route, step);
    let label = "starts for each good build: 1 / chance that nothing fails from here on";
    (!chances.is_empty()).then(|| Node::of(How::Repeats, label, "", chances))
}

/// How often a step is expected to run for each good build, a failing start counting with the share spent; `None` where that is once.
pub(super) fn runs(shop: &Shop, route: RouteId, step: usize) -> Option<Node> {
    let starts = starts(shop, route, step)?;
    let stated = shop.scenario.route(route).steps.get(step)?;
    let own = stated.spoil.filter(|&s| !shop.values.exact(s).is_zero());
    let spent = stated.spent_share.filter(|&s| shop.values.exact(s) != Exact::ONE);
    let (Some(own), Some(spent)) = (own, spent) else {
        return Some(starts);
    };
    let parts = vec![
        Node::input(shop, own, "chance that it fails"),
        Node::input(shop, spent, "share spent then"),
    ];
    let ran = Node::of(
        How::Spent,
        "share of a start that is run: 1 - chance + chance x share spent",
        "",
        parts,
    );
    Some(Node::of(How::Product, "expected runs for each good build", "", vec![starts, ran]))
}

/// How often a part line is paid for each good lot; `None` where that is once.
pub(super) fn repeats(shop: &Shop, route: RouteId) -> Option<Node> {
    let terms = shop.terms(route)?;
    let misread = terms.misread.filter(|&s| !shop.values.exact(s).is_zero());
    let misread = misread.map(|slot| Node::input(shop, slot, "chance that the lot is misread"));
    let chances: Vec<Node> = misread.into_iter().chain(chances(shop, route, 0)).collect();
    let label = "times a good lot is paid: 1 / chance that nothing goes wrong";
    (!chances.is_empty()).then(|| Node::of(How::Repeats, label, "", chances))
}

/// A figure times what it counts for.
pub(super) fn times(label: &str, unit: &str, what: Node, often: Option<Node>) -> Node {
    match often {
        Some(often) => Node::of(How::Product, label, unit, vec![what, often]),
        None => what,
    }
}

/// The pieces of a build.
pub(super) fn pieces(shop: &Shop, made: &Made) -> Node {
    let each = |(part, copies): (crate::model::PartId, i64)| {
        Node::happened(format!("{} in it", shop.scenario.part(part).name), copies, "pcs")
    };
    Node::of_some(How::Sum, "pieces in the build", "pcs", made.parts().map(each).collect())
}

/// Attended seconds of one run of a step, which are known: of several builds the one that takes so long is meant.
fn attended(story: &Story, event: &Event, slot: Slot, seconds: i64) -> Node {
    let shop = story.shop;
    let time = || Node::whole_input(shop, slot, "attended time");
    if !step_of(shop, event).is_some_and(|s| s.per_piece) {
        return time();
    }
    let each = shop.values.whole(slot);
    let made = story.made(event).find(|m| m.pieces() * each == seconds);
    match made {
        Some(made) => {
            let label = "attended time of all pieces";
            Node::of(How::Product, label, "s", vec![time(), pieces(shop, made)])
        }
        None => time(),
    }
}

/// Attended hours.
pub(super) fn work(story: &Story, index: usize, at: WorkAt, (seconds, once): (i64, i64)) -> Node {
    let event = &story.events[index];
    let total = match at {
        WorkAt::Step => step_work(story, event, (seconds, once)),
        WorkAt::Brief => brief(story.shop, event, seconds),
        WorkAt::OrderTime => order_time(story, index, seconds),
        WorkAt::Recorded => Node::happened("recorded time", seconds, "s"),
    };
    Node::of(How::InUnits(HOUR), "attended hours", "h", vec![total])
}

fn step_work(story: &Story, event: &Event, (seconds, once): (i64, i64)) -> Node {
    let shop = story.shop;
    let (Some(step), Some(route), Some(index)) =
        (step_of(shop, event), event.route, step_index(event))
    else {
        return Node::happened("attended time", seconds + once, "s");
    };
    let mut sum = Vec::new();
    if let Some(slot) = step.attended.filter(|_| seconds > 0) {
        let time = attended(story, event, slot, seconds);
        sum.push(times("attended time as often as it runs", "s", time, runs(shop, route, index)));
    }
    if let Some(slot) = step.first_time.filter(|_| once > 0) {
        sum.push(Node::whole_input(shop, slot, "extra time of the first build, once"));
    }
    Node::of_some(How::Sum, "attended time", "s", sum)
}

fn brief(shop: &Shop, event: &Event, seconds: i64) -> Node {
    let brief = event.route.and_then(|r| shop.terms(r)).and_then(|t| t.brief);
    match brief {
        Some(slot) => Node::whole_input(shop, slot, "time to explain the version"),
        None => Node::happened("time to explain the version", seconds, "s"),
    }
}

/// Placing the order takes the longest of the times of its routes, as often as the most repeated of them is paid.
fn order_time(story: &Story, index: usize, seconds: i64) -> Node {
    let shop = story.shop;
    let routes = super::order::routes_after(story, index);
    let time = |&route: &RouteId| {
        let slot = shop.terms(route)?.order_time;
        Some(Node::whole_input(shop, slot, "time to place the order"))
    };
    let all: Vec<Node> = routes.iter().filter_map(time).collect();
    let time = if all.is_empty() {
        Node::happened("time to place the order", seconds, "s")
    } else {
        Node::of_some(How::Largest, "the longest time to place the order", "s", all)
    };
    let often = super::order::largest_repeats(shop, &routes);
    times("time to place the order, as often as it is placed", "s", time, often)
}

/// Seconds a machine ran, as they count.
pub(super) fn machine(story: &Story, event: &Event, (seconds, once): (i64, i64)) -> Node {
    let shop = story.shop;
    let (Some(step), Some(route), Some(index)) =
        (step_of(shop, event), event.route, step_index(event))
    else {
        return Node::happened("running time", seconds + once, "s");
    };
    let run = hold(story, event, (step, index), seconds);
    let mut sum =
        vec![times("running time as often as it runs", "s", run, runs(shop, route, index))];
    if let Some(slot) = step.first_time.filter(|_| once > 0) {
        sum.push(Node::whole_input(shop, slot, "extra time of the first build, once"));
    }
    Node::of_some(How::Sum, "running time", "s", sum)
}

/// What a machine runs for: the print, the hold, or the attended time where the step has no hold.
fn hold(story: &Story, event: &Event, (step, index): (&Step, usize), seconds: i64) -> Node {
    let shop = story.shop;
    let printing = (index == 0).then(|| printing(story, event, seconds)).flatten();
    let overnight = matches!(step.hold, Hold::Overnight);
    if let Some((print, made)) = printing {
        let time = print_time(shop, print, made, step);
        let rest = Exact::from(seconds) - time.value;
        return match overnight {
            false => time,
            true => Node::of(
                How::Sum,
                "print time and the night",
                "s",
                vec![
                    time,
                    Node::happened("until the bench opens (overnight)", rest.to_whole(), "s"),
                ],
            ),
        };
    }
    match step.hold {
        Hold::For(slot) if shop.values.whole(slot) == seconds => {
            Node::whole_input(shop, slot, "hold")
        }
        Hold::Overnight => Node::happened("until the bench opens (overnight)", seconds, "s"),
        _ => match step.attended {
            Some(slot) => attended(story, event, slot, seconds),
            None => Node::happened("running time", seconds, "s"),
        },
    }
}

/// The print whose machine ran for so many seconds: until the morning after where it is held overnight.
fn printing<'e>(story: &'e Story, event: &'e Event, seconds: i64) -> Option<(&'e Print, &'e Made)> {
    let print = print_of(story, event)?;
    let took = |m: &&Made| m.print_seconds() == Some(seconds);
    let within = |m: &&Made| m.print_seconds().is_some_and(|s| s <= seconds);
    let made = story.made(event).find(took).or_else(|| story.made(event).find(within))?;
    Some((print, made))
}

/// What the route of an event prints.
pub(super) fn print_of<'s>(story: &Story<'s, '_>, event: &Event) -> Option<&'s Print> {
    print(story.shop.scenario.route(event.route?))
}

/// How a route prints; `None` where it does not.
pub(super) fn print(route: &Route) -> Option<&Print> {
    match &route.kind {
        RouteKind::Bench(bench) => bench.print.as_ref(),
        RouteKind::Order(_) => None,
    }
}

/// Print time of a build in seconds.
fn print_time(shop: &Shop, print: &Print, made: &Made, step: &Step) -> Node {
    let time = match print.time {
        PrintTime::Stated(slot) => Node::whole_input(shop, slot, "print time of a build"),
        PrintTime::Layers { start_up, per_layer, per_volume } => {
            let layers = Node::happened("layers of the build", made.layers(), "");
            let volume = super::material::solid(shop, print, made);
            let sum = vec![
                Node::input(shop, start_up, "start-up"),
                Node::of(
                    How::Product,
                    "all layers",
                    "s",
                    vec![layers, Node::input(shop, per_layer, "time of a layer")],
                ),
                Node::of(
                    How::Product,
                    "all volume",
                    "s",
                    vec![volume, Node::input(shop, per_volume, "time of a mL")],
                ),
            ];
            let exact = Node::of(How::Sum, "start-up, layers and volume", "s", sum);
            Node::of(How::Rounded(0), "print time, to whole seconds", "s", vec![exact])
        }
    };
    match step.hold {
        Hold::For(slot) => {
            let hold = Node::whole_input(shop, slot, "hold after printing");
            Node::of(How::Sum, "print time and hold", "s", vec![time, hold])
        }
        _ => time,
    }
}
