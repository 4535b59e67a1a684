//! The changes themselves: each is one edit of the shot's labels.

use crate::app::annotation::label::alignment::in_line;
use crate::app::annotation::label::draft::DraggedWords;
use crate::app::annotation::label::{self, Grip, LabelCommand, begin, is_whole};
use crate::app::marking::guide::capital;
use crate::app::session::document::Document;
use crate::app::session::editor::Editor;
use crate::app::session::mode::{LabelChange, Mode, Tool};
use crate::app::session::notice::Weight;
use crate::case::annotation::copied::carried;
use crate::case::annotation::list::{self, LabelBox, PointedLine, reordered};
use crate::case::annotation::{Label, LabelKind, LabelShape as What};
use crate::case::document::edit::{Description, Edit};
use crate::geom::point::{Point, Vec2};
use crate::scene::drawing::shape::Rect;
use crate::scene::format;
use crate::scene::overlay::LayerSet;

/// Does what is asked for; `layers` are those that are drawn, which the words keep clear of.
pub(super) fn act(editor: &mut Editor, layers: LayerSet, ask: LabelCommand) {
    let Some(document) = editor.document.as_mut() else { return };
    if ask != LabelCommand::Begin && document.tool() != Tool::Annotations {
        return;
    }
    match ask {
        LabelCommand::Begin => begin(document),
        LabelCommand::Kind(kind) => {
            document.labelling.kind = kind;
            document.labelling.placed.clear();
        }
        LabelCommand::Round => {
            document.labelling.round = !document.labelling.round;
            document.labelling.placed.clear();
        }
        LabelCommand::At(at) => point(editor, at),
        LabelCommand::Finish => finish(editor),
        LabelCommand::Choose(index) => {
            document.labelling.chosen = index.into_iter().collect();
            document.labelling.grip = Grip::Whole;
        }
        LabelCommand::ChooseToo(index) => {
            let chosen = &mut document.labelling.chosen;
            match chosen.iter().position(|&one| one == index) {
                Some(at) => {
                    chosen.remove(at);
                }
                None => chosen.push(index),
            }
        }
        LabelCommand::Next => {
            let count = labels(document).len();
            let next = document.labelling.primary().map_or(0, |index| index + 1);
            document.labelling.chosen = (count > 0).then_some(next % count.max(1)).into_iter().collect();
            document.labelling.grip = Grip::Whole;
        }
        LabelCommand::NextGrip => {
            let label = document.labelling.primary().and_then(|index| labels(document).get(index).cloned());
            if let Some(label) = label {
                document.labelling.grip = document.labelling.grip.next(&label);
            }
        }
        LabelCommand::Grab(index, grip) => {
            document.labelling.chosen = vec![index];
            document.labelling.grip = grip;
            document.labelling.placed.clear();
            document.labelling.dragged = None;
            document.begin_change(Mode::Annotating(Some(LabelChange::Moving(index, grip))));
        }
        LabelCommand::Drag(index, Grip::Words, by) => drag_words(editor, layers, index, by),
        LabelCommand::Drag(index, grip, by) => shift(editor, layers, index, grip, by),
        // Whatever went on has been ended by now.
        LabelCommand::Done => document.labelling.dragged = None,
        LabelCommand::Say(index, words) => {
            if !document.is_changing_label() {
                document.begin_change(Mode::Annotating(Some(LabelChange::Words(index))));
            }
            change(editor, index, |label| label.text = words);
        }
        LabelCommand::FreeWords => change_chosen(editor, |label| label.text_at = None),
        LabelCommand::Earlier => reorder(editor, -1),
        LabelCommand::Later => reorder(editor, 1),
        LabelCommand::Align(edge) => align(editor, layers, edge),
        LabelCommand::Corner(to) => change_chosen(editor, |label| {
            if let What::Known { corner, .. } = &mut label.drawn {
                *corner = to;
            }
        }),
        LabelCommand::Times(to) => change_chosen(editor, |label| {
            if let What::Known { kind: LabelKind::Inset, times, .. } = &mut label.drawn {
                *times = to;
            }
        }),
        LabelCommand::Remove => remove(editor),
        LabelCommand::CarryTo(id) => carry_to(editor, &id),
        LabelCommand::Nudge(way, stride) => {
            let by = document.aspect().turn.unseen(way.unit()) * stride.px();
            nudge(editor, layers, by);
        }
        LabelCommand::PlaceAtCrosshair => match document.crosshair {
            Some(at) => point(editor, at),
            None => finish(editor),
        },
        LabelCommand::Back => {
            document.labelling.placed.pop();
        }
        LabelCommand::SelectAll => {
            let count = labels(document).len();
            document.labelling.chosen = (0..count).collect();
        }
        LabelCommand::PutDown => label::escape::put_down(document),
    }
}

