//! Naming what is no number in the difference between two runs: things that came or went, texts that say something else.

use std::collections::{BTreeMap, BTreeSet};

use super::Number;
use crate::input::Run;
use crate::model::{RECORD_FILE, Scenario};

/// Something that is no number of both runs.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Other {
    /// A part, route, step or row that came, by its address; or a number that is stated now.
    Came(String),
    /// One that went.
    Went(String),
    /// A text that came, went or says something else.
    Text {
        /// Its key.
        key: String,
        /// What it said; `None` where it was not there.
        before: Option<String>,
        /// What it says.
        after: Option<String>,
    },
    /// A file whose content is told as a whole: a mesh, the record.
    File(String),
    /// What the command line asked for.
    Asked {
        /// The option.
        option: String,
        /// Its value in the older run; `None` where it was not given.
        before: Option<String>,
        /// Its value in the newer one.
        after: Option<String>,
    },
    /// Another version of the program.
    Version {
        /// The older run's.
        before: String,
        /// The newer run's.
        after: String,
    },
}

/// Everything that differs between two runs and is none of these numbers, in order.
pub(super) fn named(
    (before, after): (&Run, &Run),
    numbers: &[Number],
    scenario: &Scenario,
) -> Vec<Other> {
    let (was, is) = (Keys::of(before), Keys::of(after));
    let told = |n: &Number| scenario.slots.get(n.slot).address.as_str();
    let told: BTreeSet<&str> = numbers.iter().map(told).collect();
    let all: BTreeSet<&str> = was.all.keys().chain(is.all.keys()).copied().collect();
    let mut found: BTreeSet<Other> = BTreeSet::new();
    for key in all.into_iter().filter(|key| !told.contains(key)) {
        let (a, b) = (was.all.get(key), is.all.get(key));
        if a == b {
            continue;
        }
        let owner = |keys: &Keys| owners(key).find(|owner| !keys.owners.contains(owner));
        found.insert(match (a, b) {
            (None, Some(_)) if owner(&was).is_some() => came(owner(&was), key),
            (Some(_), None) if owner(&is).is_some() => went(owner(&is), key),
            (None, Some(said)) if said.number => Other::Came(key.to_owned()),
            (Some(said), None) if said.number => Other::Went(key.to_owned()),
            _ => {
                let text = |said: Option<&Said>| said.map(|s| s.text.clone());
                Other::Text { key: key.to_owned(), before: text(a), after: text(b) }
            }
        });
    }
    // The order of a list is told where nothing of it came or went.
    let listed = |key: &str| {
        let within = format!("{key}[");
        let whole =
            |o: &&Other| matches!(o, Other::Came(k) | Other::Went(k) if k.starts_with(&within));
        found.iter().any(|o| whole(&o))
    };
    let said = |o: &&Other| !matches!(o, Other::Text { key, .. } if listed(key));
    let mut result: Vec<Other> = found.iter().filter(said).cloned().collect();
    // What a scenario and its sheets say is told by key; a record comes to numbers of its own.
    let is_text = |name: &str| {
        name != RECORD_FILE
            && [".csv", ".toml"].iter().any(|end| name.to_lowercase().ends_with(end))
    };
    let other_content = differing(&before.files, &after.files).filter(|(name, ..)| !is_text(name));
    result.extend(other_content.map(|(name, ..)| Other::File(name)));
    let asked = differing(&before.options, &after.options);
    result.extend(asked.map(|(option, before, after)| Other::Asked { option, before, after }));
    if before.version != after.version {
        let (before, after) = (before.version.clone(), after.version.clone());
        result.push(Other::Version { before, after });
    }
    result
}

fn came(owner: Option<&str>, key: &str) -> Other {
    Other::Came(owner.unwrap_or(key).to_owned())
}

fn went(owner: Option<&str>, key: &str) -> Other {
    Other::Went(owner.unwrap_or(key).to_owned())
}

/// What a run says at a key.
#[derive(PartialEq, Eq)]
struct Said {
    text: String,
    number: bool,
}

/// Everything a run says, and the things that own some of it.
struct Keys<'r> {
    all: BTreeMap<&'r str, Said>,
    owners: BTreeSet<&'r str>,
}

impl<'r> Keys<'r> {
    fn of(run: &'r Run) -> Keys<'r> {
        let numbers = run.inputs.iter().map(|input| {
            let text = input.spread().join("..");
            (input.key.as_str(), Said { text, number: true })
        });
        let texts = run
            .texts
            .iter()
            .map(|(key, text)| (key.as_str(), Said { text: text.clone(), number: false }));
        let all: BTreeMap<&str, Said> = numbers.chain(texts).collect();
        let owners = all.keys().flat_map(|key| owners(key)).collect();
        Keys { all, owners }
    }
}

/// The named things an address lies in, the outermost first: `route[x]`, `route[x].steps[dye]`.
fn owners(key: &str) -> impl Iterator<Item = &str> {
    key.match_indices("].").map(|(at, _)| &key[..=at])
}

type Differing = (String, Option<String>, Option<String>);

fn differing<'m>(
    a: &'m BTreeMap<String, String>,
    b: &'m BTreeMap<String, String>,
) -> impl Iterator<Item = Differing> + 'm {
    let keys: BTreeSet<&String> = a.keys().chain(b.keys()).collect();
    keys.into_iter()
        .filter(|&key| a.get(key) != b.get(key))
        .map(|key| (key.clone(), a.get(key).cloned(), b.get(key).cloned()))
}

#[cfg(test)]
mod tests {
    use super::owners;

    #[test]
    fn owners_come_from_the_outermost() {
        let found: Vec<&str> = owners("route[a, b].steps[dye].consumes[x].amount").collect();
        assert_eq!(
            found,
            ["route[a, b]", "route[a, b].steps[dye]", "route[a, b].steps[dye].consumes[x]"]
        );
        assert_eq!(owners("labour").count(), 0);
    }
}
