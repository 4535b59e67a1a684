//! Everything the window knows: the open case in its editor, how things are shown, what is asked, and what the pages
//! remember.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::SystemTime;

use crate::app::annotation::last_scales::LastScales;
use crate::app::display::preferences::Display;
use crate::app::files::questions::{Leave, WindowQuestion};
use crate::app::pages::compare::memory::Compare;
use crate::app::pages::figure::memory::Figure;
use crate::app::pages::overview::memory::Overview;
use crate::app::pages::page::Page;
use crate::app::pages::practice::memory::Practice;
use crate::app::pages::presenting::memory::Presenting;
use crate::app::pages::rereading::memory::RereadingState;
use crate::app::pages::series::memory::SeriesState;
use crate::app::pages::tip_path::memory::TipPathPage;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::notice::{Notice, Weight};
use crate::app::work::under_way::UnderWay;
use crate::io::store::autosave::Leftover;
use crate::scene::format;

/// What all pages remember.
#[derive(Debug, Default)]
pub struct Pages {
    /// Which one is shown.
    pub shown: Page,
    /// All shots, large.
    pub overview: Overview,
    /// Two shots of one body, registered.
    pub compare: Compare,
    /// The tip path of one body.
    pub tip_path: TipPathPage,
    /// A teaching figure and the case report.
    pub figure: Figure,
    /// The bodies of many cases.
    pub series: SeriesState,
    /// Blinded re-reading.
    pub rereading: RereadingState,
    /// Practice with known truth.
    pub practice: Practice,
    /// Slides for a room.
    pub presenting: Presenting,
}

impl Pages {
    /// Another case is open: what is about the shots of the one before is let go, and its slides are no longer shown.
    pub(crate) fn forget_case(&mut self) {
        self.figure.in_report.clear();
        self.overview = self.overview.begun();
        if self.shown == Page::Presenting {
            self.presenting = Presenting::default();
            self.shown = Page::Picture;
        }
    }
}

/// Everything the window knows.
#[derive(Debug, Default)]
pub struct State {
    /// The open case with its images, and how the shown one is seen and marked.
    pub editor: Editor,
    /// How things are shown.
    pub display: Display,
    /// The question that is open.
    pub question: Option<WindowQuestion>,
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

/// How many signs of the case's name stand in the window's title.
const TITLE_NAME: usize = 60;

impl State {
    /// A window with this case open.
    #[must_use]
    pub fn of(document: Document) -> Self {
        Self { editor: Editor::new(document), ..Self::default() }
    }

    /// Notes which shot of the open case is shown, for the next time it is opened.
    pub fn note_place(&mut self) {
        let Some(document) = &self.editor.document else { return };
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

    /// Lets go of what is remembered from case to case, so that it is not kept again when the program ends.
    pub(crate) fn forget_remembered(&mut self) {
        self.left.clear();
        self.recent.clear();
        self.editor.last_scales = LastScales::default();
    }

    /// The window's title.
    #[must_use]
    pub fn title(&self) -> String {
        match &self.editor.document {
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

    /// Takes over what an editor had to say.
    pub(crate) fn take_said(&mut self, said: Vec<Notice>) {
        for notice in said {
            self.say(notice.weight, notice.text);
        }
    }

    /// Whether something lies on top that can be closed: the list of keys, the settings, or a sentence.
    #[must_use]
    pub const fn has_something_on_top(&self) -> bool {
        self.display.about || self.display.help || self.display.settings || !self.notices.is_empty()
    }

    /// Whether something lies on top and takes the keys.
    #[must_use]
    pub const fn covered(&self) -> bool {
        self.question.is_some() || self.display.about || self.display.help || self.display.settings
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::pages::figure::memory::InReport;
    use crate::case::document::Case;
    use crate::measure::mark::{Level, Side};

    /// A comparison that was put into one case's report is not in the next one's, and its slides are gone.
    #[test]
    fn nothing_of_a_case_stays_on_a_page_when_another_is_opened() {
        let mut pages = Pages { shown: Page::Presenting, ..Pages::default() };
        pages.figure.in_report.push(InReport::TipPath(Level::L4, Side::Right));
        pages.presenting.at = 3;
        pages.overview.only = true;
        pages.forget_case();
        assert!(pages.figure.in_report.is_empty() && !pages.overview.only);
        assert_eq!((pages.shown, pages.presenting.at), (Page::Picture, 0));
        // The other pages stay: what they show is made anew.
        let mut pages = Pages { shown: Page::Compare, ..Pages::default() };
        pages.forget_case();
        assert_eq!(pages.shown, Page::Compare);
    }

    #[test]
    fn the_title_names_the_case_and_says_when_it_is_unsaved() {
        let mut state = State::default();
        assert_eq!(state.title(), "Stillmark");
        let mut case = Case::default();
        state.editor.document = Some(Document::fresh(case.clone()));
        assert_eq!(state.title(), "Stillmark – New case");
        case.title = Some("Demonstration A".to_owned());
        state.editor.document = Some(Document::recovered(case, Case::default(), None, None));
        assert_eq!(state.title(), "Stillmark – Demonstration A ●");
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
