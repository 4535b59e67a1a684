"""Matched pairs, section 3 of the method, independent of the Rust sources. Run as a script: pair.json."""

import json
import math
import pathlib

import numpy as np
from scipy.stats import norm

import ap
import lateral
from budget import Z95, verdict, with_defaults
from lateral import placed


def read(pair):
    first, second = dict(pair["lateral"]), dict(pair["ap"])
    settings = with_defaults(first.get("settings"))
    # Values do not depend on what is lent, only their uncertainties do.
    alone = lateral.read(first, details=False)
    seen = ap.read({**second, "depth": alone["tip"]["depth"]["value"] if alone["tip"] else None})
    one = lateral.read({**first, "off_middle_mm": seen.get("off_middle_mm")}, details=False)
    out = {"lateral_depth": one["tip"] and one["tip"]["depth"], "across": seen["across"], "issues": [],
           "lateral_height": one["tip"] and one["tip"]["height"], "ap_height": seen["height"],
           "height": None, "verdicts": [], "safe_passage": None}
    a, b = out["lateral_height"], out["ap_height"]
    if a and b:
        va, vb = a["sd"] ** 2, b["sd"] ** 2
        wa, wb = vb / (va + vb), va / (va + vb)
        parts = {k: math.hypot(wa * a["budget"][k], wb * b["budget"][k]) for k in a["budget"]}
        value, sd = wa * a["value"] + wb * b["value"], math.sqrt(va * vb / (va + vb))
        out["height"] = {"value": value, "sd": sd, "low": value - Z95 * sd, "high": value + Z95 * sd,
                         "budget": parts}
        if abs(a["value"] - b["value"]) > 1.96 * math.sqrt(va + vb):
            out["issues"].append("heights_disagree")
    elif a or b:
        # Where only one view gives a height, it stands alone.
        out["height"] = a or b
    depth, medial = out["lateral_depth"], seen.get("medial_border")
    if depth and medial:
        behind = float(norm.cdf(-depth["value"] / depth["sd"]))
        crossed = float(norm.cdf(-medial["value"] / medial["sd"]))
        q = behind * crossed
        state = "not_shown" if behind < 0.05 else "outside" if q >= 0.95 else "inside" if q <= 0.05 else "undecided"
        out["safe_passage"] = {"q": q, "state": state}
        if q > 0.05:
            out["issues"].append("medial_before_wall")
    target = settings["targets"].get(first.get("stage"), {})
    for rule, q, sides in (("depth", depth, ("posterior", "anterior")), ("height", out["height"], ("superior",
                           "inferior")), ("midline", seen.get("midline"), ("short", "past"))):
        if rule in target and q:
            out["verdicts"].append(verdict(rule, target[rule], q, sides)[0])
    out["midline"] = seen.get("midline")
    out["issues"].sort()
    return out


def cases():
    rng = np.random.default_rng(20260206)
    out = []

    def add(name, stage, u, w, v, v_ap=None, curved=False, left=False, calibrated=True, settings=None, tip=True,
            pedicles=True):
        mm = lateral.outline(rng, "sipa" if curved else "")
        mm["tip"] = [(35.0 * u, 28.5 * v)]
        marks = placed(mm, 3.4, rng.uniform(-15, 15), True, (420.0, 300.0))
        seen = ap.outline(rng, "si" if curved else "")
        seen.pop("left"), seen.pop("right")
        x = lambda f: 48.0 * (1 - f if left else f)  # noqa: E731
        seen["tip"] = [(x(w), 27.0 * (v if v_ap is None else v_ap))]
        if pedicles:
            seen["left_pedicle" if left else "right_pedicle"] = [(x(0.08), 9.0), (x(0.26), 9.5)]
            seen["right_pedicle" if left else "left_pedicle"] = [(x(0.92), 9.0), (x(0.74), 9.5)]
        pictures = placed(seen, 3.1, rng.uniform(-8, 8), False, (300.0, 250.0))
        if not tip:
            pictures.pop("tip")
        clean = lambda m: {k: p for k, p in m.items() if p}  # noqa: E731
        one = {"stage": stage, "mm_per_px": 0.2941 if calibrated else None, "marks": clean(marks)}
        two = {"stage": stage, "mm_per_px": 0.3226 if calibrated else None, "marks": clean(pictures),
               "side": "left" if left else "right"}
        if settings:
            one["settings"] = two["settings"] = settings
        out.append({"name": name, "lateral": one, "ap": two})

    precise = {"placement_sd_mm": {"bone": 0.15, "metal": 0.1}, "view_half_width_deg": 0.4}
    for left in (False, True):
        tag = "left" if left else "right"
        add(f"final, {tag}", "final", 0.4, 0.48, 0.5, left=left)
        add(f"final, curved, {tag}", "final", 0.36, 0.52, 0.52, curved=True, left=left)
        add(f"final, no calibration, {tag}", "final", 0.4, 0.5, 0.5, left=left, calibrated=False)
        add(f"heights differ, {tag}", "final", 0.4, 0.5, 0.42, v_ap=0.60, left=left)
        add(f"in the pedicle, lateral to its border, {tag}", "pedicle", -0.3, 0.15, 0.35, left=left)
        add(f"in the pedicle, at its border, {tag}", "pedicle", -0.25, 0.262, 0.35, left=left)
        add(f"medial before the wall, {tag}", "pedicle", -0.2, 0.36, 0.35, left=left)
        add(f"medial before the wall, curved, {tag}", "pedicle", -0.2, 0.40, 0.35, curved=True, left=left)
        add(f"at the wall and at the border, {tag}", "posterior_wall", 0.0, 0.265, 0.4, left=left)
        add(f"just behind the wall, medial, {tag}", "posterior_wall", -0.015, 0.33, 0.4, left=left)
        add(f"past the wall, {tag}", "posterior_wall", 0.08, 0.30, 0.4, left=left)
        add(f"stylet, {tag}", "stylet", 0.25, 0.42, 0.48, curved=True, left=left)
    add("precise marks", "final", 0.41, 0.5, 0.5, settings=precise)
    add("precise marks, medial", "pedicle", -0.1, 0.31, 0.4, settings=precise)
    add("no tip in AP", "final", 0.4, 0.5, 0.5, tip=False)
    add("no side in AP", "final", 0.4, 0.5, 0.5, pedicles=False)
    return out


if __name__ == "__main__":
    pairs = [{"input": pair, "expected": read(pair)} for pair in cases()]
    text = ",\n".join(json.dumps(p) for p in pairs)
    (pathlib.Path(__file__).parent / "pair.json").write_text(f"[\n{text}\n]\n")
    print(len(pairs), "pairs")
