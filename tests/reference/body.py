"""Borders and the body map, written from the method's text alone with NumPy and SciPy.

Nothing here is taken from the Rust sources: splines are SciPy's, arc lengths are Gauss-Legendre sums
(compared with scipy.integrate.quad by selfcheck.py), the inverse is scipy.optimize.root.
"""

import math

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq, root

# Four times 32 Gauss-Legendre nodes on 0 to 1: far more than a piece of a spline needs.
_X, _W = np.polynomial.legendre.leggauss(32)
NODES = np.concatenate([(k + 0.5 * (_X + 1.0)) / 4.0 for k in range(4)])
WEIGHTS = np.tile(_W / 8.0, 4)
# Neighbouring points nearer than this share of the border's polyline length are refused.
CLOSEST = 0.05


class Blocked(Exception):
    """What stands in the way of a reading, by its code."""


class Border:
    """A border through points, read by normalised arc length; straight on beyond both ends."""

    def __init__(self, points):
        p = np.asarray(points, dtype=float)
        chords = np.hypot(*np.diff(p, axis=0).T)
        total = float(chords.sum())
        if not np.all(np.isfinite(p)) or total <= 0.0 or chords.min() < CLOSEST * total:
            raise Blocked("marks_too_close")
        self.points = p
        self.curve = None
        if len(p) == 2:
            self.length = total
            self.tangents = [(p[1] - p[0]) / total] * 2
            return
        self.knots = np.concatenate([[0.0], np.cumsum(chords)])
        self.curve = CubicSpline(self.knots, p, bc_type="natural")
        self.slope = self.curve.derivative()
        pieces = [self._piece(a, b) for a, b in zip(self.knots[:-1], self.knots[1:])]
        self.sums = np.concatenate([[0.0], np.cumsum(pieces)])
        self.length = float(self.sums[-1])
        self.tangents = [self._unit(self.knots[0]), self._unit(self.knots[-1])]

    def _speed(self, s):
        d = self.slope(s)
        return np.hypot(d[..., 0], d[..., 1])

    def _piece(self, a, b):
        return (b - a) * float(np.dot(WEIGHTS, self._speed(a + (b - a) * NODES)))

    def _unit(self, s):
        d = self.slope(s)
        return d / math.hypot(*d)

    def _chord_at(self, length):
        """The spline's parameter at which the arc has this length."""
        i = int(np.clip(np.searchsorted(self.sums, length, side="right") - 1, 0, len(self.knots) - 2))
        a, b = self.knots[i], self.knots[i + 1]
        rest = length - self.sums[i]
        s = a + (b - a) * rest / (self.sums[i + 1] - self.sums[i])
        for _ in range(50):
            step = (self._piece(a, s) - rest) / float(self._speed(s))
            s -= step
            if abs(step) < 1e-14 * self.knots[-1]:
                return s
        return brentq(lambda x: self._piece(a, x) - rest, a, b, xtol=1e-15)

    def __call__(self, t):
        if t < 0.0:
            return self._end(0) + self.tangents[0] * (t * self.length)
        if t > 1.0:
            return self._end(1) + self.tangents[1] * ((t - 1.0) * self.length)
        if self.curve is None:
            return self.points[0] + (self.points[1] - self.points[0]) * t
        if t == 0.0 or t == 1.0:
            return self._end(int(t))
        return self.curve(self._chord_at(t * self.length))

    def _end(self, which):
        return self.points[-which]

    def rate(self, t):
        """The derivative by t: the border's length along its tangent."""
        if t <= 0.0 or t >= 1.0 or self.curve is None:
            return self.tangents[0 if t <= 0.5 else 1] * self.length
        return self._unit(self._chord_at(t * self.length)) * self.length


class Carried:
    """B': the mean of the contours of one border, carried to its moved corners."""

    def __init__(self, first, second, start, end):
        self.first, self.second = first, second
        self.known = {}
        self.start, self.end = np.asarray(start) - self._mean(0.0), np.asarray(end) - self._mean(1.0)

    def _mean(self, t):
        return self.first(t) if self.second is None else 0.5 * (self.first(t) + self.second(t))

    def __call__(self, t):
        if t in self.known:
            return self.known[t][0]
        return self._mean(t) + (1.0 - t) * self.start + t * self.end

    def rate(self, t):
        if t in self.known:
            return self.known[t][1]
        r = self.first.rate(t) if self.second is None else 0.5 * (self.first.rate(t) + self.second.rate(t))
        return r + self.end - self.start


