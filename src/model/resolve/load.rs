//! From a folder to a scenario: the recipe.

use std::collections::BTreeSet;
use std::mem;
use std::path::{Path, PathBuf};

use super::agreement::check_agreement;
use super::calendars::{Calendars, hours};
use super::checks;
use super::context::Load;
use super::geometry::{self, Lists};
use super::iterations::iterations;
use super::limits;
use super::machines::{Machines, print_times};
use super::one::One;
use super::parts::{Named, PART, PartNames, named, parts};
use super::plans::{Names, last, plans};
use super::rates::Rates;
use super::routes::{ROUTE, World, routes};
use super::services::Services;
use super::settings::{Settings, title_or};
use super::sheets::Sheets;
use super::stock::Items;
use super::table::Table;
use crate::diag::{Code, Diagnostic, Log};
use crate::input::{Node, read_document, read_file};
use crate::model::{GroupId, Iterations, Route, RouteKind, Scenario};

/// Keys at the top of scenario.toml.
const TOP: [&str; 19] = [
    "title",
    "currency",
    "start",
    "due",
    "sure",
    "close",
    "budget",
    "labour",
    "labour_paid",
    "pricing",
    "seed",
    "iterations",
    "final",
    "hours",
    "calendar",
    "part",
    "bath",
    "route",
    "plan",
];
/// Keys of a `[[bath]]`.
const BATH: [&str; 24] = [
    "name",
    "kind",
    "solvent",
    "fill",
    "retire_share",
    "reuse_limit",
    "resin_film",
    "solvent_film",
    "platform_carry",
    "evaporates",
    "dye",
    "dye_share",
    "tub",
    "displacers",
    "displacer_height",
    "raise",
    "depth",
    "cover",
    "freeboard",
    "stir_room",
    "keeps",
    "resin_now",
    "uses_now",
    "carry_over",
];

/// Numbers that the command line puts in the place of the file's.
#[derive(Clone, Copy, Debug, Default)]
pub struct Overrides {
    /// Iterations planned, certain; own counts are cut at it and the horizon is raised to it.
    pub iterations: Option<u32>,
    /// Copies of every part in each iteration.
    pub copies: Option<u32>,
}

/// What loading leaves.
#[derive(Debug)]
pub struct Loaded {
    /// The scenario; `None` if anything in the files is an error.
    pub scenario: Option<Scenario>,
    /// Every finding, in the order of the files and lines.
    pub log: Log,
}

/// Loads a scenario folder, or its scenario.toml, with the price sheets it names.
///
/// Every error of every file is in the log: nothing stops at the first.
pub fn load(path: &Path, overrides: &Overrides) -> Loaded {
    let mut load = Load::default();
    let scenario = read(path, overrides, &mut load);
    let log = ordered(mem::take(&mut load.log));
    let scenario = scenario.filter(|_| !log.has_errors()).map(|mut scenario| {
        scenario.slots = mem::take(&mut load.slots);
        scenario.not_counted = mem::take(&mut load.not_counted);
        scenario.sources = load.into_sources();
        scenario
    });
    Loaded { scenario, log }
}

fn read(path: &Path, overrides: &Overrides, load: &mut Load) -> Option<Scenario> {
    let path = if path.is_dir() {
        path.join("scenario.toml")
    } else {
        path.to_owned()
    };
    let file = read_file(&path, &mut load.log)?;
    let document = read_document(&file, &mut load.log)?;
    let broken = load.log.has_errors();
    let scenario = resolve(load, &document, &path, overrides);
    if broken {
        // What a syntax error hides would be reported missing.
        load.log
            .found
            .retain(|d| !matches!(d.code, Code::MissingKey | Code::MissingGeometry));
    }
    scenario
}

fn resolve(
    load: &mut Load,
    document: &Node,
    path: &Path,
    overrides: &Overrides,
) -> Option<Scenario> {
    let mut top = Table::new(load, One::from(document), &TOP, "a scenario")?;
    let base = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    let settings = Settings::read(load, &mut top);
    let hours = hours(load, &mut top);
    let calendars = Calendars::read(load, &mut top);
    let iterations = iterations(load, &mut top, overrides.iterations);
    baths(load, &mut top);
    let sheets = Sheets::read(load, &mut top, &base);
    let part_tables = named(load, &mut top, "part", &PART, limits::PARTS);
    let route_tables = named(load, &mut top, "route", &ROUTE, limits::ROUTES);
    for key in ["part", "route"] {
        top.missing(load, key, &format!("add a `[[{key}]]`"));
    }
    let mut draft = Draft {
        settings,
        hours,
        calendars,
        iterations,
    };
    let world = Tables {
        part_tables,
        route_tables,
        sheets,
    };
    let scenario = draft.scenario(load, &mut top, world, (path, overrides));
    top.finish(load, "nothing reads it");
    Some(scenario)
}

/// What is read before the lists.
struct Draft {
    settings: Settings,
    hours: crate::model::Hours,
    calendars: Calendars,
    iterations: Iterations,
}

/// The lists, and the sheets their names are looked up in.
struct Tables<'a> {
    part_tables: Vec<Named<'a>>,
    route_tables: Vec<Named<'a>>,
    sheets: Sheets,
}

