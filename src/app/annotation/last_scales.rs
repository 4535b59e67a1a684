//! The scales that were entered last, by the size of the image, as they are remembered from case to case.

use std::collections::BTreeMap;

use crate::measure::settings::scale_fault;

/// How many sizes are remembered; the smallest go first.
const MOST: usize = 32;

/// The scale that was entered last for images of each size.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LastScales(BTreeMap<(u32, u32), (f64, Option<f64>)>);

impl LastScales {
    /// As text to be remembered: a line for each size.
    #[must_use]
    pub fn remembered(&self) -> String {
        let line = |((width, height), (mm_per_px, sd)): (&(u32, u32), &(f64, Option<f64>))| {
            let sd = sd.map(|sd| format!(" {sd}")).unwrap_or_default();
            format!("{width} {height} {mm_per_px}{sd}\n")
        };
        self.0.iter().map(line).collect()
    }

    /// Takes up what was remembered; lines that cannot be understood, or whose scale cannot be one, are passed over.
    pub fn recall(&mut self, remembered: &str) {
        for line in remembered.lines() {
            let words: Vec<&str> = line.split_whitespace().collect();
            let number = |i: usize| words.get(i).and_then(|word| word.parse::<f64>().ok());
            let size = |i: usize| words.get(i).and_then(|word| word.parse::<u32>().ok());
            let (Some(width), Some(height), Some(mm_per_px)) = (size(0), size(1), number(2)) else {
                continue;
            };
            let sd = number(3).filter(|sd| sd.is_finite() && *sd >= 0.0);
            if scale_fault(mm_per_px).is_none() {
                self.note((width, height), mm_per_px, sd);
            }
        }
    }

    /// Notes the scale of images of this many columns and rows.
    pub fn note(&mut self, size: (u32, u32), mm_per_px: f64, sd: Option<f64>) {
        self.0.insert(size, (mm_per_px, sd));
        while self.0.len() > MOST {
            self.0.pop_first();
        }
    }

    /// The one that was noted last for images of this many columns and rows, with its standard uncertainty.
    #[must_use]
    pub fn of(&self, size: (u32, u32)) -> Option<(f64, Option<f64>)> {
        self.0.get(&size).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_entered_is_remembered_and_nonsense_is_passed_over() {
        let mut scales = LastScales::default();
        scales.note((1024, 1024), 0.22, Some(0.01));
        scales.note((640, 480), 0.35, None);
        let mut again = LastScales::default();
        again.recall(&scales.remembered());
        assert_eq!(again, scales);
        again.recall("x y z\n10 10\n10 10 -3\n10 10 1e99\n\n");
        assert_eq!(again, scales);
    }

    #[test]
    fn the_list_does_not_grow_without_end() {
        let mut scales = LastScales::default();
        for width in 0..100 {
            scales.note((width, 10), 0.2, None);
        }
        assert_eq!(scales.0.len(), MOST);
    }
}
