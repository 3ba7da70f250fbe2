//! The shop: everything a simulation needs, as flat tables by id, for one vector of numbers.

use std::sync::Arc;

use super::{DyeTable, Executions, Key, Values, executions};
use crate::model::{
    Bath, BathId, BathKind, Bench, Charge, Consume, Dim, EquipmentId, Exact, Hold, ItemId,
    ItemPrice, MILLION, Moment, Part, PartId, Per, Price, PrintTime, Route, RouteId, RouteKind,
    Scenario, Slot, Solid, Step, Terms, Unproven, Up, Volume,
};

/// The tables common to all plans of a scenario. A copy shares them.
#[derive(Clone, Debug)]
pub struct Shop<'a> {
    /// The scenario they come from.
    pub scenario: &'a Scenario,
    /// The numbers they were made with.
    pub values: &'a Values,
    /// Parts by [`PartId`].
    pub parts: Arc<[PartTable<'a>]>,
    /// Routes by [`RouteId`].
    pub routes: Arc<[RouteTable]>,
    /// Items by [`ItemId`].
    pub items: Arc<[ItemTable]>,
    /// Baths by [`BathId`].
    pub baths: Arc<[BathTable]>,
    /// First release.
    pub start: Moment,
    /// Planned iterations.
    pub planned: u32,
}

/// A part's numbers.
#[derive(Clone, Copy, Debug)]
pub struct PartTable<'a> {
    /// Copies per iteration.
    pub copies: i64,
    /// Volume in millionths of mL; 0 where unknown.
    pub volume: i64,
    /// Area in millionths of cm2; 0 where unknown.
    pub area: i64,
    /// Box in millionths of mm.
    pub size: Option<[i64; 3]>,
    /// Iterations it is made in; `None`: each.
    pub count: Option<u32>,
    /// Its mesh, for what is below a level.
    pub mesh: Option<&'a Solid>,
    /// The address of its draws.
    pub key: Key,
}

impl PartTable<'_> {
    /// True if the part is made in iteration `n`.
    pub fn made_in(&self, n: u32) -> bool {
        self.count.is_none_or(|count| n <= count)
    }

    /// Length, width and height as the part stands, in millionths of mm.
    pub fn stand(&self, up: Up) -> Option<[i64; 3]> {
        self.size.map(|size| up.stand(size))
    }

    /// Volume of the box in cm3.
    pub fn box_volume(&self) -> Option<Exact> {
        let [x, y, z] = self.size?.map(Exact::from_millionths);
        Some(x * y * z / Exact::from(1000i64))
    }
}

/// A route's numbers.
#[derive(Clone, Debug)]
pub struct RouteTable {
    /// Its steps.
    pub steps: Vec<StepTable>,
    /// Printing, where it prints.
    pub print: Option<PrintTable>,
    /// Supplies of the route as a whole.
    pub consumes: Vec<ConsumeTable>,
    /// P: how often a part line is paid per good lot; 1 for a bench route.
    pub repeats: Exact,
    /// That a lot is wrong and paid again; for an order route.
    pub misread: Option<Fault>,
    /// That a lot is wrong and replaced free; for an order route.
    pub reject: Option<Fault>,
    /// True where an assumed number is in the executions or in P.
    pub assumed: bool,
}

/// Something that can go wrong, ready to be held against a draw.
#[derive(Clone, Copy, Debug)]
pub struct Fault {
    /// The address of its chance.
    pub key: Key,
    /// Its chance.
    pub chance: f64,
}

/// A step's numbers.
#[derive(Clone, Debug)]
pub struct StepTable {
    /// Attended seconds (per piece where `per_piece`).
    pub attended: i64,
    /// True where the attended time is per piece.
    pub per_piece: bool,
    /// Attended seconds added once per simulation.
    pub first_time: i64,
    /// Hold after it, the print time left out.
    pub hold: HoldTable,
    /// Equipment occupied.
    pub at: Option<EquipmentId>,
    /// The bath used, and which axis of a part points up in it.
    pub bath: Option<(BathId, Up)>,
    /// Supplies used.
    pub consumes: Vec<ConsumeTable>,
    /// Chance to spoil the build.
    pub spoil: Exact,
    /// The same, ready to be held against a draw; `None` where it cannot.
    pub fault: Option<Fault>,
    /// Share spent when that is noticed.
    pub spent: Exact,
    /// Expected starts and runs.
    pub executions: Executions,
    /// True where attended work goes on after each closing.
    pub flowing: bool,
}

/// A hold in numbers.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum HoldTable {
    /// So many seconds.
    Seconds(i64),
    /// Until the first opening of a bench day after it begins.
    Overnight,
}

