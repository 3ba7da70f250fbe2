//! Cautions for the steps that are used, one line each. They defer to data sheets, manuals, rules and licensed practice.

use crate::model::{BathKind, ItemClass, ItemId, Route, RouteKind, Step};
use crate::report::Subject;

const RESIN: &str =
    "Resin: gloves, eye shield, fresh air; it can sensitise skin. See its safety data sheet.";
const SOLVENT: &str =
    "Solvent: the vapour catches fire. Fresh air, no flame or spark; dispose of it by local rules.";
const DYED: &str = "Solvent, dyed too: the vapour catches fire. Fresh air, no flame or spark; discard by local rules.";
const LIGHT: &str =
    "UV light and heat: shield eyes and skin, let hot parts cool. See the equipment manual.";
const INSERTS: &str = "Heat-set inserts do not hold in cured resin, which does not melt: glue, press or screw instead.";
const BENCH: &str =
    "Bench work: follow the equipment manuals and the safety data sheets of what is used.";
const DEFER: &str = "Data sheets, equipment manuals, local rules and licensed practice come before anything said here.";

/// Words in names of steps and equipment that mean ultraviolet light or heat.
const LIGHT_WORDS: [&str; 10] =
    ["cure", "curing", "uv", "ultraviolet", "lamp", "warm", "heat", "hot", "oven", "bake"];

/// One caution a line for what the used routes do; empty where nothing is done at the bench.
pub fn cautions(subject: &Subject) -> Vec<String> {
    let hazards = Hazards::of(subject);
    let mut said: Vec<&str> = [
        (hazards.resin, RESIN),
        (hazards.solvent && !hazards.dye, SOLVENT),
        (hazards.dye, DYED),
        (hazards.light, LIGHT),
        (hazards.inserts, INSERTS),
    ]
    .into_iter()
    .filter_map(|(is_there, text)| is_there.then_some(text))
    .collect();
    if said.is_empty() && hazards.bench {
        said.push(BENCH);
    }
    if !said.is_empty() {
        said.push(DEFER);
    }
    said.into_iter().map(str::to_owned).collect()
}

#[derive(Default)]
struct Hazards {
    bench: bool,
    resin: bool,
    solvent: bool,
    light: bool,
    dye: bool,
    inserts: bool,
}

impl Hazards {
    fn of(subject: &Subject) -> Hazards {
        let mut hazards = Hazards::default();
        for (_, route) in subject.used_routes() {
            consumed(route).for_each(|item| hazards.add_item(subject, item));
            for (bath, _) in route.steps.iter().filter_map(|s| s.bath) {
                hazards.solvent = true;
                hazards.dye |=
                    matches!(subject.scenario().baths[bath.index()].kind, BathKind::Dye(_));
            }
            hazards.light |= route.steps.iter().any(|s| is_light(subject, s));
            if let RouteKind::Bench(bench) = &route.kind {
                hazards.inserts |= bench.print.is_some()
                    && (route.steps.iter().any(|s| names_inserts(&s.name))
                        || consumed(route).any(|item| {
                            names_inserts(&subject.scenario().items[item.index()].name)
                        }));
                hazards.bench = true;
                // Printing is with light-curing resin; the short form leaves washing and curing unsaid.
                hazards.resin |= bench.print.is_some();
                hazards.light |= bench.print.is_some() && bench.short;
            }
        }
        hazards
    }

    fn add_item(&mut self, subject: &Subject, item: ItemId) {
        match subject.scenario().items[usize::from(item.0)].class {
            ItemClass::Resin => self.resin = true,
            ItemClass::Solvent => self.solvent = true,
            ItemClass::Dye => self.dye = true,
            ItemClass::Supply => {}
        }
    }
}

/// What a route and its steps use up.
fn consumed(route: &Route) -> impl Iterator<Item = ItemId> {
    let of_steps = route.steps.iter().flat_map(|s| &s.consumes);
    of_steps.chain(&route.consumes).map(|consume| consume.item)
}

/// True if a name speaks of heat-set inserts: `heat-set inserts M3`, `press in heat set nuts`.
fn names_inserts(name: &str) -> bool {
    let words: Vec<String> =
        name.to_lowercase().split(|c: char| !c.is_alphanumeric()).map(str::to_owned).collect();
    words.windows(2).any(|pair| pair == ["heat", "set"]) || words.iter().any(|w| w == "heatset")
}

fn is_light(subject: &Subject, step: &Step) -> bool {
    let at = step.at.map(|id| subject.scenario().equipment[usize::from(id.0)].name.as_str());
    [Some(step.name.as_str()), at].into_iter().flatten().any(names_light)
}

/// True if a word of the name means ultraviolet light or heat: `post-cure` does, `photograph` does not.
fn names_light(name: &str) -> bool {
    let lower = name.to_lowercase();
    lower
        .split(|c: char| !c.is_alphanumeric())
        .any(|word| LIGHT_WORDS.iter().any(|w| word == *w || word.strip_suffix("ing") == Some(w)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn light_and_heat_are_known_by_their_words() {
        for name in ["cure", "post-cure", "UV box", "warm plate", "heating"] {
            assert!(names_light(name), "{name}");
        }
        for name in ["photograph", "dry", "trim supports", "hotel"] {
            assert!(!names_light(name), "{name}");
        }
    }

    #[test]
    fn heat_set_inserts_are_known_by_name() {
        for name in ["heat-set inserts M3", "press in Heat Set nuts", "heatset insert"] {
            assert!(names_inserts(name), "{name}");
        }
        for name in ["heat", "set", "insert foam", "set heat", "press-fit insert"] {
            assert!(!names_inserts(name), "{name}");
        }
    }

    #[test]
    fn every_caution_fits_one_line() {
        for text in [RESIN, SOLVENT, DYED, LIGHT, INSERTS, BENCH, DEFER] {
            assert!(text.len() <= 98, "{text}");
        }
    }
}
