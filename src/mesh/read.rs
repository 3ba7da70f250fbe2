//! Reading: a source and its format go in; a welded [`Mesh`], or a [`Measure`] alone, comes out.

use std::path::Path;
use std::thread;

use super::measure::Tally;
use super::stl::{self, Kind};
use super::{
    Measure, Mesh, MeshError, Source, Triangle, Welder, obj, stl_ascii, stl_binary, threemf,
};

/// The formats that are read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Format {
    /// STL, binary or text.
    Stl,
    /// OBJ.
    Obj,
    /// 3MF.
    ThreeMf,
}

impl Format {
    /// The format a file's name says.
    ///
    /// # Errors
    /// When the name ends in none of .stl, .obj and .3mf (in either case).
    pub fn of(path: &Path) -> Result<Self, MeshError> {
        let end = path.extension().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
        match end.as_str() {
            "stl" => Ok(Self::Stl),
            "obj" => Ok(Self::Obj),
            "3mf" => Ok(Self::ThreeMf),
            _ => Err(MeshError::UnknownFormat(super::text::shown(end.as_bytes()))),
        }
    }
}

/// Reads a mesh and welds it.
///
/// # Errors
/// When the source cannot be read or is not a whole file of that format.
pub fn read(source: &Source<'_>, format: Format) -> Result<Mesh, MeshError> {
    source.len()?;
    match format {
        Format::Obj => obj::read(source),
        Format::ThreeMf => threemf::read(source),
        Format::Stl => {
            let kind = stl::kind(source)?;
            let expected = match kind {
                // The count is that of the file's length, so room for it is in proportion to the file.
                Kind::Binary(count) => usize::try_from(count).unwrap_or(0),
                Kind::Text => 0,
            };
            let mut welder = Welder::with_room_for(expected);
            for_each(source, kind, &mut |triangle| welder.add(triangle))?;
            welder.finish()
        }
    }
}

/// Measures a mesh without keeping its triangles where the format allows it (STL). Nothing says whether the volume can be trusted:
/// that takes [`read`] and [`super::check`].
///
/// # Errors
/// As [`read`], and when the sums are not finite.
pub fn measure(source: &Source<'_>, format: Format) -> Result<Measure, MeshError> {
    measure_with_threads(source, format, default_threads())
}

/// As [`measure`], on so many threads (at least one, at most eight). The result is the same, bit for bit.
///
/// # Errors
/// As [`measure`].
pub fn measure_with_threads(
    source: &Source<'_>,
    format: Format,
    threads: usize,
) -> Result<Measure, MeshError> {
    if format != Format::Stl {
        return read(source, format)?.measure();
    }
    let kind = stl::kind(source)?;
    if let Kind::Binary(count) = kind {
        let threads = if count < WORTH_A_THREAD { 1 } else { threads.clamp(1, MOST_THREADS) };
        return stl_binary::measure(source, count, threads);
    }
    let mut tally = Tally::new();
    for_each(source, kind, &mut |triangle| {
        tally.add(triangle);
        Ok(())
    })?;
    tally.finish()
}

/// Reading is bound by memory soon: more threads only wait for each other.
const MOST_THREADS: usize = 8;

/// Triangles below which starting a thread takes longer than it saves.
const WORTH_A_THREAD: u64 = 50_000;

fn default_threads() -> usize {
    thread::available_parallelism().map_or(1, usize::from)
}

