//! Exact valuation: decimals, one rounding per entry, a full ledger with sources.

use super::enter::{Charge, Desk, rate_on};
use super::{NoteKind, Notes, order};
use crate::ledger::{About, Category, Kind, Ledger, Movement, Total};
use crate::model::{
    BathId, Charge as MachineCharge, DAY, Dim, EquipmentId, Exact, HOUR, Item, ItemClass, ItemId,
    Money, Price, RouteKind, SourceId, Validity, day_of,
};
use crate::plan::Shop;
use crate::sim::{Account, Draw, Event, Fate, Stop, What, WorkAt};

/// A ledger and what must be told about its prices.
#[derive(Clone, Debug, Default)]
pub struct Valued {
    /// The ledger.
    pub ledger: Ledger,
    /// Notes on prices.
    pub notes: Notes,
}

/// Values the events of one plan.
///
/// # Errors
/// [`Stop::NoExchange`] where no exchange rate holds on the day of an entry, [`Stop::TooLarge`] where an amount leaves the range.
pub fn value<'e>(shop: &Shop, events: impl IntoIterator<Item = &'e Event>) -> Result<Valued, Stop> {
    let mut desk = Desk::new(shop);
    for event in events {
        desk.value(event)?;
    }
    Ok(Valued {
        ledger: Ledger::new(desk.entries, desk.movements, shop.scenario),
        notes: desk.notes,
    })
}

/// What disposing of so many millionths of mL out of a bath would cost on the first day; `None` where no charge is stated.
pub fn emptying_cost(shop: &Shop, bath: BathId, mixture: i64) -> Option<Money> {
    let item = &shop.scenario.items[shop.bath(bath).solvent.index()];
    let charge = item.waste_charge_per_l?;
    let day = shop.scenario.start.map(day_of);
    let rate = rate_on(shop, &shop.scenario.exchange, charge.currency, day).ok()?.value;
    let litres = Exact::from_millionths(mixture) / Exact::from(1000i64);
    Some((litres * shop.values.exact(charge.value) * rate).to_money(shop.scenario.minor()))
}

/// The avoidable cost of some events alone: the same entries, summed and not kept.
///
/// # Errors
/// As [`value`].
pub fn avoidable<'e>(
    shop: &Shop,
    events: impl IntoIterator<Item = &'e Event>,
) -> Result<Money, Stop> {
    let mut desk = Desk::new(shop);
    for event in events {
        desk.value(event)?;
    }
    let counts = desk.entries.iter().filter(|e| e.counts_in(Total::Avoidable));
    Ok(counts.map(|e| e.amount).sum())
}

/// The largest draw, in millionths: ten cubic metres. Up to here sums of quantities over any horizon stay within their range.
pub(super) const LARGEST_DRAW: i64 = 10_000_000_000_000;

/// A machine's run: which, for how many seconds as they count, and whether an assumed number is in them.
#[derive(Clone, Copy)]
struct Ran {
    id: EquipmentId,
    seconds: Exact,
    assumed: bool,
}

impl Desk<'_, '_> {
    fn value(&mut self, event: &Event) -> Result<(), Stop> {
        match &event.what {
            What::Work { at, seconds, times, once } => {
                self.work(event, *at, *seconds, (*times, *once))
            }
            What::Machine { equipment, seconds, times, once } => {
                let ran = Ran {
                    id: *equipment,
                    seconds: Exact::from(*seconds) * *times + Exact::from(*once),
                    assumed: *times != Exact::ONE && self.route_assumed(event),
                };
                self.electricity(event, ran)?;
                self.wear(event, ran)
            }
            What::Draw(draw) => self.draw(event, draw),
            What::Move { item, amount, from, to } => {
                let (when, iteration) = (event.when, event.iteration);
                let (item, amount, from, to) = (*item, *amount, *from, *to);
                self.movements.push(Movement { when, iteration, item, amount, from, to });
                Ok(())
            }
            What::Emptied(bath, mixture) => self.emptied(event, *bath, *mixture),
            What::Purchase(id) => self.purchase(event, *id),
            What::BuyFirst => self.buy_first(event),
            What::Order(placed) => order::enter(self, event, placed),
            What::Wait(seconds) => self.wait(event, *seconds),
            What::Kept(item, fallen) => self.kept(event, *item, *fallen),
            What::Cancelled(index) => self.cancelled(event, *index),
        }
    }

