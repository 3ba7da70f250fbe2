//! Laws of material: what is bought is somewhere, at every moment; what is in a bath was poured or carried into it.

use std::collections::BTreeMap;

use flipcount::analysis::{Leg, Project, begin};
use flipcount::ledger::{Account, InBath, Movement, balance};
use flipcount::model::{BathId, Exact, ItemClass, ItemId, PartId, RouteId};
use flipcount::plan::{BathKindTable, Pace, Shop};
use flipcount::sim::{BathState, Event, Fate, Footprint, Simulation, State, What, pack};
use proptest::collection::vec;
use proptest::prelude::*;

use super::held::{Case, Verdict, held, projects};
use crate::generator::Written;
use crate::help::in_shop;

/// What half-used baths hold at the start: the fill of solvent, and what resin is in them as the first resin by name.
pub fn half_used(shop: &Shop) -> Vec<InBath> {
    let items = (0u16..).map(ItemId).zip(&shop.scenario.items);
    let resins = items.filter(|(_, item)| item.class == ItemClass::Resin);
    let first = resins.min_by(|a, b| (&a.1.name, a.0).cmp(&(&b.1.name, b.0))).map(|r| r.0);
    let mut held = Vec::new();
    for (id, bath) in (0u16..).map(BathId).zip(shop.baths.iter()) {
        if let BathKindTable::Wash(wash) = &bath.kind
            && let Some((resin, _)) = wash.used
        {
            held.push((id, bath.solvent, wash.fill));
            held.extend(first.map(|item| (id, item, resin)));
        }
    }
    held
}

/// What each account holds of each item.
type Held = BTreeMap<(Account, ItemId), i64>;

#[test]
fn material_balances_at_every_movement() {
    held("balance", |_, shop| {
        let start: Vec<i64> = shop.items.iter().map(|i| i.stock).collect();
        let in_baths = half_used(shop);
        for (_, project) in projects(shop) {
            let movements = project.ledger.movements();
            let end = project.states.last().expect("states");
            prop_assert_eq!(balance(movements, &start, &in_baths).expect("closes"), end.stock());
            let mut held: Held =
                in_baths.iter().map(|&(b, i, n)| ((Account::Bath(b), i), n)).collect();
            for (index, item) in (0u16..).map(ItemId).zip(&start) {
                held.insert((Account::Stock, index), *item);
            }
            let before: i64 = held.values().sum();
            for (index, m) in movements.iter().enumerate() {
                prop_assert!(m.amount > 0, "{:?}", m);
                *held.entry((m.from, m.item)).or_default() -= m.amount;
                *held.entry((m.to, m.item)).or_default() += m.amount;
                for account in [m.from, m.to].into_iter().filter(|a| *a != Account::Supplier) {
                    prop_assert!(held[&(account, m.item)] >= 0, "movement {}: {:?}", index, m);
                }
                if movements.get(index + 1).is_none_or(|next| next.iteration > m.iteration) {
                    as_in_state(shop, &held, &project.states[m.iteration as usize])?;
                }
            }
            // All accounts together hold what they held: what the supplier gave is his minus.
            prop_assert_eq!(held.values().sum::<i64>(), before);
        }
        Ok(())
    });
}

/// A trial and a failed first iteration are paid for with real material and real days, and what follows begins where they end.
#[test]
fn material_balances_through_trials_and_failures() {
    held("balance after a failure", |_, shop| {
        let start: Vec<i64> = shop.items.iter().map(|i| i.stock).collect();
        let plans: Vec<Vec<RouteId>> = projects(shop).into_iter().map(|p| p.0).collect();
        for (tried, then) in plans.iter().zip(plans.iter().rev()) {
            let trial = Leg::Trial(vec![(PartId(0), tried[0])]);
            let legs = [trial, Leg::Fails(tried.clone()), Leg::Makes(then.clone())];
            // What was feasible from the start need not be later on.
            let Ok(project) = Project::follow(shop, (&legs, Pace::PLAIN), shop.planned, &[]) else {
                continue;
            };
            let end = project.states.last().expect("states");
            let movements = project.ledger.movements();
            let left = balance(movements, &start, &half_used(shop)).expect("closes");
            prop_assert_eq!(left, end.stock());
            prop_assert_eq!(project.dates.len() + 1, project.states.len());
            prop_assert!(project.dates.iter().zip(1..).all(|(d, n)| d.iteration == n));
            let paid =
                |iteration| project.ledger.entries().iter().any(|e| e.iteration == iteration);
            let released = project.dates[0].release;
            if paid(0) {
                prop_assert!(released > shop.start);
            }
            let mut simulation = Simulation::new(shop);
            let makes = begin(&mut simulation, &legs, 1, |_, _| {}).expect("it could be followed");
            prop_assert_eq!((makes, simulation.dates.len()), (&then[..], 2));
            prop_assert_eq!(simulation.dates[1].release, simulation.dates[0].in_hand);
            prop_assert_eq!(released, simulation.dates[1].in_hand);
        }
        Ok(())
    });
}

