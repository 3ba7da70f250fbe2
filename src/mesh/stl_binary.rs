//! Binary STL: the records of a file go in; either their measure comes out, or the triangles one by one.
//!
//! Measuring reads fixed stretches of the file, on several threads if there are any, each with a reader and a small buffer of its
//! own; memory does not grow with the file. The sums of the stretches are added in file order.

use std::io::{Read, Seek, SeekFrom};
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

use super::stl::{HEADER, RECORD};
use super::sums::{Block, CHUNK, Chunk, Partial, Total, WIDTH};
use super::{Measure, MeshError, Point, Source, Triangle};

type Record = [u8; RECORD];

/// A stretch's place in the file and its sums.
type Stretch = (u64, Partial);

/// Measures `count` triangles on up to `threads` threads.
///
/// # Errors
/// When the source cannot be read or a coordinate is not finite.
pub(super) fn measure(
    source: &Source<'_>,
    count: u64,
    threads: usize,
) -> Result<Measure, MeshError> {
    let reference = first_corner(source)?;
    let next = AtomicU64::new(0);
    let work = || stretches(source, count, &reference, &next);
    let mut all: Vec<Stretch> = Vec::new();
    thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(work)).collect();
        let mut results = vec![work()];
        results.extend(others.into_iter().map(|other| {
            other.join().unwrap_or_else(|_| {
                Err(MeshError::Unreadable("a reading thread ended early".to_owned()))
            })
        }));
        // The finding of the earliest triangle is reported, whichever thread met it.
        for result in results {
            all.extend(result?);
        }
        Ok::<(), MeshError>(())
    })?;
    all.sort_unstable_by_key(|&(index, _)| index);
    let mut total = Total::EMPTY;
    for (index, part) in &all {
        if !part.is_finite() {
            return Err(not_finite(source, *index)?);
        }
        total.add(part);
    }
    total.finish()
}

fn first_corner(source: &Source<'_>) -> Result<Point, MeshError> {
    let mut reader = source.open()?;
    let mut record = [0; RECORD];
    reader.seek(SeekFrom::Start(HEADER))?;
    reader.read_exact(&mut record)?;
    Ok(triangle(&record)[0])
}

/// Measures stretch after stretch until none is left.
fn stretches(
    source: &Source<'_>,
    count: u64,
    reference: &Point,
    next: &AtomicU64,
) -> Result<Vec<Stretch>, MeshError> {
    let mut reader = source.open()?;
    let mut buffer = vec![0; CHUNK * RECORD];
    let mut done = Vec::new();
    loop {
        let index = next.fetch_add(1, Ordering::Relaxed);
        let start = index * CHUNK as u64;
        if start >= count {
            return Ok(done);
        }
        let triangles = (count - start).min(CHUNK as u64);
        let bytes = triangles * RECORD as u64;
        let stretch = &mut buffer[..usize::try_from(bytes).unwrap_or(CHUNK * RECORD)];
        reader.seek(SeekFrom::Start(HEADER + start * RECORD as u64))?;
        reader.read_exact(stretch)?;
        done.push((index, sum(stretch.as_chunks().0, reference)));
    }
}

fn sum(records: &[Record], reference: &Point) -> Partial {
    let mut chunk = Chunk::EMPTY;
    let mut block = Block::filled([0.0_f32; 9]);
    for group in records.chunks(WIDTH) {
        for (place, record) in group.iter().enumerate() {
            block.set(place, coordinates(record));
        }
        chunk.add(&mut block, group.len(), reference);
    }
    chunk.finish()
}

/// Gives every triangle to `each`, in file order.
///
/// # Errors
/// When the source cannot be read, a coordinate is not finite, or `each` refuses.
pub(super) fn for_each(
    source: &Source<'_>,
    count: u64,
    each: &mut dyn FnMut(&Triangle) -> Result<(), MeshError>,
) -> Result<(), MeshError> {
    let mut reader = source.open()?;
    reader.seek(SeekFrom::Start(HEADER))?;
    let mut buffer = vec![0; CHUNK * RECORD];
    let mut read = 0;
    while read < count {
        let triangles = (count - read).min(CHUNK as u64);
        let bytes = usize::try_from(triangles).unwrap_or(CHUNK) * RECORD;
        reader.read_exact(&mut buffer[..bytes])?;
        for (number, record) in (read + 1..).zip(buffer[..bytes].as_chunks().0) {
            let triangle = triangle(record);
            if !is_finite(&triangle) {
                return Err(MeshError::NotFinite { triangle: number });
            }
            each(&triangle)?;
        }
        read += triangles;
    }
    Ok(())
}

/// Names the first triangle of a stretch that is not finite. Corners of a binary file cannot overflow the sums by size alone.
fn not_finite(source: &Source<'_>, index: u64) -> Result<MeshError, MeshError> {
    let first = index * CHUNK as u64;
    let mut reader = source.open()?;
    reader.seek(SeekFrom::Start(HEADER + first * RECORD as u64))?;
    let mut record = [0; RECORD];
    for number in first + 1..=first + CHUNK as u64 {
        reader.read_exact(&mut record)?;
        if !is_finite(&triangle(&record)) {
            return Ok(MeshError::NotFinite { triangle: number });
        }
    }
    Ok(MeshError::Overflow)
}

fn is_finite(triangle: &Triangle) -> bool {
    triangle.as_flattened().iter().all(|x| x.is_finite())
}

/// The three corners of a record.
fn triangle(record: &Record) -> Triangle {
    let mut triangle = [[0.0; 3]; 3];
    for (place, coordinate) in triangle.as_flattened_mut().iter_mut().zip(coordinates(record)) {
        *place = f64::from(coordinate);
    }
    triangle
}

/// The nine coordinates as they stand, after the normal and before the attribute, neither of which is used.
#[inline(always)]
fn coordinates(record: &Record) -> impl Iterator<Item = f32> {
    record[12..48].as_chunks().0.iter().map(|bytes| f32::from_le_bytes(*bytes))
}
