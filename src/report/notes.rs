//! What a reader must be told beside the figures: doubtful prices, and what is not counted.

use std::collections::BTreeSet;

use super::Subject;
use crate::model::{Charge, EquipmentId};
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
                NoteKind::DeliveryByMass => return None,
            })
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
