//! What loading gathers on its way: findings, numbers, sources, currencies, and what has no price.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use super::currency::Currencies;
use super::mesh_files::Meshes;
use super::typed::Typed;
use crate::diag::{Code, Diagnostic, Log, Place, did_you_mean_or_list, unseen};
use crate::model::{Input, Slot, Slots, SourceId};

/// The state of one loading.
#[derive(Default)]
pub struct Load {
    /// Every finding so far.
    pub log: Log,
    /// Every number so far.
    pub slots: Slots,
    /// Currencies met so far; the scenario's is the first.
    pub currencies: Currencies,
    /// True where the scenario has a start date, so that other dates mean something.
    pub has_start: bool,
    /// What has no price, in words.
    pub not_counted: Vec<String>,
    /// Numbers that are placeholders: what does not fit them says nothing.
    pub faulty: BTreeSet<Slot>,
    /// Meshes read so far.
    pub meshes: Meshes,
    /// Numbers typed in the place of those of the files, by address.
    pub typed: Typed,
    sources: Vec<String>,
    places: Vec<Option<Place>>,
}

impl Load {
    /// Records where a number or row comes from.
    pub fn source(&mut self, text: String, place: Option<&Place>) -> SourceId {
        let id = SourceId(u32::try_from(self.sources.len()).unwrap_or(u32::MAX));
        self.sources.push(text);
        self.places.push(place.cloned());
        id
    }

    /// The source of a line: `materials.csv:2`.
    pub fn source_line(&mut self, place: &Place) -> SourceId {
        self.source(line_of(place), Some(place))
    }

    /// The place of a source, where it is in a file.
    pub fn place_of(&self, id: SourceId) -> Option<&Place> {
        self.places.get(id.0 as usize).and_then(Option::as_ref)
    }

    /// The files of all sources, and the meshes.
    pub fn files(&self) -> BTreeSet<PathBuf> {
        let places = self.places.iter().flatten().map(|p| PathBuf::from(&p.file.path));
        places.chain(self.meshes.files().cloned()).collect()
    }

    /// The texts of all sources, and where each is written.
    pub fn take_sources(&mut self) -> (Vec<String>, Vec<Option<Place>>) {
        (std::mem::take(&mut self.sources), std::mem::take(&mut self.places))
    }

    /// Adds a number.
    pub fn add(&mut self, input: Input) -> Slot {
        self.slots.add(input)
    }

    /// The number typed in at an address, if one is.
    pub fn typed(&mut self, address: &str) -> Option<Rc<str>> {
        self.typed.take(address)
    }

    /// Logs an error; an empty hint is left out.
    pub fn error(
        &mut self,
        code: Code,
        place: &Place,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let hint = hint.into();
        let finding = Diagnostic::error(code, place, message);
        self.log.push(if hint.is_empty() { finding } else { finding.hint(hint) });
    }

    /// Logs a warning with a hint.
    pub fn warn(
        &mut self,
        code: Code,
        place: &Place,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.log.push(Diagnostic::warning(code, place, message).hint(hint));
    }

    /// Logs that a name is not known, with the nearest one that is.
    pub fn unknown_name(
        &mut self,
        code: Code,
        place: &Place,
        what: &str,
        (found, known): (&str, &[&str]),
    ) {
        let message = format!("no {what} is called `{found}`");
        let hint = unseen(found).unwrap_or_else(|| did_you_mean_or_list(found, known));
        self.error(code, place, message, hint);
    }

    /// Logs that a name stands for two things.
    pub fn duplicate(&mut self, what: &str, name: &str, second: &Place, first: &Place) {
        let finding = Diagnostic::error(
            Code::DuplicateName,
            second,
            format!("two {what} are called `{name}`"),
        );
        self.log.push(finding.see(first, "the first").hint("give each its own name"));
    }

    /// Logs that two keys exclude each other.
    pub fn conflict(
        &mut self,
        code: Code,
        short: (&str, &Place),
        detail: (&str, &Place),
        hint: &str,
    ) {
        let message = format!("`{}` and `{}` exclude each other", short.0, detail.0);
        let finding = Diagnostic::error(code, short.1, message);
        self.log.push(finding.see(detail.1, format!("`{}` is here", detail.0)).hint(hint));
    }

    /// Notes something that has no price, once.
    pub fn not_counted(&mut self, text: String) {
        if !self.not_counted.contains(&text) {
            self.not_counted.push(text);
        }
    }

    /// The likely, low and high value of a number, to compare two.
    pub fn spread(&self, slot: Slot) -> [crate::model::Exact; 3] {
        let input = self.slots.get(slot);
        [input.low, input.likely, input.high]
    }
}

/// The name of a file without its folders, so that results do not depend on where it lies.
pub fn file_name(place: &Place) -> String {
    let path = Path::new(&place.file.path);
    path.file_name().map_or_else(|| place.file.path.clone(), |n| n.to_string_lossy().into_owned())
}

/// File and line: `materials.csv:2`.
pub fn line_of(place: &Place) -> String {
    format!("{}:{}", file_name(place), place.line)
}
