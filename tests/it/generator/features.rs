//! Which features of the model a generated scenario really shows: in what was loaded, or in the ledgers of its plans.

use std::collections::BTreeSet;

use flipcount::analysis::Project;
use flipcount::ledger::{About, Account, Category, Entry, Kind, Movement};
use flipcount::model::{
    BathId, BathKind, Exact, Hold, Need, Part, Per, RouteKind, Scenario, Step, Terms, Tub, Up,
};
use flipcount::plan::{BathKindTable, Shop};

/// Every feature that must occur.
pub const FEATURES: [&str; 64] = [
    "several parts",
    "own count",
    "must",
    "short bench",
    "printing",
    "layers",
    "crafted",
    "plain order",
    "service",
    "spoil",
    "spent share",
    "overnight",
    "per piece",
    "first time",
    "machine",
    "per build",
    "per piece used",
    "per attempt",
    "per print hour",
    "per layer",
    "per litre of resin",
    "per design",
    "pack",
    "paid by use",
    "stock",
    "keep",
    "lead",
    "bought machine",
    "resale",
    "wear",
    "electricity",
    "down date",
    "buy first",
    "break",
    "quote",
    "minimum",
    "set-up",
    "finish",
    "mass",
    "duty",
    "tax",
    "import fee",
    "exchange fee",
    "currency",
    "dated prices",
    "steps after an order",
    "misread",
    "brief",
    "delay",
    "overlap",
    "final",
    "wash bath",
    "second wash",
    "retire",
    "reuse limit",
    "half-used bath",
    "dye bath",
    "round tub",
    "partial dip",
    "keeps",
    "several builds",
    "pose",
    "a feasible plan",
    "several plans",
];

/// The features of a scenario and of the plans that were run.
pub fn features(shop: &Shop, projects: &[Project]) -> BTreeSet<&'static str> {
    let scenario = shop.scenario;
    let mut seen = BTreeSet::new();
    for (name, there) in of_scenario(scenario) {
        if there {
            seen.insert(name);
        }
    }
    if !projects.is_empty() {
        seen.insert("a feasible plan");
    }
    if projects.len() > 1 {
        seen.insert("several plans");
    }
    for project in projects {
        for entry in project.ledger.entries() {
            seen.extend(of_entry(entry, scenario));
        }
        for movement in project.ledger.movements() {
            seen.extend(of_movement(movement, project.ledger.movements(), shop));
        }
        if several_builds(project.ledger.entries(), scenario) {
            seen.insert("several builds");
        }
    }
    seen
}

/// What a movement into or out of a bath shows.
fn of_movement(m: &Movement, all: &[Movement], shop: &Shop) -> Vec<&'static str> {
    let mut seen = Vec::new();
    match (m.from, m.to) {
        (Account::Bath(_), Account::Bath(_)) => seen.push("second wash"),
        (Account::Stock, Account::Bath(id)) => {
            let steps = || shop.scenario.routes.iter().flat_map(|r| &r.steps);
            let posed = || steps().any(|s| s.bath.is_some_and(|(b, up)| b == id && up != Up::Z));
            match (&shop.bath(id).kind, &shop.scenario.baths[usize::from(id.0)].kind) {
                (BathKindTable::Dye(_, table), BathKind::Dye(dye)) => {
                    seen.push("dye bath");
                    seen.extend(table.depth.map(|_| "partial dip"));
                    seen.extend(matches!(dye.tub, Tub::Round { .. }).then_some("round tub"));
                    seen.extend(posed().then_some("pose"));
                }
                (BathKindTable::Wash(wash), _) => {
                    seen.push("wash bath");
                    seen.extend(wash.used.map(|_| "half-used bath"));
                }
                _ => {}
            }
        }
        (Account::Bath(id), Account::Waste) if m.item == shop.bath(id).solvent => {
            seen.push(why_emptied(m, all, shop, id));
        }
        _ => {}
    }
    seen
}

