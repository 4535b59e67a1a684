"""The lateral reading, sections 2 to 6 of the method, independent of the Rust sources.

Run as a script it writes lateral.json: varied shots with the numbers that follow from them.
"""

import json
import math
import pathlib

import numpy as np

from body import Blocked, Body
from budget import (
    METAL, TYPICAL_HEIGHT_MM, direction_of, fraction_view_variance, gradients, placement_variances, quantity,
    verdict, with_defaults,
)

OFF_MIDDLE_MM = {"final": 3.0, "stylet": 6.0, "posterior_wall": 10.0, "pedicle": 14.0, "docking": 14.0, None: 6.0}
PLATES_AND_WALLS = {
    "s": "superior_end_plate_second", "i": "inferior_end_plate_second", "p": "posterior_wall_second",
    "a": "anterior_wall_second",
}


def body_of(marks, check_folds=True):
    """The map of a shot's marks."""
    for key in ("superior_end_plate", "inferior_end_plate"):
        if len(marks.get(key, [])) < 2:
            raise Blocked("missing_marks")
    second = {name: marks[key] for name, key in PLATES_AND_WALLS.items() if marks.get(key)}
    return Body(
        marks["superior_end_plate"], marks["inferior_end_plate"], marks.get("posterior_wall", []),
        marks.get("anterior_wall", []), second, check_folds,
    )


def _places(marks):
    """Image points that are read, by name."""
    out = {}
    if marks.get("tip"):
        out["tip"] = np.asarray(marks["tip"][0], dtype=float)
    if marks.get("electrodes"):
        e = np.asarray(marks["electrodes"], dtype=float)
        out.update(proximal=e[0], distal=e[1], electrode_centre=0.5 * (e[0] + e[1]))
    if marks.get("cannula"):
        out["cannula_mouth"] = np.asarray(marks["cannula"][-1], dtype=float)
    return out


