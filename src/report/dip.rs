//! What to pour into a dye bath, in words: one stretch for each bath and part, with a drawing and a table of depths.

use super::dip_section::{DipSection, drawing};
use super::{Body, Section, View, fixed, listed};
use crate::analysis::{DepthRow, DipLoad, DipPlan, Hindrance, Pour, grams};
use crate::model::{BathKind, Exact, ItemId, MILLION, Scenario, Up};
use crate::plan::{BathKindTable, DyeTable, Shop};

const VAPOUR: &str = "Solvent vapour catches fire: ventilate, no flame or spark near; no warm plate with an open flame; never warm a closed vessel.";
const DYED: &str =
    "Dyed solvent never goes back to a wash bath; store and discard it by local rules.";
const SHEETS: &str = "Read the safety data sheets of solvent and dye first: they, equipment manuals, local rules and licensed practice come before anything said here.";

/// What anyone who handles solvent and dye must be told.
pub(super) const DIP_CAUTIONS: [&str; 3] = [VAPOUR, DYED, SHEETS];

/// Says what to pour for each of the plans.
pub fn dip_view(shop: &Shop, plans: &[DipPlan]) -> View {
    let mut sections: Vec<Section> = plans.iter().flat_map(|plan| of_plan(shop, plan)).collect();
    let cautions = DIP_CAUTIONS.map(str::to_owned).to_vec();
    sections.extend(Section::sentences("Caution", cautions));
    let title = format!("{} (dye baths)", shop.scenario.title);
    View { title, sections, lines: usize::MAX }
}

/// A plan's names, items and numbers, as every report of it needs them.
pub(super) struct DipWords<'s> {
    pub shop: &'s Shop<'s>,
    pub plan: &'s DipPlan,
    /// The bath's numbers.
    pub table: &'s DyeTable,
    /// The solvent and the dye.
    pub items: [ItemId; 2],
}

impl<'s> DipWords<'s> {
    /// Words for a plan; `None` if its bath is no dye bath.
    pub fn new(shop: &'s Shop<'s>, plan: &'s DipPlan) -> Option<DipWords<'s>> {
        let bath = shop.bath(plan.bath);
        match &bath.kind {
            BathKindTable::Dye(dye, table) => {
                Some(DipWords { shop, plan, table, items: [bath.solvent, *dye] })
            }
            BathKindTable::Wash(_) => None,
        }
    }

    fn scenario(&self) -> &'s Scenario {
        self.shop.scenario
    }

    /// The bath and the part.
    pub fn name(&self) -> String {
        let scenario = self.scenario();
        format!(
            "{}, {}",
            scenario.baths[self.plan.bath.index()].name,
            scenario.part(self.plan.part).name
        )
    }

    /// The loads that can be dipped, each with what to pour.
    pub fn pours(&self) -> Vec<(&'s DipLoad, &'s Pour)> {
        self.plan.loads.iter().filter_map(|l| Some((l, l.pour.as_ref().ok()?))).collect()
    }

    /// The section of the first load that can be dipped.
    pub fn section(&self) -> Option<DipSection> {
        let (load, pour) = *self.pours().first()?;
        Some(DipSection::new(self.table, self.plan, load, pour))
    }

    /// The name of the solvent (0) or the dye (1).
    pub fn item(&self, which: usize) -> &'s str {
        &self.scenario().items[self.items[which].index()].name
    }

    /// How much of the solvent (0) or the dye (1): `128.0 mL`, with the weight where it is known.
    pub fn amount(&self, pour: &Pour, which: usize) -> String {
        let millionths = [pour.solvent, pour.dye][which];
        let volume = format!("{} mL", millilitres(millionths));
        match grams(self.shop, self.items[which], millionths) {
            Some(mass) => format!("{volume} ({} g)", fixed(mass, 1)),
            None => volume,
        }
    }

    /// How the part stands and which routes dip it.
    pub fn pose(&self) -> String {
        let routes: Vec<&str> =
            self.plan.routes.iter().map(|&r| self.scenario().route(r).name.as_str()).collect();
        let stands = match self.plan.stands {
            Some(sides) => {
                let [x, y, z] = sides.map(|side| side.half_away(2));
                format!("{x} x {y} mm, {z} mm tall with {} up", axis(self.plan.up))
            }
            None => "of unknown size".to_owned(),
        };
        format!("{stands}; by {}.", listed(&routes))
    }

    /// What else must be known of the dip.
    pub fn notes(&self) -> Vec<String> {
        let pours = self.pours();
        let mut notes: Vec<String> =
            pours.iter().filter_map(|(load, pour)| crowded(load, pour)).collect();
        if self.plan.estimated && !self.plan.depths.is_empty() {
            let text = "The immersed volume is an estimate, volume x immersed share of height: no mesh is measured.";
            notes.push(text.to_owned());
        }
        let Some((_, pour)) = pours.first() else {
            return notes;
        };
        let height = self.plan.stands.map_or(Exact::ZERO, |s| s[2]);
        if pour.depth < height {
            let dry = fixed(height - pour.depth, 1);
            notes.push(format!("The upper {dry} mm stay out and take no dye."));
        }
        if !self.table.displacers.is_zero() {
            notes.push(self.displacers());
        }
        if self.plan.shares_build {
            let text = "For this part alone: pieces of other parts in the same build go in with it and need less liquid.";
            notes.push(text.to_owned());
        }
        notes
    }

    fn displacers(&self) -> String {
        let volume = fixed(self.table.displacers, 1);
        if self.table.displacer_height.is_zero() {
            return format!(
                "{volume} mL of displacers are taken to be below the level, before as well."
            );
        }
        let height = self.table.displacer_height;
        format!(
            "{volume} mL of displacers, {height} mm tall, are taken to have straight sides; put them in first."
        )
    }
}

