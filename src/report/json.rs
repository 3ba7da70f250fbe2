//! The whole answer as one JSON document (`compare --json`). Keys may be added; none is renamed without an entry in the changelog.

use std::collections::BTreeMap;

use super::json_sampled::sampled;
use super::json_types::{
    AdviceEntry, AssumedEntry, BesideEntry, BreakEvenEntry, CurvesEntry, Document, EndedEntry,
    FinalEntry, FindOutEntry, IterationEntry, PartEntry, PlanEntry, PreferenceEntry, RuledOutEntry,
    StopEntry, SwitchEntry, VerdictEntry,
};
use super::json_unproven::unproven_entry;
use super::{
    Subject, assumed, bought_machines, cautions, crowded_dips, final_breaks, not_counted,
    price_notes, verdict_sentences, want_text,
};
use crate::analysis::{Last, OrderAdvice, PartVerdict, PlanResult, Verdict};
use crate::model::{Beside, DAY, Exact, ItemClass, Money};
use crate::plan::Plan;

/// Decimals of days and hours.
const DECIMALS: u32 = 6;

/// The document as text, ending in a line feed. `warnings` are the findings of loading, one line each.
///
/// # Errors
/// Only if a number has no form in JSON, which no finite figure is.
pub fn json(subject: &Subject, warnings: Vec<String>) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(&Make { subject }.document(warnings))?;
    text.push('\n');
    Ok(text)
}

/// The curves of a plan as the document has them.
pub(super) fn curves_entry<'s>(subject: &Subject<'s>, result: &PlanResult) -> CurvesEntry<'s> {
    Make { subject }.curves(result)
}

struct Make<'a, 's> {
    subject: &'a Subject<'s>,
}

