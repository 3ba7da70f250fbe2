//! Trust: a mesh goes in; a [`Check`] comes out that says whether it encloses a volume, and what is wrong where it does not.
//!
//! A mesh is trusted when every edge is met by exactly two triangles that run along it in opposite directions, and every shell is
//! either wound like the whole or a cavity of a shell that is. A mesh that is turned inside out as a whole counts as its absolute
//! volume, and says so.

use super::edges::{self, EdgeCounts};
use super::nest::winding;
use super::shells::{Groups, Shell, Surfaces};
use super::{Measure, Mesh, MeshError};

/// What was found about a mesh.
#[derive(Clone, PartialEq, Debug)]
pub struct Check {
    /// Volume, area and box of all triangles.
    pub measure: Measure,
    /// Vertices after welding.
    pub vertices: u64,
    /// How the edges are met.
    pub edges: EdgeCounts,
    /// The connected surfaces, by their first triangle in the file.
    pub shells: Vec<Shell>,
    /// The whole mesh is turned inside out: the volume is the absolute value.
    pub inverted: bool,
    /// Shells wound against the whole that are not the wall of a cavity.
    pub stray_shells: u64,
    /// Two shells may share space, so that the sum of volumes counts some of it twice: their boxes overlap and neither is a
    /// cavity of the other. Also set where there are too many shells to look at all pairs.
    pub may_overlap: bool,
}

impl Check {
    /// The volume in cubic file units, where it can be trusted.
    ///
    /// # Errors
    /// When the mesh is not closed, its winding is mixed, or it encloses nothing; the findings carry the counts.
    pub fn volume(&self) -> Result<f64, MeshError> {
        let EdgeCounts { open, non_manifold, wrong_winding, .. } = self.edges;
        if open > 0 || non_manifold > 0 {
            return Err(MeshError::NotClosed { open, non_manifold });
        }
        if wrong_winding > 0 || self.stray_shells > 0 {
            return Err(MeshError::MixedWinding {
                edges: wrong_winding,
                shells: self.stray_shells,
            });
        }
        if self.encloses_nothing() {
            return Err(MeshError::NoVolume);
        }
        Ok(self.measure.volume.abs())
    }

    /// A volume within the rounding of its own sum is none: area times extent bounds the terms.
    fn encloses_nothing(&self) -> bool {
        let extent = self.measure.bounds.size().into_iter().fold(0.0, f64::max);
        self.measure.volume.abs() <= 1e-12 * self.measure.area * extent
    }
}

/// Checks a mesh.
///
/// # Errors
/// When it has no triangle, its sums are not finite, or it has too many triangles to number their edges.
pub fn check(mesh: &Mesh) -> Result<Check, MeshError> {
    let measure = mesh.measure()?;
    let mut groups = Groups::new(mesh.triangles.len());
    let mut edges_of = vec![0_u8; mesh.triangles.len()];
    let edges = edges::count(mesh, |first, edge| {
        edges_of[first as usize] += 1;
        for other in &edge[1..] {
            groups.join(first, edges::triangle(other));
        }
    })?;
    let surfaces = Surfaces::new(mesh, &mut groups);
    let mut shells = surfaces.shells(mesh, &edges_of);
    let inverted = measure.volume < 0.0;
    let mut stray_shells = 0;
    let mut may_overlap = false;
    if edges.closed() {
        stray_shells = mark_cavities(mesh, &surfaces, &mut shells, inverted);
        may_overlap = any_overlap(&shells);
    }
    Ok(Check {
        measure,
        vertices: mesh.points.len() as u64,
        edges,
        shells,
        inverted,
        stray_shells,
        may_overlap,
    })
}

/// How many triangles the search for cavities looks at before it settles for boxes: some tenths of a second.
const WINDING_BUDGET: usize = 50_000_000;

/// How many pairs of boxes are compared.
const PAIR_BUDGET: usize = 20_000_000;