fn crowded(load: &DipLoad, pour: &Pour) -> Option<String> {
    let [boxes, free] = pour.crowded?.map(|area| fixed(area, 1));
    let pieces = pieces(load.copies);
    Some(format!(
        "Do they go in side by side? The boxes of {pieces} take {boxes} cm2, free at their underside are {free} cm2."
    ))
}

/// `1 piece`, `4 pieces`.
pub(super) fn pieces(count: i64) -> String {
    if count == 1 { "1 piece".to_owned() } else { format!("{count} pieces") }
}

/// An axis as users write it.
fn axis(up: Up) -> String {
    match up {
        Up::Axis { axis, down } => {
            let name = ["x", "y", "z"].get(axis).copied().unwrap_or("z");
            format!("{}{name}", if down { "-" } else { "" })
        }
        Up::Shortest => "its shortest side".to_owned(),
    }
}

/// Millilitres as a measuring cylinder shows them, below ten as a syringe does.
fn millilitres(millionths: i64) -> String {
    let decimals = if millionths < 10 * MILLION { 2 } else { 1 };
    fixed(Exact::from_millionths(millionths), decimals)
}

fn of_plan(shop: &Shop, plan: &DipPlan) -> Vec<Section> {
    let Some(words) = DipWords::new(shop, plan) else {
        return Vec::new();
    };
    let mut said = vec![words.pose()];
    for load in &plan.loads {
        if let Err(why) = &load.pour {
            said.push(format!("{} cannot be dipped: {why}.", together(load.copies)));
        }
    }
    said.extend(words.notes());
    let drawn = words.section().map(|section| Section {
        heading: String::new(),
        body: Body::Drawing(drawing(&section)),
        close: false,
        least: usize::MAX,
    });
    let parts = [Section::sentences(&words.name(), said), figures(&words), drawn, depths(&words)];
    parts.into_iter().flatten().collect()
}

fn together(copies: i64) -> String {
    if copies == 1 { "1 piece alone".to_owned() } else { format!("{copies} pieces together") }
}

/// What to pour and where it stands, a column for each load that can be dipped.
fn figures(words: &DipWords) -> Option<Section> {
    let pours = words.pours();
    let heads = pours.iter().map(|(load, _)| together(load.copies));
    let head: Vec<String> = std::iter::once("pour".to_owned()).chain(heads).collect();
    let row = |name: &str, of: &dyn Fn(&Pour) -> String| -> Vec<String> {
        let cells = pours.iter().map(|(_, pour)| of(pour));
        std::iter::once(name.to_owned()).chain(cells).collect()
    };
    let mm = |value: Exact| format!("{} mm", fixed(value, 1));
    let wetted = |pour: &Pour| match pour.wetted.is_zero() {
        true => "not known".to_owned(),
        false => format!("{} cm2", fixed(pour.wetted, 1)),
    };
    let rows = vec![
        row(words.item(0), &|p| words.amount(p, 0)),
        row(words.item(1), &|p| words.amount(p, 1)),
        row("level before, above the floor", &|p| mm(p.before)),
        row("level with the piece in", &|p| mm(p.level)),
        row("free under the rim", &|p| mm(p.free)),
        row("displaced", &|p| format!("{} mL", fixed(p.displaced, 1))),
        row("wetted surface", &wetted),
    ];
    if pours.is_empty() { None } else { Section::table(head, rows) }
}

/// What other depths ask for.
fn depths(words: &DipWords) -> Option<Section> {
    let loads = &words.plan.loads;
    let mut head = vec!["immersed".to_owned(), "level, mm".to_owned()];
    for load in loads {
        let of = if loads.len() > 1 { format!(" ({})", load.copies) } else { String::new() };
        head.extend(["solvent", "dye"].map(|what| format!("{what}{of}, mL")));
    }
    let rows = words.plan.depths.iter().map(depth_row).collect();
    Section::table(head, rows)
}

fn depth_row(row: &DepthRow) -> Vec<String> {
    let mut name = format!("{} mm", row.depth.half_away(2));
    let hindered = row.pours.iter().find_map(|pour| unusable(pour.err()?));
    let remarks =
        [row.covered.then_some("just under"), row.planned.then_some("as planned"), hindered];
    for remark in remarks.into_iter().flatten() {
        name.push_str(", ");
        name.push_str(remark);
    }
    let mut cells = vec![name, fixed(row.level, 1)];
    for pour in &row.pours {
        match pour {
            Ok(amounts) => cells.extend(amounts.map(millilitres)),
            Err(Hindrance::TooLittle) => cells.extend(["too little", "-"].map(str::to_owned)),
            Err(_) => cells.extend(["-", "-"].map(str::to_owned)),
        }
    }
    cells
}

/// Why a depth cannot be used, however many pieces go in.
fn unusable(why: Hindrance) -> Option<&'static str> {
    match why {
        Hindrance::TooHigh => Some("too high"),
        Hindrance::DisplacersStandOut => Some("displacers stand out"),
        Hindrance::TooWide => Some("too wide"),
        Hindrance::TooLittle => None,
    }
}

/// Why nothing can be said: no part is dipped in a dye bath.
pub fn no_dip(scenario: &Scenario) -> &'static str {
    let dyes = scenario.baths.iter().any(|bath| matches!(bath.kind, BathKind::Dye(_)));
    if dyes {
        "no route dips a part in a dye bath: name one in a step, such as `bath = \"green dye\"`"
    } else {
        "the scenario has no dye bath: add a `[[bath]]` with `kind = \"dye\"`, and name it in a step of a route"
    }
}