impl Draft {
    fn scenario(
        &mut self,
        load: &mut Load,
        top: &mut Table,
        tables: Tables,
        how: (&Path, &Overrides),
    ) -> Scenario {
        let (path, overrides) = how;
        let meshes: Vec<bool> = tables
            .part_tables
            .iter()
            .map(|n| n.table.has("mesh"))
            .collect();
        let names = PartNames(
            tables
                .part_tables
                .iter()
                .map(|n| n.name.to_owned())
                .collect(),
        );
        let all_routes: Vec<String> = tables
            .route_tables
            .iter()
            .map(|n| n.name.to_owned())
            .collect();
        let parts = parts(load, tables.part_tables, &self.iterations, overrides);
        let mut world = self.world(load, &tables.sheets, &names);
        let mut routes = routes(load, &mut world, tables.route_tables);
        let lookup = Names {
            parts: &names,
            routes: &routes,
            faulty: &all_routes,
        };
        let plans = plans(load, top, lookup);
        let last = last(load, top, lookup);
        check_agreement(load, &world.stated);
        let mut services = world.services.names();
        services.extend(all_routes.iter().map(String::as_str));
        world.rates.check_services(load, &services);
        let electricity = world.rates.of("electricity", "");
        let electricity_currency = world.rates.electricity_currency(load);
        let exchange = world.rates.exchange(load, "");
        group(load, &mut routes, &world.rates);
        let items = world.items.finish(load, &mut routes);
        let equipment = world.machines.finish(load, &mut routes);
        let name = folder_name(path);
        let scenario = Scenario {
            title: title_or(self.settings.title.take(), &name),
            name,
            slots: load.slots.clone(),
            sources: Vec::new(),
            currencies: load.currencies.list.clone(),
            exchange,
            start: self.settings.start_moment(&self.hours),
            due: self.settings.due,
            sure: self.settings.sure,
            close: self.settings.close,
            budget: self.settings.budget,
            labour: self.settings.labour,
            labour_paid: self.settings.labour_paid,
            seed: self.settings.seed,
            iterations: self.iterations.clone(),
            last,
            hours: self.hours.clone(),
            calendars: mem::take(&mut self.calendars.list),
            parts,
            routes,
            plans,
            items,
            equipment,
            electricity,
            electricity_currency,
            not_counted: Vec::new(),
        };
        check(load, &scenario, &meshes);
        scenario
    }

    fn world<'a>(&'a self, load: &mut Load, sheets: &'a Sheets, parts: &'a PartNames) -> World<'a> {
        let rates = Rates::read(load, sheets);
        World {
            sheets,
            calendars: &self.calendars,
            parts,
            items: Items::read(load, sheets),
            machines: Machines::read(load, sheets),
            print_times: print_times(load, sheets),
            services: Services::read(load, sheets, &self.calendars, parts),
            rates,
            start_day: self.settings.start_day(),
            stated: Vec::new(),
        }
    }
}

/// What only the whole scenario can tell.
fn check(load: &mut Load, scenario: &Scenario, meshes: &[bool]) {
    let last = scenario.last.as_ref().map_or(&[][..], |f| &f.assign[..]);
    let pairs = geometry::pairs(Lists {
        parts: &scenario.parts,
        routes: &scenario.routes,
        plans: &scenario.plans,
        last,
        meshes,
    });
    geometry::check(load, &pairs);
    geometry::notes(load, &pairs);
    geometry::plates(load, &pairs, &scenario.equipment);
    checks::never_fits(load, scenario);
    checks::exchange_rates(load, scenario);
    checks::electricity(load, scenario);
}

/// Numbers the orders: routes of one service and delivery level share one, a route without a service has its own.
fn group(load: &Load, routes: &mut [Route], rates: &Rates) {
    let mut keys: Vec<(String, String)> = Vec::new();
    for route in routes {
        let RouteKind::Order(terms) = &mut route.kind else {
            continue;
        };
        let key = (terms.service.clone(), terms.delivery.clone());
        let index = keys.iter().position(|k| *k == key).unwrap_or_else(|| {
            keys.push(key);
            keys.len() - 1
        });
        // By now every currency is met.
        terms.exchange = rates.exchange(load, &terms.service);
        terms.group = GroupId(u16::try_from(index).unwrap_or(u16::MAX));
    }
}

/// Baths are known and not computed; their keys are checked all the same.
fn baths(load: &mut Load, top: &mut Table) {
    for one in top.list(load, "bath", "tables such as `[[bath]]`") {
        let message = "`[[bath]]` is known but not computed in this version";
        load.error(
            Code::NotYet,
            one.place,
            message,
            "delete it, and use `consumes` of a step for the solvent",
        );
        // Only the names of its keys are looked at.
        Table::new(load, one, &BATH, "a `[[bath]]`");
    }
}

/// The last folder of a path, also where the path is `.`; never more than that.
fn folder_name(path: &Path) -> String {
    let folder = path
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    whole.file_name().map_or_else(
        || "scenario".to_owned(),
        |n| n.to_string_lossy().into_owned(),
    )
}

/// Findings by file, in the order the files were met, then by place; what was found twice is said once.
fn ordered(mut log: Log) -> Log {
    let mut files: Vec<String> = Vec::new();
    let mut seen = BTreeSet::new();
    let mut found: Vec<((usize, usize, usize), Diagnostic)> = Vec::new();
    for finding in mem::take(&mut log.found) {
        let key = finding.place.as_ref().map_or((usize::MAX, 0, 0), |place| {
            let at = files
                .iter()
                .position(|f| *f == place.file.path)
                .unwrap_or_else(|| {
                    files.push(place.file.path.clone());
                    files.len() - 1
                });
            (at, place.line, place.span.start)
        });
        if seen.insert((key, finding.code, finding.message.clone())) {
            found.push((key, finding));
        }
    }
    found.sort_by_key(|(key, _)| *key);
    log.found = found.into_iter().map(|(_, finding)| finding).collect();
    log
}