def read(shot, details=True):
    """The reading of a shot: marks, stage, scale, lent offset, settings, frame; details of the map on demand."""
    marks = {k: v for k, v in shot["marks"].items() if v}
    settings = with_defaults(shot.get("settings"))
    issues = set()
    out = {"body": None, "tip": None, "issues": issues, "verdicts": []}
    if not marks.get("tip"):
        issues.add("missing_marks")
    try:
        body = body_of(marks)
    except Blocked as why:
        issues.add(str(why))
        return _sorted(out)

    sizes = body.sizes_px()
    hp, hm, ha = (sizes[f"{n}_height_px"] for n in ("posterior", "middle", "anterior"))
    height_px = 0.5 * (hp + ha)
    assumed = shot.get("mm_per_px") is None
    scale = TYPICAL_HEIGHT_MM / height_px if assumed else shot["mm_per_px"]
    out["body"] = {**sizes, "mm_per_px": scale, "scale_assumed": assumed}
    out["corners"] = {k: list(map(float, v)) for k, v in body.corners.items()}
    grid = [] if not details else [(-0.4, 0.3), (0.0, 0.0), (0.1, 0.9), (0.3, 0.5), (0.5, 0.5), (0.85, 0.2), (1.0, 0.7), (1.3, 1.4)]
    out["map"] = [[u, v, *map(float, body.to_image(u, v))] for u, v in grid]
    out["determinant"] = [[u, v, float(np.linalg.det(body.jacobian(u, v)))] for u, v in grid]

    depth_dir, (a0, a1), depth_sine = direction_of(body, [("p", 12.0), ("a", 4.0)], scale, settings)
    height_dir, (b0, b1), height_sine = direction_of(body, [("s", 20.0), ("i", 20.0)], scale, settings)
    off = shot.get("off_middle_mm")
    t = OFF_MIDDLE_MM[shot.get("stage")] if off is None else off

    def view_variances(u, v):
        return (
            fraction_view_variance(u, sizes["depth_px"] * scale, a0, a1, t, depth_dir),
            fraction_view_variance(v, height_px * scale, b0, b1, t, height_dir),
        )

    # Every place is read alone: a place that cannot be read does not stand in the way of the others.
    at = {}
    for name, point in _places(marks).items():
        try:
            at[name] = body.to_body(point)
        except Blocked as why:
            if name == "tip":
                issues.add(str(why))

    def read_again(moved):
        other, points = body_of(moved, False), _places(moved)
        places = [other.to_body(points[name], at[name]) for name in at]
        # Last, the proximal electrode's way to the posterior wall in pixels: its depth times the body's.
        way = [other.to_body(points["proximal"], at["proximal"])[0] * other.sizes_px()["depth_px"]] if (
            "proximal" in at) else []
        return np.concatenate([*places, way])

    if at:
        relevant = {k: v for k, v in marks.items() if k not in METAL or k in
                    {"tip": "tip", "proximal": "electrodes", "cannula_mouth": "cannula"}.values()}
        bone, metal, cov = placement_variances(gradients(relevant, read_again), scale, settings)
        for i, (name, (u, v)) in enumerate(at.items()):
            du, dv = view_variances(u, v)
            out[name] = {
                "depth": quantity(u, bone[2 * i], metal[2 * i], du),
                "height": quantity(v, bone[2 * i + 1], metal[2 * i + 1], dv),
                "covariance": float(cov[2 * i, 2 * i + 1]),
            }

    if "proximal" in at:
        out["to_posterior_wall"] = out["proximal"]["depth"]
        if not assumed:
            depth_mm, u = sizes["depth_px"] * scale, at["proximal"][0]
            view = view_variances(*at["proximal"])[0] * depth_mm**2
            out["to_posterior_wall_mm"] = quantity(u * depth_mm, bone[-1] * scale**2, metal[-1] * scale**2, view)

    if "cannula_mouth" in at:
        c = np.asarray(marks["cannula"], dtype=float)
        way = np.linalg.solve(body.jacobian(*at["cannula_mouth"]), c[-1] - c[-2])
        way = way / np.hypot(*way)
        out["travel"] = [float(way[0]), float(way[1])]
        if way[0] < 0.0:
            issues.add("walls_swapped")

    ratio = sizes["depth_px"] / height_px
    if not 0.9 <= ratio <= 2.0:
        issues.add("implausible_shape")
    if min(ha / hp, hm / hp, hp / ha) <= 0.8:
        issues.add("deformed_body")
    if any(s is not None and math.degrees(math.asin(s)) > 3.0 for s in (depth_sine, height_sine)):
        issues.add("double_contour")
    if _cut_off(marks, shot.get("frame")):
        issues.add("body_cut_off")
    if out["tip"]:
        u, v = at["tip"]
        if not (0.0 <= u <= 1.0 and 0.0 <= v <= 1.0):
            issues.add("outside_body")
        target = settings["targets"].get(shot.get("stage"), {})
        for rule, sides in (("depth", ("posterior", "anterior")), ("height", ("superior", "inferior"))):
            if rule in target:
                found, hopeless = verdict(rule, target[rule], out["tip"][rule], sides)
                out["verdicts"].append(found)
                if hopeless:
                    issues.add("too_uncertain")
    return _sorted(out)


def _cut_off(marks, frame):
    if not frame:
        return False
    near = 0.01 * max(frame["width"], frame["height"])
    for key in ("superior_end_plate", "inferior_end_plate"):
        for x, y in (marks[key][0], marks[key][-1]):
            if min(x, y, frame["width"] - x, frame["height"] - y) < near:
                return True
            if "round" in frame:
                cx, cy, radius = frame["round"]
                if radius - math.hypot(x - cx, y - cy) < near:
                    return True
    return False


def _sorted(out):
    out["issues"] = sorted(out["issues"])
    return out


# ---------------------------------------------------------------------------------------------------------
# Cases. Bodies are drawn in millimetres, posterior wall at x = 0, superior end plate at y = 0.


def outline(rng, curved, depth=35.0, height=27.5, wedge=1.5):
    """Mark lists in millimetres; `curved` names the borders with interior points."""
    top = [(0.0, rng.uniform(-0.5, 0.5)), (depth + rng.uniform(-1, 1), rng.uniform(-1, 1))]
    low = [(rng.uniform(-1, 1), height + rng.uniform(-0.5, 0.5)), (depth + rng.uniform(-1.5, 1.5), height + wedge)]

    def between(p, q, count, sag):
        ts = (np.arange(count) + 1) / (count + 1) + rng.uniform(-0.06, 0.06, count)
        p, q = np.asarray(p), np.asarray(q)
        n = np.array([-(q - p)[1], (q - p)[0]]) / np.hypot(*(q - p))
        return [tuple(p + (q - p) * t + n * sag * 4 * t * (1 - t)) for t in ts]

    marks = {"superior_end_plate": top, "inferior_end_plate": low, "posterior_wall": [], "anterior_wall": []}
    if "s" in curved:
        marks["superior_end_plate"] = [top[0], *between(*top, int(rng.integers(1, 4)), 0.7), top[1]]
    if "i" in curved:
        marks["inferior_end_plate"] = [low[0], *between(*low, int(rng.integers(1, 4)), -1.5), low[1]]
    if "p" in curved:
        marks["posterior_wall"] = between(top[0], low[0], int(rng.integers(1, 4)), -1.5)
    if "a" in curved:
        marks["anterior_wall"] = between(top[1], low[1], int(rng.integers(1, 4)), 2.0)
    return marks


