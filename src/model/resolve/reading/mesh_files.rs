//! Meshes read so far, each file once.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::mesh::{Check, Format, Mesh, MeshError, Source, check, read};

/// Meshes read so far.
#[derive(Default)]
pub struct Meshes {
    /// The folder that paths of meshes start from.
    pub base: PathBuf,
    /// Parts whose mesh was refused: what else they lack follows from that.
    pub refused: BTreeSet<String>,
    /// By path.
    pub read: Readings,
}

/// What was read from meshes, by path.
pub type Readings = BTreeMap<PathBuf, Result<Arc<Reading>, MeshError>>;

/// A mesh and what was found about it.
#[derive(Debug)]
pub struct Reading {
    /// The mesh.
    pub mesh: Arc<Mesh>,
    /// Whether it can be trusted.
    pub check: Check,
}

impl Meshes {
    /// The files that were read.
    pub fn files(&self) -> impl Iterator<Item = &PathBuf> {
        self.read.iter().filter(|(_, read)| read.is_ok()).map(|(path, _)| path)
    }

    /// The mesh of a path; it is read where it was not yet.
    pub fn of(&mut self, path: PathBuf) -> Result<Arc<Reading>, MeshError> {
        let reading = |path: &Path| {
            let mesh = read(&Source::Path(path), Format::of(path)?)?;
            let check = check(&mesh)?;
            Ok(Arc::new(Reading { mesh: Arc::new(mesh), check }))
        };
        self.read.entry(path).or_insert_with_key(|path| reading(path)).clone()
    }
}