/// A supply used.
#[derive(Clone, Copy, Debug)]
pub struct ConsumeTable {
    /// The item.
    pub item: ItemId,
    /// Amount in the item's unit.
    pub amount: Exact,
    /// Per what.
    pub per: Per,
}

/// What printing a build takes.
#[derive(Clone, Copy, Debug)]
pub struct PrintTable {
    /// The resin drawn.
    pub resin: Option<ItemId>,
    /// 1 + supports.
    pub with_supports: Exact,
    /// Resin lost per build in mL.
    pub loss: Exact,
    /// Free height under the part in mm.
    pub stand_off: Exact,
    /// Which axis points up on the plate.
    pub up: Up,
    /// Free room round each piece, in millionths of mm.
    pub gap: i64,
    /// The plate in millionths of mm, where known.
    pub plate: Option<[i64; 2]>,
    /// Greatest build height in mm, where known.
    pub height: Option<Exact>,
    /// 1 + the film on supports as a share of the part's area.
    pub film_area: Exact,
    /// Layer height in mm, where stated.
    pub layer: Option<Exact>,
    /// Print time.
    pub time: PrintTimeTable,
    /// True where supports, loss or spoil are assumed.
    pub assumed: bool,
}

/// Print time in numbers.
#[derive(Clone, Copy, Debug)]
pub enum PrintTimeTable {
    /// Seconds per build.
    Stated(i64),
    /// Seconds before, per layer, and per mL of solid volume.
    Layers(Exact, Exact, Exact),
}

/// A bath's numbers.
#[derive(Clone, Copy, Debug)]
pub struct BathTable {
    /// The solvent.
    pub solvent: ItemId,
    /// Solvent that leaves on a piece, in mm.
    pub solvent_film: Exact,
    /// mL that evaporate in an hour.
    pub evaporates: Exact,
    /// Uses after which it is emptied.
    pub reuse_limit: Option<i64>,
    /// Wash or dye.
    pub kind: BathKindTable,
    /// True where a film, a carry or the evaporation is assumed.
    pub assumed: bool,
}

/// What a bath is for, in numbers.
#[derive(Clone, Copy, Debug)]
pub enum BathKindTable {
    /// Washes.
    Wash(WashTable),
    /// Dyes, with this dye.
    Dye(ItemId, DyeTable),
}

/// A wash bath in numbers.
#[derive(Clone, Copy, Debug)]
pub struct WashTable {
    /// Millionths of mL of solvent it is filled to.
    pub fill: i64,
    /// Share of resin at which it is retired.
    pub retire_share: Exact,
    /// Resin film in mm.
    pub resin_film: Exact,
    /// mL of resin the platform carries in.
    pub platform_carry: Exact,
    /// Share carried on from a first wash.
    pub carry_over: Exact,
    /// Resin in it at the start and uses behind it; `None` for an empty one.
    pub used: Option<(i64, i64)>,
}

fn bath_table(bath: &Bath, scenario: &Scenario, values: &Values) -> BathTable {
    let mut rests_on = vec![bath.solvent_film, bath.evaporates];
    if let BathKind::Wash(wash) = &bath.kind {
        rests_on.extend([wash.resin_film, wash.platform_carry, wash.carry_over]);
    }
    let kind = match &bath.kind {
        BathKind::Wash(wash) => BathKindTable::Wash(WashTable {
            fill: values.whole(wash.fill),
            retire_share: values.exact(wash.retire_share),
            resin_film: values.exact(wash.resin_film),
            platform_carry: values.exact(wash.platform_carry),
            carry_over: values.exact(wash.carry_over),
            used: (wash.resin_now.is_some() || wash.uses_now.is_some()).then(|| {
                (values.whole_or_zero(wash.resin_now), values.whole_or_zero(wash.uses_now))
            }),
        }),
        BathKind::Dye(dye) => BathKindTable::Dye(dye.dye, DyeTable::new(dye, values)),
    };
    BathTable {
        solvent: bath.solvent,
        solvent_film: values.exact(bath.solvent_film),
        evaporates: values.exact(bath.evaporates),
        reuse_limit: bath.reuse_limit.map(|l| values.whole(l)),
        kind,
        assumed: rests_on.into_iter().any(|slot| scenario.slots.get(slot).assumed),
    }
}

/// An item's numbers.
#[derive(Clone, Copy, Debug)]
pub struct ItemTable {
    /// Content of a pack in millionths; `None` where it is paid by use or has no price.
    pub pack: Option<i64>,
    /// Price of a pack, or per unit.
    pub price: Option<Price>,
    /// Start stock in millionths.
    pub stock: i64,
    /// Share of a stock change that is value kept.
    pub keep: Exact,
}

