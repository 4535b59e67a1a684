//! Verdicts that are withheld: one contour is marked, nobody has said that it shows once, and the other view of the pair tells
//! that the C-arm stood otherwise than a border that shows once would mean.
//!
//! Two signs were tried on simulated pairs (docs/coverage-angle.md): heights that disagree, and a turn of the AP beyond one and a
//! half of its standard uncertainties, since a patient who lies turned is turned in both views. Neither tells a tilt of both
//! views by the same amount, nor a turn of the lateral alone; a reader's answer does.

use crate::measure::issue::{Issue, IssueCode};
use crate::measure::reading::{ApReading, LateralReading, PairReading};
use crate::measure::settings::Rule;
use crate::measure::verdict::{State, Verdict, VerdictRule};

/// From how many of its standard uncertainties on the turn of an AP puts the lateral's in doubt.
const TURN_SHOWS: f64 = 1.5;

/// Withholds what the pair puts in doubt; `disagree` says that the heights of both views do.
pub(crate) fn withhold(
    lateral: &mut LateralReading,
    ap: &mut ApReading,
    pair: &mut PairReading,
    disagree: bool,
) {
    let [superior, inferior, posterior, anterior] = lateral.apart_mm;
    let one_wall = !lateral.said && posterior.is_none() && anterior.is_none();
    let one_plate = [
        !lateral.said && superior.is_none() && inferior.is_none(),
        !ap.said && ap.apart_mm[0].is_none() && ap.apart_mm[1].is_none(),
    ];
    let turned = ap.true_view.as_ref().and_then(|view| view.turn);
    let turned = turned.is_some_and(|turn| turn.deg.abs() > TURN_SHOWS * turn.sd_deg);
    let mut found = Vec::new();
    if one_wall && turned {
        let here = take_back(Rule::Depth, &mut lateral.verdicts);
        if take_back(Rule::Depth, &mut pair.verdicts) || here {
            found.push(issue(
                "No verdict on the depth: the AP view is rotated, so the lateral view may be rotated, too, and only one line of each wall is marked. Mark the second line where a wall shows twice, or answer that it shows once.",
            ));
        }
    }
    if disagree && one_plate.contains(&true) {
        let mut any = take_back(Rule::Height, &mut pair.verdicts);
        if one_plate[0] {
            any |= take_back(Rule::Height, &mut lateral.verdicts);
        }
        if one_plate[1] {
            any |= take_back(Rule::Height, &mut ap.verdicts);
        }
        if any {
            found.push(issue(
                "No verdict on the height: the two views give different heights, so one of them may be angled, and only one line of each endplate is marked. Mark the second line where an endplate shows twice, or answer that it shows once.",
            ));
        }
    }
    pair.issues.extend(found);
}

fn issue(text: &str) -> Issue {
    Issue::new(IssueCode::ViewMayBeTurned, text)
}

/// Makes a decided verdict undecided; whether there was one.
fn take_back(rule: Rule, verdicts: &mut [Verdict]) -> bool {
    let mut any = false;
    let decided = |verdict: &&mut Verdict| {
        verdict.rule == VerdictRule::Band(rule) && matches!(verdict.state, State::Inside | State::Outside)
    };
    for verdict in verdicts.iter_mut().filter(decided) {
        verdict.state = State::Undecided;
        any = true;
    }
    any
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::settings::Band;
    use crate::measure::true_view::view::{Angle, ApTrueView};

    fn verdict(rule: Rule) -> Verdict {
        Verdict::on_band(rule, Band { low: 0.3, high: 0.5 }, 0.4, 0.01)
    }

    /// A lateral and an AP with one contour of each border, and their pair, everything inside; the AP turned by 5° ± 2°.
    fn readings() -> (LateralReading, ApReading, PairReading) {
        let turn = Some(Angle { deg: 5.0, sd_deg: 2.0 });
        let verdicts = vec![verdict(Rule::Depth), verdict(Rule::Height)];
        let lateral = LateralReading { verdicts: verdicts.clone(), ..LateralReading::default() };
        let ap = ApReading {
            verdicts: vec![verdict(Rule::Height)],
            true_view: Some(ApTrueView { turn, ..ApTrueView::default() }),
            ..ApReading::default()
        };
        (lateral, ap, PairReading { verdicts, ..PairReading::default() })
    }

    fn states(verdicts: &[Verdict]) -> Vec<State> {
        verdicts.iter().map(|verdict| verdict.state).collect()
    }

    #[test]
    fn a_turned_ap_withholds_the_depth_and_heights_that_disagree_the_height() {
        let (mut lateral, mut ap, mut pair) = readings();
        withhold(&mut lateral, &mut ap, &mut pair, false);
        assert_eq!(states(&pair.verdicts), [State::Undecided, State::Inside]);
        assert_eq!(states(&lateral.verdicts), [State::Undecided, State::Inside]);
        assert_eq!(pair.issues.len(), 1);
        let (mut lateral, mut ap, mut pair) = readings();
        withhold(&mut lateral, &mut ap, &mut pair, true);
        assert_eq!(states(&pair.verdicts), [State::Undecided; 2]);
        assert_eq!(states(&ap.verdicts), [State::Undecided]);
        assert_eq!(pair.issues.len(), 2);
    }

    /// Whoever has looked is believed, and second contours tell by themselves.
    #[test]
    fn an_answer_or_a_second_contour_keeps_the_verdicts() {
        let (mut lateral, mut ap, mut pair) = readings();
        (lateral.said, ap.said) = (true, true);
        withhold(&mut lateral, &mut ap, &mut pair, true);
        assert!(pair.issues.is_empty() && states(&pair.verdicts) == [State::Inside; 2]);
        let (mut lateral, mut ap, mut pair) = readings();
        lateral.apart_mm = [Some(1.0), None, Some(1.0), None];
        ap.apart_mm[0] = Some(1.0);
        withhold(&mut lateral, &mut ap, &mut pair, true);
        assert!(pair.issues.is_empty() && states(&pair.verdicts) == [State::Inside; 2]);
    }
}