/// What the movements add up to is what the simulation remembers, on the shelf and in every bath.
fn as_in_state(shop: &Shop, held: &Held, state: &State) -> Verdict {
    let of = |account, item| held.get(&(account, item)).copied().unwrap_or(0);
    for (item, stock) in (0u16..).map(ItemId).zip(state.stock()) {
        prop_assert_eq!(of(Account::Stock, item), *stock);
    }
    for (id, bath) in (0u16..).map(BathId).zip(state.baths()) {
        let table = shop.bath(id);
        prop_assert_eq!(of(Account::Bath(id), table.solvent), bath.solvent);
        if let BathKindTable::Dye(dye, _) = table.kind {
            prop_assert_eq!(of(Account::Bath(id), dye), bath.dye);
        }
        let all: i64 = held.iter().filter(|h| h.0.0 == Account::Bath(id)).map(|h| h.1).sum();
        prop_assert_eq!(all, bath.mixture());
    }
    Ok(())
}

#[test]
fn a_bath_holds_no_more_than_was_poured() {
    held("in a bath", |_, shop| {
        let in_baths = half_used(shop);
        for (_, project) in projects(shop) {
            let mut poured: BTreeMap<(BathId, ItemId), i64> = BTreeMap::new();
            in_baths.iter().for_each(|&(b, i, n)| *poured.entry((b, i)).or_default() += n);
            let mut movements = project.ledger.movements().iter().peekable();
            for (n, state) in (0u32..).zip(&project.states) {
                while let Some(m) = movements.next_if(|m| m.iteration <= n) {
                    if let Account::Bath(id) = m.to {
                        *poured.entry((id, m.item)).or_default() += m.amount;
                    }
                }
                for (id, bath) in (0u16..).map(BathId).zip(state.baths()) {
                    content(shop, id, bath, &|item| poured.get(&(id, item)).copied().unwrap_or(0))?;
                }
            }
        }
        Ok(())
    });
}

/// Between two uses a wash bath is never above its fill and holds no dye, a dye bath never holds resin, and neither holds more of
/// anything than went into it.
fn content(shop: &Shop, id: BathId, bath: &BathState, poured: &dyn Fn(ItemId) -> i64) -> Verdict {
    let table = shop.bath(id);
    prop_assert!(0 <= bath.solvent && bath.solvent <= poured(table.solvent), "{:?}", bath);
    prop_assert!(bath.resin.iter().all(|&(item, n)| 0 <= n && n <= poured(item)), "{:?}", bath);
    match table.kind {
        BathKindTable::Wash(wash) => {
            prop_assert!(bath.solvent <= wash.fill && bath.dye == 0, "{:?}", bath);
        }
        BathKindTable::Dye(dye, _) => {
            prop_assert!(0 <= bath.dye && bath.dye <= poured(dye), "{:?}", bath);
            prop_assert_eq!(bath.dissolved(), 0);
        }
    }
    if bath.filled.is_none() {
        prop_assert_eq!(bath.mixture(), 0);
    }
    Ok(())
}

#[test]
fn dyed_solvent_never_comes_to_a_wash_bath() {
    held("dyed solvent", |_, shop| {
        let washes = |id: BathId| matches!(shop.bath(id).kind, BathKindTable::Wash(_));
        for (_, project) in projects(shop) {
            for m in project.ledger.movements() {
                let class = shop.scenario.items[usize::from(m.item.0)].class;
                match (m.from, m.to) {
                    // From bath to bath goes resin alone, and from wash to wash.
                    (Account::Bath(a), Account::Bath(b)) => {
                        prop_assert!(washes(a) && washes(b) && a != b, "{:?}", m);
                        prop_assert_eq!(class, ItemClass::Resin);
                    }
                    // What has been in a bath is not put back on the shelf, and a wash bath gets no dye.
                    (Account::Bath(_), Account::Stock) => prop_assert!(false, "{:?}", m),
                    (_, Account::Bath(b)) if washes(b) => {
                        prop_assert!(class != ItemClass::Dye, "{:?}", m);
                    }
                    (_, Account::Bath(_)) => prop_assert!(class != ItemClass::Resin, "{:?}", m),
                    _ => {}
                }
            }
        }
        Ok(())
    });
}

/// Films and evaporation take out of a bath what its numbers say, or all that is there.
#[test]
fn nothing_leaves_a_bath_without_film_and_evaporation() {
    held("closed baths", |case, _| {
        let mut closed = case.blueprint.clone();
        let room = &mut closed.room;
        let washes = room.washes.iter_mut().map(|w| &mut w.bath);
        for bath in washes.chain(room.dyes.iter_mut().map(|d| &mut d.bath)) {
            (bath.film, bath.evaporates) = (Some(0), Some(0));
        }
        let closed = Case::new(&closed, Written::PLAIN);
        in_shop(&closed.scenario, |shop| {
            for (_, project) in projects(shop) {
                let left =
                    |m: &&Movement| matches!(m.to, Account::DraggedOut | Account::Evaporated);
                prop_assert_eq!(project.ledger.movements().iter().find(left), None);
            }
            Ok(())
        })
    });
}

