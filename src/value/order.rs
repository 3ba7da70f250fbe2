//! What an order costs, charge by charge.

use super::NoteKind;
use super::enter::{Charge, Desk, Rate, rate_on};
use crate::ledger::{About, Category, Kind};
use crate::model::{
    Basis, CurrencyId, DeliveryRow, Exact, PriceRow, RateRows, Slot, SourceId, Terms,
};
use crate::plan::{Shop, delivery_row};
use crate::sim::{Event, Line, Placed, Stop};

/// One charge of an order in the scenario's currency: unrounded, and not yet multiplied by how often it is paid.
#[derive(Clone, Copy, Debug)]
pub struct OrderCharge {
    /// What it is for.
    pub category: Category,
    /// What it is called.
    pub about: About,
    /// Index of the part line it belongs to; `None` for the order as a whole.
    pub line: Option<usize>,
    /// How many: copies, or 1.
    pub quantity: Exact,
    /// The price of one.
    pub unit_price: Exact,
    /// True where it was stated in another currency.
    pub foreign: bool,
    /// Where the price comes from.
    pub source: SourceId,
}

impl OrderCharge {
    /// The unrounded amount.
    pub fn amount(&self) -> Exact {
        self.quantity * self.unit_price
    }
}

/// Everything an order costs.
#[derive(Clone, Debug, Default)]
pub struct OrderCost {
    /// The charges: part lines first, then those of the order as a whole.
    pub charges: Vec<OrderCharge>,
    /// What must be told about them.
    pub notes: Vec<(NoteKind, SourceId)>,
}

/// Works out what an order costs on its day.
///
/// goods = max(order minimum, part lines + set-up per order); delivery = base + per_kg x chargeable mass; duty on goods (or goods and
/// delivery); tax on goods + delivery + duty + import fee; exchange fee on what was in another currency. Order-level values are the
/// largest among the rows used.
///
/// # Errors
/// [`Stop::NoExchange`] where a currency has no rate on that day.
pub fn order_cost(shop: &Shop, placed: &Placed) -> Result<OrderCost, Stop> {
    let Some(terms) = shop.terms(placed.lines[0].route) else {
        return Ok(OrderCost::default());
    };
    let mut cost = OrderCost::default();
    for index in 0..placed.lines.len() {
        part_line(&mut cost, shop, placed, index)?;
    }
    let own = cost.charges.first().map_or(SourceId(0), |c| c.source);
    goods(&mut cost, shop, placed)?;
    let goods = total(&cost);
    let delivery = delivery(&mut cost, shop, terms, placed, own)?;
    levies(&mut cost, shop, (terms, placed), (goods, delivery));
    Ok(cost)
}

fn total(cost: &OrderCost) -> Exact {
    cost.charges.iter().map(OrderCharge::amount).sum()
}

/// Looks up the exchange rate of a currency on the order's day, for the route whose row it is.
fn exchange(
    cost: &mut OrderCost,
    shop: &Shop,
    terms: &Terms,
    (currency, placed): (CurrencyId, &Placed),
) -> Result<Rate, Stop> {
    let rate = rate_on(shop, &terms.exchange, currency, placed.day)?;
    if let Some((source, true)) = rate.source {
        cost.notes.push((NoteKind::Expired, source));
    }
    Ok(rate)
}

fn part_line(cost: &mut OrderCost, shop: &Shop, placed: &Placed, index: usize) -> Result<(), Stop> {
    let line = placed.lines[index];
    let Some(terms) = shop.terms(line.route) else {
        return Ok(());
    };
    let copies = Exact::from(line.copies);
    let add = |cost: &mut OrderCost, category, quantity, unit_price, (currency, source)| {
        let rate = exchange(cost, shop, terms, (currency, placed))?;
        cost.charges.push(OrderCharge {
            category,
            about: About::Service(line.route),
            line: Some(index),
            quantity,
            unit_price: unit_price * rate.value,
            foreign: rate.source.is_some(),
            source,
        });
        Ok(())
    };
    if let Some(quote) = line.price.quote(terms) {
        let currency = quote.unit_price.currency;
        let unit = in_minor_units(shop, shop.values.exact(quote.unit_price.value), currency);
        if line.price.expired() {
            cost.notes.push((NoteKind::Expired, quote.source));
        }
        return add(cost, Category::Piece, copies, unit, (currency, quote.source));
    }
    let Some(row) = line.price.row(terms) else {
        return Ok(());
    };
    if line.price.expired() {
        cost.notes.push((NoteKind::Expired, row.source));
    }
    let from = (row.currency, row.source);
    let unit = in_minor_units(shop, piece(shop, line, row), row.currency);
    add(cost, Category::Piece, copies, unit, from)?;
    if let Some(slot) = row.setup_per_part {
        add(cost, Category::SetUp, Exact::ONE, shop.values.exact(slot), from)?;
    }
    if let Some(slot) = row.finish_per_piece {
        add(cost, Category::Finish, copies, shop.values.exact(slot), from)?;
    }
    Ok(())
}

