//! Running plans: each is simulated once to the horizon and valued once; everything else reads the ledgers.

use std::ops::{Add, Sub};

use super::open::{Beyond, Open};
use super::{BathContent, Curves, Figures, Last, Leg, PlanResult, begin, failure, stop_text};
use crate::ledger::{Account, Category, Ledger, Total};
use crate::model::{BathId, Exact, Money, RouteId};
use crate::plan::{Pace, Plan, Shop};
use crate::sim::{Crowd, Dates, Event, Simulation, State, Stop};
use crate::value::{Notes, emptying_cost, value};

/// One plan, simulated and valued.
#[derive(Clone, Debug, Default)]
pub struct Project {
    /// Entries of all iterations, without finals.
    pub ledger: Ledger,
    /// Dates of the iterations.
    pub dates: Vec<Dates>,
    /// What must be told about prices up to the planned count.
    pub notes: Notes,
    /// The state before the first iteration and after each.
    pub states: Vec<State>,
    /// Where something runs on past an in hand: what is otherwise if the work ends there.
    pub open: Vec<Open>,
    /// The final on top of iteration `n`, by `n`, where it was asked for, with what still runs on.
    pub finals: Vec<(u32, Ledger, Dates)>,
    /// The state at the planned count after the final, or after what runs on.
    pub after_final: Option<State>,
    /// Where and why the simulation could not go on, beyond the planned count.
    pub ended: Option<(u32, Stop)>,
    /// Dips whose pieces may not go in side by side, the final's included.
    pub crowds: Vec<Crowd>,
}

impl Project {
    /// Simulates an assignment up to a horizon and values it; finals are added on top of the given counts.
    ///
    /// # Errors
    /// [`Stop`] where the plan cannot be carried out up to the planned count.
    pub fn run(
        shop: &Shop,
        assign: &[RouteId],
        horizon: u32,
        finals_at: &[u32],
    ) -> Result<Project, Stop> {
        let legs = [Leg::Makes(assign.to_vec())];
        Project::follow(shop, (&legs, Pace::PLAIN), horizon, finals_at)
    }

    /// The same of a plan, its unproven routes working.
    ///
    /// # Errors
    /// As [`Project::run`].
    pub fn of(shop: &Shop, plan: &Plan, horizon: u32, finals_at: &[u32]) -> Result<Project, Stop> {
        let legs = [Leg::Makes(plan.assign.clone())];
        let simulation = Simulation::new(shop).with_beside(&plan.beside);
        Project::carry_out(simulation, (&legs, plan.pace(shop)), horizon, finals_at)
    }

    /// The same with what comes before the iterations that make the project (a trial, a failed first iteration), and with variants.
    ///
    /// # Errors
    /// As [`Project::run`].
    pub fn follow(
        shop: &Shop,
        (legs, pace): (&[Leg], Pace),
        horizon: u32,
        finals_at: &[u32],
    ) -> Result<Project, Stop> {
        Project::carry_out(Simulation::new(shop), (legs, pace), horizon, finals_at)
    }

    fn carry_out(
        simulation: Simulation,
        (legs, pace): (&[Leg], Pace),
        horizon: u32,
        finals_at: &[u32],
    ) -> Result<Project, Stop> {
        let shop = simulation.shop();
        let mut project = Project::default();
        let mut beyond = Beyond::default();
        let mut simulation = simulation.with_variants(pace.variants);
        let done = shop.done();
        let assign = begin(&mut simulation, legs, done + 1, |_, _| {})?;
        let before = simulation.dates.len();
        project.states = vec![simulation.state().clone(); done as usize + 1];
        if done > 0 && finals_at.contains(&done) {
            project.add_final(shop, &simulation, assign, done)?;
        }
        for n in done + 1..=pace.most.unwrap_or(horizon).min(horizon) {
            match simulation.iterate(n, assign) {
                Ok(true) => project.states.push(simulation.state().clone()),
                Ok(false) => break,
                Err(stop) if n <= shop.planned => return Err(stop),
                Err(stop) => {
                    project.ended = Some((n, stop));
                    break;
                }
            }
            match beyond.look(&simulation, n) {
                Ok(after) if n <= shop.planned => project.after_final = after,
                Err(stop) if n <= shop.planned => return Err(stop),
                Err(stop) => {
                    project.ended = Some((n, stop));
                    break;
                }
                Ok(_) => {}
            }
            if finals_at.contains(&n) {
                project.add_final(shop, &simulation, assign, n)?;
            }
        }
        // Where no part is left to make, the final follows the last iteration there was.
        let made = u32::try_from(simulation.dates.len() - before).unwrap_or(u32::MAX) + done;
        let went_on = project.ended.is_none();
        for &n in finals_at.iter().filter(|&&n| n > made && went_on) {
            project.add_final(shop, &simulation, assign, n)?;
        }
        project.crowds.extend(simulation.crowds());
        project.value(shop, &simulation.events, beyond)?;
        let own = simulation.dates.split_off(before);
        let past = shop.scenario.past.iter().flat_map(|past| past.dates.iter().copied());
        project.dates = past.chain(own).collect();
        Ok(project)
    }

