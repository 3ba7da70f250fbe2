//! Where something runs on past an in hand: what is otherwise if the work ends there.
//!
//! The entries of an iteration are those it makes while the project goes on. If the work ends with it, what still runs on is carried to its
//! end alone. [`Open`] holds both, so that a figure at `n` never depends on what follows `n`.

use crate::ledger::Ledger;
use crate::plan::Shop;
use crate::sim::{Event, Simulation, State, Stop};
use crate::value::{Notes, value};

/// One count after which something runs on.
#[derive(Clone, Debug)]
pub struct Open {
    /// The count.
    pub n: u32,
    /// Entries of iterations up to it that are made after its in hand, while the project goes on.
    pub late: Ledger,
    /// Entries made in their place if the work ends there.
    pub rest: Ledger,
    /// What must be told of prices there.
    pub notes: Notes,
    /// True where no iteration follows, whatever is asked about.
    pub lasting: bool,
}

/// What is known of such counts while a project is simulated.
#[derive(Debug, Default)]
pub struct Beyond {
    counts: Vec<Count>,
}

#[derive(Debug)]
struct Count {
    n: u32,
    /// Events so far, and when nothing up to `n` ran on any more.
    from: usize,
    to: Option<usize>,
    /// Events if the work ends here.
    rest: Vec<Event>,
}

impl Beyond {
    /// Looks at a simulation after iteration `n`: returns the state if the work ends there, where anything runs on.
    ///
    /// # Errors
    /// [`Stop`] where that cannot be carried to its end.
    pub fn look(&mut self, simulation: &Simulation, n: u32) -> Result<Option<State>, Stop> {
        let events = simulation.events.len();
        let oldest = simulation.running();
        for count in self.counts.iter_mut().rev().take_while(|count| count.to.is_none()) {
            if oldest.is_none_or(|oldest| oldest > count.n) {
                count.to = Some(events);
            }
        }
        let Some(ended) = simulation.ended()? else {
            return Ok(None);
        };
        let state = ended.state().clone();
        self.counts.push(Count { n, from: events, to: None, rest: ended.events });
        Ok(Some(state))
    }

    /// The counts up to the last that has entries, valued.
    pub fn open(&self, shop: &Shop, events: &[Event], last: u32) -> Result<Vec<Open>, Stop> {
        let counts = self.counts.iter().filter(|count| count.n <= last);
        counts
            .map(|count| {
                let to = count.to.unwrap_or(events.len()).min(events.len());
                let late = events[count.from..to].iter().filter(|e| e.iteration <= count.n);
                let rest = value(shop, &count.rest)?;
                Ok(Open {
                    n: count.n,
                    late: value(shop, late)?.ledger,
                    rest: rest.ledger,
                    notes: rest.notes,
                    lasting: count.from == events.len(),
                })
            })
            .collect()
    }
}
