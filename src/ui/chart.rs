//! A chart on the screen, where it can be looked into more closely: dragged, zoomed with Ctrl and the wheel or with a box
//! of the right button, and whole again by a double click. Its data, signs and patterns are those of the figure.

use egui::accesskit::Role as Part;
use egui::{RichText, Sense, Stroke, Ui, WidgetInfo, vec2};
use egui_plot::{
    AxisHints, GridInput, GridMark, HLine, HoverPosition, Line, LineStyle, MarkerShape, Plot, PlotPoint,
    PlotPoints, PlotUi, Points, Span, Text,
};

use crate::geom::point::Vec2;
use crate::scene::drawing::shape::{Glyph, Role};
use crate::scene::drawing::theme::{Ground, Theme};
use crate::scene::plot::{Axis, Chart, PlotLayer, ticks};
use crate::ui::look::{colour, pt};
use crate::ui::paint;

/// Room on the left for the numbers of the upright axis, about, in points.
const AXIS: f64 = 48.0;
/// Room on the right for half of the last number, in points.
const EDGE: f32 = 28.0;

/// Shows a chart in all the width there is.
pub fn chart_ui(ui: &mut Ui, chart: &Chart, theme: &Theme, height: f32) {
    let room = f64::from(ui.available_width());
    let size = (room - f64::from(EDGE), f64::from(height));
    let direct = chart.direct(size);
    let head = chart.head(room, direct.is_some());
    // The names at the ends of lines stand in room that the axis is lengthened by.
    let share = direct.as_ref().map_or(0.0, |direct| direct.wide / (size.0 - direct.wide - AXIS).max(1.0));
    let high = chart.x.high + share * (chart.x.high - chart.x.low);
    let (rect, _) = ui.allocate_exact_size(vec2(pt(room), pt(head.bounds.height())), Sense::hover());
    let origin = Vec2::new(f64::from(rect.left()), f64::from(rect.top()));
    paint::scene(&ui.painter_at(rect), &head, theme, Ground::Panel, |p| p + origin);
    let plot = Plot::new(&chart.title)
        .height(height)
        .default_x_bounds(chart.x.low, high)
        .default_y_bounds(chart.y.low, chart.y.high)
        .custom_x_axes(vec![hints_x(&chart.x)])
        .custom_y_axes(vec![hints_y(&chart.y)])
        .x_grid_spacer(|input| marks(&chart.x, input))
        .y_grid_spacer(|input| marks(&chart.y, input))
        .grid_color(colour(theme.separator))
        .width(ui.available_width() - EDGE)
        .allow_scroll(false)
        .label_formatter(|at| Some(said(chart, at)));
    let shown = plot.show(ui, |plot| {
        for (index, layer) in chart.layers.iter().enumerate() {
            draw(plot, chart, theme, layer, index);
        }
        for (index, level) in direct.iter().flat_map(|direct| &direct.names) {
            name_at_end(plot, chart, theme, *index, *level);
        }
    });
    let words = chart.words.clone();
    shown.response.widget_info(|| WidgetInfo::labeled(Part::Image, true, words.clone()));
}

/// The name of a line at its end.
fn name_at_end(plot: &mut PlotUi<'_>, chart: &Chart, theme: &Theme, index: usize, level: f64) {
    let Some(PlotLayer::Line { name, .. }) = chart.layers.get(index) else { return };
    let words = RichText::new(format!(" {name}")).small().color(colour(theme.text));
    let text = Text::new("", PlotPoint::new(chart.x.high, level), words).anchor(egui::Align2::LEFT_CENTER);
    plot.text(text.id((chart.title.clone(), index, "name")));
}

fn hints_x(axis: &Axis) -> AxisHints<'_> {
    AxisHints::new_x().label(axis.label.clone()).formatter(|mark, _| number(axis, mark.value))
}

fn hints_y(axis: &Axis) -> AxisHints<'_> {
    AxisHints::new_y().label(axis.label.clone()).formatter(|mark, _| number(axis, mark.value))
}

/// The axis's own numbers while it is seen as it came up, round ones in between once it is looked into.
fn marks(axis: &Axis, input: GridInput) -> Vec<GridMark> {
    let (low, high) = input.bounds;
    let own = axis.ticks.iter().map(|(at, _)| *at).filter(|at| (low..=high).contains(at)).collect::<Vec<_>>();
    let places = if own.len() > 1 { own } else { ticks::round(low, high, 6) };
    let step_size = places.windows(2).map(|two| two[1] - two[0]).fold(f64::INFINITY, f64::min);
    places.into_iter().map(|value| GridMark { value, step_size: step_size.min(high - low) }).collect()
}