/// Moves the chosen part by arrows, or brings the crosshair up and moves that.
fn nudge(editor: &mut Editor, layers: LayerSet, by: Vec2) {
    let middle =
        editor.transform().to_image(Point::new(0.5 * editor.canvas.width, 0.5 * editor.canvas.height));
    let Some(document) = editor.document.as_mut() else { return };
    match document.labelling.primary() {
        Some(index) if document.labelling.placed.is_empty() => {
            let grip = document.labelling.grip;
            shift(editor, layers, index, grip, by);
        }
        _ => document.crosshair = Some(document.crosshair.map_or(middle, |at| at + by)),
    }
}

fn labels(document: &Document) -> &[Label] {
    document.shot().map_or(&[], |shot| &shot.labels)
}

/// One more point of the label under way; with its last point it is made.
fn point(editor: &mut Editor, at: Point) {
    let Some(document) = editor.document.as_mut() else { return };
    let labelling = &mut document.labelling;
    labelling.chosen.clear();
    labelling.placed.push(at);
    let (_, most) = labelling.kind.count(labelling.round && labelling.kind.can_be_round());
    if labelling.placed.len() >= most {
        finish(editor);
    }
}

fn finish(editor: &mut Editor) {
    let Some(document) = editor.document.as_mut() else { return };
    if !is_whole(&document.labelling) {
        return;
    }
    let kind = document.labelling.kind;
    let mut label = Label::new(kind, std::mem::take(&mut document.labelling.placed));
    if document.labelling.round && kind.can_be_round() {
        label = label.rounded();
    }
    let mut all = labels(document).to_vec();
    all.push(label);
    let index = all.len() - 1;
    if set(editor, all)
        && let Some(document) = editor.document.as_mut()
    {
        document.crosshair = None;
        document.labelling.chosen = vec![index];
        document.labelling.grip = Grip::Whole;
        document.labelling.made += 1;
    }
}

/// Replaces the shown shot's labels; says why where that is impossible.
fn set(editor: &mut Editor, labels: Vec<Label>) -> bool {
    let Some(document) = &mut editor.document else { return false };
    let Some(shot) = document.shown.clone() else { return false };
    match document.apply(&Edit::Describe { shot, what: Description::Labels(labels) }) {
        Ok(()) => true,
        Err(error) => {
            editor.say(Weight::Trouble, capital(&format!("{error}.")));
            false
        }
    }
}

fn change(editor: &mut Editor, index: usize, how: impl FnOnce(&mut Label)) {
    let Some(document) = &editor.document else { return };
    let mut all = labels(document).to_vec();
    if let Some(label) = all.get_mut(index) {
        how(label);
        set(editor, all);
    }
}

fn change_chosen(editor: &mut Editor, how: impl Fn(&mut Label)) {
    let Some(document) = &editor.document else { return };
    let mut all = labels(document).to_vec();
    for &index in &document.labelling.chosen {
        if let Some(label) = all.get_mut(index) {
            how(label);
        }
    }
    set(editor, all);
}

fn remove(editor: &mut Editor) {
    let Some(document) = &mut editor.document else { return };
    let chosen = std::mem::take(&mut document.labelling.chosen);
    let left = labels(document).iter().enumerate().filter(|(index, _)| !chosen.contains(index));
    let left = left.map(|(_, label)| label.clone()).collect();
    set(editor, left);
}

fn reorder(editor: &mut Editor, by: isize) {
    let Some(document) = &editor.document else { return };
    let Some(from) = document.labelling.primary() else { return };
    let Some(to) = from.checked_add_signed(by) else { return };
    let all = labels(document);
    if to >= all.len() {
        return;
    }
    if set(editor, reordered(all, from, to))
        && let Some(document) = editor.document.as_mut()
    {
        document.labelling.chosen = vec![to];
    }
}

