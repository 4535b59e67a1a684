//! Simulated series as files: pictures, a case file, and the truth beside it.

use std::path::{Path, PathBuf};

use image::{ExtendedColorType, ImageEncoder as _};
use serde_json::{Value, json};

use crate::case::document::Case;
use crate::io::case_file;
use crate::io::error::{Error, ErrorKind};
use crate::io::files;
use crate::io::store::save::{Over, write_file};
use crate::measure::body::BodyPoint;
use crate::measure::mark::View;
use crate::phantom::beam::Pose;
use crate::phantom::contour::Contour;
use crate::phantom::picture::{Bits, GrayPicture};
use crate::phantom::series::{Series, SimulatedShot};
use crate::phantom::size::Size;
use crate::phantom::truth::TruePlace;
use crate::study::practice::Truth;

/// A file to write: its name below the case's folder, with `/` between parts, and its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NamedBytes {
    /// The name.
    pub name: String,
    /// The content.
    pub bytes: Vec<u8>,
}

/// What is known of a simulated shot, to hold marks against.
#[must_use]
pub fn truth_of(simulated: &SimulatedShot) -> Truth {
    let place = match simulated.pose.view {
        View::Lateral => simulated.truth.lateral.map(|place| (place.curved, 0)),
        View::Ap => simulated.truth.ap.map(|place| (place.curved, 2)),
        View::Pedicle => None,
    };
    let mut values = [None; 3];
    if let Some((at, index)) = place {
        values[index] = Some(at.along);
        values[1] = Some(at.height);
    }
    Truth { marks: simulated.true_marks(), values, mm_per_px: simulated.pose.mm_per_px }
}

/// A picture as a grey PNG of 8 or 16 bits.
///
/// # Errors
/// If the encoder refuses it.
pub fn png(name: &str, picture: &GrayPicture) -> Result<Vec<u8>, Error> {
    let (samples, kind): (Vec<u8>, _) = match picture.bits {
        Bits::Eight => {
            (picture.samples.iter().map(|sample| sample.to_le_bytes()[0]).collect(), ExtendedColorType::L8)
        }
        Bits::Sixteen => {
            (picture.samples.iter().flat_map(|sample| sample.to_ne_bytes()).collect(), ExtendedColorType::L16)
        }
    };
    let mut bytes = Vec::new();
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&samples, picture.side, picture.side, kind)
        .map_err(|e| Error::new(ErrorKind::Other, Path::new(name), format!("not written: {e}")))?;
    Ok(bytes)
}

/// The files of a series: its pictures, then `STEM.case.json` with their digests and `STEM.truth.json`. `watch` hears before
/// each picture how many of how many are made.
///
/// # Errors
/// If a picture or the case cannot be written out.
pub fn series_files(
    series: &Series,
    stem: &str,
    watch: &mut dyn FnMut(usize, usize),
) -> Result<Vec<NamedBytes>, Error> {
    let mut written = Vec::new();
    let of = series.shots.len();
    for done in 0..of {
        watch(done, of);
        written.extend(picture_file(series, done)?);
    }
    let digests = written.iter().map(|file| files::digest(&file.bytes)).collect();
    written.extend(record_files(series, stem, digests)?);
    Ok(written)
}

/// The picture of a shot of a series, by its place there; `None` if there is no such shot.
///
/// # Errors
/// If it cannot be written out.
pub fn picture_file(series: &Series, at: usize) -> Result<Option<NamedBytes>, Error> {
    let Some((shot, simulated)) = series.case.shots.get(at).zip(series.shots.get(at)) else {
        return Ok(None);
    };
    let bytes = png(&shot.image, &simulated.picture())?;
    Ok(Some(NamedBytes { name: shot.image.clone(), bytes }))
}

/// `STEM.case.json` and `STEM.truth.json` of a series whose pictures have these digests, in the order of its shots.
///
/// # Errors
/// If the case cannot be written out.
pub fn record_files(series: &Series, stem: &str, digests: Vec<String>) -> Result<Vec<NamedBytes>, Error> {
    let mut case = series.case.clone();
    for (shot, digest) in case.shots.iter_mut().zip(digests) {
        shot.digest = Some(digest);
    }
    let name = format!("{stem}.case.json");
    let text = case_file::to_text(Path::new(&name), &case)?;
    let truth = truth_text(&case, series);
    let record = |name, text: String| NamedBytes { name, bytes: text.into_bytes() };
    Ok(vec![record(name, text), record(format!("{stem}.truth.json"), truth)])
}