def add_second(rng, marks, name, gap):
    """A second contour of a border, about `gap` mm away, with ends of its own and now and then curved."""
    top, low = marks["superior_end_plate"], marks["inferior_end_plate"]
    along = {
        "s": ("superior_end_plate_second", top[0], top[-1], (0, 1)),
        "i": ("inferior_end_plate_second", low[0], low[-1], (0, -1)),
        "p": ("posterior_wall_second", top[0], low[0], (1, 0)),
        "a": ("anterior_wall_second", top[-1], low[-1], (-1, 0)),
    }
    key, p, q, way = along[name]
    p, q, way = np.asarray(p, float), np.asarray(q, float), np.asarray(way, float)
    count = int(rng.integers(0, 3))
    ts = np.concatenate([[0.0], (np.arange(count) + 1) / (count + 1), [1.0]])
    across = np.array([way[1], -way[0]])
    marks[key] = [
        tuple(p + (q - p) * t + way * (gap + rng.uniform(-0.4, 0.4)) + across * rng.uniform(-0.5, 0.5)) for t in ts
    ]


def placed(marks, px_per_mm, angle_deg, mirror, shift):
    """The same marks in a picture, rounded to a tenth of a pixel as clicks with a magnifier are."""
    turn = math.radians(angle_deg)
    rot = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    flip = np.array([-1.0 if mirror else 1.0, 1.0])

    def to_px(p):
        xy = rot @ (np.asarray(p, float) * flip) * px_per_mm + np.asarray(shift)
        return [round(float(xy[0]), 1), round(float(xy[1]), 1)]

    return {key: [to_px(p) for p in points] for key, points in marks.items()}


