//! Loads an STL with mesh-loader and takes the same sums: volume, area, box.

use std::time::Instant;

fn main() {
    let path = std::env::args().nth(1).expect("a file");
    let start = Instant::now();
    let scene = mesh_loader::Loader::default().load(&path).expect("an STL");
    let loaded = start.elapsed().as_secs_f64();
    let (mut volume, mut area, mut triangles) = (0.0_f64, 0.0_f64, 0_usize);
    let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    for mesh in &scene.meshes {
        for face in &mesh.faces {
            let [a, b, c] = face.map(|i| mesh.vertices[i as usize].map(f64::from));
            let side = |p: [f64; 3]| [p[0] - a[0], p[1] - a[1], p[2] - a[2]];
            let (u, v) = (side(b), side(c));
            let n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
            volume += (a[0] * n[0] + a[1] * n[1] + a[2] * n[2]) / 6.0;
            area += (n[0] * n[0] + n[1] * n[1] + n[2] * n[2]).sqrt() / 2.0;
            triangles += 1;
            for p in [a, b, c] {
                for i in 0..3 {
                    low[i] = low[i].min(p[i]);
                    high[i] = high[i].max(p[i]);
                }
            }
        }
    }
    let seconds = start.elapsed().as_secs_f64();
    let size = [high[0] - low[0], high[1] - low[1], high[2] - low[2]];
    println!(
        "{{\"volume\": {volume:?}, \"area\": {area:?}, \"size\": {size:?}, \"triangles\": {triangles}, \"loading\": {loaded}, \"seconds\": {seconds}}}"
    );
}