/// Writes the files of a series into a new or empty folder; `watch` as for [`series_files`].
///
/// # Errors
/// One sentence; a folder that already holds something is left as it is.
pub fn write_series(
    folder: &Path,
    series: &Series,
    stem: &str,
    watch: &mut dyn FnMut(usize, usize),
) -> Result<Vec<PathBuf>, Error> {
    let filled = match std::fs::read_dir(folder) {
        Ok(mut entries) => entries.next().is_some(),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => false,
        Err(e) if e.kind() == std::io::ErrorKind::NotADirectory => {
            return Err(Error::new(ErrorKind::NotAFile, folder, "it is a file; enter a new or empty folder"));
        }
        Err(e) => return Err(Error::reading(folder, &e)),
    };
    if filled {
        let text = "it already contains files; enter a new or empty folder";
        return Err(Error::new(ErrorKind::Conflict, folder, text));
    }
    let mut paths = Vec::new();
    for NamedBytes { name, bytes } in series_files(series, stem, watch)? {
        let path = name.split('/').fold(folder.to_path_buf(), |path, part| path.join(part));
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(|e| Error::writing(&path, &e))?;
        }
        write_file(&path, &bytes, &Over::Nothing)?;
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
                "turn_deg": six_digits(simulated.pose.turn_deg),
                "tilt_deg": six_digits(simulated.pose.tilt_deg),
                "pose": pose_value(&simulated.pose),
                "sizes_mm": sizes_value(&simulated.subject.body.size),
                "contours": contours_value(simulated),
                "kv": six_digits(simulated.technique.kv),
                "dose": six_digits(simulated.technique.dose),
            })
        })
        .collect();
    let whole = json!({
        "format": "stillmark truth",
        "version": 1,
        "case": case.title,
        "about": "Positions of the tip in the simulated body, relative to its outline in a parallel, perfectly true view. “corners” ignores the curvature of the borders.",
        "shots": shots,
    });
    format!("{whole:#}\n")
}

fn pose_value(pose: &Pose) -> Value {
    json!({
        "roll_deg": six_digits(pose.roll_deg),
        "off_axis_mm": [six_digits(pose.off_axis.x), six_digits(pose.off_axis.y)],
        "source_to_body_mm": six_digits(pose.source_to_body),
        "source_to_detector_mm": six_digits(pose.source_to_detector),
        "source_on": if pose.view == View::Lateral { pose.side.key() } else if pose.view == View::Ap && pose.source_in_front { "front" } else { "back" },
        "mirrored": pose.mirrored,
    })
}

fn sizes_value(size: &Size) -> Value {
    json!({
        "anterior_height": six_digits(size.anterior_height),
        "posterior_height": six_digits(size.posterior_height),
        "superior_depth": six_digits(size.superior_depth),
        "inferior_depth": six_digits(size.inferior_depth),
        "superior_width": six_digits(size.superior_width),
        "inferior_width": six_digits(size.inferior_width),
        "superior_concavity": six_digits(size.superior_concavity),
        "inferior_concavity": six_digits(size.inferior_concavity),
        "pedicle_width": six_digits(size.pedicle_width),
        "pedicle_height": six_digits(size.pedicle_height),
        "canal_width": six_digits(size.canal_width),
        "spinous_thickness": six_digits(size.spinous_thickness),
    })
}

/// Which contour the marks of each border follow: that nearer the source or that farther from it.
fn contours_value(simulated: &SimulatedShot) -> Value {
    let name = |contour: Contour| if contour == Contour::Near { "near" } else { "far" };
    let reader = &simulated.reader;
    match simulated.pose.view {
        View::Lateral => json!({
            "superior_end_plate": name(reader.superior),
            "inferior_end_plate": name(reader.inferior),
            "posterior_wall": name(reader.posterior),
        }),
        View::Ap => json!({
            "superior_end_plate": name(reader.superior),
            "inferior_end_plate": name(reader.inferior),
        }),
        View::Pedicle => json!({}),
    }
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
        let read = |bits, samples: &[u16]| {
            let picture = GrayPicture { side: 2, bits, samples: samples.to_vec() };
            image::load_from_memory(&png("a.png", &picture).unwrap()).unwrap()
        };
        let deep = [0, 1, 40_000, 65_535];
        assert_eq!(read(Bits::Sixteen, &deep).as_luma16().map(|p| p.as_raw().clone()), Some(deep.to_vec()));
        let flat = read(Bits::Eight, &[0, 1, 156, 255]);
        assert_eq!(flat.as_luma8().map(|p| p.as_raw().clone()), Some(vec![0, 1, 156, 255]));
    }

    #[test]
    fn a_folder_with_files_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("notes.txt"), "mine").unwrap();
        let error =
            write_series(folder.path(), &crate::phantom::demonstration::demonstration(), "a", &mut |_, _| ())
                .unwrap_err();
        assert_eq!(error.kind, ErrorKind::Conflict);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