/// How failures enter a run.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Failures {
    /// As expected values: everything counts as often as it is expected to.
    Expected,
    /// One by one, as they are drawn: everything counts once for each time it happens.
    Drawn,
}

impl<'a> Shop<'a> {
    /// Lays out the tables of a scenario for one vector of numbers, failures as expected values.
    pub fn new(scenario: &'a Scenario, values: &'a Values) -> Shop<'a> {
        Shop::with(scenario, values, Failures::Expected)
    }

    /// The tables of one sample: failures are drawn one by one.
    pub fn drawn(scenario: &'a Scenario, values: &'a Values) -> Shop<'a> {
        Shop::with(scenario, values, Failures::Drawn)
    }

    /// The same tables with other numbers beside them: for numbers that are in no table (see [`super::Spreads::share_tables`]).
    pub fn beside<'b>(&self, values: &'b Values) -> Shop<'b>
    where
        'a: 'b,
    {
        Shop { values, ..self.clone() }
    }

    fn with(scenario: &'a Scenario, values: &'a Values, failures: Failures) -> Shop<'a> {
        let planned = values.whole(scenario.iterations.planned).max(1);
        let routes = scenario.routes.iter().map(|r| route_table(r, scenario, values, failures));
        Shop {
            scenario,
            values,
            parts: scenario.parts.iter().map(|p| part_table(p, values)).collect(),
            routes: routes.collect(),
            baths: scenario.baths.iter().map(|b| bath_table(b, scenario, values)).collect(),
            items: (0..scenario.items.len()).map(|i| item_table(scenario, i, values)).collect(),
            start: start_of(scenario),
            planned: u32::try_from(planned).unwrap_or(u32::MAX),
        }
    }

    /// Iterations that are behind: 0 without a record.
    pub fn done(&self) -> u32 {
        self.scenario.done()
    }

    /// A part's numbers.
    pub fn part(&self, id: PartId) -> &PartTable<'a> {
        &self.parts[id.index()]
    }

    /// A bath's numbers.
    pub fn bath(&self, id: BathId) -> &BathTable {
        &self.baths[id.index()]
    }

    /// A route's numbers.
    pub fn route(&self, id: RouteId) -> &RouteTable {
        &self.routes[id.index()]
    }

    /// An item's numbers.
    pub fn item(&self, id: ItemId) -> &ItemTable {
        &self.items[id.index()]
    }

    /// The terms of an order route.
    pub fn terms(&self, id: RouteId) -> Option<&'a Terms> {
        match &self.scenario.route(id).kind {
            RouteKind::Order(terms) => Some(terms),
            RouteKind::Bench(_) => None,
        }
    }

    /// What is stated of a route that may turn out not to work; `None` where it works for certain.
    pub fn doubt(&self, id: RouteId) -> Option<Unproven> {
        let unproven = self.scenario.route(id).unproven?;
        (self.values.exact(unproven.works) < Exact::ONE).then_some(unproven)
    }

    /// True where a number of the user's is not the user's.
    pub fn is_assumed(&self, slot: Slot) -> bool {
        self.scenario.slots.get(slot).assumed
    }

    /// True if the machine is bought before its first use.
    pub fn is_bought(&self, id: EquipmentId) -> bool {
        self.scenario.equipment[id.index()].charge == Charge::Buy
    }
}

fn start_of(scenario: &Scenario) -> Moment {
    use crate::model::{DAY, FIRST_MONDAY};
    scenario.start.unwrap_or_else(|| {
        let day = scenario.hours.calendar.on_or_after(FIRST_MONDAY);
        day * DAY + scenario.hours.first_opening()
    })
}

fn part_table<'a>(part: &'a Part, values: &Values) -> PartTable<'a> {
    let size = part.size.map(|s| s.map(|slot| values.whole(slot)));
    let mut table = PartTable {
        copies: values.whole(part.copies),
        volume: 0,
        area: values.whole_or_zero(part.area),
        size,
        count: part
            .iterations
            .map(|slot| u32::try_from(values.whole(slot).max(1)).unwrap_or(u32::MAX)),
        mesh: part.mesh.as_ref(),
        key: Key::named(&part.name),
    };
    table.volume = match part.volume {
        Some(Volume::Stated(slot)) => values.whole(slot),
        Some(Volume::ShareOfBox(share)) => {
            table.box_volume().map_or(0, |v| (v * values.exact(share)).to_millionths())
        }
        None => 0,
    };
    table
}

