//! How long a still of 1024² takes, from bodies and instruments to stored greys.
//!
//! With a folder in `STILLMARK_BENCH_SCENE` it also writes the scene there, for `phantom.py` to cast the same rays.

#![expect(clippy::print_stdout, reason = "a benchmark says what it measured")]

use std::io;
use std::path::Path;
use std::time::Instant;

use stillmark::geom::point::Point;
use stillmark::measure::mark::{Level, Side, Stage, View};
use stillmark::phantom::anatomy::part::Part;
use stillmark::phantom::anatomy::{patient, tool};
use stillmark::phantom::beam::Beam;
use stillmark::phantom::imaging::grain::Grain;
use stillmark::phantom::imaging::shadow::ways;
use stillmark::phantom::look::Look;
use stillmark::phantom::picture::picture;
use stillmark::phantom::series::{WantedShots, drawn};

const SIDE: u32 = 1024;
const RUNS: usize = 5;

fn main() -> io::Result<()> {
    let wanted = WantedShots {
        level: Some(Level::L4),
        side: Some(Side::Right),
        stage: Some(Stage::Final),
        view: Some(View::Lateral),
    };
    let series = drawn(8, wanted, &Look { side_px: SIDE, ..Look::default() });
    let shot = &series.shots[0];
    let beam = shot.beam();
    let (mut built, mut whole) = (Vec::new(), Vec::new());
    for _ in 0..RUNS {
        let start = Instant::now();
        let parts = patient(shot.subject.level, &shot.subject.body, shot.pose.view, shot.patient);
        built.push(start.elapsed().as_secs_f64());
        let with = Some((&shot.subject.instrument, shot.tool));
        let made = picture(&parts, &Grain::new(shot.patient), with, &beam, &shot.technique);
        whole.push(start.elapsed().as_secs_f64());
        assert_eq!(made.samples.len(), (SIDE * SIDE) as usize);
    }
    println!(
        "a still of {SIDE} x {SIDE}: {:.2} s, of which {:.2} s to build the patient (median of {RUNS})",
        median(whole),
        median(built)
    );
    if let Some(folder) = std::env::var_os("STILLMARK_BENCH_SCENE") {
        let mut parts = patient(shot.subject.level, &shot.subject.body, shot.pose.view, shot.patient);
        parts.extend(tool::parts(&shot.subject.instrument, shot.tool));
        // The grain is a matter of taste, not of geometry.
        parts.iter_mut().for_each(|part| part.grained = false);
        export(Path::new(&folder), &parts, &beam)?;
    }
    Ok(())
}

fn median(mut seconds: Vec<f64>) -> f64 {
    seconds.sort_by(f64::total_cmp);
    seconds[seconds.len() / 2]
}

/// Triangles, what fills them, the beam, and the ways found: little-endian numbers, one file for each.
fn export(folder: &Path, parts: &[Part], beam: &Beam) -> io::Result<()> {
    std::fs::create_dir_all(folder)?;
    let mut triangles: Vec<u8> = Vec::new();
    let mut fills: Vec<u8> = Vec::new();
    for (n, part) in (0_u32..).zip(parts) {
        for triangle in &part.mesh.triangles {
            for corner in triangle.map(|i| part.place.transform_point3(part.mesh.points[i as usize])) {
                for x in corner.to_array() {
                    triangles.extend(x.to_le_bytes());
                }
            }
            triangles.extend(f64::from(n).to_le_bytes());
        }
        for weight in part.fill.0 {
            fills.extend(weight.to_le_bytes());
        }
    }
    // Rays of depth 1 along the beam's axis are linear in the picture.
    let ray = |x: f64, y: f64| beam.ray_to(Point::new(x, y)) * beam.stretch(Point::new(x, y));
    let (o, a, b) = (ray(0.0, 0.0), ray(1.0, 0.0) - ray(0.0, 0.0), ray(0.0, 1.0) - ray(0.0, 0.0));
    let camera: Vec<u8> =
        [beam.source(), o, a, b].iter().flat_map(|v| v.to_array()).flat_map(f64::to_le_bytes).collect();
    let found = ways(parts, beam, SIDE as usize, &Grain::new(1));
    let lengths: Vec<u8> = found.millimetres.iter().flatten().flat_map(|mm| mm.to_le_bytes()).collect();
    for (name, bytes) in [("triangles", triangles), ("fills", fills), ("camera", camera), ("ways", lengths)] {
        std::fs::write(folder.join(name), bytes)?;
    }
    Ok(())
}
