//! Which pictures are decoded, and which samples are kept in memory.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use crate::app::marking::proposal::follow;
use crate::app::pages;
use crate::app::session::editor::Editor;
use crate::app::session::state::State;
use crate::app::shots::frames;
use crate::app::work::effect::{Decoded, Effect};
use crate::app::work::picture_store::{DecodedPicture, KnownPicture, Loading, PictureKey, PictureStore};
use crate::app::work::soft::Soft;
use crate::case::document::Shot;
use crate::case::image::offered_scale::ScaleOffer;
use crate::case::readings;
use crate::io::import::open_files::USUAL_LIMIT;
use crate::io::store::pictures::picture_path;

/// What is left of the memory for pictures to the program itself, its small pictures, and to what is being decoded.
const RESERVE_BYTES: usize = 320 << 20;
/// The least that is kept beyond the shown picture, so that its neighbours can be there.
const LEAST_BYTES: usize = 64 << 20;

/// How many bytes a grey of a small picture takes: its own, and four on the graphics card, which may be memory too.
const SMALL_COPIES: usize = 5;

/// How many bytes of samples are kept beyond the shown picture's, of a memory for pictures of so many MiB.
#[must_use]
pub const fn kept_bytes_of(memory_mib: usize) -> usize {
    let left = (memory_mib << 20).saturating_sub(RESERVE_BYTES);
    if left < LEAST_BYTES { LEAST_BYTES } else { left }
}

/// How many bytes of pictures' files may stay open, of a memory for pictures of so many MiB: a quarter.
#[must_use]
pub const fn open_bytes_of(memory_mib: usize) -> usize {
    (memory_mib << 20) / 4
}

/// What a reading needs to know of a shot's picture.
#[must_use]
pub fn about(
    pictures: &PictureStore,
    soft: &BTreeMap<String, Soft>,
    file: Option<&Path>,
    shot: &Shot,
) -> readings::Picture {
    let Ok(path) = picture_path(file.unwrap_or_else(|| Path::new("")), &shot.image) else {
        return readings::Picture::Missing;
    };
    let key = PictureKey { path, frame: shot.frame };
    if let Some(known) = pictures.known.get(&key) {
        let soft = soft.get(&shot.id).filter(|soft| soft.is_of(&key.path, key.frame, &known.digest));
        let softness = soft.map(|soft| soft.found.marks()).unwrap_or_default();
        let digest = Some(known.digest.clone());
        let scale_faults = known.offer.faults().to_vec();
        return readings::Picture::Present { extent: known.extent, digest, softness, scale_faults };
    }
    match pictures.loading.get(&key) {
        Some(Loading::Failed(_)) => readings::Picture::Missing,
        Some(Loading::Busy | Loading::Ready(_) | Loading::Aside) | None => readings::Picture::NotLookedAt,
    }
}

/// Looks how soft the pictures in memory are at marks that changed. What was found stays when a picture is put aside.
pub(crate) fn soften(editor: &mut Editor) {
    let Editor { document, pictures, .. } = editor;
    let Some(document) = document.as_mut().filter(|document| document.stale) else { return };
    let file = document.file.clone().unwrap_or_default();
    let mut soft = std::mem::take(&mut document.soft);
    soft.retain(|id, _| document.case().shot(id).is_some());
    for shot in &document.case().shots {
        let Ok(path) = picture_path(&file, &shot.image) else { continue };
        let key = PictureKey { path, frame: shot.frame };
        let Some(Loading::Ready(DecodedPicture { frame, .. })) = pictures.loading.get(&key) else { continue };
        let fresh = || Soft::of(&key.path, key.frame, &frame.digest);
        let one = soft.entry(shot.id.clone()).or_insert_with(fresh);
        if !one.is_of(&key.path, key.frame, &frame.digest) {
            *one = fresh();
        }
        one.found.follow(frame, shot);
    }
    document.soft = soft;
}