impl<'s> Make<'_, 's> {
    fn document(&self, loading: Vec<String>) -> Document<'s> {
        let (subject, answer, scenario) =
            (self.subject, self.subject.answer, self.subject.scenario());
        let mut warnings = loading;
        warnings.extend(final_breaks(subject));
        warnings.extend(price_notes(subject));
        warnings.extend(crowded_dips(subject));
        warnings.extend(bought_machines(subject));
        Document {
            scenario: &scenario.name,
            title: &scenario.title,
            currency: &scenario.currencies[0].code,
            planned: answer.planned,
            horizon: answer.horizon,
            plans: self.plans(),
            ruled_out: self.ruled_out(),
            break_even: self.break_even(),
            stops: self.stops(),
            switch: self.switch(),
            verdict: answer.verdict.as_ref().map(|v| self.verdict(v)),
            sampled: answer.sampled.as_ref().map(|s| sampled(answer, s)),
            record: super::progress::record_entry(subject),
            preferences: self.preferences(),
            advice: answer.advice.iter().map(|a| self.advice(a)).collect(),
            look_again: super::look_again::look_again_entry(subject),
            last_safe: super::look_again::last_safe_entries(subject),
            assumed: self.assumed(),
            not_counted: not_counted(subject),
            cautions: cautions(subject),
            warnings,
        }
    }

    fn money(&self, amount: Money) -> String {
        amount.text(self.subject.scenario().minor())
    }

    fn name(&self, index: usize) -> &'s str {
        &self.subject.plan(index).plan.name
    }

    fn part(&self, id: crate::model::PartId) -> &'s str {
        &self.subject.scenario().part(id).name
    }

    fn route(&self, id: crate::model::RouteId) -> &'s str {
        &self.subject.scenario().route(id).name
    }

    fn plans(&self) -> Vec<PlanEntry<'s>> {
        let answer = self.subject.answer;
        let feasible = answer.plans.iter().map(|p| self.plan(p));
        let infeasible = answer.infeasible.iter().map(|(plan, reason)| PlanEntry {
            name: &plan.name,
            assign: self.assign(plan),
            beside: self.beside(plan),
            reason: Some(reason),
            ..PlanEntry::default()
        });
        feasible.chain(infeasible).collect()
    }

    fn assign(&self, plan: &'s Plan) -> BTreeMap<&'s str, &'s str> {
        let parts = self.subject.scenario().parts.iter().map(|p| p.name.as_str());
        parts.zip(self.subject.routes_of(plan)).collect()
    }

    /// Second routes, beside those of `assign`.
    fn beside(&self, plan: &Plan) -> Vec<BesideEntry<'s>> {
        let entry = |b: &Beside| BesideEntry {
            part: self.part(b.part),
            route: self.route(b.route),
            until: b.until,
        };
        plan.beside.iter().map(entry).collect()
    }

    fn plan(&self, result: &'s PlanResult) -> PlanEntry<'s> {
        let pace = result.plan.pace(self.subject.shop);
        PlanEntry {
            name: &result.plan.name,
            assign: self.assign(&result.plan),
            beside: self.beside(&result.plan),
            feasible: true,
            reason: None,
            planned: Some(pace.planned(self.subject.answer.planned)),
            variants: result.plan.variants.map(|_| pace.variants),
            curves: Some(self.curves(result)),
            iterations: self.iterations(result),
            last: result.last.as_ref().map(|last| self.last(last)),
            failure_chance: Some(rounded(result.failure.chance)),
            failure_days: Some(rounded(result.failure.days)),
            unproven: result.unproven.as_ref().map(|u| unproven_entry(self.subject, u)),
            ended: result.ended.as_ref().map(|(n, reason)| EndedEntry { n: *n, reason }),
        }
    }

    fn curves(&self, result: &PlanResult) -> CurvesEntry<'s> {
        let curves = &result.curves;
        let money = |curve: &[Money]| curve.iter().map(|&m| self.money(m)).collect();
        CurvesEntry {
            outlay: money(&curves.outlay),
            avoidable: money(&curves.avoidable),
            consumed: money(&curves.consumed),
            days: curves.seconds.iter().map(|&s| days(s)).collect(),
            attended_h: curves.attended.iter().map(|&h| number(h)).collect(),
            resin_ml: self.drawn(result, ItemClass::Resin),
            solvent_ml: self.drawn(result, ItemClass::Solvent),
            dye_ml: self.drawn(result, ItemClass::Dye),
            waste_ml: millilitres(&curves.waste),
        }
    }

    fn drawn(&self, result: &PlanResult, class: ItemClass) -> BTreeMap<&'s str, Vec<String>> {
        let items = &self.subject.scenario().items;
        // Short routes may each have a resin of their own under the one name `resin`: a name's curve is the sum.
        let mut by_name: BTreeMap<&str, Vec<i64>> = BTreeMap::new();
        for (id, curve) in &result.curves.drawn {
            let item = &items[id.index()];
            if item.class == class {
                let sum = by_name.entry(&item.name).or_insert_with(|| vec![0; curve.len()]);
                sum.iter_mut().zip(curve).for_each(|(s, c)| *s += c);
            }
        }
        by_name.into_iter().map(|(name, curve)| (name, millilitres(&curve))).collect()
    }

    /// One entry for each iteration to the horizon; where nothing is made any more, dates are null.
    fn iterations(&self, result: &PlanResult) -> Vec<IterationEntry> {
        let words = self.subject.words();
        let entry = |n: u32| {
            let dates = result.dates.iter().find(|d| d.iteration == n);
            IterationEntry {
                n,
                release: dates.and_then(|d| words.iso_minute(d.release)),
                in_hand: dates.and_then(|d| words.iso_minute(d.in_hand)),
            }
        };
        (1..=self.subject.answer.horizon).map(entry).collect()
    }

    fn last(&self, last: &Last) -> FinalEntry {
        let words = self.subject.words();
        FinalEntry {
            outlay: self.money(last.figures.outlay),
            avoidable: self.money(last.figures.avoidable),
            consumed: self.money(last.figures.consumed),
            days: days(last.figures.seconds),
            release: words.iso_minute(last.dates.release),
            in_hand: words.iso_minute(last.dates.in_hand),
        }
    }

    fn ruled_out(&self) -> Vec<RuledOutEntry<'s>> {
        let out = self.subject.answer.ruled_out.iter();
        out.map(|o| RuledOutEntry {
            part: self.part(o.part),
            route: self.route(o.route),
            from_iteration: o.from_iteration,
            reason: &o.reason,
        })
        .collect()
    }

    fn break_even(&self) -> Vec<BreakEvenEntry<'s>> {
        let pairs = self.subject.answer.break_even.iter();
        pairs
            .map(|p| BreakEvenEntry {
                a: self.name(p.a),
                b: self.name(p.b),
                by: p.by.name(),
                crossings: &p.crossings,
                n_star: p.n_star.map(Exact::to_f64_lossy),
                about_equal: &p.about_equal,
                stays_from: p.stays_from,
                cheaper_after: p.cheaper_after.map(|i| self.name(i)),
            })
            .collect()
    }

    fn stops(&self) -> Vec<StopEntry<'s>> {
        let stops = self.subject.answer.stops.iter();
        stops
            .map(|s| StopEntry {
                n: s.n,
                cheapest: self.name(s.cheapest),
                avoidable: (0..)
                    .map(|i| self.name(i))
                    .zip(s.costs.iter().map(|&c| self.money(c)))
                    .collect(),
            })
            .collect()
    }

    fn switch(&self) -> Option<SwitchEntry<'s>> {
        let switch = self.subject.answer.switch.as_ref()?;
        Some(SwitchEntry {
            first: &switch.first.name,
            then: self.name(switch.then),
            after: switch.after,
            avoidable: self.money(switch.avoidable),
            saves: self.money(switch.saves),
        })
    }

    fn verdict(&self, verdict: &'s Verdict) -> VerdictEntry<'s> {
        let parts = self.subject.scenario().parts.iter().zip(&verdict.parts);
        VerdictEntry {
            plan: self.name(verdict.plan),
            too_close: verdict.too_close,
            sentence: verdict_sentences(
                self.subject,
                &|i| format!("`{}`", self.name(i)),
                usize::MAX,
            )
            .join(" "),
            parts: parts.map(|(part, &is)| self.part_verdict(&part.name, is)).collect(),
            candidates: verdict.candidates.iter().map(|&c| self.name(c)).collect(),
            find_out: verdict.find_out.as_ref().map(|f| FindOutEntry {
                key: &f.address,
                swing: self.money(f.swing.to_money(self.subject.scenario().minor())),
            }),
        }
    }

    fn part_verdict(&self, part: &'s str, verdict: PartVerdict) -> PartEntry<'s> {
        let (kind, route) = match verdict {
            PartVerdict::Bench(route) => ("bench", route),
            PartVerdict::Order(route) => ("order", route),
            PartVerdict::Open => ("open", None),
        };
        PartEntry { part, kind, route: route.map(|r| self.route(r)) }
    }

    fn preferences(&self) -> Vec<PreferenceEntry<'s>> {
        let preferences = self.subject.answer.preferences.iter();
        preferences
            .map(|p| PreferenceEntry {
                part: self.part(p.part),
                prefer: want_text(&p.need.want),
                plan: p.cheapest.map(|(plan, _)| self.name(plan)),
                costs: p.cheapest.map(|(_, more)| self.money(more)),
            })
            .collect()
    }

    fn advice(&self, advice: &OrderAdvice) -> AdviceEntry<'s> {
        match advice {
            OrderAdvice::More { part, route, copies, cost, instead, less } => AdviceEntry {
                part: self.part(*part),
                route: self.route(*route),
                copies: Some(*copies),
                cost: Some(self.money(*cost)),
                instead: Some(*instead),
                less: Some(self.money(*less)),
                adds: None,
            },
            OrderAdvice::Along { part, route, adds } => AdviceEntry {
                part: self.part(*part),
                route: self.route(*route),
                adds: Some(self.money(*adds)),
                ..AdviceEntry::default()
            },
        }
    }

    fn assumed(&self) -> Vec<AssumedEntry> {
        let with_unit = |value: &str, unit: &str| format!("{value} {unit}").trim_end().to_owned();
        assumed(self.subject)
            .into_iter()
            .map(|line| AssumedEntry {
                low: with_unit(&line.low, line.unit),
                likely: with_unit(&line.likely, line.unit),
                high: with_unit(&line.high, line.unit),
                key: line.address,
            })
            .collect()
    }
}

/// A number with at most six decimals.
pub(super) fn number(value: Exact) -> f64 {
    value.half_away(DECIMALS).to_f64_lossy()
}

/// Days with at most six decimals.
pub(super) fn days(seconds: i64) -> f64 {
    number(Exact::from(seconds) / Exact::from(DAY))
}

fn rounded(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

fn millilitres(curve: &[i64]) -> Vec<String> {
    curve.iter().map(|&v| Exact::from_millionths(v).to_string()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_and_quantities_are_plain() {
        assert_eq!(days(86_400 / 3).to_string(), "0.333333");
        assert_eq!(millilitres(&[1_500_000, 0]), ["1.5", "0"]);
        assert_eq!(rounded(0.1 + 0.2).to_string(), "0.3");
    }
}
