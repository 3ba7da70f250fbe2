//! A small command for measuring by hand. Prints JSON with the seconds taken inside and the peak memory in bytes (Linux).
//!
//! `measure FILE [THREADS]`, `check FILE`, `depths FILE UP`, `bytes FILE` (the sum of all bytes, for comparison).

use std::env;
use std::error::Error;
use std::fs::{self, File};
use std::io::Read;
use std::path::Path;
use std::time::Instant;

use flipcount::mesh::{Format, Posed, Shell, Source, Up, check, measure_with_threads, read};

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = env::args().collect();
    let [_, command, path, more @ ..] = args.as_slice() else {
        return Err("expected measure, check, depths or bytes, and a file".into());
    };
    let path = Path::new(path);
    let start = Instant::now();
    let answer = match command.as_str() {
        "measure" => measured(path, more.first().map_or(Ok(2), |text| text.parse())?)?,
        "check" => checked(path)?,
        "depths" => depths(path, more.first().map_or("+z", String::as_str))?,
        "bytes" => bytes(path)?,
        other => return Err(format!("unknown command {other}").into()),
    };
    let seconds = start.elapsed().as_secs_f64();
    println!("{{{answer}, \"seconds\": {seconds}, \"peak\": {}}}", peak());
    Ok(())
}

fn measured(path: &Path, threads: usize) -> Result<String, Box<dyn Error>> {
    let found = measure_with_threads(&Source::Path(path), Format::of(path)?, threads)?;
    Ok(format!(
        r#""volume": {:?}, "area": {:?}, "size": {:?}, "triangles": {}, "degenerate": {}"#,
        found.volume,
        found.area,
        found.bounds.size(),
        found.triangles,
        found.degenerate
    ))
}

fn checked(path: &Path) -> Result<String, Box<dyn Error>> {
    let start = Instant::now();
    let mesh = read(&Source::Path(path), Format::of(path)?)?;
    let reading = start.elapsed().as_secs_f64();
    let found = check(&mesh)?;
    let (e, m) = (found.edges, found.measure);
    let euler: Vec<i64> = found.shells.iter().map(Shell::euler).collect();
    let cavities = found.shells.iter().filter(|shell| shell.cavity).count();
    let sums = format!(
        r#""volume": {:?}, "area": {:?}, "min": {:?}, "max": {:?}"#,
        m.volume, m.area, m.bounds.min, m.bounds.max
    );
    let edges = format!(
        r#""vertices": {}, "edges": {}, "open": {}, "non_manifold": {}, "wrong_winding": {}"#,
        found.vertices, e.edges, e.open, e.non_manifold, e.wrong_winding
    );
    let shells = format!(
        r#""euler": {euler:?}, "cavities": {cavities}, "inverted": {}, "stray": {}, "may_overlap": {}"#,
        found.inverted, found.stray_shells, found.may_overlap
    );
    let trusted = found.volume().map_or_else(|why| why.message(), |_| "yes".to_owned());
    Ok(format!(
        r#"{sums}, "triangles": {}, "degenerate": {}, {edges}, {shells}, "trusted": "{trusted}", "reading": {reading}"#,
        m.triangles, m.degenerate
    ))
}

fn depths(path: &Path, up: &str) -> Result<String, Box<dyn Error>> {
    let mesh = read(&Source::Path(path), Format::of(path)?)?;
    let up = Up::parse(up).ok_or("expected an axis: +x, -x, +y, -y, +z or -z")?;
    let posed = Posed::new(&mesh, up);
    let step = |i: i32| {
        let depth = posed.height() * (f64::from(i) - 0.37) / 10.0;
        let found = posed.immersed(depth);
        let back = posed.depth_for(found.volume).unwrap_or(f64::NAN);
        let again = posed.immersed(back).volume;
        format!(
            r#"{{"depth": {depth:?}, "volume": {:?}, "area": {:?}, "cut": {:?}, "back": {back:?}, "again": {again:?}}}"#,
            found.volume, found.area, found.cut
        )
    };
    let steps: Vec<String> = (1..=10).map(step).collect();
    Ok(format!(
        r#""up": "{}", "height": {:?}, "steps": [{}]"#,
        up.as_str(),
        posed.height(),
        steps.join(", ")
    ))
}

fn bytes(path: &Path) -> Result<String, Box<dyn Error>> {
    let mut file = File::open(path)?;
    let mut buffer = vec![0; 1 << 18];
    let mut sum = 0_u64;
    loop {
        let read = file.read(&mut buffer)?;
        if read == 0 {
            return Ok(format!(r#""sum": {sum}"#));
        }
        sum += buffer[..read].iter().map(|&byte| u64::from(byte)).sum::<u64>();
    }
}

/// The most memory this process has held, where the system tells.
fn peak() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kib = line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<u64>().ok());
    kib.unwrap_or(0) * 1024
}
