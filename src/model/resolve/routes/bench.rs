//! Bench routes: the short form, printing with steps, and steps without printing.

use super::printing::print;
use super::steps::steps;
use super::world::World;
use crate::diag::{Code, Diagnostic, Place};
use crate::model::resolve::reading::{Load, Table};
use crate::model::resolve::sheets::{SHARED, own_item};
use crate::model::{
    Bench, Consume, EquipmentId, Hold, ItemClass, ItemId, OTHER_TIME, Per, Route, RouteKind, SPOIL,
    SourceId, Step, WASH_SOLVENT,
};

/// Reads a bench route into `route`.
pub fn bench(load: &mut Load, world: &mut World, table: &mut Table, route: &mut Route) {
    for key in ["attended", "spoil"] {
        if table.has("steps") && table.has(key) {
            let hint = format!("delete `{key}` and state it in the steps, or delete `steps`");
            let places = (table.place_of(key), table.place_of("steps"));
            load.conflict(Code::ConflictingKeys, (key, places.0), ("steps", places.1), &hint);
            table.one(key);
        }
    }
    let printer = printer(load, world, table);
    if table.has("steps") {
        (route.steps, route.given, route.gives) = steps(load, world, table, &route.name);
        check_print_step(load, table, &route.steps);
        let print = printer.and_then(|_| print(load, world, table, route));
        if let Some((id, one_place)) = printer {
            at_printer(load, world, route, id, one_place);
        }
        route.kind = RouteKind::Bench(Bench { print, short: false });
    } else {
        let print = print(load, world, table, route);
        route.steps = short_steps(load, world, table, route);
        if let (Some((id, _)), Some(first)) = (printer, route.steps.first_mut()) {
            first.at = Some(id);
        }
        route.kind = RouteKind::Bench(Bench { print, short: true });
    }
}

fn printer<'a>(
    load: &mut Load,
    world: &mut World,
    table: &mut Table<'a>,
) -> Option<(EquipmentId, &'a Place)> {
    let one = table.one("printer")?;
    let name = one.name(load)?;
    Some((world.machines.id(load, name, one.place), one.place))
}

/// A route with a printer prints in its first step and in no other; one without does not print.
fn check_print_step(load: &mut Load, table: &Table, steps: &[Step]) {
    let place_of =
        |load: &Load, step: &Step| load.place_of(step.source).unwrap_or(table.place).clone();
    let printer = table.has("printer");
    if steps.is_empty() {
        load.error(
            Code::EmptyList,
            table.place_of("steps"),
            "the route has no steps",
            "state at least one, or delete `steps`",
        );
    }
    for (index, step) in steps.iter().enumerate() {
        if step.name == "print" && (index > 0 || !printer) {
            let place = place_of(load, step);
            if printer {
                let message = "only the first step may print";
                load.error(
                    Code::PrintStep,
                    &place,
                    message,
                    "make the second print a route of its own",
                );
            } else {
                let message = "a step prints and the route names no printer";
                load.error(
                    Code::PrintStep,
                    &place,
                    message,
                    "state `printer`, or give the step another name",
                );
            }
        } else if index == 0 && printer && step.name != "print" {
            let place = place_of(load, step);
            let message = format!(
                "the first step of a route with a printer is `print`, found `{}`",
                step.name
            );
            load.error(
                Code::PrintStep,
                &place,
                message,
                "begin `steps` with `{ do = \"print\" }`, or delete `printer`",
            );
        }
    }
}

/// The printer is occupied by the print step.
fn at_printer(
    load: &mut Load,
    world: &World,
    route: &mut Route,
    printer: EquipmentId,
    place: &Place,
) {
    let Some(first) = route.steps.first_mut() else {
        return;
    };
    if let Some(other) = first.at.filter(|at| *at != printer) {
        let message = format!(
            "the print step is at `{}` and the printer is another",
            world.machines.get(other).name
        );
        let step = load.place_of(first.source).unwrap_or(place).clone();
        load.log.push(
            Diagnostic::error(Code::PrintStep, &step, message)
                .see(place, "the printer")
                .hint("delete `at`"),
        );
    }
    first.at = Some(printer);
}

/// The two steps of the short form: print, then wait.
fn short_steps(load: &mut Load, world: &mut World, table: &mut Table, route: &Route) -> Vec<Step> {
    let attended = table.number(load, "attended");
    table.missing(
        load,
        "attended",
        "state your own time for one print, such as `attended = \"2.2 h\"`, or `steps`",
    );
    let spoil = table.number_or_assumed(load, &SPOIL);
    let solvent = table.number_or_assumed(load, &WASH_SOLVENT);
    let other = table.number_or_assumed(load, &OTHER_TIME);
    let item = wash_solvent(load, world, table);
    world.items.get_mut(item).uses.push((route.name.clone(), solvent));
    let source = load.source_line(table.place);
    let print = Step {
        attended,
        spoil: Some(spoil),
        consumes: vec![Consume { item, amount: solvent, per: Per::Build }],
        ..plain_step("print", source)
    };
    vec![print, Step { hold: Hold::For(other), ..plain_step("finish", source) }]
}

/// The solvent of all short routes: the row of that name, if there is one.
fn wash_solvent(load: &mut Load, world: &mut World, table: &Table) -> ItemId {
    const NAME: &str = "wash solvent";
    world.items.find(NAME).or_else(|| world.items.find_own(NAME, SHARED)).unwrap_or_else(|| {
        let draft = own_item(load, NAME, ItemClass::Solvent, table, SHARED);
        world.items.add(draft)
    })
}

fn plain_step(name: &str, source: SourceId) -> Step {
    Step {
        name: name.to_owned(),
        attended: None,
        per_piece: false,
        first_time: None,
        hold: Hold::None,
        at: None,
        bath: None,
        consumes: Vec::new(),
        spoil: None,
        spent_share: None,
        flowing: true,
        source,
    }
}
