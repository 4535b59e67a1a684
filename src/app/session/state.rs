//! Everything the window knows: the open case, the pictures, how things are shown, what is asked.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::time::SystemTime;

use crate::app::display::viewport::{Canvas, Sheet, Showing, Transform};
use crate::app::pages::compare::memory::Compare;
use crate::app::pages::figure::memory::Figure;
use crate::app::pages::page::{Page, Wish};
use crate::app::pages::practice::memory::Practice;
use crate::app::pages::rereading::memory::Rereading;
use crate::app::pages::series::memory::Series;
use crate::app::pages::tip_path::memory::TipPathPage;
use crate::app::session::document::Document;
use crate::app::shots::frame_preview::FramePreview;
use crate::app::work::found::FoundImage;
pub use crate::app::work::store::{Known, Loading, Picture, PictureKey};
use crate::app::work::under_way::UnderWay;
use crate::case::document::{Case, Shot};
use crate::io::store::autosave::Leftover;
use crate::io::store::save::Seen;
use crate::scene::drawing::theme::Mode;
use crate::scene::format;
use crate::scene::overlay::{Layer, LayerSet};
use crate::scene::window_level::WindowLevel;

/// A column at the side of the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// The ladder of levels, on the left.
    Ladder,
    /// The reading and the marks, on the right.
    Reading,
    /// The rows of shots, below the picture.
    Rows,
}

/// What has been read and waits to take the place of the open case.
#[derive(Clone, Debug, PartialEq)]
pub enum Arrival {
    /// A case.
    Case {
        /// The case.
        case: Box<Case>,
        /// Its file.
        file: PathBuf,
        /// What the file holds.
        seen: Seen,
        /// Unsaved work on it.
        leftover: Option<Box<Leftover>>,
    },
    /// Pictures for a case of their own.
    Pictures(Vec<FoundImage>),
}

/// Where the user was going when a question came up.
#[derive(Clone, Debug, PartialEq)]
pub enum Leave {
    /// Nowhere; only saving.
    Stay,
    /// Back to the start.
    Start,
    /// Out of the program.
    Quit,
    /// To other files.
    Open(Vec<PathBuf>),
    /// To the demonstration.
    Demonstration,
    /// To unsaved work that was found.
    Recover(usize),
    /// To what was read while the open case was being worked on.
    Arrived(Box<Arrival>),
}

/// What a path is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// To open a case, pictures or a folder.
    Open,
    /// To open a folder of pictures.
    Folder,
    /// To add pictures to the case.
    Add,
    /// To save the case.
    Save,
    /// To export the case into a new folder.
    Export,
    /// To take another picture for the shot with this id.
    Relink(String),
    /// For a page.
    Page(Wish),
}

/// What the window asks before it goes on.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// The case has unsaved changes.
    Unsaved(Leave),
    /// The file has changed on disk since it was opened, or there is one already.
    Changed {
        /// Which.
        file: PathBuf,
        /// What has happened, in a sentence.
        text: String,
        /// Where to go after saving.
        leave: Leave,
    },
    /// Words may be readable in pictures that are to be exported.
    InDoubt {
        /// Where to.
        folder: PathBuf,
        /// One sentence for each shot.
        sentences: Vec<String>,
    },
    /// There is unsaved work on the case that was just opened.
    Recovered(Box<Leftover>),
    /// No dialog of the system is at hand: a path is to be typed.
    Path {
        /// What for.
        purpose: Purpose,
        /// What stands in the field at first.
        suggestion: String,
        /// What to do after saving.
        leave: Leave,
    },
}

/// The answer to a question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// Save, then go on.
    Save,
    /// Go on without saving.
    Discard,
    /// Do nothing and go on editing.
    KeepEditing,
    /// Write over the changed file.
    Overwrite,
    /// Save in a new file instead.
    SaveAs,
    /// Export although words may be readable.
    AsIs,
    /// Take unsaved work back.
    TakeBack,
    /// Throw unsaved work away.
    ThrowAway,
    /// This path.
    Path(PathBuf),
}

/// How grave a notice is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Good to know.
    Note,
    /// Something did not work.
    Trouble,
}

/// A sentence that stays until it is put away.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// How grave.
    pub weight: Weight,
    /// What to say.
    pub text: String,
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
    pub columns: BTreeMap<Column, bool>,
    /// Width of the window in points.
    pub width: f64,
    /// Height of the window in points.
    pub height: f64,
    /// Whether the certainty's parts are shown.
    pub budget: bool,
    /// Whether the list of keys is shown.
    pub help: bool,
    /// Whether the settings of the case are shown.
    pub settings: bool,
    /// Memory for pictures, in MiB.
    pub memory_mib: usize,
}

