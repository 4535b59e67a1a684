//! What the page lists at present: the order it would make anew, and of its own order what is shown, with headings and the last
//! shots. It is made once for each change of what it goes by, not once for each pass of the window.

use std::collections::BTreeSet;

use crate::app::pages::overview::memory::{Overview, ShotGroup};
use crate::app::pages::overview::order;
use crate::app::session::document::Document;
use crate::case::document::Shot;
use crate::case::document::shot_list::ShotList;

/// A section as it is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShownSection {
    /// The shots by their ids, in their order.
    pub shots: Vec<String>,
    /// Its heading.
    pub heading: String,
    /// Which of them came last, with the word for it, where a time tells.
    pub last: Option<(String, &'static str)>,
}

/// What is listed.
#[derive(Debug, Default)]
pub struct Listing {
    /// The order that the page would make now.
    pub sorted: Vec<ShotGroup>,
    /// What is shown.
    pub shown: Vec<ShownSection>,
    made_from: Option<ListedFrom>,
}

/// What a listing goes by.
#[derive(Debug, PartialEq)]
struct ListedFrom {
    shots: ShotList,
    /// The selected shots, where only these are shown.
    only: Option<BTreeSet<String>>,
}

/// Makes the listing anew where what it goes by has changed. Shots that came or went are put into order anew.
pub(super) fn follow(page: &mut Overview, document: &Document) {
    let case = document.case();
    let only: Option<BTreeSet<String>> =
        page.only.then(|| document.chosen().into_iter().map(|shot| shot.id.clone()).collect());
    let before = page.listing.made_from.as_ref();
    if before.is_none_or(|from| from.shots != case.shots) {
        page.listing.sorted = order::sections(case);
    } else if before.is_some_and(|from| from.only == only) {
        return;
    }
    if ids(&page.order) != ids(&page.listing.sorted) {
        page.order.clone_from(&page.listing.sorted);
    }
    let section = |group: &ShotGroup| {
        let here = group.shots.iter().filter(|id| only.as_ref().is_none_or(|only| only.contains(*id)));
        let shots: Vec<&Shot> = here.filter_map(|id| case.shot(id)).collect();
        (!shots.is_empty()).then(|| ShownSection {
            heading: order::heading(group.view, &shots),
            last: order::last(&shots),
            shots: shots.iter().map(|shot| shot.id.clone()).collect(),
        })
    };
    page.listing.shown = page.order.iter().filter_map(section).collect();
    page.listing.made_from = Some(ListedFrom { shots: case.shots.clone(), only });
}

/// The shots that are listed, whatever their order.
fn ids(order: &[ShotGroup]) -> BTreeSet<&str> {
    order.iter().flat_map(|group| group.shots.iter().map(String::as_str)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::Case;
    use crate::measure::mark::View;

    fn document(ids: &[&str]) -> Document {
        let shots: Vec<Shot> = ids.iter().map(|id| Shot::new(*id, "a.png", View::Lateral)).collect();
        Document::fresh(Case { shots: shots.into(), ..Case::default() })
    }

    fn shown(page: &Overview) -> Vec<&str> {
        page.listing.shown.iter().flat_map(|section| section.shots.iter().map(String::as_str)).collect()
    }

    #[test]
    fn a_listing_follows_shots_and_selection() {
        let mut page = Overview::default();
        follow(&mut page, &document(&["a", "b", "c"]));
        assert_eq!(shown(&page), ["a", "b", "c"], "an order that was never made is made");
        assert!(page.listing.shown[0].heading.starts_with("Lateral: 3"));
        page.only = true;
        follow(&mut page, &document(&["a", "b", "c"]));
        assert_eq!(shown(&page), ["a"], "the shown shot is the selected one");
        assert_eq!(page.listing.shown[0].heading, "Lateral: 1");
        page.only = false;
        follow(&mut page, &document(&["c", "a"]));
        assert_eq!(shown(&page), ["c", "a"], "one went, and the order is that of the case");
    }

    /// An order stays as it is while labels change; only the order that would be made anew follows them.
    #[test]
    fn labels_move_nothing() {
        let mut page = Overview::default();
        let mut document = document(&["a", "b"]);
        follow(&mut page, &document);
        let mut case = document.case().clone();
        case.shots[0].view = View::Ap;
        document = Document::fresh(case);
        follow(&mut page, &document);
        assert_eq!(shown(&page), ["a", "b"]);
        assert_ne!(page.listing.sorted, page.order);
    }
}
