"""The AP reading, sections 2 to 6 of the method, independent of the Rust sources.

Run as a script it writes ap.json: varied shots with the numbers that follow from them.
"""

import json
import pathlib

import numpy as np

from body import Blocked, Body
from budget import (
    METAL, SOURCE_TO_BODY_PER_MM, TYPICAL_HEIGHT_MM, direction_of, fraction_view_variance, gradients,
    placement_variances, quantity, rho, verdict, with_defaults,
)
from lateral import placed

TYPICAL_DEPTH = {
    "final": 0.40, "stylet": 0.30, "posterior_wall": 0.05, "pedicle": -0.25, "docking": -0.5, None: 0.40,
}
BODY_DEPTH_MM = 35.0
MIDDLE, PEDICLES, SPINOUS = (0.5, 0.5), (-0.15, 0.5), (-1.3, 0.5)
PEDICLE_DEPTH = -0.15


def _cross(p, q, r, s):
    """Whether the segments pq and rs cross."""
    turn = lambda a, b, c: (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])  # noqa: E731
    return turn(p, q, r) * turn(p, q, s) < 0 and turn(r, s, p) * turn(r, s, q) < 0


def plates(marks):
    """Both end plates from the left to the right of the picture."""
    for key in ("superior_end_plate", "inferior_end_plate"):
        if len(marks.get(key, [])) < 2:
            raise Blocked("missing_marks")
    s, i = list(marks["superior_end_plate"]), list(marks["inferior_end_plate"])
    if s[0][0] > s[-1][0]:
        s.reverse()
    if _cross(s[0], i[0], s[-1], i[-1]):
        i.reverse()
    return s, i


def body_of(marks, right_is_left, start_right, check_folds=True):
    """The map from the wall on the picture's right (or left) to the other.

    `right_is_left`: whether the patient's right lies on the picture's left.
    """
    s, i = plates(marks)
    left_name, right_name = ("right", "left") if right_is_left else ("left", "right")
    walls = [left_name, right_name]
    # A second contour of an end plate is clicked either way round too: it follows its plate.
    seconds = {}
    for name, key, plate in (("s", "superior_end_plate_second", s), ("i", "inferior_end_plate_second", i)):
        if marks.get(key):
            q = list(marks[key])
            along = np.subtract(q[-1], q[0]) @ np.subtract(plate[-1], plate[0])
            seconds[name] = q if along > 0 else q[::-1]
    if start_right:
        s, i, walls = s[::-1], i[::-1], walls[::-1]
        seconds = {name: q[::-1] for name, q in seconds.items()}
    for name, wall in zip("pa", walls):
        if marks.get(f"{wall}_wall_second"):
            seconds[name] = marks[f"{wall}_wall_second"]
    return Body(s, i, marks.get(f"{walls[0]}_wall", []), marks.get(f"{walls[1]}_wall", []), seconds, check_folds)


def patient_right(marks, setting, issues):
    """Whether the patient's right is on the left of the picture, or None; contradictions go to the issues."""
    told = set()
    # The walls' interior points are named by the patient's side, which is only being found out here: the
    # halves of the body are told apart by the end plates alone.
    body = body_of({k: v for k, v in marks.items() if "wall" not in k}, True, False)
    for side in ("right", "left"):
        if marks.get(f"{side}_pedicle"):
            w = np.mean([body.to_body(p)[0] for p in marks[f"{side}_pedicle"]])
            told.add((w < 0.5) == (side == "right"))
    if len(told) > 1 or (told and setting is not None and told != {setting == "image_left"}):
        issues.add("side_contradicts")
        return None
    if told:
        return told.pop()
    return None if setting is None else setting == "image_left"


def _walls_say(marks):
    """For heights alone: the walls' points belong to the nearer side, whatever they are called."""
    middle = np.mean([p[0] for key in ("superior_end_plate", "inferior_end_plate") for p in marks[key]])
    right, left = (np.mean([p[0] for p in marks.get(f"{n}_wall", [])] or [middle]) for n in ("right", "left"))
    return bool(right <= left)