/// What all pages remember.
#[derive(Debug, Default)]
pub struct Pages {
    /// Which one is shown.
    pub shown: Page,
    /// Two shots of one body, registered.
    pub compare: Compare,
    /// The tip path of one body.
    pub tip_path: TipPathPage,
    /// A teaching figure and the case report.
    pub figure: Figure,
    /// The bodies of many cases.
    pub series: Series,
    /// Blinded re-reading.
    pub rereading: Rereading,
    /// Practice with known truth.
    pub practice: Practice,
}

/// Everything the window knows.
#[derive(Debug, Default)]
pub struct State {
    /// The open case.
    pub document: Option<Document>,
    /// The pictures by their files.
    pub pictures: BTreeMap<PictureKey, Loading>,
    /// What is known of them.
    pub known: BTreeMap<PictureKey, Known>,
    /// The pictures whose samples are kept, the one used last at the end.
    pub kept: Vec<PictureKey>,
    /// How many bytes of pictures' files are open beside that.
    pub held_open: usize,
    /// How many may be, if the work was told another limit than the usual one.
    pub told_open: Option<usize>,
    /// The frame that is looked at, if it need not be the shot's own.
    pub peek: Option<FramePreview>,
    /// Pictures of which a small one was asked for.
    pub glanced: BTreeSet<PictureKey>,
    /// How things are shown.
    pub display: Display,
    /// The canvas as the window has it.
    pub canvas: Canvas,
    /// The question that is open.
    pub question: Option<Question>,
    /// Sentences to be read.
    pub notices: Vec<Notice>,
    /// The shot that was shown last in each case, by the case's file.
    pub left: BTreeMap<PathBuf, String>,
    /// Why the last command did nothing, if so: a hint that goes with the next one.
    pub refused: Option<String>,
    /// Cases used before, the last first.
    pub recent: Vec<PathBuf>,
    /// Unsaved work that was found.
    pub leftovers: Vec<Leftover>,
    /// When it was found.
    pub found: Option<SystemTime>,
    /// What takes a while just now.
    pub under_way: UnderWay,
    /// Where to go once the case is saved.
    pub leaving: Option<Leave>,
    /// Where and when the case was saved last, in words; it holds until something is changed.
    pub saved: Option<String>,
    /// Whether a dialog of the system is open; it has the keys.
    pub choosing: bool,
    /// The pages beside the picture.
    pub pages: Pages,
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
            settings: false,
            memory_mib: 1024,
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
    pub fn has(&self, column: Column) -> bool {
        let room = match column {
            Column::Ladder => self.width >= ROOM_FOR_LADDER,
            Column::Reading => self.width >= ROOM_FOR_READING,
            Column::Rows => self.height >= ROOM_FOR_ROWS,
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
        format!("{mode} {} {} {}", self.text_scale, layers.join(","), self.memory_mib)
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
    }

    /// The layers that are drawn just now.
    #[must_use]
    pub const fn drawn(&self) -> LayerSet {
        if self.drawing_hidden { LayerSet::NONE } else { self.layers }
    }
}

/// How many signs of the case's name stand in the window's title.
const TITLE_NAME: usize = 60;

impl State {
    /// The key of a shot's picture.
    #[must_use]
    pub fn key_of(&self, shot: &Shot) -> Option<PictureKey> {
        let document = self.document.as_ref()?;
        Some(PictureKey { path: document.image_path(shot).ok()?, frame: shot.frame })
    }

    /// The key of the shown shot's picture.
    #[must_use]
    pub fn shown_key(&self) -> Option<PictureKey> {
        let shot = self.document.as_ref()?.shot()?;
        Some(PictureKey { frame: FramePreview::shown(self.peek.as_ref(), shot), ..self.key_of(shot)? })
    }

    /// How far the shown shot's picture has come.
    #[must_use]
    pub fn shown_loading(&self) -> Option<&Loading> {
        self.pictures.get(&self.shown_key()?)
    }

    /// The shown shot's picture, if it is there.
    #[must_use]
    pub fn shown_frame(&self) -> Option<&Picture> {
        match self.shown_loading()? {
            Loading::Ready(picture) => Some(picture),
            Loading::Busy | Loading::Aside | Loading::Failed(_) => None,
        }
    }

    /// Size of the shown shot's picture in pixels; without a picture that of the marks, so that they can be
    /// shown all the same.
    #[must_use]
    pub fn frame_size(&self) -> (f64, f64) {
        if let Some(known) = self.shown_key().and_then(|key| self.known.get(&key)) {
            return (f64::from(known.extent.width), f64::from(known.extent.height));
        }
        let placed = self.document.as_ref().and_then(Document::shot).map(|shot| shot.marks.placed());
        let (x, y) =
            placed.into_iter().flatten().fold((0.0_f64, 0.0_f64), |(x, y), (_, p)| (x.max(p.x), y.max(p.y)));
        ((x * 1.2).max(512.0), (y * 1.2).max(512.0))
    }

    /// The shown shot's picture: its size, and which way up it is shown.
    #[must_use]
    pub fn sheet(&self) -> Sheet {
        let turn = self.document.as_ref().map(|document| document.aspect().turn).unwrap_or_default();
        Sheet { size: self.frame_size(), turn }
    }

