//! Orders: part lines, set-up, minimum, delivery, duty, tax, fees, each from the rows it was priced by.

use super::entry::{own, rated};
use super::time::{repeats, times};
use super::{How, Node, Origin, Story};
use crate::ledger::{About, Category, Entry};
use crate::model::{Basis, DeliveryRow, Exact, PriceRow, RouteId, Slot, SourceId, Terms};
use crate::plan::{Shop, delivery_row};
use crate::sim::{Line, Placed, What};
use crate::value::{EXCHANGE_FEE, OrderCharge, order_cost};

/// The routes of the order that is placed at the end of a time of ordering.
pub(super) fn routes_after(story: &Story, index: usize) -> Vec<RouteId> {
    let placed = story.events[index..].iter().find_map(|e| match &e.what {
        What::Order(placed) => Some(placed),
        _ => None,
    });
    let mut routes: Vec<RouteId> =
        placed.iter().flat_map(|p| p.lines.iter().map(|l| l.route)).collect();
    routes.sort_unstable();
    routes.dedup();
    routes
}

/// How often an order is placed: as often as the most repeated of its routes is paid; `None` where that is once.
pub(super) fn largest_repeats(shop: &Shop, routes: &[RouteId]) -> Option<Node> {
    let most = routes.iter().copied().max_by_key(|&r| shop.route(r).repeats)?;
    repeats(shop, most)
}

/// An order under explanation: what it was, and every charge of it.
struct Order<'o, 's, 'a> {
    story: &'o Story<'s, 'a>,
    placed: &'o Placed,
    charges: Vec<OrderCharge>,
}

/// Quantity and unit price of an entry of an order; `None` where it is no charge of it.
pub(super) fn charge(story: &Story, placed: &Placed, entry: &Entry) -> Option<(Node, Node)> {
    let charges = order_cost(story.shop, placed).ok()?.charges;
    let order = Order { story, placed, charges };
    let at = order.charges.iter().position(|c| order.is_of(c, entry))?;
    let charge = order.charges[at];
    let often = match charge.line {
        Some(line) => repeats(story.shop, placed.lines[line].route),
        None => {
            let routes: Vec<RouteId> = placed.lines.iter().map(|l| l.route).collect();
            largest_repeats(story.shop, &routes)
        }
    };
    let quantity = order.quantity(at);
    let unit = quantity.unit.clone();
    Some((times("as often as it is paid", &unit, quantity, often), order.unit_price(at)?))
}

