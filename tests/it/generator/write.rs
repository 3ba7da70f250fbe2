//! From a description to files: scenario.toml and eight price sheets.

use std::fs;
use std::path::Path;

use chrono::{Days, NaiveDate};
use rust_decimal::Decimal;

use super::sheets::{Sheet, sheets};
use super::{Blueprint, PartPlan};

/// Own and foreign currency; with two, no and three decimals.
const CURRENCIES: [(&str, &str); 4] =
    [("USD", "EUR"), ("EUR", "GBP"), ("JPY", "USD"), ("KWD", "USD")];
/// Parts by number.
pub const PARTS: [&str; 3] = ["vane", "boot, left", "collar"];
/// Routes by number.
pub const ROUTES: [&str; 3] = ["north way", "east way", "west way"];
/// The name of a second route that is the same as the first.
pub const TWIN: &str = "another north way";
/// Machines in the order in which every route uses them.
pub const MACHINES: [&str; 3] = ["printer", "wash pot", "cure box"];

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
    fs::write(dir.path().join("scenario.toml"), writer.scenario())
        .expect("scenario.toml is written");
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
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
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
        let mut parts: Vec<String> =
            (0..self.plan.parts.len()).map(|i| self.part_table(i, &self.plan.parts[i])).collect();
        let mut routes: Vec<String> =
            self.plan.routes.iter().enumerate().map(|(i, r)| self.route(ROUTES[i], r, i)).collect();
        if self.how.twin {
            routes.push(self.route(TWIN, &self.plan.routes[0], 0));
        }
        let (mut plans, mut baths) = (self.plans(), self.baths());
        for list in [&mut parts, &mut routes, &mut plans, &mut baths] {
            mix(list, self.how.shuffle);
            text.push_str(&list.concat());
        }
        text
    }

    fn head(&self) -> String {
        let (money, time) = (&self.plan.money, &self.plan.time);
        let mut text = format!(
            "title = \"generated\"\ncurrency = \"{}\"\npricing = \"pricing\"\n",
            self.currencies().0
        );
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
        line(
            &mut text,
            &format!("evaluate = \"{} min\"\nredesign = \"{} min\"", time.evaluate, time.redesign),
        );
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
        let free: Vec<usize> =
            (0..self.plan.routes.len()).filter(|&i| self.only(i).is_none()).collect();
        // A plate or tub too small would leave the final unmade.
        let assign = last.assign.filter(|_| !self.how.twin && !self.plan.room.tight);
        if let Some(assign) = assign {
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
        text.push_str(
            "[calendar.carrier]\ndays = [\"Mon\", \"Tue\", \"Wed\", \"Thu\", \"Fri\", \"Sat\"]\n",
        );
        text
    }

    fn part_table(&self, number: usize, part: &PartPlan) -> String {
        let mut text =
            format!("[[part]]\nname = \"{}\"\ncopies = {}\n", PARTS[number], part.copies);
        if self.plan.boxes {
            let [x, y, z] = part.size;
            line(&mut text, &format!("box = \"{x} x {y} x {z} mm\""));
        }
        // Without a box a bath must be told the area.
        if self.plan.areas || !self.plan.boxes {
            line(&mut text, &format!("area = \"{} cm2\"", tenths(part.area)));
        }
        match self.plan.boxes && part.fill {
            true => line(&mut text, "fill = 0.35"),
            false => {
                // A volume above that of its box is refused.
                let [x, y, z] = part.size;
                let most = if self.plan.boxes { (x * y * z / 100).max(1) } else { u32::MAX };
                line(&mut text, &format!("volume = \"{} mL\"", tenths(part.volume.min(most))));
            }
        }
        if let Some(own) = part.own {
            line(&mut text, &format!("iterations = {}", own.min(self.plan.time.planned)));
        }
        if let Some(from) = part.opaque_from {
            line(&mut text, &format!("must = {{ opaque = {{ from_iteration = {from} }} }}"));
        }
        text
    }

    fn plans(&self) -> Vec<String> {
        let assign = |name: &str, route: &dyn Fn(usize) -> &'static str| {
            let pairs: Vec<String> = (0..self.plan.parts.len())
                .map(|p| format!("\"{}\" = \"{}\"", PARTS[p], route(p)))
                .collect();
            format!("[[plan]]\nname = \"{name}\"\nassign = {{ {} }}\n", pairs.join(", "))
        };
        if self.how.twin {
            return vec![assign("one", &|_| ROUTES[0]), assign("two", &|_| TWIN)];
        }
        let named = self.plan.plans.iter().enumerate();
        let routes = self.plan.routes.len();
        // A route that is for another part is refused; the first is for all.
        let route = |wanted: usize, p: usize| match self.only(wanted) {
            Some(part) if part != PARTS[p] => ROUTES[0],
            _ => ROUTES[wanted],
        };
        named
            .map(|(i, plan)| assign(&format!("plan {}", 9 - i), &|p| route(plan[p] % routes, p)))
            .collect()
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

/// Adds a line.
pub fn line(text: &mut String, line: &str) {
    text.push_str(line);
    text.push('\n');
}
