"""The reference checked against itself: quadrature, differences and the inverse. Prints what it finds."""

import math

import numpy as np
from scipy.integrate import quad

from body import Body, Border
from budget import STENCIL

POINTS = [(412.0, 305.0), (372.5, 313.0), (340.0, 316.5), (290.0, 319.0), (268.0, 318.0)]


def arc_lengths():
    """Largest relative difference of Gauss-Legendre sums from adaptive quadrature."""
    border, worst = Border(POINTS), 0.0
    for t in np.linspace(0.05, 0.95, 19):
        end = border._chord_at(t * border.length)
        knots = [k for k in border.knots if 0.0 < k < end]
        cuts = [0.0, *knots, end]
        exact = sum(quad(border._speed, a, b, epsabs=1e-13, epsrel=1e-13)[0] for a, b in zip(cuts, cuts[1:]))
        worst = max(worst, abs(exact - t * border.length) / border.length)
    return worst


def rates():
    """Largest difference of the analytic Jacobian from differences of the map."""
    body = Body(POINTS, [(405, 398), (330, 402), (262, 421)], [(400, 352)], [(271, 360), (270, 395)],
                {"p": [(420, 303), (411, 350), (414, 399)]})
    worst = 0.0
    for u, v in ((0.3, 0.5), (0.11, 0.83), (-0.3, 0.4), (1.2, 0.6)):
        for column, (du, dv) in enumerate(((1e-4, 0.0), (0.0, 1e-4))):
            numeric = sum(w * body.to_image(u + k * du, v + k * dv) for k, w in STENCIL) / 1e-4
            worst = max(worst, float(np.abs(numeric - body.jacobian(u, v)[:, column]).max()))
        back = body.to_body(body.to_image(u, v))
        assert math.hypot(back[0] - u, back[1] - v) < 1e-11, (u, v, back)
    return worst


if __name__ == "__main__":
    print("arc length, relative:", arc_lengths())
    print("Jacobian against differences, px:", rates())