fn route_table(
    route: &Route,
    scenario: &Scenario,
    values: &Values,
    failures: Failures,
) -> RouteTable {
    let chances: Vec<(Exact, Exact)> = route
        .steps
        .iter()
        .map(|s| {
            let spent = s.spent_share.map_or(Exact::ONE, |w| values.exact(w));
            (values.exact_or_zero(s.spoil), spent)
        })
        .collect();
    let runs = match failures {
        Failures::Expected => executions(&chances),
        Failures::Drawn => vec![Executions::ONCE; chances.len()],
    };
    let steps: Vec<StepTable> = (0..route.steps.len())
        .map(|i| step_table(&route.steps[i], chances[i], runs[i], scenario, values))
        .collect();
    let assumed = |slot: Option<Slot>| slot.is_some_and(|s| scenario.slots.get(s).assumed);
    let spoil_assumed = route.steps.iter().any(|s| assumed(s.spoil));
    let (misread, reject) = match &route.kind {
        RouteKind::Order(terms) => (terms.misread, terms.reject),
        RouteKind::Bench(_) => (None, None),
    };
    let repeats = match (&route.kind, failures) {
        (RouteKind::Bench(_), _) | (_, Failures::Drawn) => Exact::ONE,
        (RouteKind::Order(_), Failures::Expected) => {
            let pass = Exact::ONE - values.exact_or_zero(misread);
            let pass = chances.iter().fold(pass, |p, &(s, _)| p * (Exact::ONE - s));
            Exact::ONE / pass
        }
    };
    RouteTable {
        steps,
        print: print_table(route, spoil_assumed, scenario, values),
        consumes: consume_tables(&route.consumes, scenario, values),
        repeats,
        misread: Fault::new(misread, scenario, values),
        reject: Fault::new(reject, scenario, values),
        assumed: spoil_assumed || assumed(misread),
    }
}

impl Fault {
    fn new(slot: Option<Slot>, scenario: &Scenario, values: &Values) -> Option<Fault> {
        let slot = slot.filter(|&s| !values.exact(s).is_zero())?;
        let key = Key::named(&scenario.slots.get(slot).address);
        Some(Fault { key, chance: values.exact(slot).to_f64_lossy() })
    }
}

fn step_table(
    step: &Step,
    (spoil, spent): (Exact, Exact),
    executions: Executions,
    scenario: &Scenario,
    values: &Values,
) -> StepTable {
    StepTable {
        attended: values.whole_or_zero(step.attended),
        per_piece: step.per_piece,
        first_time: values.whole_or_zero(step.first_time),
        hold: match step.hold {
            Hold::None => HoldTable::Seconds(0),
            Hold::For(slot) => HoldTable::Seconds(values.whole(slot)),
            Hold::Overnight => HoldTable::Overnight,
        },
        at: step.at,
        bath: step.bath,
        consumes: consume_tables(&step.consumes, scenario, values),
        spoil,
        fault: Fault::new(step.spoil, scenario, values),
        spent,
        executions,
        flowing: step.flowing,
    }
}

fn consume_tables(consumes: &[Consume], scenario: &Scenario, values: &Values) -> Vec<ConsumeTable> {
    consumes
        .iter()
        .map(|c| ConsumeTable {
            item: c.item,
            amount: Exact::from_millionths(in_item_unit(scenario, c.item, c.amount, values)),
            per: c.per,
        })
        .collect()
}

fn print_table(
    route: &Route,
    spoil_assumed: bool,
    scenario: &Scenario,
    values: &Values,
) -> Option<PrintTable> {
    let RouteKind::Bench(Bench { print: Some(print), .. }) = &route.kind else {
        return None;
    };
    let assumed = |slot: Slot| scenario.slots.get(slot).assumed;
    let printer = route.steps.first().and_then(|s| s.at);
    let printer = printer.map(|id| &scenario.equipment[id.index()]);
    Some(PrintTable {
        resin: print.resin,
        with_supports: Exact::ONE + values.exact(print.supports),
        loss: values.exact(print.loss),
        stand_off: values.exact_or_zero(print.stand_off),
        up: print.up,
        gap: values.whole_or_zero(print.gap),
        plate: printer.and_then(|m| m.plate).map(|p| p.map(|s| values.whole(s))),
        height: printer.and_then(|m| m.height).map(|s| values.exact(s)),
        film_area: film_area(values.exact(print.supports), values.exact(print.support_area)),
        layer: print.layer.map(|l| values.exact(l)),
        time: match print.time {
            PrintTime::Stated(slot) => PrintTimeTable::Stated(values.whole(slot)),
            PrintTime::Layers { start_up, per_layer, per_volume } => PrintTimeTable::Layers(
                values.exact(start_up),
                values.exact(per_layer),
                values.exact(per_volume),
            ),
        },
        assumed: spoil_assumed || assumed(print.supports) || assumed(print.loss),
    })
}

