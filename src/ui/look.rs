//! The theme as egui's style, and the typefaces.

use std::sync::Arc;

use egui::epaint::text::{FontDefinitions, FontFamily};
use egui::{Color32, CornerRadius, FontId, Margin, Stroke, Style, TextStyle, Visuals, vec2};

use crate::scene::drawing::contrast::DISABLED_OPACITY;
use crate::scene::drawing::shape::TextSize;
use crate::scene::drawing::theme::{CORNER_RADIUS, Colour, Mode, Theme, space};

/// A theme's colour as egui's.
#[must_use]
pub fn colour(c: Colour) -> Color32 {
    Color32::from_rgba_unmultiplied(c.r, c.g, c.b, c.a)
}

/// A length of the theme as egui's.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "lengths on the screen are far below the limits of f32")]
pub const fn pt(x: f64) -> f32 {
    x as f32
}

/// A font of the theme. Its figures all have the same width, so numbers stand in columns.
#[must_use]
pub fn font(size: TextSize) -> FontId {
    FontId::new(pt(Theme::points(size)), FontFamily::Proportional)
}

/// Loads the typefaces: the words' family is completed by another, which has arrows and discs.
pub fn set_fonts(ctx: &egui::Context) {
    let mut fonts = FontDefinitions::default();
    if let Some(words) = fonts.families.get_mut(&FontFamily::Proportional) {
        words.push("Hack".to_owned());
    }
    ctx.set_fonts(fonts);
}

/// Sets the style for a mode.
pub fn set_style(ctx: &egui::Context, mode: Mode) {
    let theme = Theme::of(mode);
    let egui_theme = match mode {
        Mode::Dark => egui::Theme::Dark,
        Mode::Light => egui::Theme::Light,
    };
    ctx.set_theme(egui_theme);
    let mut style = Style { visuals: visuals(&theme), ..Style::default() };
    let sizes = [
        (TextStyle::Small, TextSize::Small),
        (TextStyle::Body, TextSize::Body),
        (TextStyle::Button, TextSize::Body),
        (TextStyle::Heading, TextSize::Large),
        (TextStyle::Monospace, TextSize::Body),
    ];
    style.text_styles = sizes.into_iter().map(|(style, size)| (style, font(size))).collect();
    let spacing = &mut style.spacing;
    spacing.item_spacing = vec2(pt(space::S2), pt(space::S1));
    spacing.button_padding = vec2(pt(space::S2), pt(space::S1));
    spacing.window_margin = Margin::same(16);
    spacing.menu_margin = Margin::same(8);
    spacing.interact_size.y = 28.0;
    spacing.icon_width = 16.0;
    spacing.scroll.floating = false;
    spacing.scroll.bar_width = 6.0;
    spacing.scroll.foreground_color = false;
    spacing.combo_width = 40.0;
    style.interaction.selectable_labels = false;
    style.interaction.tooltip_delay = 0.6;
    style.animation_time = 0.0;
    ctx.set_style_of(egui_theme, Arc::new(style));
}

/// Words, buttons and grounds in the colors of a theme.
#[must_use]
pub fn visuals(theme: &Theme) -> Visuals {
    let mut visuals = match theme.mode {
        Mode::Dark => Visuals::dark(),
        Mode::Light => Visuals::light(),
    };
    let radius = CornerRadius::same(4);
    debug_assert!((CORNER_RADIUS - 4.0).abs() < 1e-9, "the corner radius is the theme's");
    let text = colour(theme.text);
    visuals.panel_fill = colour(theme.panel);
    visuals.window_fill = colour(theme.panel);
    visuals.window_stroke = Stroke::new(1.0, colour(theme.separator));
    visuals.window_corner_radius = CornerRadius::same(8);
    visuals.menu_corner_radius = radius;
    visuals.extreme_bg_color = colour(theme.ground);
    visuals.text_edit_bg_color = Some(colour(theme.ground));
    visuals.faint_bg_color = colour(theme.raised);
    visuals.code_bg_color = colour(theme.raised);
    visuals.hyperlink_color = colour(theme.accent);
    visuals.weak_text_color = Some(colour(theme.weak_text));
    visuals.warn_fg_color = text;
    visuals.error_fg_color = text;
    visuals.selection.bg_fill = colour(theme.selection);
    visuals.selection.stroke = Stroke::new(1.0, text);
    visuals.disabled_alpha = pt(DISABLED_OPACITY);
    let widgets = &mut visuals.widgets;
    let edge = Stroke::new(1.0, colour(theme.edge));
    let accent = Stroke::new(1.5, colour(theme.accent));
    for (widget, fill, line) in [
        (&mut widgets.noninteractive, theme.panel, Stroke::new(1.0, colour(theme.separator))),
        (&mut widgets.inactive, theme.raised, edge),
        (&mut widgets.hovered, theme.hovered, accent),
        (&mut widgets.active, theme.hovered, accent),
        (&mut widgets.open, theme.hovered, edge),
    ] {
        widget.bg_fill = colour(fill);
        widget.weak_bg_fill = colour(fill);
        widget.bg_stroke = line;
        widget.fg_stroke = Stroke::new(1.0, text);
        widget.corner_radius = radius;
        widget.expansion = 0.0;
    }
    visuals
}
