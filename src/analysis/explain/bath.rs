//! Baths: what comes in on pieces, what is poured, what is in a bath that is emptied.

use super::time::{print_of, runs, times};
use super::{How, Node, Story};
use crate::model::{BathId, BathKind, Dye, Exact, PartId, Up, Wash};
use crate::plan::{BathKindTable, Dipped, DyeTable, Shop};
use crate::sim::{Account, Draw, Event, Made, What};

/// What a use of a bath draws: resin that comes in on the pieces, or what is poured.
pub(super) fn poured(story: &Story, index: usize, (draw, bath): (&Draw, BathId)) -> Option<Node> {
    let event = &story.events[index];
    let row = &story.shop.scenario.baths[bath.index()];
    let (is_solvent, held) = (draw.item == row.solvent, story.held(index).bath);
    let wanted = match &row.kind {
        BathKind::Wash(wash) if !is_solvent => {
            let mut each = story.made(event).filter_map(|made| carried(story, event, (wash, made)));
            return each.find(|n| n.value.to_millionths() == draw.amount);
        }
        BathKind::Wash(wash) => Node::input(story.shop, wash.fill, "filled up to"),
        BathKind::Dye(dye) => {
            let wanted = held + draw.amount;
            needed(story, event, (bath, dye), (is_solvent, wanted))?
        }
    };
    let before = Node::happened("in it before", Exact::from_millionths(held), "mL");
    Some(Node::of(How::Difference, "poured", "mL", vec![wanted, before]))
}

/// Resin that pieces and platform carry into their first wash.
fn carried(story: &Story, event: &Event, (wash, made): (&Wash, &Made)) -> Option<Node> {
    let shop = story.shop;
    let print = print_of(story, event)?;
    let mut wetted = vec![area(shop, made)];
    if !shop.values.exact(print.supports).is_zero() {
        let one = Node::happened("pieces", 1i64, "");
        let film =
            Node::input(shop, print.support_area, "film on supports, as a share of the area");
        wetted.push(Node::of(How::Sum, "pieces and supports", "", vec![one, film]));
    }
    let wetted = Node::of_some(How::Product, "wetted area", "cm2", wetted);
    // cm2 x mm is a tenth of a mL.
    let tenth = Node::happened("mL in 1 cm2 x mm", Exact::with_decimals(1, 1), "");
    let film = vec![wetted, Node::input(shop, wash.resin_film, "resin film"), tenth];
    let film = Node::of(How::Product, "film", "mL", film);
    let platform = Node::input(shop, wash.platform_carry, "carried in by the platform");
    let each = Node::of(How::Sum, "carried in by one build", "mL", vec![film, platform]);
    let step = super::time::step_index(event)?;
    Some(times("carried in as often as it is washed", "mL", each, runs(shop, event.route?, step)))
}

fn area(shop: &Shop, made: &Made) -> Node {
    let each = |(part, copies): (PartId, i64)| {
        let row = shop.scenario.part(part);
        let label = format!("surface of {}", row.name);
        let area = match row.area {
            Some(slot) => Node::input(shop, slot, &label),
            None => Node::happened(label, Exact::ZERO, "cm2"),
        };
        let copies = Node::happened("copies", copies, "pcs");
        Node::of(How::Product, format!("surface of all {}", row.name), "cm2", vec![area, copies])
    };
    Node::of_some(How::Sum, "surface of the pieces", "cm2", made.parts().map(each).collect())
}

/// What a dip needs of solvent or dye: what is asked for lets the build be found.
fn needed(
    story: &Story,
    event: &Event,
    (bath, dye): (BathId, &Dye),
    (solvent, wanted): (bool, i64),
) -> Option<Node> {
    let shop = story.shop;
    let BathKindTable::Dye(_, table) = &shop.bath(bath).kind else {
        return None;
    };
    let (_, up) = super::time::step_of(shop, event)?.bath?;
    let builds = story.made(event).map(|made| {
        let liquid = liquid(shop, (table, dye), made, up);
        let share = || Node::input(shop, dye.dye_share, "dye for each mL of solvent");
        let one = Node::happened("solvent", 1i64, "");
        let both =
            Node::of(How::Sum, "solvent and dye for each mL of solvent", "", vec![one, share()]);
        let pure = Node::of(How::Quotient, "solvent in it", "mL", vec![liquid, both]);
        let of = if solvent {
            pure
        } else {
            Node::of(How::Product, "dye in it", "mL", vec![share(), pure])
        };
        Node::of(How::Rounded(super::material::MICRO), "needed for the dip", "mL", vec![of])
    });
    let mut builds: Vec<Node> = builds.collect();
    let exact = builds.iter().position(|n| n.value.to_millionths() == wanted);
    Some(builds.swap_remove(exact?))
}

/// Liquid up to the level: the tub, less pieces and displacers.
fn liquid(shop: &Shop, (table, dye): (&DyeTable, &Dye), made: &Made, up: Up) -> Node {
    let dipped: Vec<Dipped> =
        made.parts().map(|(part, copies)| Dipped { part: shop.part(part), copies }).collect();
    let dip = table.dip(&dipped, up);
    let tub = table.tub.volume(dip.level);
    let displacers = dye.displacers.map(|slot| Node::input(shop, slot, "displacers"));
    let below = tub - dip.liquid - table.displacers;
    let level = dip.level.half_away(2);
    let mut parts = vec![
        Node::happened(format!("the tub up to the level, {level} mm above its floor"), tub, "mL"),
        Node::happened("pieces below the level", below, "mL"),
    ];
    parts.extend(displacers);
    Node::of(How::Difference, "liquid up to the level", "mL", parts)
}

/// What was in a bath that is emptied, in litres.
pub(super) fn emptied(story: &Story, index: usize, bath: BathId, mixture: i64) -> Node {
    let shop = story.shop;
    let from = Account::Bath(bath);
    let moves = story.events[..index].iter().rev().map_while(|e| match e.what {
        What::Move { item, amount, from: of, to: Account::Waste } if of == from => {
            let name = &shop.scenario.items[item.index()].name;
            Some(Node::happened(format!("{name} in it"), Exact::from_millionths(amount), "mL"))
        }
        _ => None,
    });
    let mut content: Vec<Node> = moves.collect();
    content.reverse();
    let sum = Node::of_some(How::Sum, "content of the bath", "mL", content);
    let sum = if sum.value == Exact::from_millionths(mixture) {
        sum
    } else {
        Node::happened("content of the bath", Exact::from_millionths(mixture), "mL")
    };
    Node::of(How::InUnits(1000), "to be disposed of", "L", vec![sum])
}