/// A number on an axis in the axis's own words.
fn number(axis: &Axis, at: f64) -> String {
    let own = axis.ticks.iter().find(|(place, _)| (place - at).abs() < 1e-9 * (axis.high - axis.low));
    own.map_or_else(|| axis.said(at), |(_, words)| words.clone())
}

/// What is said of the place under the pointer.
fn said(chart: &Chart, at: &HoverPosition<'_>) -> String {
    let place = |p: &PlotPoint| format!("{}, {}", chart.x.said(p.x), chart.y.said(p.y));
    match at {
        HoverPosition::NearDataPoint { plot_name, position, .. } if !plot_name.is_empty() => {
            format!("{plot_name}: {}", place(position))
        }
        HoverPosition::NearDataPoint { position, .. } | HoverPosition::Elsewhere { position } => {
            place(position)
        }
    }
}

fn stroke(theme: &Theme, role: Role) -> (Stroke, LineStyle) {
    let drawn = theme.stroke(role);
    let style = match drawn.dash {
        [] => LineStyle::Solid,
        [dash, ..] if *dash > 3.0 => LineStyle::Dashed { length: pt(*dash) },
        _ => LineStyle::Dotted { spacing: 4.0 },
    };
    (Stroke::new(pt(drawn.width), colour(drawn.colour)), style)
}

fn points(places: &[(f64, f64)]) -> PlotPoints<'static> {
    places.iter().map(|&(x, y)| [x, y]).collect()
}

fn draw(plot: &mut PlotUi<'_>, chart: &Chart, theme: &Theme, layer: &PlotLayer, index: usize) {
    // What has no name is not in the key, and each needs an identity of its own.
    let id = (chart.title.clone(), index);
    match layer {
        PlotLayer::Line { points: places, role, name } => {
            let (stroke, style) = stroke(theme, *role);
            plot.line(Line::new(name, points(places)).stroke(stroke).style(style).id(id));
        }
        PlotLayer::Signs { points: places, glyph, role, name } => {
            let sign = theme.sign(*role, Ground::Panel);
            let (shape, filled) = marker(*glyph);
            let signs = Points::new(name, points(places)).shape(shape).filled(filled);
            plot.points(signs.radius(pt(sign.radius)).color(colour(sign.colour)).id(id));
        }
        PlotLayer::Intervals { ends, role } => {
            let (stroke, style) = stroke(theme, *role);
            for (i, &(x, low, high)) in ends.iter().enumerate() {
                let line = Line::new("", points(&[(x, low), (x, high)])).stroke(stroke).style(style);
                plot.line(line.allow_hover(false).id((id.clone(), i)));
            }
        }
        PlotLayer::Limit { at, name } => {
            let (stroke, style) = stroke(theme, Role::Limit);
            plot.hline(HLine::new("", *at).stroke(stroke).style(style).id(id.clone()));
            let words = RichText::new(name).small().color(colour(theme.weak_text));
            let place = PlotPoint::new(chart.x.high, *at);
            let anchor = if *at < 0.0 { egui::Align2::RIGHT_TOP } else { egui::Align2::RIGHT_BOTTOM };
            plot.text(Text::new("", place, words).anchor(anchor).id((id, "words")));
        }
        PlotLayer::Band { low, high, role, .. } => {
            let fill = colour(theme.fill(*role, Ground::Panel));
            let span = Span::new("", *low..=*high).axis(egui_plot::Axis::Y).fill(fill);
            plot.span(span.border_width(0.0));
        }
    }
}

const fn marker(glyph: Glyph) -> (MarkerShape, bool) {
    match glyph {
        Glyph::Disc | Glyph::HalfDisc => (MarkerShape::Circle, true),
        Glyph::Ring | Glyph::Target => (MarkerShape::Circle, false),
        Glyph::Cross => (MarkerShape::Cross, true),
        Glyph::Plus => (MarkerShape::Plus, true),
        Glyph::Square => (MarkerShape::Square, true),
        Glyph::Triangle => (MarkerShape::Up, true),
        Glyph::Bar => (MarkerShape::Diamond, false),
    }
}