    fn add_final(
        &mut self,
        shop: &Shop,
        simulation: &Simulation,
        assign: &[RouteId],
        n: u32,
    ) -> Result<(), Stop> {
        let last = match simulation.last(n + 1, assign) {
            Ok(last) => last,
            Err(_) if n != shop.planned => None,
            Err(stop) => return Err(stop),
        };
        if let Some(last) = last {
            let valued = value(shop, &last.events)?;
            if n == shop.planned {
                self.after_final = Some(last.state().clone());
                self.crowds.extend(last.crowds());
                self.notes.merge(&valued.notes);
            }
            self.finals.push((n, valued.ledger, last.dates[0]));
        }
        Ok(())
    }

    /// Values the events; notes are kept up to the planned count only.
    fn value(&mut self, shop: &Shop, events: &[Event], beyond: Beyond) -> Result<(), Stop> {
        // What runs on from earlier iterations happens among the events of later ones.
        let later = events.iter().position(|e| e.iteration > shop.planned);
        let split = later.unwrap_or(events.len());
        let planned = value(shop, &events[..split])?;
        self.notes.merge(&planned.notes);
        let later = value(shop, &events[split..])
            .and_then(|later| Ok((later.ledger, beyond.open(shop, events, u32::MAX)?)));
        match later {
            Ok((later, open)) => {
                self.ledger = planned.ledger.joined(later, shop.scenario);
                self.open = open;
            }
            Err(stop) => {
                self.ended = Some((shop.planned + 1, stop));
                self.ledger = planned.ledger;
                self.open = beyond.open(shop, &events[..split], shop.planned)?;
            }
        }
        for open in self.open.iter().filter(|open| open.n <= shop.planned) {
            self.notes.merge(&open.notes);
        }
        if let Some(past) = &shop.scenario.past {
            let (entries, movements) = (past.entries.clone(), past.movements.clone());
            let before = Ledger::new(entries, movements, shop.scenario);
            let own = std::mem::take(&mut self.ledger);
            self.ledger = before.joined(own, shop.scenario);
        }
        Ok(())
    }

    /// What is otherwise if the work ends after `n` iterations than the entries up to it say; `None` where nothing runs on. Where nothing
    /// is made any more it stays as it was.
    pub(in crate::analysis) fn open_at(&self, n: u32) -> Option<&Open> {
        let last = self.open.last().filter(|open| open.lasting && open.n <= n);
        last.or_else(|| Some(&self.open[self.open.binary_search_by_key(&n, |open| open.n).ok()?]))
    }

    /// A sum over the ledger if the work ends after `n` iterations, with the final on top where there is one. `of` sums a ledger up to an
    /// iteration.
    fn sum<T>(&self, n: u32, of: impl Fn(&Ledger, u32) -> T) -> T
    where
        T: Add<Output = T> + Sub<Output = T>,
    {
        let all = |ledger: &Ledger| of(ledger, u32::MAX);
        let own = of(&self.ledger, n);
        match (self.open_at(n), self.final_at(n)) {
            (None, None) => own,
            (None, Some(last)) => own + all(&last.1),
            (Some(open), None) => own - all(&open.late) + all(&open.rest),
            (Some(open), Some(last)) => own - all(&open.late) + all(&last.1),
        }
    }