    /// An order that is not wanted any more: what its cancellation returns.
    fn cancelled(&mut self, event: &Event, index: usize) -> Result<(), Stop> {
        let past = self.shop.scenario.past.as_ref();
        let Some(lot) = past.and_then(|past| past.under_way.lots.get(index)) else {
            return Ok(());
        };
        let back = -lot.back.exact();
        self.enter(
            event,
            Charge {
                category: Category::Fee,
                about: About::Named("cancelled order"),
                quantity: Exact::ONE,
                unit: "",
                unit_price: back,
                amount: back,
                kind: Kind::Pay,
                invoice: true,
                assumed: false,
                source: lot.source,
            },
        )
    }

    fn work(
        &mut self,
        event: &Event,
        at: WorkAt,
        seconds: i64,
        (times, once): (Exact, i64),
    ) -> Result<(), Stop> {
        let scenario = self.shop.scenario;
        let counted = Exact::from(seconds) * times + Exact::from(once);
        let rate = self.shop.values.exact_or_zero(scenario.labour);
        let (about, time_assumed) = match at {
            WorkAt::Step => (About::Step, self.step_time_assumed(event)),
            WorkAt::Brief => (About::Named("brief"), false),
            WorkAt::OrderTime => (About::Named("order"), self.order_time_assumed(event)),
            WorkAt::Recorded => (About::Named("all of it"), false),
        };
        let own = event.route.map_or(SourceId(0), |r| scenario.route(r).source);
        self.enter(
            event,
            Charge {
                category: Category::Labour,
                about,
                quantity: counted / Exact::from(HOUR),
                unit: "h",
                unit_price: rate,
                amount: counted * rate / Exact::from(HOUR),
                kind: if scenario.labour_paid { Kind::Pay } else { Kind::Work },
                invoice: false,
                assumed: time_assumed || (times != Exact::ONE && self.route_assumed(event)),
                source: scenario.labour.map_or(own, |slot| scenario.slots.get(slot).source),
            },
        )
    }

    fn step_time_assumed(&self, event: &Event) -> bool {
        let step = event.route.and_then(|r| {
            let steps = &self.shop.scenario.route(r).steps;
            steps.get(usize::from(event.step).saturating_sub(1))
        });
        step.and_then(|s| s.attended).is_some_and(|slot| self.shop.is_assumed(slot))
    }

    fn order_time_assumed(&self, event: &Event) -> bool {
        match event.route.map(|r| &self.shop.scenario.route(r).kind) {
            Some(RouteKind::Order(terms)) => self.shop.is_assumed(terms.order_time),
            _ => false,
        }
    }

    pub(super) fn route_assumed(&self, event: &Event) -> bool {
        event.route.is_some_and(|r| self.shop.route(r).assumed)
    }

    fn electricity(&mut self, event: &Event, ran: Ran) -> Result<(), Stop> {
        let scenario = self.shop.scenario;
        let Some(watts) = scenario.equipment[ran.id.index()].watts else {
            return Ok(());
        };
        let day = self.day(event);
        let Some((row, expired)) = scenario.electricity.on(day) else {
            if let Some(first) = scenario.electricity.0.first() {
                self.notes.add(NoteKind::NotYetValid, first.source);
            }
            return Ok(());
        };
        if expired {
            self.notes.add(NoteKind::Expired, row.source);
        }
        let currency = scenario.electricity_currency;
        let price = self.price(Price { value: row.value, currency }, event)?;
        // Watt seconds to kWh: 3,600,000.
        let watt_seconds = self.shop.values.exact(watts) * ran.seconds;
        let per_kwh = Exact::from(1000 * HOUR);
        self.enter(
            event,
            Charge {
                category: Category::Electricity,
                about: About::Machine(ran.id),
                quantity: watt_seconds / per_kwh,
                unit: "kWh",
                unit_price: price,
                amount: watt_seconds * price / per_kwh,
                kind: Kind::Pay,
                invoice: false,
                assumed: ran.assumed,
                source: row.source,
            },
        )
    }

