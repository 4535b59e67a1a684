//! What a true view would show, against tests/reference/true_view.py, which reads section 9 of the method by itself: forty
//! matched pairs, turned and tilted, every value and standard uncertainty within 0.002.

use serde_json::Value;
use stillmark::measure::mark::{Level, Side, View};
use stillmark::measure::pair::read_pair;
use stillmark::measure::quantity::Quantity;
use stillmark::measure::reading::ShotInput;
use stillmark::measure::true_view::known::{ApTube, CannotTell, Known, Tube};
use stillmark::measure::true_view::view::{Angle, TurnRefusal};

use crate::reference_cases::{Differences, fixture, marks, number, settings, shot};

/// Agreement of fractions, and of standard uncertainties.
const CLOSE: f64 = 0.002;
/// Agreement of angles, in degrees.
const CLOSE_DEG: f64 = 0.1;

fn known(pair: &Value, shot: &Value) -> Known {
    let tube = &pair["tube"];
    let cannot_tell = shot["cannot_tell"].as_array().map(|list| CannotTell {
        depth: list.iter().any(|key| key == "depth"),
        height: list.iter().any(|key| key == "height"),
    });
    Known {
        level: pair["level"].as_str().and_then(Level::from_name),
        tube: Tube {
            lateral: Side::ALL.into_iter().find(|side| tube["lateral"] == side.key()),
            ap: ApTube::ALL.into_iter().find(|side| tube["ap"] == side.key()),
        },
        cannot_tell,
    }
}

fn near(diff: &mut Differences, what: &str, found: Option<&Quantity>, expected: &Value) {
    diff.same(&format!("{what} is given"), &found.is_some(), &expected.is_object());
    if let Some(q) = found.filter(|_| expected.is_object()) {
        diff.near(what, q.value, number(&expected["value"]), CLOSE);
        diff.near(&format!("{what} sd"), q.budget.stated(), number(&expected["sd"]), CLOSE);
    }
}

fn near_angle(diff: &mut Differences, what: &str, found: Option<Angle>, expected: &Value) {
    diff.near(what, found.map_or(f64::NAN, |angle| angle.deg), number(expected), CLOSE_DEG);
}

#[test]
fn true_views_agree_with_the_reference() {
    let mut diff = Differences::default();
    let cases = fixture(include_str!("../reference/true_view.json"));
    assert_eq!(cases.len(), 40);
    for case in &cases {
        let (input, expected) = (&case["input"], &case["expected"]);
        let of = |what: &str| format!("{}: {what}", input["name"]);
        let [first, second] = [&input["lateral"], &input["ap"]];
        let ([m, n], own) = ([marks(&first["marks"]), marks(&second["marks"])], settings(&Value::Null));
        let lateral = ShotInput { known: known(input, first), ..shot(View::Lateral, first, &m, &own) };
        let ap = ShotInput { known: known(input, second), ..shot(View::Ap, second, &n, &own) };
        let found = read_pair(&lateral, &ap);
        let view = found.pair.true_view;
        near(&mut diff, &of("depth"), view.depth.as_ref(), &expected["depth"]);
        near(&mut diff, &of("across"), view.across.as_ref(), &expected["across"]);
        near(&mut diff, &of("height"), view.height.as_ref(), &expected["height"]);
        let by = &view.midline_by;
        near(&mut diff, &of("pedicles"), by.pedicles.as_ref(), &expected["pedicles"]);
        near(&mut diff, &of("spinous process"), by.spinous_process.as_ref(), &expected["spinous_process"]);
        near(&mut diff, &of("body"), by.body.as_ref(), &expected["body"]);
        near(&mut diff, &of("medial border"), view.medial_border.as_ref(), &expected["medial_border"]);
        let (side, front) = (found.lateral.true_view.unwrap(), found.ap.true_view.unwrap());
        near(&mut diff, &of("lateral height"), Some(&side.height), &expected["lateral_height"]);
        near(&mut diff, &of("AP height"), front.height.as_ref(), &expected["ap_height"]);
        near_angle(&mut diff, &of("turn"), front.turn, &expected["turn_deg"]);
        near_angle(&mut diff, &of("AP tilt"), front.tilt, &expected["ap_tilt_deg"]);
        near_angle(&mut diff, &of("lateral tilt"), Some(side.tilt), &expected["lateral_tilt_deg"]);
        diff.same(&of("arch"), &Some(front.arch_differs), &expected["arch_differs"].as_bool());
        let too_far = matches!(front.refused, Some(TurnRefusal::TooFar(_)));
        diff.same(&of("refused"), &Some(too_far), &expected["refused"].as_bool());
    }
    diff.assert_none();
}
