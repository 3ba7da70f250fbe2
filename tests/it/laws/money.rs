//! Laws of money and material: every figure is a sum, nothing appears or disappears, prices scale.

use flipcount::analysis::plan_ledger;
use flipcount::ledger::{Category, Entry, Kind, Ledger, Total};
use flipcount::model::{Exact, Money, RouteKind, Scenario};
use proptest::prelude::*;

use super::held::{Case, Verdict, answered, held, project, projects};
use crate::generator::{Way, Written};
use crate::help::{in_shop, number};

/// Where an entry counts, by the words of the rules: outlay is what is paid; avoidable adds own work, waiting, what is taken from or put
/// into stock, less resale; consumed is what was used up, hours, invoices, electricity and disposal.
fn counts(entry: &Entry, total: Total) -> bool {
    let kind = entry.kind.name();
    match total {
        Total::Outlay => kind == "pay",
        Total::Avoidable => ["pay", "work", "wait", "stock", "resale"].contains(&kind),
        Total::Consumed => {
            let always = ["labour", "electricity", "waste"].contains(&entry.category.name());
            always || kind == "consume" || entry.invoice
        }
    }
}

fn sum<'e>(entries: impl Iterator<Item = &'e Entry>, total: Total) -> Exact {
    entries.filter(|e| counts(e, total)).map(|e| e.amount.exact()).sum()
}

const TOTALS: [Total; 3] = [Total::Outlay, Total::Consumed, Total::Avoidable];

#[test]
fn totals_are_sums_of_entries_and_curves_are_sums_at_n() {
    held("sums", |_, shop| {
        for plan in answered(shop).plans.iter().take(8) {
            let project = project(shop, &plan.plan.assign);
            let entries = project.ledger.entries();
            for total in TOTALS {
                for (n, at) in (1u32..).zip(plan.curves.money(total)) {
                    let wanted = sum(entries.iter().filter(|e| e.iteration <= n), total);
                    prop_assert_eq!(at.exact(), wanted, "{:?} at {}", total, n);
                }
            }
            let whole = plan_ledger(shop, &plan.plan.assign).expect("a feasible plan");
            let decides = [plan.decides.outlay, plan.decides.consumed, plan.decides.avoidable];
            for (total, decides) in TOTALS.into_iter().zip(decides) {
                prop_assert_eq!(
                    sum(whole.entries().iter(), total),
                    decides.exact(),
                    "{:?} that decides",
                    total
                );
            }
            grain(&whole, shop.scenario)?;
        }
        Ok(())
    });
}

/// Amounts are rounded to the minor unit; none is zero but for labour and delivery; what is consumed and paid by use is equal.
fn grain(ledger: &Ledger, scenario: &Scenario) -> Verdict {
    for entry in ledger.entries() {
        prop_assert_eq!(entry.amount.exact().to_money(scenario.minor()), entry.amount);
        let may_be_zero = matches!(entry.category, Category::Labour | Category::Delivery);
        prop_assert!(may_be_zero || !entry.amount.is_zero(), "{:?}", entry);
        prop_assert!(
            entry.amount.exact() >= Exact::ZERO || matches!(entry.kind, Kind::Resale | Kind::Stock),
            "{:?}",
            entry
        );
        let labour = matches!(entry.category, Category::Labour);
        let kind = if scenario.labour_paid { Kind::Pay } else { Kind::Work };
        prop_assert!(!labour || entry.kind == kind, "{:?}", entry);
    }
    Ok(())
}

#[test]
fn every_amount_is_quantity_times_unit_price_rounded_once() {
    held("amounts", |_, shop| {
        let minor = shop.scenario.minor();
        let half = Exact::ONE / Exact::from(2 * 10i64.pow(minor));
        // The shown quotients carry 28 digits: what they miss is far below a millionth of the minor unit.
        let slack = number("0.0000001");
        for (_, project) in projects(shop) {
            for entry in project.ledger.entries() {
                let product = entry.quantity * entry.unit_price;
                let off = (entry.amount.exact() - product).abs();
                prop_assert!(off <= half + slack, "{:?}", entry);
            }
        }
        Ok(())
    });
}

/// What the stock lost in value is what was consumed less what was bought: avoidable + stock = value used, for items that keep all.
#[test]
fn the_stock_entries_of_an_item_sum_to_what_its_stock_fell_by() {
    held("stock entries", |_, shop| {
        for (_, project) in projects(shop) {
            let last = project.states.last().expect("states").stock();
            for (index, item) in shop.items.iter().enumerate() {
                let fell = item.stock - last[index];
                let name = &shop.scenario.items[index].name;
                let of = project
                    .ledger
                    .entries()
                    .iter()
                    .filter(|e| e.kind == Kind::Stock && e.item(shop.scenario) == name);
                let entered: Exact = of.clone().map(|e| e.quantity).sum();
                let several = shop.scenario.items.iter().filter(|i| i.name == *name).count() > 1;
                let zero_left_out = of.clone().count() < project.dates.len();
                if item.keep.is_zero() && !several {
                    prop_assert_eq!(of.count(), 0);
                } else if !several && !zero_left_out {
                    prop_assert_eq!(entered, Exact::from_millionths(fell), "{}", name);
                }
            }
        }
        Ok(())
    });
}

