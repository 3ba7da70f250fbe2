//! The parts of a 3MF archive: a source goes in, bounded readers of its XML parts come out.
//!
//! A small archive can inflate to any size, so everything inflated is counted, over all parts: above [`MAX_INFLATED_BYTES`] reading
//! stops. One XML tag may take at most 64 KiB, so memory follows what is kept, not what is inflated.

use std::cell::Cell;
use std::io::{self, BufRead, BufReader, Read};
use std::rc::Rc;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use zip::ZipArchive;
use zip::result::ZipError;

use super::source::ReadSeek;
use super::text::shown;
use super::{MeshError, Source};

/// The most bytes a 3MF may inflate to, over all parts that are read: 1 GiB.
pub const MAX_INFLATED_BYTES: u64 = 1 << 30;

/// The most objects a 3MF may place, components counted wherever they occur.
pub const MAX_PLACED: u64 = 100_000;

/// The longest tag, in bytes.
const MAX_TAG: u64 = 1 << 16;

/// The relationship that names the part with the model (3MF Core Specification, section on the 3D model part).
const MODEL_RELATIONSHIP: &str = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel";

/// An opened 3MF.
pub(super) struct Archive<'a> {
    zip: ZipArchive<BufReader<Box<dyn ReadSeek + 'a>>>,
    /// Bytes that may still be inflated.
    left: Rc<Cell<u64>>,
    limit: u64,
}

impl<'a> Archive<'a> {
    /// Opens the archive; at most `limit` bytes of it are inflated.
    ///
    /// # Errors
    /// When the source is no zip archive.
    pub(super) fn open(source: &Source<'a>, limit: u64) -> Result<Self, MeshError> {
        if source.is_empty()? {
            return Err(MeshError::Empty);
        }
        let zip =
            ZipArchive::new(BufReader::new(source.open()?)).map_err(|error| bad_zip(&error))?;
        Ok(Self { zip, left: Rc::new(Cell::new(limit)), limit })
    }

    /// The name of the part that holds the build.
    ///
    /// # Errors
    /// When no relationship names one.
    pub(super) fn root(&mut self) -> Result<String, MeshError> {
        let mut found = None;
        self.walk("_rels/.rels", &mut |tag, _| {
            if let Tag::Open(tag) = tag
                && tag.local_name().as_ref() == "Relationship"
                && attribute(tag, "Type")?.as_deref() == Some(MODEL_RELATIONSHIP)
                && found.is_none()
            {
                found = attribute(tag, "Target")?;
            }
            Ok(())
        })?;
        let target = found
            .ok_or_else(|| MeshError::MissingPart("a relationship to a 3D model".to_owned()))?;
        Ok(part_name(&target))
    }

    /// Gives the tags of an XML part to `each`, with the byte position.
    ///
    /// # Errors
    /// When there is no such part, it is not well-formed or too large, or `each` refuses.
    pub(super) fn walk(
        &mut self,
        part: &str,
        each: &mut dyn FnMut(&Tag<'_>, u64) -> Result<(), String>,
    ) -> Result<(), MeshError> {
        let file = match self.zip.by_name(part) {
            Ok(file) => file,
            Err(ZipError::FileNotFound) => {
                return Err(MeshError::MissingPart(shown(part.as_bytes())));
            }
            Err(error) => return Err(bad_zip(&error)),
        };
        let (left, limit) = (Rc::clone(&self.left), self.limit);
        let mut reader = Reader::from_reader(Metered {
            inner: BufReader::with_capacity(1 << 16, file),
            left: Rc::clone(&left),
            in_tag: 0,
        });
        let mut buffer = Vec::new();
        let mut depth = 0_u64;
        loop {
            buffer.clear();
            reader.get_mut().in_tag = 0;
            let at = reader.buffer_position();
            let event = reader.read_event_into(&mut buffer);
            let wrong = |found: String| MeshError::Xml { part: shown(part.as_bytes()), at, found };
            let told = match event {
                Ok(Event::Start(tag)) => {
                    depth += 1;
                    each(&Tag::Open(tag), at)
                }
                Ok(Event::Empty(tag)) => {
                    let name = tag.local_name().as_ref().to_owned();
                    each(&Tag::Open(tag), at).and_then(|()| each(&Tag::Close(&name), at))
                }
                Ok(Event::End(tag)) => {
                    depth = depth.saturating_sub(1);
                    each(&Tag::Close(tag.local_name().as_ref()), at)
                }
                Ok(Event::Eof) if depth > 0 => Err("the part ends inside a tag".to_owned()),
                Ok(Event::Eof) => return Ok(()),
                Ok(_) => Ok(()),
                Err(_) if left.get() == 0 => return Err(too_large(limit)),
                Err(error) => Err(error.to_string()),
            };
            told.map_err(wrong)?;
        }
    }
}

/// A tag of an XML part. A tag that is empty opens and closes.
pub(super) enum Tag<'a> {
    /// With its attributes.
    Open(BytesStart<'a>),
    /// Its name without prefix.
    Close(&'a str),
}

/// The value of an attribute, by its name without prefix.
///
/// # Errors
/// When the attributes are not well-formed.
pub(super) fn attribute(tag: &BytesStart<'_>, name: &str) -> Result<Option<String>, String> {
    for attribute in tag.attributes().with_checks(false) {
        let attribute = attribute.map_err(|error| error.to_string())?;
        if attribute.key.local_name().as_ref() == name {
            let value =
                quick_xml::escape::unescape(&attribute.value).map_err(|error| error.to_string())?;
            return Ok(Some(value.trim().to_owned()));
        }
    }
    Ok(None)
}

/// A part's name in the archive: paths in a 3MF begin with a slash, names in a zip do not.
pub(super) fn part_name(path: &str) -> String {
    path.trim_start_matches('/').to_owned()
}

fn bad_zip(error: &ZipError) -> MeshError {
    MeshError::BadZip(error.to_string())
}

fn too_large(limit: u64) -> MeshError {
    MeshError::TooLarge { what: "inflated bytes", found: limit.saturating_add(1), limit }
}

/// Counts what is read, and ends where there is too much of it.
struct Metered<R> {
    inner: R,
    left: Rc<Cell<u64>>,
    in_tag: u64,
}

impl<R: BufRead> Read for Metered<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let available = self.fill_buf()?;
        let amount = available.len().min(buffer.len());
        buffer[..amount].copy_from_slice(&available[..amount]);
        self.consume(amount);
        Ok(amount)
    }
}

impl<R: BufRead> BufRead for Metered<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.left.get() == 0 {
            return Err(io::Error::other("the archive inflates to more than is read"));
        }
        if self.in_tag > MAX_TAG {
            return Err(io::Error::other(format!("a tag or text longer than {MAX_TAG} bytes")));
        }
        self.inner.fill_buf()
    }

    fn consume(&mut self, amount: usize) {
        self.left.set(self.left.get().saturating_sub(amount as u64));
        self.in_tag += amount as u64;
        self.inner.consume(amount);
    }
}
