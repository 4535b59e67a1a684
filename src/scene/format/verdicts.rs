//! Targets, standings and verdicts in words.

use crate::case::plan::standing::Standing;
use crate::measure::settings::Rule;
use crate::measure::verdict::{Nominal, State, Verdict, VerdictRule};
use crate::scene::format::{band, offset_band};

/// What a quantity is called.
#[must_use]
pub const fn rule(rule: VerdictRule) -> &'static str {
    match rule {
        VerdictRule::Band(Rule::Depth) => "depth",
        VerdictRule::Band(Rule::Height) => "height",
        VerdictRule::Band(Rule::Midline) => "midline",
        VerdictRule::Docking => "docking",
        VerdictRule::SafePassage => "medial breach check",
    }
}

/// What can be said with confidence, in words.
#[must_use]
pub const fn state(state: State) -> &'static str {
    match state {
        State::Inside => "inside",
        State::Outside => "outside",
        State::Undecided => "too close to call",
        State::NotShown => "not shown",
    }
}

/// How far a shot has come, in a word or two.
#[must_use]
pub const fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Unmarked => "not marked",
        Standing::Awaited => "not read yet",
        Standing::Incomplete => "incomplete",
        Standing::Draft => "draft",
        Standing::Blocked => "cannot be read",
        Standing::HeightOnly => "only the height is read",
        Standing::Read => "measured, no target",
        Standing::Judged(judged) => state(judged),
    }
}

/// A sign for a state in plain text; every one is in the figure's and the window's typefaces.
#[must_use]
pub const fn state_sign(state: State) -> &'static str {
    match state {
        State::Inside => "●",
        State::Outside => "×",
        State::Undecided => "?",
        State::NotShown => "–",
    }
}

/// Where the value lies by itself, in words.
#[must_use]
pub const fn nominal(nominal: Nominal) -> &'static str {
    match nominal {
        Nominal::Inside => "in target range",
        Nominal::Posterior => "posterior to the target",
        Nominal::Anterior => "anterior to the target",
        Nominal::Superior => "superior to the target",
        Nominal::Inferior => "inferior to the target",
        Nominal::Short => "short of the target",
        Nominal::Past => "past the target",
        Nominal::Low => "below the target range",
        Nominal::High => "above the target range",
    }
}

/// Where the value itself lies to its target: `in target range 30–50 %`.
#[must_use]
pub fn against_target(verdict: &Verdict) -> String {
    let kept = matches!(verdict.nominal, Nominal::Inside);
    match (verdict.rule, verdict.band) {
        (VerdictRule::Docking, _) => {
            if kept { "within the docking target" } else { "outside the docking target" }.to_owned()
        }
        (VerdictRule::SafePassage, _) => if kept {
            "medial pedicle border not crossed before the posterior wall"
        } else {
            "medial pedicle border crossed before the posterior wall"
        }
        .to_owned(),
        (VerdictRule::Band(rule), Some(limits)) => {
            let range = if rule == Rule::Midline { offset_band } else { band };
            format!("{} {}", nominal(verdict.nominal), range(limits))
        }
        (VerdictRule::Band(_), None) => nominal(verdict.nominal).to_owned(),
    }
}

/// A verdict in one line, nominal and with confidence: `in the band 30–50 %, but too close to call`.
#[must_use]
pub fn verdict(verdict: &Verdict) -> String {
    let by_number = against_target(verdict);
    if verdict.rule == VerdictRule::SafePassage {
        let words = match verdict.state {
            State::Inside | State::Outside => format!("{by_number}, at least 95 % likely"),
            State::Undecided => format!("{by_number}, but too close to call"),
            State::NotShown => "not shown: the tip is already inside the body".to_owned(),
        };
        return format!("{words} (inferior and lateral breach are not assessed)");
    }
    match verdict.state {
        State::Inside => format!("{by_number}, at least 95 % likely inside"),
        State::Outside => format!("{by_number}, at least 95 % likely outside"),
        State::Undecided => format!("{by_number}, but too close to call"),
        State::NotShown => "not shown: the tip is already inside the body".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::settings::Band;

    #[test]
    fn verdicts_say_both() {
        let verdict_of = Verdict {
            rule: VerdictRule::Band(Rule::Depth),
            band: Some(Band::new(0.3, 0.5)),
            nominal: Nominal::Inside,
            state: State::Undecided,
            p_inside: 0.51,
            basis: crate::measure::true_view::choice::Basis::Direct,
            q: None,
        };
        assert_eq!(verdict(&verdict_of), "in target range 30–50 %, but too close to call");
        let sure = Verdict { nominal: Nominal::Anterior, state: State::Outside, ..verdict_of };
        assert_eq!(verdict(&sure), "anterior to the target 30–50 %, at least 95 % likely outside");
    }
}
