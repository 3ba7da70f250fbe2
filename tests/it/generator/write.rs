//! From a description to files: scenario.toml and eight price sheets.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use chrono::{Days, NaiveDate};
use rust_decimal::Decimal;

use super::sheets::{Sheet, sheets};
use super::{Blueprint, HoldPlan, Ordering, PartPlan, Printed, RoutePlan, Short, StepPlan, Use, Way};

/// Own and foreign currency; with two, no and three decimals.
const CURRENCIES: [(&str, &str); 4] = [("USD", "EUR"), ("EUR", "GBP"), ("JPY", "USD"), ("KWD", "USD")];
const PARTS: [&str; 3] = ["vane", "boot, left", "collar"];
const ROUTES: [&str; 3] = ["north way", "east way", "west way"];
/// The name of a second route that is the same as the first.
pub const TWIN: &str = "another north way";
/// Machines in the order in which every route uses them.
pub const MACHINES: [&str; 3] = ["printer", "wash pot", "cure box"];
/// Words of `per`; the first three also on steps, the fourth on every route, the rest where a route prints.
const PER: [&str; 7] = ["build", "piece", "attempt", "design", "print hour", "litre of resin", "layer"];

/// How a description is written down.
#[derive(Clone, Copy, Debug)]
pub struct Written {
    /// Every price is multiplied by this.
    pub scale: u32,
    /// Lists and rows are put into another order.
    pub shuffle: Option<u64>,
    /// Iterations added to the horizon.
    pub further: u32,
    /// The first route is there twice, and two plans make every part by the one or the other.
    pub twin: bool,
}

impl Written {
    /// As it is.
    pub const PLAIN: Written = Written { scale: 1, shuffle: None, further: 0, twin: false };
}

/// Writes a scenario into a folder of its own.
pub fn write(blueprint: &Blueprint, how: Written) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder for a scenario");
    let writer = Writer { plan: blueprint, how };
    fs::write(dir.path().join("scenario.toml"), writer.scenario()).expect("scenario.toml is written");
    let pricing = dir.path().join("pricing");
    fs::create_dir(&pricing).expect("a folder for sheets");
    for sheet in sheets(&writer) {
        save(&pricing, sheet, how.shuffle);
    }
    dir
}

fn save(folder: &Path, sheet: Sheet, shuffle: Option<u64>) {
    let mut rows = sheet.rows;
    mix(&mut rows, shuffle);
    let mut file = csv::Writer::from_path(folder.join(sheet.file)).expect("a sheet is begun");
    file.write_record(sheet.columns).expect("columns are written");
    for row in rows {
        file.write_record(row).expect("a row is written");
    }
    file.flush().expect("a sheet is written");
}

/// Puts a list into another order, the same for the same number.
fn mix<T>(list: &mut [T], shuffle: Option<u64>) {
    let Some(mut state) = shuffle else {
        return;
    };
    for last in (1..list.len()).rev() {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let other = (state >> 33) % (last as u64 + 1);
        list.swap(last, usize::try_from(other).expect("an index"));
    }
}

/// A description on its way into files.
pub struct Writer<'a> {
    pub plan: &'a Blueprint,
    pub how: Written,
}

/// Hundredths as a decimal.
pub fn hundredths(value: u32) -> String {
    Decimal::new(i64::from(value), 2).normalize().to_string()
}

/// Tenths as a decimal.
pub fn tenths(value: u32) -> String {
    Decimal::new(i64::from(value), 1).normalize().to_string()
}

