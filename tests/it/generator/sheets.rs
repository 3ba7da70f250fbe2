//! The price sheets of a description.

use super::write::{
    LEVELS, MACHINES, OFFERS, RESINS, SERVICES, UNITS, Writer, hundredths, supply_name, tenths,
};
use super::{Level, Machine, Offer, Service, Stocked};

/// A sheet: its file, columns and rows.
pub struct Sheet {
    pub file: &'static str,
    pub columns: Vec<&'static str>,
    pub rows: Vec<Vec<String>>,
}

fn sheet(file: &'static str, columns: &'static str, rows: Vec<Vec<String>>) -> Sheet {
    Sheet { file, columns: columns.split(',').collect(), rows }
}

/// All sheets.
pub fn sheets(writer: &Writer) -> Vec<Sheet> {
    vec![
        materials(writer),
        supplies(writer),
        equipment(writer),
        print_time(writer),
        services(writer),
        delivery(writer),
        quotes(writer),
        rates(writer),
    ]
}

fn text(value: Option<String>) -> String {
    value.unwrap_or_default()
}

fn count(value: Option<u32>) -> String {
    text(value.map(|v| v.to_string()))
}

impl Writer<'_> {
    fn optional(&self, value: Option<u32>) -> String {
        text(value.map(|v| self.money(v)))
    }

    fn currency(&self, foreign: bool) -> String {
        if foreign { self.currencies().1.to_owned() } else { String::new() }
    }

    /// Pack, price, density, stock, keep, lead, delivery and currency of something in stock.
    fn stocked(&self, s: &Stocked, unit: &str) -> [String; 8] {
        let liquid = unit == "mL";
        let per = if liquid { "L" } else { unit };
        let (pack, price) = match s.pack {
            // 0.8 g/mL: the content in grams.
            Some(pack) if liquid && s.by_mass => {
                (format!("{} g", tenths(pack)), self.money(s.price))
            }
            Some(pack) => (format!("{} {unit}", tenths(pack)), self.money(s.price)),
            None => (String::new(), format!("{} per {per}", self.money(s.price))),
        };
        [
            pack,
            price,
            if liquid { "0.8 g/mL".to_owned() } else { String::new() },
            text(s.stock.map(|v| format!("{} {unit}", tenths(v)))),
            text(s.keep.map(hundredths)),
            count(s.lead),
            self.optional(s.delivery),
            self.currency(s.foreign),
        ]
    }
}

fn materials(w: &Writer) -> Sheet {
    let rows = w.plan.shop.materials.iter().enumerate().map(|(i, m)| {
        let opaque = if m.opaque { "yes" } else { "no" };
        [vec![RESINS[i].to_owned(), opaque.to_owned()], w.stocked(m, "mL").to_vec()].concat()
    });
    let columns = "material,opaque,pack,pack_price,density,stock,keep,lead,delivery_cost,currency";
    sheet("materials.csv", columns, rows.collect())
}

fn supplies(w: &Writer) -> Sheet {
    let listed = w.plan.shop.supplies.iter().enumerate();
    let listed = listed.map(|(i, s)| (supply_name(i, s.kind), s.kind, s));
    let rows = listed.chain(w.liquids()).map(|(name, kind, s)| {
        let class = ["solvent", "dye", "supply", "supply"][kind];
        let waste = if kind == 0 { w.optional(s.waste) } else { String::new() };
        let own = vec![name.to_owned(), class.to_owned(), waste];
        [own, w.stocked(s, UNITS[kind]).to_vec()].concat()
    });
    let columns = "item,kind,waste_charge_per_l,pack,pack_price,density,stock,keep,lead,delivery_cost,currency";
    sheet("supplies.csv", columns, rows.collect())
}

fn equipment(w: &Writer) -> Sheet {
    let (plate, height) = w.plate();
    let row = |(i, m): (usize, &Machine)| {
        let down =
            if w.plan.time.start.is_some() { w.days(&m.down).join(" ") } else { String::new() };
        vec![
            MACHINES[i].to_owned(),
            ["none", "wear", "buy"][m.charge].to_owned(),
            w.money(m.price),
            text(m.resale.map(|percent| w.money_share(m.price, percent))),
            m.life.to_string(),
            count(m.watts),
            down,
            count(m.lead),
            w.optional(m.delivery),
            plate.clone().filter(|_| i == 0).unwrap_or_default(),
            height.clone().filter(|_| i == 0).unwrap_or_default(),
        ]
    };
    let rows = w.plan.shop.machines.iter().enumerate().map(row).collect();
    sheet(
        "equipment.csv",
        "equipment,charge,price,resale,life_hours,watts,down,lead,delivery_cost,plate,height",
        rows,
    )
}

fn print_time(w: &Writer) -> Sheet {
    let row = |i: usize| {
        [MACHINES[0], RESINS[i], "100 um", "8 min", "11 s", "0.7 s"].map(str::to_owned).to_vec()
    };
    let rows = (0..w.plan.shop.materials.len()).map(row).collect();
    sheet("print_time.csv", "printer,material,layer,start_up,per_layer,per_volume", rows)
}