def against(structure, u_t, w, width_mm, direction):
    """View variance of the tip's distance from a structure at (depth, across)."""
    u_s, w_s = structure
    turn = (BODY_DEPTH_MM * abs(u_t - u_s) * direction / width_mm) ** 2
    cone = (BODY_DEPTH_MM * SOURCE_TO_BODY_PER_MM) ** 2
    return turn + cone * ((w - 0.5) * (u_t - 0.5) - (w_s - 0.5) * (u_s - 0.5)) ** 2


def derived(body, marks, entry):
    """Everything an AP shot gives in body coordinates, in a fixed order."""
    out = {}
    u, v = body.to_body(marks["tip"][0])
    out["across"], out["height"] = u, v
    across = lambda p: body.to_body(p)[0]  # noqa: E731
    if entry is None:
        return out
    out["by_body"] = u - 0.5
    if marks.get("right_pedicle") and marks.get("left_pedicle"):
        out["by_pedicles"] = u - 0.5 * (across(marks["right_pedicle"][1]) + across(marks["left_pedicle"][1]))
    if marks.get("spinous_process"):
        a, b = (across(p) for p in marks["spinous_process"])
        out["by_spinous_process"], out["half_spinous"] = u - 0.5 * (a + b), 0.5 * abs(a - b)
    if marks.get(f"{entry}_pedicle"):
        lateral, medial = (across(p) for p in marks[f"{entry}_pedicle"])
        out["medial_border"] = medial - u
        out["across_pedicle"] = (u - lateral) / (medial - lateral)
    if marks.get("electrodes"):
        e = np.asarray(marks["electrodes"], dtype=float)
        for name, p in (("proximal", e[0]), ("distal", e[1]), ("electrode_centre", 0.5 * (e[0] + e[1]))):
            out[f"{name} across"], out[f"{name} height"] = body.to_body(p)
    if marks.get("cannula"):
        out["cannula_mouth across"], out["cannula_mouth height"] = body.to_body(marks["cannula"][-1])
    return out


