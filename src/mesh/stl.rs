//! STL: a source goes in, its kind comes out.
//!
//! Binary and text files are told apart by length and content. The first word does not decide: many binary files begin with
//! `solid`, since their 80 header bytes are free. A file is binary when its length is what its own count calls for; a few trailing
//! bytes, as some programs leave them, are let pass.

use super::{MeshError, Source};

/// Bytes before the first triangle of a binary file: 80 free ones and the count.
pub(super) const HEADER: u64 = 84;

/// Bytes of a triangle in a binary file: twelve 4-byte numbers and a 2-byte attribute.
pub(super) const RECORD: usize = 50;

/// Bytes that may follow the last triangle: an end of line, or padding to a multiple of four.
const MAX_TRAILING: u64 = 4;

/// How much of a file is looked at to see whether it is text.
const LOOK: u64 = 1024;

/// The two kinds of STL.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// Binary, with so many triangles.
    Binary(u64),
    /// Text.
    Text,
}

/// Finds out which kind of STL a source is.
///
/// # Errors
/// When it is neither, or its length contradicts its count.
pub(super) fn kind(source: &Source<'_>) -> Result<Kind, MeshError> {
    let bytes = source.len()?;
    if bytes == 0 {
        return Err(MeshError::Empty);
    }
    let head = source.head(LOOK)?;
    let stated = count(&head);
    if let Some(stated) = stated.filter(|&stated| fits(stated, bytes)) {
        return if stated == 0 { Err(MeshError::Empty) } else { Ok(Kind::Binary(stated)) };
    }
    if is_text(&head) {
        return Ok(Kind::Text);
    }
    Err(not_stl(&head, stated, bytes))
}

fn count(head: &[u8]) -> Option<u64> {
    let count = head.get(80..84)?.first_chunk()?;
    Some(u64::from(u32::from_le_bytes(*count)))
}

fn length(triangles: u64) -> u64 {
    HEADER + triangles * RECORD as u64
}

fn fits(stated: u64, bytes: u64) -> bool {
    (length(stated)..=length(stated) + MAX_TRAILING).contains(&bytes)
}

/// Text begins with `solid` (after blanks or a byte-order mark) and has no control characters, which numbers in binary have.
fn is_text(head: &[u8]) -> bool {
    let start = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head).trim_ascii_start();
    let begins = start.get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid"));
    begins && !head.iter().any(|&b| b.is_ascii_control() && !b.is_ascii_whitespace())
}

fn not_stl(head: &[u8], stated: Option<u64>, bytes: u64) -> MeshError {
    if head.starts_with(b"PK\x03\x04") {
        return MeshError::OtherContent { expected: "an STL", found: "a zip archive, as a 3MF is" };
    }
    match stated {
        None => MeshError::TooShort { bytes },
        Some(stated) => MeshError::WrongLength { stated, expected: length(stated), bytes },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn binary(header: &[u8], stated: u32, body: usize) -> Vec<u8> {
        let mut file = vec![0; 80];
        file[..header.len()].copy_from_slice(header);
        file.extend(stated.to_le_bytes());
        file.resize(84 + body, 0);
        file
    }

    fn kind_of(bytes: &[u8]) -> Result<Kind, MeshError> {
        kind(&Source::Bytes(bytes))
    }

    #[test]
    fn a_binary_header_that_begins_with_solid_is_still_binary() {
        // Trap: numpy-stl rear_case.stl and stl-models wrongHeader.bin.stl.
        assert_eq!(kind_of(&binary(b"solid", 4, 200)), Ok(Kind::Binary(4)));
    }

    #[test]
    fn one_byte_after_the_last_triangle_is_let_pass_and_many_are_not() {
        // Trap: numpy-stl stl_binary/HalfDonut.stl is one byte longer than 84 + 50 n; stl-models multiWordName.bin.stl is 49 longer.
        assert_eq!(kind_of(&binary(b"", 4, 201)), Ok(Kind::Binary(4)));
        assert!(matches!(
            kind_of(&binary(b"", 4, 249)),
            Err(MeshError::WrongLength { stated: 4, .. })
        ));
    }

    #[test]
    fn counts_that_do_not_fit_the_length_are_refused_with_both() {
        // Trap: stl-models incorrectFaceCounter.bin.stl states 66 and holds 4.
        let expected = MeshError::WrongLength { stated: 66, expected: 3384, bytes: 284 };
        assert_eq!(kind_of(&binary(b"tetrahedron", 66, 200)), Err(expected));
        let huge = kind_of(&binary(b"", u32::MAX, 200));
        assert!(matches!(huge, Err(MeshError::WrongLength { expected: 214_748_364_834, .. })));
        assert!(matches!(kind_of(&binary(b"solid", 3, 149)), Err(MeshError::WrongLength { .. })));
    }

    #[test]
    fn text_is_known_by_its_content() {
        assert_eq!(kind_of(b"solid a\nendsolid a\n"), Ok(Kind::Text));
        assert_eq!(kind_of(b"\xef\xbb\xbf \r\n SOLID a\r\n"), Ok(Kind::Text));
        assert!(matches!(kind_of(b"no mesh"), Err(MeshError::TooShort { bytes: 7 })));
        assert_eq!(kind_of(b""), Err(MeshError::Empty));
        assert_eq!(kind_of(&binary(b"", 0, 0)), Err(MeshError::Empty));
        assert!(matches!(kind_of(b"PK\x03\x04..."), Err(MeshError::OtherContent { .. })));
    }
}