/// Marks the shells that are walls of cavities, and counts those wound against the whole that are not.
fn mark_cavities(mesh: &Mesh, surfaces: &Surfaces, shells: &mut [Shell], inverted: bool) -> u64 {
    let against = |shell: &Shell| (shell.volume < 0.0) != inverted && shell.volume != 0.0;
    let (inner, outer): (Vec<usize>, Vec<usize>) =
        (0..shells.len()).partition(|&shell| against(&shells[shell]));
    let mut budget = WINDING_BUDGET;
    let mut pairs = PAIR_BUDGET;
    let mut stray = 0;
    for &hole in &inner {
        let sample = mesh.triangle(&mesh.triangles[surfaces.of(hole)[0] as usize])[0];
        let found = outer.iter().any(|&wall| {
            pairs = pairs.saturating_sub(1);
            if pairs == 0 || !shells[wall].bounds.holds(&shells[hole].bounds) {
                return false;
            }
            let numbers = surfaces.of(wall);
            budget = budget.saturating_sub(numbers.len());
            budget == 0 || winding(mesh, numbers, &sample) != 0
        });
        shells[hole].cavity = found;
        stray += u64::from(!found);
    }
    stray
}

/// Whether any two shells may share space. Sweeps along x; stops at the first such pair.
fn any_overlap(shells: &[Shell]) -> bool {
    let mut order: Vec<&Shell> = shells.iter().collect();
    order.sort_by(|a, b| a.bounds.min[0].total_cmp(&b.bounds.min[0]));
    let mut pairs = PAIR_BUDGET;
    for (at, shell) in order.iter().enumerate() {
        for other in
            order[at + 1..].iter().take_while(|other| other.bounds.min[0] < shell.bounds.max[0])
        {
            pairs -= 1;
            if pairs == 0 || (shell.bounds.overlaps(&other.bounds) && !nested(shell, other)) {
                return true;
            }
        }
    }
    false
}

/// Whether one of two shells is a cavity and in the other's box, with the other no cavity.
fn nested(a: &Shell, b: &Shell) -> bool {
    (a.cavity && !b.cavity && b.bounds.holds(&a.bounds))
        || (b.cavity && !a.cavity && a.bounds.holds(&b.bounds))
}

#[cfg(test)]
mod tests {
    use super::super::Triangle;
    use super::super::shapes::{cuboid, mesh_of, moved, sphere};
    use super::*;

    fn checked(triangles: &[Triangle]) -> Check {
        check(&mesh_of(triangles)).unwrap()
    }

    fn turned(triangles: &[Triangle]) -> Vec<Triangle> {
        triangles.iter().map(|[a, b, c]| [*a, *c, *b]).collect()
    }

    fn close(found: f64, expected: f64) {
        assert!(
            (found - expected).abs() <= 1e-12 * expected.abs(),
            "found {found}, expected {expected}"
        );
    }

    #[test]
    fn a_closed_shell_has_euler_number_two() {
        let found = checked(&sphere([0.0; 3], 1.0, 2));
        assert_eq!((found.vertices, found.edges.edges, found.shells.len()), (162, 480, 1));
        assert_eq!(found.shells[0].euler(), 2);
        assert!(!found.inverted && !found.may_overlap);
        close(found.volume().unwrap(), found.shells[0].volume);
    }

    #[test]
    fn a_hole_through_takes_two_from_the_euler_number() {
        // A square ring: eight boxes around an empty middle, without the faces they share.
        let boxes = [(0, 0), (1, 0), (2, 0), (0, 1), (2, 1), (0, 2), (1, 2), (2, 2)];
        let mut triangles: Vec<Triangle> = boxes
            .iter()
            .flat_map(|&(x, y)| {
                cuboid([f64::from(x), f64::from(y), 0.0], [f64::from(x + 1), f64::from(y + 1), 1.0])
            })
            .collect();
        let sorted = |t: &Triangle| {
            let mut corners = t.map(|p| p.map(f64::to_bits));
            corners.sort_unstable();
            corners
        };
        let all: Vec<_> = triangles.iter().map(sorted).collect();
        triangles.retain(|t| all.iter().filter(|other| **other == sorted(t)).count() == 1);
        let found = checked(&triangles);
        assert_eq!(found.shells.len(), 1);
        assert_eq!(found.shells[0].euler(), 0);
        close(found.volume().unwrap(), 8.0);
    }

    #[test]
    fn an_open_mesh_is_refused_with_counts() {
        let mut triangles = cuboid([0.0; 3], [1.0; 3]);
        triangles.pop();
        let expected = MeshError::NotClosed { open: 3, non_manifold: 0 };
        assert_eq!(checked(&triangles).volume(), Err(expected));
        // Two boxes that touch along one edge: it is met four times.
        let mut touching = cuboid([0.0; 3], [1.0; 3]);
        touching.extend(cuboid([1.0, 1.0, 0.0], [2.0, 2.0, 1.0]));
        let expected = MeshError::NotClosed { open: 0, non_manifold: 1 };
        assert_eq!(checked(&touching).volume(), Err(expected));
    }