class Body:
    """The body map of four borders; s and i run from the start wall to the end wall, p and a downward."""

    # Border names with the corners at which they start and end; a corner is (plate, end).
    ENDS = {"s": ("00", "10"), "i": ("01", "11"), "p": ("00", "01"), "a": ("10", "11")}

    def __init__(self, superior, inferior, start_wall, end_wall, second=None, check_folds=True):
        """Point lists: end plates corner to corner, walls interior points; `second` by border name."""
        second = second or {}
        corners = {"00": superior[0], "10": superior[-1], "01": inferior[0], "11": inferior[-1]}
        corners = {k: np.asarray(v, dtype=float) for k, v in corners.items()}
        lists = {
            "s": list(superior),
            "i": list(inferior),
            "p": [superior[0], *start_wall, inferior[0]],
            "a": [superior[-1], *end_wall, inferior[-1]],
        }
        self.first = {name: Border(points) for name, points in lists.items()}
        self.second = {name: Border(points) for name, points in second.items() if len(points) > 0}
        moved = {k: v.copy() for k, v in corners.items()}
        for name, contour in self.second.items():
            for which, corner in enumerate(self.ENDS[name]):
                # Q(end) - C = a p + b w with the chords of the first contours that meet in this corner: a second
                # end plate moves the corner by half of b w, a second wall by half of a p.
                along = self._chord("s" if corner[1] == "0" else "i", corners)
                down = self._chord("p" if corner[0] == "0" else "a", corners)
                off = contour(float(which)) - corners[corner]
                a, b = np.linalg.solve(np.column_stack([along, down]), off)
                moved[corner] = moved[corner] + 0.5 * (b * down if name in "si" else a * along)
        self.corners = moved
        self.used = {
            name: Carried(self.first[name], self.second.get(name), moved[ends[0]], moved[ends[1]])
            for name, ends in self.ENDS.items()
        }
        if check_folds:
            self._refuse_folds()

    def _chord(self, name, corners):
        start, end = self.ENDS[name]
        return corners[end] - corners[start]

    def _refuse_folds(self):
        grid = [float(t) for t in np.linspace(0.0, 1.0, 21)]
        # Each border is asked once for each of its 21 places; the 441 determinants then only combine them.
        for border in self.used.values():
            border.known = {t: (border(t), border.rate(t)) for t in grid}
        signs = {np.sign(np.linalg.det(self.jacobian(u, v))) for u in grid for v in grid}
        for border in self.used.values():
            border.known = {}
        if len(signs) != 1 or 0.0 in signs:
            raise Blocked("folded_body")

    def to_image(self, u, v):
        b, c = self.used, self.corners
        bilinear = (1 - u) * (1 - v) * c["00"] + u * (1 - v) * c["10"] + (1 - u) * v * c["01"] + u * v * c["11"]
        return (1 - v) * b["s"](u) + v * b["i"](u) + (1 - u) * b["p"](v) + u * b["a"](v) - bilinear

    def jacobian(self, u, v):
        """Columns: derivative by u, derivative by v."""
        b, c = self.used, self.corners
        by_u = (1 - v) * b["s"].rate(u) + v * b["i"].rate(u) - b["p"](v) + b["a"](v)
        by_u = by_u - ((1 - v) * (c["10"] - c["00"]) + v * (c["11"] - c["01"]))
        by_v = -b["s"](u) + b["i"](u) + (1 - u) * b["p"].rate(v) + u * b["a"].rate(v)
        by_v = by_v - ((1 - u) * (c["01"] - c["00"]) + u * (c["11"] - c["10"]))
        return np.column_stack([by_u, by_v])

    def bilinear_inverse(self, point):
        """Closed form on the corners; of two roots the one nearer the unit square."""
        c = self.corners
        e, f = c["10"] - c["00"], c["01"] - c["00"]
        g = c["00"] - c["10"] + c["11"] - c["01"]
        h = np.asarray(point, dtype=float) - c["00"]
        cross = lambda a, b: a[0] * b[1] - a[1] * b[0]  # noqa: E731
        k2, k1, k0 = cross(g, f), cross(e, f) + cross(h, g), cross(h, e)
        roots = np.roots([k2, k1, k0]) if abs(k2) > 1e-12 * abs(k1) else np.array([-k0 / k1])
        best = None
        for v in roots:
            if abs(np.imag(v)) > 1e-9:
                continue
            v = float(np.real(v))
            d = e + g * v
            u = float(np.dot(h - f * v, d) / np.dot(d, d))
            far = math.hypot(u - min(max(u, 0.0), 1.0), v - min(max(v, 0.0), 1.0))
            if best is None or far < best[0]:
                best = (far, np.array([u, v]))
        return np.array([0.5, 0.5]) if best is None else best[1]

    def to_body(self, point, start=None):
        point = np.asarray(point, dtype=float)
        guess = self.bilinear_inverse(point) if start is None else np.asarray(start, dtype=float)
        miss = lambda w: self.to_image(*w) - point  # noqa: E731
        w = root(miss, guess, jac=lambda w: self.jacobian(*w), tol=1e-13).x
        # Two full steps more: the solver stops by its own measure, not by pixels.
        for _ in range(2):
            w = w - np.linalg.solve(self.jacobian(*w), miss(w))
        if np.hypot(*miss(w)) > 1e-10 or not (-1 <= w[0] <= 2 and -1 <= w[1] <= 2):
            raise Blocked("unreadable")
        return w

    def separation_px(self, name):
        """Size of the mean of the part of Q - B at right angles to the chord of B, at five places."""
        first, second = self.first[name], self.second[name]
        chord = first(1.0) - first(0.0)
        normal = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
        return float(abs(np.mean([np.dot(second(t) - first(t), normal) for t in (0.0, 0.25, 0.5, 0.75, 1.0)])))

    def sizes_px(self):
        b, c = self.used, self.corners
        gap = lambda p, q: float(np.hypot(*(np.asarray(p) - np.asarray(q))))  # noqa: E731
        chord_s, chord_i = c["10"] - c["00"], c["11"] - c["01"]
        dot, cross = float(np.dot(chord_s, chord_i)), chord_s[0] * chord_i[1] - chord_s[1] * chord_i[0]
        # Positive when the plates open toward their end. Turning from S to I must be the same way as turning
        # from S toward the inside of the body.
        down = c["01"] - c["00"]
        inside = chord_s[0] * down[1] - chord_s[1] * down[0]
        angle = math.degrees(math.atan2(cross, dot)) * (1.0 if inside > 0 else -1.0)
        return {
            "depth_px": gap(b["p"](0.5), b["a"](0.5)),
            "posterior_height_px": gap(b["s"](0.0), b["i"](0.0)),
            "middle_height_px": gap(b["s"](0.5), b["i"](0.5)),
            "anterior_height_px": gap(b["s"](1.0), b["i"](1.0)),
            "end_plate_angle_deg": angle,
        }
