//! The time of day where the user is.

use dicom_core::chrono::{Local, Timelike as _};

/// Hours and minutes now, `10:42`, by the machine's own time zone.
#[must_use]
pub fn time_of_day() -> String {
    let now = Local::now();
    format!("{:02}:{:02}", now.hour(), now.minute())
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
