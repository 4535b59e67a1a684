//! The verdicts on a shot's fractions, and what is said where a band is too narrow for the uncertainty.

use crate::measure::issue::{Issue, IssueCode};
use crate::measure::quantity::Quantity;
use crate::measure::reading::ShotInput;
use crate::measure::settings::Rule;
use crate::measure::true_view::choice::choose;
use crate::measure::verdict::{Verdict, too_uncertain};

/// The verdicts on fractions, each with what a true view would show where that is known. An issue is added for each band
/// in which not even a value in the middle could be called inside, by the same uncertainty that the verdict goes by; what
/// was said of that before is taken back.
pub(crate) fn judged<'a>(
    input: &ShotInput<'_>,
    fractions: impl IntoIterator<Item = (Rule, &'a Quantity, Option<&'a Quantity>)>,
    issues: &mut Vec<Issue>,
) -> Vec<Verdict> {
    issues.retain(|issue| issue.code != IssueCode::TooUncertain);
    let mut verdicts = Vec::new();
    for (rule, direct, corrected) in fractions {
        let Some(band) = input.settings.targets.band(input.stage, rule) else { continue };
        let chosen = choose(direct, corrected);
        if too_uncertain(band, chosen.1) {
            issues.push(issue(rule));
        }
        verdicts.push(Verdict::chosen(rule, band, chosen));
    }
    verdicts
}

fn issue(rule: Rule) -> Issue {
    let name = match rule {
        Rule::Depth => "depth",
        Rule::Height => "height",
        Rule::Midline => "offset from the midline",
    };
    Issue::new(
        IssueCode::TooUncertain,
        format!(
            "The uncertainty of the {name} is too large for its target range: not even a tip at the center could be called inside. See Sources of uncertainty for what to improve."
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::mark::{Marks, Stage, View};
    use crate::measure::quantity::Budget;
    use crate::measure::reading::Lent;
    use crate::measure::settings::Settings;
    use crate::measure::true_view::choice::Basis;
    use crate::measure::true_view::known::Known;
    use crate::measure::verdict::State;

    fn quantity(value: f64, sd: f64) -> Quantity {
        let budget = Budget { bone: sd, ..Budget::default() };
        Quantity { value, budget, influences: Vec::new(), monte_carlo: None }
    }

    /// Half the band's width over z is 0.051: a direct reading of SD 0.06 could never be called inside, a true view's of
    /// SD 0.02 can, and the other way round; the sentence goes with the verdict.
    #[test]
    fn the_sentence_goes_by_what_the_verdict_goes_by() {
        let (marks, settings) = (Marks::new(), Settings::default());
        let input = ShotInput {
            view: View::Lateral,
            marks: &marks,
            side: None,
            stage: Some(Stage::Final),
            patient_right: None,
            mm_per_px: None,
            mm_per_px_sd: None,
            frame: None,
            settings: &settings,
            known: Known::default(),
            mark_errors: None,
            lent: Lent::default(),
            monte_carlo: None,
        };
        let (wide, narrow) = (quantity(0.4, 0.06), quantity(0.4, 0.02));
        let mut issues = Vec::new();
        let verdicts = judged(&input, [(Rule::Depth, &wide, Some(&narrow))], &mut issues);
        assert_eq!((verdicts[0].state, verdicts[0].basis), (State::Inside, Basis::TrueView));
        assert!(issues.is_empty());
        let verdicts = judged(&input, [(Rule::Depth, &narrow, Some(&wide))], &mut issues);
        assert_eq!((verdicts[0].state, issues.len()), (State::Undecided, 1));
        judged(&input, [(Rule::Depth, &narrow, None)], &mut issues);
        assert!(issues.is_empty(), "what was said is taken back");
    }
}
