//! Laws of sameness: what must not matter.

use std::thread;

use flipcount::analysis::{By, break_evens};
use flipcount::model::{Overrides, Scenario};
use flipcount::plan::Shop;
use proptest::prelude::*;

use super::held::{Case, answer_text, answered, curves, held, project, projects};
use crate::generator::{Way, Written};
use crate::help::{in_shop, scenario, scenario_with, text};

#[test]
fn the_order_of_lists_and_rows_does_not_matter() {
    held("order", |case, shop| {
        let wanted = answer_text(&answered(shop), &case.scenario);
        let ledgers: Vec<String> =
            projects(shop).iter().map(|p| text(&p.1.ledger, &case.scenario)).collect();
        for shuffle in [1, 2] {
            let mixed =
                Case::new(&case.blueprint, Written { shuffle: Some(shuffle), ..Written::PLAIN });
            in_shop(&mixed.scenario, |other| {
                prop_assert_eq!(&wanted, &answer_text(&answered(other), &mixed.scenario));
                let others = projects(other);
                prop_assert_eq!(ledgers.len(), others.len());
                for (a, b) in ledgers.iter().zip(&others) {
                    prop_assert_eq!(a, &text(&b.1.ledger, &mixed.scenario));
                }
                Ok(())
            })?;
        }
        Ok(())
    });
}

#[test]
fn two_identical_routes_tie_exactly() {
    held("twins", |case, _| {
        let twins = Case::new(&case.blueprint, Written { twin: true, ..Written::PLAIN });
        in_shop(&twins.scenario, |shop| {
            let answer = answered(shop);
            if answer.plans.is_empty() {
                return Ok(());
            }
            prop_assert_eq!(answer.plans.len(), 2);
            let (a, b) = (&answer.plans[0], &answer.plans[1]);
            prop_assert_eq!(&a.plan.name, "one");
            for (x, y) in
                [(&a.curves.outlay, &b.curves.outlay), (&a.curves.avoidable, &b.curves.avoidable)]
            {
                prop_assert_eq!(x, y);
            }
            prop_assert_eq!(&a.curves.consumed, &b.curves.consumed);
            prop_assert_eq!(&a.curves.attended, &b.curves.attended);
            prop_assert_eq!(&a.curves.seconds, &b.curves.seconds);
            prop_assert_eq!(&a.curves.waste, &b.curves.waste);
            prop_assert!(a.curves.drawn.values().eq(b.curves.drawn.values()));
            prop_assert_eq!(a.decides, b.decides);
            let found = break_evens(&answer.plans, shop.values.exact(shop.scenario.close));
            prop_assert_eq!(
                found.iter().map(|f| f.by).collect::<Vec<_>>(),
                [By::Avoidable, By::Outlay, By::Days]
            );
            let every: Vec<u32> = (1..=answer.horizon).collect();
            for pair in found {
                prop_assert!(
                    pair.crossings.is_empty()
                        && pair.stays_from.is_none()
                        && pair.cheaper_after.is_none()
                );
                prop_assert_eq!(pair.n_star, None);
                prop_assert_eq!(&pair.about_equal, &every);
            }
            // What is done or bought for the first time is so once for each of the two: then a change is no change between equals.
            let route = &twins.scenario.routes[0];
            let anew =
                route.buy_first.is_some() || route.steps.iter().any(|s| s.first_time.is_some());
            let own_resin = matches!(case.blueprint.routes[0].way, Way::Short(_));
            prop_assert!(
                anew || own_resin || answer.switch.is_none(),
                "changing between equals saves nothing"
            );
            Ok(())
        })
    });
}