/// Asks for the shown picture first, then for its neighbours, then for every one of which nothing is known.
pub(crate) fn want(state: &mut State, effects: &mut Vec<Effect>) {
    let editor = &state.editor;
    let shown = editor.shown_key();
    let on_page = pages::pictures(state);
    let ahead = frames::ahead(editor);
    let proposing = follow::pictures(editor);
    let key = |shot: &Shot| editor.key_of(shot);
    let Some(document) = &editor.document else { return };
    let near = [1, -1].map(|by| key(document.case().shot(document.neighbour(by)?)?));
    let all: Vec<PictureKey> = document.case().shots.iter().filter_map(key).collect();
    let memory_mib = state.display.memory_mib;
    let mut asking = Asking { store: Arc::make_mut(&mut state.editor.pictures), effects };
    asking.keep_open(open_bytes_of(memory_mib));
    let most = asking.store.most_kept(memory_mib);
    for key in shown.iter().chain(&on_page) {
        asking.ask(key, true);
        asking.store.use_now(key);
    }
    for key in &proposing {
        asking.ask(key, false);
    }
    if let Some(key) = ahead {
        asking.ask(&key, false);
    }
    for key in near.into_iter().flatten() {
        // A neighbour whose samples were put aside comes back only where there is room, or it would go round.
        let room = match asking.store.known.get(&key) {
            Some(known) => asking.store.kept_bytes(shown.as_ref()) + largest_bytes(known) <= most,
            None => true,
        };
        if room {
            asking.ask(&key, false);
        }
    }
    // Of the others only the small picture is needed; their samples are not kept.
    for key in all {
        asking.ask_small(key);
    }
    asking.store.spare(shown.as_ref(), most);
}

/// What is asked for of the store, and what follows for the work.
struct Asking<'a> {
    store: &'a mut PictureStore,
    effects: &'a mut Vec<Effect>,
}

impl Asking<'_> {
    fn keep_open(&mut self, bytes: usize) {
        if self.store.told_open.unwrap_or(USUAL_LIMIT) != bytes {
            self.store.told_open = Some(bytes);
            self.effects.push(Effect::KeepOpen(bytes));
        }
    }

    fn ask(&mut self, key: &PictureKey, first: bool) {
        let loading = self.store.loading.get(key);
        if !matches!(loading, Some(Loading::Busy | Loading::Ready(_) | Loading::Failed(_))) {
            self.store.loading.insert(key.clone(), Loading::Busy);
            self.effects.push(Effect::Decode { key: key.clone(), first, samples: true });
        }
    }

    fn ask_small(&mut self, key: PictureKey) {
        let there = self.store.known.contains_key(&key) || self.store.loading.contains_key(&key);
        if !there && self.store.glanced.insert(key.clone()) {
            self.effects.push(Effect::Decode { key, first: false, samples: false });
        }
    }
}

/// Takes in a decoded picture.
pub(crate) fn receive(editor: &mut Editor, key: PictureKey, result: Result<Box<Decoded>, String>) {
    Arc::make_mut(&mut editor.pictures).take(key, result);
    if let Some(document) = &mut editor.document {
        document.stale = true;
    }
}

impl PictureStore {
    fn take(&mut self, key: PictureKey, result: Result<Box<Decoded>, String>) {
        let decoded = match result {
            Ok(decoded) => *decoded,
            Err(sentence) => {
                self.loading.insert(key, Loading::Failed(sentence));
                return;
            }
        };
        let again = self.known.get(&key).filter(|known| known.digest == decoded.digest);
        let known = KnownPicture {
            extent: decoded.extent,
            // The small picture of the same file stays the same one, on the card too.
            small: again.map_or(decoded.small, |known| Arc::clone(&known.small)),
            digest: decoded.digest,
            warnings: decoded.warnings,
            frames: decoded.facts.frames,
            frame_time_ms: decoded.facts.frame_time_ms,
            proposed: decoded.proposed,
            offer: ScaleOffer::of(&decoded.facts),
            burned_in: decoded.facts.burned_in == Some(true),
            unchecked: decoded.facts.unchecked,
        };
        self.known.insert(key.clone(), known);
        let Some(frame) = decoded.frame else {
            self.loading.entry(key).or_insert(Loading::Aside);
            return;
        };
        self.loading.insert(key.clone(), Loading::Ready(DecodedPicture { frame, greys: decoded.greys }));
        if !self.kept.contains(&key) {
            // Not looked at yet: the first to be put aside.
            self.kept.insert(0, key);
        }
    }

