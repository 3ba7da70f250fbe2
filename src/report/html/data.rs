//! The figures the page's script chooses from, as JSON: the curves exactly as the answer's document has them, and the same by category.

use std::collections::BTreeMap;

use serde::Serialize;

use super::super::json::curves_entry;
use super::super::json_types::CurvesEntry;
use super::extras::Page;
use super::kinds::kind;
use crate::analysis::TOTALS;
use crate::model::Money;

#[derive(Serialize)]
struct Data<'s> {
    planned: u32,
    /// Decimals of amounts that are shown.
    decimals: u32,
    /// Seconds since 1970-01-01 at the first release.
    start: i64,
    /// False where days are counted in place of dates.
    dated: bool,
    /// The kind of cost each category belongs to.
    kinds: BTreeMap<&'static str, usize>,
    plans: Vec<PlanData<'s>>,
}

#[derive(Serialize)]
struct PlanData<'s> {
    name: &'s str,
    curves: CurvesEntry<'s>,
    /// By total, then category: running sums at 1, 2, 3 and so on.
    by: BTreeMap<&'static str, BTreeMap<&'static str, Vec<String>>>,
}

/// The text of the data element. Nothing in it can end that element: `<`, `>` and `&` are written as escapes.
pub(super) fn data(page: &Page) -> String {
    let shop = page.subject.shop;
    let plans = page.plans().map(|(look, result)| PlanData {
        name: &result.plan.name,
        curves: curves_entry(page.subject, result),
        by: by(page, look),
    });
    let plans: Vec<PlanData> = plans.collect();
    let shown = plans.iter().flat_map(|p| p.by.values()).flat_map(|c| c.keys().copied());
    let data = Data {
        planned: page.subject.answer.planned,
        decimals: page.words.decimals(),
        start: shop.start,
        dated: page.subject.scenario().start.is_some(),
        kinds: shown.map(|name| (name, kind(name))).collect(),
        plans,
    };
    safe(&serde_json::to_string(&data).unwrap_or_default())
}

fn by(page: &Page, look: usize) -> BTreeMap<&'static str, BTreeMap<&'static str, Vec<String>>> {
    let minor = page.subject.scenario().minor();
    let text = |curve: &Vec<Money>| curve.iter().map(|m| m.text(minor)).collect();
    let detail = page.detail(look);
    let one = |(at, total): (usize, &crate::ledger::Total)| {
        let categories = detail.iter().flat_map(|d| &d.categories);
        let some = categories.filter(|(_, curves)| curves[at].iter().any(|m| !m.is_zero()));
        (total_name(*total), some.map(|(c, curves)| (c.name(), text(&curves[at]))).collect())
    };
    TOTALS.iter().enumerate().map(one).collect()
}

/// A total's name in the document.
pub(super) fn total_name(total: crate::ledger::Total) -> &'static str {
    match total {
        crate::ledger::Total::Avoidable => "avoidable",
        crate::ledger::Total::Outlay => "outlay",
        crate::ledger::Total::Consumed => "consumed",
    }
}

/// JSON that stays JSON and can stand in a script element.
fn safe(json: &str) -> String {
    json.replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}

#[cfg(test)]
mod tests {
    use super::safe;

    #[test]
    fn no_text_ends_the_element() {
        let json = serde_json::to_string("</script><!-- & ").expect("a text");
        let safe = safe(&json);
        assert!(!safe.contains(['<', '>', '&']));
        assert_eq!(serde_json::from_str::<String>(&safe).expect("JSON"), "</script><!-- & ");
    }
}
