//! How a project stands: spent, to go, at completion, and what made the difference to the plan.

use std::collections::BTreeMap;

use crate::analysis::follow::{PlanResult, cost_at_planned};
use crate::ledger::{About, Category, Entry, Kind, Status, Total};
use crate::model::{Carry, Exact, Money, Past, Scenario, UnderWay};
use crate::plan::{Plan, Shop, Values};

/// How a project stands if it goes on by a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// What was paid or is owed, own hours and everything else that could be avoided before.
    pub spent: Money,
    /// What of that is owed and not paid yet.
    pub committed: Money,
    /// Money of `spent` that left the account, or will.
    pub spent_outlay: Money,
    /// What can still be avoided.
    pub to_go: Money,
    /// Money that is still to leave the account.
    pub to_go_outlay: Money,
    /// What made the difference to the plan; `None` where that cannot be told.
    pub variances: Option<Variances>,
}

impl Standing {
    /// Everything in the end.
    pub fn at_completion(&self) -> Money {
        self.spent + self.to_go
    }

    /// All money that leaves the account.
    pub fn outlay_at_completion(&self) -> Money {
        self.spent_outlay + self.to_go_outlay
    }
}

/// What made the difference between what was planned before anything was recorded and what is to be expected now. All amounts are what is
/// more than planned; they sum to the difference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Variances {
    /// What the plan came to: the iterations planned at first, by the routes gone by and the plan for the rest.
    pub planned: Money,
    /// What it will have come to.
    pub expected: Money,
    /// By other prices than those of the sheets.
    pub price: Money,
    /// By other quantities: of what is behind, and of what is to go.
    pub quantity: Money,
    /// By more or fewer iterations.
    pub iterations: Money,
    /// What of `quantity` is of what is to go: learnt from the record, or done already of the iteration under way.
    pub to_go: Money,
    /// Iterations planned at first, and now.
    pub counts: (u32, u32),
    /// Of what is behind, by item.
    pub items: Vec<ItemVariance>,
}

/// The variances of one item, of what is behind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemVariance {
    /// Its name.
    pub name: String,
    /// Planned and recorded quantity, where it is one of a unit.
    pub quantities: Option<(Exact, Exact, &'static str)>,
    /// What was planned.
    pub planned: Money,
    /// What the recorded quantities cost by the sheets.
    pub at_list: Money,
    /// What was recorded.
    pub actual: Money,
}

impl ItemVariance {
    /// More than planned by other prices.
    pub fn price(&self) -> Money {
        self.actual - self.at_list
    }

    /// More than planned by other quantities.
    pub fn quantity(&self) -> Money {
        self.at_list - self.planned
    }
}

/// How the project stands by a plan; `None` without a record.
pub fn standing(shop: &Shop, result: &PlanResult) -> Option<Standing> {
    let past = shop.scenario.past.as_ref()?;
    let sum = |keep: &dyn Fn(&&Entry) -> bool| -> Money {
        past.entries.iter().filter(|e| e.is_cost()).filter(keep).map(|e| e.amount).sum()
    };
    let spent_outlay = sum(&|e| e.counts_in(Total::Outlay));
    Some(Standing {
        spent: past.spent(),
        committed: sum(&|e| e.status == Status::Committed),
        spent_outlay,
        to_go: result.decides.avoidable,
        to_go_outlay: result.decides.outlay - spent_outlay,
        variances: variances(shop, past, result),
    })
}

fn variances(shop: &Shop, past: &Past, result: &PlanResult) -> Option<Variances> {
    let scenario = shop.scenario;
    let minor = scenario.minor();
    // The plan knew nothing of what was learnt, of what is under way, and of what was bought and used otherwise.
    let plain = Scenario {
        record: None,
        past: Some(Past {
            under_way: UnderWay::default(),
            entries: Vec::new(),
            movements: Vec::new(),
            flexible: Vec::new(),
            standard: Vec::new(),
            carry: Carry { stock: past.standard_stock.clone(), ..past.carry.clone() },
            ..past.clone()
        }),
        slots: past.as_planned.clone(),
        ..scenario.clone()
    };
    let planned_cost =
        |count: u32| -> Option<Money> { cost_to(&plain, &result.plan, count, minor) };
    let (first, now) = (past.planned, shop.planned);
    let from_now = planned_cost(now)?;
    let from_first =
        if first.max(past.done) == now { from_now } else { planned_cost(first.max(past.done))? };
    let cost = |entries: &[Entry], keep: &dyn Fn(&&Entry) -> bool| -> Money {
        entries.iter().filter(|e| e.is_cost()).filter(keep).map(|e| e.amount).sum()
    };
    let behind = |e: &&Entry| e.iteration <= past.done;
    let all = |_: &&Entry| true;
    let (actual, at_list) = (cost(&past.entries, &all), cost(&past.flexible, &all));
    let standard = cost(&past.standard, &all);
    let of_plan = cost(&past.standard, &|e| e.iteration <= first);
    let list_behind = cost(&past.flexible, &behind);
    // What is done of the iteration under way is part of what was to go.
    let to_go = (at_list - list_behind) + result.decides.avoidable - from_now;
    Some(Variances {
        planned: of_plan + from_first,
        expected: actual + result.decides.avoidable,
        price: actual - at_list,
        quantity: list_behind - standard + to_go,
        iterations: (standard - of_plan) + from_now - from_first,
        to_go,
        counts: (first, now),
        items: items(scenario, past),
    })
}

