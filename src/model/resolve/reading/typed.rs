//! Numbers typed in the place of those of the files, by address.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// Numbers that stand in the place of those written, by address.
#[derive(Default)]
pub struct Typed {
    /// What was typed, by address.
    pub texts: BTreeMap<String, Rc<str>>,
    /// Addresses that something has read.
    pub read: BTreeSet<String>,
}

impl Typed {
    /// The text at an address, which counts as read from now on.
    pub fn take(&mut self, address: &str) -> Option<Rc<str>> {
        let text = self.texts.get(address).cloned()?;
        self.read.insert(address.to_owned());
        Some(text)
    }
}
