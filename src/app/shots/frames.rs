//! Looking through the frames of the shown shot's file. Looking changes nothing: a frame becomes the shot's own only
//! when it is taken, or when the first mark is placed on it.

use std::time::Duration;

use crate::app::marking::guide::capital;
use crate::app::session::editor::Editor;
use crate::app::session::edits::apply;
use crate::app::session::notice::Weight;
use crate::app::shots::frame_preview::FramePreview;
use crate::app::work::picture_store::{KnownPicture, Loading, PictureKey};
use crate::case::document::Shot;
use crate::case::document::edit::{Description, Edit};
use crate::case::document::frame_shots::frame_shots;
use crate::case::image::frame_choice::FrameChoice;
use crate::scene::format;

/// Time from frame to frame where the file does not say one.
const USUAL: Duration = Duration::from_millis(100);

/// Where the shown shot stands among the frames of its file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FramePosition {
    /// The frame that is shown.
    pub shown: u32,
    /// The frame that the shot is of.
    pub own: u32,
    /// How many there are, more than 1.
    pub count: u32,
}

/// Where the shown shot stands among several frames; `None` for a still.
#[must_use]
pub fn place(editor: &Editor) -> Option<FramePosition> {
    let shot = editor.document.as_ref()?.shot()?;
    let count = known(editor, shot)?.frames;
    let shown = shown_frame(editor, shot);
    (count > 1).then_some(FramePosition { shown, own: shot.frame, count })
}

/// The frame of a shot that is shown.
#[must_use]
pub fn shown_frame(editor: &Editor, shot: &Shot) -> u32 {
    FramePreview::shown(editor.peek.as_ref(), shot)
}

/// Whether a frame is looked at that the marks of its shot do not belong to.
#[must_use]
pub fn is_elsewhere(editor: &Editor) -> bool {
    editor.is_elsewhere()
}

/// Whether one frame after the other is shown.
#[must_use]
pub fn is_playing(editor: &Editor) -> bool {
    editor.peek.as_ref().is_some_and(|peek| peek.playing)
}

/// How long each frame is shown while playing; `None` while nothing plays, or while a frame is still being read.
#[must_use]
pub fn pace(editor: &Editor) -> Option<Duration> {
    let shot = editor.document.as_ref()?.shot()?;
    // The next frame is read ahead, so that none is shown before it is there.
    let next = ahead(editor).and_then(|key| editor.pictures.loading.get(&key));
    if !is_playing(editor) || !matches!(next, Some(Loading::Ready(_) | Loading::Failed(_))) {
        return None;
    }
    let ms = known(editor, shot)?.frame_time_ms;
    Some(ms.map_or(USUAL, |ms| Duration::from_secs_f64(ms / 1000.0)))
}

/// The frames to be read ahead while frames are looked through.
pub(crate) fn ahead(editor: &Editor) -> Option<PictureKey> {
    let peek = editor.peek.as_ref()?;
    let place = place(editor)?;
    let path = editor.shown_key()?.path;
    Some(PictureKey { path, frame: (peek.frame + 1) % place.count })
}

/// Why nothing can be marked on the frame that is looked at: it is another one than the marks belong to.
#[must_use]
pub fn elsewhere(editor: &Editor) -> Option<String> {
    let place = place(editor).filter(|_| is_elsewhere(editor))?;
    Some(format!(
        "The marks belong to frame {}; frame {} is only shown. Use it for this shot, or make a new shot from it.",
        place.own + 1,
        place.shown + 1
    ))
}

/// Shows one frame after the other, or stops that.
pub(crate) fn play_or_stop(editor: &mut Editor) {
    let playing = !is_playing(editor);
    look_at(editor, playing, |place| place.shown);
}

/// Shows the next frame while they are played, after the last one the first.
pub(crate) fn tick(editor: &mut Editor) {
    if is_playing(editor) {
        look_at(editor, true, |place| (place.shown + 1) % place.count);
    }
}

/// Forgets what was looked at once another shot is shown.
pub(crate) fn tidy(editor: &mut Editor) {
    let shown = editor.document.as_ref().and_then(|document| document.shown.as_deref());
    if editor.peek.as_ref().is_some_and(|peek| Some(peek.shot.as_str()) != shown) {
        editor.peek = None;
    }
}