fn for_each(
    source: &Source<'_>,
    kind: Kind,
    each: &mut dyn FnMut(&Triangle) -> Result<(), MeshError>,
) -> Result<(), MeshError> {
    match kind {
        Kind::Binary(count) => stl_binary::for_each(source, count, each),
        Kind::Text => stl_ascii::for_each(source, each),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::shapes::{cuboid, moved, sphere, stl_of};
    use super::super::{Posed, Up, check};
    use super::*;

    #[test]
    fn any_number_of_threads_gives_the_same_bits_as_reading() {
        let file = stl_of(&sphere([10.0, 20.0, -5.0], 7.0, 7));
        let source = Source::Bytes(&file);
        let one = measure_with_threads(&source, Format::Stl, 1).unwrap();
        assert_eq!(one.triangles, 327_680);
        for threads in [0, 2, 3, 8, 99] {
            let other = measure_with_threads(&source, Format::Stl, threads).unwrap();
            assert_eq!(other.volume.to_bits(), one.volume.to_bits());
            assert_eq!(other.area.to_bits(), one.area.to_bits());
            assert_eq!(other, one);
        }
        let kept = read(&source, Format::Stl).unwrap().measure().unwrap();
        assert_eq!(kept.volume.to_bits(), one.volume.to_bits());
        assert_eq!(kept, one);
    }

    #[test]
    fn coordinates_without_end_are_refused_by_their_triangle() {
        let triangles = sphere([0.0; 3], 1.0, 5);
        for bad in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
            for triangle in [0, 5000, 20_479] {
                let mut file = stl_of(&triangles);
                let at = 84 + 50 * triangle + 12 + 16;
                file[at..at + 4].copy_from_slice(&bad.to_le_bytes());
                let expected = Err(MeshError::NotFinite { triangle: triangle as u64 + 1 });
                let source = Source::Bytes(&file);
                assert_eq!(measure_with_threads(&source, Format::Stl, 2), expected);
                assert_eq!(read(&source, Format::Stl).map(|_| ()), expected.map(|_: Measure| ()));
            }
        }
    }

    #[test]
    fn the_name_says_the_format() {
        for (name, format) in
            [("a.stl", Format::Stl), ("a.b.OBJ", Format::Obj), ("x/a.3mf", Format::ThreeMf)]
        {
            assert_eq!(Format::of(Path::new(name)), Ok(format));
        }
        for name in ["a.step", "stl", "a"] {
            assert!(
                matches!(Format::of(Path::new(name)), Err(MeshError::UnknownFormat(_))),
                "{name}"
            );
        }
    }

    /// A closed mesh: a ball squeezed and bent.
    fn lump() -> impl Strategy<Value = Vec<Triangle>> {
        (prop::array::uniform3(0.2..5.0_f64), prop::array::uniform3(-0.3..0.3_f64)).prop_map(
            |(stretch, bend)| {
                moved(&sphere([0.0; 3], 1.0, 2), |[x, y, z]| {
                    [
                        stretch[0] * x + bend[0] * y * y,
                        stretch[1] * y + bend[1] * z * z,
                        stretch[2] * z + bend[2] * x,
                    ]
                })
            },
        )
    }

    fn volume(triangles: &[Triangle]) -> f64 {
        check(&super::super::shapes::mesh_of(triangles)).unwrap().volume().unwrap()
    }

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
    }

    fn rotation(angles: [f64; 2]) -> impl Fn([f64; 3]) -> [f64; 3] {
        let [(s, c), (t, d)] = angles.map(f64::sin_cos);
        move |[x, y, z]| {
            let [x, y] = [c * x - s * y, s * x + c * y];
            [x, d * y - t * z, t * y + d * z]
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

        #[test]
        fn volume_does_not_depend_on_place_turn_or_order(
            triangles in lump(),
            shift in prop::array::uniform3(-1e3..1e3_f64),
            angles in prop::array::uniform2(0.0..6.0_f64),
            start in 0_usize..320,
            step in prop::sample::select(vec![1_usize, 3, 7, 77, 319]),
        ) {
            let whole = volume(&triangles);
            let there = moved(&triangles, |p| [p[0] + shift[0], p[1] + shift[1], p[2] + shift[2]]);
            prop_assert!(near(volume(&there), whole));
            prop_assert!(near(volume(&moved(&triangles, rotation(angles))), whole));
            let order: Vec<Triangle> = (0..320)
                .map(|i| triangles[(start + step * i) % 320])
                .map(|[a, b, c]| [b, c, a])
                .collect();
            prop_assert!(near(volume(&order), whole));
        }

        #[test]
        fn volume_grows_with_the_cube_of_the_size_and_a_mirror_keeps_it(triangles in lump(), k in 0.01..100.0_f64) {
            let whole = volume(&triangles);
            prop_assert!(near(volume(&moved(&triangles, |p| p.map(|x| k * x))), k * k * k * whole));
            let mirror: Vec<Triangle> = moved(&triangles, |[x, y, z]| [-x, y, z]);
            prop_assert!(near(volume(&mirror), whole));
            let found = check(&super::super::shapes::mesh_of(&mirror)).unwrap();
            prop_assert!(found.inverted);
        }

        #[test]
        fn immersion_grows_from_nothing_to_the_whole(
            triangles in lump(),
            mut shares in prop::collection::vec(-0.1..1.1_f64, 2..12),
            up in prop::sample::select(Up::ALL.to_vec()),
        ) {
            let mesh = super::super::shapes::mesh_of(&triangles);
            let posed = Posed::new(&mesh, up);
            prop_assert!(near(posed.whole().volume, volume(&triangles)));
            prop_assert!(near(posed.whole().area, mesh.measure().unwrap().area));
            shares.sort_by(f64::total_cmp);
            let slack = 1e-12 * posed.whole().volume;
            let mut before = posed.immersed(0.0);
            prop_assert!(before.volume.abs() <= 0.0);
            for share in shares {
                let now = posed.immersed(share * posed.height());
                prop_assert!(now.volume >= before.volume - slack && now.area >= before.area - 1e-12 * posed.whole().area);
                before = now;
            }
            prop_assert!(before.volume <= posed.whole().volume);
            // Just below the top the sum is computed, not looked up.
            let top = posed.immersed(posed.height() * (1.0 - 1e-12));
            prop_assert!(near(top.volume, posed.whole().volume));
        }

        #[test]
        fn what_is_below_one_way_up_is_above_the_other(triangles in lump(), share in 0.0..1.0_f64) {
            let mesh = super::super::shapes::mesh_of(&triangles);
            for (up, down) in [(Up::PlusX, Up::MinusX), (Up::PlusY, Up::MinusY), (Up::PlusZ, Up::MinusZ)] {
                let (up, down) = (Posed::new(&mesh, up), Posed::new(&mesh, down));
                let depth = share * up.height();
                let (below, above) = (up.immersed(depth), down.immersed(up.height() - depth));
                prop_assert!(near(below.volume + above.volume, up.whole().volume));
                prop_assert!(near(below.area + above.area, up.whole().area));
                prop_assert!((below.cut - above.cut).abs() <= 1e-9 * up.whole().area);
            }
        }

        #[test]
        fn arbitrary_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
            for format in [Format::Stl, Format::Obj, Format::ThreeMf] {
                let _ = read(&Source::Bytes(&bytes), format).and_then(|mesh| check(&mesh));
            }
        }

        #[test]
        fn arbitrary_words_never_panic(
            words in prop::collection::vec(
                prop::sample::select(vec![
                    "solid ", "facet ", "outer loop\n", "vertex ", "endloop\n", "endfacet\n", "endsolid\n", "v ", "f ", "/", "-",
                    "1", "9", "\\\n", "\n", " ", "e", ".", "#",
                ]),
                0..80,
            ),
        ) {
            let words = words.concat();
            for format in [Format::Stl, Format::Obj] {
                let _ = read(&Source::Bytes(words.as_bytes()), format).and_then(|mesh| check(&mesh));
            }
        }

        #[test]
        fn arbitrary_records_never_panic(
            raw in prop::collection::vec(prop::sample::select(vec![0_u8, 1, 63, 64, 127, 128, 191, 255]), 50..500),
        ) {
            let records = raw.len() / 50;
            let mut file = vec![b's'; 80];
            file.extend(u32::try_from(records).unwrap().to_le_bytes());
            file.extend(&raw[..records * 50]);
            let source = Source::Bytes(&file);
            let _ = measure(&source, Format::Stl);
            if let Ok(mesh) = read(&source, Format::Stl) {
                let _ = check(&mesh);
                for up in Up::ALL {
                    let posed = Posed::new(&mesh, up);
                    let _ = (posed.immersed(posed.height() / 2.0), posed.depth_for(posed.whole().volume / 2.0));
                }
            }
        }

        #[test]
        fn a_cut_or_changed_file_never_panics_and_a_cut_one_is_refused(at in 0_usize..1284, byte in any::<u8>()) {
            let whole = stl_of(&cuboid([0.0; 3], [1.0; 3]));
            let at = at % whole.len();
            prop_assert!(read(&Source::Bytes(&whole[..at]), Format::Stl).is_err());
            let mut changed = whole;
            changed[at] = byte;
            let _ = read(&Source::Bytes(&changed), Format::Stl).and_then(|mesh| check(&mesh));
        }
    }
}
