"""What a true view would show: section 9 of the method, independent of the Rust sources.

Run as a script it writes true_view.json: forty matched pairs, turned and tilted, with the numbers that follow. The
method leaves three things to whoever builds it, and they are the same here and there, as docs/method.md tells them: the
tilt beforehand where a second contour is marked is normal with 4°; a border with one contour adds to a corrected height
its lever times the tilt that is left (0.01 more than its size); a lateral without its AP takes the tip's distance off the
middle plane by the stage, on the entry side, with 3 mm.
"""

import itertools
import json
import math
import multiprocessing
import pathlib

import numpy as np

import ap
import lateral
from budget import Z95, direction_of, fraction_view_variance, with_defaults
from lateral import placed


def gradients(marks, read):
    """As in budget.py, but by forward differences: what is compared here is compared to 0.002."""
    base, step, out = np.asarray(read(marks)), 0.01, {}
    for key, points in marks.items():
        for index in range(len(points)):
            for axis in (0, 1):
                moved = {k: [list(p) for p in v] for k, v in marks.items()}
                moved[key][index][axis] += step
                out[(key, index, axis)] = (np.asarray(read(moved)) - base) / step
    return out


lateral.gradients = ap.gradients = gradients

R = 700.0
DEG = math.pi / 180.0
WEDGING_DEG = {"L1": 3.35, "L2": 1.65, "L3": 0.1, "L4": -1.9, "L5": -6.2}


def least_squares(rows, values, sds):
    """Unknowns, covariances, squared misfit and log determinant of the normal matrix."""
    a = np.array(rows, float) / np.array(sds, float)[:, None]
    y = np.array(values, float) / np.array(sds, float)
    n = a.T @ a
    x = np.linalg.solve(n, a.T @ y)
    r = y - a @ x
    return x, np.linalg.inv(n), float(r @ r), float(np.linalg.slogdet(n)[1])


def placement(q):
    return q["budget"]["bone"] ** 2 + q["budget"]["metal"] ** 2


def result(value, variance):
    sd = math.sqrt(variance)
    return {"value": float(value), "sd": sd, "low": float(value) - Z95 * sd, "high": float(value) + Z95 * sd}


def tilts(apart, lever, lever_sd, wedge, wedge_sd, cone, tube, unseen):
    """Every choice of signs: (tilt, variance, log weight)."""
    marked = any(a is not None for a in apart)
    signs = [(1, -1) if a is not None else (0,) for a in apart]
    out = []
    for n in (tube,) if tube else (1, -1):
        for s in itertools.product(*signs):
            rows, values, sds = [[1, 0], [0, 1]], [0.0, wedge + n * cone], [4 * DEG if marked else unseen, wedge_sd]
            for a, sign, half in zip(apart, s, (-0.5, 0.5)):
                if a is not None:
                    q = a / (2 * lever)
                    rows.append([1, half])
                    values.append(sign * q)
                    sds.append(math.hypot(0.02, q * lever_sd / lever))
            x, c, misfit, ln_det = least_squares(rows, values, sds)
            out.append((x[0], c[0, 0], 0.5 * (-0.5 * misfit - 0.5 * ln_det)))
    return out


def mixed(parts):
    """Mean and variance of (value, variance, log weight)."""
    v, s, lw = (np.array(x, float) for x in zip(*parts))
    w = np.exp(lw - lw.max())
    w /= w.sum()
    m = float(w @ v)
    return m, float(w @ (s + v * v) - m * m)


def apart_mm(body, names, scale):
    return [body.separation_px(n) * scale if n in body.second else None for n in names]