/// The price of a piece as an invoice shows it: rounded to the minor unit of its own currency.
fn in_minor_units(shop: &Shop, price: Exact, currency: CurrencyId) -> Exact {
    price.half_away(shop.scenario.currencies[currency.index()].minor)
}

/// max(piece_min, rate x basis), unrounded.
fn piece(shop: &Shop, line: Line, row: &PriceRow) -> Exact {
    let part = shop.part(line.part);
    let volume = Exact::from_millionths(part.volume);
    let basis = match row.basis {
        Basis::Piece => Exact::ONE,
        Basis::PartVolume => volume,
        Basis::BoxVolume => part.box_volume().unwrap_or(Exact::ZERO),
        Basis::Area => Exact::from_millionths(part.area),
        Basis::Mass => volume * shop.values.exact_or_zero(row.density),
    };
    let by_rate = shop.values.exact_or_zero(row.rate) * basis;
    by_rate.max(shop.values.exact_or_zero(row.piece_min))
}

/// The largest value of an order-level column among the rows used, in the scenario's currency, with whether it was foreign.
fn largest(
    cost: &mut OrderCost,
    shop: &Shop,
    placed: &Placed,
    column: impl Fn(&PriceRow) -> Option<Slot>,
) -> Result<Option<(Exact, bool, SourceId)>, Stop> {
    let mut best: Option<(Exact, bool, SourceId)> = None;
    for line in placed.lines.iter() {
        let Some(terms) = shop.terms(line.route) else {
            continue;
        };
        let Some((row, slot)) = line.price.row(terms).and_then(|r| Some((r, column(r)?))) else {
            continue;
        };
        let rate = exchange(cost, shop, terms, (row.currency, placed))?;
        let value = shop.values.exact(slot) * rate.value;
        if best.is_none_or(|b| value > b.0) {
            best = Some((value, rate.source.is_some(), row.source));
        }
    }
    Ok(best)
}

/// Set-up of the order, and what is missing to its minimum.
fn goods(cost: &mut OrderCost, shop: &Shop, placed: &Placed) -> Result<(), Stop> {
    let service = service(placed);
    if let Some(found) = largest(cost, shop, placed, |r| r.setup_per_order)? {
        cost.charges.push(whole(Category::SetUp, service, found));
    }
    if let Some((least, foreign, source)) = largest(cost, shop, placed, |r| r.order_min)? {
        let missing = (least - total(cost)).max(Exact::ZERO);
        cost.charges.push(whole(Category::Minimum, service, (missing, foreign, source)));
    }
    Ok(())
}

/// Charges of the order as a whole are entered under the service's name.
fn service(placed: &Placed) -> About {
    About::Service(placed.lines[0].route)
}

fn whole(
    category: Category,
    about: About,
    (amount, foreign, source): (Exact, bool, SourceId),
) -> OrderCharge {
    OrderCharge {
        category,
        about,
        line: None,
        quantity: Exact::ONE,
        unit_price: amount,
        foreign,
        source,
    }
}

fn delivery(
    cost: &mut OrderCost,
    shop: &Shop,
    terms: &Terms,
    placed: &Placed,
    own: SourceId,
) -> Result<Exact, Stop> {
    let Some(row) = delivery_row(terms, placed.delivery) else {
        cost.charges.push(whole(Category::Delivery, service(placed), (Exact::ZERO, false, own)));
        return Ok(Exact::ZERO);
    };
    if placed.delivery.is_some_and(|d| d.expired) {
        cost.notes.push((NoteKind::Expired, row.source));
    }
    let rate = exchange(cost, shop, terms, (row.currency, placed))?;
    let per_kg = shop.values.exact_or_zero(row.per_kg);
    let by_mass = match chargeable_kg(shop, placed, row) {
        _ if per_kg.is_zero() => Exact::ZERO,
        Some(kg) => per_kg * kg,
        None => {
            cost.notes.push((NoteKind::DeliveryByMass, row.source));
            Exact::ZERO
        }
    };
    let amount = (shop.values.exact_or_zero(row.base) + by_mass) * rate.value;
    let found = (amount, rate.source.is_some(), row.source);
    cost.charges.push(whole(Category::Delivery, service(placed), found));
    Ok(amount)
}

