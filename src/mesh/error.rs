//! What can be wrong with a mesh: a typed finding goes in, plain sentences come out.
//!
//! [`MeshError::message`] says what was found and what was expected, [`MeshError::hint`] what to do; `Display` gives both. The name
//! of the file is not in them: whoever opened the file knows it.

use std::fmt;

/// Why a mesh was refused.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum MeshError {
    /// The system could not open or read the file; its own words are kept.
    Unreadable(String),
    /// A folder, pipe or device.
    NotAFile,
    /// More bytes, triangles or placed objects than allowed.
    TooLarge {
        /// What there is too much of.
        what: &'static str,
        /// How much was found (at least).
        found: u64,
        /// How much is allowed.
        limit: u64,
    },
    /// The name of the file ends in something other than .stl, .obj or .3mf.
    UnknownFormat(String),
    /// The file has the content of another format than its name says.
    OtherContent {
        /// The format that was expected.
        expected: &'static str,
        /// What the content looks like.
        found: &'static str,
    },
    /// No triangle at all.
    Empty,
    /// Neither text nor long enough for a binary STL.
    TooShort {
        /// Bytes in the file.
        bytes: u64,
    },
    /// A binary STL whose length does not fit its own count of triangles.
    WrongLength {
        /// The count in the header.
        stated: u64,
        /// The length that count calls for, in bytes.
        expected: u64,
        /// The length of the file in bytes.
        bytes: u64,
    },
    /// A triangle with a coordinate that is infinite or no number.
    NotFinite {
        /// Which triangle of the file, from 1.
        triangle: u64,
    },
    /// Coordinates so large that volume or area has no finite value.
    Overflow,
    /// A line of a text format that cannot be understood.
    Line {
        /// Which line, from 1.
        line: u64,
        /// What stands there.
        found: String,
        /// What was expected.
        expected: &'static str,
    },
    /// The end of the file in the middle of something.
    CutOff {
        /// The last line, from 1.
        line: u64,
        /// What should have followed.
        expected: &'static str,
    },
    /// A face names a vertex that the file does not hold.
    MissingVertex {
        /// Where: a line (`line 12`) or a triangle of an object.
        place: String,
        /// The number as written.
        index: i64,
        /// How many vertices there are.
        known: u64,
    },
    /// Not a zip archive, or a damaged one.
    BadZip(String),
    /// A 3MF without the part that holds the model.
    MissingPart(String),
    /// A 3MF part that is not well-formed, or lacks what it needs.
    Xml {
        /// Name of the part in the archive.
        part: String,
        /// Byte position in the inflated part.
        at: u64,
        /// What was found there.
        found: String,
    },
    /// An object of a 3MF that is not there.
    UnknownObject {
        /// Its number.
        id: u64,
    },
    /// A 3MF object that contains itself, directly or by others.
    Recursive {
        /// Its number.
        id: u64,
    },
    /// Edges met by one triangle only, or by more than two.
    NotClosed {
        /// Edges met once.
        open: u64,
        /// Edges met more than twice.
        non_manifold: u64,
    },
    /// Triangles that disagree on which side is outside.
    MixedWinding {
        /// Edges whose two triangles run the same way along them.
        edges: u64,
        /// Shells turned inside out that are not cavities of another shell.
        shells: u64,
    },
    /// A closed surface that encloses nothing.
    NoVolume,
}

