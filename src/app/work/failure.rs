//! What a work that broke off in the middle leaves behind: a sentence that names it, and an end to whatever waits
//! for it.

use std::path::Path;

use crate::app::pages;
use crate::app::work::effect::{Effect, Outcome};
use crate::scene::format;

/// What comes of an effect if the program fails at it; made beforehand, because nothing is left of it afterwards.
#[must_use]
pub fn outcomes(effect: &Effect) -> Vec<Outcome> {
    let text = format!(
        "{} failed because of a fault in the program. Everything else continues; {}",
        named(effect),
        remedy(effect)
    );
    match effect {
        Effect::Open { .. } | Effect::OpenDemonstration => vec![Outcome::NotOpened(text)],
        Effect::ReadKeypoints { .. } => vec![Outcome::Keypoints(Err(text))],
        Effect::Receive { .. } => vec![Outcome::Received(Err(text))],
        Effect::Save { .. } => vec![Outcome::NotSaved(text)],
        Effect::Export { .. } => vec![Outcome::NotExported(text)],
        Effect::LookAround
        | Effect::Allow { .. }
        | Effect::Keep { .. }
        | Effect::Drop
        | Effect::Adopt(_)
        | Effect::Forget(_)
        | Effect::ForgetKept
        | Effect::Ask { .. }
        | Effect::Stop(_)
        | Effect::KeepOpen(_)
        | Effect::Quit => vec![Outcome::Failed(text)],
        Effect::Decode { key, .. } => {
            let ended = Outcome::Picture { key: key.clone(), result: Err(text.clone()) };
            vec![Outcome::Failed(text), ended]
        }
        Effect::Propose(order) => {
            vec![Outcome::Failed(text.clone()), Outcome::Proposed(Box::new(order.broken_off(&text)))]
        }
        Effect::Read(due) => vec![Outcome::Failed(text), Outcome::Readings(Box::new(due.unmade()))],
        Effect::Page(work) => {
            let (done, says) = work.broken_off(&text);
            let notice = (!says).then_some(Outcome::Failed(text));
            notice.into_iter().chain([Outcome::Page(done)]).collect()
        }
    }
}

/// The work in words, at the beginning of a sentence.
#[must_use]
pub fn named(effect: &Effect) -> String {
    let quoted = |path: &Path| {
        let name = path.file_name().unwrap_or(path.as_os_str());
        format!("“{}”", name.to_string_lossy())
    };
    match effect {
        Effect::Ask { .. } => "Asking for a path".to_owned(),
        Effect::Open { paths, .. } => match paths.as_slice() {
            [one] => format!("Opening {}", quoted(one)),
            all => format!("Opening {} files", all.len()),
        },
        Effect::OpenDemonstration => "Opening the demonstration".to_owned(),
        Effect::LookAround => "Looking for recent cases and unsaved work".to_owned(),
        Effect::Save { file, .. } => format!("Saving {}", quoted(file)),
        Effect::Receive { path, .. } => format!("Saving the image to {}", quoted(path)),
        Effect::ReadKeypoints { table, .. } => format!("Reading {}", quoted(table)),
        Effect::Export { folder, .. } => format!("Exporting the case to {}", quoted(folder)),
        Effect::Keep { .. } => "Autosaving".to_owned(),
        Effect::Drop => "Removing the copy kept of unsaved work".to_owned(),
        Effect::Adopt(_) => "Restoring unsaved work".to_owned(),
        Effect::Forget(_) => "Discarding unsaved work".to_owned(),
        Effect::Allow { .. } => "Remembering the answer about images outside the case folder".to_owned(),
        Effect::ForgetKept => "Deleting what the program kept for itself".to_owned(),
        Effect::Decode { key, .. } => format!("Reading {}", quoted(&key.path)),
        Effect::Stop(_) => "Stopping".to_owned(),
        Effect::KeepOpen(_) => "Limiting memory".to_owned(),
        Effect::Propose(_) => "Proposing marks".to_owned(),
        Effect::Read(due) => format!("Reading {}", format::count(due.shots(), "shot", "shots")),
        Effect::Page(work) => pages::PageWork::named(work).to_owned(),
        Effect::Quit => "Quitting".to_owned(),
    }
}

/// What helps, at the end of the sentence.
const fn remedy(effect: &Effect) -> &'static str {
    match effect {
        Effect::Save { .. } => "save it under another name.",
        Effect::Keep { .. } => "save the case now.",
        _ => "try it once more.",
    }
}
