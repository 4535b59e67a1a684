//! Where the marks of a shot come from, and what of an uncertainty comes from proposed ones, in words.

use crate::case::document::Shot;
use crate::case::document::proposed::origins;
use crate::measure::quantity::Quantity;
use crate::scene::format;

/// How many marks come from where; `None` where nothing was ever proposed for the shot.
#[must_use]
pub fn marks_by_origin(shot: &Shot) -> Option<String> {
    let [by_hand, proposed, moved] = origins(&shot.marks, &shot.proposed);
    (proposed + moved > 0)
        .then(|| format!("{proposed} as proposed, {moved} proposed and moved, {by_hand} placed by hand"))
}

/// The share of a number's variance that comes from points as the program proposed them; `None` where there are none.
#[must_use]
pub fn share_of(quantity: &Quantity) -> Option<String> {
    let (part, all) = (quantity.budget.proposal, quantity.sd());
    (part > 0.0 && all > 0.0).then(|| {
        let share = format::percent((part / all).powi(2).min(1.0));
        format!("Marks as proposed contribute {share} of the variance.")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::document::proposed::ProposedMarks;
    use crate::measure::mark::{MarkKind, MarkRef, Marks, View};
    use crate::measure::quantity::Budget;

    #[test]
    fn counts_are_told_only_where_something_was_proposed() {
        let mut shot = Shot::new("a", "a.png", View::Lateral);
        shot.marks = Marks::new()
            .with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (9.0, 0.0)])
            .with(MarkKind::Tip, &[(4.0, 4.0)]);
        assert_eq!(marks_by_origin(&shot), None);
        let plate = Marks::new().with(MarkKind::SuperiorEndPlate, &[(0.0, 0.0), (9.0, 0.0)]);
        shot.proposed = ProposedMarks::all(&plate, std::collections::BTreeMap::new());
        shot.proposed.moved(MarkRef { kind: MarkKind::SuperiorEndPlate, index: 1 });
        let told = marks_by_origin(&shot);
        assert_eq!(told.as_deref(), Some("1 as proposed, 1 proposed and moved, 1 placed by hand"));
    }

    /// By hand: bone 0.03 and metal 0.04 make an SD of 0.05; a part of 0.025 is a quarter of the variance.
    #[test]
    fn the_share_is_one_of_the_variance() {
        let budget = Budget { bone: 0.03, metal: 0.04, proposal: 0.025, ..Budget::default() };
        let quantity = Quantity { value: 0.4, budget, influences: Vec::new(), monte_carlo: None };
        let told = share_of(&quantity);
        assert_eq!(told.as_deref(), Some("Marks as proposed contribute 25 % of the variance."));
    }
}
