//! Text STL: lines go in, triangles come out one by one.
//!
//! Every `facet` must have one loop of exactly three vertices, and every `solid` its `endsolid`: a file that was cut off between two
//! facets looks whole otherwise. Several solids are read as one mesh. Names and normals are not used, so they may be missing or wrong.

use std::io::BufReader;

use super::text::{Lines, number};
use super::{MeshError, Point, Source, Triangle};

/// Gives every triangle to `each`, in file order.
///
/// # Errors
/// When the text is not a whole STL, a coordinate is not finite, or `each` refuses.
pub(super) fn for_each(
    source: &Source<'_>,
    each: &mut dyn FnMut(&Triangle) -> Result<(), MeshError>,
) -> Result<(), MeshError> {
    let mut lines = Lines::new(BufReader::with_capacity(1 << 16, source.open()?));
    let mut state = State::default();
    while lines.advance()? {
        state.line(&lines, each)?;
    }
    match state.expects() {
        None => Ok(()),
        Some(expected) => Err(MeshError::CutOff { line: lines.number(), expected }),
    }
}

/// Where in the file we are.
#[derive(Default)]
struct State {
    in_solid: bool,
    in_facet: bool,
    in_loop: bool,
    corners: usize,
    triangle: Triangle,
}

impl State {
    fn expects(&self) -> Option<&'static str> {
        match self {
            Self { in_loop: true, .. } => Some("`endloop`"),
            Self { in_facet: true, .. } => Some("`endfacet`"),
            Self { in_solid: true, .. } => Some("`endsolid`"),
            _ => None,
        }
    }

    fn line<R: std::io::BufRead>(
        &mut self,
        lines: &Lines<R>,
        each: &mut dyn FnMut(&Triangle) -> Result<(), MeshError>,
    ) -> Result<(), MeshError> {
        let mut words = lines.words();
        let Some(word) = words.next() else {
            return Ok(());
        };
        let word = word.strip_prefix(b"\xef\xbb\xbf").unwrap_or(word).to_ascii_lowercase();
        let fits = match &word[..] {
            b"vertex" if self.in_loop => self.vertex(corner(words).ok_or_else(|| {
                lines.wrong(lines.bytes(), "`vertex` and three finite numbers with a decimal point")
            })?),
            b"facet" => self.enter(self.in_solid && !self.in_facet, |state| &mut state.in_facet),
            b"outer" => self.enter(self.in_facet && !self.in_loop && self.corners == 0, |state| {
                &mut state.in_loop
            }),
            b"endloop" if self.corners == 3 => self.leave(self.in_loop, |state| &mut state.in_loop),
            b"endfacet" if self.corners == 3 && !self.in_loop => {
                each(&self.triangle)?;
                self.corners = 0;
                self.leave(self.in_facet, |state| &mut state.in_facet)
            }
            b"solid" => self.enter(!self.in_solid, |state| &mut state.in_solid),
            b"endsolid" | b"end" => self.leave(!self.in_facet, |state| &mut state.in_solid),
            _ => false,
        };
        if fits { Ok(()) } else { Err(lines.wrong(lines.bytes(), self.wanted())) }
    }

    fn enter(&mut self, allowed: bool, flag: impl Fn(&mut Self) -> &mut bool) -> bool {
        *flag(self) = true;
        allowed
    }

    fn leave(&mut self, allowed: bool, flag: impl Fn(&mut Self) -> &mut bool) -> bool {
        allowed && std::mem::replace(flag(self), false)
    }

    fn vertex(&mut self, corner: Point) -> bool {
        let Some(place) = self.triangle.get_mut(self.corners) else {
            return false;
        };
        *place = corner;
        self.corners += 1;
        true
    }

    fn wanted(&self) -> &'static str {
        match self {
            Self { in_loop: true, .. } => "three `vertex` lines, then `endloop`",
            Self { in_facet: true, .. } => "`outer loop`, or `endfacet` after its loop",
            Self { in_solid: true, .. } => "`facet` or `endsolid`",
            _ => "`solid`",
        }
    }
}

fn corner<'a>(mut words: impl Iterator<Item = &'a [u8]>) -> Option<Point> {
    let mut point = [0.0; 3];
    for coordinate in &mut point {
        *coordinate = number(words.next()?)?;
    }
    words.next().is_none().then_some(point)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Vec<Triangle>, MeshError> {
        let mut triangles = Vec::new();
        for_each(&Source::Bytes(text.as_bytes()), &mut |triangle| {
            triangles.push(*triangle);
            Ok(())
        })?;
        Ok(triangles)
    }

    fn facet(vertices: &str) -> String {
        format!("facet normal NaN NaN NaN\nouter loop\n{vertices}endloop\nendfacet\n")
    }

    const THREE: &str = "vertex 0 0 0\nvertex 1 0 0\nvertex 0 1e0 -0\n";

    #[test]
    fn a_facet_is_read_whatever_its_normal_case_and_line_ends() {
        let text = format!("solid a b\n{}endsolid a b\n", facet(THREE));
        assert_eq!(read(&text).unwrap(), [[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]]);
        let other = text.replace('\n', "\r\n").to_uppercase().replace("1E0", "1e0");
        assert_eq!(read(&other).unwrap(), read(&text).unwrap());
    }

    #[test]
    fn two_and_four_vertices_are_refused_with_their_line() {
        // Traps: stl-models twoVertices, fourVertices and quad.
        let two = read(&format!("solid\n{}endsolid\n", facet("vertex 0 0 0\nvertex 1 0 0\n")));
        assert!(matches!(two, Err(MeshError::Line { line: 6, .. })), "{two:?}");
        let four = read(&format!("solid\n{}endsolid\n", facet(&format!("{THREE}vertex 1 1 0\n"))));
        assert!(matches!(four, Err(MeshError::Line { line: 7, .. })), "{four:?}");
    }

    #[test]
    fn numbers_that_are_none_or_have_no_end_are_refused() {
        for bad in ["NaN", "inf", "1e999", "1,5", "x", "0 0"] {
            let text = format!("solid\n{}endsolid\n", facet(THREE).replace("1e0", bad));
            assert!(matches!(read(&text), Err(MeshError::Line { line: 6, .. })), "{bad}");
        }
    }

    #[test]
    fn a_file_cut_off_between_facets_is_refused() {
        let text = format!("solid\n{}", facet(THREE));
        let expected = MeshError::CutOff { line: 8, expected: "`endsolid`" };
        assert_eq!(read(&text), Err(expected));
        assert!(matches!(
            read("solid\nfacet\n"),
            Err(MeshError::CutOff { expected: "`endfacet`", .. })
        ));
        assert!(matches!(read("solid\nendfacet\n"), Err(MeshError::Line { line: 2, .. })));
    }

    #[test]
    fn a_line_without_end_is_refused_instead_of_kept_in_memory() {
        let text = format!("solid {}", "a".repeat(1 << 21));
        assert!(matches!(read(&text), Err(MeshError::TooLarge { .. })));
    }
}