def read(shot):
    """The reading of an AP shot."""
    marks = {k: v for k, v in shot["marks"].items() if v}
    settings = with_defaults(shot.get("settings"))
    issues = set()
    out = {"body": None, "height": None, "across": None, "verdicts": [], "issues": issues}
    if not marks.get("tip"):
        issues.add("missing_marks")
    try:
        plates(marks)
        right_is_left = patient_right(marks, shot.get("patient_right"), issues)
        entry = shot.get("side")
        if "side_contradicts" not in issues and (right_is_left is None or entry is None):
            issues.add("side_unknown")
        known = right_is_left is not None and entry is not None
        # The entry side lies on the right of the picture when it is the patient's right and that is there.
        start_right = known and ((entry == "right") != right_is_left)
        if right_is_left is None:
            right_is_left = _walls_say(marks)
        body = body_of(marks, right_is_left, start_right)
    except Blocked as why:
        issues.add(str(why))
        return _sorted(out)
    for side in ("right", "left"):
        if marks.get(f"{side}_pedicle"):
            lateral, medial = (body.to_body(p)[0] for p in marks[f"{side}_pedicle"])
            if abs(medial - 0.5) >= abs(lateral - 0.5):
                issues.add("pedicle_borders_swapped")
    whole = not issues & {"side_contradicts", "side_unknown", "pedicle_borders_swapped"}

    sizes = body.sizes_px()
    height_px = 0.5 * (sizes["posterior_height_px"] + sizes["anterior_height_px"])
    assumed = shot.get("mm_per_px") is None
    scale = TYPICAL_HEIGHT_MM / height_px if assumed else shot["mm_per_px"]
    if whole:
        out["body"] = {**sizes, "mm_per_px": scale, "scale_assumed": assumed}
    if "missing_marks" in issues:
        return _sorted(out)
    width_mm, height_mm = sizes["depth_px"] * scale, height_px * scale
    out["off_middle_mm"] = None
    height_dir, (b0, b1), sine = direction_of(body, [("s", 15.0), ("i", 15.0)], scale, settings)
    across_dir = rho(settings)
    u_t = TYPICAL_DEPTH[shot.get("stage")] if shot.get("depth") is None else shot["depth"]

    try:
        found = derived(body, marks, entry if whole else None)
    except Blocked as why:
        issues.add(str(why))
        return _sorted(out)
    names = [n for n in found if n != "half_spinous"]

    def again(moved):
        values = derived(body_of(moved, right_is_left, start_right, False), moved, entry if whole else None)
        return np.array([values[n] for n in names])

    bone, metal, cov = placement_variances(gradients(marks, again), scale, settings)
    w = found["across"]

    def view(name, value):
        if name.endswith("height"):
            return fraction_view_variance(value, height_mm, b0, b1, BODY_DEPTH_MM * (u_t - 0.5), height_dir)
        structure, at, factor = MIDDLE, w, 1.0
        if name == "by_pedicles":
            structure = PEDICLES
        elif name == "by_spinous_process":
            structure = SPINOUS
        elif name in ("medial_border", "across_pedicle"):
            structure = (PEDICLE_DEPTH, w + found["medial_border"])
            if name == "across_pedicle":
                # The pedicle's own width is seen under the same turn: only the tip's way to it counts.
                factor = (1.0 - found["across_pedicle"]) / found["medial_border"]
        elif name.endswith(" across"):
            at = value
        return factor**2 * against(structure, u_t, at, width_mm, across_dir)

    full = {n: quantity(found[n], bone[i], metal[i], view(n, found[n])) for i, n in enumerate(names)}
    out["height"] = full["height"]
    if sine is not None and np.degrees(np.arcsin(sine)) > 3.0:
        issues.add("double_contour")
    target = settings["targets"].get(shot.get("stage"), {})

    def judge(rule, q, sides):
        if rule in target and q is not None:
            v, hopeless = verdict(rule, target[rule], q, sides)
            out["verdicts"].append(v)
            if hopeless:
                issues.add("too_uncertain")

    if whole:
        out["across"] = full["across"]
        out["off_middle_mm"] = abs(w - 0.5) * width_mm
        out["covariance"] = float(cov[names.index("across"), names.index("height")])
        out["midline_by"] = {k: full.get(f"by_{k}") for k in ("pedicles", "spinous_process", "body")}
        for name in ("medial_border", "across_pedicle"):
            out[name] = full.get(name)
        for name in ("proximal", "distal", "electrode_centre", "cannula_mouth"):
            if f"{name} across" in full:
                out[name] = {"across": full[f"{name} across"], "height": full[f"{name} height"]}
        out["over_spinous_process"] = None
        if "by_spinous_process" in full:
            half = found["half_spinous"]
            over, _ = verdict("over", (-half, half), full["by_spinous_process"], ("short", "past"))
            out["over_spinous_process"] = {k: over[k] for k in ("nominal", "state", "p_inside")}
        best = next(q for q in (out["midline_by"][k] for k in ("pedicles", "spinous_process", "body")) if q)
        out["midline"] = best
        judge("midline", best, ("short", "past"))
        if not (0 <= w <= 1 and 0 <= found["height"] <= 1):
            issues.add("outside_body")
    judge("height", out["height"], ("superior", "inferior"))
    out["verdicts"].sort(key=lambda v: v["rule"])
    return _sorted(out)


def _sorted(out):
    out["issues"] = sorted(out["issues"])
    return out


# ---------------------------------------------------------------------------------------------------------
# Cases. Bodies are drawn in millimetres as the picture shows them, the left wall at x = 0.