/// max(mass, sum of copies x box volume / divisor), rounded up to the mass step, in kg; `None` where a density or a box is missing.
fn chargeable_kg(shop: &Shop, placed: &Placed, row: &DeliveryRow) -> Option<Exact> {
    let values = shop.values;
    let mut mass = Exact::ZERO;
    let mut boxes = Exact::ZERO;
    for line in placed.lines.iter() {
        let price_row = line.price.row(shop.terms(line.route)?)?;
        let part = shop.part(line.part);
        let density = values.exact(price_row.density?);
        let copies = Exact::from(line.copies);
        if part.volume == 0 {
            return None;
        }
        mass = mass + copies * Exact::from_millionths(part.volume) * density;
        if row.divisor.is_some() {
            boxes = boxes + copies * part.box_volume()?;
        }
    }
    let grams = Exact::from(1000i64);
    let mut kg = mass / grams;
    if let Some(divisor) = row.divisor.map(|d| values.exact(d)).filter(|d| !d.is_zero()) {
        kg = kg.max(boxes / divisor);
    }
    match row.mass_step.map(|s| values.exact(s)).filter(|s| !s.is_zero()) {
        Some(step) => Some(Exact::from((kg * grams / step).ceil()) * step / grams),
        None => Some(kg),
    }
}

/// The name under which the exchange fee is entered.
pub const EXCHANGE_FEE: &str = "exchange fee";

/// Duty, import fee, tax and exchange fee.
fn levies(
    cost: &mut OrderCost,
    shop: &Shop,
    (terms, placed): (&Terms, &Placed),
    (goods, delivery): (Exact, Exact),
) {
    let rate = |cost: &mut OrderCost, rows: &RateRows| {
        let found = rows.on(placed.day);
        if let Some((row, true)) = found {
            cost.notes.push((NoteKind::Expired, row.source));
        }
        if let (None, Some(first)) = (found, rows.0.first()) {
            cost.notes.push((NoteKind::NotYetValid, first.source));
        }
        found.map(|(row, _)| (shop.values.exact(row.value), row.source))
    };
    let mut base = goods + delivery;
    if let Some((share, source)) = rate(cost, &terms.duty) {
        let dutiable = if terms.duty_on_delivery { base } else { goods };
        let duty = OrderCharge {
            quantity: dutiable,
            unit_price: share,
            ..whole(Category::Duty, service(placed), (share, false, source))
        };
        base = base + duty.amount();
        cost.charges.push(duty);
    }
    if let Some((fee, source)) = rate(cost, &terms.import_fee) {
        base = base + fee;
        cost.charges.push(whole(Category::Fee, About::Named("import fee"), (fee, false, source)));
    }
    if !terms.tax_recoverable
        && let Some((share, source)) = rate(cost, &terms.tax)
    {
        let tax = whole(Category::Tax, service(placed), (share, false, source));
        cost.charges.push(OrderCharge { quantity: base, ..tax });
    }
    if let Some((share, source)) = rate(cost, &terms.exchange_fee) {
        let foreign = cost.charges.iter().filter(|c| c.foreign);
        let converted: Exact = foreign.map(OrderCharge::amount).sum();
        let fee = whole(Category::Fee, About::Named(EXCHANGE_FEE), (share, false, source));
        cost.charges.push(OrderCharge { quantity: converted, ..fee });
    }
}

/// Enters an order: part lines count as often as their route's lots are paid, order-level charges as often as the largest of them.
pub(super) fn enter(desk: &mut Desk, event: &Event, placed: &Placed) -> Result<(), Stop> {
    let cost = order_cost(desk.shop, placed)?;
    for (kind, source) in cost.notes {
        desk.notes.add(kind, source);
    }
    for line in placed.lines.iter() {
        let quote = desk.shop.terms(line.route).and_then(|t| line.price.quote(t));
        if let Some(quote) = quote.filter(|_| event.iteration > 1) {
            desk.notes.add(NoteKind::EarlierVersion, quote.source);
        }
    }
    for charge in &cost.charges {
        let line = charge.line.map(|index| &placed.lines[index]);
        let repeats = line.map_or(placed.repeats, |l| desk.shop.route(l.route).repeats);
        let at = match line {
            Some(line) => Event { part: Some(line.part), route: Some(line.route), ..event.clone() },
            None => event.clone(),
        };
        desk.enter(
            &at,
            Charge {
                category: charge.category,
                about: charge.about,
                quantity: charge.quantity * repeats,
                unit: unit(charge),
                unit_price: charge.unit_price,
                amount: charge.amount() * repeats,
                kind: Kind::Pay,
                invoice: true,
                assumed: repeats != Exact::ONE && desk.route_assumed(&at),
                source: charge.source,
            },
        )?;
    }
    Ok(())
}

fn unit(charge: &OrderCharge) -> &'static str {
    match charge.category {
        Category::Piece | Category::Finish => "pcs",
        Category::SetUp | Category::Minimum | Category::Delivery => "orders",
        _ => "",
    }
}