/// 1 + the film on supports as a share of the part's area: none without supports.
fn film_area(supports: Exact, support_area: Exact) -> Exact {
    if supports.is_zero() { Exact::ONE } else { Exact::ONE + support_area }
}

fn item_table(scenario: &Scenario, index: usize, values: &Values) -> ItemTable {
    let item = &scenario.items[index];
    let id = ItemId::at(index);
    let (pack, price) = match item.price {
        ItemPrice::Unknown => (None, None),
        ItemPrice::Pack { pack, price } => {
            (Some(in_item_unit(scenario, id, pack, values).max(1)), Some(price))
        }
        ItemPrice::PerUnit(price) => (None, Some(price)),
    };
    let stock = item.stock.map_or(0, |s| in_item_unit(scenario, id, s, values));
    let keep = match item.keep {
        Some(slot) => values.exact(slot),
        None if stock > 0 => Exact::ONE,
        None => Exact::ZERO,
    };
    ItemTable { pack, price, stock, keep }
}

/// A quantity in millionths of the item's own unit: mass becomes volume, or volume mass, at the item's density.
fn in_item_unit(scenario: &Scenario, item: ItemId, slot: Slot, values: &Values) -> i64 {
    let row = &scenario.items[item.index()];
    let density = row.density.map(|d| values.exact(d)).filter(|d| !d.is_zero());
    match (scenario.slots.get(slot).dim, row.dim, density) {
        (Dim::Mass, Dim::Volume, Some(d)) => (values.exact(slot) / d).to_millionths(),
        (Dim::Volume, Dim::Mass, Some(d)) => (values.exact(slot) * d).to_millionths(),
        (Dim::Count | Dim::Share, _, _) => values.exact(slot).to_millionths(),
        _ => values.whole(slot),
    }
}

impl PrintTable {
    /// Solid volume of a build in mL: pieces with their supports. `pieces` is the pieces' volume in mL.
    pub fn solid(&self, pieces: Exact) -> Exact {
        pieces * self.with_supports
    }

    /// Layers of a build whose tallest piece is so many millionths of mm high; 0 where no layer height is stated.
    ///
    /// A millionth of a layer is forgiven, so that 65 mm in 0.1 mm layers are 650 and not 651 after a division.
    pub fn layers(&self, tallest: i64) -> i64 {
        let Some(layer) = self.layer.filter(|l| !l.is_zero()) else {
            return 0;
        };
        let height = Exact::from_millionths(tallest) + self.stand_off;
        let forgiven = Exact::ONE / Exact::from(MILLION);
        (height / layer - forgiven).ceil().max(0)
    }

    /// Print time of a build in seconds, rounded half up.
    pub fn seconds(&self, solid: Exact, layers: i64) -> i64 {
        match self.time {
            PrintTimeTable::Stated(seconds) => seconds,
            PrintTimeTable::Layers(start_up, per_layer, per_volume) => {
                (start_up + per_layer * Exact::from(layers) + per_volume * solid).to_whole()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn print(layer: &str) -> PrintTable {
        let e = |text: &str| Exact::from(text.parse::<rust_decimal::Decimal>().expect("a decimal"));
        PrintTable {
            resin: None,
            with_supports: e("1.25"),
            loss: e("10"),
            stand_off: e("5"),
            up: Up::Z,
            gap: 0,
            plate: None,
            height: None,
            film_area: e("1.5"),
            layer: Some(e(layer)),
            time: PrintTimeTable::Layers(e("480"), e("18"), e("0.5")),
            assumed: false,
        }
    }

    #[test]
    fn layers_of_a_printed_height() {
        // 60 mm tall, 5 mm stand-off, 0.1 mm layer: 650 layers (arithmetic; common practice, no source).
        assert_eq!(print("0.1").layers(60_000_000), 650);
        // A third of a layer more needs one more layer; a millionth of a layer does not.
        assert_eq!(print("0.1").layers(60_030_000), 651);
        assert_eq!(print("0.3").layers(61_000_000), 220);
        assert_eq!(print("0.07").layers(65_000_000), 1_000);
    }

    #[test]
    fn print_time_is_rounded_once() {
        let print = print("0.1");
        let solid = print.solid(Exact::from(92i64));
        assert_eq!(solid.to_string(), "115");
        // 480 + 650 x 18 + 115 x 0.5 = 12,237.5 s, half up.
        assert_eq!(print.seconds(solid, 650), 12_238);
    }
}