    #[test]
    fn turned_inside_out_as_a_whole_is_the_absolute_value() {
        let found = checked(&turned(&cuboid([0.0; 3], [2.0; 3])));
        assert!(found.inverted);
        close(found.volume().unwrap(), 8.0);
        let mut hollow = turned(&cuboid([0.0; 3], [4.0; 3]));
        hollow.extend(cuboid([1.0; 3], [3.0; 3]));
        let found = checked(&hollow);
        assert!(found.inverted && found.shells[1].cavity);
        close(found.volume().unwrap(), 56.0);
    }

    #[test]
    fn mixed_winding_is_refused() {
        // Trap: triamid.stl of numpy-stl is closed by its corners, but its triangles disagree.
        let mut triangles = cuboid([0.0; 3], [1.0; 3]);
        triangles[3].swap(0, 1);
        assert_eq!(
            checked(&triangles).volume(),
            Err(MeshError::MixedWinding { edges: 3, shells: 0 })
        );
        let mut apart = cuboid([0.0; 3], [2.0; 3]);
        apart.extend(turned(&cuboid([5.0; 3], [6.0; 3])));
        assert_eq!(checked(&apart).volume(), Err(MeshError::MixedWinding { edges: 0, shells: 1 }));
    }

    #[test]
    fn a_shell_beside_the_wall_but_in_its_box_is_no_cavity() {
        // The corner of the box around a ball is outside of the ball.
        let mut triangles = sphere([0.0; 3], 10.0, 3);
        triangles.extend(turned(&cuboid([8.0; 3], [9.0; 3])));
        assert_eq!(checked(&triangles).stray_shells, 1);
        let mut triangles = sphere([0.0; 3], 10.0, 3);
        triangles.extend(turned(&cuboid([-1.0; 3], [1.0; 3])));
        let found = checked(&triangles);
        assert!(found.shells[1].cavity && !found.may_overlap);
        close(found.volume().unwrap(), found.shells[0].volume - 8.0);
    }

    #[test]
    fn shells_that_may_share_space_are_warned_of() {
        let cube = cuboid([0.0; 3], [2.0; 3]);
        let with = |shift: f64| {
            let mut both = cube.clone();
            both.extend(moved(&cube, |[x, y, z]| [x + shift, y, z]));
            checked(&both)
        };
        assert!(with(1.0).may_overlap);
        assert!(!with(3.0).may_overlap);
        let mut inside = cube.clone();
        inside.extend(cuboid([0.5; 3], [1.5; 3]));
        let found = checked(&inside);
        assert!(found.may_overlap);
        close(found.volume().unwrap(), 9.0);
    }

    #[test]
    fn a_flat_sheet_encloses_nothing() {
        let [a, b, c] = [[0.0; 3], [1.0, 0.0, 0.0], [0.3, 0.7, 0.1]];
        assert_eq!(checked(&[[a, b, c], [a, c, b]]).volume(), Err(MeshError::NoVolume));
    }

    #[test]
    fn collapsed_triangles_change_nothing() {
        let mut triangles = cuboid([0.0; 3], [1.0; 3]);
        triangles.push([[0.0; 3], [-0.0; 3], [1.0; 3]]);
        let found = checked(&triangles);
        assert_eq!((found.measure.degenerate, found.edges.edges), (1, 18));
        close(found.volume().unwrap(), 1.0);
    }

    #[test]
    fn all_collapsed_is_no_panic() {
        let found = checked(&[[[0.0; 3]; 3], [[1.0; 3]; 3]]);
        assert!(found.shells.is_empty());
        assert_eq!(found.volume(), Err(MeshError::NoVolume));
    }

    #[test]
    fn thousands_of_shells_are_told_apart() {
        let mut triangles = Vec::new();
        for i in 0..3000 {
            let at = [f64::from(i % 50) * 2.0, f64::from(i / 50) * 2.0, 0.0];
            triangles.extend(cuboid(at, at.map(|x| x + 1.0)));
        }
        let found = checked(&triangles);
        assert_eq!(found.shells.len(), 3000);
        assert!(!found.may_overlap);
        close(found.volume().unwrap(), 3000.0);
    }
}
