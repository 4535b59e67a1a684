//! What the page with a figure can be asked for.

use crate::app::command::entry::{Entry, Group};
use crate::app::command::refusal::{NO_CASE, Refusal, unless};
use crate::app::marking::guide::capital;
use crate::app::pages::command_of_page::CommandOfPage;
use crate::app::pages::figure::memory::InReport;
use crate::app::session::state::State;
use crate::case::document::Case;
use crate::case::document::edit::Edit;
use crate::case::document::figure_spec::{FigureGround, FigureKind, FigureSpec, FigureWidth};
use crate::case::document::record::{BodyRecord, lesion_fault};
use crate::measure::mark::{Level, Side};
use crate::scene::page::paper::PaperSize;

/// What the page asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum FigureCommand {
    /// Take the last choice, or else the last change of the case, back.
    Undo,
    /// Make it again.
    Redo,
    /// Make the figure otherwise.
    Choose(FigureChoice),
    /// Write something down for the report.
    Note(Noted),
    /// Keep how the figure is made under this name.
    Keep(String),
    /// Take the template of this name out.
    Forget(String),
    /// Save the figure.
    Save,
    /// Save questions and answers of the whole case.
    SaveQuestions,
    /// Save the report.
    SaveReport,
    /// Put the figure on the clipboard.
    Copy,
    /// It is there.
    Copied,
    /// Show the pictures although words may be readable in them.
    AsIs,
    /// Stop the long document that is being written.
    Stop,
    /// Print reports on this paper from now on.
    Paper(PaperSize),
    /// Leave this out of the report again.
    LeaveOut(InReport),
}

/// One choice of how the figure is made.
#[derive(Clone, Debug, PartialEq)]
pub enum FigureChoice {
    /// What it is; shots that fit are put in.
    Kind(FigureKind),
    /// Put this shot in or take it out.
    Shot(String),
    /// Its width.
    Width(FigureWidth),
    /// Its ground.
    Ground(FigureGround),
    /// Switch something on or off.
    Switch(Switch),
    /// Its title.
    Title(String),
    /// Its caption.
    Caption(String),
    /// Make it by the template of this name.
    Template(String),
}

/// What is switched on or off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Switch {
    /// Overlay and readings.
    Marked,
    /// Whole frames.
    Whole,
    /// Letters.
    Letters,
    /// Scale bars.
    ScaleBar,
    /// What the lines mean.
    Legend,
}

impl Switch {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Marked, Self::Letters, Self::ScaleBar, Self::Legend, Self::Whole];

    /// Its word.
    #[must_use]
    pub const fn label(self) -> &'static str {
        match self {
            Self::Marked => "Marks and readings",
            Self::Whole => "Whole frames",
            Self::Letters => "Letters",
            Self::ScaleBar => "Scale bars",
            Self::Legend => "Legend",
        }
    }

    /// What it means.
    #[must_use]
    pub const fn tip(self) -> &'static str {
        match self {
            Self::Marked => "Without overlays the images are clean, as in a quiz question.",
            Self::Whole => "Show the whole frame, not only the region around the body.",
            Self::Letters => "A letter on every image.",
            Self::ScaleBar => "A scale bar on every calibrated image.",
            Self::Legend => "Explain the lines below the images.",
        }
    }

    /// Whether it is on.
    #[must_use]
    pub const fn is_on(self, spec: &FigureSpec) -> bool {
        match self {
            Self::Marked => spec.marked,
            Self::Whole => spec.whole,
            Self::Letters => spec.letters,
            Self::ScaleBar => spec.scale_bar,
            Self::Legend => spec.legend,
        }
    }

    pub(super) const fn of(self, spec: &mut FigureSpec) -> &mut bool {
        match self {
            Self::Marked => &mut spec.marked,
            Self::Whole => &mut spec.whole,
            Self::Letters => &mut spec.letters,
            Self::ScaleBar => &mut spec.scale_bar,
            Self::Legend => &mut spec.legend,
        }
    }
}

/// Something written down, as it was typed.
#[derive(Clone, Debug, PartialEq)]
pub enum Noted {
    /// The user's own reference.
    Reference(String),
    /// The lesion time of a body in seconds.
    Lesion(Level, Side, String),
    /// Remarks on a body.
    Remarks(Level, Side, String),
}