impl Writer<'_> {
    /// An amount of money from hundredths.
    pub fn money(&self, value: u32) -> String {
        Decimal::new(i64::from(value) * i64::from(self.how.scale), 2).normalize().to_string()
    }

    /// A share of an amount of money.
    pub fn money_share(&self, value: u32, percent: u32) -> String {
        let value = i64::from(value) * i64::from(self.how.scale) * i64::from(percent);
        Decimal::new(value, 4).normalize().to_string()
    }

    /// Own and foreign currency.
    pub fn currencies(&self) -> (&'static str, &'static str) {
        CURRENCIES[self.plan.money.currency]
    }

    /// A day so many after the start.
    pub fn day(&self, after: u32) -> NaiveDate {
        let first = NaiveDate::from_ymd_opt(2026, 3, 2).expect("a date");
        let start = self.plan.time.start.map_or(0, |s| s.0);
        first.checked_add_days(Days::new(u64::from(start + after))).expect("a date")
    }

    /// Days after the start as a list, each once, ascending.
    pub fn days(&self, after: &[u32]) -> Vec<String> {
        let mut days: Vec<u32> = after.to_vec();
        days.sort_unstable();
        days.dedup();
        days.iter().map(|d| self.day(*d).to_string()).collect()
    }

    /// The name of a part by number.
    pub fn part(&self, number: usize) -> &'static str {
        PARTS[number % self.plan.parts.len()]
    }

    fn scenario(&self) -> String {
        let mut text = self.head();
        let mut parts: Vec<String> = (0..self.plan.parts.len()).map(|i| self.part_table(i, &self.plan.parts[i])).collect();
        let mut routes: Vec<String> =
            self.plan.routes.iter().enumerate().map(|(i, r)| self.route(ROUTES[i], r, i)).collect();
        if self.how.twin {
            routes.push(self.route(TWIN, &self.plan.routes[0], 0));
        }
        let mut plans = self.plans();
        for list in [&mut parts, &mut routes, &mut plans] {
            mix(list, self.how.shuffle);
            text.push_str(&list.concat());
        }
        text
    }

    fn head(&self) -> String {
        let (money, time) = (&self.plan.money, &self.plan.time);
        let mut text = format!("title = \"generated\"\ncurrency = \"{}\"\npricing = \"pricing\"\n", self.currencies().0);
        if let Some((_, hour)) = time.start {
            line(&mut text, &format!("start = {}T{hour:02}:00:00", self.day(0)));
        }
        if let Some(labour) = money.labour {
            line(&mut text, &format!("labour = \"{} per h\"", self.money(labour)));
        }
        line(&mut text, &format!("labour_paid = {}", money.labour_paid));
        if let Some(close) = money.close {
            line(&mut text, &format!("close = {}", hundredths(close)));
        }
        let horizon = 2 * time.planned + time.beyond + self.how.further;
        line(&mut text, &format!("[iterations]\nplanned = {}\nhorizon = {horizon}", time.planned));
        line(&mut text, &format!("evaluate = \"{} min\"\nredesign = \"{} min\"", time.evaluate, time.redesign));
        if let Some(overlap) = time.overlap {
            line(&mut text, &format!("overlap = {}", hundredths(overlap)));
        }
        if let Some(cost) = money.delay_cost {
            line(&mut text, &format!("delay_cost_per_day = {}", self.money(cost)));
        }
        text.push_str(&self.last());
        text.push_str(&self.hours());
        text
    }

    fn last(&self) -> String {
        let Some(last) = &self.plan.last else {
            return String::new();
        };
        let mut text = "[final]\n".to_owned();
        if let Some(copies) = last.copies {
            line(&mut text, &format!("copies = {copies}"));
        }
        let free: Vec<usize> = (0..self.plan.routes.len()).filter(|&i| self.only(i).is_none()).collect();
        if let Some(assign) = last.assign.filter(|_| !self.how.twin) {
            let route = ROUTES[free[assign % free.len()]];
            line(&mut text, &format!("assign = {{ \"{}\" = \"{route}\" }}", PARTS[0]));
        }
        text
    }

    fn hours(&self) -> String {
        let mut text = match self.plan.time.hours {
            0 => "[hours]\n",
            1 => "[hours]\nopen = [\"09:00-12:30\", \"13:30-18:00\"]\n",
            _ => "[hours]\ndays = [\"Mon\", \"Wed\", \"Sat\"]\nopen = [\"06:00-22:00\"]\n",
        }
        .to_owned();
        let closed = match self.plan.time.start {
            Some(_) => format!("closed = [{}]\n", self.days(&self.plan.time.closed).join(", ")),
            None => String::new(),
        };
        text.push_str(&closed);
        text.push_str("[calendar.works]\ndays = [\"Tue\", \"Wed\", \"Thu\", \"Fri\", \"Sat\"]\n");
        text.push_str(&closed);
        text.push_str("[calendar.carrier]\ndays = [\"Mon\", \"Tue\", \"Wed\", \"Thu\", \"Fri\", \"Sat\"]\n");
        text
    }

    fn part_table(&self, number: usize, part: &PartPlan) -> String {
        let mut text = format!("[[part]]\nname = \"{}\"\ncopies = {}\n", PARTS[number], part.copies);
        if self.plan.boxes {
            let [x, y, z] = part.size;
            line(&mut text, &format!("box = \"{x} x {y} x {z} mm\"\narea = \"{} cm2\"", tenths(part.area)));
        }
        match self.plan.boxes && part.fill {
            true => line(&mut text, "fill = 0.35"),
            false => line(&mut text, &format!("volume = \"{} mL\"", tenths(part.volume))),
        }
        if let Some(own) = part.own {
            line(&mut text, &format!("iterations = {}", own.min(self.plan.time.planned)));
        }
        if let Some(from) = part.opaque_from {
            line(&mut text, &format!("must = {{ opaque = {{ from_iteration = {from} }} }}"));
        }
        text
    }

    /// The part a route is only for; the first route is for all.
    fn only(&self, number: usize) -> Option<&'static str> {
        self.plan.routes[number].only.filter(|_| number > 0).map(|p| self.part(p))
    }

    fn route(&self, name: &str, route: &RoutePlan, number: usize) -> String {
        let kind = match route.way {
            Way::Short(_) | Way::Printed(_) | Way::Crafted(_) => "bench",
            Way::Plain(..) | Way::Served(..) => "order",
        };
        let mut text = format!("[[route]]\nname = \"{name}\"\nkind = \"{kind}\"\n");
        if let Some(part) = self.only(number) {
            line(&mut text, &format!("for = [\"{part}\"]"));
        }
        if let Some(price) = route.buy_first {
            line(&mut text, &format!("buy_first = {}", self.money(price)));
        }
        let per = match &route.way {
            Way::Short(short) => {
                text.push_str(&self.short(short));
                6
            }
            Way::Printed(printed) => {
                text.push_str(&self.printed(printed));
                if self.plan.boxes { 7 } else { 6 }
            }
            Way::Crafted(steps) => {
                line(&mut text, &format!("steps = [{}]", self.steps(steps, 0)));
                4
            }
            Way::Plain(plain, ordering) => {
                line(&mut text, &format!("piece = {}", self.money(plain.piece)));
                line(&mut text, &format!("arrives_after = \"{} business days\"", plain.arrives_after));
                if let Some(cost) = plain.delivery {
                    line(&mut text, &format!("delivery_cost = {}", self.money(cost)));
                }
                text.push_str(&self.ordering(ordering));
                if ordering.steps.is_empty() { 0 } else { 4 }
            }
            Way::Served(served, ordering) => {
                let service = served.service % self.plan.services.len();
                let of = &self.plan.services[service];
                let offer = served.offer % of.offers.len();
                let level = served.level % of.levels.len();
                line(&mut text, &format!("service = \"{}\"", SERVICES[service]));
                line(&mut text, &format!("material = \"{}\"\nfinish = \"plain\"\nspeed = \"usual\"", OFFERS[offer]));
                line(&mut text, &format!("delivery = \"{}\"", LEVELS[level]));
                text.push_str(&self.ordering(ordering));
                if ordering.steps.is_empty() { 0 } else { 4 }
            }
        };
        if per > 0 {
            line(&mut text, &format!("consumes = [{}]", self.uses(&route.consumes, per)));
        }
        text
    }

    fn short(&self, short: &Short) -> String {
        let mut text = format!("print_time = \"{} min\"\nattended = \"{} min\"\n", short.print_time, short.attended);
        match (short.resin, short.pack) {
            (Some(price), true) => {
                line(&mut text, &format!("pack = \"500 mL\"\npack_price = {}", self.money(price)));
            }
            (Some(price), false) => line(&mut text, &format!("resin = \"{} per L\"", self.money(price))),
            (None, _) => {}
        }
        share(&mut text, "spoil", short.spoil);
        share(&mut text, "supports", short.supports);
        if let Some(solvent) = short.solvent {
            line(&mut text, &format!("wash_solvent = \"{} mL\"", tenths(solvent)));
        }
        if let Some(other) = short.other {
            line(&mut text, &format!("other_time = \"{other} min\""));
        }
        text
    }

    fn printed(&self, printed: &Printed) -> String {
        let material = printed.material % self.plan.shop.materials.len();
        let mut text = format!("printer = \"{}\"\nmaterial = \"{}\"\n", MACHINES[0], RESINS[material]);
        if self.plan.boxes {
            line(&mut text, "layer = \"0.1 mm\"");
        }
        if !(self.plan.boxes && printed.layers) {
            line(&mut text, &format!("print_time = \"{} min\"", printed.print_time));
        }
        share(&mut text, "supports", printed.supports);
        if let Some(loss) = printed.loss {
            line(&mut text, &format!("per_build_loss = \"{} mL\"", tenths(loss)));
        }
        if let Some(gap) = printed.stand_off {
            line(&mut text, &format!("stand_off = \"{gap} mm\""));
        }
        let hold = printed.cool.map_or(HoldPlan::None, HoldPlan::Minutes);
        let first = StepPlan { hold, at: None, ..printed.first.clone() };
        line(&mut text, &format!("steps = [{}, {}]", self.step("print", &first, None), self.steps(&printed.steps, 1)));
        text
    }

    fn ordering(&self, ordering: &Ordering) -> String {
        let mut text = String::new();
        for (key, minutes) in [("order_time", ordering.order_time), ("brief", ordering.brief)] {
            if let Some(minutes) = minutes {
                line(&mut text, &format!("{key} = \"{minutes} min\""));
            }
        }
        share(&mut text, "misread", ordering.misread);
        share(&mut text, "reject", ordering.reject);
        if !ordering.steps.is_empty() {
            line(&mut text, &format!("steps = [{}]", self.steps(&ordering.steps, 0)));
        }
        text
    }

    /// Steps at machines from a number on, never back to an earlier one.
    fn steps(&self, steps: &[StepPlan], from: usize) -> String {
        let mut at: Vec<usize> = steps.iter().filter_map(|s| s.at).map(|m| m.max(from)).collect();
        at.sort_unstable();
        let mut at = at.into_iter();
        let list = steps.iter().enumerate().map(|(i, step)| {
            let machine = step.at.and_then(|_| at.next());
            self.step(&format!("step {i}"), step, machine)
        });
        list.collect::<Vec<_>>().join(", ")
    }

    fn step(&self, name: &str, step: &StepPlan, at: Option<usize>) -> String {
        let mut text = format!("{{ do = \"{name}\", attended = \"{} min\"", step.attended);
        if step.per_piece {
            text.push_str(", per = \"piece\"");
        }
        if let Some(minutes) = step.first_time {
            write!(text, ", first_time = \"{minutes} min\"").expect("text is written");
        }
        match step.hold {
            HoldPlan::None => {}
            HoldPlan::Minutes(minutes) => write!(text, ", hold = \"{minutes} min\"").expect("text is written"),
            HoldPlan::Overnight => text.push_str(", hold = \"overnight\""),
        }
        if let Some(machine) = at {
            write!(text, ", at = \"{}\"", MACHINES[machine]).expect("text is written");
        }
        for (key, percent) in [("spoil", step.spoil), ("spent_share", step.spent)] {
            if let Some(percent) = percent {
                write!(text, ", {key} = {}", hundredths(percent)).expect("text is written");
            }
        }
        write!(text, ", consumes = [{}] }}", self.uses(&step.uses, 3)).expect("text is written");
        text
    }

    fn uses(&self, uses: &[Use], kinds: usize) -> String {
        let list = uses.iter().map(|u| {
            let number = u.item % self.plan.shop.supplies.len();
            let kind = self.plan.shop.supplies[number].kind;
            format!(
                "{{ item = \"{}\", amount = \"{} {}\", per = \"{}\" }}",
                supply_name(number, kind),
                tenths(u.amount),
                UNITS[kind],
                PER[u.per % kinds]
            )
        });
        list.collect::<Vec<_>>().join(", ")
    }

    fn plans(&self) -> Vec<String> {
        let assign = |name: &str, route: &dyn Fn(usize) -> &'static str| {
            let pairs: Vec<String> =
                (0..self.plan.parts.len()).map(|p| format!("\"{}\" = \"{}\"", PARTS[p], route(p))).collect();
            format!("[[plan]]\nname = \"{name}\"\nassign = {{ {} }}\n", pairs.join(", "))
        };
        if self.how.twin {
            return vec![assign("one", &|_| ROUTES[0]), assign("two", &|_| TWIN)];
        }
        let named = self.plan.plans.iter().enumerate();
        let routes = self.plan.routes.len();
        named.map(|(i, plan)| assign(&format!("plan {}", 9 - i), &|p| ROUTES[plan[p] % routes])).collect()
    }
}

/// Services by number.
pub const SERVICES: [&str; 2] = ["Quarry Lane", "Bridge Works"];
/// Materials of a service by number.
pub const OFFERS: [&str; 2] = ["rubber, black", "rubber, grey"];
/// Delivery levels by number.
pub const LEVELS: [&str; 2] = ["parcel", "courier"];
/// Printing materials by number.
pub const RESINS: [&str; 2] = ["soft resin", "firm resin"];
/// What supplies count in: solvent, dye, pieces, grams.
pub const UNITS: [&str; 4] = ["mL", "mL", "pcs", "g"];

/// The name of a supply; a first solvent is what short routes wash with.
pub fn supply_name(number: usize, kind: usize) -> &'static str {
    match (number, kind) {
        (0, 0) => "wash solvent",
        (0, _) => "cloth",
        (1, _) => "tint",
        _ => "gloves",
    }
}

fn line(text: &mut String, line: &str) {
    text.push_str(line);
    text.push('\n');
}

fn share(text: &mut String, key: &str, percent: Option<u32>) {
    if let Some(percent) = percent {
        line(text, &format!("{key} = {}", hundredths(percent)));
    }
}
