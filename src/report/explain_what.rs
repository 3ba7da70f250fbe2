//! What `explain` is asked: `avoidable[B]@6/resin`, `entry:12`, the address of an input.
//!
//! Enters: the text as typed. Leaves: an [`Ask`], or a sentence that says what is wrong and what can be asked.

use super::{Subject, letter};
use crate::analysis::{At, By, Figure, FigureKind, Within};
use crate::diag::{did_you_mean, did_you_mean_or_list};
use crate::ledger::Category;
use crate::model::Slot;

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// An input.
    Input(Slot),
    /// An entry of a plan's ledger, by its number in the budget file.
    Entry {
        /// The plan, by its index in the ranking.
        plan: usize,
        /// The number, from 1.
        number: usize,
    },
    /// A figure of a plan.
    Figure(Figure),
    /// Where the curves of two plans cross.
    BreakEven {
        /// The two plans.
        plans: (usize, usize),
        /// What they are compared by.
        by: By,
    },
    /// The change of plan on the way.
    Switch,
}

/// Figures named on the first line of what can be asked.
const FIRST_LINE: usize = 7;
/// The name of an entry in what is asked.
const ENTRY: &str = "entry";
/// The name of the crossings of two plans.
const BREAK_EVEN: &str = "break_even";
/// The name of the change of plan.
const SWITCH: &str = "switch";

/// Reads what is asked; without a plan that of the verdict, `own`, is meant.
///
/// # Errors
/// A sentence for whoever typed it.
pub fn ask(subject: &Subject, own: usize, text: &str) -> Result<Ask, String> {
    let slots = &subject.scenario().slots;
    if let Some((slot, _)) = slots.iter().find(|(_, input)| input.address == text) {
        return Ok(Ask::Input(slot));
    }
    let end = text.find(['[', '@', '/', ':']).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    if let Some(kind) = FigureKind::ALL.into_iter().find(|m| m.name() == word) {
        return figure(subject, own, (kind, rest));
    }
    match word {
        ENTRY => entry(subject, own, rest),
        BREAK_EVEN => break_even(subject, rest),
        SWITCH if rest.is_empty() => Ok(Ask::Switch),
        _ => Err(unknown(subject, text, word)),
    }
}

/// Nothing of that name: what is near, and what there is.
fn unknown(subject: &Subject, text: &str, word: &str) -> String {
    let addresses = || subject.scenario().slots.iter().map(|(_, input)| input.address.as_str());
    let names =
        FigureKind::ALL.into_iter().map(FigureKind::name).chain([ENTRY, BREAK_EVEN, SWITCH]);
    let near = did_you_mean(text, addresses())
        .or_else(|| did_you_mean(word, names))
        .map_or(String::new(), |near| format!("; {near}"));
    format!("nothing is called `{text}` here{near}\n{}", what_can_be_asked(subject))
}

/// What can be asked, a few lines.
pub fn what_can_be_asked(subject: &Subject) -> String {
    const MOST: usize = 6;
    let (money, others) = FigureKind::ALL.split_at(FIRST_LINE);
    let names = |of: &[FigureKind]| of.iter().map(|m| m.name()).collect::<Vec<_>>().join(", ");
    let mut addresses = subject.scenario().slots.iter().map(|(_, input)| input.address.as_str());
    let address = addresses.find(|a| a.starts_with("part[")).unwrap_or("iterations.planned");
    let (with, at) = if subject.has_final() {
        (", with the final", ", the final left out; @3+final with it")
    } else {
        ("", "")
    };
    let mut text = format!(
        "what can be asked:\n  \
FIGURE            {},\n                    {}\n  \
FIGURE[B]         the same of plan B, by letter or name; as planned{with}\n  \
FIGURE[B]@3       after 3 iterations{at}\n  \
FIGURE[B]/PART    outlay[B]/resin a category, outlay[B]/resin/NAME an item of it; waste/NAME\n  \
entry:12          an entry by its number in `flipcount budget`; entry[B]:12 of plan B\n  \
break_even[A, B]  where two plans cross by cost; with /outlay or /days by those\n  \
switch            the change of plan on the way, where one pays\n  \
ADDRESS           an input, such as {address}; `flipcount flips --all` lists them",
        names(money),
        names(others)
    );
    text.push_str("\nplans:");
    for (index, plan) in subject.answer.plans.iter().take(MOST).enumerate() {
        text.push_str(&format!("\n  {}  {}", letter(index), plan.plan.name));
    }
    let more = subject.answer.plans.len().saturating_sub(MOST);
    if more > 0 {
        text.push_str(&format!("\n  and {more} more (`flipcount compare --all`)"));
    }
    text
}

/// A plan in brackets, if there are any, and what follows.
fn plan<'t>(subject: &Subject, own: usize, rest: &'t str) -> Result<(usize, &'t str), String> {
    let Some(inside) = rest.strip_prefix('[') else {
        return Ok((own, rest));
    };
    let closed = |name: &str| inside.strip_prefix(name).and_then(|after| after.strip_prefix(']'));
    let plans = || subject.answer.plans.iter().enumerate();
    let by_name = plans().find_map(|(i, p)| Some((i, closed(&p.plan.name)?)));
    let by_letter = || plans().find_map(|(i, _)| Some((i, closed(&letter(i))?)));
    by_name.or_else(by_letter).ok_or_else(|| {
        let wanted = inside.split(']').next().unwrap_or(inside);
        no_plan(subject, wanted)
    })
}

