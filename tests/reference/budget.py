"""What all views share: sensitivities by differences, verdicts, intervals. From the method's text alone."""

import math

import numpy as np
from scipy.stats import norm

Z95 = float(norm.ppf(0.975))
SOURCE_TO_BODY_PER_MM = 1.0 / 700.0
TYPICAL_HEIGHT_MM = 28.0
METAL = ("tip", "cannula", "electrodes")
DEFAULTS = {
    "placement_sd_mm": {"bone": 0.5, "metal": 0.25},
    "view_half_width_deg": 1.4,
    "targets": {
        "final": {"depth": [0.30, 0.50], "height": [0.40, 0.60], "midline": [-0.10, 0.10]},
        "posterior_wall": {"depth": [-0.05, 0.15]},
    },
}
# Fourth-order central differences. Truncation goes with the fourth power of step / size (about 1e-13 for
# bodies of 80 px and more), rounding with 1e-15 / step: both far below the 1e-6 that the comparison asks.
STEP_PX = 0.05
STENCIL = ((-2, 1.0 / 12.0), (-1, -8.0 / 12.0), (1, 8.0 / 12.0), (2, -1.0 / 12.0))


def rho(settings):
    return math.sin(math.radians(settings["view_half_width_deg"])) / math.sqrt(3.0)


def with_defaults(settings):
    out = dict(DEFAULTS)
    out.update(settings or {})
    return out


def gradients(marks, read):
    """Derivative of read(marks), an array, by every coordinate of every mark: {(key, index, axis): array}."""
    out = {}
    for key, points in marks.items():
        for index in range(len(points)):
            for axis in (0, 1):
                total = 0.0
                for steps, weight in STENCIL:
                    moved = {k: [list(p) for p in v] for k, v in marks.items()}
                    moved[key][index][axis] += steps * STEP_PX
                    total = total + weight * np.asarray(read(moved))
                out[(key, index, axis)] = total / STEP_PX
    return out


def placement_variances(grads, mm_per_px, settings):
    """Variance of each quantity from bone and from metal marks, and the covariance matrix of both together."""
    sd = settings["placement_sd_mm"]
    size = len(next(iter(grads.values())))
    bone, metal, cov = np.zeros(size), np.zeros(size), np.zeros((size, size))
    for (key, _, _), g in grads.items():
        is_metal = key in METAL
        var = (sd["metal" if is_metal else "bone"] / mm_per_px) ** 2
        (metal if is_metal else bone)[:] += var * g**2
        cov += var * np.outer(g, g)
    return bone, metal, cov


def fraction_view_variance(f, length_mm, a0, a1, t, direction, k=SOURCE_TO_BODY_PER_MM):
    """A fraction between two borders; `direction` is rho, or the sine that second contours tell."""
    a_sq = (a0 * (1.0 - f)) ** 2 + (a1 * f) ** 2
    turn = (direction / length_mm) ** 2 * (a_sq + t**2)
    return turn + (0.5 * k) ** 2 * a_sq + (t * (f - 0.5) * k) ** 2


def direction_of(body, names, mm_per_px, settings):
    """The sine of the ray's turn in one direction and the half-depths a of its two borders.

    `names` holds (border, a) for start and end.
    """
    sines = [body.separation_px(n) * mm_per_px / (2.0 * a) for n, a in names if n in body.second]
    halves = [0.0 if n in body.second else a for n, a in names]
    if not sines:
        return rho(settings), halves, None
    sine = min(sum(sines) / len(sines), 0.5)
    return sine, halves, sine


def quantity(value, bone_var, metal_var, view_var):
    sd = math.sqrt(bone_var + metal_var + view_var)
    return {
        "value": float(value),
        "sd": sd,
        "low": float(value) - Z95 * sd,
        "high": float(value) + Z95 * sd,
        "budget": {"bone": math.sqrt(bone_var), "metal": math.sqrt(metal_var), "view": math.sqrt(view_var)},
    }


def verdict(rule, band, q, sides):
    """Nominal side and state of a quantity in a band."""
    low, high = band
    x, s = q["value"], q["sd"]
    below, above = float(norm.cdf((low - x) / s)), float(norm.sf((high - x) / s))
    inside = float(norm.cdf((high - x) / s) - norm.cdf((low - x) / s))
    nominal = sides[0] if x < low else sides[1] if x > high else "inside"
    state = "inside" if inside >= 0.95 else "outside" if max(below, above) >= 0.95 else "undecided"
    # A value in the middle of the band, with the same uncertainty.
    best = float(2.0 * norm.cdf(0.5 * (high - low) / s) - 1.0)
    return {
        "rule": rule, "low": low, "high": high, "nominal": nominal, "state": state, "p_inside": inside,
    }, best < 0.95
