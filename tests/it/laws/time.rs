//! Laws of time: forward only, one person, one build at a machine, closed is closed.

use flipcount::model::{Moment, RouteId, day_of, second_of_day};
use flipcount::plan::Shop;
use flipcount::sim::{Event, Simulation, What};
use proptest::prelude::*;

use super::held::{Verdict, held, projects};

#[test]
fn iterations_only_move_forward() {
    held("forward", |_, shop| {
        for (_, project) in projects(shop) {
            let mut released = shop.start;
            for (number, dates) in (1u32..).zip(&project.dates) {
                prop_assert_eq!(dates.iteration, number);
                prop_assert_eq!(dates.release, released);
                prop_assert!(dates.release <= dates.in_hand);
                prop_assert!(
                    dates.in_hand <= dates.evaluated && dates.evaluated <= dates.redesigned
                );
                released = dates.redesigned;
            }
            for entry in project.ledger.entries() {
                let dates = project.dates[entry.iteration as usize - 1];
                prop_assert!(
                    dates.release <= entry.when && entry.when <= dates.in_hand,
                    "{:?}",
                    entry
                );
            }
            if let Some((n, last, dates)) = project.final_at(shop.planned) {
                let accepted = project.dates[project.dates.len().min(*n as usize) - 1].evaluated;
                prop_assert_eq!(dates.release, accepted);
                prop_assert!(
                    last.entries().iter().all(|e| e.iteration == n + 1 && e.when >= accepted)
                );
            }
        }
        Ok(())
    });
}

#[test]
fn entries_are_in_their_one_order() {
    held("order of entries", |_, shop| {
        for (_, project) in projects(shop) {
            let key = |e: &flipcount::ledger::Entry| {
                let (part, route) =
                    (e.part_name(shop.scenario).to_owned(), e.route_name(shop.scenario).to_owned());
                (
                    e.when,
                    e.iteration,
                    part,
                    route,
                    e.step,
                    e.category,
                    e.item(shop.scenario).to_owned(),
                    e.kind,
                )
            };
            let keys: Vec<_> = project.ledger.entries().iter().map(key).collect();
            prop_assert!(keys.windows(2).all(|w| w[0] <= w[1]));
        }
        Ok(())
    });
}

/// The events of a plan up to the horizon.
fn events(shop: &Shop, assign: &[RouteId]) -> Vec<Event> {
    let mut simulation = Simulation::new(shop);
    for n in 1..=shop.scenario.iterations.horizon {
        simulation.iterate(n, assign).expect("a feasible plan");
    }
    simulation.events
}

#[test]
fn one_person_and_one_build_at_a_machine() {
    held("one at a time", |_, shop| {
        for (assign, _) in projects(shop) {
            let events = events(shop, &assign);
            one_person(&events)?;
            machines(shop, &events)?;
            for event in &events {
                if let What::Work { seconds, once, .. } = event.what
                    && seconds + once > 0
                {
                    prop_assert!(
                        is_open(shop, event.when),
                        "work begins while the bench is closed: {:?}",
                        event
                    );
                }
            }
        }
        Ok(())
    });
}

/// Attended work never overlaps.
fn one_person(events: &[Event]) -> Verdict {
    let mut busy: Vec<(Moment, Moment)> = events
        .iter()
        .filter_map(|e| match e.what {
            What::Work { seconds, once, .. } if seconds + once > 0 => {
                Some((e.when, e.when + seconds + once))
            }
            _ => None,
        })
        .collect();
    busy.sort_unstable();
    for pair in busy.windows(2) {
        prop_assert!(pair[1].0 >= pair[0].1, "two things at once: {:?}", pair);
    }
    Ok(())
}

/// Hours of one machine never overlap, and none begin on a day it is down.
fn machines(shop: &Shop, events: &[Event]) -> Verdict {
    let mut used: Vec<(u16, Moment, Moment)> = Vec::new();
    for event in events {
        if let What::Machine { equipment, seconds, .. } = event.what {
            used.push((equipment.0, event.when, event.when + seconds));
            let down = &shop.scenario.equipment[usize::from(equipment.0)].down;
            prop_assert!(!down.contains(&day_of(event.when)), "{:?}", event);
            prop_assert!(!down.contains(&day_of(event.when + seconds - 1)), "{:?}", event);
        }
    }
    used.sort_unstable();
    for pair in used.windows(2) {
        prop_assert!(
            pair[0].0 != pair[1].0 || pair[1].1 >= pair[0].2,
            "two builds at one machine: {:?}",
            pair
        );
    }
    Ok(())
}

fn is_open(shop: &Shop, moment: Moment) -> bool {
    let hours = &shop.scenario.hours;
    let second = second_of_day(moment);
    hours.calendar.is_open(day_of(moment))
        && hours.spans.iter().any(|s| s.0 <= second && second < s.1)
}