/// Each entry is rounded by at most half a minor unit, so k times a total and the total at k times the prices differ by at most
/// (1 + k) / 2 minor units for each entry. The price of an ordered piece is rounded before it is multiplied: that adds its quantity times
/// the exchange rate times (1 + k) / 2 minor units of its own currency, and what duty, tax and fees make of it (at most twice).
#[test]
fn scaling_every_price_scales_every_total() {
    for k in [2u32, 10] {
        held(&format!("prices times {k}"), |case, shop| {
            let larger = Case::new(&case.blueprint, Written { scale: k, ..Written::PLAIN });
            in_shop(&larger.scenario, |scaled| {
                for (assign, project) in projects(shop) {
                    let times = super::held::project(scaled, &assign);
                    for total in TOTALS {
                        let (one, many) = (
                            project.ledger.total(total, u32::MAX),
                            times.ledger.total(total, u32::MAX),
                        );
                        let off = (many.exact() - one.exact() * Exact::from(k)).abs();
                        let most = rounding(&times.ledger, &larger.scenario, total)
                            * Exact::from(1 + k)
                            / Exact::from(2i64);
                        prop_assert!(
                            off <= most,
                            "{:?}: {} for {}, at most {} off",
                            total,
                            many.exact(),
                            one.exact(),
                            most
                        );
                    }
                }
                Ok(())
            })
        });
    }
}

/// The sum of the steps to which amounts were rounded.
fn rounding(ledger: &Ledger, scenario: &Scenario, total: Total) -> Exact {
    let unit = |minor: u32| Exact::ONE / Exact::from(10i64.pow(minor));
    let entries = ledger.entries().iter().filter(|e| e.counts_in(total));
    entries
        .map(|entry| {
            let own = unit(scenario.minor());
            let terms = match entry.route.map(|r| &scenario.route(r).kind) {
                Some(RouteKind::Order(terms)) if entry.category == Category::Piece => terms,
                _ => return own,
            };
            // No generated exchange rate is above 2.
            let least = terms
                .rows
                .iter()
                .map(|r| r.currency)
                .chain(terms.quotes.iter().map(|q| q.unit_price.currency));
            let coarsest =
                least.map(|c| scenario.currencies[usize::from(c.0)].minor).min().unwrap_or(0);
            own + entry.quantity * unit(coarsest) * Exact::from(4i64)
        })
        .sum()
}

/// With one price row for every quantity, no quotation, no minimum and no delivery of packs (one parcel may serve two needs), more of
/// every part never costs less; but each entry of the two may be rounded by half a minor unit (two packs at once are rounded once).
#[test]
fn more_copies_never_cost_less() {
    held("more copies", |case, _| {
        let mut few = case.blueprint.clone();
        few.time.start = None;
        few.rates.exchange_later = None;
        // A fuller plate may take fewer runs, and a fuller tub needs less liquid.
        few.room.plate = None;
        few.room.washes.clear();
        few.room.dyes.clear();
        for service in &mut few.services {
            service.quotes.clear();
            service
                .offers
                .iter_mut()
                .for_each(|o| (o.tier, o.later, o.order_min) = (None, None, None));
        }
        // An overnight hold is as long as the night leaves it: without power and wear that costs nothing.
        few.shop.machines.iter_mut().for_each(|m| (m.watts, m.charge) = (None, 0));
        few.shop.materials.iter_mut().chain(&mut few.shop.supplies).for_each(|s| s.delivery = None);
        let mut many = few.clone();
        many.parts.iter_mut().for_each(|p| p.copies += 1);
        let (few, many) = (Case::new(&few, Written::PLAIN), Case::new(&many, Written::PLAIN));
        in_shop(&few.scenario, |less| {
            in_shop(&many.scenario, |more| {
                for (assign, project) in projects(less) {
                    let larger = super::held::project(more, &assign);
                    let horizon = less.scenario.iterations.horizon;
                    let rounded = project.ledger.entries().len() + larger.ledger.entries().len();
                    let half = Exact::ONE / Exact::from(2 * 10i64.pow(less.scenario.minor()));
                    let slack = half * Exact::from(i64::try_from(rounded).expect("a count"));
                    for total in [Total::Outlay, Total::Consumed] {
                        let pairs = project
                            .ledger
                            .curve(total, horizon)
                            .into_iter()
                            .zip(larger.ledger.curve(total, horizon));
                        for (n, (a, b)) in (1u32..).zip(pairs) {
                            prop_assert!(
                                b.exact() + slack >= a.exact(),
                                "{:?} at {}: {:?} for more, {:?} for fewer",
                                total,
                                n,
                                b,
                                a
                            );
                        }
                    }
                }
                Ok(())
            })
        })
    });
}

/// What is bought first is paid once, however many iterations follow.
#[test]
fn purchases_are_paid_once() {
    held("purchases", |case, shop| {
        for (_, project) in projects(shop) {
            let mut paid: Vec<(String, String)> = project
                .ledger
                .entries()
                .iter()
                .filter(|e| e.category == Category::Purchase && e.kind == Kind::Pay)
                .map(|e| match e.item(shop.scenario) {
                    "buy_first" => ("buy_first".to_owned(), e.route_name(shop.scenario).to_owned()),
                    machine => (machine.to_owned(), String::new()),
                })
                .collect();
            let all = paid.len();
            paid.sort();
            paid.dedup();
            prop_assert_eq!(all, paid.len(), "{:?}", paid);
        }
        prop_assert!(
            case.blueprint
                .routes
                .iter()
                .all(|r| !matches!(&r.way, Way::Crafted(s) if s.is_empty()))
        );
        Ok(())
    });
}

/// Money never comes from nothing: without prices every total is zero.
#[test]
fn without_prices_there_is_no_money() {
    held("no prices", |case, _| {
        let free = Case::new(&case.blueprint, Written { scale: 0, ..Written::PLAIN });
        in_shop(&free.scenario, |shop| {
            for (_, project) in projects(shop) {
                for total in TOTALS {
                    prop_assert_eq!(project.ledger.total(total, u32::MAX), Money::ZERO);
                }
            }
            Ok(())
        })
    });
}
