//! How a shot's greys are shown: by which window or preset, inverted, with local contrast.

use crate::case::image::frame::Frame;
use crate::scene::window_level::WindowLevel;
use crate::scene::window_level::voi;

/// What decides which values become black and white.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Base {
    /// The picture's own histogram inside its field.
    #[default]
    Automatic,
    /// This window.
    Window(WindowLevel),
    /// A display that the file carries, by its place in the file.
    Preset(usize),
}

/// How a shot's greys are shown. None of it changes a stored value.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Look {
    /// What decides on black and white.
    pub base: Base,
    /// Whether black and white change places after that.
    pub inverted: bool,
    /// Whether greys are spread anew within each part of the picture.
    pub local: bool,
}

impl Look {
    /// The greys of all values of a frame, from 0 on; `automatic` is the window that suits the frame.
    #[must_use]
    pub fn table(self, frame: &Frame, automatic: WindowLevel) -> Vec<u8> {
        let mut table = match self.base {
            Base::Automatic => automatic.table(frame.max_value()),
            Base::Window(window) => window.table(frame.max_value()),
            Base::Preset(index) => match frame.facts.presets.get(index) {
                Some(preset) => voi::shares(frame, &preset.curve).into_iter().map(grey).collect(),
                None => automatic.table(frame.max_value()),
            },
        };
        if self.inverted {
            table.iter_mut().for_each(|grey| *grey = u8::MAX - *grey);
        }
        table
    }

    /// The window that shows a frame most nearly as this does, for a drag to begin from.
    #[must_use]
    pub fn window(self, frame: &Frame, automatic: WindowLevel) -> WindowLevel {
        match self.base {
            Base::Automatic => automatic,
            Base::Window(window) => window,
            Base::Preset(index) => match frame.facts.presets.get(index) {
                Some(preset) => window_of(&voi::shares(frame, &preset.curve)).unwrap_or(automatic),
                None => automatic,
            },
        }
    }

    /// The next of automatic and the presets, round; a window set by hand goes back to automatic.
    #[must_use]
    pub fn next_preset(self, presets: usize) -> Self {
        let base = match self.base {
            Base::Automatic if presets > 0 => Base::Preset(0),
            Base::Preset(index) if index + 1 < presets => Base::Preset(index + 1),
            Base::Automatic | Base::Window(_) | Base::Preset(_) => Base::Automatic,
        };
        Self { base, ..self }
    }
}

fn grey(share: f64) -> u8 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of 255")]
    let grey = (share.clamp(0.0, 1.0) * 255.0).round() as u8;
    grey
}

/// The window through the values at which a curve leaves black and reaches white.
fn window_of(shares: &[f64]) -> Option<WindowLevel> {
    let inverted = shares.first() > shares.last();
    let share = |s: f64| if inverted { 1.0 - s } else { s };
    let first = shares.iter().rposition(|s| share(*s) < 0.01).unwrap_or(0);
    let last = shares.iter().position(|s| share(*s) > 0.99).unwrap_or(shares.len().checked_sub(1)?);
    #[expect(clippy::cast_precision_loss, reason = "at most 65535")]
    let window = WindowLevel::new(first as f64, last as f64);
    Some(WindowLevel { inverted, ..window })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::image::facts::{Facts, GrayCurve, Preset, WindowFunction};
    use crate::case::image::frame::Samples;

    fn frame(function: WindowFunction) -> Frame {
        let curve = GrayCurve::Window { centre: 600.0, width: 400.0, function };
        let presets = vec![Preset { name: "BONE".to_owned(), curve }];
        Frame {
            facts: Facts { presets, ..Facts::default() },
            ..Frame::of_samples(1, 1, Samples::Gray16(vec![600]))
        }
    }

    #[test]
    fn a_preset_shows_its_own_greys_and_a_drag_begins_from_them() {
        // references, section 10: centre 600, width 400, linear: 400 → 0, 600 → 127.819549, 799 → 255.
        let frame = frame(WindowFunction::Linear);
        let automatic = WindowLevel::whole(&frame);
        let look = Look { base: Base::Preset(0), ..Look::default() };
        let table = look.table(&frame, automatic);
        assert_eq!([400, 600, 799, 60_000].map(|v: usize| table[v]), [0, 128, 255, 255]);
        let window = look.window(&frame, automatic);
        assert!((window.low - 400.0).abs() <= 5.0 && (window.high - 799.0).abs() <= 5.0, "{window:?}");
        let turned = Look { inverted: true, ..look }.table(&frame, automatic);
        assert_eq!([400, 600, 799].map(|v: usize| turned[v]), [255, 127, 0]);
    }

    #[test]
    fn presets_go_round_and_a_missing_one_is_automatic() {
        let frame = frame(WindowFunction::Sigmoid);
        let automatic = WindowLevel::new(10.0, 20.0);
        let first = Look::default().next_preset(1);
        assert_eq!(first.base, Base::Preset(0));
        assert_eq!(first.next_preset(1).base, Base::Automatic);
        assert_eq!(Look::default().next_preset(0).base, Base::Automatic);
        let missing = Look { base: Base::Preset(7), ..Look::default() };
        assert_eq!(missing.window(&frame, automatic), automatic);
    }
}
