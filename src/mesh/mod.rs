//! Meshes: files in; volume, area, box, trustworthiness and immersed volume out.
//!
//! A mesh file is a list of triangles without a unit (3MF states one). Everything here is in *file units*: lengths in them, areas in
//! their squares, volumes in their cubes; whoever asks knows what one of them is in millimetres. Nothing here knows a part, a route
//! or a price, and nothing prints.
//!
//! * [`read`] makes a [`Mesh`] of an STL, OBJ or 3MF file, with bit-equal corners welded; [`measure`] gives a [`Measure`] without
//!   keeping the triangles, which is faster and needs no memory to speak of.
//! * [`check`] says whether a mesh encloses a volume that can be trusted, and counts what is wrong where it does not.
//! * [`Posed`] stands a mesh on one of its six sides and gives the volume below a level.
//!
//! All sums are taken in a fixed order, so a figure never depends on the machine's number of threads.

mod check;
mod clip;
mod edges;
mod error;
mod measure;
mod nest;
mod obj;
mod pose;
mod read;
mod shells;
mod source;
mod stl;
mod stl_ascii;
mod stl_binary;
mod sums;
mod text;
mod threemf;
mod threemf_model;
mod threemf_parts;
mod unit;
mod weld;

#[cfg(test)]
mod shapes;

pub use check::{Check, check};
pub use clip::{Immersed, Posed};
pub use edges::EdgeCounts;
pub use error::MeshError;
pub use measure::{Bounds, Measure, Point, Triangle};
pub use pose::Up;
pub use read::{Format, measure, measure_with_threads, read};
pub use shells::Shell;
pub use source::{MAX_FILE_BYTES, Source};
pub use threemf_parts::{MAX_INFLATED_BYTES, MAX_PLACED};
pub use unit::MeshUnit;
pub use weld::{Mesh, Welder};
