"""The view down the pedicle, section 3 of the method, independent of the Rust sources.

Run as a script it writes pedicle.json.
"""

import json
import math
import pathlib

import numpy as np

from budget import gradients, placement_variances, quantity, with_defaults
from lateral import placed

TYPICAL_MM = 15.0


def offsets(marks):
    superior, inferior, medial, lateral = (np.asarray(p, dtype=float) for p in marks["pedicle"])
    centre = (superior + inferior + medial + lateral) / 4.0
    frame = np.column_stack([(lateral - medial) / 2.0, (superior - inferior) / 2.0])
    return np.linalg.solve(frame, np.asarray(marks["tip"][0], dtype=float) - centre)


def docked(marks, sd_px, draws, rng):
    """Probability of the docking target, every mark drawn on its own; a second, plain way of doing it."""
    base = np.array(marks["pedicle"] + marks["tip"], dtype=float)
    sds = np.array([sd_px["bone"]] * 4 + [sd_px["metal"]])[:, None]
    points = base + sds * rng.standard_normal((draws, 5, 2))
    s, i, m, l, tip = (points[:, k] for k in range(5))
    a, b, d = (l - m) / 2, (s - i) / 2, tip - points[:, :4].mean(axis=1)
    det = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    x = (d[:, 0] * b[:, 1] - d[:, 1] * b[:, 0]) / det
    y = (a[:, 0] * d[:, 1] - a[:, 1] * d[:, 0]) / det
    return float(np.mean((x > 0) & (y > 0) & (x * x + y * y <= 1)))


def read(shot):
    marks, settings = shot["marks"], with_defaults(shot.get("settings"))
    s, i, m, l = (np.asarray(p, dtype=float) for p in marks["pedicle"])
    scale = shot.get("mm_per_px") or TYPICAL_MM / math.dist(s, i)

    def derived(marks):
        x, y = offsets(marks)
        return np.array([x, y, math.hypot(x, y)])

    bone, metal, _ = placement_variances(gradients(marks, derived), scale, settings)
    x, y, r = derived(marks)
    names = ("lateral_offset", "superior_offset", "radius")
    out = {n: quantity(v, bone[k], metal[k], 0.0) for k, (n, v) in enumerate(zip(names, (x, y, r)))}
    centre = (s + i + m + l) / 4.0
    theta = math.degrees(math.atan2(x if l[0] > centre[0] else -x, y))
    hour = (theta / 30.0) % 12.0
    out["clock_hour"] = hour if hour > 0.0 else 12.0
    out["quadrant"] = ("superior" if y > 0 else "inferior") + "_" + ("lateral" if x > 0 else "medial")
    out["mm_per_px"] = scale
    sd_px = {k: v / scale for k, v in settings["placement_sd_mm"].items()}
    p = docked(marks, sd_px, 400_000, np.random.default_rng(5))
    out["nominal_inside"] = bool(x > 0 and y > 0 and r <= 1)
    out["p_inside"] = p
    return out


def cases():
    rng = np.random.default_rng(20260205)
    out = []
    for k in range(24):
        right = k % 2 == 0
        w, h = rng.uniform(4, 6), rng.uniform(6, 8)
        side = 1.0 if right else -1.0
        mm = {"pedicle": [(rng.uniform(-1, 1), -h), (rng.uniform(-1, 1), h), (-side * w, rng.uniform(-1, 1)),
                          (side * w, rng.uniform(-1, 1))]}
        angle, radius = rng.uniform(0, 2 * math.pi), rng.choice([0.3, 0.7, 0.95, 1.3])
        if k < 6:
            angle, radius = rng.uniform(0.5, 1.1), 0.55
        mm["tip"] = [(side * w * radius * math.cos(angle), -h * radius * math.sin(angle))]
        scale = rng.uniform(3.0, 6.0)
        marks = placed(mm, scale, rng.uniform(-30, 30), False, (500, 400))
        shot = {"name": f"pedicle {k}", "stage": "docking", "marks": marks,
                "mm_per_px": None if k % 3 == 0 else round(1 / scale, 4)}
        if k % 5 == 4:
            shot["settings"] = {"placement_sd_mm": {"bone": 0.2, "metal": 0.1}}
        out.append(shot)
    return out


if __name__ == "__main__":
    shots = [{"input": shot, "expected": read(shot)} for shot in cases()]
    text = ",\n".join(json.dumps(s) for s in shots)
    (pathlib.Path(__file__).parent / "pedicle.json").write_text(f"[\n{text}\n]\n")
    print(len(shots), "shots down the pedicle")
