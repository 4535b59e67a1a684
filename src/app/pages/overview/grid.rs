//! How many shots stand beside each other: as few as the room takes without scrolling, so that each is large.

/// Width to height of an image's room.
const WIDE: f64 = 1.2;
/// The same at most, where there is room beside it.
const WIDEST: f64 = 1.6;
/// The least width of a shot, in points; with more shots the page scrolls.
const LEAST: f64 = 168.0;
/// Height of the two lines below an image, in points.
pub const LINES: f64 = 36.0;
/// Room between two shots, in points.
pub const GAP: f64 = 6.0;
/// Height of a section's heading, in points.
pub const HEAD: f64 = 24.0;

/// How shots are laid out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShotCells {
    /// Shots beside each other.
    pub columns: usize,
    /// Width and height of an image, in points.
    pub image: (f64, f64),
}

impl ShotCells {
    /// How high sections with so many shots each are, in points.
    #[must_use]
    pub fn high(&self, sections: &[usize]) -> f64 {
        let rows: usize = sections.iter().map(|count| count.div_ceil(self.columns.max(1))).sum();
        number(sections.len()) * HEAD + number(rows) * (self.image.1 + LINES + GAP)
    }
}

/// The largest images that this room takes, of sections with so many shots each.
#[must_use]
pub fn cells((width, height): (f64, f64), sections: &[usize]) -> ShotCells {
    let most = sections.iter().copied().max().unwrap_or(1).max(1);
    let all = (1..=most).map(|columns| of(columns, (width, height), sections));
    let fitting = all.filter(|(cells, whole)| *whole <= height && cells.image.0 >= LEAST);
    // Frames are about square, so that the lower side counts.
    let largest = fitting.max_by(|(a, _), (b, _)| a.image.1.total_cmp(&b.image.1));
    largest.map_or_else(|| scrolled(width), |(cells, _)| cells)
}

/// So many columns: the images, no wider than leaves room for all rows, and how high everything is then.
fn of(columns: usize, (width, height): (f64, f64), sections: &[usize]) -> (ShotCells, f64) {
    let rows: usize = sections.iter().map(|count| count.div_ceil(columns)).sum();
    let fixed = number(sections.len()) * HEAD + number(rows) * (LINES + GAP);
    let across = width / number(columns) - GAP;
    let down = (height - fixed) / number(rows.max(1));
    let high = (across / WIDE).min(down);
    let image = (across.min(WIDEST * high), high);
    (ShotCells { columns, image }, fixed + number(rows) * image.1.max(LEAST / WIDE))
}

/// As many columns as the width takes, where everything does not fit.
fn scrolled(width: f64) -> ShotCells {
    let across = |columns: usize| width / number(columns) - GAP;
    let columns = (1..).take_while(|columns| across(*columns) >= LEAST).last().unwrap_or(1);
    ShotCells { columns, image: (across(columns).max(1.0), across(columns).max(1.0) / WIDE) }
}

/// A small count as a number.
#[expect(clippy::cast_precision_loss, reason = "a count of shots")]
const fn number(count: usize) -> f64 {
    count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// In a window of 1280 × 800 about 970 × 640 points are left beside the labels.
    #[test]
    fn eleven_shots_fit_without_scrolling_and_are_large() {
        let room = (970.0, 640.0);
        let found = cells(room, &[11]);
        assert!(found.image.0 >= 200.0 && found.image.1 >= 150.0, "{found:?}");
        let rows = 11_usize.div_ceil(found.columns);
        assert!(HEAD + number(rows) * (found.image.1 + LINES + GAP) <= room.1);
        let parted = cells(room, &[5, 5, 1]);
        assert!(parted.image.0 >= LEAST && parted.image.1 >= LEAST / WIDE, "{parted:?}");
    }

    #[test]
    fn few_shots_fill_the_room_and_many_scroll() {
        let two = cells((970.0, 640.0), &[2]);
        assert_eq!(two.columns, 2);
        assert!(two.image.0 > 450.0 && two.image.1 <= 640.0 - HEAD - LINES, "{two:?}");
        let many = cells((970.0, 640.0), &[120, 80]);
        assert!(many.columns == 5 && many.image.0 >= LEAST, "{many:?}");
        assert_eq!(cells((40.0, 30.0), &[3]).columns, 1, "a window that is too small");
        assert_eq!(cells((970.0, 640.0), &[]).columns, 1);
    }
}