    fn use_now(&mut self, key: &PictureKey) {
        if self.kept.last() != Some(key) {
            self.kept.retain(|other| other != key);
            self.kept.push(key.clone());
        }
    }

    /// How many bytes of samples may be kept beyond the shown picture's: files that are open and small pictures have
    /// their part of the same memory.
    fn most_kept(&self, memory_mib: usize) -> usize {
        let small: usize = self.known.values().map(|known| known.small.greys.len()).sum();
        let beside = self.held_open + SMALL_COPIES * small;
        kept_bytes_of(memory_mib).saturating_sub(beside).max(LEAST_BYTES)
    }

    /// Puts the samples aside that were looked at longest ago, as far as memory asks for it.
    fn spare(&mut self, shown: Option<&PictureKey>, most: usize) {
        while self.kept_bytes(shown) > most {
            let Some(index) = self.kept.iter().position(|key| Some(key) != shown) else { return };
            let key = self.kept.remove(index);
            if matches!(self.loading.get(&key), Some(Loading::Ready(_))) {
                self.loading.insert(key, Loading::Aside);
            }
        }
    }

    /// Bytes of all samples but the shown picture's.
    fn kept_bytes(&self, shown: Option<&PictureKey>) -> usize {
        let bytes = |key: &PictureKey| match self.loading.get(key) {
            Some(Loading::Ready(picture)) => picture.frame.bytes(),
            Some(Loading::Busy | Loading::Aside | Loading::Failed(_)) | None => 0,
        };
        self.kept.iter().filter(|key| Some(*key) != shown).map(bytes).sum()
    }
}