    /// The final on top of a count.
    pub fn final_at(&self, n: u32) -> Option<&(u32, Ledger, Dates)> {
        self.finals.iter().find(|f| f.0 == n)
    }

    /// Avoidable cost if the work ends after `n` iterations, with the final on top where there is one.
    pub fn cost_at(&self, n: u32) -> Money {
        self.sum(n, |ledger, n| ledger.total(Total::Avoidable, n))
    }

    fn in_hand(&self, shop: &Shop) -> i64 {
        let made = self.dates.len().min(shop.planned as usize);
        let own = made.checked_sub(1).map(|i| self.dates[i].in_hand);
        let last = self.final_at(shop.planned).map(|f| f.2.in_hand);
        last.or(own).unwrap_or(shop.start) - shop.start
    }

    /// The figures at the planned count, the final included.
    pub(super) fn figures(&self, shop: &Shop) -> Figures {
        let total = |t| self.sum(shop.planned, |ledger, n| ledger.total(t, n));
        let hours = |ledger: &Ledger, n| -> Exact {
            let labour = ledger.up_to(n).filter(|e| e.category == Category::Labour);
            labour.map(|e| e.quantity).sum()
        };
        let wasted = |ledger: &Ledger, n: u32| -> i64 {
            let to_waste =
                |m: &&crate::ledger::Movement| m.iteration <= n && m.to == Account::Waste;
            ledger.movements().iter().filter(to_waste).map(|m| m.amount).sum()
        };
        Figures {
            avoidable: total(Total::Avoidable),
            outlay: total(Total::Outlay),
            consumed: total(Total::Consumed),
            attended: self.sum(shop.planned, hours),
            seconds: self.in_hand(shop),
            waste: self.sum(shop.planned, wasted),
        }
    }

    /// What is in the baths in service at the planned count, the final included.
    fn baths(&self, shop: &Shop) -> Vec<BathContent> {
        let last = (shop.planned as usize).min(self.states.len().saturating_sub(1));
        let Some(state) = self.after_final.as_ref().or(self.states.get(last)) else {
            return Vec::new();
        };
        let in_service = state.baths().iter().enumerate().filter(|(_, b)| b.mixture() > 0);
        in_service
            .map(|(index, bath)| {
                let content = bath.mixture();
                BathContent {
                    bath: BathId::at(index),
                    content,
                    emptying: emptying_cost(shop, BathId::at(index), content),
                }
            })
            .collect()
    }

    /// Everything an answer says of the plan.
    pub(super) fn result(&self, shop: &Shop, plan: Plan) -> PlanResult {
        let decides = self.figures(shop);
        let last = self.final_at(shop.planned).map(|(_, ledger, dates)| Last {
            dates: *dates,
            figures: decides,
            ledger: ledger.clone(),
        });
        PlanResult {
            curves: Curves::of(shop, self),
            dates: self.dates.clone(),
            last,
            decides,
            baths: self.baths(shop),
            failure: failure(shop, &plan),
            unproven: None,
            notes: self.notes.clone(),
            crowds: self.crowds.clone(),
            ended: self.ended.as_ref().map(|(n, stop)| (*n, stop_text(shop.scenario, stop))),
            plan,
        }
    }
}

/// The entries of iterations 1 to the planned count, and of the final as iteration planned + 1.
///
/// # Errors
/// [`Stop`] where the plan cannot be carried out.
pub fn plan_ledger(shop: &Shop, assign: &[RouteId]) -> Result<Ledger, Stop> {
    ledger_of(shop, &Plan::unnamed(shop.scenario, assign.to_vec()))
}

/// The same of a plan with what it has beside routes: variants, second routes.
///
/// # Errors
/// As [`plan_ledger`].
pub fn ledger_of(shop: &Shop, plan: &Plan) -> Result<Ledger, Stop> {
    let project = Project::of(shop, plan, shop.planned, &[shop.planned])?;
    let rest = project.open_at(shop.planned).map(|open| open.rest.clone());
    let last = project.finals.into_iter().next().map(|last| last.1);
    Ok(match last.or(rest) {
        Some(ledger) => project.ledger.joined(ledger, shop.scenario),
        None => project.ledger,
    })
}
