//! Which frames of a short film are meant: all, a range, every nth of them.

use std::str::FromStr;

/// The most frames that are taken at once.
const MOST: u32 = 500;

/// Frames of a file, counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FrameChoice {
    /// The first.
    pub first: u32,
    /// The last that may be meant; `None` for the last of the file.
    pub last: Option<u32>,
    /// Each of them by 1, every second by 2 and so on; at least 1.
    pub every: u32,
}

impl Default for FrameChoice {
    fn default() -> Self {
        Self { first: 0, last: None, every: 1 }
    }
}

impl FrameChoice {
    /// The frames of a file with so many, in their order.
    ///
    /// # Errors
    /// One sentence without its subject, if there is no such frame or there are too many.
    pub fn of(self, frames: u32) -> Result<Vec<u32>, String> {
        let end = frames.saturating_sub(1);
        let last = self.last.unwrap_or(end);
        if frames == 0 || last > end || self.first > last || self.every == 0 {
            return Err(format!(
                "select frames between the first and the last; the file has {frames}, and every nth is 1 or more"
            ));
        }
        let step = usize::try_from(self.every).unwrap_or(usize::MAX);
        let count = (last - self.first) / self.every + 1;
        if count > MOST {
            return Err(format!("{count} frames are too many at once; select at most {MOST}"));
        }
        Ok((self.first..=last).step_by(step).collect())
    }
}

/// As it is typed: `all`, `4-20`, `all/5`, `4-20/5`, counted from 0 as frames are in the case file.
impl FromStr for FrameChoice {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || "write all, FIRST-LAST, or either with /N for every nth, such as 0-40/5".to_owned();
        let (range, every) = match text.trim().split_once('/') {
            Some((range, every)) => (range, every.trim().parse().ok().filter(|n| *n > 0).ok_or_else(wrong)?),
            None => (text.trim(), 1),
        };
        if range.trim() == "all" {
            return Ok(Self { every, ..Self::default() });
        }
        let (first, last) = range.split_once('-').ok_or_else(wrong)?;
        let number = |part: &str| part.trim().parse::<u32>().ok().ok_or_else(wrong);
        Ok(Self { first: number(first)?, last: Some(number(last)?), every })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_are_read_as_they_are_typed() {
        let of = |text: &str| text.parse::<FrameChoice>().unwrap().of(10);
        assert_eq!(of("all").unwrap().len(), 10);
        assert_eq!(of("all/4").unwrap(), [0, 4, 8]);
        assert_eq!(of("2-5").unwrap(), [2, 3, 4, 5]);
        assert_eq!(of(" 2 - 9 / 3 ").unwrap(), [2, 5, 8]);
        assert_eq!(of("9-9").unwrap(), [9]);
        assert!(of("5-2").is_err() && of("0-10").is_err());
        for wrong in ["", "some", "3", "1-2/0", "a-b", "1-2-3", "-1-4"] {
            assert!(wrong.parse::<FrameChoice>().is_err(), "{wrong}");
        }
        assert!(FrameChoice::default().of(0).is_err());
        assert!(FrameChoice::default().of(501).unwrap_err().contains("at most 500"));
        assert_eq!(FrameChoice { every: 2, ..FrameChoice::default() }.of(1000).unwrap().len(), 500);
    }
}