def outline(rng, curved, width=48.0, height=27.0):
    j = lambda r: rng.uniform(-r, r)  # noqa: E731
    top = [(j(1), j(1)), (width + j(1), j(1))]
    low = [(j(1.5), height + j(1)), (width + j(1.5), height + j(1))]

    def sag(p, q, depth, count):
        p, q = np.asarray(p), np.asarray(q)
        n = np.array([-(q - p)[1], (q - p)[0]]) / np.hypot(*(q - p))
        ts = (np.arange(count) + 1) / (count + 1)
        return [tuple(p + (q - p) * t + n * depth * 4 * t * (1 - t)) for t in ts]

    count = lambda: int(rng.integers(1, 4))  # noqa: E731
    return {
        "superior_end_plate": [top[0], *(sag(*top, 1.2, count()) if "s" in curved else []), top[1]],
        "inferior_end_plate": [low[0], *(sag(*low, -1.5, count()) if "i" in curved else []), low[1]],
        "left": sag(top[0], low[0], -2.5, count()) if "l" in curved else [],
        "right": sag(top[1], low[1], 2.5, count()) if "r" in curved else [],
    }


def cases():
    rng = np.random.default_rng(20260204)
    out = []

    def add(name, curved="", right="image_left", side="right", pedicles="rl", spinous=True, tip=(0.4, 0.5),
            stage="final", setting=None, calibrated=True, px_per_mm=3.1, angle=0.0, second=(), gap=2.0,
            turned=(), depth=None, settings=None, electrodes=None, cannula=None, alter=None):
        """`tip` is (across from the entry side, height)."""
        mm = outline(rng, curved)
        width, height = 48.0, 27.0
        right_first = right == "image_left"
        entry_first = (side != "left") == right_first
        x = lambda w: width * (w if entry_first else 1 - w)  # noqa: E731
        at = lambda w, v: (x(w), height * v)  # noqa: E731
        left, other = ("right_wall", "left_wall") if right_first else ("left_wall", "right_wall")
        mm[left], mm[other] = mm.pop("left"), mm.pop("right")
        for border in second:
            plate = "superior_end_plate" if border == "s" else "inferior_end_plate"
            if border in "si":
                down = gap if border == "s" else -gap
                mm[f"{plate}_second"] = [(p[0] + rng.uniform(-.3, .3), p[1] + down) for p in mm[plate]]
            else:
                wall, end = (left, 0) if border == "l" else (other, -1)
                inward = gap if border == "l" else -gap
                ends = [mm["superior_end_plate"][end], *mm[wall], mm["inferior_end_plate"][end]]
                mm[f"{wall}_second"] = [(p[0] + inward, p[1]) for p in ends]
        jitter = lambda: rng.uniform(-0.02, 0.02)  # noqa: E731
        for key, sign in (("r", "right"), ("l", "left")):
            if key in pedicles:
                first = (sign == "right") == right_first
                lat, med = 0.08 + jitter(), 0.26 + jitter()
                v = 0.35 + jitter()
                mm[f"{sign}_pedicle"] = [(width * (q if first else 1 - q), height * v) for q in (lat, med)]
        if spinous:
            middle = 0.5 + 2 * jitter()
            mm["spinous_process"] = [(width * (middle - 0.07), height * 0.8), (width * (middle + 0.06), height * 0.8)]
        if tip is not None:
            mm["tip"] = [at(*tip)]
        if electrodes:
            mm["electrodes"] = [at(*e) for e in electrodes]
        if cannula:
            mm["cannula"] = [at(*c) for c in cannula]
        for key in turned:
            mm[key] = mm[key][::-1]
        marks = placed(mm, px_per_mm, angle, False, (300.0, 250.0))
        if alter:
            alter(marks)
        shot = {"name": name, "stage": stage, "side": side, "mm_per_px": round(1 / px_per_mm, 4) if calibrated else
                None, "marks": {k: v for k, v in marks.items() if v}}
        for key, value in (("patient_right", setting), ("depth", depth), ("settings", settings)):
            if value is not None:
                shot[key] = value
        out.append(shot)

    for right in ("image_left", "image_right"):
        for side in ("right", "left"):
            for curved in ("", "silr"):
                add(f"{right}, {side}, {curved or 'straight'}", curved, right, side)
                add(f"{right}, {side}, {curved or 'straight'}, tip past the midline", curved, right, side,
                    tip=(0.62, 0.55), angle=8.0, turned=("superior_end_plate",))
    for stage, tip in (("docking", (0.05, 0.3)), ("pedicle", (0.17, 0.35)), ("posterior_wall", (0.27, 0.4)),
                       ("stylet", (0.4, 0.5)), ("final", (0.5, 0.5)), (None, (0.45, 0.5))):
        add(f"stage {stage}", stage=stage, tip=tip)
        add(f"stage {stage}, curved, left", "silr", side="left", stage=stage, tip=tip, angle=-11.0)
        add(f"stage {stage}, depth lent", "si", stage=stage, tip=tip, depth=0.22)
    for turned in (("superior_end_plate",), ("inferior_end_plate",), ("superior_end_plate", "inferior_end_plate")):
        add(f"{len(turned)} plates clicked the other way, {turned[0]}", "silr", turned=turned, side="left")
    for second in ("s", "i", "si", "l", "r", "lr", "silr"):
        add(f"second contours {second}", "silr", second=second, gap=1.3)
        add(f"second contours {second}, straight, left", second=second, side="left", gap=1.0, angle=5.0)
    add("pedicle of the entry side alone", pedicles="r")
    add("pedicle of the other side alone", pedicles="l")
    add("no pedicles, set by hand", pedicles="", setting="image_left")
    add("no pedicles, set by hand, the other way", pedicles="", right="image_right", setting="image_right")
    add("neither pedicles nor spinous process", pedicles="", spinous=False, setting="image_left")
    add("setting and pedicles agree", setting="image_left")
    add("no calibration", calibrated=False)
    add("no calibration, curved", "silr", calibrated=False)
    add("electrodes and cannula", electrodes=((0.38, 0.45), (0.52, 0.52)), cannula=((-0.6, 0.0), (0.2, 0.35)))
    add("electrodes and cannula, curved, left", "silr", side="left", electrodes=((0.38, 0.45), (0.52, 0.52)),
        cannula=((-0.6, 0.0), (-0.1, 0.2), (0.2, 0.35)))
    add("own settings", settings={"placement_sd_mm": {"bone": 0.9, "metal": 0.3}, "view_half_width_deg": 0.7})
    add("precise", settings={"placement_sd_mm": {"bone": 0.1, "metal": 0.1}, "view_half_width_deg": 0.2},
        tip=(0.5, 0.5))
    add("precise, far past", settings={"placement_sd_mm": {"bone": 0.1, "metal": 0.1}, "view_half_width_deg": 0.2},
        tip=(0.8, 0.2))
    add("tip beside the body", tip=(-0.3, 0.4), stage="docking")
    # Heights only, or nothing.
    add("side unknown", pedicles="")
    add("entry side not said", side=None)
    add("pedicles contradict the setting", setting="image_right")

    def both_on_one_side(marks):
        marks["left_pedicle"] = [[p[0] + 3.0, p[1] + 40.0] for p in marks["right_pedicle"]]

    add("pedicles contradict one another", alter=both_on_one_side)
    add("borders of a pedicle swapped", alter=lambda m: m["right_pedicle"].reverse())
    add("side unknown, curved", "silr", pedicles="")
    add("side unknown, curved, mirrored", "silr", right="image_right", pedicles="")
    add("no tip", tip=None)
    add("no superior end plate", alter=lambda m: m.pop("superior_end_plate"))
    add("tip far away", tip=(6.0, 0.5))
    return out


if __name__ == "__main__":
    here = pathlib.Path(__file__).parent
    shots = [{"input": shot, "expected": read(shot)} for shot in cases()]
    text = ",\n".join(json.dumps(s) for s in shots)
    (here / "ap.json").write_text(f"[\n{text}\n]\n")
    print(len(shots), "AP shots")