def read(shot):
    """The true view of a pair {lateral, ap, tube, level}, beside the direct readings it starts from."""
    first, second = shot["lateral"], shot["ap"]
    tube = shot.get("tube", {})
    n_ap = {"front": 1, "behind": -1}.get(tube.get("ap"), 0)
    n_lat = {"left": 1, "right": -1}.get(tube.get("lateral"), 0)
    one = lateral.read(first, details=False)["tip"]
    seen = ap.read({**second, "depth": one["depth"]["value"]})
    lat_body = lateral.body_of({k: v for k, v in first["marks"].items() if v})
    untold = {"lateral": first.get("cannot_tell", []), "ap": second.get("cannot_tell", [])}
    half = with_defaults(first.get("settings"))["view_half_width_deg"]
    once = lambda view, what: (4.0 if what in untold[view] else 0.9 * half / 1.4) * DEG  # noqa: E731

    scale, size = first["mm_per_px"], lat_body.sizes_px()
    depth = size["depth_px"] * scale
    height = 0.5 * (size["posterior_height_px"] + size["anterior_height_px"]) * scale
    u, v = one["depth"]["value"], one["height"]["value"]
    s_l, i_l, p_l, a_l = apart_mm(lat_body, "sipa", scale)

    sizes = seen["body"]
    width = sizes["depth_px"] * second["mm_per_px"]
    tall = 0.5 * (sizes["posterior_height_px"] + sizes["anterior_height_px"]) * second["mm_per_px"]
    right_is_left = ap.patient_right(second["marks"], second.get("patient_right"), set())
    ap_body = ap.body_of(second["marks"], right_is_left, (second["side"] == "right") != right_is_left)
    s_a, i_a = apart_mm(ap_body, "si", second["mm_per_px"])
    sign = 1.0 if second["side"] == "right" else -1.0

    # The turn of the AP, in millimetres from the patient's right to the left.
    x_t, x_p, x_s = (u - 0.5) * depth + 0.05 * depth, -20.0, -60.0
    w = seen["across"]["value"]
    cone = lambda x: 1.0 - n_ap * x / R  # noqa: E731
    place = lambda f, x: sign * width * (f - 0.5) * cone(x)  # noqa: E731
    by = seen["midline_by"]
    tip = place(w, x_t)
    pedicles = place(w - by["pedicles"]["value"], x_p)
    rows = [[1, 0, 0, -x_t, 0], [0, 1, 0, -x_p, -x_p]]
    values, sds = [tip, pedicles], [math.sqrt(placement(seen["across"])) * width, 0.4]
    differs = False
    if by["spinous_process"]:
        process = place(w - by["spinous_process"]["value"], x_s)
        rows.append([0, 0, 1, -x_s, -x_s])
        values.append(process)
        sds.append(0.45)
        differs = abs(pedicles - x_p / x_s * process) > 3.2
    for k, sd in ((1, 1.2), (2, 3.0), (3, 5 * DEG), (4, 1.5 * DEG)):
        rows.append([float(j == k) for j in range(5)])
        values.append(0.0)
        sds.append(sd)
    x, c, _, _ = least_squares(rows, values, sds)
    tau, alpha, delta, psi, kappa = x
    var_tip = (psi * 0.02 * depth) ** 2 + (0.0 if n_ap else (tau * x_t / R) ** 2)
    out = {"turn_deg": psi / DEG, "turn_sd_deg": math.sqrt(c[3, 3]) / DEG, "arch_differs": bool(differs)}
    refused = bool(abs(psi) > 10 * DEG)

    def combined(g, extra):
        g = np.array(g, float)
        return sign * (g @ x) / width, (g @ c @ g + var_tip + extra + 0.04) / width**2

    offset = combined([1, 0, 0, 0, 0], 0.0)
    if not refused:
        out["across"] = result(0.5 + offset[0], offset[1])
        out["body"] = result(*offset)
        out["pedicles"] = result(*combined([1, -1, 0, 0, x_p], 0.25 * (2.5 * psi) ** 2))
        if by["spinous_process"]:
            out["spinous_process"] = result(*combined([1, 0, -1, 0, x_s], 0.25 * (5.0 * psi) ** 2))
        x_m = place(w + seen["medial_border"]["value"], x_p)
        medial = sign * (x_m + x_p * psi - tau) / width
        spread = c[3, 3] * (x_t - x_p) ** 2 + (2.5 * psi) ** 2 + var_tip + (0.0 if n_ap else (12 * 20 / R) ** 2)
        out["medial_border"] = result(medial, placement(seen["medial_border"]) + spread / width**2)

    # The lateral's depth.
    if refused:
        t, t_var = sign * width * (w - 0.5), (seen["across"]["sd"] * width) ** 2 + 0.49
    else:
        t, t_var = tau, c[0, 0] + var_tip + 0.49
    slope = None if p_l is None else p_l / 24.0
    theta = once("lateral", "depth") if slope is None else math.hypot(slope, 0.02)
    a2 = ((0.0 if p_l is not None else 12.0) * (1 - u)) ** 2 + ((0.0 if a_l is not None else 4.0) * u) ** 2
    view = (theta / depth) ** 2 * (t * t + t_var) + (once("lateral", "depth") / depth) ** 2 * a2 + 0.25 * a2 / R**2
    view += 0.003**2 + (0.0 if n_lat else ((u - 0.5) * t / R) ** 2)
    out["depth"] = result(0.5 + (u - 0.5) * (1 - n_lat * t / R), placement(one["depth"]) + view)

    # Tilts and heights.
    wedge = (size["anterior_height_px"] - size["posterior_height_px"]) * scale / depth
    of_ap = tilts((s_a, i_a), 15.0, 3.0, wedge, 0.025, tall / R, n_ap, once("ap", "height"))
    of_lat = tilts((s_l, i_l), 20.0, 4.0, 0.0, 3 * DEG, height / R, n_lat, once("lateral", "height"))
    x_c = (u - 0.5) * depth
    v_ap = seen["height"]["value"]

    def beside(view, candidates, apart, lever, f, long, off, known):
        phi = abs(mixed(candidates)[0]) + 0.01 if any(a is not None for a in apart) else once(view, "height")
        one_sided = sum(0.0 if a is not None else (lever * k) ** 2 for a, k in zip(apart, (1 - f, f)))
        return (phi / long) ** 2 * one_sided + 0.25 * one_sided / R**2 + (0.0 if known else (off * (f - 0.5) / R) ** 2)

    rest_a = placement(seen["height"]) + beside("ap", of_ap, (s_a, i_a), 15.0, v_ap, tall, x_c, n_ap)
    rest_l = placement(one["height"]) + beside("lateral", of_lat, (s_l, i_l), 20.0, v, height, t, n_lat)
    h_ap = lambda p, s: (v_ap - p * x_c / tall, rest_a + s * (x_c / tall) ** 2 + (p * 0.02 * depth / tall) ** 2)  # noqa: E731
    h_lat = lambda p, s: (v - p * t / height, rest_l + (s * (t * t + t_var) + p * p * t_var) / height**2)  # noqa: E731
    out["ap_height"], out["lateral_height"] = result(*h_ap(*mixed(of_ap))), result(*h_lat(*mixed(of_lat)))
    out["ap_tilt_deg"], out["lateral_tilt_deg"] = (mixed(k)[0] / DEG for k in (of_ap, of_lat))
    if first["stage"] in ("stylet", "final"):
        parts = []
        for (p, s, lp), (q, r, lq) in itertools.product(of_lat, of_ap):
            (a, va), (b, vb) = h_lat(p, s), h_ap(q, r)
            both = va + vb + 0.01**2
            share = va / both
            parts.append((a + share * (b - a), va * (1 - share), lp + lq - (b - a) ** 2 / (4 * both) - 0.25 * math.log(both)))
        out["height"] = result(*mixed(parts))
    else:
        # The weighted mean of section 3, the lateral's view part with what the AP lends.
        direction, halves, _ = direction_of(lat_body, [("s", 20.0), ("i", 20.0)], scale, with_defaults(None))
        lent = placement(one["height"]) + fraction_view_variance(v, height, *halves, seen["off_middle_mm"], direction)
        front = seen["height"]["sd"] ** 2
        share = front / (lent + front)
        out["height"] = result(v + (1 - share) * (v_ap - v), lent * share)
    out["refused"] = refused
    return out


