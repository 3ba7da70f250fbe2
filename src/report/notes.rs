//! What a reader must be told beside the figures: doubtful prices, and what is not counted.

use std::collections::BTreeSet;

use super::Subject;
use crate::model::{Charge, EquipmentId};
use crate::sim::Crowd;
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

/// Dips of the plans in which the boxes of a build's pieces are larger than what is free in the tub, one sentence for each route and bath.
pub fn crowded_dips(subject: &Subject) -> Vec<String> {
    let mut crowds: Vec<Crowd> =
        subject.answer.plans.iter().flat_map(|p| p.crowds.iter().copied()).collect();
    crowds.sort_by_key(|c| (c.route, c.bath, std::cmp::Reverse(c.boxes)));
    crowds.dedup_by_key(|c| (c.route, c.bath));
    let scenario = subject.scenario();
    let said = crowds.iter().map(|c| {
        format!(
            "pieces may not fit side by side in {} ({}): boxes {} cm2, free {}",
            scenario.baths[c.bath.index()].name,
            scenario.route(c.route).name,
            super::fixed(c.boxes, 1),
            super::fixed(c.free, 1)
        )
    });
    said.collect()
}

/// What is left in the baths of the verdict's plan, and what emptying them would cost, in one sentence: they are not emptied at the end.
pub fn baths_left(subject: &Subject) -> Option<String> {
    let verdict = subject.answer.verdict.as_ref()?;
    let said = subject.plan(verdict.plan).baths.iter().map(|left| {
        let name = &subject.scenario().baths[left.bath.index()].name;
        let cost = left.emptying.map_or(String::new(), |cost| {
            format!(" (emptying it costs {})", subject.words().money(cost))
        });
        format!("{name} {} mL{cost}", super::millilitres(left.content))
    });
    let said: Vec<String> = said.collect();
    let letter = super::letter(verdict.plan);
    (!said.is_empty()).then(|| format!("left in the baths of {letter}: {}", said.join(", ")))
}