impl MeshError {
    /// What was found and what was expected: a lower-case fragment without full stop.
    pub fn message(&self) -> String {
        match self {
            Self::Unreadable(why) => format!("the mesh cannot be read: {why}"),
            Self::NotAFile => "the mesh is not an ordinary file".to_owned(),
            Self::TooLarge { what, found, limit } => {
                format!("the mesh is too large: {found} {what} found, at most {limit} are read")
            }
            Self::UnknownFormat(end) => {
                format!("the file name ends in `{end}`, expected .stl, .obj or .3mf")
            }
            Self::OtherContent { expected, found } => {
                format!("expected {expected}, found {found}")
            }
            Self::Empty => "the mesh has no triangle".to_owned(),
            Self::TooShort { bytes } => format!(
                "{bytes} bytes are no STL: neither text that begins with `solid` nor the 84 bytes of a binary header"
            ),
            Self::WrongLength { stated, expected, bytes } => format!(
                "the header of the binary STL states {stated} triangles, which take {expected} bytes, but the file has {bytes}"
            ),
            Self::NotFinite { triangle } => {
                format!(
                    "triangle {triangle} has a coordinate that is infinite or not a number, expected finite numbers"
                )
            }
            Self::Overflow => {
                "the coordinates are too large for a finite volume and area".to_owned()
            }
            Self::Line { line, found, expected } => {
                format!("line {line}: found `{found}`, expected {expected}")
            }
            Self::CutOff { line, expected } => {
                format!("the file ends at line {line}, expected {expected}")
            }
            Self::MissingVertex { place, index, known } => {
                format!("{place} names vertex {index}, but there are {known} vertices")
            }
            Self::BadZip(why) => format!("expected a 3MF, which is a zip archive: {why}"),
            Self::MissingPart(part) => format!("the 3MF archive lacks `{part}`"),
            Self::Xml { part, at, found } => format!("`{part}`, byte {at}: {found}"),
            Self::UnknownObject { id } => format!("the 3MF has no object {id}, though it names it"),
            Self::Recursive { id } => format!("object {id} of the 3MF contains itself"),
            Self::NotClosed { open, non_manifold } => format!(
                "the mesh is not closed: {open} open and {non_manifold} non-manifold edges, expected every edge to be met by exactly two triangles"
            ),
            Self::MixedWinding { edges, shells } => format!(
                "the mesh does not say which side is outside: {edges} edges whose triangles run the same way, {shells} shells turned inside out"
            ),
            Self::NoVolume => "the mesh encloses no volume".to_owned(),
        }
    }

    /// What to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Unreadable(_) | Self::NotAFile => "check the path and the permissions",
            Self::TooLarge { .. } => "export the part with fewer triangles, or split it",
            Self::UnknownFormat(_) => "export the part as STL, OBJ or 3MF and name it so",
            Self::OtherContent { .. } => "rename the file to what it is, or export it again",
            Self::Empty => "export the part again; an empty selection gives an empty mesh",
            Self::TooShort { .. } | Self::CutOff { .. } | Self::WrongLength { .. } => {
                "the file is damaged or was cut off on its way: export or copy it again"
            }
            Self::NotFinite { .. } | Self::Overflow => {
                "repair the mesh in your modelling program and export it again"
            }
            Self::Line { .. } => "export the part again, or correct the line",
            Self::MissingVertex { .. } => {
                "the file is damaged or is a piece of a larger one: export it again"
            }
            Self::BadZip(_) | Self::MissingPart(_) | Self::Xml { .. } => {
                "the file is damaged or not a 3MF: export it again, or export STL"
            }
            Self::UnknownObject { .. } | Self::Recursive { .. } => {
                "no valid 3MF does this: export it again, or export STL"
            }
            Self::NotClosed { .. } | Self::MixedWinding { .. } => {
                "repair the mesh in your modelling program, or state `volume` (and `area`, `box`) for the part"
            }
            Self::NoVolume => {
                "a flat sheet cannot be printed: give it thickness, or state `volume` for the part"
            }
        }
    }
}

impl fmt::Display for MeshError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message(), self.hint())
    }
}

impl std::error::Error for MeshError {}

impl From<std::io::Error> for MeshError {
    fn from(error: std::io::Error) -> Self {
        Self::Unreadable(error.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::MeshError;

    #[test]
    fn an_error_says_what_was_found_what_was_expected_and_what_to_do() {
        let text = MeshError::NotClosed { open: 12, non_manifold: 3 }.to_string();
        for part in ["12 open", "3 non-manifold", "exactly two", "state `volume`"] {
            assert!(text.contains(part), "{text}");
        }
        let text = MeshError::WrongLength { stated: 66, expected: 3384, bytes: 284 }.to_string();
        for part in ["66 triangles", "3384 bytes", "284", "copy it again"] {
            assert!(text.contains(part), "{text}");
        }
    }
}
