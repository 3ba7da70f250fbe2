//! The verdict in plain sentences: what to do for each part, what it costs and when it is there, how firm that is.

use super::sampled;
use super::unproven::{advice, failing};
use crate::analysis::{DueDate, PartVerdict, PlanResult, Ranked, Verdict, is_same_as_another};
use crate::model::{Exact, Money, day_of};
use crate::plan::{LinePrice, line_price};
use crate::report::{Subject, capital, dated, days_text, input_words, listed, percent};

/// How plans are called in sentences: by letters beside a legend, or by their names.
pub type NameOf<'n> = &'n dyn Fn(usize) -> String;

/// The verdict, one sentence or two a line: parts, cost and date, the next best, limits. Of parts with the same answer at most so many
/// are named.
pub fn verdict_sentences(subject: &Subject, name: NameOf, most_parts: usize) -> Vec<String> {
    let Some(verdict) = &subject.answer.verdict else {
        return vec!["No plan is feasible.".to_owned()];
    };
    let over = subject.scenario().past.as_ref().filter(|past| past.done >= subject.answer.planned);
    if let Some(past) = over.filter(|_| !subject.has_final()) {
        let why = if past.accepted { "The design is accepted" } else { "No iteration is left" };
        return vec![format!("{why}: nothing is left to make.")];
    }
    let say = Say { subject, verdict, name, most_parts };
    let cost = with(with(say.cost(), say.budget()), say.unpriced(verdict.plan));
    let cost = with(cost, say.unproven());
    let mut said = vec![say.parts(), cost];
    match (verdict.due, say.due()) {
        // That nothing is in time is said first.
        (DueDate::Missed, Some(missed)) => {
            said.insert(0, missed);
            said.push(say.in_hand());
        }
        (_, due) => said.push(with(say.in_hand(), due)),
    }
    said.push(with(say.next_best(), say.late()));
    said
}

/// Plans named as too close to call.
const MOST_CLOSE: usize = 3;

struct Say<'a> {
    subject: &'a Subject<'a>,
    verdict: &'a Verdict,
    name: NameOf<'a>,
    most_parts: usize,
}

