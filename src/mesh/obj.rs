//! OBJ: lines go in, a welded mesh comes out.
//!
//! Read are vertices (`v`) and faces (`f`, with or without texture and normal numbers, negative numbers counting back). A face of more
//! than three vertices is split into a fan from its first one. All else (texture, normals, groups, materials, curves) is passed over.
//! A line that ends in `\` goes on in the next.

use std::io::{BufRead, BufReader};

use super::text::{Lines, number};
use super::{Mesh, MeshError, Source, Welder};

/// Reads an OBJ.
///
/// # Errors
/// When a vertex or face cannot be understood, a face names a vertex that is not there, or there is no face.
pub(super) fn read(source: &Source<'_>) -> Result<Mesh, MeshError> {
    if source.head(4)?.starts_with(b"PK\x03\x04") {
        return Err(MeshError::OtherContent {
            expected: "an OBJ",
            found: "a zip archive, as a 3MF is",
        });
    }
    let mut lines = Lines::new(BufReader::with_capacity(1 << 16, source.open()?));
    let mut reader = Reader::default();
    while lines.advance()? {
        reader.line(&lines)?;
    }
    if !reader.begun.is_empty() {
        return Err(MeshError::CutOff {
            line: lines.number(),
            expected: "the rest of a line that ends in `\\`",
        });
    }
    reader.finish()
}

#[derive(Default)]
struct Reader {
    welder: Welder,
    /// The welded number of each `v`.
    vertices: Vec<u32>,
    /// Words of a line that goes on.
    begun: Vec<Vec<u8>>,
    /// Faces that name vertices further down, with the line they stand on.
    early: Vec<(u64, Vec<i64>)>,
}

impl Reader {
    fn line<R: BufRead>(&mut self, lines: &Lines<R>) -> Result<(), MeshError> {
        let text = lines.bytes().trim_ascii_end();
        let mut words: Vec<&[u8]> =
            lines.words().take_while(|word| !word.starts_with(b"#")).collect();
        let goes_on =
            text.ends_with(b"\\") && words.last().is_some_and(|word| word.ends_with(b"\\"));
        if !goes_on && self.begun.is_empty() {
            return self.statement(lines, &words);
        }
        if let Some(last) = words.last_mut().filter(|_| goes_on) {
            *last = &last[..last.len() - 1];
        }
        self.begun.extend(words.into_iter().filter(|word| !word.is_empty()).map(<[u8]>::to_vec));
        if self.begun.len() > MOST_WORDS {
            return Err(MeshError::TooLarge {
                what: "words in one continued line",
                found: self.begun.len() as u64,
                limit: MOST_WORDS as u64,
            });
        }
        if goes_on {
            return Ok(());
        }
        let whole = std::mem::take(&mut self.begun);
        self.statement(lines, &whole.iter().map(Vec::as_slice).collect::<Vec<_>>())
    }

    fn statement<R: BufRead>(
        &mut self,
        lines: &Lines<R>,
        words: &[&[u8]],
    ) -> Result<(), MeshError> {
        match words {
            [b"v", rest @ ..] => self.vertex(lines, rest),
            [b"f", rest @ ..] => self.face(lines, rest),
            _ => Ok(()),
        }
    }

    /// Three coordinates; a weight or colours may follow.
    fn vertex<R: BufRead>(&mut self, lines: &Lines<R>, words: &[&[u8]]) -> Result<(), MeshError> {
        let coordinate = |at: usize| {
            let word = words.get(at).copied().unwrap_or_default();
            number(word).ok_or_else(|| {
                lines.wrong(lines.bytes(), "`v` and three finite numbers with a decimal point")
            })
        };
        let point = [coordinate(0)?, coordinate(1)?, coordinate(2)?];
        self.vertices.push(self.welder.vertex(&point)?);
        Ok(())
    }

    fn face<R: BufRead>(&mut self, lines: &Lines<R>, words: &[&[u8]]) -> Result<(), MeshError> {
        let mut numbers = Vec::with_capacity(words.len());
        for word in words {
            let first = word.split(|&b| b == b'/').next().unwrap_or_default();
            let parsed = std::str::from_utf8(first).ok().and_then(|text| text.parse::<i64>().ok());
            let number = parsed.filter(|&number| number != 0);
            numbers.push(number.ok_or_else(|| {
                lines.wrong(word, "a vertex number, such as `7`, `7/2/1` or `-1`")
            })?);
        }
        if numbers.len() < 3 {
            return Err(lines.wrong(lines.bytes(), "`f` and at least three vertices"));
        }
        let known = i64::try_from(self.vertices.len()).unwrap_or(i64::MAX);
        if numbers.iter().any(|&number| number > known) {
            // Negative numbers count back from here, so they are settled now.
            for number in numbers.iter_mut().filter(|number| **number < 0) {
                self.resolve(lines.number(), *number)?;
                *number += known + 1;
            }
            self.early.push((lines.number(), numbers));
            return Ok(());
        }
        self.fan(lines.number(), &numbers)
    }

