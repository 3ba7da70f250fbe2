//! What went through the steps together in an iteration, for those who ask where a figure comes from.
//!
//! Enters: a simulation that has just made an iteration. Leaves: its builds and lots with what each step takes. It is the load that the
//! floor worked with, not a second account of it.

use std::rc::Rc;

use super::event::Stop;
use super::job::JobKind;
use super::load::{self, Counted, Load};
use super::run::Simulation;
use super::{builds, builds::Packed};
use crate::model::{Exact, PartId, RouteId};
use crate::plan::{ConsumeTable, Shop};

/// A build, or a lot that goes through steps after it arrived.
#[derive(Clone, Debug)]
pub struct Made {
    /// The iteration it was made in.
    pub iteration: u32,
    load: Rc<Load>,
}

/// A supply that a step uses, and how often its amount counts.
#[derive(Clone, Copy, Debug)]
pub struct Supplied {
    /// The supply.
    pub uses: ConsumeTable,
    /// How often its amount counts.
    pub times: Exact,
    /// Its index among the supplies of the step, or of the route.
    pub index: usize,
    /// True where it is one of the route as a whole.
    pub of_route: bool,
}

impl Made {
    /// Its route.
    pub fn route(&self) -> RouteId {
        self.load.route
    }

    /// The part its entries name; `None` where it holds several.
    pub fn part(&self) -> Option<PartId> {
        self.load.part
    }

    /// The parts in it, each with its copies.
    pub fn parts(&self) -> impl Iterator<Item = (PartId, i64)> + '_ {
        self.load.wanted.iter().map(|w| (w.part, w.copies))
    }

    /// All pieces in it.
    pub fn pieces(&self) -> i64 {
        self.load.pieces
    }

    /// Parts in it whose design counts with it, if none of its other builds has begun before.
    pub fn designs(&self) -> i64 {
        self.load.designs
    }

    /// Seconds of its print run, a hold stated on the print step included; `None` where nothing is printed.
    pub fn print_seconds(&self) -> Option<i64> {
        self.load.print.map(|p| p.seconds)
    }

    /// mL of pieces and supports of its print run; 0 where nothing is printed.
    pub fn solid(&self) -> Exact {
        self.load.print.map_or(Exact::ZERO, |p| p.solid)
    }

    /// Layers of its print run; 0 where no layer height is stated.
    pub fn layers(&self) -> i64 {
        self.load.print.map_or(0, |p| p.layers)
    }

    /// The supplies of a step as often as is expected, with so many designs counted and so many millionths of mL of resin drawn.
    pub fn supplies(&self, shop: &Shop, step: usize, designs: i64, resin: i64) -> Vec<Supplied> {
        let route = shop.route(self.load.route);
        let Some(table) = route.steps.get(step) else {
            return Vec::new();
        };
        let how = Counted { counts: table.executions, attempt: 0, designs };
        let resin = (step == 0).then_some(resin);
        load::uses((&self.load, how), route, table, resin)
            .map(|(uses, times, index, of_route)| Supplied { uses: *uses, times, index, of_route })
            .collect()
    }
}

impl Simulation<'_, '_> {
    /// The builds and lots of the iteration that was made last.
    ///
    /// # Errors
    /// As [`Simulation::iterate`], which has found them already.
    pub fn made(&self) -> Result<Vec<Made>, Stop> {
        let (shop, wanted) = (self.shop(), self.wanted());
        let iteration = self.dates.last().map_or(0, |d| d.iteration);
        let mut packed = Packed::default();
        packed.suit(shop);
        let mut loads: Vec<Rc<Load>> = packed
            .start(shop, (wanted, false), iteration)?
            .iter()
            .filter(|load| load.kind == JobKind::Build)
            .cloned()
            .collect();
        let ordered: Vec<_> =
            wanted.iter().copied().filter(|w| shop.terms(w.route).is_some()).collect();
        for lot in builds::by_route(&ordered) {
            if !shop.route(lot[0].route).steps.is_empty() {
                loads.push(packed.lot(shop, &lot, iteration)?);
            }
        }
        Ok(loads.into_iter().map(|load| Made { iteration, load }).collect())
    }
}
