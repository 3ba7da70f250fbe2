//! Materials: what a step draws, what packs are bought for it, what stock has fallen by.

use super::time::{pieces, print_of, runs, starts, step_index, step_of, times};
use super::{How, Node, Origin, Story};
use crate::model::{Exact, HOUR, Item, ItemId, ItemPrice, Per, Print, Volume};
use crate::plan::Shop;
use crate::sim::{Draw, Event, Fate, Made, Supplied};
use crate::value::unit;

/// Decimals of a quantity: whole millionths.
pub(super) const MICRO: u32 = 6;

/// The unit an item counts in.
pub(super) fn unit_of(shop: &Shop, item: ItemId) -> &'static str {
    unit(shop.scenario.items[item.index()].dim)
}

/// How much a draw takes.
pub(super) fn drawn(story: &Story, index: usize, draw: &Draw) -> Node {
    let event = &story.events[index];
    let unit = unit_of(story.shop, draw.item);
    let found = match draw.to {
        Fate::Print(_) => story
            .made(event)
            .filter_map(|made| resin(story, event, made))
            .find(|node| node.value.to_millionths() == draw.amount),
        Fate::Used => used(story, event, draw),
        Fate::Bath(bath) => super::bath::poured(story, index, (draw, bath)),
    };
    let exact =
        found.unwrap_or_else(|| Node::happened("drawn", Exact::from_millionths(draw.amount), unit));
    Node::of(How::Rounded(MICRO), "drawn, to millionths", unit, vec![exact])
}

/// Pieces and supports of a build, in mL.
pub(super) fn solid(shop: &Shop, print: &Print, made: &Made) -> Node {
    let one = Node::happened("pieces", 1i64, "");
    let supports = Node::input(shop, print.supports, "supports, as a share of the pieces");
    let with = Node::of(How::Sum, "pieces with their supports", "", vec![one, supports]);
    let volume = volume(shop, made);
    Node::of(How::Product, "pieces and supports", "mL", vec![volume, with])
}

/// Volume of the pieces of a build, in mL.
pub(super) fn volume(shop: &Shop, made: &Made) -> Node {
    let each = |(part, copies): (crate::model::PartId, i64)| {
        let row = shop.scenario.part(part);
        let volume = Exact::from_millionths(shop.part(part).volume);
        let label = format!("volume of {}", row.name);
        let volume = match row.volume {
            Some(Volume::Stated(slot)) => Node::input(shop, slot, &label),
            Some(Volume::ShareOfBox(slot)) => {
                let label = format!("{label}: the box times this share, to millionths");
                Node { value: volume, unit: "mL".to_owned(), ..Node::input(shop, slot, &label) }
            }
            None => Node::happened(label, volume, "mL"),
        };
        Node::of(
            How::Product,
            format!("{} x {copies}", row.name),
            "mL",
            vec![volume, Node::happened("copies", copies, "pcs")],
        )
    };
    Node::of_some(How::Sum, "volume of the pieces", "mL", made.parts().map(each).collect())
}

/// Resin of a print: pieces, supports and what is lost, as often as it is printed.
fn resin(story: &Story, event: &Event, made: &Made) -> Option<Node> {
    let print = print_of(story, event)?;
    let shop = story.shop;
    let loss = Node::input(shop, print.loss, "lost in each build");
    let one = Node::of(How::Sum, "resin of one print", "mL", vec![solid(shop, print, made), loss]);
    Some(times("resin as often as it is printed", "mL", one, runs(shop, event.route?, 0)))
}

/// Supplies of a step.
fn used(story: &Story, event: &Event, draw: &Draw) -> Option<Node> {
    let (shop, step) = (story.shop, step_index(event)?);
    let unit = unit_of(shop, draw.item);
    let candidates = story.made(event).flat_map(|made| {
        // A part printed in several builds counts its design with the one that starts first.
        (0..=made.designs()).rev().map(move |designs| (made, designs))
    });
    candidates
        .map(|(made, designs)| {
            let resin = resin_drawn(story, event, made);
            let uses = made.supplies(shop, step, designs, resin).into_iter();
            let uses = uses.filter(|s| s.uses.item == draw.item && !s.times.is_zero());
            let each = uses.map(|s| supply(story, event, made, (&s, designs))).collect();
            Node::of_some(How::Sum, "all uses", unit, each)
        })
        .find(|node| node.value.to_millionths() == draw.amount)
}

/// What the print of a build draws of its resin, in millionths of mL; 0 where it draws none.
fn resin_drawn(story: &Story, event: &Event, made: &Made) -> i64 {
    let draws = print_of(story, event).is_some_and(|p| p.resin.is_some());
    let resin = draws.then(|| resin(story, event, made)).flatten();
    resin.map_or(0, |node| node.value.to_millionths())
}