fn known<'a>(editor: &'a Editor, shot: &Shot) -> Option<&'a KnownPicture> {
    // Each frame of a file knows of all.
    let first = PictureKey { frame: 0, ..editor.key_of(shot)? };
    let (key, known) = editor.pictures.known.range(&first..).next()?;
    (key.path == first.path).then_some(known)
}

/// Goes to a frame and stops playing.
pub(crate) fn step(editor: &mut Editor, to: impl Fn(FramePosition) -> u32) {
    look_at(editor, false, to);
}

fn look_at(editor: &mut Editor, playing: bool, to: impl Fn(FramePosition) -> u32) {
    let Some(place) = place(editor) else { return };
    let Some(shot) = editor.document.as_ref().and_then(|document| document.shot()) else { return };
    editor.peek = Some(FramePreview { shot: shot.id.clone(), frame: to(place), playing });
}

/// Makes the frame that is looked at the shot's own.
pub(crate) fn use_frame(editor: &mut Editor) {
    let Some(place) = place(editor).filter(|place| place.shown != place.own) else { return };
    let Some(shot) = editor.document.as_ref().and_then(|document| document.shot()) else { return };
    let edit = Edit::Describe { shot: shot.id.clone(), what: Description::Frame(place.shown) };
    apply(editor, &[edit]);
    editor.peek = None;
}

/// Puts a shot of the frame that is looked at beside the shown one, and shows it.
pub(crate) fn as_shot(editor: &mut Editor) {
    let Some(place) = place(editor).filter(|place| place.shown != place.own) else { return };
    let Some(shot) = editor.shot().map(|shot| shot.id.clone()) else { return };
    if add(editor, &shot, &[place.shown]) == 0 {
        editor.say(Weight::Note, "This frame is a shot already.");
    }
}

/// Why these frames of the shown shot's file cannot become shots, if so; a sentence without its subject.
///
/// # Errors
/// That.
pub(crate) fn add_chosen(editor: &mut Editor, choice: FrameChoice) -> Result<(), String> {
    let Some(place) = place(editor) else { return Ok(()) };
    let Some(shot) = editor.shot().map(|shot| shot.id.clone()) else { return Ok(()) };
    let frames = choice.of(place.count)?;
    let added = add(editor, &shot, &frames);
    let words = match frames.len() - added {
        0 => String::new(),
        1 => " One was a shot already.".to_owned(),
        there => format!(" {there} were shots already."),
    };
    let added = format::count(added, "frame was", "frames were");
    editor.say(Weight::Note, format!("{} added as shots.{words}", capital(&added)));
    Ok(())
}