impl Order<'_, '_, '_> {
    /// True where an entry was written for a charge.
    fn is_of(&self, charge: &OrderCharge, entry: &Entry) -> bool {
        let line = charge.line.map(|l| &self.placed.lines[l]);
        let repeats = line.map_or(self.placed.repeats, |l| self.story.shop.route(l.route).repeats);
        let of_line =
            line.is_none_or(|l| (Some(l.part), Some(l.route)) == (entry.part, entry.route));
        (charge.category, charge.about) == (entry.category, entry.about)
            && (charge.unit_price, charge.quantity * repeats) == (entry.unit_price, entry.quantity)
            && of_line
    }

    fn shop(&self) -> &Shop<'_> {
        self.story.shop
    }

    /// The terms that the order as a whole goes by.
    fn terms(&self) -> Option<&Terms> {
        self.story.shop.terms(self.placed.lines.first()?.route)
    }

    fn quantity(&self, at: usize) -> Node {
        let charge = &self.charges[at];
        match (charge.category, charge.line) {
            (Category::Piece | Category::Finish, _) => {
                Node::happened("copies", charge.quantity, "pcs")
            }
            (Category::Duty, _) => {
                let delivery = self.terms().is_some_and(|t| t.duty_on_delivery);
                self.sum_of("dutiable", at, |c| is_goods(c) || delivery)
            }
            (Category::Tax, _) => self.sum_of("taxable", at, |_| true),
            (Category::Fee, _) if charge.about == About::Named(EXCHANGE_FEE) => {
                self.sum_of("paid in another currency", at, |c| c.foreign)
            }
            (Category::Fee, _) => Node::happened("orders", charge.quantity, ""),
            _ => Node::happened("orders", charge.quantity, "orders"),
        }
    }

    /// The charges before one that count in it.
    fn sum_of(&self, label: &str, at: usize, counts: impl Fn(&OrderCharge) -> bool) -> Node {
        let of = (0..at).filter(|&i| counts(&self.charges[i]));
        let unit = own(self.shop());
        Node::of(
            How::Sum,
            format!("{label}, unrounded"),
            unit,
            of.map(|i| self.amount(i)).collect(),
        )
    }

    /// A charge before it is rounded.
    fn amount(&self, at: usize) -> Node {
        let charge = &self.charges[at];
        let part =
            charge.line.map(|l| &self.story.shop.scenario.part(self.placed.lines[l].part).name);
        let name = charge.category.name();
        let label = part.map_or_else(|| name.to_owned(), |part| format!("{name}, {part}"));
        let quantity = self.quantity(at);
        match self.unit_price(at) {
            Some(price) if quantity.value == Exact::ONE => Node { label, ..price },
            Some(price) => Node::of(How::Product, label, own(self.shop()), vec![quantity, price]),
            None => Node::happened(label, charge.amount(), own(self.shop())),
        }
    }

    fn unit_price(&self, at: usize) -> Option<Node> {
        let charge = &self.charges[at];
        match (charge.category, charge.line.map(|l| &self.placed.lines[l])) {
            (Category::Piece, Some(line)) => self.piece(line),
            (Category::SetUp, Some(line)) => {
                self.of_row(line, "set-up of a part", |r| r.setup_per_part)
            }
            (Category::Finish, Some(line)) => {
                self.of_row(line, "finish of a piece", |r| r.finish_per_piece)
            }
            (Category::SetUp, None) => self.largest("set-up of an order", |r| r.setup_per_order),
            (Category::Minimum, None) => {
                let least = self.largest("least order", |r| r.order_min)?;
                let goods = self.sum_of("goods", at, is_goods);
                let unit = own(self.shop());
                let missing =
                    Node::of(How::Difference, "least order less goods", unit, vec![least, goods]);
                let none = Node::happened("never below", Exact::ZERO, unit);
                Some(Node::of(
                    How::Largest,
                    "missing to the least order",
                    unit,
                    vec![missing, none],
                ))
            }
            (Category::Delivery, _) => Some(self.delivery(charge)),
            (Category::Duty, _) => self.share(charge, &self.terms()?.duty, "duty"),
            (Category::Tax, _) => self.share(charge, &self.terms()?.tax, "tax"),
            (Category::Fee, _) if charge.about == About::Named(EXCHANGE_FEE) => {
                self.share(charge, &self.terms()?.exchange_fee, EXCHANGE_FEE)
            }
            (Category::Fee, _) => self.share(charge, &self.terms()?.import_fee, "import fee"),
            _ => None,
        }
    }

    /// A dated rate as it holds on the order's day.
    fn share(
        &self,
        charge: &OrderCharge,
        rows: &crate::model::RateRows,
        label: &str,
    ) -> Option<Node> {
        let (row, _) = rows.on(self.placed.day)?;
        (row.source == charge.source).then(|| Node::input(self.shop(), row.value, label))
    }

    /// An amount in a row's currency, in the scenario's at the rate of the order's day.
    fn converted(&self, terms: &Terms, node: Node, currency: crate::model::CurrencyId) -> Node {
        rated(self.shop(), node, (&terms.exchange, currency), self.placed.day)
    }

    fn code(&self, currency: crate::model::CurrencyId) -> &str {
        &self.story.shop.scenario.currencies[currency.index()].code
    }

    /// The price of a piece: quoted, or max(piece_min, rate x basis), to the minor unit of its currency.
    fn piece(&self, line: &Line) -> Option<Node> {
        let (shop, terms) = (self.story.shop, self.story.shop.terms(line.route)?);
        let (node, currency) = match (line.price.quote(terms), line.price.row(terms)) {
            (Some(quote), _) => {
                let currency = quote.unit_price.currency;
                let label = "quoted price of a piece";
                (Node::input(shop, quote.unit_price.value, label), currency)
            }
            (None, Some(row)) => (self.by_row(line, row), row.currency),
            (None, None) => return None,
        };
        let minor = shop.scenario.currencies[currency.index()].minor;
        let code = self.code(currency);
        let label = "price of a piece, as an invoice shows it";
        let node = Node::of(How::Rounded(minor), label, code, vec![node.in_unit(code)]);
        Some(self.converted(terms, node, currency))
    }

    fn by_row(&self, line: &Line, row: &PriceRow) -> Node {
        let (shop, code) = (self.story.shop, self.code(row.currency));
        let mut choices = Vec::new();
        if let Some(rate) = row.rate {
            let rate = Node::input(shop, rate, "rate").in_unit(code);
            let basis = self.basis(line, row);
            choices.push(times("rate x basis", code, rate, basis));
        }
        if let Some(least) = row.piece_min {
            choices.push(Node::input(shop, least, "least price of a piece").in_unit(code));
        }
        if choices.is_empty() {
            choices.push(Node::happened("no price is stated", Exact::ZERO, code));
        }
        Node::of_some(How::Largest, "the larger of them", code, choices)
    }

    /// What a rate is multiplied by; `None` for a price per piece.
    fn basis(&self, line: &Line, row: &PriceRow) -> Option<Node> {
        let (shop, part) = (self.story.shop, self.story.shop.part(line.part));
        let stated = self.story.shop.scenario.part(line.part);
        let volume = || part_volume(shop, line);
        Some(match row.basis {
            Basis::Piece => return None,
            Basis::PartVolume => volume(),
            Basis::BoxVolume => {
                let size = part.box_volume().unwrap_or(Exact::ZERO);
                Node::happened("volume of its box", size, "cm3")
            }
            Basis::Area => match stated.area {
                Some(slot) => Node::input(shop, slot, "surface"),
                None => Node::happened("surface", Exact::from_millionths(part.area), "cm2"),
            },
            Basis::Mass => {
                let density = row.density.map(|slot| Node::input(shop, slot, "density"));
                let density =
                    density.unwrap_or_else(|| Node::happened("density", Exact::ZERO, "g/mL"));
                Node::of(How::Product, "mass", "g", vec![volume(), density])
            }
        })
    }

    /// A value of the row a line is priced by.
    fn of_row(
        &self,
        line: &Line,
        label: &str,
        of: impl Fn(&PriceRow) -> Option<Slot>,
    ) -> Option<Node> {
        let terms = self.story.shop.terms(line.route)?;
        let row = line.price.row(terms)?;
        let node = Node::input(self.shop(), of(row)?, label).in_unit(self.code(row.currency));
        Some(self.converted(terms, node, row.currency))
    }

    /// The largest of an order-level value among the rows used.
    fn largest(&self, label: &str, of: impl Fn(&PriceRow) -> Option<Slot>) -> Option<Node> {
        let mut all: Vec<Node> = Vec::new();
        for line in self.placed.lines.iter() {
            if let Some(node) = self.of_row(line, label, &of)
                && !all.contains(&node)
            {
                all.push(node);
            }
        }
        let label = format!("{label}: the largest of the rows used");
        (!all.is_empty()).then(|| Node::of_some(How::Largest, &label, own(self.shop()), all))
    }

    /// base + per_kg x chargeable mass.
    fn delivery(&self, charge: &OrderCharge) -> Node {
        let none = |source: SourceId| Node {
            from: Origin::Source(source),
            ..Node::happened("no delivery is charged", Exact::ZERO, own(self.shop()))
        };
        let Some((terms, row)) =
            self.terms().and_then(|t| Some((t, delivery_row(t, self.placed.delivery)?)))
        else {
            return none(charge.source);
        };
        let code = self.code(row.currency);
        let base = row.base.map(|slot| Node::input(self.shop(), slot, "base price").in_unit(code));
        let mut sum: Vec<Node> = base.into_iter().collect();
        sum.extend(self.by_mass(row, code));
        if sum.is_empty() {
            return none(row.source);
        }
        let node = Node::of_some(How::Sum, "base price and mass", code, sum);
        self.converted(terms, node, row.currency)
    }

    fn by_mass(&self, row: &DeliveryRow, code: &str) -> Option<Node> {
        let shop = self.story.shop;
        let per_kg = row.per_kg.filter(|&slot| !shop.values.exact(slot).is_zero())?;
        let mut masses = Vec::new();
        let mut boxes = Vec::new();
        for line in self.placed.lines.iter() {
            let price_row = line.price.row(shop.terms(line.route)?)?;
            let part = shop.part(line.part);
            if part.volume == 0 {
                return None;
            }
            let copies = || Node::happened("copies", line.copies, "pcs");
            let name = &shop.scenario.part(line.part).name;
            let density = Node::input(shop, price_row.density?, "density");
            let mass = vec![copies(), part_volume(shop, line), density];
            masses.push(Node::of(How::Product, format!("mass of {name}"), "g", mass));
            if row.divisor.is_some() {
                let size = Node::happened("volume of its box", part.box_volume()?, "cm3");
                let label = format!("boxes of {name}");
                boxes.push(Node::of(How::Product, label, "cm3", vec![copies(), size]));
            }
        }
        let grams = Node::of_some(How::Sum, "mass", "g", masses);
        let mut kg = Node::of(How::InUnits(1000), "mass", "kg", vec![grams]);
        if let Some(slot) = row.divisor.filter(|&s| !shop.values.exact(s).is_zero()) {
            let boxes = Node::of_some(How::Sum, "volume of the boxes", "cm3", boxes);
            let divisor = Node::input(shop, slot, "volume that counts as one kg");
            let by_box = Node::of(How::Quotient, "mass by volume", "kg", vec![boxes, divisor]);
            kg = Node::of(
                How::Largest,
                "the larger of mass and mass by volume",
                "kg",
                vec![kg, by_box],
            );
        }
        if let Some(slot) = row.mass_step.filter(|&s| !shop.values.exact(s).is_zero()) {
            let step = Node::input(shop, slot, "step of the mass");
            let step = Node::of(How::InUnits(1000), "step of the mass", "kg", vec![step]);
            kg = Node::of(How::StepUp, "rounded up to the step", "kg", vec![kg, step]);
        }
        let rate = Node::input(shop, per_kg, "price of a kg").in_unit(code);
        Some(Node::of(How::Product, "by mass", code, vec![rate, kg]))
    }
}

/// Part lines, set-up of the order and what is missing to its least.
fn is_goods(charge: &OrderCharge) -> bool {
    use Category::{Finish, Minimum, Piece, SetUp};
    matches!(charge.category, Piece | SetUp | Finish | Minimum)
}

/// The volume of an ordered part.
fn part_volume(shop: &Shop, line: &Line) -> Node {
    use crate::model::Volume;
    let volume = Exact::from_millionths(shop.part(line.part).volume);
    let node = Node::happened("volume", volume, "cm3");
    match shop.scenario.part(line.part).volume {
        Some(Volume::Stated(slot)) => Node { from: Origin::Input(slot), ..node },
        Some(Volume::ShareOfBox(slot)) => Node {
            label: "volume: the box times this share, to millionths".to_owned(),
            from: Origin::Input(slot),
            ..node
        },
        None => node,
    }
}
