//! How long it takes to draw one 2048 × 2048 frame in another one's frame, beside OpenCV's `remap` in the same run. See
//! docs/speed.md.
//!
//! Needs Python with `numpy` and `opencv-python-headless`. Both draw by bilinear interpolation, from 8 and from 16 bits, on
//! all cores; OpenCV is given where every pixel comes from, which this program works out between the nodes of its grid.

#![expect(clippy::print_stdout, reason = "a benchmark says what it measured")]

use std::io::{self, Error};
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use stillmark::align::registration::Registration;
use stillmark::align::warp::{Warp, Warped};
use stillmark::case::image::frame::{Frame, Samples};
use stillmark::geom::point::Point;
use stillmark::measure::body::{BodyMap, Outline};

const SIDE: u32 = 2048;
/// Runs of each, of which the median counts, in some turns of both programs, of which the faster counts.
const RUNS: usize = 25;
const TURNS: usize = 3;

/// A body of 500 × 400 px, its places turned, zoomed and mirrored.
fn body(turn: f64, zoom: f64, mirror: f64) -> Option<BodyMap> {
    let at = |&(x, y): &(f64, f64)| {
        let (x, y) = (mirror * (x - 250.0) * zoom, (y - 200.0) * zoom);
        Point::new(
            1024.0 + turn.cos() * x - turn.sin() * y + 3.0 * (y / 70.0).sin(),
            1024.0 + turn.sin() * x + turn.cos() * y,
        )
    };
    let line = |list: &[(f64, f64)]| list.iter().map(at).collect::<Vec<Point>>();
    let plates = [
        line(&[(0.0, 0.0), (120.0, 12.0), (260.0, 16.0), (500.0, 0.0)]),
        line(&[(0.0, 400.0), (240.0, 380.0), (500.0, 410.0)]),
    ];
    let [superior, inferior] = plates;
    let outline = Outline::new(superior, inferior, &line(&[(16.0, 200.0)]), &line(&[(480.0, 210.0)]));
    BodyMap::new(&outline).ok()
}

fn frame(samples: Samples) -> Frame {
    Frame::of_samples(SIDE, SIDE, samples)
}

/// A smooth picture with fine structure, as a share of white.
fn value(i: u32) -> f64 {
    let (x, y) = (f64::from(i % SIDE), f64::from(i / SIDE));
    0.5 + 0.3 * (x / 190.0).sin() * (y / 150.0).cos() + 0.15 * (x / 3.0).sin() * (y / 4.0).cos()
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of white")]
fn main() -> io::Result<()> {
    let bodies = body(0.05, 1.0, 1.0).zip(body(-0.08, 1.1, -1.0));
    let registration =
        bodies.and_then(|(a, b)| Registration::new(a, b)).ok_or_else(|| Error::other("no registration"))?;
    let pixels = 0..SIDE * SIDE;
    let frames = [
        frame(Samples::Gray8(pixels.clone().map(|i| (255.0 * value(i)) as u8).collect())),
        frame(Samples::Gray16(pixels.map(|i| (65_535.0 * value(i)) as u16).collect())),
    ];
    let folder = tempfile::tempdir()?;
    let warp = Warp::new(&registration, (SIDE, SIDE));
    if std::env::args().any(|word| word == "--own") {
        // For a profile: nothing but the drawing, for a few seconds.
        (0..400).for_each(|turn| drop(std::hint::black_box(warp.picture(&frames[turn % 2]))));
        return Ok(());
    }
    let grid = timed(|| Warp::new(&registration, (SIDE, SIDE)));
    println!("grid of a pair of shots, once for each pair: {:.1} ms", grid * 1e3);
    write_places(folder.path(), &registration)?;
    for (frame, bits) in frames.iter().zip([8, 16]) {
        write(folder.path(), bits, frame, &warp.picture(frame))?;
        let (mut own, mut peer, mut said) = (f64::MAX, f64::MAX, String::new());
        for _ in 0..TURNS {
            own = own.min(1e3 * timed(|| warp.picture(frame)));
            let told = by_peer(folder.path(), bits)?;
            peer = peer.min(told.0);
            said = told.1;
        }
        println!("{bits} bits: {own:.1} ms; OpenCV remap: {peer:.1} ms {said}; ratio {:.2}", own / peer);
    }
    Ok(())
}

/// What OpenCV takes, in milliseconds, and what else its script says.
fn by_peer(folder: &Path, bits: u32) -> io::Result<(f64, String)> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/warp.py");
    let run = Command::new("python3").arg(script).arg(folder).arg(bits.to_string()).output()?;
    let said = String::from_utf8_lossy(&run.stdout).trim().to_owned();
    let told = said.split_once(" ms ").and_then(|(ms, rest)| Some((ms.parse().ok()?, rest.to_owned())));
    told.ok_or_else(|| Error::other(String::from_utf8_lossy(&run.stderr).into_owned()))
}

/// The median of some runs, in seconds.
fn timed<T>(work: impl Fn() -> T) -> f64 {
    let mut list: Vec<f64> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            std::hint::black_box(work());
            start.elapsed().as_secs_f64()
        })
        .collect();
    list.sort_by(f64::total_cmp);
    list[list.len() / 2]
}

/// Where every pixel comes from, as OpenCV counts: the first sample's centre is at 0.
#[expect(clippy::cast_possible_truncation, reason = "OpenCV takes f32")]
fn write_places(folder: &Path, registration: &Registration) -> io::Result<()> {
    let places: Vec<Point> = (0..SIDE * SIDE)
        .map(|i| registration.back(Point::new(f64::from(i % SIDE) + 0.5, f64::from(i / SIDE) + 0.5)))
        .collect();
    let bytes = |of: fn(&Point) -> f64| -> Vec<u8> {
        places.iter().flat_map(|p| ((of(p) - 0.5) as f32).to_le_bytes()).collect()
    };
    std::fs::write(folder.join("x"), bytes(|p| p.x))?;
    std::fs::write(folder.join("y"), bytes(|p| p.y))
}

fn write(folder: &Path, bits: u32, frame: &Frame, warped: &Warped) -> io::Result<()> {
    let bytes = |frame: &Frame| -> Vec<u8> {
        match &frame.samples {
            Samples::Gray8(s) => s.clone(),
            Samples::Gray16(s) => s.iter().flat_map(|v| v.to_le_bytes()).collect(),
        }
    };
    std::fs::write(folder.join(format!("from{bits}")), bytes(frame))?;
    std::fs::write(folder.join(format!("to{bits}")), bytes(&warped.frame))?;
    let covered = warped.reach.shares(0..SIDE, 0..SIDE, 1).into_iter().map(|share| u8::from(share > 0));
    std::fs::write(folder.join("covered"), covered.collect::<Vec<u8>>())
}
