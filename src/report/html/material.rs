//! Resin, solvent, dye and waste over time: a small chart each, with its figures.

use maud::{Markup, html};

use super::super::chart::{Head, Line, LineChart, line_chart};
use super::super::millilitres;
use super::extras::Page;
use super::frame::wide;
use super::ticks::day_ticks;
use crate::analysis::{PlanResult, days};
use crate::model::ItemClass;

/// Height of a chart.
const HEIGHT: f64 = 190.0;

/// What is drawn: its key in the data, its name, its class.
const PANELS: [(&str, &str, Option<ItemClass>); 4] = [
    ("resin", "Resin drawn", Some(ItemClass::Resin)),
    ("solvent", "Solvent drawn", Some(ItemClass::Solvent)),
    ("dye", "Dye drawn", Some(ItemClass::Dye)),
    ("waste", "Discarded", None),
];

type Panel = (&'static str, &'static str, Option<ItemClass>);

/// The section; left out where nothing is drawn.
pub(super) fn material(page: &Page) -> Markup {
    let used =
        |panel: &&Panel| page.plans().any(|(_, p)| curve(page, p, panel.2).iter().any(|v| *v != 0));
    let panels: Vec<&Panel> = PANELS.iter().filter(used).collect();
    if panels.is_empty() {
        return html! {};
    }
    html! {
        section #material aria-labelledby="material-h" {
            h2 #material-h { "Material over time" }
            div.panels { @for panel in &panels { div { h3 { (panel.1) ", mL" } (chart(page, panel)) } } }
            p.said { "Cumulative, from the first release to the in hand of each iteration; dots at the chosen count" (page.without_final()) "." }
            (figures(page, &panels))
        }
    }
}

/// Millionths of mL after each iteration.
fn curve(page: &Page, plan: &PlanResult, class: Option<ItemClass>) -> Vec<i64> {
    let Some(class) = class else {
        return plan.curves.waste.clone();
    };
    let mut sums = vec![0; plan.curves.waste.len()];
    for (item, drawn) in &plan.curves.drawn {
        if page.subject.scenario().items[item.index()].class == class {
            sums.iter_mut().zip(drawn).for_each(|(sum, one)| *sum += one);
        }
    }
    sums
}

fn chart(page: &Page, &(key, name, class): &Panel) -> Markup {
    let line = |(look, plan): (usize, &PlanResult)| {
        let amounts = curve(page, plan, class);
        let each = plan.curves.seconds.iter().zip(&amounts);
        let points = each.map(|(&s, &v)| (days(s), v as f64 / 1e6));
        Line {
            style: look,
            name: page.letter(look),
            key: format!("{look}.{key}"),
            points: std::iter::once((0.0, 0.0)).chain(points).collect(),
        }
    };
    let lines: Vec<Line> = page.plans().map(line).collect();
    let most = lines.iter().filter_map(|l| l.points.last()).map(|p| p.0).fold(0.1, f64::max);
    line_chart(&LineChart {
        head: Head::new(&format!("{key}-c"), name, "One line a plan, in mL over days."),
        x_name: String::new(),
        y_name: String::new(),
        x_ticks: day_ticks(page.subject, most, 5.0),
        lines,
        band: None,
        marks: Vec::new(),
        now: page.now() + 1,
        upright: false,
        height: HEIGHT,
    })
}

fn figures(page: &Page, panels: &[&Panel]) -> Markup {
    let text = |plan: &PlanResult, class| {
        let at = curve(page, plan, class).get(page.now()).copied().unwrap_or(0);
        millilitres(at)
    };
    wide(
        "Material",
        &html! {
            table {
                thead { tr {
                    th scope="col" { "after " span data-f="n" { (page.subject.answer.planned) } ", mL" }
                    @for panel in panels { th.r scope="col" { (panel.1.to_lowercase()) } }
                    th.r scope="col" { "in hand" }
                } }
                tbody { @for (look, plan) in page.plans() { tr {
                    th scope="row" { (page.letter(look)) }
                    @for panel in panels { td.r data-f=(format!("{look}.{}", panel.0)) { (text(plan, panel.2)) } }
                    td.r data-f=(format!("{look}.date")) { (date(page, plan)) }
                } } }
            }
        },
    )
}

fn date(page: &Page, plan: &PlanResult) -> String {
    let seconds = plan.curves.seconds.get(page.now()).copied().unwrap_or(0);
    page.words.plain_date(page.subject.shop.start + seconds)
}