    /// What part of the shown shot is seen.
    #[must_use]
    pub fn showing(&self) -> Showing {
        let document = self.document.as_ref();
        document.and_then(|d| d.showing.get(d.shown.as_deref()?)).copied().unwrap_or_default()
    }

    /// The map from image coordinates to points of the canvas.
    #[must_use]
    pub fn transform(&self) -> Transform {
        self.showing().transform(self.canvas, self.sheet())
    }

    /// The window that shows the shown shot's greys, or the one most like them.
    #[must_use]
    pub fn greys(&self) -> Option<WindowLevel> {
        let look = self.document.as_ref()?.aspect().look;
        self.shown_frame().map(|picture| look.window(&picture.frame, picture.greys))
    }

    /// The layers that are drawn just now: none upon a frame that the marks do not belong to.
    #[must_use]
    pub fn drawn(&self) -> LayerSet {
        if self.is_elsewhere() { LayerSet::NONE } else { self.display.drawn() }
    }

    /// Notes which shot of the open case is shown, for the next time it is opened.
    pub fn note_place(&mut self) {
        let Some(document) = &self.document else { return };
        if let (Some(file), Some(shown)) = (&document.file, &document.shown)
            && self.left.get(file) != Some(shown)
        {
            self.left.insert(file.clone(), shown.clone());
        }
    }

    /// Where cases were left, as text to be remembered: a line for each, its shot and its file.
    #[must_use]
    pub fn places(&self) -> String {
        let line = |(file, shot): (&PathBuf, &String)| format!("{shot}\t{}\n", file.display());
        self.left.iter().map(line).collect()
    }

    /// Takes up where cases were left; lines that cannot be understood are passed over.
    pub fn recall_places(&mut self, remembered: &str) {
        for (shot, file) in remembered.lines().filter_map(|line| line.split_once('\t')) {
            self.left.insert(PathBuf::from(file), shot.to_owned());
        }
    }

    /// Whether a frame is looked at that the marks of its shot do not belong to.
    #[must_use]
    pub fn is_elsewhere(&self) -> bool {
        let shot = self.document.as_ref().and_then(Document::shot);
        let other = |shot: &Shot| FramePreview::shown(self.peek.as_ref(), shot) != shot.frame;
        shot.is_some_and(|shot| !shot.marks.is_empty() && other(shot))
    }

    /// The window's title.
    #[must_use]
    pub fn title(&self) -> String {
        match &self.document {
            None => "Stillmark".to_owned(),
            Some(document) => {
                let dot = if document.unsaved() { " ●" } else { "" };
                format!("Stillmark – {}{dot}", format::shortened(&document.name(), TITLE_NAME))
            }
        }
    }

    /// Adds a sentence, once.
    pub fn say(&mut self, weight: Weight, text: impl Into<String>) {
        let notice = Notice { weight, text: text.into() };
        if !self.notices.contains(&notice) {
            self.notices.push(notice);
        }
    }

    /// Whether something lies on top that can be closed: the list of keys, the settings, or a sentence.
    #[must_use]
    pub const fn has_something_on_top(&self) -> bool {
        self.display.help || self.display.settings || !self.notices.is_empty()
    }

    /// Whether something lies on top and takes the keys.
    #[must_use]
    pub const fn covered(&self) -> bool {
        self.question.is_some() || self.display.help || self.display.settings
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_title_names_the_case_and_says_when_it_is_unsaved() {
        let mut state = State::default();
        assert_eq!(state.title(), "Stillmark");
        let mut case = Case::default();
        state.document = Some(Document::fresh(case.clone()));
        assert_eq!(state.title(), "Stillmark – New case");
        case.title = Some("Demonstration A".to_owned());
        state.document = Some(Document::recovered(case, Case::default(), None, None));
        assert_eq!(state.title(), "Stillmark – Demonstration A ●");
    }

    #[test]
    fn what_is_remembered_is_recalled_and_nonsense_changes_nothing() {
        let mut display =
            Display { mode: Mode::Light, text_scale: 1.3, memory_mib: 2048, ..Display::default() };
        display.layers = display.layers.without(Layer::Ruler);
        let mut again = Display::default();
        again.recall(&display.remembered());
        assert_eq!(again, display);
        again.recall("purple 1e9 stars");
        assert_eq!(again, display);
        again.recall("");
        assert_eq!(again, display);
    }

    #[test]
    fn where_cases_were_left_is_recalled() {
        let mut state = State::default();
        state.left.insert(PathBuf::from("/x/a b.case.json"), "l4 final".to_owned());
        let mut again = State::default();
        again.recall_places(&state.places());
        again.recall_places("nonsense");
        assert_eq!(again.left, state.left);
    }

    #[test]
    fn a_sentence_is_said_once() {
        let mut state = State::default();
        state.say(Weight::Note, "a");
        state.say(Weight::Note, "a");
        assert_eq!(state.notices.len(), 1);
    }
}
