//! What another program hands over to the window: files that are dropped on it, with or without a file behind them, and images
//! that are pasted.

use egui::Context;

use crate::app::files::received_image::ReceivedImage;
use crate::app::session::state::State;
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::Theme;
use crate::ui::look::{colour, font};

/// What was dropped without a file behind it.
pub(super) fn bytes_of(file: &dyn egui::DroppedFile) -> Option<ReceivedImage> {
    let name = file.path().file_name().map(|name| name.to_string_lossy().into_owned());
    let bytes = file.bytes().ok()?;
    Some(ReceivedImage::Bytes { name: name.unwrap_or_else(|| "dropped.png".to_owned()), bytes: bytes.into() })
}

/// An image that was pasted.
pub(super) fn pasted(event: &egui::Event) -> Option<ReceivedImage> {
    let egui::Event::PasteImage(image) = event else { return None };
    let rgba: Vec<u8> = image.pixels.iter().flat_map(|pixel| pixel.to_srgba_unmultiplied()).collect();
    Some(ReceivedImage::Pixels { size: (image.size[0], image.size[1]), rgba: rgba.into() })
}

/// Says what becomes of the files that are held over the window.
pub(super) fn hovering_ui(ctx: &Context, state: &State) {
    if ctx.input(|input| input.raw.hovered_files.is_empty()) {
        return;
    }
    let theme = Theme::of(state.display.mode);
    let painter =
        ctx.layer_painter(egui::LayerId::new(egui::Order::Foreground, egui::Id::unique("dropping")));
    let rect = ctx.content_rect();
    painter.rect_filled(rect, 0.0, colour(theme.veil));
    let words = match &state.editor.document {
        Some(_) => "Release to add the images to this case, or to open a case file",
        None => "Release to open",
    };
    let galley = painter.layout_no_wrap(words.to_owned(), font(TextSize::Body), colour(theme.text));
    let at = egui::Align2::CENTER_CENTER.anchor_size(rect.center(), galley.size());
    painter.rect_filled(at.expand(16.0), 8.0, colour(theme.panel));
    painter.galley(at.min, galley, colour(theme.text));
}