/// Why a bath was emptied: what it held and what came in tell a wash bath's; a dye bath keeps or wears out.
fn why_emptied(m: &Movement, all: &[Movement], shop: &Shop, id: BathId) -> &'static str {
    let bath = shop.bath(id);
    let resin = |to_bath: bool| -> i64 {
        let of = |o: &&Movement| {
            let into = o.to == Account::Bath(id) && to_bath;
            let out = (o.from, o.to) == (Account::Bath(id), Account::Waste) && !to_bath;
            o.when == m.when && o.item != bath.solvent && (into || out)
        };
        all.iter().filter(of).map(|o| o.amount).sum()
    };
    match &bath.kind {
        BathKindTable::Wash(wash) => {
            let after = Exact::from_millionths(resin(true) + resin(false));
            let share = after / (after + Exact::from_millionths(wash.fill));
            if share > wash.retire_share { "retire" } else { "reuse limit" }
        }
        BathKindTable::Dye(..) if bath.reuse_limit.is_none() => "keeps",
        BathKindTable::Dye(_, dye) if dye.keeps.is_none() => "reuse limit",
        // Either: counted as what is rarer.
        BathKindTable::Dye(..) => "keeps",
    }
}

/// True where one route prints more than once in an iteration.
fn several_builds(entries: &[Entry], scenario: &Scenario) -> bool {
    let prints = |e: &&Entry| {
        let bench = e.route.map(|r| &scenario.route(r).kind);
        e.step == 1
            && e.category == Category::Labour
            && matches!(bench, Some(RouteKind::Bench(b)) if b.print.is_some())
    };
    let mut runs: Vec<_> = entries.iter().filter(prints).map(|e| (e.iteration, e.route)).collect();
    let all = runs.len();
    runs.sort_unstable();
    runs.dedup();
    runs.len() < all
}

fn of_scenario(scenario: &Scenario) -> Vec<(&'static str, bool)> {
    let steps: Vec<&Step> = scenario.routes.iter().flat_map(|r| &r.steps).collect();
    let part = |test: fn(&Part) -> bool| scenario.parts.iter().any(test);
    let step = |test: &dyn Fn(&Step) -> bool| steps.iter().any(|s| test(s));
    let terms: Vec<&Terms> = scenario.routes.iter().filter_map(|r| terms(&r.kind)).collect();
    let bench = |test: fn(bool, bool) -> bool| {
        scenario
            .routes
            .iter()
            .any(|r| matches!(&r.kind, RouteKind::Bench(b) if test(b.short, b.print.is_some())))
    };
    let later = |need: &Need| need.from_iteration > 1;
    let likely = |slot| scenario.slots.likely(slot);
    let dated = |t: &&Terms| t.rows.iter().any(|r| r.valid.from.is_some());
    let after = |r: &flipcount::model::Route| terms_of(r).is_some() && !r.steps.is_empty();
    vec![
        ("several parts", scenario.parts.len() > 1),
        ("own count", part(|p| p.iterations.is_some())),
        ("must", scenario.parts.iter().any(|p| p.must.iter().any(later))),
        ("short bench", bench(|short, _| short)),
        ("printing", bench(|short, prints| prints && !short)),
        ("crafted", bench(|_, prints| !prints)),
        ("plain order", terms.iter().any(|t| t.delivery.is_empty())),
        ("service", terms.iter().any(|t| !t.delivery.is_empty())),
        ("spoil", step(&|s| s.spoil.is_some_and(|slot| !likely(slot).is_zero()))),
        ("spent share", step(&|s| s.spent_share.is_some())),
        ("overnight", step(&|s| matches!(s.hold, Hold::Overnight))),
        ("per piece", step(&|s| s.per_piece)),
        ("first time", step(&|s| s.first_time.is_some())),
        ("machine", step(&|s| s.at.is_some())),
        ("layers", layers(scenario)),
        ("keep", scenario.items.iter().any(|i| i.keep.is_some())),
        ("lead", scenario.items.iter().any(|i| i.lead.is_some())),
        ("stock", scenario.items.iter().any(|i| i.stock.is_some())),
        ("down date", scenario.equipment.iter().any(|e| !e.down.is_empty())),
        ("dated prices", terms.iter().any(dated)),
        ("steps after an order", scenario.routes.iter().any(after)),
        ("misread", terms.iter().any(|t| t.misread.is_some())),
        ("brief", terms.iter().any(|t| t.brief.is_some())),
        ("overlap", !likely(scenario.iterations.overlap).is_zero()),
        ("final", scenario.last.is_some()),
    ]
    .into_iter()
    .chain(pers(scenario))
    .collect()
}