/// Moves a part of a label by pixels of the picture; a run of such moves is one step back.
fn shift(editor: &mut Editor, layers: LayerSet, index: usize, grip: Grip, by: Vec2) {
    let words_at = if grip == Grip::Words { words_at(editor, layers, index) } else { None };
    let Some(document) = editor.document.as_mut() else { return };
    if !document.is_changing_label() {
        document.begin_change(Mode::Annotating(Some(LabelChange::Moving(index, grip))));
    }
    change(editor, index, |label| match grip {
        Grip::Whole => *label = label.clone().moved(by),
        Grip::Point(slot) => {
            if let Some(point) = label.points_mut().get_mut(slot) {
                *point += by;
            }
        }
        Grip::Words => label.text_at = label.text_at.or(words_at).map(|at| at + by),
    });
}

/// Moves the words of a label by pixels of the picture, in line with other words where they come near.
fn drag_words(editor: &mut Editor, layers: LayerSet, index: usize, by: Vec2) {
    let before = editor.document.as_ref().and_then(|document| document.labelling.dragged.as_ref());
    let from = before.map(|dragged| dragged.free).or_else(|| words_at(editor, layers, index));
    let (Some(from), Some(drawn)) = (from, label::drawn(editor, layers)) else {
        return shift(editor, layers, index, Grip::Words, by);
    };
    let free = from + by;
    let transform = editor.transform();
    let Some((_, own)) = drawn.boxes.iter().find(|(of, _)| *of == index) else { return };
    let middle = transform.to_canvas(free);
    let half = Vec2::new(0.5 * own.width(), 0.5 * own.height());
    let own = Rect { min: middle - half, max: middle + half };
    let others: Vec<Rect> =
        drawn.boxes.iter().filter(|(of, _)| *of != index).map(|(_, rect)| *rect).collect();
    let found = in_line(own, &others);
    let Some(document) = editor.document.as_mut() else { return };
    if !document.is_changing_label() {
        document.begin_change(Mode::Annotating(Some(LabelChange::Moving(index, Grip::Words))));
    }
    let guides = found.guides.into_iter().map(|ends| ends.map(|p| transform.to_image(p))).collect();
    document.labelling.dragged = Some(DraggedWords { free, guides });
    change(editor, index, |label| label.text_at = Some(transform.to_image(middle + found.by)));
}

/// Where a label's words stand just now, in image coordinates.
fn words_at(editor: &Editor, layers: LayerSet, index: usize) -> Option<Point> {
    let drawn = label::drawn(editor, layers)?;
    let (_, rect) = drawn.boxes.into_iter().find(|(of, _)| *of == index)?;
    Some(editor.transform().to_image(rect.centre()))
}

/// Brings the words of the chosen labels in line, as they stand on the screen.
fn align(editor: &mut Editor, layers: LayerSet, edge: PointedLine) {
    let (Some(document), Some(drawn)) = (&editor.document, label::drawn(editor, layers)) else { return };
    let standing: Vec<LabelBox> = drawn
        .boxes
        .iter()
        .filter(|(index, _)| document.labelling.chosen.contains(index))
        .map(|(index, rect)| LabelBox {
            index: *index,
            middle: rect.centre(),
            half: Vec2::new(0.5 * rect.width(), 0.5 * rect.height()),
        })
        .collect();
    let transform = editor.transform();
    let mut all = labels(document).to_vec();
    for (words, to) in standing.iter().zip(list::in_line(&standing, edge)) {
        if let Some(label) = all.get_mut(words.index) {
            label.text_at = Some(transform.to_image(to));
        }
    }
    set(editor, all);
}

/// Puts the chosen labels on another shot, through the body map.
fn carry_to(editor: &mut Editor, id: &str) {
    let Some(document) = &mut editor.document else { return };
    let case = document.case();
    let (Some(from), Some(to)) = (document.shot(), case.shot(id)) else { return };
    let mut chosen = document.labelling.chosen.clone();
    chosen.sort_unstable();
    match carried(case, from, &chosen, to) {
        Ok(carried) => {
            let edit = Edit::Describe { shot: id.to_owned(), what: Description::Labels(carried.labels) };
            let done = document.apply(&edit);
            let put = format::count(carried.count, "annotation is", "annotations are");
            match done {
                Ok(()) => editor.say(Weight::Note, format!("{put} on “{id}” now; Undo takes that back.")),
                Err(error) => editor.say(Weight::Trouble, capital(&format!("{error}."))),
            }
            for note in carried.notes {
                editor.say(Weight::Note, note);
            }
        }
        Err(sentence) => editor.say(Weight::Trouble, sentence),
    }
}