    fn wear(&mut self, event: &Event, ran: Ran) -> Result<(), Stop> {
        let machine = &self.shop.scenario.equipment[ran.id.index()];
        let (MachineCharge::Wear, Some(price), Some(life)) =
            (machine.charge, machine.price, machine.life_hours)
        else {
            return Ok(());
        };
        let source = machine.source.unwrap_or(SourceId(0));
        self.note_dates(event, machine.valid, source);
        let price = self.price(price, event)?;
        let resale = match machine.resale {
            Some(resale) => self.price(resale, event)?,
            None => Exact::ZERO,
        };
        let life = self.shop.values.exact(life);
        self.enter(
            event,
            Charge {
                category: Category::Machine,
                about: About::Machine(ran.id),
                quantity: ran.seconds / Exact::from(HOUR),
                unit: "h",
                unit_price: (price - resale) / life,
                amount: (price - resale) * ran.seconds / (life * Exact::from(HOUR)),
                kind: Kind::Consume,
                invoice: false,
                assumed: ran.assumed,
                source,
            },
        )
    }

    fn draw(&mut self, event: &Event, draw: &Draw) -> Result<(), Stop> {
        if draw.amount.max(draw.bought) > LARGEST_DRAW {
            return Err(Stop::TooLarge { iteration: event.iteration });
        }
        self.move_draw(event, draw);
        let item = &self.shop.scenario.items[draw.item.index()];
        let table = *self.shop.item(draw.item);
        let Some(price) = table.price else {
            return Ok(());
        };
        self.note_dates(event, item.valid, item.source);
        let price = self.price(price, event)?;
        let quantity = Exact::from_millionths(draw.amount);
        let charge = Charge {
            category: category(item.class),
            about: About::Item(draw.item),
            quantity,
            unit: unit(item.dim),
            unit_price: price,
            amount: quantity * price,
            kind: Kind::Consume,
            invoice: false,
            assumed: draw.assumed,
            source: item.source,
        };
        let Some(pack) = table.pack.map(Exact::from_millionths) else {
            // Paid by use, unless it stands on the shelf with an invoice: nothing is bought in packs, so nothing is delivered.
            self.enter(event, charge)?;
            let quantity = Exact::from_millionths(draw.bought);
            let amount = quantity * price;
            return self.enter(event, Charge { kind: Kind::Pay, quantity, amount, ..charge });
        };
        self.enter(
            event,
            Charge { unit_price: price / pack, amount: quantity * price / pack, ..charge },
        )?;
        if draw.packs == 0 {
            return Ok(());
        }
        let packs = Exact::from(draw.packs);
        let paid = Charge {
            quantity: packs,
            unit: "packs",
            amount: packs * price,
            kind: Kind::Pay,
            ..charge
        };
        self.enter(event, paid)?;
        self.pack_delivery(event, item, &paid)
    }

    /// Notes a price that is used on a day on which it is not valid; items and machines have one price only.
    fn note_dates(&mut self, event: &Event, valid: Validity, source: SourceId) {
        match self.day(event) {
            Some(day) if valid.is_past(day) => self.notes.add(NoteKind::Expired, source),
            Some(day) if valid.is_ahead(day) => self.notes.add(NoteKind::Early, source),
            _ => {}
        }
    }

    /// Delivery of what was bought for one draw.
    fn pack_delivery(&mut self, event: &Event, item: &Item, paid: &Charge) -> Result<(), Stop> {
        let Some(cost) = item.delivery_cost else {
            return Ok(());
        };
        let cost = self.price(cost, event)?;
        self.enter(
            event,
            Charge {
                category: Category::Delivery,
                quantity: Exact::ONE,
                unit: "",
                unit_price: cost,
                amount: cost,
                ..*paid
            },
        )
    }

    fn move_draw(&mut self, event: &Event, draw: &Draw) {
        let mut add = |amount: i64, from: Account, to: Account| {
            if amount != 0 {
                self.movements.push(Movement {
                    when: event.when,
                    iteration: event.iteration,
                    item: draw.item,
                    amount,
                    from,
                    to,
                });
            }
        };
        add(draw.bought, Account::Supplier, Account::Stock);
        match draw.to {
            Fate::Print(good) => {
                add(good, Account::Stock, Account::Parts);
                add(draw.amount - good, Account::Stock, Account::Waste);
            }
            Fate::Bath(bath) => add(draw.amount, Account::Stock, Account::Bath(bath)),
            Fate::Used => add(draw.amount, Account::Stock, Account::Used),
        }
    }