/// The most that a picture of this size can take.
const fn largest_bytes(known: &KnownPicture) -> usize {
    2 * known.extent.width as usize * known.extent.height as usize
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::*;
    use crate::app::session::document::Document;
    use crate::case::document::Case;
    use crate::case::image::frame::{Frame, Samples};
    use crate::measure::mark::View;
    use crate::measure::reading::{Field, FrameExtent};
    use crate::scene::window_level::{GreyTile, WindowLevel};

    fn decoded(side: u32) -> Decoded {
        let samples = Samples::Gray8(vec![0; side as usize * side as usize]);
        let frame = Frame {
            width: side,
            height: side,
            samples,
            was_colour: false,
            digest: "sha256:0".into(),
            warnings: Vec::new(),
            taken: None,
            facts: Default::default(),
        };
        let greys = WindowLevel::whole(&frame);
        let extent = FrameExtent { width: side, height: side, field: Field::Whole };
        let small = GreyTile { width: 1, height: 1, greys: vec![0] };
        Decoded {
            digest: frame.digest.to_string(),
            warnings: Vec::new(),
            facts: frame.facts.clone(),
            frame: Some(Arc::new(frame)),
            extent,
            small: Arc::new(small),
            greys,
            proposed: Vec::new(),
        }
    }

    fn state(shots: usize) -> State {
        let mut case = Case::default();
        for i in 0..shots {
            case.shots.push(Shot::new(format!("s{i}"), format!("{i}.png"), View::Lateral));
        }
        let document = Document::opened(case, PathBuf::from("/x/a.case.json"), None);
        State::of(document)
    }

    fn asked(effects: &[Effect]) -> Vec<String> {
        let name = |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned());
        effects
            .iter()
            .filter_map(|effect| match effect {
                Effect::Decode { key, .. } => name(&key.path),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn the_shown_picture_comes_first_and_each_is_asked_for_once() {
        let mut state = state(4);
        if let Some(document) = &mut state.editor.document {
            document.show("s2");
        }
        let mut effects = Vec::new();
        want(&mut state, &mut effects);
        assert_eq!(asked(&effects), ["2.png", "3.png", "1.png", "0.png"]);
        assert!(matches!(effects[0], Effect::Decode { first: true, .. }));
        effects.clear();
        want(&mut state, &mut effects);
        assert!(effects.is_empty());
    }

    #[test]
    fn samples_are_put_aside_and_asked_for_again_when_shown() {
        let mut state = state(4);
        let mut effects = Vec::new();
        want(&mut state, &mut effects);
        // 512 MiB leave 192 to pictures that are not shown.
        state.display.memory_mib = 512;
        let shots = state.editor.document.as_ref().unwrap().case().shots.clone();
        let keys: Vec<PictureKey> = shots.iter().filter_map(|shot| state.editor.key_of(shot)).collect();
        for key in &keys {
            receive(&mut state.editor, key.clone(), Ok(Box::new(decoded(10_000))));
        }
        want(&mut state, &mut effects);
        let aside: Vec<_> = keys
            .iter()
            .filter(|key| matches!(state.editor.pictures.loading.get(*key), Some(Loading::Aside)))
            .collect();
        assert_eq!(aside.len(), 1, "three others of 100 MB each, two fit");
        effects.clear();
        want(&mut state, &mut effects);
        assert!(effects.is_empty(), "what was put aside is not asked for in turn");
        assert!(matches!(state.editor.shown_loading(), Some(Loading::Ready(_))));
        let gone = aside[0].path.file_stem().unwrap().to_string_lossy().into_owned();
        if let Some(document) = &mut state.editor.document {
            document.show(&format!("s{gone}"));
        }
        effects.clear();
        want(&mut state, &mut effects);
        assert_eq!(asked(&effects)[0], format!("{gone}.png"));
    }

    #[test]
    fn files_that_are_open_and_small_pictures_leave_less_room() {
        let kept = |held_open: usize, small: usize| {
            let mut state = state(4);
            want(&mut state, &mut Vec::new());
            // 512 MiB leave 192 to pictures that are not shown, in which one of 100 MB has room beside another.
            state.display.memory_mib = 512;
            Arc::make_mut(&mut state.editor.pictures).held_open = held_open;
            let shots = state.editor.document.as_ref().unwrap().case().shots.clone();
            let keys: Vec<PictureKey> = shots.iter().filter_map(|shot| state.editor.key_of(shot)).collect();
            for key in &keys {
                let mut decoded = decoded(9_000);
                decoded.small = Arc::new(GreyTile { width: 1, height: 1, greys: vec![0; small] });
                receive(&mut state.editor, key.clone(), Ok(Box::new(decoded)));
            }
            want(&mut state, &mut Vec::new());
            keys.iter()
                .filter(|key| matches!(state.editor.pictures.loading.get(*key), Some(Loading::Ready(_))))
                .count()
        };
        assert_eq!(kept(0, 1), 3, "the shown one and two of 81 MB");
        assert_eq!(kept(80 << 20, 1), 2, "80 MiB of files are open");
        assert_eq!(kept(0, 4 << 20), 2, "four small pictures take 80 MiB");
    }

    #[test]
    fn a_picture_that_fails_is_not_asked_for_again_and_says_why() {
        let mut state = state(1);
        let mut effects = Vec::new();
        want(&mut state, &mut effects);
        let key = state.editor.shown_key().unwrap();
        receive(&mut state.editor, key, Err("It is not there.".to_owned()));
        effects.clear();
        want(&mut state, &mut effects);
        assert!(effects.is_empty());
        let shot = state.editor.document.as_ref().unwrap().case().shots[0].clone();
        let file = Path::new("/x/a.case.json");
        let about = about(&state.editor.pictures, &BTreeMap::new(), Some(file), &shot);
        assert_eq!(about, readings::Picture::Missing);
    }
}
