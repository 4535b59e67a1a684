//! A case made of a structured report of ours, its values compared with a new reading of the same marks.

use std::path::Path;

use crate::case::readings::{CaseReadings, ShotReading};
use crate::io::case_file;
use crate::io::error::Error;
use crate::io::import::structured_report::{self, ReportedValue};
use crate::io::store::outside;
use crate::io::store::pictures::{picture_name, picture_path, read_with_pictures};
use crate::measure::quantity::Quantity;

/// What came of a report.
#[derive(Clone, Debug, PartialEq)]
pub struct ReportBack {
    /// The text of the case file.
    pub text: String,
    /// How many values of the report were read again.
    pub compared: usize,
    /// The largest difference between a value of the report and the new reading, as a fraction.
    pub largest: f64,
    /// Shots whose image is not beside the report.
    pub without_image: Vec<String>,
}

/// Makes a case of a report, to be written to `case_file`.
///
/// # Errors
/// One sentence that names the file: it cannot be read, is damaged, or is no report of this program.
pub fn read_back(report: &Path, case_file: &Path) -> Result<ReportBack, Error> {
    let structured_report::ReadBack { mut case, values, without_image } = structured_report::read(report)?;
    for shot in &mut case.shots {
        // What cannot be followed stays as it is and is not looked for.
        if !without_image.contains(&shot.id)
            && let Ok(path) = picture_path(report, &shot.image)
        {
            shot.image = picture_name(Some(case_file), &path);
        }
    }
    // Whoever names a report has chosen its folder.
    let folder = report.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    outside::allow(case_file, &[folder.to_path_buf()]);
    let (readings, _said) = read_with_pictures(case_file, &case, None);
    let differences: Vec<f64> = values
        .iter()
        .filter_map(|value| {
            let place = case.shots.iter().position(|shot| shot.id == value.group)?;
            let now = value_of(&readings, place, value)?;
            Some((now.value - value.value / 100.0).abs())
        })
        .collect();
    let text = case_file::to_text(case_file, &case)?;
    Ok(ReportBack {
        text,
        compared: differences.len(),
        largest: differences.iter().copied().fold(0.0, f64::max),
        without_image,
    })
}

/// The same quantity in a new reading; fractions only.
fn value_of<'a>(readings: &'a CaseReadings, place: usize, value: &ReportedValue) -> Option<&'a Quantity> {
    let is_direct = value.method != "TRUE_VIEW";
    match (readings.shots.get(place)?, value.name.as_str()) {
        (ShotReading::Lateral(reading), "DEPTH") if is_direct => reading.tip.as_ref().map(|tip| &tip.along),
        (ShotReading::Lateral(reading), "HEIGHT") if is_direct => reading.tip.as_ref().map(|tip| &tip.height),
        (ShotReading::Lateral(reading), "DEPTH") => reading.true_view.as_ref().map(|view| &view.depth),
        (ShotReading::Lateral(reading), "HEIGHT") => reading.true_view.as_ref().map(|view| &view.height),
        (ShotReading::Ap(reading), "ACROSS") if is_direct => reading.tip.as_ref().map(|tip| &tip.along),
        (ShotReading::Ap(reading), "HEIGHT") if is_direct => reading.height.as_ref(),
        (ShotReading::Ap(reading), "ACROSS") => reading.true_view.as_ref()?.across.as_ref(),
        (ShotReading::Ap(reading), "HEIGHT") => reading.true_view.as_ref()?.height.as_ref(),
        _ => None,
    }
}
