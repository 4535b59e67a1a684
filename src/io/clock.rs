//! The time of day where the user is.

use dicom_core::chrono::{Datelike as _, Local, Timelike as _};

/// Hours and minutes now, `10:42`, by the machine's own time zone.
#[must_use]
pub fn time_of_day() -> String {
    let now = Local::now();
    format!("{:02}:{:02}", now.hour(), now.minute())
}

/// The date and the time of day now as DICOM writes them (PS3.5, 6.2: DA and TM), `20260203` and `101500`.
#[must_use]
pub fn dicom_date_and_time() -> (String, String) {
    let now = Local::now();
    (
        format!("{:04}{:02}{:02}", now.year(), now.month(), now.day()),
        format!("{:02}{:02}{:02}", now.hour(), now.minute(), now.second()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_is_hours_and_minutes() {
        let time = time_of_day();
        let (hours, minutes) = time.split_once(':').unwrap();
        assert!(
            hours.parse::<u8>().unwrap() < 24 && minutes.parse::<u8>().unwrap() < 60 && minutes.len() == 2
        );
    }
}