/// Puts shots of these frames of a shot's file around it, shows the last of them, and says how many there are.
fn add(editor: &mut Editor, shot: &str, frames: &[u32]) -> usize {
    let Some(document) = &editor.document else { return 0 };
    let edits = frame_shots(document.case(), shot, frames);
    let last = edits.iter().rev().find_map(|edit| match edit {
        Edit::AddShot { shot, .. } => Some(shot.id.clone()),
        _ => None,
    });
    apply(editor, &edits);
    if let (Some(document), Some(last)) = (&mut editor.document, last) {
        document.show(&last);
    }
    editor.peek = None;
    edits.len()
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;
    use std::sync::Arc;

    use super::*;
    use crate::app::command::Command;
    use crate::app::command::marks::MarksCommand;
    use crate::app::command::shots::ShotsCommand;
    use crate::app::session::document::Document;
    use crate::app::session::state::State;
    use crate::app::session::update::update as run;
    use crate::case::document::Case;
    use crate::geom::point::Point;
    use crate::measure::mark::{MarkKind, View};
    use crate::measure::reading::{Field, FrameExtent};
    use crate::scene::window_level::GreyTile;

    /// A case of one shot whose picture is known to have ten frames.
    fn state() -> State {
        let mut case = Case::default();
        case.shots.push(Shot::new("a", "a.dcm", View::Lateral));
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        let mut state = State::of(document);
        let extent = FrameExtent { width: 100, height: 100, field: Field::Whole };
        let small = Arc::new(GreyTile { width: 1, height: 1, greys: vec![0] });
        let known = KnownPicture {
            extent,
            digest: "sha256:0".into(),
            small,
            warnings: Vec::new(),
            frames: 10,
            frame_time_ms: Some(40.0),
            proposed: Vec::new(),
            offer: crate::case::image::offered_scale::ScaleOffer::Nothing,
            burned_in: false,
            unchecked: false,
        };
        let key = state.editor.shown_key().unwrap();
        Arc::make_mut(&mut state.editor.pictures).known.insert(key, known);
        state
    }

    fn shown(state: &State) -> (u32, u32) {
        let place = place(&state.editor).unwrap();
        (place.shown, place.own)
    }

    #[test]
    fn looking_changes_nothing_and_ends_at_the_ends() {
        let mut state = state();
        run(&mut state, Command::Shots(ShotsCommand::PreviousFrame));
        assert_eq!(shown(&state), (0, 0));
        for _ in 0..3 {
            run(&mut state, Command::Shots(ShotsCommand::NextFrame));
        }
        assert_eq!(shown(&state), (3, 0));
        run(&mut state, Command::Shots(ShotsCommand::ShowFrame(99)));
        assert_eq!(shown(&state), (9, 0));
        run(&mut state, Command::Shots(ShotsCommand::NextFrame));
        assert_eq!(shown(&state), (9, 0));
        assert!(!state.editor.document.as_ref().unwrap().unsaved());
        assert_eq!(state.editor.shown_key().unwrap().frame, 9);
    }

    #[test]
    fn the_first_mark_takes_the_frame_it_is_placed_on() {
        let mut state = state();
        run(&mut state, Command::Shots(ShotsCommand::ShowFrame(4)));
        run(&mut state, Command::Marks(MarksCommand::Place(Point::new(10.0, 10.0))));
        assert_eq!(shown(&state), (4, 4));
        let shot = state.editor.document.as_ref().unwrap().shot().unwrap();
        assert_eq!((shot.frame, shot.marks.placed().count()), (4, 1));
        // From now on another frame is only looked at: nothing is drawn or placed there, and that is said.
        run(&mut state, Command::Shots(ShotsCommand::NextFrame));
        assert!(is_elsewhere(&state.editor));
        assert_eq!(state.editor.drawn(&state.display), crate::scene::overlay::LayerSet::NONE);
        run(&mut state, Command::Marks(MarksCommand::Place(Point::new(20.0, 20.0))));
        let shot = state.editor.document.as_ref().unwrap().shot().unwrap();
        assert_eq!(shot.marks.placed().count(), 1);
        let why = state.refused.clone().unwrap_or_default();
        assert!(why.contains("belong to frame 5; frame 6"), "{why}");
        run(&mut state, Command::Shots(ShotsCommand::UseFrame));
        assert_eq!(shown(&state), (5, 5));
        assert!(!is_elsewhere(&state.editor));
    }

    #[test]
    fn a_frame_becomes_a_shot_of_its_own_without_marks() {
        let mut state = state();
        run(&mut state, Command::Marks(MarksCommand::Place(Point::new(10.0, 10.0))));
        run(&mut state, Command::Shots(ShotsCommand::ShowFrame(6)));
        run(&mut state, Command::Shots(ShotsCommand::FrameAsShot));
        let document = state.editor.document.as_ref().unwrap();
        let shot = document.shot().unwrap();
        assert_eq!((shot.id.as_str(), shot.frame, shot.image.as_str()), ("a-frame-7", 6, "a.dcm"));
        assert!(shot.marks.is_empty() && document.case().shots.len() == 2);
        assert!(!document.case().shots[0].marks.slots(MarkKind::SuperiorEndPlate).is_empty());
    }

    #[test]
    fn playing_goes_round_until_it_is_stopped() {
        let mut state = state();
        run(&mut state, Command::Shots(ShotsCommand::ShowFrame(8)));
        run(&mut state, Command::Shots(ShotsCommand::Play));
        assert!(is_playing(&state.editor));
        assert_eq!(pace(&state.editor), None, "a frame that is being read is waited for");
        for want in [9, 0, 1] {
            run(&mut state, Command::Shots(ShotsCommand::Tick));
            assert_eq!(shown(&state).0, want);
        }
        run(&mut state, Command::Shots(ShotsCommand::Play));
        run(&mut state, Command::Shots(ShotsCommand::Tick));
        assert_eq!((shown(&state).0, is_playing(&state.editor)), (1, false));
        run(&mut state, Command::Shots(ShotsCommand::Play));
        run(&mut state, Command::Shots(ShotsCommand::NextFrame));
        assert!(!is_playing(&state.editor), "a step by hand stops it");
    }
}
