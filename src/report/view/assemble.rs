//! The whole view: which sections, in which order.

use super::{Section, View, cautions, full, remarks, sampled, tables, unproven, verdict_sentences};
use crate::model::Beside;
use crate::plan::Plan;
use crate::report::look_again::{last_safe, look_again};
use crate::report::{Subject, iterations, letter, percent, progress, progress_sections};

/// How much is said.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Detail {
    /// What fits a screen.
    Short,
    /// Everything.
    All,
}

/// Lines of a short view, where it can be helped.
const SCREEN: usize = 40;
/// Parts named together in the verdict of a short view.
const FEW_NAMES: usize = 6;
/// Most parts whose routes describe a plan in the legend; above, it is described by its difference from the first.
const FEW_PARTS: usize = 3;
/// Most characters of a plan that has a line of its own: with the heading it fits the usual width.
const LEGEND_LINE: usize = 92;

/// Says the answer, verdict first.
pub fn view(subject: &Subject, detail: Detail) -> View {
    let all = detail == Detail::All;
    let shown = tables::shown(subject, all);
    let plan = |i: usize| format!("plan {}", letter(i));
    let most = if all { usize::MAX } else { FEW_NAMES };
    let mut sections = vec![Section::sentences("", verdict_sentences(subject, &plan, most))];
    if all {
        sections.extend(progress_sections(subject).into_iter().map(Some));
    } else {
        sections.push(progress(subject, false));
    }
    sections.push(legend(subject, &shown));
    sections.push(tables::plans(subject, &shown).map(Section::closely));
    sections.push(sampled::table(subject, &shown));
    if all {
        sections.push(sampled::means(subject, &shown).map(Section::closely));
    }
    sections.push(sampled::sentences(subject, all).map(Section::closely));
    sections.push(unproven::unproven(subject, &shown, all).map(Section::closely));
    sections.push(tables::stops(subject, &shown));
    // On a screen the samples take the room of the other plans' materials and of orders.
    let unsampled = subject.answer.sampled.is_none();
    if all || unsampled {
        sections.push(tables::materials(subject, &shown, all));
    } else {
        sections.push(tables::materials_briefly(subject).map(Section::closely));
    }
    // Ahead of the break-evens: those are spared first where the view is too long.
    sections.push(look_again(subject, all));
    sections.push(last_safe(subject).map(Section::closely));
    sections.push(remarks::break_even(subject, all));
    sections.push(remarks::switch(subject).map(Section::closely));
    sections.extend([
        remarks::ruled_out(subject, all).map(Section::closely),
        remarks::preferences(subject, all).map(Section::closely),
        remarks::advice(subject, all).filter(|_| all || unsampled).map(Section::closely),
        remarks::notes(subject, all).map(Section::closely),
        remarks::assumed_values(subject, all).map(Section::closely),
        remarks::uncounted(subject, all).map(Section::closely),
    ]);
    if all {
        sections.extend(full::sections(subject));
    }
    sections.push(Section::sentences("Caution", cautions(subject)).map(Section::closely));
    View {
        title: title(subject),
        sections: sections.into_iter().flatten().collect(),
        lines: if all { usize::MAX } else { SCREEN },
    }
}

/// The scenario, the count and the currency.
pub(super) fn title(subject: &Subject) -> String {
    format!(
        "{} ({}{}; money in {})",
        subject.scenario().title,
        iterations(subject.answer.planned),
        last(subject),
        subject.words().currency()
    )
}

/// The final in a few words. One is counted, however likely it is to be refused.
fn last(subject: &Subject) -> String {
    let Some(last) = &subject.scenario().last else {
        return String::new();
    };
    let refused = 1.0 - subject.shop.values.exact(last.accept).to_f64_lossy();
    if refused > 0.0 {
        format!(" and one final, refused with {}", percent(refused))
    } else {
        " and the final".to_owned()
    }
}

/// Which letter is which plan, one a line where each fits.
pub(super) fn legend(subject: &Subject, shown: &[usize]) -> Option<Section> {
    let mut said: Vec<String> = shown
        .iter()
        .map(|&index| format!("{} = {}", letter(index), plan_text(subject, index)))
        .collect();
    let hidden = subject.answer.plans.len() - shown.len();
    if let Some(last) = said.last_mut().filter(|_| hidden > 0) {
        last.push_str(&format!("; {hidden} more (--all)"));
    }
    if said.iter().all(|line| line.chars().count() <= LEGEND_LINE) {
        Section::sentences("Plans", said)
    } else {
        Section::joined("Plans", &said)
    }
}

/// True where the name of a plan tells its second routes, as that of a plan without a name of its own does.
fn names_second_routes(subject: &Subject, plan: &Plan) -> bool {
    let told = |b: &Beside| {
        let route = &subject.scenario().route(b.route).name;
        plan.name.contains(&format!(" + {route} to {}", b.until))
    };
    !plan.beside.is_empty() && plan.beside.iter().all(told)
}

/// What a plan does: its name where the user has named it, else its routes, or how it differs from the first.
pub(in crate::report) fn plan_text(subject: &Subject, index: usize) -> String {
    let (scenario, plan) = (subject.scenario(), &subject.plan(index).plan);
    if !scenario.plans.is_empty() {
        let how = subject.extras_of(plan).filter(|_| !names_second_routes(subject, plan));
        how.map_or(plan.name.clone(), |how| format!("{} ({how})", plan.name))
    } else if scenario.parts.len() <= FEW_PARTS {
        by_part(subject, plan)
    } else {
        difference(subject, index)
    }
}

/// Every part with its route.
fn by_part(subject: &Subject, plan: &Plan) -> String {
    let parts = subject.scenario().parts.iter().zip(subject.routes_of(plan));
    let said: Vec<String> = parts.map(|(part, route)| format!("{}: {route}", part.name)).collect();
    said.join(" | ")
}

/// A plan by what it does otherwise than plan A, which is told in full.
fn difference(subject: &Subject, index: usize) -> String {
    let plan = &subject.plan(index).plan;
    if index == 0 {
        return plan.name.clone();
    }
    let other = remarks::differing(subject, plan, &subject.plan(0).plan);
    let other: Vec<String> = other.iter().map(|(part, route)| format!("{part}: {route}")).collect();
    format!("A, but {}", other.join(" | "))
}
