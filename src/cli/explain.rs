//! `explain`: where a figure comes from.

use super::args::Today;
use super::ask::Asked;
use super::budget::chosen;
use super::{Failure, ask, out};
use crate::analysis::{
    Figure, Node, Story, Unexplained, break_even, figure, input_use, stop_text, switch,
};
use crate::diag::did_you_mean_or_list;
use crate::model::Overrides;
use crate::report::{
    Ask, Depth, Subject, capital, explain_json, explain_text, figure_title, input_json, input_text,
    letter, what_can_be_asked,
};
use crate::sim::Stop;
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Scenario folder or its scenario.toml
    pub scenario: PathBuf,
    /// A figure, an entry or an input; without it, what can be asked
    pub what: Option<String>,
    /// Everything: every entry, down to what is stated
    #[arg(long, conflicts_with = "json")]
    pub all: bool,
    /// The whole tree as one JSON document
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub today: Today,
}

/// Entries that rest on an input, shown where not all are asked for.
const FEW_ENTRIES: usize = 8;

/// The tree on standard output, or as JSON.
pub(super) fn explain(args: &Args) -> Result<(), Failure> {
    let Asked { scenario, log, .. } =
        ask::resumed(&args.scenario, &Overrides::default(), &args.today)?;
    ask::warn(&log);
    ask::answered(&scenario, |shop, answer| {
        let subject = Subject { shop, answer };
        let own = chosen(&subject, None)?;
        let Some(what) = &args.what else {
            return out::text(&format!("{}\n", capital(&what_can_be_asked(&subject))));
        };
        match crate::report::ask(&subject, own, what).map_err(Failure::usage)? {
            Ask::Input(slot) => {
                let told = input_use(shop, &subject.plan(own).plan, slot)
                    .map_err(|stop| stopped(&subject, &stop))?;
                if args.json {
                    let text = input_json(&subject, &told, own).map_err(Failure::internal)?;
                    return out::data(text.as_bytes());
                }
                let most = if args.all { usize::MAX } else { FEW_ENTRIES };
                out::text(&input_text(&subject, &told, (own, most), out::width()))
            }
            other => told(&subject, args, &other),
        }
    })
}

/// Says a tree.
fn told(subject: &Subject, args: &Args, asked: &Ask) -> Result<(), Failure> {
    let (node, plan, depth) = tree(subject, asked)?;
    if args.json {
        let what = args.what.as_deref().unwrap_or_default();
        let text = explain_json(subject, (what, plan), &node).map_err(Failure::internal)?;
        return out::data(text.as_bytes());
    }
    let depth = if args.all { Depth::ALL } else { depth };
    out::text(&explain_text(subject, &node, depth, out::width()))
}

/// The tree of what is asked, the plan it is of, and how deep it is shown.
fn tree(subject: &Subject, asked: &Ask) -> Result<(Node, Option<usize>, Depth), Failure> {
    let (shop, answer) = (subject.shop, subject.answer);
    match asked {
        Ask::Figure(asked) => {
            let node = figure(shop, answer, asked).map_err(|why| unexplained(subject, &why))?;
            let label = figure_title(subject, asked);
            Ok((Node { label, ..node }, Some(asked.plan), depth_of(asked)))
        }
        Ask::Entry { plan, number } => {
            Ok((entry(subject, (*plan, *number))?, Some(*plan), Depth::ITEM))
        }
        Ask::BreakEven { plans, by } => {
            let node = break_even(shop, answer, *plans, *by).ok_or_else(|| {
                Failure::usage("only the six cheapest plans are compared in pairs".to_owned())
            })?;
            let (a, b) = (letter(plans.0), letter(plans.1));
            let label = format!("break-even of plans {a} and {b} by {}", by.name());
            Ok((Node { label, ..node }, None, Depth { many: usize::MAX, down: true }))
        }
        Ask::Switch | Ask::Input(_) => {
            let found = switch(shop, answer).ok_or_else(|| {
                Failure::usage(
                    "no change of plan on the way is cheaper than the best plan".to_owned(),
                )
            })?;
            let node = found.map_err(|why| unexplained(subject, &why))?;
            let label = "saved by the change of plan".to_owned();
            Ok((Node { label, ..node }, None, Depth::TOTAL))
        }
    }
}

fn depth_of(asked: &Figure) -> Depth {
    match (&asked.within.category, &asked.within.item) {
        (_, Some(_)) => Depth::ITEM,
        (Some(_), None) => Depth::CATEGORY,
        (None, None) => match asked.kind {
            crate::analysis::FigureKind::Money(_)
            | crate::analysis::FigureKind::Attended
            | crate::analysis::FigureKind::Drawn(_)
            | crate::analysis::FigureKind::Waste => Depth::TOTAL,
            _ => Depth { many: FEW_ENTRIES, down: true },
        },
    }
}

/// An entry of the budget file by its number.
fn entry(subject: &Subject, (plan, number): (usize, usize)) -> Result<Node, Failure> {
    let shop = subject.shop;
    let story = Story::of(shop, &subject.plan(plan).plan, shop.planned, true)
        .map_err(|stop| stopped(subject, &stop))?;
    let count = story.entries.len();
    let node = number.checked_sub(1).and_then(|index| story.entry(index)).ok_or_else(|| {
        let letter = letter(plan);
        Failure::usage(format!("plan {letter} has no entry {number}: they go from 1 to {count}"))
    })?;
    Ok(Node { label: format!("entry {number} of plan {}: {}", letter(plan), node.label), ..node })
}

fn unexplained(subject: &Subject, why: &Unexplained) -> Failure {
    match why {
        Unexplained::Stopped(stop) => stopped(subject, stop),
        Unexplained::NotThere { what, known } => {
            let known: Vec<&str> = known.iter().map(String::as_str).collect();
            let hint = did_you_mean_or_list(what, &known);
            Failure::usage(format!("nothing of `{what}` is in this figure; {hint}"))
        }
    }
}

/// Beyond the planned count a plan may not be followed any further.
fn stopped(subject: &Subject, stop: &Stop) -> Failure {
    let why = stop_text(subject.scenario(), stop);
    Failure::usage(format!("the plan is not followed so far: {why}"))
}