fn layers(scenario: &Scenario) -> bool {
    use flipcount::model::{Bench, PrintTime};
    let by_layers = |kind: &RouteKind| match kind {
        RouteKind::Bench(Bench { print: Some(print), .. }) => {
            matches!(print.time, PrintTime::Layers { .. })
        }
        _ => false,
    };
    scenario.routes.iter().any(|r| by_layers(&r.kind))
}

fn terms(kind: &RouteKind) -> Option<&Terms> {
    match kind {
        RouteKind::Order(terms) => Some(terms),
        RouteKind::Bench(_) => None,
    }
}

fn terms_of(route: &flipcount::model::Route) -> Option<&Terms> {
    terms(&route.kind)
}

fn pers(scenario: &Scenario) -> Vec<(&'static str, bool)> {
    let on_steps = scenario.routes.iter().flat_map(|r| &r.steps).flat_map(|s| &s.consumes);
    let all: Vec<Per> =
        scenario.routes.iter().flat_map(|r| &r.consumes).chain(on_steps).map(|c| c.per).collect();
    [
        ("per build", Per::Build),
        ("per piece used", Per::Piece),
        ("per attempt", Per::Attempt),
        ("per print hour", Per::PrintHour),
        ("per layer", Per::Layer),
        ("per litre of resin", Per::LitreOfResin),
        ("per design", Per::Design),
    ]
    .map(|(name, per)| (name, all.contains(&per)))
    .to_vec()
}

fn of_entry(entry: &Entry, scenario: &Scenario) -> Vec<&'static str> {
    let mut seen = Vec::new();
    let mut note = |name, there: bool| {
        if there {
            seen.push(name);
        }
    };
    let is_item = matches!(entry.about, About::Item(_));
    note("pack", entry.unit == "packs");
    note(
        "paid by use",
        is_item
            && entry.kind == Kind::Pay
            && entry.unit != "packs"
            && entry.category != Category::Delivery,
    );
    note(
        "bought machine",
        entry.category == Category::Purchase && matches!(entry.about, About::Machine(_)),
    );
    note(
        "buy first",
        entry.category == Category::Purchase && entry.about == About::Named("buy_first"),
    );
    note("resale", entry.kind == Kind::Resale);
    note("wear", entry.category == Category::Machine);
    note("electricity", entry.category == Category::Electricity);
    note("minimum", entry.category == Category::Minimum);
    note("set-up", entry.category == Category::SetUp);
    note("finish", entry.category == Category::Finish);
    note("duty", entry.category == Category::Duty);
    note("tax", entry.category == Category::Tax);
    note("delay", entry.category == Category::Delay);
    note("import fee", entry.about == About::Named("import fee"));
    note("exchange fee", entry.about == About::Named("exchange fee"));
    let order = entry.route.and_then(|r| terms_of(scenario.route(r)));
    if let Some(terms) = order {
        let row = terms.rows.iter().find(|r| r.source == entry.source);
        note("break", row.is_some_and(|r| r.from_qty > 1 && entry.category == Category::Piece));
        note("currency", row.is_some_and(|r| r.currency.0 > 0));
        note("quote", terms.quotes.iter().any(|q| q.source == entry.source));
        let by_mass =
            |d: &flipcount::model::DeliveryRow| d.source == entry.source && d.per_kg.is_some();
        note("mass", terms.deliveries.iter().any(by_mass));
    }
    seen
}
