//! What one mesh file measures: a path and a question go in, a [`Measured`] in mm, cm2 and cm3 comes out.

use std::fmt;
use std::path::Path;

use crate::mesh::{Check, Format, Mesh, MeshError, Posed, Source, Up, check, read};

/// A box whose longest side is shorter than this, in mm, is seldom meant.
pub const LEAST_EXTENT_MM: f64 = 1.0;
/// A box whose longest side is longer than this, in mm, is seldom meant.
pub const MOST_EXTENT_MM: f64 = 2000.0;

/// How to measure a mesh.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct MeasureAsk {
    /// Length of a file unit in mm; `None` is 1 mm, or what the file states.
    pub unit_mm: Option<f64>,
    /// How deep to immerse it, in mm above its lowest point.
    pub depth_mm: Option<f64>,
    /// The axis that points up; `None` is the one along which the box is shortest.
    pub up: Option<Up>,
}

/// What a mesh file measures.
#[derive(Clone, PartialEq, Debug)]
pub struct Measured {
    /// The format it was read as.
    pub format: Format,
    /// Length of a file unit in mm.
    pub unit_mm: f64,
    /// What was found, in file units.
    pub check: Check,
    /// Objects left out since they are no solids of the part (3MF only).
    pub left_out: u64,
    /// What is below the level, where one was asked for.
    pub immersed: Option<Dipped>,
}

/// A mesh immersed to a depth.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Dipped {
    /// The axis that points up.
    pub up: Up,
    /// Height of the mesh in this pose, in mm.
    pub height_mm: f64,
    /// How far the level is above the lowest point, in mm.
    pub depth_mm: f64,
    /// Volume in cm3 and wetted area in cm2; `None` where the mesh cannot be trusted.
    pub below: Option<[f64; 2]>,
}

/// Why a file was not measured.
#[derive(Clone, PartialEq, Debug)]
pub enum MeasureProblem {
    /// It is no mesh that can be read.
    Mesh(MeshError),
    /// It states another unit than was asked for; both in mm.
    Unit {
        /// What the file states.
        stated: f64,
        /// What was asked for.
        asked: f64,
    },
}

impl fmt::Display for MeasureProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MeasureProblem::Mesh(error) => error.fmt(f),
            MeasureProblem::Unit { stated, asked } => write!(
                f,
                "the file states that its unit is {stated} mm, the unit asked for is {asked} mm; leave the unit out for this file, or export it anew"
            ),
        }
    }
}

impl From<MeshError> for MeasureProblem {
    fn from(error: MeshError) -> MeasureProblem {
        MeasureProblem::Mesh(error)
    }
}

/// Reads, checks and measures a mesh file.
///
/// ```
/// use flipcount::analysis::{MeasureAsk, measure_mesh};
/// use flipcount::mesh::Up;
///
/// let ask = MeasureAsk { unit_mm: None, depth_mm: Some(20.0), up: Up::parse("z") };
/// let boot = "scenarios/river-sonde/parts/cable-boot.stl";
/// let measured = measure_mesh(boot.as_ref(), &ask).expect("a mesh");
///
/// assert!(measured.closed());
/// let whole = measured.volume_cm3().expect("a closed mesh has a volume");
/// let [below, wetted] = measured.immersed.and_then(|dip| dip.below).expect("a depth was asked for");
/// assert!(0.0 < below && below < whole);
/// assert!(wetted < measured.area_cm2());
/// ```
///
/// # Errors
/// When it cannot be read, has no triangle or no finite figures, or states another unit than was asked for. A mesh that does not enclose
/// a volume is measured all the same: [`Measured::volume_cm3`] says why it has none.
pub fn measure_mesh(path: &Path, ask: &MeasureAsk) -> Result<Measured, MeasureProblem> {
    let format = Format::of(path)?;
    let mesh = read(&Source::Path(path), format)?;
    measured(&mesh, format, ask)
}

fn measured(mesh: &Mesh, format: Format, ask: &MeasureAsk) -> Result<Measured, MeasureProblem> {
    let unit_mm = match (mesh.unit_mm(), ask.unit_mm) {
        // A unit of the table and the same one in the file are equal to the last bits.
        (Some(stated), Some(asked)) if (stated - asked).abs() > 1e-9 * stated => {
            return Err(MeasureProblem::Unit { stated, asked });
        }
        (stated, asked) => stated.or(asked).unwrap_or(1.0),
    };
    let check = check(mesh)?;
    let mut found = Measured { format, unit_mm, check, left_out: mesh.left_out(), immersed: None };
    found.require_finite()?;
    found.immersed = ask.depth_mm.map(|depth| found.dipped(mesh, depth, ask.up));
    Ok(found)
}

impl Measured {
    /// The volume in cm3 where it can be trusted.
    ///
    /// # Errors
    /// When the mesh does not enclose a volume that can be trusted, with the counts of what is wrong.
    pub fn volume_cm3(&self) -> Result<f64, MeshError> {
        Ok(self.check.volume()? * self.cm3())
    }

    /// Sum of the areas of all triangles in cm2.
    pub fn area_cm2(&self) -> f64 {
        self.check.measure.area * self.cm2()
    }

    /// Extents of the box along x, y and z of the file, in mm.
    pub fn box_mm(&self) -> [f64; 3] {
        self.check.measure.bounds.size().map(|x| x * self.unit_mm)
    }

    /// Whether every edge is met by exactly two triangles, however they are wound.
    pub fn closed(&self) -> bool {
        self.check.edges.open == 0 && self.check.edges.non_manifold == 0
    }

    /// Whether it is turned inside out as a whole; `None` where the mesh is not closed, so that nothing can be said.
    pub fn inverted(&self) -> Option<bool> {
        self.closed().then_some(self.check.inverted)
    }