/// One supply, as often as its amount counts.
fn supply(story: &Story, event: &Event, made: &Made, (s, designs): (&Supplied, i64)) -> Node {
    let shop = story.shop;
    let unit = unit_of(shop, s.uses.item);
    let stated = event.route.and_then(|r| {
        let route = shop.scenario.route(r);
        let list = if s.of_route { &route.consumes } else { &step_of(shop, event)?.consumes };
        Some(list.get(s.index)?.amount)
    });
    let amount =
        Node::happened(format!("amount for each {}", per_name(s.uses.per)), s.uses.amount, unit);
    let amount = match stated {
        Some(slot) => Node { from: Origin::Input(slot), ..amount },
        None => amount,
    };
    let counts = counts(story, event, made, (s, designs));
    let mut factors = vec![amount];
    factors.extend(counts);
    Node::of_some(How::Product, "amount as often as it counts", unit, factors)
}

/// What an amount is multiplied by.
fn counts(story: &Story, event: &Event, made: &Made, (s, designs): (&Supplied, i64)) -> Vec<Node> {
    let shop = story.shop;
    let (Some(route), Some(step)) = (event.route, step_index(event)) else {
        return Vec::new();
    };
    let runs = || runs(shop, route, step);
    match s.uses.per {
        Per::Piece if s.of_route => vec![pieces(shop, made)],
        Per::Piece => std::iter::once(pieces(shop, made)).chain(runs()).collect(),
        Per::Attempt => starts(shop, route, step).into_iter().collect(),
        Per::Build if s.of_route => Vec::new(),
        Per::PrintHour if s.of_route => {
            let seconds = Node::happened("print time", made.print_seconds().unwrap_or(0), "s");
            let hours = Node::of(How::InUnits(HOUR), "print hours", "h", vec![seconds]);
            std::iter::once(hours).chain(runs()).collect()
        }
        Per::Layer if s.of_route => {
            let layers = Node::happened("layers of the build", made.layers(), "");
            std::iter::once(layers).chain(runs()).collect()
        }
        Per::LitreOfResin if s.of_route => {
            let resin = resin(story, event, made);
            let resin = resin.unwrap_or_else(|| Node::happened("resin drawn", Exact::ZERO, "mL"));
            let resin = Node::of(How::Rounded(MICRO), "resin drawn", "mL", vec![resin]);
            vec![Node::of(How::InUnits(1000), "litres of resin", "L", vec![resin])]
        }
        Per::Design if s.of_route => {
            vec![Node::happened("designs that count with this build", designs, "")]
        }
        _ => runs().into_iter().collect(),
    }
}

fn per_name(per: Per) -> &'static str {
    match per {
        Per::Build => "build",
        Per::Piece => "piece",
        Per::Attempt => "attempt",
        Per::PrintHour => "print hour",
        Per::Layer => "layer",
        Per::LitreOfResin => "litre of resin",
        Per::Design => "design",
    }
}

/// What a pack holds, in the item's own unit.
fn pack(shop: &Shop, id: ItemId, pack: i64) -> Node {
    let node = Node::happened("content of a pack", Exact::from_millionths(pack), unit_of(shop, id));
    match shop.scenario.items[id.index()].price {
        ItemPrice::Pack { pack: slot, .. } => Node { from: Origin::Input(slot), ..node },
        _ => node,
    }
}

/// The price of what is drawn: of a unit, or a share of a pack.
pub(super) fn unit_price(story: &Story, event: &Event, id: ItemId) -> Option<Node> {
    let table = story.shop.item(id);
    let price = table.price?;
    let unit = format!("{} per {}", super::entry::own(story.shop), unit_of(story.shop, id));
    let Some(content) = table.pack else {
        return Some(super::entry::price(story, event, price, "price of a unit").in_unit(&unit));
    };
    let price = super::entry::price(story, event, price, "price of a pack");
    Some(Node::of(
        How::Quotient,
        "price of a unit",
        &unit,
        vec![price, pack(story.shop, id, content)],
    ))
}

/// The packs bought for a draw.
pub(super) fn packs(story: &Story, index: usize, draw: &Draw) -> Node {
    let shop = story.shop;
    let unit = unit_of(shop, draw.item);
    let content = shop.item(draw.item).pack.unwrap_or(1);
    let stock = Exact::from_millionths(story.held(index).stock);
    let missing = Node::of(
        How::Difference,
        "missing",
        unit,
        vec![drawn(story, index, draw), Node::happened("in stock before", stock, unit)],
    );
    let ratio = vec![missing, pack(shop, draw.item, content)];
    let ratio = Node::of(How::Quotient, "missing, in packs", "packs", ratio);
    Node::of(How::RoundedUp, "the fewest packs that cover it", "packs", vec![ratio])
}

/// What stock has fallen by since the in hand before.
pub(super) fn fallen(story: &Story, index: usize, id: ItemId, fallen: i64) -> Node {
    let unit = unit_of(story.shop, id);
    let now = story.held(index).stock;
    let before = Node::happened(
        "in stock when last in hand (or at the start)",
        Exact::from_millionths(now + fallen),
        unit,
    );
    let now = Node::happened("in stock now", Exact::from_millionths(now), unit);
    Node::of(How::Difference, "value that left the shelf", unit, vec![before, now])
}

/// The share of a stock change that is value kept.
pub(super) fn keep(shop: &Shop, item: &Item, id: ItemId) -> Node {
    let share = shop.item(id).keep;
    match item.keep {
        Some(slot) => Node::input(shop, slot, "share of its value that is kept"),
        None => Node::happened(
            "share of its value that is kept: all, for an item with a start stock",
            share,
            "",
        ),
    }
}
