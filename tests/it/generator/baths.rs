//! The plate and the baths of a description, large enough for its parts.

use super::write::{Writer, hundredths, line, supply_name, tenths};
use super::{BathPlan, DyePlan, Stocked, WashPlan};

/// Wash baths by number, in the order in which every route uses them.
pub const WASHES: [&str; 2] = ["first wash", "a second wash"];
/// Dye baths by number.
pub const DYES: [&str; 2] = ["moss tub", "black tub"];

/// A supply that is only in a bath.
const SOLVENT: &str = "spirit";
const DYE: &str = "moss dye";

/// Inside of a tub in mm: at the floor, at the rim (a round one has its diameter twice), and its depth.
struct Inside {
    bottom: [u32; 2],
    top: [u32; 2],
    depth: u32,
}

impl Writer<'_> {
    /// The dye baths there are: a dip needs boxes.
    pub fn dyes(&self) -> &[DyePlan] {
        if self.plan.boxes { &self.plan.room.dyes } else { &[] }
    }

    /// Supplies beside the list: what baths hold, where the list has none of the kind.
    pub fn liquids(&self) -> impl Iterator<Item = (&'static str, usize, &Stocked)> {
        let room = &self.plan.room;
        [(self.solvent(), SOLVENT, 0, &room.solvent), (self.dye(), DYE, 1, &room.dye)]
            .into_iter()
            .filter(|(used, own, ..)| used == own)
            .map(|(_, own, kind, stocked)| (own, kind, stocked))
    }

    fn solvent(&self) -> &'static str {
        self.supply(0, 0).unwrap_or(SOLVENT)
    }

    fn dye(&self) -> &'static str {
        self.supply(1, 1).unwrap_or(DYE)
    }

    fn supply(&self, number: usize, kind: usize) -> Option<&'static str> {
        let listed = self.plan.shop.supplies.get(number);
        listed.filter(|s| s.kind == kind).map(|_| supply_name(number, kind))
    }

    /// Longest side of any part.
    fn longest(&self) -> u32 {
        self.plan.parts.iter().flat_map(|p| p.size).max().unwrap_or(0)
    }

    /// Plate and height of the printer as its row says them.
    pub fn plate(&self) -> (Option<String>, Option<String>) {
        let room = &self.plan.room;
        // Gaps are below 8 mm, stand-offs too.
        let least = if room.tight { 0 } else { self.longest() + 8 };
        let plate = room.plate.map(|[x, y]| format!("{} x {} mm", x.max(least), y.max(least)));
        (plate, room.height.map(|h| format!("{} mm", h.max(least))))
    }

    /// Every `[[bath]]`.
    pub fn baths(&self) -> Vec<String> {
        let washes = self.plan.room.washes.iter().enumerate();
        let washes = washes.map(|(i, wash)| self.wash(WASHES[i], wash));
        let dyes = self.dyes().iter().enumerate().map(|(i, dye)| self.dye_bath(DYES[i], dye));
        washes.chain(dyes).collect()
    }

    fn bath(&self, name: &str, kind: &str, bath: &BathPlan) -> String {
        let solvent = self.solvent();
        let mut text =
            format!("[[bath]]\nname = \"{name}\"\nkind = \"{kind}\"\nsolvent = \"{solvent}\"\n");
        if let Some(limit) = bath.limit {
            line(&mut text, &format!("reuse_limit = {limit}"));
        }
        if let Some(film) = bath.film {
            line(&mut text, &format!("solvent_film = \"{} mm\"", hundredths(film)));
        }
        if let Some(evaporates) = bath.evaporates {
            line(&mut text, &format!("evaporates = \"{} mL per h\"", tenths(evaporates)));
        }
        text
    }

    fn wash(&self, name: &str, wash: &WashPlan) -> String {
        let mut text = self.bath(name, "wash", &wash.bath);
        line(&mut text, &format!("fill = \"{} mL\"", wash.fill));
        let shares = [("retire_share", wash.retire), ("carry_over", wash.over)];
        for (key, percent) in shares {
            if let Some(percent) = percent {
                line(&mut text, &format!("{key} = {}", hundredths(percent)));
            }
        }
        if let Some(film) = wash.resin_film {
            line(&mut text, &format!("resin_film = \"{} mm\"", hundredths(film)));
        }
        for (key, amount) in [("platform_carry", wash.carry), ("resin_now", wash.resin_now)] {
            if let Some(amount) = amount {
                line(&mut text, &format!("{key} = \"{} mL\"", tenths(amount)));
            }
        }
        if let Some(uses) = wash.uses_now {
            line(&mut text, &format!("uses_now = {uses}"));
        }
        text
    }

    fn dye_bath(&self, name: &str, dye: &DyePlan) -> String {
        let mut text = self.bath(name, "dye", &dye.bath);
        let Inside { bottom: [a, b], top: [c, d], depth } = self.inside(dye);
        let tub = if dye.round {
            format!("shape = \"round\", bottom = \"{a} mm\", top = \"{c} mm\"")
        } else {
            format!("shape = \"box\", bottom = \"{a} x {b} mm\", top = \"{c} x {d} mm\"")
        };
        line(
            &mut text,
            &format!("dye = \"{}\"\ntub = {{ {tub}, depth = \"{depth} mm\" }}", self.dye()),
        );
        line(&mut text, &format!("dye_share = {}", f64::from(dye.share) / 1000.0));
        if let Some((volume, height)) = dye.displacers {
            let height = height.min(self.level(dye));
            line(
                &mut text,
                &format!("displacers = \"{volume} mL\"\ndisplacer_height = \"{height} mm\""),
            );
        }
        match dye.depth {
            Some(depth) => line(&mut text, &format!("depth = \"{depth} mm\"")),
            None => line(&mut text, "depth = \"full\""),
        }
        let cover = dye.cover.filter(|_| dye.depth.is_none());
        let lengths = [("raise", dye.raise), ("cover", cover), ("freeboard", dye.freeboard)];
        for (key, length) in lengths {
            if let Some(length) = length {
                line(&mut text, &format!("{key} = \"{length} mm\""));
            }
        }
        if let Some(stir) = dye.stir {
            line(&mut text, &format!("stir_room = \"{stir} mL\""));
        }
        if let Some(days) = dye.keeps {
            line(&mut text, &format!("keeps = \"{days} d\""));
        }
        text
    }

    /// The lowest level any dip can have.
    fn level(&self, dye: &DyePlan) -> u32 {
        let flattest = self.plan.parts.iter().flat_map(|p| p.size).min().unwrap_or(1);
        dye.raise.unwrap_or(0) + dye.depth.unwrap_or(flattest + dye.cover.unwrap_or(0))
    }

    /// A tub in which all pieces together leave enough liquid; a tight one may be too narrow or too shallow for a part.
    fn inside(&self, dye: &DyePlan) -> Inside {
        let tight = self.plan.room.tight;
        let longest = self.longest();
        let level = self.level(dye);
        // What is below the level takes at most this cross-section at any level, in mm2.
        let beside = dye.displacers.map_or(0, |d| d.0) + dye.stir.unwrap_or(0);
        let area = self.cross_section() + beside * 1_000 / level + 1_000;
        let deepest = dye.depth.unwrap_or(longest + dye.cover.unwrap_or(0));
        let needed = dye.raise.unwrap_or(0) + deepest + dye.freeboard.unwrap_or(0) + 5;
        let depth = if tight { dye.shallow } else { needed };
        let bottom = if dye.round {
            // A circle of 10/8 of the area's square root in diameter is larger; a diagonal is below 3/2 of the longest side.
            [(area.isqrt() * 10 / 8 + 1).max(longest * 3 / 2 + 1); 2]
        } else {
            let width = if tight { dye.narrow } else { dye.narrow.max(longest + 1) };
            let width = width.max(area / 5_000);
            [(area / width + 1).max(longest + 1), width]
        };
        Inside { bottom, top: bottom.map(|side| side + dye.draft), depth }
    }

    /// Sum of volume / least height of all pieces there can be, in mm2.
    fn cross_section(&self) -> u32 {
        let last = self.plan.last.as_ref().and_then(|l| l.copies).unwrap_or(0);
        let of = |part: &super::PartPlan| {
            let [x, y, z] = part.size;
            let volume = if part.fill { x * y * z * 35 / 100 } else { part.volume * 100 };
            part.copies.max(last) * (volume / x.min(y).min(z) + 1)
        };
        self.plan.parts.iter().map(of).sum()
    }
}
