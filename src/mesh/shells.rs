//! Shells: a mesh and who neighbours whom go in; its connected surfaces come out, with what each measures.

use super::edges::spans;
use super::sums::{Compensated, cross, dot, minus};
use super::{Bounds, Mesh};

/// One connected surface: triangles that share edges.
#[derive(Clone, PartialEq, Debug)]
pub struct Shell {
    /// Its triangles, without those that have two equal corners.
    pub triangles: u64,
    /// Its vertices.
    pub vertices: u64,
    /// Its edges.
    pub edges: u64,
    /// Its signed volume in cubic file units; negative where it is turned inside out.
    pub volume: f64,
    /// The box around it.
    pub bounds: Bounds,
    /// Whether it is the wall of a cavity in another shell.
    pub cavity: bool,
}

impl Shell {
    /// Euler number: vertices - edges + triangles. 2 for a closed surface without holes through it, 2 less for each hole.
    pub fn euler(&self) -> i64 {
        // A mesh has fewer than 2^33 edges.
        self.vertices.cast_signed() - self.edges.cast_signed() + self.triangles.cast_signed()
    }
}

/// Disjoint sets of triangles; the lowest number leads, so that the result does not depend on the order of joining.
pub(super) struct Groups(Vec<u32>);

impl Groups {
    pub(super) fn new(triangles: usize) -> Self {
        Self((0_u32..).take(triangles).collect())
    }

    fn leader(&mut self, triangle: u32) -> u32 {
        let mut at = triangle;
        loop {
            let up = self.0[at as usize];
            if up == at {
                return at;
            }
            // Halve the path on the way.
            let higher = self.0[up as usize];
            self.0[at as usize] = higher;
            at = higher;
        }
    }

    pub(super) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.leader(a), self.leader(b));
        self.0[a.max(b) as usize] = a.min(b);
    }
}

/// The triangles of each shell, one shell after another, in file order within.
pub(super) struct Surfaces {
    triangles: Vec<u32>,
    /// Where each shell's begin, and the end.
    starts: Vec<usize>,
}

impl Surfaces {
    pub(super) fn new(mesh: &Mesh, groups: &mut Groups) -> Self {
        let mut shell_of = vec![u32::MAX; mesh.triangles.len()];
        let mut starts = vec![0];
        let mut shells: u32 = 0;
        for (number, _) in (0_u32..).zip(&mesh.triangles).filter(|(_, t)| spans(t)) {
            let leader = groups.leader(number) as usize;
            if shell_of[leader] == u32::MAX {
                // The leader is the lowest of its shell, so it is met first.
                shell_of[leader] = shells;
                shells += 1;
                starts.push(0);
            }
            shell_of[number as usize] = shell_of[leader];
            starts[shell_of[leader] as usize + 1] += 1;
        }
        for shell in 1..starts.len() {
            starts[shell] += starts[shell - 1];
        }
        let mut triangles = vec![0; starts.last().copied().unwrap_or(0)];
        let mut next = starts.clone();
        for (number, &shell) in (0_u32..).zip(&shell_of).filter(|(_, shell)| **shell != u32::MAX) {
            triangles[next[shell as usize]] = number;
            next[shell as usize] += 1;
        }
        Self { triangles, starts }
    }

    pub(super) fn of(&self, shell: usize) -> &[u32] {
        &self.triangles[self.starts[shell]..self.starts[shell + 1]]
    }

    pub(super) fn shells(&self, mesh: &Mesh, edges_of: &[u8]) -> Vec<Shell> {
        // Which shell was the last to count a vertex: shells are gone through one by one, so one mark is enough.
        let mut counted_by = vec![usize::MAX; mesh.points.len()];
        (0..self.starts.len() - 1)
            .map(|shell| {
                let mut vertices = 0;
                for vertex in self.of(shell).iter().flat_map(|&t| mesh.triangles[t as usize]) {
                    if std::mem::replace(&mut counted_by[vertex as usize], shell) != shell {
                        vertices += 1;
                    }
                }
                self.shell(mesh, shell, vertices, edges_of)
            })
            .collect()
    }

    fn shell(&self, mesh: &Mesh, shell: usize, vertices: u64, edges_of: &[u8]) -> Shell {
        let numbers = self.of(shell);
        let reference = mesh.triangle(&mesh.triangles[numbers[0] as usize])[0];
        let mut volume6 = Compensated::ZERO;
        let mut bounds = Bounds::EMPTY;
        let mut edges = 0;
        for &number in numbers {
            let corners = mesh.triangle(&mesh.triangles[number as usize]);
            let [a, b, c] = corners;
            volume6.add(dot(&minus(&a, &reference), &cross(&minus(&b, &a), &minus(&c, &a))));
            corners.iter().for_each(|corner| bounds.take_in(corner));
            edges += u64::from(edges_of[number as usize]);
        }
        Shell {
            triangles: numbers.len() as u64,
            vertices,
            edges,
            volume: volume6.value() / 6.0,
            bounds,
            cavity: false,
        }
    }
}