    /// Disposing of what was in a bath, charged per litre of the mixture.
    fn emptied(&mut self, event: &Event, bath: BathId, mixture: i64) -> Result<(), Stop> {
        let solvent = self.shop.bath(bath).solvent;
        let item = &self.shop.scenario.items[solvent.index()];
        let Some(charge) = item.waste_charge_per_l else {
            return Ok(());
        };
        let price = self.price(charge, event)?;
        let litres = Exact::from_millionths(mixture) / Exact::from(1000i64);
        self.enter(
            event,
            Charge {
                category: Category::Waste,
                about: About::Item(solvent),
                quantity: litres,
                unit: "L",
                unit_price: price,
                amount: litres * price,
                kind: Kind::Pay,
                invoice: false,
                assumed: self.shop.bath(bath).assumed,
                source: item.source,
            },
        )
    }

    fn purchase(&mut self, event: &Event, id: EquipmentId) -> Result<(), Stop> {
        let machine = &self.shop.scenario.equipment[id.index()];
        let Some(price) = machine.price else {
            return Ok(());
        };
        let source = machine.source.unwrap_or(SourceId(0));
        self.note_dates(event, machine.valid, source);
        let price = self.price(price, event)?;
        let charge = Charge {
            category: Category::Purchase,
            about: About::Machine(id),
            quantity: Exact::ONE,
            unit: "pcs",
            unit_price: price,
            amount: price,
            kind: Kind::Pay,
            invoice: false,
            assumed: false,
            source,
        };
        self.enter(event, charge)?;
        if let Some(resale) = machine.resale {
            let resale = -self.price(resale, event)?;
            self.enter(
                event,
                Charge { unit_price: resale, amount: resale, kind: Kind::Resale, ..charge },
            )?;
        }
        if let Some(cost) = machine.delivery_cost {
            let cost = self.price(cost, event)?;
            let category = Category::Delivery;
            self.enter(
                event,
                Charge { category, unit: "", unit_price: cost, amount: cost, ..charge },
            )?;
        }
        Ok(())
    }

    fn buy_first(&mut self, event: &Event) -> Result<(), Stop> {
        let route = event.route.map(|r| self.shop.scenario.route(r));
        let Some(price) = route.and_then(|r| r.buy_first) else {
            return Ok(());
        };
        let source = self.shop.scenario.slots.get(price.value).source;
        let price = self.price(price, event)?;
        self.enter(
            event,
            Charge {
                category: Category::Purchase,
                about: About::Named("buy_first"),
                quantity: Exact::ONE,
                unit: "",
                unit_price: price,
                amount: price,
                kind: Kind::Pay,
                invoice: false,
                assumed: false,
                source,
            },
        )
    }

    fn wait(&mut self, event: &Event, seconds: i64) -> Result<(), Stop> {
        let Some(slot) = self.shop.scenario.iterations.delay_cost_per_day else {
            return Ok(());
        };
        let cost = self.shop.values.exact(slot);
        let seconds = Exact::from(seconds);
        self.enter(
            event,
            Charge {
                category: Category::Delay,
                about: About::Named("waiting"),
                quantity: seconds / Exact::from(DAY),
                unit: "days",
                unit_price: cost,
                amount: seconds * cost / Exact::from(DAY),
                kind: Kind::Wait,
                invoice: false,
                assumed: false,
                source: self.shop.scenario.slots.get(slot).source,
            },
        )
    }

    fn kept(&mut self, event: &Event, id: ItemId, fallen: i64) -> Result<(), Stop> {
        let item = &self.shop.scenario.items[id.index()];
        let table = *self.shop.item(id);
        let (Some(price), Some(pack)) = (table.price, table.pack) else {
            return Ok(());
        };
        let price = self.price(price, event)? * table.keep;
        let (quantity, pack) = (Exact::from_millionths(fallen), Exact::from_millionths(pack));
        self.enter(
            event,
            Charge {
                category: category(item.class),
                about: About::Item(id),
                quantity,
                unit: unit(item.dim),
                unit_price: price / pack,
                amount: quantity * price / pack,
                kind: Kind::Stock,
                invoice: false,
                assumed: false,
                source: item.source,
            },
        )
    }
}

/// The category of what is drawn.
pub fn category(class: ItemClass) -> Category {
    match class {
        ItemClass::Resin => Category::Resin,
        ItemClass::Solvent => Category::Solvent,
        ItemClass::Dye => Category::Dye,
        ItemClass::Supply => Category::Supplies,
    }
}

/// The unit in which what is counted in a dimension is written in a ledger.
pub fn unit(dim: Dim) -> &'static str {
    match dim {
        Dim::Volume => "mL",
        Dim::Mass => "g",
        Dim::Area => "cm2",
        Dim::Length => "mm",
        Dim::Time => "s",
        _ => "pcs",
    }
}