impl Say<'_> {
    fn chosen(&self) -> &PlanResult {
        self.subject.plan(self.verdict.plan)
    }

    /// What to do for each part; parts with the same answer share a sentence.
    fn parts(&self) -> String {
        let scenario = self.subject.scenario();
        let mut groups: Vec<(PartVerdict, Vec<&str>)> = Vec::new();
        for (part, &verdict) in scenario.parts.iter().zip(&self.verdict.parts) {
            match groups.iter_mut().find(|g| g.0 == verdict) {
                Some(group) => group.1.push(&part.name),
                None => groups.push((verdict, vec![&part.name])),
            }
        }
        let sentences: Vec<String> = groups
            .iter()
            .map(|(verdict, names)| {
                format!("{}: {}.", self.few(names), self.what_to_do(*verdict, names.len()))
            })
            .collect();
        sentences.join(" ")
    }

    fn few(&self, names: &[&str]) -> String {
        match names.len().saturating_sub(self.most_parts) {
            0 => listed(names),
            more => format!("{} and {more} more parts", names[..self.most_parts].join(", ")),
        }
    }

    fn what_to_do(&self, verdict: PartVerdict, parts: usize) -> String {
        let scenario = self.subject.scenario();
        let them = if parts == 1 { "it" } else { "them" };
        match verdict {
            PartVerdict::Bench(Some(route)) => {
                format!("make {them} at the bench ({})", scenario.route(route).name)
            }
            PartVerdict::Bench(None) => {
                format!("make {them} at the bench; by which route is too close to call")
            }
            PartVerdict::Order(Some(route)) => {
                format!("send {them} out ({})", scenario.route(route).name)
            }
            PartVerdict::Order(None) => {
                format!("send {them} out; by which route is too close to call")
            }
            PartVerdict::Open => "bench or outside is too close to call".to_owned(),
        }
    }

    fn cost(&self) -> String {
        let words = self.subject.words();
        let decides = self.chosen().decides;
        let how = self.subject.extras_of(&self.chosen().plan);
        capital(&format!(
            "{}{}: {} {} still avoidable{} (outlay {}).",
            (self.name)(self.verdict.plan),
            how.map_or(String::new(), |how| format!(", {how}")),
            words.money(decides.avoidable),
            words.currency(),
            if self.subject.scenario().labour.is_some() { ", own hours included" } else { "" },
            words.money(decides.outlay),
        ))
    }

    /// Routes of a plan whose pieces have no price: it may be cheap for that alone.
    fn unpriced(&self, plan: usize) -> Option<String> {
        let (scenario, shop) = (self.subject.scenario(), self.subject.shop);
        let day = scenario.start.map(day_of);
        let variants = self.subject.plan(plan).plan.pace(shop).variants;
        let mut names: Vec<&str> = Vec::new();
        for (part, route, _) in self.subject.plan(plan).plan.ways() {
            let Some(terms) = shop.terms(route) else {
                continue;
            };
            let copies = shop.part(part).copies * variants;
            let price = line_price(terms, part, copies, day)
                .or_else(|| line_price(terms, part, copies, None));
            // Another row for as many pieces may hold on a later day.
            let lacks = |p: LinePrice| {
                let from = p.row(terms).map(|row| row.from_qty);
                let mut rows = terms.rows.iter().filter(|row| Some(row.from_qty) == from);
                p.quote.is_none() && rows.any(|row| row.rate.is_none())
            };
            let name = scenario.route(route).name.as_str();
            if price.is_some_and(lacks) && !names.contains(&name) {
                names.push(name);
            }
        }
        let listed = listed(&names);
        (!names.is_empty())
            .then(|| format!("The price of pieces by {listed} is not stated: not counted."))
    }

    /// What to do about unproven routes, and what it means if they do not work.
    fn unproven(&self) -> Option<String> {
        let plan = self.chosen();
        let unproven = plan.unproven.as_ref()?;
        let fails = failing(self.subject, plan);
        let fails = fails.map_or(String::new(), |f| format!("; {f}"));
        Some(format!("{}{fails}.", capital(&advice(self.subject, unproven))))
    }

    fn in_hand(&self) -> String {
        let without = match self.chosen().unproven.as_ref().and_then(|u| u.if_fails) {
            Some(_) => {
                let sure = self.subject.shop.values.exact(self.subject.scenario().sure);
                format!(
                    "with a chance of {}, by dates without failures",
                    percent(sure.to_f64_lossy())
                )
            }
            None => "without failures".to_owned(),
        };
        let seconds = self.chosen().decides.seconds;
        let on = self.subject.words().date(self.subject.shop.start + seconds);
        let days = days_text(seconds);
        match self.subject.scenario().start {
            Some(_) => format!("In hand, {without}, on {on}, after {days} days."),
            // Day 1 is the first: a day's number is not the count of days gone.
            None => format!("In hand, {without}, on {on} ({days} days after the start)."),
        }
    }

    fn next_best(&self) -> String {
        if self.verdict.candidates.len() > 1 {
            return self.too_close();
        }
        if self.verdict.too_close {
            return "Too close to call: the samples do not tell its cost from another plan's."
                .to_owned();
        }
        let plans = &self.subject.answer.plans;
        let other =
            |&p: &usize| p != self.verdict.plan && !is_same_as_another(self.subject.shop, plans, p);
        let Some(next) = (0..plans.len()).find(other) else {
            return if plans.len() > 1 {
                "The others leave their unproven routes alone and come to the same.".to_owned()
            } else {
                "It is the only feasible plan.".to_owned()
            };
        };
        let cheaper = self.subject.plan(next).decides.avoidable < self.chosen().decides.avoidable;
        let lead = match self.verdict.due {
            DueDate::InTime { .. } if cheaper => "Cheaper, but late, is",
            DueDate::Missed if cheaper => "Cheaper, but later still, is",
            _ => "Next best is",
        };
        let told = format!("{lead} {}: {}.", (self.name)(next), self.differs(next));
        // What the chosen plan lacks is said already.
        let lacks =
            self.unpriced(next).filter(|l| Some(l) != self.unpriced(self.verdict.plan).as_ref());
        with(told, lacks)
    }

    fn too_close(&self) -> String {
        let others: Vec<usize> =
            self.verdict.candidates.iter().copied().filter(|&c| c != self.verdict.plan).collect();
        let shown: Vec<String> = others
            .iter()
            .take(MOST_CLOSE)
            .map(|&o| format!("{} is {}", (self.name)(o), self.differs(o)))
            .collect();
        let more = match others.len() - shown.len() {
            0 => String::new(),
            n => format!("; {n} more"),
        };
        let words = self.subject.words();
        let find_out = self.verdict.find_out.as_ref().map_or(String::new(), |f| {
            let swing = words.money(f.swing.to_money(self.subject.scenario().minor()));
            let what = input_words(&f.address);
            format!(" Find out the {what} ({}): it moves the difference by {swing}.", f.address)
        });
        format!("Too close to call: {}{more}.{find_out}", shown.join("; "))
    }

    /// How another plan differs from the chosen one in money and days.
    fn differs(&self, other: usize) -> String {
        let (mine, theirs) = (self.chosen().decides, self.subject.plan(other).decides);
        let days = match theirs.seconds - mine.seconds {
            0 => "as fast".to_owned(),
            late if late > 0 => format!("{} days slower", days_text(late)),
            early => format!("{} days faster", days_text(-early)),
        };
        format!(
            "{}, {days}",
            self.money_difference(theirs.avoidable - mine.avoidable, mine.avoidable)
        )
    }

    fn money_difference(&self, more: Money, of: Money) -> String {
        if more.is_zero() {
            return "equal in cost".to_owned();
        }
        let share = if of.is_zero() {
            String::new()
        } else {
            let share = more.exact().abs() / of.exact().abs();
            format!(" ({})", percent(share.to_f64_lossy()))
        };
        let word = if more > Money::ZERO { "more" } else { "less" };
        format!("{} {word}{share}", self.subject.words().money(more.abs()))
    }

    fn due(&self) -> Option<String> {
        let due = self.subject.scenario().due?;
        let in_hand = day_of(self.subject.shop.start + self.chosen().decides.seconds);
        if let Some((chance, sure)) = sampled::due(self.subject, self.verdict.plan) {
            return Some(self.likely(due, (chance, sure.to_f64_lossy())));
        }
        Some(match self.verdict.due {
            DueDate::NotAsked => return None,
            DueDate::InTime { .. } => match self.in_time() {
                Some(chance) => format!("Due {}: in time with {chance}.", dated(due)),
                None => format!("Due {}: in time.", dated(due)),
            },
            DueDate::Missed if self.in_time().is_some() => format!(
                "Due {}: no plan is in time with the chance asked for; {} is likeliest, with {}.",
                dated(due),
                (self.name)(self.verdict.plan),
                self.in_time().unwrap_or_default()
            ),
            DueDate::Missed => format!(
                "Due {}: no plan is in time by dates without failures; {} is done first, {} days late.",
                dated(due),
                (self.name)(self.verdict.plan),
                in_hand - due
            ),
        })
    }

    /// How likely the due date is held, where samples tell.
    fn likely(&self, due: i64, (chance, sure): (f64, f64)) -> String {
        let (due, chance, sure) = (dated(due), percent(chance), percent(sure));
        match self.verdict.due {
            DueDate::Missed => format!(
                "Due {due}: no plan is in time with {sure}; {} is likeliest, with {chance}.",
                (self.name)(self.verdict.plan)
            ),
            _ => format!("Due {due}: {chance} sure."),
        }
    }

    /// The chance that unproven routes leave of being in time, in words; `None` where it is certain.
    fn in_time(&self) -> Option<String> {
        let chance = self.chosen().in_time(self.subject.shop).filter(|c| *c < Exact::ONE)?;
        Some(percent(chance.to_f64_lossy()))
    }

    /// How many plans are late where not all are.
    fn late(&self) -> Option<String> {
        let DueDate::InTime { late } = self.verdict.due else {
            return None;
        };
        let of = self.subject.answer.plans.len();
        let are = if late == 1 { "is" } else { "are" };
        let how = match self.subject.answer.sampled {
            Some(_) => "too unsure",
            None => "late",
        };
        (late > 0).then(|| format!("{late} of {of} plans {are} {how}."))
    }

    fn budget(&self) -> Option<String> {
        let budget = self.subject.scenario().budget?;
        let budget = self.subject.shop.values.exact(budget);
        let left = budget - self.chosen().decides.outlay.exact();
        let words = self.subject.words();
        let text = |value: Exact| words.money(value.to_money(self.subject.scenario().minor()));
        Some(if left < Exact::ZERO {
            format!("Budget {}: {} over.", text(budget), text(left.abs()))
        } else {
            format!("Budget {}: {} left.", text(budget), text(left))
        })
    }
}

/// Two sentences in one line, if there are two.
fn with(first: String, second: Option<String>) -> String {
    second.map_or(first.clone(), |second| format!("{first} {second}"))
}
