//! Simulated series as files: pictures, a case file, and the truth beside it.

use std::path::{Path, PathBuf};

use image::{ExtendedColorType, ImageEncoder as _};
use serde_json::{Value, json};

use crate::case::document::Case;
use crate::io::case_file;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::store::save::{Onto, write_file};
use crate::measure::body::BodyPoint;
use crate::phantom::picture::Picture;
use crate::phantom::series::Series;
use crate::phantom::truth::TruePlace;

/// A file to write: its name below the case's folder, with `/` between parts, and its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedBytes {
    /// The name.
    pub name: String,
    /// The content.
    pub bytes: Vec<u8>,
}

/// A picture as a grey PNG of 8 bits (the upper ones of each sample) or 16.
///
/// # Errors
/// If the encoder refuses it.
pub fn png(name: &str, picture: &Picture, bits: u8) -> Result<Vec<u8>, Error> {
    let (samples, kind): (Vec<u8>, _) = if bits == 8 {
        (picture.samples.iter().map(|sample| sample.to_be_bytes()[0]).collect(), ExtendedColorType::L8)
    } else {
        (picture.samples.iter().flat_map(|sample| sample.to_ne_bytes()).collect(), ExtendedColorType::L16)
    };
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&samples, picture.side, picture.side, kind)
        .map_err(|e| Error::new(ErrorKind::Other, Path::new(name), format!("not written: {e}")))?;
    Ok(bytes)
}

/// The files of a series: its pictures, then `STEM.case.json` with their digests and `STEM.truth.json`.
///
/// # Errors
/// If a picture or the case cannot be written out.
pub fn series_files(series: &Series, stem: &str, threads: usize) -> Result<Vec<NamedBytes>, Error> {
    let mut written = Vec::new();
    let mut case = series.case.clone();
    for (shot, simulated) in case.shots.iter_mut().zip(&series.shots) {
        let bytes = png(&shot.image, &simulated.picture(threads), simulated.bits)?;
        shot.digest = Some(files::digest(&bytes));
        written.push(NamedBytes { name: shot.image.clone(), bytes });
    }
    let name = format!("{stem}.case.json");
    let text = case_file::to_text(Path::new(&name), &case)?;
    written.push(NamedBytes { name, bytes: text.into_bytes() });
    let name = format!("{stem}.truth.json");
    written.push(NamedBytes { name, bytes: truth_text(&case, series).into_bytes() });
    Ok(written)
}

/// Writes the files of a series into a new or empty folder.
///
/// # Errors
/// One sentence; a folder that already holds something is left as it is.
pub fn write_series(
    folder: &Path,
    series: &Series,
    stem: &str,
    threads: usize,
) -> Result<Vec<PathBuf>, Error> {
    let filled = match std::fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_some(),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => false,
        Err(e) if e.kind() == std::io::ErrorKind::NotADirectory => {
            return Err(Error::new(ErrorKind::NotAFile, folder, "it is a file; name a new or empty folder"));
        }
        Err(e) => return Err(Error::reading(folder, &e)),
    };
    if filled {
        let text = "it already holds files; name a new or empty folder";
        return Err(Error::new(ErrorKind::Conflict, folder, text));
    }
    let mut paths = Vec::new();
    for NamedBytes { name, bytes } in series_files(series, stem, threads)? {
        let path = name.split('/').fold(folder.to_path_buf(), |path, part| path.join(part));
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(|e| Error::writing(&path, &e))?;
        }
        write_file(&path, &bytes, Onto::Nothing)?;
        paths.push(path);
    }
    Ok(paths)
}

/// The truth of a series as JSON. Fractions are written to six digits, more than any use needs and few enough
/// to be the same on every machine.
fn truth_text(case: &Case, series: &Series) -> String {
    let shots: Vec<Value> = case
        .shots
        .iter()
        .zip(&series.shots)
        .map(|(shot, simulated)| {
            let truth = &simulated.truth;
            json!({
                "shot": shot.id,
                "lateral": truth.lateral.map(|place| place_value(place, "depth")),
                "ap": truth.ap.map(|place| place_value(place, "across")),
                "offset": truth.beside.map(|beside| json!({
                    "pedicles": six_digits(beside.pedicles),
                    "spinous_process": six_digits(beside.spinous_process),
                })),
                "medial_border": truth.beside.map(|beside| six_digits(beside.medial_border)),
                "off_middle_mm": six_digits(truth.off_middle_mm),
                "turn_deg": six_digits(simulated.ray.turn_deg),
                "tilt_deg": six_digits(simulated.ray.tilt_deg),
            })
        })
        .collect();
    let whole = json!({
        "format": "stillmark truth",
        "version": 1,
        "case": case.title,
        "about": "Positions of the tip in the simulated body, against its outline in a parallel, perfectly true view. \
                  “corners” ignores the curvature of the borders.",
        "shots": shots,
    });
    format!("{whole:#}\n")
}

fn place_value(place: TruePlace, along: &str) -> Value {
    let point = |p: BodyPoint| json!({ along: six_digits(p.along), "height": six_digits(p.height) });
    let mut value = point(place.curved);
    value["corners"] = point(place.by_corners);
    value
}

fn six_digits(x: f64) -> f64 {
    (x * 1e6).round() / 1e6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_comes_back_with_all_its_bits() {
        let picture = Picture { side: 2, samples: vec![0, 1, 40_000, 65_535] };
        let read = |bits| image::load_from_memory(&png("a.png", &picture, bits).unwrap()).unwrap();
        assert_eq!(read(16).as_luma16().map(|p| p.as_raw().clone()), Some(picture.samples.clone()));
        assert_eq!(read(8).as_luma8().map(|p| p.as_raw().clone()), Some(vec![0, 0, 156, 255]));
    }

    #[test]
    fn a_folder_with_files_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("notes.txt"), "mine").unwrap();
        let error =
            write_series(folder.path(), &crate::phantom::demonstration::demonstration(), "a", 2).unwrap_err();
        assert_eq!(error.kind, ErrorKind::Conflict);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
