//! What the next line says while an outline is asked for, looked for, or offered.

use crate::app::command::Command;
use crate::app::command::marks::MarksCommand;
use crate::app::marking::guide::{Step, StepPart, capital};
use crate::app::marking::prompt::{Prompt, aimed};
use crate::app::marking::proposal::memory::{Offer, ProposalBasis};
use crate::app::session::document::Document;
use crate::app::session::mode::Hand;
use crate::case::document::Shot;
use crate::measure::mark::{MarkKind, MarkRef, View};
use crate::propose::Edge;

/// The wall that a click is asked for on.
#[must_use]
pub const fn wall(second: bool) -> &'static str {
    if second { "the middle of the anterior wall" } else { "the middle of the posterior wall" }
}

/// The next line while a wall is asked for.
pub(in crate::app::marking) fn walls(document: &Document, second: bool) -> Prompt {
    let kind = if second { MarkKind::AnteriorWall } else { MarkKind::PosteriorWall };
    let refused = document.shown.as_deref().and_then(|shot| document.proposals.refused(shot));
    let advice = match (second, refused) {
        (true, _) => "With this click the outline and the tip are proposed.".to_owned(),
        (false, Some(why)) => why.to_owned(),
        (false, None) => {
            let mirrored = if document.posterior_is_left().is_none() {
                " Your image may lie the other way round than the diagram."
            } else {
                ""
            };
            format!("This click and one on the anterior wall propose the outline and the tip.{mirrored}")
        }
    };
    let mut keys = vec![Command::Marks(MarksCommand::ByHand)];
    if second {
        keys.insert(0, Command::Marks(MarksCommand::Back));
    }
    Prompt {
        sentence: aimed(document, wall(second)),
        advice,
        keys,
        diagram: Some((MarkRef { kind, index: 0 }, 1)),
    }
}

/// The next line while a border is asked for that was not found.
pub(in crate::app::marking) fn border(document: &Document, border: Edge) -> Prompt {
    let refused = document.shown.as_deref().and_then(|shot| document.proposals.refused(shot));
    Prompt {
        sentence: refused.map_or_else(|| aimed(document, &format!("the {}", border.name())), str::to_owned),
        advice: "A click on it, about its middle, looks for the outline once more.".to_owned(),
        keys: vec![Command::Marks(MarksCommand::Back), Command::Marks(MarksCommand::ByHand)],
        diagram: Some((
            MarkRef { kind: border.mark_kind(), index: usize::from(is_plate(border)) },
            if is_plate(border) { 3 } else { 1 },
        )),
    }
}

const fn is_plate(border: Edge) -> bool {
    matches!(border, Edge::Superior | Edge::Inferior)
}

/// The next line while an outline is looked for after two clicks, or a proposal waits for an answer; `None` where neither is.
pub(in crate::app::marking) fn prompt(document: &Document, shot: &Shot) -> Option<Prompt> {
    let hand = document.hand();
    let clicked = document
        .proposals
        .of(&shot.id)
        .is_some_and(|one| matches!(one.basis, Some(ProposalBasis::Walls(..))));
    if clicked && document.proposals.is_sought(&shot.id) && hand == Hand::Nothing {
        return Some(Prompt {
            sentence: "Looking for the outline…".to_owned(),
            advice: String::new(),
            keys: vec![Command::Marks(MarksCommand::ByHand)],
            diagram: None,
        });
    }
    let offer = document.proposals.present(shot)?;
    let tip = match hand {
        Hand::Nothing => false,
        Hand::Next(step) => step.kind == MarkKind::Tip,
        Hand::Again(_)
        | Hand::Mark(_)
        | Hand::Adding(_)
        | Hand::Landmark { .. }
        | Hand::Wall { .. }
        | Hand::Border(_) => {
            return None;
        }
    };
    let mut keys = vec![Command::Marks(MarksCommand::ConfirmMarks), Command::Marks(MarksCommand::ByHand)];
    if tip {
        keys.insert(1, Command::Marks(MarksCommand::Skip));
    }
    let diagram = tip.then_some((MarkRef { kind: MarkKind::Tip, index: 0 }, 1));
    Some(Prompt {
        sentence: sentence(document, shot, offer, tip),
        advice: advice(offer, shot),
        keys,
        diagram,
    })
}

fn sentence(document: &Document, shot: &Shot, offer: &Offer, tip: bool) -> String {
    let level = shot.level.map(|level| format!(" of {}", level.name())).unwrap_or_default();
    let what = if offer.outline().is_some() { "outline" } else { "copied marks" };
    if tip {
        let aimed = aimed(document, if shot.view == View::Pedicle { "the docking point" } else { "the tip" });
        return format!("{aimed} Enter accepts the {what}{level}.");
    }
    let and_tip = offer.proposed.holds(MarkRef { kind: MarkKind::Tip, index: 0 });
    let what = if and_tip { format!("{what} and the tip") } else { what.to_owned() };
    format!("Check the {what}{level}, drag what is off, and press Enter.")
}

/// What is to be looked at above all.
fn advice(offer: &Offer, shot: &Shot) -> String {
    let mut all = Vec::new();
    let tip = MarkRef { kind: MarkKind::Tip, index: 0 };
    if offer.proposed.holds(tip) {
        all.push(format!("Tip: {}.", Step { kind: tip.kind, part: StepPart::Nth(0) }.advice(shot.view)));
    }
    if let Some(outline) = offer.outline() {
        all.push(
            "Corners lie where the lines of wall and endplate would meet, just outside the rounded bone."
                .to_owned(),
        );
        for edge in &outline.shows_twice {
            all.push(format!("The {} seems to show twice: the proposal runs halfway between its lines; mark both to be exact.", edge.name()));
        }
        if outline.tip.is_ok_and(|tip| tip.end_on) {
            all.push("The end of the instrument points toward or away from you, so its tip is less certain: it lies just behind the front of the broad end.".to_owned());
        }
        for kind in offer.faint() {
            all.push(format!("Little is seen of the {}.", kind.name()));
        }
        let placed = !shot.marks.slots(MarkKind::Tip).is_empty();
        if let (Err(why), false) = (&outline.tip, placed) {
            all.push(why.text().to_owned());
        }
    }
    let again: Vec<&str> = offer.look_again().iter().map(|kind| kind.name()).collect();
    if !again.is_empty() {
        all.push(format!("Mark again where the view has turned: {}.", again.join(", ")));
    }
    if offer.is_uncertain() {
        all.push("The two images look different: check the level.".to_owned());
    }
    if let Some(from) = &offer.from {
        all.push(format!("Registered with “{from}”."));
    }
    capital(&all.join(" "))
}