#[test]
fn a_longer_horizon_changes_nothing_before_it() {
    held("horizon", |case, shop| {
        let longer = Case::new(&case.blueprint, Written { further: 4, ..Written::PLAIN });
        in_shop(&longer.scenario, |further| {
            let (near, far) = (answered(shop), answered(further));
            prop_assert_eq!(near.horizon + 4, far.horizon);
            prop_assert_eq!(near.plans.len(), far.plans.len());
            for (a, b) in near.plans.iter().zip(&far.plans) {
                prop_assert_eq!(&a.plan, &b.plan);
                prop_assert_eq!(a.decides, b.decides);
                prop_assert!(b.dates.starts_with(&a.dates));
                let (a, b) = (&a.curves, &b.curves);
                prop_assert!(
                    b.outlay.starts_with(&a.outlay) && b.avoidable.starts_with(&a.avoidable)
                );
                prop_assert!(
                    b.consumed.starts_with(&a.consumed) && b.attended.starts_with(&a.attended)
                );
                prop_assert!(b.seconds.starts_with(&a.seconds) && b.waste.starts_with(&a.waste));
                for (item, amounts) in &a.drawn {
                    prop_assert!(b.drawn[item].starts_with(amounts));
                }
            }
            for ((assign, a), (_, b)) in projects(shop).iter().zip(&projects(further)) {
                for (n, (a, b)) in a.states.iter().zip(&b.states).enumerate() {
                    prop_assert_eq!(a.baths(), b.baths(), "{:?} after {}", assign, n);
                    prop_assert_eq!(a.stock(), b.stock());
                }
            }
            let verdict =
                |answer: &flipcount::analysis::Answer| answer.verdict.as_ref().map(|v| v.plan);
            prop_assert_eq!(verdict(&near), verdict(&far));
            let same_stops = near.stops.iter().all(|s| far.stops.contains(s));
            prop_assert!(same_stops, "{:?} {:?}", near.stops, far.stops);
            Ok(())
        })
    });
}

#[test]
fn the_planned_count_does_not_change_what_happens_before_it() {
    held("planned count", |case, shop| {
        let planned = shop.planned + 1;
        let again = Overrides { iterations: Some(planned), ..Overrides::default() };
        let more = scenario_with(case.dir.path(), again);
        in_shop(&more, |more| {
            prop_assert_eq!(more.planned, planned);
            for (assign, project) in projects(shop) {
                let Ok(longer) = flipcount::analysis::Project::run(more, &assign, planned, &[])
                else {
                    continue;
                };
                let upto = project.dates.len().min(longer.dates.len());
                prop_assert_eq!(&project.dates[..upto], &longer.dates[..upto]);
                let n = planned.min(shop.scenario.iterations.horizon);
                let lines = |p: &flipcount::analysis::Project, s: &Scenario| -> Vec<String> {
                    p.ledger.up_to(n).map(|e| crate::help::line(e, s)).collect()
                };
                prop_assert_eq!(lines(&project, &case.scenario), lines(&longer, more.scenario));
            }
            Ok(())
        })
    });
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    held("bytes", |case, shop| {
        let wanted = whole(shop);
        let again = scenario(case.dir.path());
        prop_assert_eq!(&wanted, &in_shop(&again, whole));
        Ok(())
    });
}

#[test]
fn the_number_of_threads_does_not_matter() {
    held("threads", |case, shop| {
        let wanted = whole(shop);
        for threads in [1, 2, 8] {
            let texts: Vec<String> = thread::scope(|scope| {
                let ask = || in_shop(&scenario(case.dir.path()), whole);
                let running: Vec<_> = (0..threads).map(|_| scope.spawn(ask)).collect();
                running.into_iter().map(|t| t.join().expect("a thread ends")).collect()
            });
            for text in texts {
                prop_assert_eq!(&wanted, &text);
            }
        }
        Ok(())
    });
}

/// The whole answer and every ledger as text, sources included.
fn whole(shop: &Shop) -> String {
    let scenario = shop.scenario;
    let mut result = answer_text(&answered(shop), scenario);
    for (_, project) in projects(shop) {
        for entry in project.ledger.entries() {
            result.push_str(&crate::help::line(entry, scenario));
            result.push_str(scenario.source(entry.source));
            result.push('\n');
        }
    }
    result
}

/// One project simulated again from the start gives the curves of the answer.
#[test]
fn a_plan_run_alone_is_the_plan_in_the_answer() {
    held("alone", |case, shop| {
        for plan in answered(shop).plans {
            let project = project(shop, &plan.plan.assign);
            let horizon = shop.scenario.iterations.horizon;
            prop_assert_eq!(&plan.curves.attended, &project.ledger.hours(horizon));
            prop_assert_eq!(&plan.dates, &project.dates);
            prop_assert!(!curves(&plan.curves, &case.scenario).is_empty());
        }
        Ok(())
    });
}
