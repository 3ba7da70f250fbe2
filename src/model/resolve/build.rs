//! The recipe: settings and calendars, then sheets, then parts, routes and plans, then what only the whole can tell.

use std::path::{Path, PathBuf};

use super::baths::Baths;
use super::checks::check;
use super::keys::{BATH, PART, ROUTE, TOP};
use super::limits;
use super::parts::{PartNames, parts};
use super::plans::{Names, check_copies, last, plans};
use super::reading::{Load, Named, One, Table, named};
use super::routes::{World, check_agreement, check_unasked, routes, settle};
use super::settings::{Calendars, Overrides, Settings, hours, iterations, title_or};
use super::sheets::{Items, Machines, Rates, Services, Sheets, print_times};
use crate::diag::Code;
use crate::input::Node;
use crate::model::{
    Bath, CurrencyId, Equipment, Final, GroupId, Hours, Item, Iterations, NamedPlan, Part,
    RateRows, Route, RouteKind, Scenario, SheetRow,
};

/// Turns a document and the sheets it names into a scenario; whatever is faulty is logged and replaced.
pub(super) fn resolve(
    load: &mut Load,
    document: &Node,
    path: &Path,
    overrides: &Overrides,
) -> Option<Scenario> {
    let mut top = Table::new(load, One::from(document), TOP, "a scenario")?;
    let base = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    load.meshes.base.clone_from(&base);
    let settings = Settings::read(load, &mut top);
    let hours = hours(load, &mut top);
    let calendars = Calendars::read(load, &mut top);
    let iterations = iterations(load, &mut top, overrides.iterations);
    let sheets = Sheets::read(load, &mut top, &base);
    let bath_tables = named(load, &mut top, "bath", BATH, limits::BATHS);
    let part_tables = named(load, &mut top, "part", PART, limits::PARTS);
    let route_tables = named(load, &mut top, "route", ROUTE, limits::ROUTES);
    for key in ["part", "route"] {
        top.lacks(load, Code::MissingTable, key, &format!("add a `[[{key}]]`"));
    }
    let basics = Basics { settings, hours, calendars, iterations };
    let sheet_rows = sheets.rows();
    let tables = Tables { part_tables, bath_tables, route_tables, sheets };
    let meant = basics.meant(load, &mut top, tables, overrides);
    top.finish(load, "nothing reads it");
    let mut scenario = basics.scenario(load, (meant, sheet_rows), folder_name(path));
    check(load, &mut scenario);
    Some(scenario)
}

fn names_of(tables: &[Named]) -> Vec<String> {
    tables.iter().map(|n| n.name.to_owned()).collect()
}

/// What is read before the lists.
struct Basics {
    settings: Settings,
    hours: Hours,
    calendars: Calendars,
    iterations: Iterations,
}

/// The lists, and the sheets their names are looked up in.
struct Tables<'a> {
    part_tables: Vec<Named<'a>>,
    bath_tables: Vec<Named<'a>>,
    route_tables: Vec<Named<'a>>,
    sheets: Sheets,
}

/// The lists as meant.
struct Meant {
    parts: Vec<Part>,
    routes: Vec<Route>,
    plans: Vec<NamedPlan>,
    last: Option<Final>,
    items: Vec<Item>,
    baths: Vec<Bath>,
    equipment: Vec<Equipment>,
    exchange: Vec<RateRows>,
    electricity: RateRows,
    electricity_currency: CurrencyId,
}

impl Basics {
    /// Turns the lists into what they mean. Ids follow the names once every route is read.
    fn meant(
        &self,
        load: &mut Load,
        top: &mut Table,
        tables: Tables,
        overrides: &Overrides,
    ) -> Meant {
        let names = PartNames(names_of(&tables.part_tables));
        let all_routes = names_of(&tables.route_tables);
        let parts = parts(load, tables.part_tables, &self.iterations, overrides);
        let mut world = self.world(load, (&tables.sheets, tables.bath_tables), &names);
        let mut routes = routes(load, &mut world, tables.route_tables);
        if overrides.reopened {
            routes.iter_mut().for_each(|route| route.closed = None);
        }
        world.baths.note_used(load, &mut world.items, &routes);
        let doubts = std::mem::take(&mut world.doubts);
        settle(load, &mut routes, doubts, (&names, &all_routes));
        let mut baths = world.baths.list;
        let lookup = Names { parts: &names, routes: &routes, faulty: &all_routes };
        let plans = plans(load, top, lookup);
        let last = last(load, top, lookup);
        check_copies(load, &plans, &parts);
        check_agreement(load, &world.stated);
        check_unasked(load, &world.services, &world.asked);
        let mut services = world.services.names();
        services.extend(all_routes.iter().map(String::as_str));
        world.rates.check_services(load, &services);
        group(load, &mut routes, &world.rates);
        Meant {
            exchange: world.rates.exchange(load, ""),
            electricity: world.rates.of("electricity", ""),
            electricity_currency: world.rates.electricity_currency(load),
            items: world.items.finish(load, &mut routes, &mut baths),
            equipment: world.machines.finish(load, &mut routes),
            baths,
            parts,
            routes,
            plans,
            last,
        }
    }

    fn scenario(
        self,
        load: &Load,
        (meant, sheet_rows): (Meant, Vec<SheetRow>),
        name: String,
    ) -> Scenario {
        Scenario {
            start: self.settings.start_moment(&self.hours),
            title: title_or(self.settings.title, &name),
            name,
            slots: load.slots.clone(),
            sources: Vec::new(),
            places: Vec::new(),
            currencies: load.currencies.list.clone(),
            exchange: meant.exchange,
            due: self.settings.due,
            sure: self.settings.sure,
            close: self.settings.close,
            budget: self.settings.budget,
            labour: self.settings.labour,
            labour_paid: self.settings.labour_paid,
            seed: self.settings.seed,
            iterations: self.iterations,
            last: meant.last,
            hours: self.hours,
            calendars: self.calendars.list,
            parts: meant.parts,
            routes: meant.routes,
            plans: meant.plans,
            items: meant.items,
            baths: meant.baths,
            equipment: meant.equipment,
            electricity: meant.electricity,
            electricity_currency: meant.electricity_currency,
            not_counted: Vec::new(),
            sheet_rows,
            record: None,
            past: None,
        }
    }

    fn world<'a>(
        &'a self,
        load: &mut Load,
        (sheets, baths): (&'a Sheets, Vec<Named>),
        parts: &'a PartNames,
    ) -> World<'a> {
        let rates = Rates::read(load, sheets);
        let mut items = Items::read(load, sheets);
        let baths = Baths::read(load, (sheets, &mut items), baths);
        World {
            sheets,
            calendars: &self.calendars,
            parts,
            items,
            baths,
            machines: Machines::read(load, sheets),
            print_times: print_times(load, sheets),
            services: Services::read(load, sheets, &self.calendars, parts),
            rates,
            start_day: self.settings.start_day(),
            asked: Vec::new(),
            stated: Vec::new(),
            doubts: Vec::new(),
        }
    }
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
        terms.group = GroupId::at(index);
    }
}

/// The last folder of a path, also where the path is `.`; never more than that.
fn folder_name(path: &Path) -> String {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    whole.file_name().map_or_else(|| "scenario".to_owned(), |n| n.to_string_lossy().into_owned())
}
