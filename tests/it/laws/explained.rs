//! Every entry and every figure can be explained: the tree ends in what is stated, and its top is the figure.

use flipcount::analysis::{
    Answer, At, Figure, FigureKind, How, Node, Origin, Project, Story, Unexplained, Within, figure,
    ledger_of,
};
use flipcount::ledger::{Category, Total};
use flipcount::model::{Exact, ItemClass};
use flipcount::plan::Shop;
use proptest::prelude::*;

use super::held::{Verdict, answered, held};
use crate::help::{in_shop, project, scenario};

/// Plans of a scenario that are looked at.
const PLANS: usize = 3;

/// True where two numbers agree to the last of 12 decimals, whatever order they were multiplied in.
fn near(a: Exact, b: Exact) -> bool {
    (a - b).half_away(12).is_zero()
}

/// A figure worked out anew from its children, by what the tree says.
fn anew(node: &Node) -> Exact {
    let of: Vec<Exact> = node.children.iter().map(|n| n.value).collect();
    let one = Exact::ONE;
    let none = || of.iter().fold(one, |p, &c| p * (one - c));
    match node.how {
        How::Given => node.value,
        How::Sum => of.iter().copied().sum(),
        How::Difference => of[1..].iter().fold(of[0], |a, &b| a - b),
        How::Product => of.iter().fold(one, |a, &b| a * b),
        How::Quotient => of[1..].iter().filter(|b| !b.is_zero()).fold(of[0], |a, &b| a / b),
        How::Largest => of.iter().copied().max().unwrap_or(Exact::ZERO),
        How::Rounded(decimals) => of[0].half_away(decimals),
        How::RoundedUp => Exact::from(of[0].ceil()),
        How::StepUp => Exact::from((of[0] / of[1]).ceil()) * of[1],
        How::InUnits(size) => of[0] / Exact::from(size),
        How::Repeats => one / none(),
        How::AtLeastOne => one - none(),
        How::Spent => one - of[0] + of[0] * of[1],
    }
}

/// Every figure follows from its children, and what follows from nothing is stated somewhere or happened.
fn sound(tree: &Node) -> Verdict {
    for node in tree.walk() {
        prop_assert!(near(anew(node), node.value), "{:?}", node);
        if node.children.is_empty() && node.how != How::Sum && node.how != How::AtLeastOne {
            prop_assert!(node.from != Origin::Children, "{:?}", node);
        }
    }
    Ok(())
}

/// Labels of what could not be told apart any further: an entry whose quantity or price is only repeated.
fn is_repeated(node: &Node) -> bool {
    node.children.is_empty() && (node.label == "quantity" || node.label == "unit price")
}

fn entries(shop: &Shop, answer: &Answer) -> Result<usize, TestCaseError> {
    let mut count = 0;
    for plan in answer.plans.iter().take(PLANS) {
        let story = Story::of(shop, &plan.plan, shop.planned, true).expect("a feasible plan runs");
        let ledger = ledger_of(shop, &plan.plan).expect("a feasible plan runs");
        prop_assert_eq!(ledger.entries().len(), story.entries.len());
        for (index, entry) in ledger.entries().iter().enumerate() {
            let tree = story.entry(index).expect("an entry");
            prop_assert_eq!(tree.value, entry.amount.exact(), "{:?}", entry);
            let [amount] = tree.children.as_slice() else {
                return Err(TestCaseError::fail("an amount"));
            };
            let rounded = amount.value.to_money(shop.scenario.minor());
            prop_assert_eq!(rounded, entry.amount, "{:?}", entry);
            prop_assert!(near(amount.children[0].value, entry.quantity), "{:?}", entry);
            prop_assert!(near(amount.children[1].value, entry.unit_price), "{:?}", entry);
            prop_assert!(!tree.walk().any(is_repeated), "{:#?}", tree);
            sound(&tree)?;
            count += 1;
        }
    }
    Ok(count)
}