def cases():
    """Forty pairs: plausible marks with the shifts and separations that turns and tilts make."""
    rng = np.random.default_rng(20260301)
    stages = {"docking": (-0.5, 0.3, 13.8), "pedicle": (-0.25, 0.32, 13.8), "posterior_wall": (0.05, 0.38, 9.7),
              "stylet": (0.3, 0.45, 5.5), "final": (0.4, 0.5, 0.5)}
    out = []
    for k in range(40):
        stage = list(stages)[(0, 1, 2, 3, 4, 4, 4, 3)[k % 8]]
        u, v, off = stages[stage]
        u, v, off = u + rng.normal(0, 0.05), v + rng.normal(0, 0.05), off + rng.normal(0, 2.0)
        side = "right" if rng.random() < 0.5 else "left"
        sign = 1.0 if side == "right" else -1.0
        turn, tilt, lean = rng.normal(0, 5.0, 3) * DEG if k % 10 else np.array([22.0, 3.0, 2.0]) * DEG
        mm = lateral.outline(rng, "sipa")
        for border in "".join(b for b in "sip" if rng.random() < 0.65):
            lateral.add_second(rng, mm, border, 0.3 + {"s": 40, "i": 40, "p": 24}[border] * abs(tilt))
        mm["tip"] = [(35.0 * u, 28.5 * v)]
        one = placed(mm, 3.4, rng.uniform(-15, 15), bool(rng.random() < 0.5), (420.0, 300.0))
        seen = ap.outline(rng, "silr")
        seen["right_wall"], seen["left_wall"] = seen.pop("left"), seen.pop("right")
        for plate, down in (("superior_end_plate", 1.0), ("inferior_end_plate", -1.0)):
            if rng.random() < 0.65:
                gap = down * (0.3 + 30 * abs(lean + down * 0.03))
                seen[f"{plate}_second"] = [(p[0] + rng.uniform(-0.3, 0.3), p[1] + gap) for p in seen[plate]]
        shifted = lambda y, x: 24.0 + y - x * turn  # noqa: E731
        for name, y in (("right", -1.0), ("left", 1.0)):
            borders = [(shifted(y * q + rng.normal(0, 0.5), -20.0), 9.0 + rng.normal(0, 1)) for q in (20.5, 11.5)]
            seen[f"{name}_pedicle"] = borders
        if k % 5:
            middle = rng.normal(0, 2.0)
            seen["spinous_process"] = [(shifted(middle + d, -60.0), 21.0) for d in (-4.0, 4.0)]
        seen["tip"] = [(shifted(-sign * off, (u - 0.5) * 35.0 + 1.75), 27.0 * v)]
        two = placed(seen, 3.1, rng.uniform(-8, 8), False, (300.0, 250.0))
        level = ("L1", "L2", "L3", "L4", "L5", "T12")[k % 6]
        entry = {"name": f"{stage} {k}", "level": level,
                 "lateral": {"stage": stage, "side": side, "mm_per_px": 0.2941, "marks": one},
                 "ap": {"stage": stage, "side": side, "mm_per_px": 0.3226, "marks": two}}
        tube = {}
        if k % 3 == 0:
            tube["ap"] = "front" if rng.random() < 0.5 else "behind"
        if k % 4 == 1:
            tube["lateral"] = "left" if rng.random() < 0.5 else "right"
        if tube:
            entry["tube"] = tube
        late = stage in ("stylet", "final")
        if late and k % 3 == 1:
            entry["lateral"]["cannot_tell"] = ["depth", "height"]
        if late and k % 5 == 2:
            entry["ap"]["cannot_tell"] = ["height"]
        out.append(entry)
    return out


if __name__ == "__main__":
    shots = cases()
    with multiprocessing.Pool(2) as pool:
        pairs = [{"input": s, "expected": e} for s, e in zip(shots, pool.map(read, shots, chunksize=1))]
    text = ",\n".join(json.dumps(p) for p in pairs)
    (pathlib.Path(__file__).parent / "true_view.json").write_text(f"[\n{text}\n]\n")
    print(len(pairs), "pairs,", sum(p["expected"]["refused"] for p in pairs), "refused")