fn services(w: &Writer) -> Sheet {
    let mut rows = Vec::new();
    for (number, service) in w.plan.services.iter().enumerate() {
        for (which, offer) in service.offers.iter().enumerate() {
            for (from, price) in [Some((1, 100)), offer.tier].into_iter().flatten() {
                let name = [SERVICES[number], OFFERS[which]];
                let row = |percent: u32, valid: [String; 2]| {
                    price_row(w, (service, offer), name, (from, percent), valid)
                };
                match offer.later {
                    None => rows.push(row(price, [String::new(), String::new()])),
                    Some((day, percent)) => {
                        rows.push(row(price, [String::new(), w.day(day - 1).to_string()]));
                        rows.push(row(
                            price * percent / 100,
                            [w.day(day).to_string(), String::new()],
                        ));
                    }
                }
            }
        }
    }
    let columns = "service,material,finish,speed,basis,rate,from_qty,piece_min,setup_per_part,setup_per_order,\
                   finish_per_piece,order_min,lead,cutoff,calendar,density,opaque,max_box,currency,valid_from,valid_to";
    sheet("services.csv", columns, rows)
}

fn price_row(
    w: &Writer,
    (service, offer): (&Service, &Offer),
    [name, material]: [&str; 2],
    (from, percent): (u32, u32),
    [valid_from, valid_to]: [String; 2],
) -> Vec<String> {
    let basis = match ["piece", "part_volume", "box_volume", "area", "mass"][offer.basis] {
        "box_volume" if !w.plan.boxes => "part_volume",
        "area" if !(w.plan.boxes && w.plan.areas) => "part_volume",
        basis => basis,
    };
    let rate = if basis == "piece" { offer.rate * 50 } else { offer.rate };
    vec![
        name.to_owned(),
        material.to_owned(),
        "plain".to_owned(),
        "usual".to_owned(),
        basis.to_owned(),
        w.money_share(rate, percent),
        from.to_string(),
        w.optional(offer.piece_min),
        w.optional(offer.setup_part),
        w.optional(offer.setup_order),
        w.optional(offer.finish),
        w.optional(offer.order_min),
        offer.lead.to_string(),
        text(service.cutoff.map(|hour| format!("{hour:02}:00"))),
        if service.calendar { "works".to_owned() } else { String::new() },
        "1.1 g/mL".to_owned(),
        if offer.opaque { "yes" } else { "no" }.to_owned(),
        "400 x 300 x 300 mm".to_owned(),
        w.currency(service.foreign),
        valid_from,
        valid_to,
    ]
}

fn delivery(w: &Writer) -> Sheet {
    let row = |name: &str, number: usize, level: &Level, foreign: bool| {
        vec![
            name.to_owned(),
            LEVELS[number].to_owned(),
            w.money(level.base),
            w.optional(level.per_kg),
            count(level.divisor),
            text(level.mass_step.map(tenths)),
            count(level.transit),
            text(level.arrives.map(|hour| format!("{hour:02}:30"))),
            if level.calendar { "carrier".to_owned() } else { String::new() },
            w.currency(foreign),
        ]
    };
    let rows = w.plan.services.iter().enumerate().flat_map(|(s, service)| {
        let levels = service.levels.iter().enumerate();
        levels.map(move |(i, level)| row(SERVICES[s], i, level, service.foreign))
    });
    let columns =
        "service,delivery,base,per_kg,divisor,mass_step,transit,arrives,calendar,currency";
    sheet("delivery.csv", columns, rows.collect())
}

fn quotes(w: &Writer) -> Sheet {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (number, service) in w.plan.services.iter().enumerate() {
        for quote in &service.quotes {
            let row = vec![
                SERVICES[number].to_owned(),
                OFFERS[quote.offer % service.offers.len()].to_owned(),
                "plain".to_owned(),
                "usual".to_owned(),
                w.part(quote.part).to_owned(),
                quote.qty.to_string(),
                w.money(quote.price),
                count(quote.lead),
                w.currency(service.foreign),
                text(quote.until.map(|day| w.day(day).to_string())),
            ];
            // Two quotations for the same are an error.
            if rows.iter().all(|other| other[..6] != row[..6]) {
                rows.push(row);
            }
        }
    }
    let columns = "service,material,finish,speed,part,qty,unit_price,lead,currency,valid_to";
    sheet("quotes.csv", columns, rows)
}

fn rates(w: &Writer) -> Sheet {
    let rates = &w.plan.rates;
    let none = String::new;
    let mut rows: Vec<[String; 5]> = Vec::new();
    let mut plain = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            rows.push([name.to_owned(), value, none(), none(), none()]);
        }
    };
    plain("tax", rates.tax.map(hundredths));
    plain("tax_recoverable", rates.recoverable.then(|| "true".to_owned()));
    plain("duty", rates.duty.map(hundredths));
    plain("duty_on", rates.duty_on_delivery.then(|| "goods and delivery".to_owned()));
    plain("import_fee", rates.import_fee.map(|fee| w.money(fee)));
    plain("exchange_fee", rates.exchange_fee.map(hundredths));
    if let Some(price) = rates.electricity {
        rows.push(["electricity".to_owned(), w.money(price), "per kWh".to_owned(), none(), none()]);
    }
    let (own, foreign) = w.currencies();
    let exchange = format!("exchange {foreign}->{own}");
    match rates.exchange_later {
        None => rows.push([exchange, hundredths(rates.exchange), none(), none(), none()]),
        Some((day, later)) => {
            let before = w.day(day - 1).to_string();
            rows.push([exchange.clone(), hundredths(rates.exchange), none(), none(), before]);
            rows.push([exchange, hundredths(later), none(), w.day(day).to_string(), none()]);
        }
    }
    let rows = rows.into_iter().map(|r| r.to_vec()).collect();
    sheet("rates.csv", "rate,value,unit,valid_from,valid_to", rows)
}
