"""Helps .ci/journey.sh: where to click, what was clicked, and whether the command line reads it.

The expected fractions are computed here, independently of the program: natural cubic splines by chord length
through the clicked places, the transfinite map of the four borders, and its inverse by Newton's method (the
project's method document, section on the body map).
"""
import json
import math
import sys


def layout(trace):
    with open(trace) as lines:
        last = [line for line in lines if line.startswith("canvas ")][-1]
    return dict(part.split("=", 1) for part in last.split()[1:])


def walk(case, shot):
    with open(case) as text:
        marks = next(s for s in json.load(text)["shots"] if s["id"] == shot)["marks"]
    middle = lambda points: points[len(points) // 2]
    s, i = marks["superior_end_plate"], marks["inferior_end_plate"]
    return [s[0], middle(s), s[-1], middle(marks["anterior_wall"]), i[-1], middle(i), i[0],
            middle(marks["posterior_wall"]), marks["tip"][0]]


class Border:
    """A natural cubic spline through points, read by normalised arc length."""

    def __init__(self, points):
        self.knots = [0.0]
        for a, b in zip(points, points[1:]):
            self.knots.append(self.knots[-1] + math.dist(a, b))
        self.axes = [self.spline([p[k] for p in points]) for k in (0, 1)]
        steps = 4000
        total = self.knots[-1]
        self.table = [(0.0, 0.0)]
        before = self.place(0.0)
        for n in range(1, steps + 1):
            here = self.place(total * n / steps)
            self.table.append((self.table[-1][0] + math.dist(before, here), total * n / steps))
            before = here

    def spline(self, values):
        n, t = len(values) - 1, self.knots
        if n == 1:
            return values, [0.0, 0.0]
        h = [t[k + 1] - t[k] for k in range(n)]
        size = n - 1
        rows = [[0.0] * (size + 1) for _ in range(size)]
        for k in range(1, n):
            row = rows[k - 1]
            row[k - 1] = 2 * (h[k - 1] + h[k])
            if k > 1:
                row[k - 2] = h[k - 1]
            if k < n - 1:
                row[k] = h[k]
            row[size] = 6 * ((values[k + 1] - values[k]) / h[k] - (values[k] - values[k - 1]) / h[k - 1])
        for k in range(size):
            for m in range(k + 1, size):
                factor = rows[m][k] / rows[k][k]
                rows[m] = [a - factor * b for a, b in zip(rows[m], rows[k])]
        second = [0.0] * (n + 1)
        for k in reversed(range(size)):
            rest = sum(rows[k][m] * second[m + 1] for m in range(k + 1, size))
            second[k + 1] = (rows[k][size] - rest) / rows[k][k]
        return values, second

    def place(self, at):
        t = self.knots
        k = max(0, min(len(t) - 2, next((m - 1 for m in range(1, len(t)) if at <= t[m]), len(t) - 2)))
        h = t[k + 1] - t[k]
        a, b = (t[k + 1] - at) / h, (at - t[k]) / h
        return tuple(
            a * v[k] + b * v[k + 1] + ((a**3 - a) * m[k] + (b**3 - b) * m[k + 1]) * h * h / 6
            for v, m in self.axes
        )

    def at(self, share):
        length = self.table[-1][0]
        if share <= 0 or share >= 1:
            edge, near = (0.0, 1e-4) if share <= 0 else (1.0, 1 - 1e-4)
            p, q = self.at_inside(edge, length), self.at_inside(near, length)
            return tuple(a + (a - b) * (share - edge) / (edge - near) for a, b in zip(p, q))
        return self.at_inside(share, length)

    def at_inside(self, share, length):
        want = share * length
        low, high = 0, len(self.table) - 1
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self.table[middle][0] < want else (low, middle)
        (s0, t0), (s1, t1) = self.table[low], self.table[high]
        return self.place(t0 + (t1 - t0) * (want - s0) / (s1 - s0))


def fractions(places):
    s = Border([places[0], places[1], places[2]])
    a = Border([places[2], places[3], places[4]])
    i = Border([places[6], places[5], places[4]])
    p = Border([places[0], places[7], places[6]])
    c00, c10, c01, c11 = places[0], places[2], places[6], places[4]

    def image(u, v):
        parts = zip(s.at(u), i.at(u), p.at(v), a.at(v), c00, c10, c01, c11)
        return [(1 - v) * su + v * iu + (1 - u) * pv + u * av
                - ((1 - u) * (1 - v) * k00 + u * (1 - v) * k10 + (1 - u) * v * k01 + u * v * k11)
                for su, iu, pv, av, k00, k10, k01, k11 in parts]

    u = v = 0.5
    tip = places[8]
    for _ in range(50):
        x, y = image(u, v)
        (xu, yu), (xv, yv), step = image(u + 1e-5, v), image(u, v + 1e-5), 1e-5
        xu, yu, xv, yv = (xu - x) / step, (yu - y) / step, (xv - x) / step, (yv - y) / step
        det = xu * yv - xv * yu
        dx, dy = tip[0] - x, tip[1] - y
        u, v = u + (dx * yv - xv * dy) / det, v + (xu * dy - dx * yu) / det
        if math.hypot(dx, dy) < 1e-9:
            break
    return u, v


def check(clicked, case, reading, trace):
    with open(clicked) as lines:
        places = [tuple(map(float, line.split())) for line in lines]
    with open(case) as text:
        marks = json.load(text)["shots"][0]["marks"]
    with open(reading) as text:
        read = json.load(text)[0]["readings"][0]
    # A real pointer stands on whole pixels of the window; one of these is so much of the picture.
    pixel = 1.0 / float(layout(trace)["zoom"])
    s, i = marks["superior_end_plate"], marks["inferior_end_plate"]
    saved = [s[0], s[1], s[2], marks["anterior_wall"][0], i[2], i[1], i[0], marks["posterior_wall"][0],
             marks["tip"][0]]
    for place, mark in zip(places, saved):
        off = max(abs(place[0] - mark[0]), abs(place[1] - mark[1]))
        assert off <= pixel, f"clicked {place}, saved {mark}: more than the click's pixel of {pixel:.2f}"
    u, v = fractions(places)
    depth_px, height_px = math.dist(places[7], places[3]), math.dist(places[1], places[5])
    # All nine places may be off by a pixel each; the sum of the absolute weights stays below 2.5 on such a body.
    for name, got, want, size in (("depth", read["depth"], u, depth_px), ("height", read["height"], v, height_px)):
        tolerance = 2.5 * pixel / size
        got = got["value"]
        assert abs(got - want) <= tolerance, f"{name}: read {got:.4f}, clicked {want:.4f} ± {tolerance:.4f}"
        print(f"{name}: read {got:.4f}, expected {want:.4f} within {tolerance:.4f}")
    exact = fractions([tuple(p) for p in saved])
    for name, want in zip(("depth", "height"), exact):
        assert abs(read[name]["value"] - want) < 1e-4, f"{name} of the saved marks: {read[name]['value']} {want}"


def main():
    what, *rest = sys.argv[1:]
    if what == "places":
        for x, y in walk(*rest):
            print(x, y)
    elif what == "pixel":
        at = layout(rest[0])
        zoom = float(at["zoom"])
        print(round(float(at["x0"]) + zoom * float(rest[1])), round(float(at["y0"]) + zoom * float(rest[2])))
    elif what == "image":
        at = layout(rest[0])
        zoom = float(at["zoom"])
        print((float(rest[1]) - float(at["x0"])) / zoom, (float(rest[2]) - float(at["y0"])) / zoom)
    elif what == "check":
        check(*rest)


main()
