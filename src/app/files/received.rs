//! Images that come without a file are written beside the case and taken in like files; where there is no folder yet, the
//! user says where.

use std::path::{Path, PathBuf};

use crate::app::annotation::straighten::straightened_photo;
use crate::app::files::dropped;
use crate::app::files::questions::{Leave, Purpose};
use crate::app::files::received_image::ReceivedImage;
use crate::app::files::saving::folder_of;
use crate::app::session::notice::Weight;
use crate::app::session::state::State;
use crate::app::work::effect::Effect;
use crate::app::work::under_way::Activity;

/// Takes an image in: into the folder of the case, or where the user says.
pub(crate) fn take_in(state: &mut State, image: ReceivedImage, effects: &mut Vec<Effect>) {
    match folder_of(state) {
        Some(folder) => keep(state, image, folder, true, effects),
        None => {
            let suggestion = Some(PathBuf::from(image.name()));
            effects.push(Effect::Ask { purpose: Purpose::Received(image), suggestion, leave: Leave::Stay });
        }
    }
}

/// Straightens the photo that is shown by what has been clicked of its screen, beside the photo.
pub(crate) fn straighten(state: &mut State, aspect: Option<f64>, effects: &mut Vec<Effect>) {
    let Ok(photo) = straightened_photo(&state.editor, aspect) else { return };
    let folder = photo.photo.parent().map(Path::to_path_buf).unwrap_or_default();
    // The clicks stay until the new image is shown, for it may come to nothing.
    keep(state, ReceivedImage::Straightened(photo), folder, true, effects);
}

/// Writes it to a file, or into a folder under a name of its own.
pub(crate) fn keep(
    state: &mut State,
    image: ReceivedImage,
    path: PathBuf,
    is_folder: bool,
    effects: &mut Vec<Effect>,
) {
    state.under_way.begin(Activity::Receiving, "Saving the image");
    effects.push(Effect::Receive { image, path, is_folder });
}

/// It is in a file now, or one sentence says why not.
pub(crate) fn receive(state: &mut State, kept: Result<PathBuf, String>, effects: &mut Vec<Effect>) {
    state.under_way.end(Activity::Receiving);
    match kept {
        Ok(path) => {
            state.say(Weight::Note, format!("The image was saved as “{}”.", path.display()));
            dropped::take_in(state, vec![path], effects);
        }
        Err(sentence) => state.say(Weight::Trouble, sentence),
    }
}