fn no_plan(subject: &Subject, wanted: &str) -> String {
    let infeasible = subject.answer.infeasible.iter().find(|(p, _)| p.name == wanted);
    if let Some((_, why)) = infeasible {
        return format!("plan `{wanted}` is not feasible: {why}");
    }
    let names: Vec<&str> = subject.answer.plans.iter().map(|p| p.plan.name.as_str()).collect();
    let count = subject.answer.plans.len();
    let letters = if count == 1 { "A".to_owned() } else { format!("A to {}", letter(count - 1)) };
    let hint = did_you_mean(wanted, names).unwrap_or_else(|| format!("there are {letters}"));
    format!("no plan is called `{wanted}`; {hint}")
}

fn figure(subject: &Subject, own: usize, (kind, rest): (FigureKind, &str)) -> Result<Ask, String> {
    let (plan, rest) = plan(subject, own, rest)?;
    let (at, rest) = at(subject, rest)?;
    let within = within(kind, rest)?;
    if at.is_some() && matches!(kind, FigureKind::Risk | FigureKind::Adds) {
        return Err(format!("`{}` is that of iteration 1: leave the count out", kind.name()));
    }
    Ok(Ask::Figure(Figure { kind, plan, at, within }))
}

/// A count after `@`, if there is one, and what follows.
fn at<'t>(subject: &Subject, rest: &'t str) -> Result<(Option<At>, &'t str), String> {
    let Some(after) = rest.strip_prefix('@') else {
        return Ok((None, rest));
    };
    let end = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
    let (digits, rest) = after.split_at(end);
    let horizon = subject.answer.horizon;
    let n: Option<u32> = digits.parse().ok().filter(|n| (1..=horizon).contains(n));
    let n = n.ok_or_else(|| {
        format!("after `@` a count of iterations from 1 to {horizon} is expected, found `{digits}`")
    })?;
    match rest.strip_prefix("+final") {
        Some(_) if !subject.has_final() => Err("no final is asked for in this scenario".to_owned()),
        Some(rest) => Ok((Some(At { n, with_final: true }), rest)),
        None => Ok((Some(At { n, with_final: false }), rest)),
    }
}

/// A category and an item after `/`.
fn within(kind: FigureKind, rest: &str) -> Result<Within, String> {
    if rest.is_empty() {
        return Ok(Within::default());
    }
    let Some(path) = rest.strip_prefix('/').filter(|p| !p.is_empty()) else {
        return Err(format!(
            "`{rest}` is not understood: expected `@` with a count, or `/` with a category or item"
        ));
    };
    match kind {
        FigureKind::Money(_) => {
            let (category, item) = path.split_once('/').map_or((path, None), |(c, i)| (c, Some(i)));
            let known: Vec<&str> = Category::ALL.into_iter().map(Category::name).collect();
            let found = Category::ALL.into_iter().find(|c| c.name() == category);
            let found = found.ok_or_else(|| {
                let hint = did_you_mean_or_list(category, &known);
                format!("no category is called `{category}`; {hint}")
            })?;
            Ok(Within { category: Some(found), item: item.map(str::to_owned) })
        }
        FigureKind::Attended | FigureKind::Drawn(_) | FigureKind::Waste => {
            Ok(Within { category: None, item: Some(path.to_owned()) })
        }
        _ => Err(format!("`{}` has no parts: leave `/{path}` out", kind.name())),
    }
}

fn entry(subject: &Subject, own: usize, rest: &str) -> Result<Ask, String> {
    let (plan, rest) = plan(subject, own, rest)?;
    let number = rest.strip_prefix(':').and_then(|n| n.trim().parse::<usize>().ok());
    match number.filter(|&n| n > 0) {
        Some(number) => Ok(Ask::Entry { plan, number }),
        None => Err("an entry is asked for by its number in `flipcount budget`, such as entry:12"
            .to_owned()),
    }
}

fn break_even(subject: &Subject, rest: &str) -> Result<Ask, String> {
    let expected = || format!("two plans are expected, such as {BREAK_EVEN}[A, B]");
    let inside = rest.strip_prefix('[').ok_or_else(expected)?;
    let index = |name: &str| {
        let name = name.trim();
        let plans = &subject.answer.plans;
        let by_name = plans.iter().position(|p| p.plan.name == name);
        by_name.or_else(|| (0..plans.len()).find(|&i| letter(i) == name))
    };
    let (both, by) = inside.rsplit_once(']').ok_or_else(expected)?;
    let by = match by {
        "" | "/avoidable" => By::Avoidable,
        "/outlay" => By::Outlay,
        "/days" => By::Days,
        other => {
            let found = other.trim_start_matches('/');
            return Err(format!(
                "plans are compared by avoidable, outlay or days, found `{found}`"
            ));
        }
    };
    let splits = both.match_indices(',');
    let pair = splits
        .filter_map(|(at, _)| Some((index(&both[..at])?, index(&both[at + 1..])?)))
        .find(|(a, b)| a != b);
    pair.map(|plans| Ask::BreakEven { plans, by }).ok_or_else(|| {
        let wrong = both.split(',').map(str::trim).find(|name| index(name).is_none());
        wrong.map_or_else(expected, |name| no_plan(subject, name))
    })
}