#[test]
fn entries_follow_from_what_is_stated() {
    let count = std::cell::Cell::new(0);
    held("explained entries", |_, shop| {
        count.set(count.get() + entries(shop, &answered(shop))?);
        Ok(())
    });
    assert!(count.get() >= 200, "{} entries explained", count.get());
}

#[test]
fn entries_of_the_demos_follow_from_what_is_stated() {
    for demo in ["scenarios/first-look", "scenarios/river-sonde"] {
        let scenario = scenario(&project(demo));
        in_shop(&scenario, |shop| entries(shop, &answered(shop))).expect(demo);
    }
}

/// Asks for a figure of a plan; `None` where the plan is not followed so far.
fn value(
    (shop, answer): (&Shop, &Answer),
    plan: usize,
    kind: FigureKind,
    at: Option<At>,
) -> Result<Option<Exact>, TestCaseError> {
    let asked = Figure { kind, plan, at, within: Within::default() };
    match figure(shop, answer, &asked) {
        Ok(tree) => {
            sound(&tree)?;
            Ok(Some(tree.value))
        }
        Err(Unexplained::Stopped(_)) => Ok(None),
        Err(why) => Err(TestCaseError::fail(format!("{why:?}"))),
    }
}

fn curves(shop: &Shop, answer: &Answer, plan: usize, n: u32) -> Verdict {
    let curves = &answer.plans[plan].curves;
    let at = n as usize - 1;
    let drawn = |class: ItemClass| -> Exact {
        let of = curves
            .drawn
            .iter()
            .filter(|(item, _)| shop.scenario.items[item.index()].class == class);
        of.map(|(_, curve)| Exact::from_millionths(curve[at])).sum()
    };
    let seconds = Exact::from(curves.seconds[at]) / Exact::from(86_400i64);
    let shown = [
        (FigureKind::Money(Total::Avoidable), curves.avoidable[at].exact()),
        (FigureKind::Money(Total::Outlay), curves.outlay[at].exact()),
        (FigureKind::Money(Total::Consumed), curves.consumed[at].exact()),
        (FigureKind::Attended, curves.attended[at]),
        (FigureKind::Days, seconds),
        (FigureKind::Waste, Exact::from_millionths(curves.waste[at])),
        (FigureKind::Drawn(ItemClass::Resin), drawn(ItemClass::Resin)),
        (FigureKind::Drawn(ItemClass::Solvent), drawn(ItemClass::Solvent)),
        (FigureKind::Drawn(ItemClass::Dye), drawn(ItemClass::Dye)),
    ];
    for (kind, figure) in shown {
        let at = Some(At { n, with_final: false });
        if let Some(told) = value((shop, answer), plan, kind, at)? {
            prop_assert!(near(told, figure), "{:?} at {}: {} for {}", kind, n, told, figure);
        }
    }
    Ok(())
}

fn deciding(shop: &Shop, answer: &Answer, plan: usize) -> Verdict {
    let result = &answer.plans[plan];
    let decides = result.decides;
    let shown = [
        (FigureKind::Money(Total::Avoidable), decides.avoidable.exact()),
        (FigureKind::Money(Total::Outlay), decides.outlay.exact()),
        (FigureKind::Money(Total::Consumed), decides.consumed.exact()),
        (FigureKind::Attended, decides.attended),
        (FigureKind::Days, Exact::from(decides.seconds) / Exact::from(86_400i64)),
        (FigureKind::InHand, Exact::from(decides.seconds)),
    ];
    for (kind, figure) in shown {
        let told = value((shop, answer), plan, kind, None)?;
        prop_assert!(
            told.is_some_and(|t| near(t, figure)),
            "{:?}: {:?} for {}",
            kind,
            told,
            figure
        );
    }
    for (kind, figure) in
        [(FigureKind::Risk, result.failure.chance), (FigureKind::Adds, result.failure.days)]
    {
        let told = value((shop, answer), plan, kind, None)?.map(Exact::to_f64_lossy);
        let near = told.is_some_and(|t| (t - figure).abs() < 1e-9);
        prop_assert!(near, "{:?}: {:?} for {}", kind, told, figure);
    }
    for stop in &answer.stops {
        let at = At { n: stop.n, with_final: shop.scenario.last.is_some() };
        let told = value((shop, answer), plan, FigureKind::Money(Total::Avoidable), Some(at))?;
        if let (Some(told), Some(cost)) = (told, stop.costs.get(plan)) {
            prop_assert!(near(told, cost.exact()), "after {}: {} for {:?}", stop.n, told, cost);
        }
    }
    Ok(())
}

