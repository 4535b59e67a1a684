//! How the window shows things, whatever is open: dark or light, the size of text, the layers over an image, which columns
//! are folded. None of it is part of a case; part of it is remembered for the next time.

use std::collections::BTreeMap;

use crate::scene::drawing::theme::Mode;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::page::paper::PaperSize;

/// A column at the side of the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum SidePanel {
    /// The ladder of levels, on the left.
    Ladder,
    /// The reading and the marks, on the right.
    Reading,
    /// The rows of shots, below the picture.
    Rows,
}

/// How things are shown; none of it is part of the case.
#[derive(Clone, Debug, PartialEq)]
pub struct Display {
    /// Dark or light.
    pub mode: Mode,
    /// Size of everything written, 1 as usual.
    pub text_scale: f64,
    /// What is drawn over the picture.
    pub layers: LayerSet,
    /// Everything drawn is hidden for as long as a key is held.
    pub drawing_hidden: bool,
    /// Columns that the user has folded away or brought back; the others follow the window's width.
    pub columns: BTreeMap<SidePanel, bool>,
    /// Width of the window in points.
    pub width: f64,
    /// Height of the window in points.
    pub height: f64,
    /// Whether the certainty's parts are shown.
    pub budget: bool,
    /// Whether the list of keys is shown.
    pub help: bool,
    /// Whether it is shown what the program is and keeps.
    pub about: bool,
    /// Whether the settings of the case are shown.
    pub settings: bool,
    /// Memory for pictures, in MiB.
    pub memory_mib: usize,
    /// Whether images show with local contrast where nobody has chosen otherwise.
    pub local_contrast: bool,
    /// Whether marks are proposed without being asked for.
    pub proposes: bool,
    /// What reports are printed on.
    pub paper: PaperSize,
}

/// The steps of the text's size.
pub const TEXT_SCALES: [f64; 7] = [0.8, 0.9, 1.0, 1.15, 1.3, 1.5, 1.75];

impl Default for Display {
    fn default() -> Self {
        Self {
            mode: Mode::Dark,
            text_scale: 1.0,
            layers: LayerSet::default(),
            drawing_hidden: false,
            columns: BTreeMap::new(),
            width: 1280.0,
            height: 800.0,
            budget: false,
            help: false,
            about: false,
            settings: false,
            memory_mib: 1024,
            local_contrast: false,
            proposes: true,
            paper: PaperSize::default(),
        }
    }
}

/// The choices of memory for pictures, in MiB.
pub const MEMORIES_MIB: [usize; 4] = [512, 1024, 2048, 4096];
/// Windows narrower than this, in points, fold the ladder away by themselves.
const ROOM_FOR_LADDER: f64 = 2200.0;
/// Windows narrower than this fold the reading away by themselves.
const ROOM_FOR_READING: f64 = 640.0;
/// Windows lower than this, in points, fold the rows away by themselves.
const ROOM_FOR_ROWS: f64 = 740.0;

impl Display {
    /// Whether a column, or the rows, are there: as the user has chosen, else as far as the window allows.
    #[must_use]
    pub fn has(&self, column: SidePanel) -> bool {
        let room = match column {
            SidePanel::Ladder => self.width >= ROOM_FOR_LADDER,
            SidePanel::Reading => self.width >= ROOM_FOR_READING,
            SidePanel::Rows => self.height >= ROOM_FOR_ROWS,
        };
        self.columns.get(&column).copied().unwrap_or(room)
    }

    /// What is remembered for the next time, as one line of text.
    #[must_use]
    pub fn remembered(&self) -> String {
        let mode = match self.mode {
            Mode::Dark => "dark",
            Mode::Light => "light",
        };
        let layers: Vec<&str> =
            Layer::ALL.into_iter().filter(|layer| self.layers.has(*layer)).map(Layer::key).collect();
        let contrast = if self.local_contrast { "local" } else { "plain" };
        let marks = if self.proposes { "proposed" } else { "by-hand" };
        let (layers, paper) = (layers.join(","), self.paper.key());
        format!("{mode} {} {layers} {} {contrast} {marks} {paper}", self.text_scale, self.memory_mib)
    }

    /// Takes up what was remembered; what cannot be understood stays as it is.
    pub fn recall(&mut self, remembered: &str) {
        let mut words = remembered.split_whitespace();
        match words.next() {
            Some("light") => self.mode = Mode::Light,
            Some("dark") => self.mode = Mode::Dark,
            _ => {}
        }
        let scale = words.next().and_then(|word| word.parse::<f64>().ok());
        if let Some(scale) =
            scale.filter(|scale| TEXT_SCALES.iter().any(|known| (known - scale).abs() < 1e-9))
        {
            self.text_scale = scale;
        }
        if let Some(layers) = words.next().and_then(|word| LayerSet::from_keys(word).ok()) {
            // Labels that are hidden are back the next time: nobody is to miss what they have written.
            self.layers = layers.with(Layer::Teaching);
        }
        let memory = words.next().and_then(|word| word.parse::<usize>().ok());
        if let Some(memory) = memory.filter(|memory| MEMORIES_MIB.contains(memory)) {
            self.memory_mib = memory;
        }
        match words.next() {
            Some("local") => self.local_contrast = true,
            Some("plain") => self.local_contrast = false,
            _ => {}
        }
        match words.next() {
            Some("proposed") => self.proposes = true,
            Some("by-hand") => self.proposes = false,
            _ => {}
        }
        let paper =
            words.next().and_then(|word| PaperSize::ALL.into_iter().find(|paper| paper.key() == word));
        self.paper = paper.unwrap_or(self.paper);
    }

    /// The layers that are drawn just now.
    #[must_use]
    pub const fn drawn(&self) -> LayerSet {
        if self.drawing_hidden { LayerSet::NONE } else { self.layers }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_remembered_is_recalled_and_nonsense_changes_nothing() {
        let mut display = Display {
            mode: Mode::Light,
            text_scale: 1.3,
            memory_mib: 2048,
            local_contrast: true,
            proposes: false,
            paper: PaperSize::Letter,
            ..Display::default()
        };
        display.layers = display.layers.without(Layer::Ruler);
        let mut again = Display::default();
        again.recall(&display.remembered());
        assert_eq!(again, display);
        again.recall("purple 1e9 stars");
        assert_eq!(again, display);
        again.recall("");
        assert_eq!(again, display);
    }
}