    /// Whether two shells may share space, so that some of the volume is counted twice; `None` where this was not looked for.
    pub fn may_overlap(&self) -> Option<bool> {
        self.check.edges.closed().then_some(self.check.may_overlap)
    }

    /// Length of the longest side of the box in mm, where it is so short or long that the unit may be wrong.
    pub fn doubtful_extent_mm(&self) -> Option<f64> {
        let longest = self.box_mm().into_iter().fold(0.0, f64::max);
        (!(LEAST_EXTENT_MM..=MOST_EXTENT_MM).contains(&longest)).then_some(longest)
    }

    /// cm2 in a square file unit.
    fn cm2(&self) -> f64 {
        self.unit_mm * self.unit_mm / 100.0
    }

    /// cm3 in a cubic file unit.
    fn cm3(&self) -> f64 {
        self.unit_mm * self.unit_mm * self.unit_mm / 1000.0
    }

    /// Finite in file units may still be infinite in mm.
    fn require_finite(&self) -> Result<(), MeshError> {
        let volume = self.check.measure.volume * self.cm3();
        let [x, y, z] = self.box_mm();
        let all = [volume, self.area_cm2(), x, y, z];
        if all.iter().all(|figure| figure.is_finite()) { Ok(()) } else { Err(MeshError::Overflow) }
    }

    fn dipped(&self, mesh: &Mesh, depth_mm: f64, up: Option<Up>) -> Dipped {
        let bounds = &self.check.measure.bounds;
        let up = up.unwrap_or_else(|| Up::shortest(bounds));
        let height_mm = up.turn_size(bounds.size())[2] * self.unit_mm;
        let below = self.check.volume().is_ok().then(|| {
            let found = Posed::new(mesh, up).immersed(depth_mm / self.unit_mm);
            [found.volume * self.cm3(), found.area * self.cm2()]
        });
        Dipped { up, height_mm, depth_mm, below }
    }
}

#[cfg(test)]
mod tests {
    use crate::mesh::Welder;

    use super::*;

    /// A right tetrahedron with legs of 2, 3 and 5: its volume is 2 x 3 x 5 / 6 = 5.
    fn tetrahedron(open: bool) -> Mesh {
        let [o, a, b, c] = [[0.0; 3], [2.0, 0.0, 0.0], [0.0, 3.0, 0.0], [0.0, 0.0, 5.0]];
        let faces = [[o, b, a], [o, a, c], [o, c, b], [a, b, c]];
        let mut welder = Welder::default();
        for face in &faces[usize::from(open)..] {
            welder.add(face).unwrap();
        }
        welder.finish().unwrap()
    }

    fn found(open: bool, ask: MeasureAsk) -> Measured {
        measured(&tetrahedron(open), Format::Stl, &ask).unwrap()
    }

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{found}, not {expected}");
    }

    #[test]
    fn units_scale_lengths_areas_and_volumes() {
        let mm = found(false, MeasureAsk::default());
        close(mm.volume_cm3().unwrap(), 0.005);
        let inch = found(false, MeasureAsk { unit_mm: Some(25.4), ..MeasureAsk::default() });
        // 1 in3 = 16.387064 cm3 exactly.
        close(inch.volume_cm3().unwrap(), 5.0 * 16.387_064);
        close(inch.area_cm2(), mm.area_cm2() * 25.4 * 25.4);
        for (found, expected) in inch.box_mm().into_iter().zip([50.8, 76.2, 127.0]) {
            close(found, expected);
        }
    }

    #[test]
    fn a_depth_is_in_mm_from_the_lowest_point_of_the_pose() {
        let ask = |unit, depth, up| MeasureAsk { unit_mm: Some(unit), depth_mm: Some(depth), up };
        let below = |ask| found(false, ask).immersed.unwrap().below.unwrap()[0];
        // Above half the height there is an eighth of a tetrahedron.
        close(below(ask(10.0, 25.0, Some(Up::PlusZ))), 5.0 * 7.0 / 8.0);
        close(below(ask(10.0, 25.0, Some(Up::MinusZ))), 5.0 / 8.0);
        close(below(ask(10.0, 99.0, Some(Up::PlusY))), 5.0);
        let shortest = found(false, ask(10.0, 10.0, None)).immersed.unwrap();
        assert_eq!(shortest.up, Up::PlusX);
        close(shortest.height_mm, 20.0);
    }

    #[test]
    fn an_open_mesh_has_no_volume_and_says_why() {
        let open = found(true, MeasureAsk { depth_mm: Some(1.0), ..MeasureAsk::default() });
        assert_eq!(open.volume_cm3(), Err(MeshError::NotClosed { open: 3, non_manifold: 0 }));
        assert!(!open.closed() && open.immersed.unwrap().below.is_none());
        assert_eq!((open.inverted(), open.may_overlap()), (None, None));
    }

    #[test]
    fn a_size_that_is_seldom_meant_is_told() {
        let extent = |unit| {
            found(false, MeasureAsk { unit_mm: Some(unit), ..MeasureAsk::default() })
                .doubtful_extent_mm()
        };
        assert_eq!((extent(1.0), extent(0.2), extent(400.0)), (None, None, None));
        assert!(extent(0.199).is_some() && extent(401.0).is_some());
    }

    #[test]
    fn figures_that_leave_the_numbers_are_refused() {
        let ask = MeasureAsk { unit_mm: Some(1e200), ..MeasureAsk::default() };
        let found = measured(&tetrahedron(false), Format::Stl, &ask);
        assert_eq!(found, Err(MeasureProblem::Mesh(MeshError::Overflow)));
    }
}