/// What is printed, and when, up to the horizon: the events of print steps, with what goes into good pieces.
fn prints(shop: &Shop, assign: &[RouteId]) -> Vec<(Event, i64)> {
    let mut simulation = Simulation::new(shop);
    for n in 1..=shop.scenario.iterations.horizon {
        simulation.iterate(n, assign).expect("a feasible plan");
    }
    let print = |e: Event| match e.what {
        What::Draw(draw) => match draw.to {
            Fate::Print(good) => Some((e, good)),
            Fate::Bath(_) | Fate::Used => None,
        },
        _ => None,
    };
    simulation.events.into_iter().filter_map(print).collect()
}

#[test]
fn builds_hold_what_is_wanted_in_any_order_of_the_file() {
    held("builds", |case, shop| {
        let text = |prints: &[(Event, i64)]| -> Vec<String> {
            let one = |(e, good): &(Event, i64)| format!("{e:?} {good}");
            prints.iter().map(one).collect()
        };
        let mixed = Case::new(&case.blueprint, Written { shuffle: Some(3), ..Written::PLAIN });
        for (assign, _) in projects(shop) {
            let found = prints(shop, &assign);
            in_shop(&mixed.scenario, |other| {
                prop_assert_eq!(text(&found), text(&prints(other, &assign)));
                Ok(())
            })?;
            printed_in_full(shop, &assign, &found)?;
        }
        Ok(())
    });
}

/// The builds of an iteration together hold every piece: their pieces and supports add up, to half a millionth for each build.
fn printed_in_full(shop: &Shop, assign: &[RouteId], found: &[(Event, i64)]) -> Verdict {
    let routes = (0u16..).map(RouteId).zip(shop.routes.iter());
    for (route, print) in routes.filter_map(|(id, r)| Some((id, r.print.as_ref()?))) {
        for n in 1..=shop.scenario.iterations.horizon {
            let parts = (0u16..).map(PartId).zip(assign).filter(|a| *a.1 == route);
            let made = parts.map(|a| shop.part(a.0)).filter(|p| p.made_in(n));
            let volume = made.map(|p| Exact::from(p.copies) * Exact::from_millionths(p.volume));
            let wanted = volume.sum::<Exact>() * print.with_supports;
            let of = |e: &&(Event, i64)| e.0.route == Some(route) && e.0.iteration == n;
            let builds = found.iter().filter(of);
            let have: i64 = builds.clone().map(|e| e.1).sum();
            let off = (Exact::from_millionths(have) - wanted).abs();
            let half = Exact::from_millionths(1) / Exact::from(2i64);
            let count = i64::try_from(builds.count()).expect("a count");
            let draws = print.resin.is_some() && !wanted.is_zero();
            prop_assert!(!draws || count > 0, "{:?} prints nothing in {}", route, n);
            prop_assert!(!draws || off <= half * Exact::from(count), "{:?} {}", wanted, have);
        }
    }
    Ok(())
}

/// Footprints and a plate in tenths of millimetres.
fn footprints() -> impl Strategy<Value = (Vec<([i64; 2], i64)>, [i64; 2])> {
    let side = || 50i64..900;
    (vec(([side(), side()], 1i64..6), 1..8), [900i64..2_500, 900i64..2_000])
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Every piece is on one plate, no plate holds more than its area, pieces come by falling area, and the order of the list does not
    /// matter.
    #[test]
    fn packing_loses_nothing_and_does_not_depend_on_the_order((pieces, plate) in footprints(), turn in 0usize..8) {
        const TENTH: i64 = 100_000;
        let mut list: Vec<Footprint> = (0u16..).map(PartId).zip(&pieces)
            .map(|(part, &(size, copies))| Footprint { part, size: size.map(|s| s * TENTH), copies })
            .collect();
        let size = plate.map(|s| s * TENTH);
        let plates = pack(&list, size);
        let area = |part: PartId| { let [w, h] = pieces[usize::from(part.0)].0; w * h };
        for (part, &(_, copies)) in (0u16..).map(PartId).zip(&pieces) {
            let laid = plates.iter().flatten().filter(|p| **p == part).count();
            prop_assert_eq!(i64::try_from(laid), Ok(copies));
        }
        for on in &plates {
            prop_assert!(!on.is_empty());
            prop_assert!(on.iter().map(|p| area(*p)).sum::<i64>() <= plate[0] * plate[1]);
            // Falling area, then the part.
            prop_assert!(on.windows(2).all(|w| (-area(w[0]), w[0]) <= (-area(w[1]), w[1])));
        }
        let turn = turn % list.len();
        list.rotate_left(turn);
        prop_assert_eq!(&plates, &pack(&list, size));
        list.reverse();
        prop_assert_eq!(&plates, &pack(&list, size));
    }
}
