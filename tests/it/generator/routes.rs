//! The routes of a description.

use std::fmt::Write as _;

use super::baths::{DYES, WASHES};
use super::write::{
    LEVELS, MACHINES, OFFERS, RESINS, SERVICES, UNITS, Writer, hundredths, line, supply_name,
    tenths,
};
use super::{HoldPlan, Ordering, Printed, RoutePlan, Served, Short, StepPlan, Use, Way};

/// Words of `per`; the first three also on steps, the fourth on every route, the rest where a route prints.
const PER: [&str; 7] =
    ["build", "piece", "attempt", "design", "print hour", "litre of resin", "layer"];

/// Which axis points up.
const UPS: [&str; 7] = ["z", "shortest", "x", "y", "-z", "-x", "-y"];

/// Where a step is: at a machine, in a bath, or both.
#[derive(Clone, Copy, Debug)]
struct Station {
    machine: Option<usize>,
    bath: Option<&'static str>,
    dips: bool,
}

impl Writer<'_> {
    /// The part a route is only for; the first route is for all.
    pub fn only(&self, number: usize) -> Option<&'static str> {
        self.plan.routes[number].only.filter(|_| number > 0).map(|p| self.part(p))
    }

    /// A `[[route]]` under a name.
    pub fn route(&self, name: &str, route: &RoutePlan, number: usize) -> String {
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
                line(&mut text, &format!("steps = [{}]", self.steps(steps, 0).join(", ")));
                4
            }
            Way::Plain(plain, ordering) => {
                line(&mut text, &format!("piece = {}", self.money(plain.piece)));
                line(
                    &mut text,
                    &format!("arrives_after = \"{} business days\"", plain.arrives_after),
                );
                if let Some(cost) = plain.delivery {
                    line(&mut text, &format!("delivery_cost = {}", self.money(cost)));
                }
                text.push_str(&self.ordering(ordering));
                if ordering.steps.is_empty() { 0 } else { 4 }
            }
            Way::Served(served, ordering) => {
                text.push_str(&self.served(served));
                text.push_str(&self.ordering(ordering));
                if ordering.steps.is_empty() { 0 } else { 4 }
            }
        };
        if per > 0 {
            line(&mut text, &format!("consumes = [{}]", self.uses(&route.consumes, per)));
        }
        text
    }

    fn served(&self, served: &Served) -> String {
        let service = served.service % self.plan.services.len();
        let of = &self.plan.services[service];
        let offer = OFFERS[served.offer % of.offers.len()];
        let level = LEVELS[served.level % of.levels.len()];
        format!(
            "service = \"{}\"\nmaterial = \"{offer}\"\nfinish = \"plain\"\nspeed = \"usual\"\ndelivery = \"{level}\"\n",
            SERVICES[service]
        )
    }

    fn short(&self, short: &Short) -> String {
        let mut text = format!(
            "print_time = \"{} min\"\nattended = \"{} min\"\n",
            short.print_time, short.attended
        );
        match (short.resin, short.pack) {
            (Some(price), true) => {
                line(&mut text, &format!("pack = \"500 mL\"\npack_price = {}", self.money(price)));
            }
            (Some(price), false) => {
                line(&mut text, &format!("resin = \"{} per L\"", self.money(price)));
            }
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
        let mut text =
            format!("printer = \"{}\"\nmaterial = \"{}\"\n", MACHINES[0], RESINS[material]);
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
        if let Some(up) = printed.up {
            line(&mut text, &format!("up = \"{}\"", UPS[up]));
        }
        if let Some(gap) = printed.gap {
            line(&mut text, &format!("gap = \"{} mm\"", tenths(gap)));
        }
        share(&mut text, "support_area", printed.support_area);
        let hold = printed.cool.map_or(HoldPlan::None, HoldPlan::Minutes);
        let first = StepPlan { hold, at: None, ..printed.first.clone() };
        let mut steps = vec![self.step("print", &first, None)];
        let washes = printed.washed.iter().flatten().zip(&WASHES[..self.plan.room.washes.len()]);
        for (step, bath) in washes {
            let station = Station { machine: None, bath: Some(*bath), dips: false };
            steps.push(self.step(bath, step, Some(station)));
        }
        // Printer, wash pot, and the last wash bath, which may be used once more.
        let from = if steps.len() == 1 { 1 } else { 2 + self.plan.room.washes.len() };
        steps.extend(self.steps(&printed.steps, from));
        line(&mut text, &format!("steps = [{}]", steps.join(", ")));
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
            line(&mut text, &format!("steps = [{}]", self.steps(&ordering.steps, 0).join(", ")));
        }
        text
    }

    /// Where steps can be, in the order in which every route goes through them: printer, wash pot, wash baths, dye baths, cure box.
    fn stations(&self) -> Vec<Station> {
        let at = |machine: usize| Station { machine: Some(machine), bath: None, dips: false };
        let mut list = vec![at(0), at(1)];
        for (number, bath) in (0..self.plan.room.washes.len()).map(|i| (i, Some(WASHES[i]))) {
            if number == 0 {
                list.push(Station { bath, ..at(1) });
            }
            list.push(Station { machine: None, bath, dips: false });
        }
        for bath in (0..self.dyes().len()).map(|i| Some(DYES[i])) {
            list.push(Station { machine: None, bath, dips: true });
        }
        if !self.dyes().is_empty() {
            list.push(Station { bath: Some(DYES[self.dyes().len() - 1]), dips: true, ..at(2) });
        }
        list.push(at(2));
        list
    }

    /// Steps at stations from a number on, never back to an earlier one.
    fn steps(&self, steps: &[StepPlan], from: usize) -> Vec<String> {
        let stations = self.stations();
        let at = steps.iter().filter_map(|s| s.at);
        let mut at: Vec<usize> = at.map(|m| (m % stations.len()).max(from)).collect();
        at.sort_unstable();
        let mut at = at.into_iter();
        let list = steps.iter().enumerate();
        list.map(|(i, step)| {
            let station = step.at.and_then(|_| at.next()).map(|s| stations[s]);
            self.step(&format!("step {i}"), step, station)
        })
        .collect()
    }

    fn step(&self, name: &str, step: &StepPlan, at: Option<Station>) -> String {
        let mut text = format!("{{ do = \"{name}\", attended = \"{} min\"", step.attended);
        if step.per_piece {
            text.push_str(", per = \"piece\"");
        }
        if let Some(minutes) = step.first_time {
            write!(text, ", first_time = \"{minutes} min\"").expect("text is written");
        }
        match step.hold {
            HoldPlan::None => {}
            HoldPlan::Minutes(minutes) => {
                write!(text, ", hold = \"{minutes} min\"").expect("text is written");
            }
            HoldPlan::Overnight => text.push_str(", hold = \"overnight\""),
        }
        if let Some(machine) = at.and_then(|s| s.machine) {
            write!(text, ", at = \"{}\"", MACHINES[machine]).expect("text is written");
        }
        if let Some(bath) = at.and_then(|s| s.bath) {
            write!(text, ", bath = \"{bath}\"").expect("text is written");
        }
        if at.is_some_and(|s| s.dips) {
            text.push_str(", give = { opaque = true }");
            if let Some(pose) = step.pose {
                write!(text, ", pose = \"{}\"", UPS[pose]).expect("text is written");
            }
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
}

fn share(text: &mut String, key: &str, percent: Option<u32>) {
    if let Some(percent) = percent {
        line(text, &format!("{key} = {}", hundredths(percent)));
    }
}
