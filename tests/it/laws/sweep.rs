//! Every row of a sweep is what the answer says with the values typed in.

use flipcount::analysis::{Answer, NoAnswer, Sweep, SweepRow, SweepTable, Vary, answer};
use flipcount::input::{Series, read_series};
use flipcount::ledger::Total;
use flipcount::model::{
    Dim, Exact, Input, Scenario, TypedIn, TypedText, Typist, load, scenario_or_why,
};
use flipcount::plan::{Key, Shop};
use flipcount::value::{Prices, RoundedTotals, value};
use proptest::prelude::*;

use super::held::{Verdict, held};
use crate::help::{in_shop, project, scenario};

/// A unit in which a number may be typed at an address.
fn unit(typist: &Typist, input: &Input) -> Option<&'static str> {
    let units: &[&'static str] = match input.dim {
        Dim::Time => &["s"],
        Dim::Volume => &["mL"],
        Dim::Mass => &["g"],
        Dim::Area => &["cm2"],
        Dim::Length => &["mm"],
        Dim::Pieces => &["pcs"],
        Dim::Density => &["g/mL"],
        Dim::Pace => &["s per cm3"],
        Dim::Ratio => &["mL per h", ""],
        Dim::Rate => &["", "per h", "per L", "per kWh", "per pcs"],
        Dim::Count | Dim::Share | Dim::Power | Dim::Money => &[""],
    };
    let expected = |unit: &str| {
        let text = format!("1 {unit}");
        let typed = typist.number(&[], (&input.address, text.trim()));
        matches!(typed, TypedIn::Refused(why) if why.contains("expected"))
    };
    units.iter().copied().find(|unit| !expected(unit))
}

/// Some values of an input: near its own, and one that is rarely valid.
fn values(input: &Input, unit: &str) -> Series {
    let whole = matches!(input.dim, Dim::Count);
    let likely = input.likely.to_f64_lossy();
    // Hundreds of pieces take long, and say no more.
    let texts = [0.5, if whole { 2.0 } else { 400.0 }].map(|factor| {
        let value = if likely == 0.0 { factor / 4.0 } else { likely * factor };
        if whole { format!("{}", value.ceil()) } else { format!("{value:.4}") }
    });
    let mut texts = texts.to_vec();
    texts.dedup();
    let mut series = read_series(&texts.join(",")).expect("numbers");
    unit.clone_into(&mut series.unit);
    series
}

/// Two inputs of a scenario, drawn by its size.
fn chosen(scenario: &Scenario, typist: &Typist, round: u64) -> Vec<Vary> {
    let key = Key::named(&format!("{:?}", scenario.parts.len())).with(scenario.slots.len() as u64);
    let mut varied: Vec<Vary> = Vec::new();
    for n in 0..40u64 {
        let place = key.with(round).with(n).uniform() * scenario.slots.len() as f64;
        let Some((_, input)) = scenario.slots.iter().nth(place as usize) else {
            continue;
        };
        if varied.iter().any(|vary| vary.key == input.address) {
            continue;
        }
        let Some(unit) = unit(typist, input) else {
            continue;
        };
        varied.push(Vary { key: input.address.clone(), series: values(input, unit) });
        if varied.len() == 2 {
            break;
        }
    }
    varied
}

/// The row of a plan at a point.
fn row<'t>(table: &'t SweepTable, point: u64, plan: &str) -> Option<&'t SweepRow> {
    let named = |row: &&SweepRow| row.plan.is_some_and(|p| table.plans.get(p) == plan);
    table.rows.iter().find(|row| row.point == point && named(row))
}

/// All rows of a point against the answer with the values typed in.
fn equal(
    table: &SweepTable,
    point: u64,
    shop: &Shop,
    answer: &Answer,
    typed: &[TypedText],
) -> Verdict {
    let minor = shop.scenario.minor();
    for (index, plan) in answer.plans.iter().enumerate() {
        let row = row(table, point, &plan.plan.name);
        let figures = row.and_then(|row| row.figures);
        let Some(figures) = figures else {
            return Err(TestCaseError::fail(format!(
                "{typed:?}: no figures of {}: {row:?}",
                plan.plan.name
            )));
        };
        let d = &plan.decides;
        let money = [d.avoidable, d.outlay, d.consumed].map(|m| m.minor_units(minor));
        prop_assert_eq!(figures.money.map(i128::from), money, "{:?} {}", typed, &plan.plan.name);
        prop_assert_eq!(figures.seconds, d.seconds, "{:?} {}", typed, &plan.plan.name);
        let verdict = answer.verdict.as_ref().expect("a verdict where a plan is feasible");
        prop_assert_eq!(figures.verdict, verdict.plan == index, "{:?} {}", typed, &plan.plan.name);
        prop_assert_eq!(figures.close, verdict.candidates.contains(&index), "{:?}", typed);
        prop_assert_eq!(figures.in_time.is_some(), shop.scenario.due.is_some());
    }
    for (plan, why) in &answer.infeasible {
        let row = row(table, point, &plan.name);
        let told = row.and_then(|row| row.reason).map(|r| table.reasons.get(r));
        prop_assert_eq!(told, Some(why.as_str()), "{:?} {}", typed, &plan.name);
    }
    let rows = table.rows.iter().filter(|row| row.point == point).count();
    let expected = (answer.plans.len() + answer.infeasible.len()).max(1);
    prop_assert_eq!(rows, expected, "{:?}", typed);
    Ok(())
}