    fn fan(&mut self, line: u64, numbers: &[i64]) -> Result<(), MeshError> {
        let mut corners = numbers
            .iter()
            .map(|&number| self.resolve(line, number))
            .collect::<Result<Vec<_>, _>>()?;
        let first = corners.remove(0);
        for pair in corners.windows(2) {
            self.welder.add_indexed([first, pair[0], pair[1]]);
        }
        Ok(())
    }

    /// The welded vertex of a number that counts from 1, or back from the end.
    fn resolve(&self, line: u64, number: i64) -> Result<u32, MeshError> {
        let known = self.vertices.len();
        let place = if number > 0 {
            usize::try_from(number - 1).ok()
        } else {
            usize::try_from(number.unsigned_abs())
                .ok()
                .filter(|&back| back > 0)
                .and_then(|back| known.checked_sub(back))
        };
        place.and_then(|place| self.vertices.get(place)).copied().ok_or_else(|| {
            MeshError::MissingVertex {
                place: format!("line {line}"),
                index: number,
                known: known as u64,
            }
        })
    }

    fn finish(mut self) -> Result<Mesh, MeshError> {
        for (line, numbers) in std::mem::take(&mut self.early) {
            self.fan(line, &numbers)?;
        }
        self.welder.finish()
    }
}

/// How many words a line may have that goes on over several.
const MOST_WORDS: usize = 1_000_000;

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(text: &str) -> Result<(f64, usize), MeshError> {
        let mesh = read(&Source::Bytes(text.as_bytes()))?;
        Ok((mesh.measure()?.volume, mesh.triangles().len()))
    }

    const CUBE: &str = "# a cube\nmtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 1 1 0 1.0\nv 0 1 0\nv 0 0 1\nv 1 0 1\nv 1 1 1 0.5 0.5 0.5\nv 0 1 1\n\
        vt 0 0\nvn 0 0 1\nf 4 3 2 1\nf 5/1 6/1 7/1 8/1\nf 1//1 2//1 6//1 5//1\nf 2/1/1 3/1/1 7/1/1 6/1/1\n";

    #[test]
    fn polygons_and_all_kinds_of_numbers_are_read() {
        let positive = format!("{CUBE}f 3 4 8 7\nf 4 1 5 8\n");
        assert_eq!(measured(&positive), Ok((1.0, 12)));
        let negative = format!("{CUBE}f -6 -5 \\\n -1 -2 # back\ng side\nf 4 1 5 8\n");
        assert_eq!(measured(&negative), Ok((1.0, 12)));
    }

    #[test]
    fn a_face_may_come_before_its_vertices() {
        assert_eq!(
            measured("f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\nv 0 0 0\nv 6 0 0\nv 0 1 0\nv 0 0 1\n"),
            Ok((1.0, 4))
        );
    }

    #[test]
    fn a_missing_vertex_is_refused_with_its_line() {
        for bad in ["99", "-9", "99/1", "-9223372036854775808", "9223372036854775807"] {
            let found = measured(&format!("{CUBE}f 1 2 {bad}\n"));
            assert!(
                matches!(found, Err(MeshError::MissingVertex { known: 8, .. })),
                "{bad}: {found:?}"
            );
            assert!(found.unwrap_err().message().starts_with("line 17 "), "{bad}");
        }
    }

    #[test]
    fn lines_that_cannot_be_understood_are_refused() {
        for bad in [
            "f 1 2",
            "f 0 1 2",
            "f 1 2 x",
            "f 1 2 1.5",
            "v 1 2",
            "v 1 2 NaN",
            "v 1 2 inf",
            "v 1,5 2 3",
        ] {
            let found = measured(&format!("{CUBE}{bad}\n"));
            assert!(matches!(found, Err(MeshError::Line { line: 17, .. })), "{bad}: {found:?}");
        }
        assert_eq!(measured("v 0 0 0\n"), Err(MeshError::Empty));
    }
}