impl Noted {
    /// The change it stands for.
    ///
    /// # Errors
    /// One sentence that says what to type.
    pub fn edit(&self, case: &Case) -> Result<Edit, String> {
        let words = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        match self {
            Self::Reference(text) => Ok(Edit::SetReference(words(text))),
            Self::Lesion(level, side, text) => {
                let mut record = record_of(case, *level, *side);
                record.lesion_s = match words(text) {
                    None => None,
                    Some(text) => {
                        let seconds = text.replace(',', ".").parse::<f64>();
                        let wrong = || {
                            format!(
                                "“{text}” is not a number of seconds; type one such as 900, or leave it empty."
                            )
                        };
                        let seconds = seconds.ok().filter(|s| s.is_finite()).ok_or_else(wrong)?;
                        if let Some(why) = lesion_fault(seconds) {
                            return Err(capital(&format!("{why}.")));
                        }
                        Some(seconds)
                    }
                };
                Ok(Edit::SetRecord(Box::new(record)))
            }
            Self::Remarks(level, side, text) => {
                let mut record = record_of(case, *level, *side);
                record.remarks = words(text);
                Ok(Edit::SetRecord(Box::new(record)))
            }
        }
    }
}

impl CommandOfPage for FigureCommand {
    fn entry(&self) -> Option<Entry> {
        let (label, tip) = match self {
            Self::Save => ("Save the figure", "Save as PNG, SVG or PDF, by the ending of the file name."),
            Self::SaveQuestions => {
                ("Save questions", "Every shot of the case twice, without and with the answer, as one PDF.")
            }
            Self::SaveReport => {
                ("Save the report", "Case report: a cover and a page for each level, as PDF.")
            }
            Self::Copy => ("Copy", "Copy the figure to the clipboard as an image."),
            Self::AsIs => {
                ("Show unredacted", "You have checked the images, and no text needs to be redacted.")
            }
            Self::Stop => ("Stop", "Stop writing the document; nothing is written."),
            Self::LeaveOut(_) => ("Leave out", "Leave this out of the report."),
            Self::Keep(_) => ("Keep", "Save these figure settings in the case under this name."),
            Self::Forget(_) => ("Forget", "Delete this template from the case."),
            Self::Undo | Self::Redo | Self::Choose(_) | Self::Note(_) | Self::Copied | Self::Paper(_) => {
                return None;
            }
        };
        Some(Entry { label, tip, group: Group::Pages, keys: &[] })
    }

    fn refusal(&self, state: &State) -> Option<Refusal> {
        let figure = &state.pages.figure;
        let Some(document) = &state.editor.document else { return unless(false, NO_CASE) };
        const WRITING: &str = "A file is being written. Wait until it is done.";
        match self {
            Self::Undo => {
                unless(figure.can_step(false) || document.history.can_undo(), "There is nothing to undo.")
            }
            Self::Redo => {
                unless(figure.can_step(true) || document.history.can_redo(), "There is nothing to redo.")
            }
            Self::Save | Self::Copy if figure.drawn.is_none() => {
                unless(false, "There is no figure yet. Select the shots it shows.")
            }
            Self::Save | Self::Copy | Self::SaveQuestions | Self::SaveReport => {
                unless(!figure.writing, WRITING)
            }
            Self::AsIs => unless(figure.in_doubt, "Nothing in the images is in doubt."),
            Self::Keep(name) => unless(!name.trim().is_empty(), "Enter a name for the template first."),
            Self::Copied => unless(figure.copying.is_some(), "No figure is being copied."),
            Self::Stop => {
                unless(figure.progress.is_some(), "No document that can be stopped is being written.")
            }
            Self::Paper(paper) => {
                unless(state.display.paper != *paper, "That paper size is selected already.")
            }
            Self::LeaveOut(part) => unless(figure.in_report.contains(part), "That is not in the report."),
            Self::Choose(_) | Self::Note(_) | Self::Forget(_) => None,
        }
    }
}

/// The record of a body as it is now.
#[must_use]
pub fn record_of(case: &Case, level: Level, side: Side) -> BodyRecord {
    case.record(level, side).cloned().unwrap_or_else(|| BodyRecord::new(level, side))
}