/// Sweeps a grid in two stretches and compares every point. Returns points with figures, and without.
fn swept(folder: &std::path::Path, round: u64) -> Result<(u32, u32), TestCaseError> {
    let scenario = load(folder, &Default::default()).scenario.expect("it loads");
    let typist = Typist::new(folder, &scenario);
    let varied = chosen(&scenario, &typist, round);
    let Ok(sweep) = Sweep::new(folder, scenario.clone(), &varied) else {
        return Ok((0, 0));
    };
    let points = sweep.grid().points();
    let table = sweep.rows(0, points, false);
    for cut in [1, points / 3] {
        let halves = [sweep.rows(0, cut, false), sweep.rows(cut, points, false)];
        let rows: usize = halves.iter().map(|half| half.rows.len()).sum();
        prop_assert_eq!(rows, table.rows.len(), "a stretch adds or loses rows");
    }
    let (mut with, mut without) = (0, 0);
    for point in 0..points {
        let texts: Vec<String> = varied
            .iter()
            .zip(sweep.grid().values_at(point))
            .map(|(vary, value)| vary.series.text(value))
            .collect();
        let typed: Vec<TypedText> =
            varied.iter().zip(&texts).map(|(v, t)| (v.key.as_str(), t.as_str())).collect();
        match scenario_or_why(typist.load(&typed)) {
            Err(_) => {
                without += 1;
                let row = table.rows.iter().find(|row| row.point == point).expect("a row");
                prop_assert!(row.plan.is_none() && row.reason.is_some(), "{:?}: {:?}", typed, row);
            }
            Ok(scenario) => in_shop(&scenario, |shop| match answer(shop) {
                Ok(answer) => {
                    with += 1;
                    equal(&table, point, shop, &answer, &typed)
                }
                Err(NoAnswer::TooManyPlans(_)) => Ok(()),
            })?,
        }
    }
    Ok((with, without))
}

#[test]
fn every_row_is_what_the_answer_says_with_the_values_typed_in() {
    let sums = std::cell::Cell::new((0, 0));
    held("sweep", |case, shop| {
        // A whole answer at each point takes long: of half the scenarios, by chance.
        if shop.scenario.slots.len() % 2 != 0 {
            return Ok(());
        }
        let (with, without) = swept(case.dir.path(), 1)?;
        let (w, o) = sums.get();
        sums.set((w + with, o + without));
        Ok(())
    });
    let (with, without) = sums.get();
    println!("points with an answer {with}, refused {without}");
    assert!(with > 20 && without > 10, "{with} {without}");
}

#[test]
fn every_row_of_the_demos_is_what_the_answer_says() {
    for demo in ["scenarios/river-sonde", "scenarios/first-look"] {
        let mut seen = 0;
        for round in 0..10 {
            seen += swept(&project(demo), round).expect(demo).0;
        }
        assert!(seen > 15, "{demo}: {seen}");
    }
}

/// Rounded totals are those of the ledger, to the last digit.
#[test]
fn rounded_totals_are_those_of_the_ledger() {
    held("rounded", |_, shop| {
        let answer = super::held::answered(shop);
        let mut prices = Prices::new(shop);
        for plan in answer.plans.iter().map(|p| &p.plan) {
            let mut simulation = flipcount::sim::Simulation::new(shop);
            for n in 1..=shop.planned {
                if simulation.iterate(n, &plan.assign).is_err() {
                    return Ok(());
                }
            }
            let (exact, fast) =
                (value(shop, &simulation.events), prices.rounded(shop, &simulation.events));
            match (exact, fast) {
                (Ok(exact), Ok(RoundedTotals(sums))) => {
                    let of = |t| exact.ledger.total(t, u32::MAX).minor_units(shop.scenario.minor());
                    let expected = [Total::Avoidable, Total::Outlay, Total::Consumed].map(of);
                    prop_assert_eq!(sums, expected, "{}", &plan.name);
                }
                (exact, fast) => prop_assert_eq!(exact.err(), fast.err(), "{}", &plan.name),
            }
        }
        Ok(())
    });
}

#[test]
fn prices_between_two_minor_units_are_summed_like_the_ledger() {
    let base = scenario(&project("scenarios/river-sonde"));
    for n in 0..400i64 {
        let mut values = flipcount::plan::Values::planning(&base.slots);
        // Hours of 7.5 minutes and rates in thousandths make ties by the dozen.
        let labour = base.labour.expect("it is stated");
        values.set(&base.slots, labour, Exact::from(n) / Exact::from(8i64));
        let shop = Shop::new(&base, &values);
        let answer = super::held::answered(&shop);
        let mut prices = Prices::new(&shop);
        let mut simulation = flipcount::sim::Simulation::new(&shop);
        for k in 1..=3 {
            simulation.iterate(k, &answer.plans[0].plan.assign).expect("it goes on");
        }
        let exact = value(&shop, &simulation.events).expect("a ledger").ledger;
        let RoundedTotals(sums) = prices.rounded(&shop, &simulation.events).expect("sums");
        assert_eq!(sums[0], exact.total(Total::Avoidable, u32::MAX).minor_units(2), "{n}");
    }
}
