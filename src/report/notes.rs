//! What a reader must be told beside the figures: doubtful prices, and what is not counted.

use std::collections::BTreeSet;

use super::Subject;
use crate::model::{Charge, EquipmentId, PartId, Route, RouteId, RouteKind};
use crate::value::{NoteKind, Notes};

/// Notes on the prices of all plans up to the planned count, one sentence each.
pub fn price_notes(subject: &Subject) -> Vec<String> {
    let mut notes = Notes::default();
    for plan in &subject.answer.plans {
        notes.merge(&plan.notes);
    }
    let scenario = subject.scenario();
    notes
        .iter()
        .filter_map(|(kind, source, _)| {
            let source = scenario.source(source);
            Some(match kind {
                NoteKind::Expired => {
                    format!("{source} is past its last valid day and was used all the same")
                }
                NoteKind::EarlierVersion => format!("{source} was quoted on an earlier version"),
                NoteKind::NotYetValid => {
                    format!("{source} is not valid yet on some days: left out there")
                }
                NoteKind::Early => {
                    format!("{source} is not valid yet on some days and was used all the same")
                }
                NoteKind::DeliveryByMass => return None,
            })
        })
        .collect()
}

/// What the final is made by although it breaks a rule that the part has at the planned count, one sentence each.
pub fn final_breaks(subject: &Subject) -> Vec<String> {
    let scenario = subject.scenario();
    let last = scenario.last.as_ref().map_or(&[][..], |last| &last.assign[..]);
    let broken = last.iter().flat_map(|&(part, route)| {
        subject.answer.ruled_out.iter().filter(move |o| (o.part, o.route) == (part, route))
    });
    broken
        .map(|o| {
            let (part, route) = (&scenario.part(o.part).name, &scenario.route(o.route).name);
            format!("the final makes {part} by {route} all the same: {}", o.reason)
        })
        .collect()
}

/// Plans whose curves are flat because the simulation could not go on beyond the planned count.
pub fn ended(subject: &Subject) -> Vec<String> {
    let plans = subject.answer.plans.iter().enumerate();
    plans
        .filter_map(|(index, plan)| {
            let (n, why) = plan.ended.as_ref()?;
            Some(format!(
                "plan {} is not followed beyond iteration {}: {why}",
                super::letter(index),
                n - 1
            ))
        })
        .collect()
}

/// What has no price or is in no total, in words.
pub fn not_counted(subject: &Subject) -> Vec<String> {
    let scenario = subject.scenario();
    let mut said = scenario.not_counted.clone();
    let by_mass = subject.answer.plans.iter().flat_map(|p| p.notes.iter());
    for (_, source, _) in by_mass.filter(|(kind, _, _)| *kind == NoteKind::DeliveryByMass) {
        let text = format!("delivery by mass ({}: no density or no box)", scenario.source(source));
        if !said.contains(&text) {
            said.push(text);
        }
    }
    said
}

/// Machines that some plan buys: their price is in no consumed figure.
pub fn bought_machines(subject: &Subject) -> Vec<String> {
    let used: BTreeSet<EquipmentId> = subject
        .used_routes()
        .iter()
        .flat_map(|(_, route)| route.steps.iter().filter_map(|step| step.at))
        .collect();
    used.into_iter()
        .map(|id| &subject.scenario().equipment[usize::from(id.0)])
        .filter(|machine| machine.charge == Charge::Buy && machine.price.is_some())
        .map(|machine| format!("{} is bought: in no consumed figure", machine.name))
        .collect()
}

/// Bench routes whose build holds several pieces in some plan: that they fit the plate together is not computed. `None` where there are
/// none, or where no plate is known.
pub fn shared_builds(subject: &Subject) -> Option<String> {
    let names: Vec<&str> = subject
        .used_routes()
        .into_iter()
        .filter(|&(id, route)| has_plate(subject, route) && most_pieces(subject, id) > 1)
        .map(|(_, route)| route.name.as_str())
        .collect();
    (!names.is_empty()).then(|| {
        let names = names.join("; ");
        format!("{names}: pieces share a build, check by hand if they fit the plate")
    })
}

/// True for a route that prints on a machine whose plate is known.
fn has_plate(subject: &Subject, route: &Route) -> bool {
    let prints = matches!(&route.kind, RouteKind::Bench(bench) if bench.print.is_some());
    let at = route.steps.first().and_then(|s| s.at).filter(|_| prints);
    at.is_some_and(|id| subject.scenario().equipment[usize::from(id.0)].plate.is_some())
}

/// The most pieces that a plan makes by a route in one iteration or in the final.
fn most_pieces(subject: &Subject, route: RouteId) -> i64 {
    let own = |part: PartId| subject.shop.part(part).copies;
    let last = subject.scenario().last.as_ref();
    let of_plan = |assign: &[RouteId]| -> i64 {
        let by_plan = |part: PartId| assign[part.index()];
        let other = |part| last.and_then(|l| l.assign.iter().find(|a| a.0 == part)).map(|a| a.1);
        let copies = |part| {
            let stated = last.and_then(|l| l.copies);
            stated.map_or(own(part), |slot| subject.shop.values.whole(slot))
        };
        let parts = || (0..assign.len()).map(PartId::at);
        let iteration = parts().filter(|&p| by_plan(p) == route).map(own).sum();
        let in_last = parts().filter(|&p| other(p).unwrap_or(by_plan(p)) == route).map(copies);
        if last.is_some() { in_last.sum::<i64>().max(iteration) } else { iteration }
    };
    subject.answer.plans.iter().map(|p| of_plan(&p.plan.assign)).max().unwrap_or_default()
}