fn figures(shop: &Shop, answer: &Answer) -> Verdict {
    for plan in 0..answer.plans.len().min(PLANS) {
        for n in [1, shop.planned, shop.scenario.iterations.horizon] {
            curves(shop, answer, plan, n)?;
        }
        deciding(shop, answer, plan)?;
    }
    Ok(())
}

#[test]
fn figures_are_what_the_report_shows() {
    held("explained figures", |_, shop| figures(shop, &answered(shop)));
}

#[test]
fn figures_of_the_demos_are_what_the_report_shows() {
    for demo in ["scenarios/first-look", "scenarios/river-sonde"] {
        let scenario = scenario(&project(demo));
        in_shop(&scenario, |shop| {
            let answer = answered(shop);
            figures(shop, &answer)?;
            let switch = flipcount::analysis::switch(shop, &answer);
            if let (Some(told), Some(switch)) = (switch, &answer.switch) {
                let told = told.expect("a switch runs");
                sound(&told)?;
                prop_assert_eq!(told.value, switch.saves.exact());
                prop_assert!(!told.children[1].children.is_empty(), "its cost is a sum");
            }
            for pair in &answer.break_even {
                let told =
                    flipcount::analysis::break_even(shop, &answer, (pair.b, pair.a), pair.by);
                let told = told.expect("a pair of the six cheapest");
                sound(&told)?;
                let last = pair.crossings.last().copied().unwrap_or(0);
                prop_assert_eq!(told.value, pair.n_star.unwrap_or(Exact::from(last)));
            }
            Ok(()) as Verdict
        })
        .expect(demo);
    }
}

#[test]
fn a_category_and_an_item_are_parts_of_the_total() {
    let scenario = scenario(&project("scenarios/river-sonde"));
    in_shop(&scenario, |shop| {
        let answer = answered(shop);
        let asked =
            |within| Figure { kind: FigureKind::Money(Total::Consumed), plan: 0, at: None, within };
        let whole = figure(shop, &answer, &asked(Within::default())).expect("a total");
        let ledger = ledger_of(shop, &answer.plans[0].plan).expect("runs");
        for (category, sum) in ledger.by_category(Total::Consumed, u32::MAX) {
            let one = Within { category: Some(category), item: None };
            let told = figure(shop, &answer, &asked(one)).expect("a category");
            assert_eq!(told.value, sum.exact(), "{}", category.name());
            let items: Exact = told
                .children
                .iter()
                .map(|item| {
                    let item = Some(item.label.clone());
                    let one = Within { category: Some(category), item };
                    figure(shop, &answer, &asked(one)).expect("an item").value
                })
                .sum();
            assert_eq!(items, told.value);
        }
        assert_eq!(whole.value, ledger.total(Total::Consumed, u32::MAX).exact());
        let absent = Within { category: Some(Category::Delay), item: None };
        let why = figure(shop, &answer, &asked(absent));
        assert!(matches!(why, Err(Unexplained::NotThere { .. })), "{why:?}");
    });
}

#[test]
fn a_story_has_the_dates_of_the_project() {
    held("explained dates", |_, shop| {
        for plan in answered(shop).plans.iter().take(PLANS) {
            let story = Story::of(shop, &plan.plan, shop.planned, true).expect("runs");
            let project =
                Project::of(shop, &plan.plan, shop.planned, &[shop.planned]).expect("runs");
            let last = project.finals.iter().map(|f| f.2);
            let dates: Vec<_> = project.dates.iter().copied().chain(last).collect();
            prop_assert_eq!(&story.dates, &dates);
        }
        Ok(())
    });
}
