//! Steps of a route and the supplies they use.

use super::world::World;
use crate::diag::Code;
use crate::model::resolve::baths::bath;
use crate::model::resolve::keys::{CONSUME, GIVE, OVERNIGHT, PER_PIECE, PERS, STEP};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Lit, Load, One, SheetKind, Table, over, properties};
use crate::model::resolve::sheets::class_word;
use crate::model::{Consume, Hold, ItemClass, ItemId, Per, Properties, Step};

/// Who uses a supply.
#[derive(Clone, Copy)]
pub struct Owner<'a> {
    /// The route.
    pub route: &'a str,
    /// True for a step of it.
    pub on_step: bool,
    /// True if the route prints.
    pub prints: bool,
}

/// Reads `steps`: the steps, the properties they give together, and whether they give any.
pub fn steps(
    load: &mut Load,
    world: &mut World,
    route: &mut Table,
    name: &str,
) -> (Vec<Step>, Properties, bool) {
    let ones = route.list(load, "steps", "a list of steps");
    if ones.len() > limits::STEPS {
        let message = format!("more than {} steps", limits::STEPS);
        load.error(Code::TooMany, route.place_of("steps"), message, "put some together");
    }
    let mut result: Vec<Step> = Vec::new();
    let mut given = Properties::default();
    let mut gives = false;
    for one in ones.into_iter().take(limits::STEPS) {
        let Some(table) = Table::new(load, one, STEP, "a step") else {
            continue;
        };
        let mut reader = Reader { load, world, route: name, owner: route, before: &result };
        let (step, gave) = reader.step(table);
        result.push(step);
        if let Some(gave) = gave {
            given = over(&given, &gave);
            gives = true;
        }
    }
    (result, given, gives)
}

struct Reader<'r, 'w, 't> {
    load: &'r mut Load,
    world: &'r mut World<'w>,
    route: &'r str,
    owner: &'r mut Table<'t>,
    before: &'r [Step],
}

impl Reader<'_, '_, '_> {
    fn step(&mut self, mut table: Table) -> (Step, Option<Properties>) {
        let load = &mut *self.load;
        let name = table.name(load, "do").unwrap_or_default().to_owned();
        table.missing(load, "do", "say what is done, such as `do = \"wash\"`");
        let same = self.before.iter().filter(|s| s.name == name).count();
        let label = if same == 0 { name.clone() } else { format!("{name}#{}", same + 1) };
        let mut table = table.at(format!("{}.steps[{label}]", self.owner.address));
        let bath = bath(load, &self.world.baths, &mut table, self.owner);
        not_while_printing(load, &table, &name);
        let gave = table.one("give").and_then(|one| Table::new(load, one, GIVE, "`give`"));
        let at = table.one("at").and_then(|one| {
            let name = one.name(load)?;
            Some(self.world.machines.id(load, name, one.place))
        });
        let step = Step {
            name,
            attended: table.number(load, "attended"),
            per_piece: per_piece(load, &mut table),
            first_time: table.number(load, "first_time"),
            hold: hold(load, &mut table),
            at,
            bath,
            consumes: Vec::new(),
            spoil: table.number(load, "spoil"),
            spent_share: table.number(load, "spent_share"),
            flowing: false,
            source: load.source_line(table.place),
        };
        let owner = Owner { route: self.route, on_step: true, prints: false };
        let consumes = consumes(load, self.world, &mut table, owner);
        table.finish(load, "a step has no use for it");
        (Step { consumes, ..step }, gave.map(|mut gave| properties(load, &mut gave)))
    }
}

/// Printing and bathing are two steps.
fn not_while_printing(load: &mut Load, table: &Table, name: &str) {
    if name == "print" && table.has("bath") {
        load.error(
            Code::PrintStep,
            table.place_of("bath"),
            "the print step uses no bath",
            "give the bath a step of its own after it",
        );
    }
}

fn per_piece(load: &mut Load, table: &mut Table) -> bool {
    table
        .one("per")
        .and_then(|one| one.choice(load, "`per` of a step", &PER_PIECE))
        .unwrap_or(false)
}

fn hold(load: &mut Load, table: &mut Table) -> Hold {
    match table.one("hold").map(|one| one.lit) {
        None => Hold::None,
        Some(Lit::Text(OVERNIGHT)) => Hold::Overnight,
        Some(_) => table.number(load, "hold").map_or(Hold::None, Hold::For),
    }
}

/// Reads `consumes` of a route or step.
pub fn consumes(
    load: &mut Load,
    world: &mut World,
    table: &mut Table,
    owner: Owner,
) -> Vec<Consume> {
    let ones = table.list(load, "consumes", "a list of supplies");
    if ones.len() > limits::CONSUMES {
        let message = format!("more than {} supplies", limits::CONSUMES);
        load.error(Code::TooMany, table.place_of("consumes"), message, "put some together");
    }
    let mut names: Vec<String> = Vec::new();
    let mut result = Vec::new();
    for one in ones.into_iter().take(limits::CONSUMES) {
        let Some(entry) = Table::new(load, one, CONSUME, "a consumed supply") else {
            continue;
        };
        result.extend(consume(load, world, (entry, &table.address, &mut names), owner));
    }
    result
}

fn consume(
    load: &mut Load,
    world: &mut World,
    (mut entry, address, names): (Table, &str, &mut Vec<String>),
    owner: Owner,
) -> Option<Consume> {
    let item = entry.one("item");
    let per = entry.one("per").map_or(Some(Per::Build), |one| per(load, one, owner));
    entry.missing(load, "item", "name the supply");
    entry.missing(load, "amount", "say how much, such as `amount = \"4 pcs\"`");
    let name = item?.name(load)?;
    let same = names.iter().filter(|n| *n == name).count();
    let label = if same == 0 { name.to_owned() } else { format!("{name}#{}", same + 1) };
    names.push(name.to_owned());
    entry.address = format!("{address}.consumes[{label}]");
    let amount = entry.number(load, "amount");
    let item = supply(load, world, item?)?;
    world.items.get_mut(item).uses.push((owner.route.to_owned(), amount?));
    Some(Consume { item, amount: amount?, per: per? })
}

fn per(load: &mut Load, one: One, owner: Owner) -> Option<Per> {
    let per = one.choice(load, "`per` of a supply", &PERS)?;
    let on_print = matches!(per, Per::PrintHour | Per::Layer | Per::LitreOfResin);
    if owner.on_step && (on_print || per == Per::Design) {
        let message = "a step's supplies are per build, piece or attempt";
        load.error(
            Code::MisplacedSupply,
            one.place,
            message,
            "move the supply to `consumes` of the route",
        );
        return None;
    }
    if on_print && !owner.prints {
        let message = "this `per` is counted by printing, and the route does not print";
        load.error(
            Code::MisplacedSupply,
            one.place,
            message,
            "count it per build, piece, attempt or design",
        );
        return None;
    }
    Some(per)
}

/// The supply of a name.
fn supply(load: &mut Load, world: &mut World, one: One) -> Option<ItemId> {
    let name = one.name(load)?;
    if let Some(id) = world.items.find(name) {
        return Some(id);
    }
    if world.sheets.need(load, SheetKind::Supplies, one.place, &format!("for the supply `{name}`"))
    {
        load.unknown_name(
            Code::UnknownItem,
            one.place,
            class_word(ItemClass::Supply),
            (name, &world.items.names(false)),
        );
    }
    // A stand-in, so that the same name is not found missing in another way later on.
    None
}
