//! Numbers typed in: a scenario is loaded again with some of its numbers replaced, as if a person had edited the files.
//!
//! What is typed goes through the same reading as what is written, so its unit, its range and all that rests on it are judged alike. Meshes
//! are read once.

use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::{Mutex, PoisonError};

use super::load::{Loaded, loaded};
use super::reading::{Load, Readings, Typed};
use super::settings::Overrides;
use crate::diag::Severity;
use crate::model::{CountDraw, Exact, Scenario, Slots};

/// One number typed in: its address, and its text as it would stand in a file, such as `20 min`.
pub type TypedText<'t> = (&'t str, &'t str);

/// What a typed number turns out to be.
#[derive(Clone, Debug, PartialEq)]
pub enum TypedIn {
    /// A number, in base units; nothing else of the scenario changes with it.
    Number(Exact),
    /// A number that decides how the rest is read: other numbers or rows change with it.
    Shaping(Exact),
    /// The scenario is not valid with it, and why: the first finding, with what to do.
    Refused(String),
    /// Nothing reads it from a file: a mesh or a rule states it.
    Unread,
}

/// Types numbers into one scenario.
#[derive(Debug)]
pub struct Typist {
    path: PathBuf,
    shape: String,
    slots: Slots,
    readings: Mutex<Readings>,
}

impl Typist {
    /// Begins with a scenario as it was loaded from a path.
    pub fn new(path: &Path, scenario: &Scenario) -> Typist {
        Typist {
            path: path.to_owned(),
            shape: shape(scenario),
            slots: scenario.slots.clone(),
            readings: Mutex::default(),
        }
    }

    /// Loads the scenario with some numbers typed in.
    pub fn load(&self, typed: &[TypedText]) -> Loaded {
        self.read(typed).0
    }

    /// What one more number turns out to be where others are typed in already.
    pub fn number(&self, others: &[TypedText], one: TypedText) -> TypedIn {
        let typed: Vec<TypedText> = others.iter().copied().chain([one]).collect();
        let (loaded, unread) = self.read(&typed);
        if unread.iter().any(|address| address == one.0) {
            return TypedIn::Unread;
        }
        let scenario = match scenario_or_why(loaded) {
            Ok(scenario) => scenario,
            Err(why) => return TypedIn::Refused(why),
        };
        let own = scenario.slots.iter().find(|(_, input)| input.address == one.0);
        let Some(value) = own.map(|(_, input)| input.likely) else {
            return TypedIn::Unread;
        };
        // Beside others typed in the rest differs from the files in any case.
        if !others.is_empty() || self.is_alike(&scenario, one.0) {
            TypedIn::Number(value)
        } else {
            TypedIn::Shaping(value)
        }
    }

    fn read(&self, typed: &[TypedText]) -> (Loaded, Vec<String>) {
        let readings = || self.readings.lock().unwrap_or_else(PoisonError::into_inner);
        let mut load = Load::default();
        load.meshes.read = readings().clone();
        let texts = typed.iter().map(|&(address, text)| (address.to_owned(), Rc::from(text)));
        load.typed.texts = texts.collect();
        let loaded = loaded(&self.path, (&Overrides::default(), None), &mut load);
        *readings() = std::mem::take(&mut load.meshes.read);
        let Typed { texts, read } = std::mem::take(&mut load.typed);
        (loaded, texts.into_keys().filter(|address| !read.contains(address)).collect())
    }

    /// True where nothing but the number at one address differs from the scenario as it is.
    fn is_alike(&self, scenario: &Scenario, address: &str) -> bool {
        let pairs = self.slots.iter().zip(scenario.slots.iter());
        self.slots.len() == scenario.slots.len()
            && pairs.into_iter().all(|((_, ours), (_, theirs))| {
                (&ours.address, ours.dim) == (&theirs.address, theirs.dim)
                    && (ours.likely == theirs.likely || ours.address == address)
            })
            && self.shape == shape(scenario)
    }
}

/// The scenario, or the first thing that is wrong with it.
pub fn scenario_or_why(loaded: Loaded) -> Result<Scenario, String> {
    let Loaded { scenario, log, .. } = loaded;
    scenario.filter(|_| !log.has_errors()).ok_or_else(|| {
        let first = log.found.iter().find(|d| d.severity == Severity::Error);
        first.map_or_else(String::new, |d| match &d.hint {
            Some(hint) => format!("{}; {hint}", d.message),
            None => d.message.clone(),
        })
    })
}

/// Everything about a scenario that decides a planning run, its numbers left out.
fn shape(scenario: &Scenario) -> String {
    let mut bare = scenario.clone();
    bare.slots = Slots::default();
    bare.sources.clear();
    bare.not_counted.clear();
    // Curves end at the horizon, and only a sampled run draws the count.
    bare.iterations.horizon = 0;
    bare.iterations.drawn = CountDraw::Spread;
    for part in &mut bare.parts {
        part.mesh = None;
    }
    format!("{bare:?}")
}