def cases():
    rng = np.random.default_rng(20260203)
    out = []

    def add(name, curved="", second=(), tip=(0.4, 0.5), stage="final", calibrated=True, px_per_mm=3.4, angle=0.0,
            mirror=True, shift=(420.0, 300.0), gap=2.0, cannula=None, electrodes=None, settings=None, off=None,
            frame=None, alter=None, **shape):
        mm = outline(rng, curved, **shape)
        for border in second:
            add_second(rng, mm, border, gap)
        depth, height = shape.get("depth", 35.0), shape.get("height", 27.5)
        place = lambda u, v: (u * depth, v * (height + 1.0))  # noqa: E731
        if tip is not None:
            mm["tip"] = [place(*tip)]
        if cannula:
            mm["cannula"] = [place(*c) for c in cannula]
        if electrodes:
            mm["electrodes"] = [place(*e) for e in electrodes]
        marks = placed(mm, px_per_mm, angle, mirror, shift)
        if alter:
            alter(marks)
        shot = {"name": name, "stage": stage, "mm_per_px": round(1 / px_per_mm, 4) if calibrated else None,
                "marks": {k: v for k, v in marks.items() if v}}
        for key, value in (("settings", settings), ("off_middle_mm", off), ("frame", frame)):
            if value is not None:
                shot[key] = value
        out.append(shot)

    stages = ["docking", "pedicle", "posterior_wall", "stylet", "final", None]
    tips = {"docking": (-0.6, 0.3), "pedicle": (-0.3, 0.35), "posterior_wall": (0.04, 0.45), "stylet": (0.3, 0.5),
            "final": (0.4, 0.5), None: (0.55, 0.6)}
    for stage in stages:
        add(f"straight, stage {stage}", stage=stage, tip=tips[stage])
        add(f"curved, stage {stage}", curved="sipa", stage=stage, tip=tips[stage], angle=12.0, mirror=False)
    for border in "sipa":
        add(f"one border curved: {border}", curved=border, angle=-20.0)
        add(f"second contour of a straight border: {border}", second=border)
        add(f"second contour of a curved border: {border}", curved=border, second=border, gap=2.5, angle=33.0)
        add(f"wide second contour: {border}", second=border, gap=6.0, curved="si")
    for pair in ("si", "pa", "sp", "ia", "sipa"):
        add(f"second contours of {pair}", curved="sipa", second=pair, gap=1.5, calibrated=pair != "sipa")
        add(f"second contours of {pair}, straight", second=pair, gap=3.0, stage="stylet", angle=-75.0)
    for angle in (0.0, 45.0, 90.0, 135.0, 180.0, -90.0):
        add(f"turned by {angle}", curved="sa", angle=angle, mirror=angle > 50.0, shift=(900.0, 800.0), px_per_mm=6.1)
    for tip in ((0.02, 0.02), (0.98, 0.97), (1.25, 0.5), (-0.8, -0.6), (1.8, 1.7), (0.5, -0.4), (0.5, 1.3)):
        add(f"tip at about {tip}", curved="pa" if tip[0] > 0.9 else "sipa", tip=tip)
    for curved in ("", "sipa"):
        add(f"no calibration, {curved or 'straight'}", curved=curved, calibrated=False)
        add(f"no calibration, small picture, {curved or 'straight'}", curved=curved, calibrated=False, px_per_mm=2.1)
        add(f"cannula and electrodes, {curved or 'straight'}", curved=curved, stage="stylet",
            cannula=((-1.4, -0.1), (-0.1, 0.4)), electrodes=((0.30, 0.47), (0.52, 0.55)))
        add(f"electrodes without calibration, {curved or 'straight'}", curved=curved, calibrated=False,
            electrodes=((0.08, 0.47), (0.30, 0.55)))
        add(f"three-point cannula, {curved or 'straight'}", curved=curved, stage="posterior_wall", tip=(0.05, 0.4),
            cannula=((-2.0, -0.4), (-0.9, -0.05), (0.02, 0.38)))
        add(f"cannula from the other side, {curved or 'straight'}", curved=curved, cannula=((2.2, 0.1), (1.1, 0.4)))
        add(f"offset lent by the other view, {curved or 'straight'}", curved=curved, off=8.25)
        add(f"own standard deviations, {curved or 'straight'}", curved=curved,
            settings={"placement_sd_mm": {"bone": 0.8, "metal": 0.4}, "view_half_width_deg": 2.5})
        add(f"own target, {curved or 'straight'}", curved=curved, tip=(0.2, 0.7), settings={
            "targets": {"final": {"depth": [0.1, 0.35], "height": [0.45, 0.55]}}})
        add(f"precise marks, {curved or 'straight'}", curved=curved, tip=(0.41, 0.5), settings={
            "placement_sd_mm": {"bone": 0.2, "metal": 0.1}, "view_half_width_deg": 0.3})
        add(f"precise marks, outside, {curved or 'straight'}", curved=curved, tip=(0.7, 0.2), settings={
            "placement_sd_mm": {"bone": 0.2, "metal": 0.1}, "view_half_width_deg": 0.3})
    add("a long body", depth=60.0, curved="si")
    add("a high body", depth=22.0, curved="p")
    add("a wedge", wedge=-8.0)
    add("a wedge the other way", wedge=9.0)
    frame = {"width": 1024, "height": 768}
    add("well inside the frame", frame=frame)
    add("a corner at the edge of the frame", frame=frame, shift=(124.0, 300.0))
    add("a corner at the edge of a round field", frame={**frame, "round": [512.0, 384.0, 300.0]},
        shift=(420.0, 120.0))
    # Marks that give no reading.
    add("no tip", tip=None, curved="s")
    add("no inferior end plate", alter=lambda m: m.pop("inferior_end_plate"))
    add("points on one another", curved="s", alter=lambda m: m["superior_end_plate"].insert(
        1, list(m["superior_end_plate"][0])))
    add("points too close", alter=lambda m: m["posterior_wall"].append(
        [m["superior_end_plate"][0][0] + 2.0, m["superior_end_plate"][0][1] + 2.0]))
    add("inferior end plate reversed", alter=lambda m: m["inferior_end_plate"].reverse())
    add("tip far away", tip=(5.0, 0.5))
    return out


if __name__ == "__main__":
    here = pathlib.Path(__file__).parent
    shots = [{"input": shot, "expected": read(shot)} for shot in cases()]
    text = ",\n".join(json.dumps(s) for s in shots)
    (here / "lateral.json").write_text(f"[\n{text}\n]\n")
    print(len(shots), "lateral shots")
