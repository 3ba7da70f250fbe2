//! What the page takes from the view: the sections beside its charts, and the cells of its sampled columns.

use super::{Body, Section, remarks, sampled, unproven};
use crate::report::Subject;
use crate::report::prices::stale;
use crate::report::without::without;

/// Everything that is said beside figures and charts, in order.
pub(in crate::report) fn beside_figures(subject: &Subject) -> Vec<Section> {
    let shown: Vec<usize> = (0..subject.answer.plans.len()).collect();
    let sections = [
        without(subject),
        stale(subject, true),
        unproven::unproven(subject, &shown, true),
        remarks::switch(subject),
        remarks::break_even(subject, false),
        remarks::ruled_out(subject, true),
        remarks::preferences(subject, true),
        remarks::advice(subject, true),
        remarks::notes(subject, true),
        remarks::uncounted(subject, true),
    ];
    sections.into_iter().flatten().collect()
}

/// Headings of the sampled columns, and each of the plans' cells under them; a plan that was not sampled has none.
pub(in crate::report) fn sampled_cells(
    subject: &Subject,
    plans: &[usize],
) -> (Vec<&'static str>, Vec<Vec<String>>) {
    let Some(drawn) = &subject.answer.sampled else {
        return (Vec::new(), plans.iter().map(|_| Vec::new()).collect());
    };
    let columns = sampled::columns(subject);
    let cells = |&index: &usize| match drawn.plans.get(index) {
        Some(plan) => columns.iter().map(|c| (c.1)(subject, plan)).collect(),
        None => columns.iter().map(|_| String::new()).collect(),
    };
    (columns.iter().map(|c| c.0).collect(), plans.iter().map(cells).collect())
}

/// What the samples say in sentences.
pub(in crate::report) fn sampled_said(subject: &Subject) -> Vec<String> {
    match sampled::sentences(subject, true).map(|section| section.body) {
        Some(Body::Sentences(said)) => said,
        _ => Vec::new(),
    }
}