/// The avoidable cost of going on to a count by the plan's own numbers.
fn cost_to(scenario: &Scenario, plan: &Plan, count: u32, minor: u32) -> Option<Money> {
    let mut values = Values::planning(&scenario.slots);
    values.set(&scenario.slots, scenario.iterations.planned, Exact::from(i64::from(count)));
    let shop = Shop::new(scenario, &values);
    Some(cost_at_planned(&shop, plan)?.to_money(minor))
}

/// What is behind is there three times; which of them an entry is from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Told {
    /// Planned quantities at the sheets' prices.
    Planned,
    /// Recorded quantities at the sheets' prices.
    AtList,
    /// Recorded quantities and money.
    Actual,
}

/// What is behind by item, those with a difference first, the largest ahead. What is done of the iteration under way has its price alone.
fn items(scenario: &Scenario, past: &Past) -> Vec<ItemVariance> {
    let mut all: BTreeMap<String, ItemVariance> = BTreeMap::new();
    let three = [
        (Told::Planned, &past.standard),
        (Told::AtList, &past.flexible),
        (Told::Actual, &past.entries),
    ];
    for (told, entries) in three {
        for entry in entries {
            let under_way = entry.iteration > past.done;
            let name = name_of(scenario, entry);
            let item = all.entry(name.clone()).or_insert(ItemVariance {
                name,
                quantities: None,
                planned: Money::ZERO,
                at_list: Money::ZERO,
                actual: Money::ZERO,
            });
            if is_counted(entry) && !under_way && told != Told::AtList {
                let (planned, actual, _) =
                    item.quantities.get_or_insert((Exact::ZERO, Exact::ZERO, entry.unit));
                let sum = if told == Told::Planned { planned } else { actual };
                *sum = *sum + entry.quantity;
            }
            if entry.is_cost() {
                match told {
                    Told::Planned => item.planned += entry.amount,
                    Told::AtList => item.at_list += entry.amount,
                    Told::Actual => item.actual += entry.amount,
                }
            }
            // Its quantity is not compared yet.
            if entry.is_cost() && under_way && told == Told::AtList {
                item.planned += entry.amount;
            }
        }
    }
    let mut items: Vec<ItemVariance> = all.into_values().collect();
    items.retain(|i| !(i.planned.is_zero() && i.at_list.is_zero() && i.actual.is_zero()));
    items.sort_by(|a, b| {
        let size = |i: &ItemVariance| i.price().abs() + i.quantity().abs();
        size(b).cmp(&size(a)).then_with(|| a.name.cmp(&b.name))
    });
    items
}

/// True for an entry whose quantity tells how much was used or worked.
fn is_counted(entry: &Entry) -> bool {
    match entry.category {
        Category::Labour | Category::Electricity => true,
        Category::Resin | Category::Solvent | Category::Dye | Category::Supplies => {
            entry.kind == Kind::Consume
        }
        _ => false,
    }
}

/// By what an entry is told: the material with all that comes with it, own hours, the service of an order.
fn name_of(scenario: &Scenario, entry: &Entry) -> String {
    match (entry.category, entry.about) {
        (Category::Labour, _) => "own hours".to_owned(),
        (Category::Delay, _) => "waiting".to_owned(),
        (Category::Electricity, _) => "electricity".to_owned(),
        (_, About::Item(_) | About::Machine(_)) => entry.item(scenario).to_owned(),
        (_, About::Service(_)) => format!("orders, {}", entry.item(scenario)),
        _ => entry.item(scenario).to_owned(),
    }
}
