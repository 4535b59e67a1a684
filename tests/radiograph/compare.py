"""A simulated lateral still beside a real lateral radiograph: greys, sharpness of bone edges, grain of bone.

The real one is the cat of the package `deid-data` (MIT), a digital radiograph; the simulated one is made by the
command line. Both are brought to the same convention (bone bright) and the same height of a vertebral body in
pixels is not sought: each is measured at its own pixels.

    pip install deid-data==0.0.20 pydicom==3.0.2 pillow numpy scipy
    python3 tests/radiograph/convert.py FOLDER
    stillmark-cli phantom --seed 21 --view lateral --level L3 --stage stylet --size 1024 --dose 2 --bits 16 --out FOLDER/still
    python3 tests/radiograph/compare.py FOLDER/radiograph.png FOLDER/still/images/l3-*-lateral-stylet.png [PICTURE.png]

It prints one table and, if a third name is given, writes both crops beside each other.
"""

import pathlib
import sys

import numpy as np
from PIL import Image
from scipy import ndimage


def load(path):
    picture = np.array(Image.open(path)).astype(float)
    return picture / (255.0 if picture.max() <= 255 else 4095.0 if picture.max() <= 4095 else 65535.0)


def spread(greys):
    """Percentiles 5, 25, 50, 75, 95 of the greys between the darkest and brightest hundredth, 0 to 1."""
    low, high = np.percentile(greys, [1, 99])
    scaled = np.clip((greys - low) / (high - low), 0, 1)
    return np.percentile(scaled, [5, 25, 50, 75, 95]), scaled.std()


def entropy(greys):
    """Entropy of a histogram of 64 greys between the darkest and brightest hundredth, in bits of at most 6."""
    low, high = np.percentile(greys, [1, 99])
    counts, _ = np.histogram(np.clip((greys - low) / (high - low), 0, 1), bins=64, range=(0, 1))
    share = counts[counts > 0] / counts.sum()
    return -(share * np.log2(share)).sum()


def edge_rise(picture, start, normal, along, half_px, wide_px):
    """Width of the rise from 10 to 90 % across a straight piece of a bone's edge, in pixels.

    The profile is the mean over `wide_px` parallel lines; its foot and top are the extremes on either side of
    the steepest place, so that the bright shell of the bone is the top.
    """
    t = np.arange(-half_px, half_px + 0.01, 0.25)
    s = np.arange(-wide_px / 2, wide_px / 2 + 0.01, 1.0)
    x = start[0] + normal[0] * t[None, :] + along[0] * s[:, None]
    y = start[1] + normal[1] * t[None, :] + along[1] * s[:, None]
    profile = ndimage.map_coordinates(picture, [y - 0.5, x - 0.5], order=1).mean(axis=0)
    profile = ndimage.gaussian_filter1d(profile, 1.0)
    slope = np.gradient(profile)
    middle = np.argmax(slope)
    foot = middle
    while foot > 0 and slope[foot - 1] > 0:
        foot -= 1
    top = middle
    while top < len(slope) - 1 and slope[top + 1] > 0:
        top += 1
    low, high = profile[foot], profile[top]
    rising = profile[foot : top + 1]
    at = lambda share: np.interp(low + share * (high - low), rising, t[foot : top + 1])
    return at(0.9) - at(0.1), high - low


def grain(picture, centre, side):
    """Noise power inside a bone, by octaves of spatial frequency in cycles a pixel, relative to the whole; and the
    standard deviation as a part of the full scale. A plane is taken away first."""
    x0, y0 = int(centre[0] - side / 2), int(centre[1] - side / 2)
    patch = picture[y0 : y0 + side, x0 : x0 + side]
    yy, xx = np.mgrid[0:side, 0:side]
    design = np.stack([np.ones(side * side), xx.ravel(), yy.ravel()], axis=1)
    patch = patch - (design @ np.linalg.lstsq(design, patch.ravel(), rcond=None)[0]).reshape(side, side)
    window = np.hanning(side)[:, None] * np.hanning(side)[None, :]
    power = np.abs(np.fft.fft2(patch * window)) ** 2
    f = np.hypot(*np.meshgrid(np.fft.fftfreq(side), np.fft.fftfreq(side)))
    bands = [(1 / 32, 1 / 16), (1 / 16, 1 / 8), (1 / 8, 1 / 4), (1 / 4, 1 / 2)]
    total = power[(f >= 1 / 32) & (f < 1 / 2)].sum()
    return [power[(f >= a) & (f < b)].sum() / total for a, b in bands], patch.std()


# Where to measure: in the radiograph places picked by eye on the lumbar bodies (column, row; direction from
# outside into the bone), in the still the true marks of the case file.
CAT_EDGES = [
    ((2280, 743), (0, -1)),
    ((2480, 716), (0, -1)),
    ((2690, 688), (0, -1)),
    ((2100, 775), (0, -1)),
    ((2568, 695), (-1, 0)),
    ((2585, 685), (1, 0)),
    ((2362, 715), (-1, 0)),
    ((2379, 702), (1, 0)),
    ((2782, 650), (-1, 0)),
]
CAT_BONE = [(2270, 712), (2470, 695), (2680, 662)]
CAT_CROP = (2150, 480, 2850, 1000)


def still_places(path):
    """Edges and the middle of the body from the marks in the case file beside the picture."""
    import json

    folder = pathlib.Path(path).resolve().parent.parent
    case = json.loads(next(folder.glob("*.case.json")).read_text())
    shot = next(s for s in case["shots"] if s["image"].endswith(pathlib.Path(path).name))
    marks = {k: np.array(v, float) for k, v in shot["marks"].items() if v}
    corners = np.array([marks[k][i] for k in ("superior_end_plate", "inferior_end_plate") for i in (0, -1)])
    centre = corners.mean(axis=0)
    edges = []
    for kind in ("superior_end_plate", "inferior_end_plate", "anterior_wall", "posterior_wall"):
        points = marks[kind]
        if kind.endswith("wall"):
            end = 0 if kind == "posterior_wall" else -1
            points = np.array([marks["superior_end_plate"][end], *points, marks["inferior_end_plate"][end]])
        inner = points[1:-1]
        for before, at, after in zip(points[:-2], inner, points[2:]):
            along = (after - before) / np.linalg.norm(after - before)
            normal = np.array([-along[1], along[0]])
            normal = normal if normal @ (centre - at) > 0 else -normal
            edges.append((at, normal, along))
    return edges, centre


def main():
    if len(sys.argv) < 3:
        sys.exit(f"usage: {sys.argv[0]} RADIOGRAPH STILL [PICTURE]")
    cat, still = load(sys.argv[1]), load(sys.argv[2])
    still = 1.0 - still
    edges, centre = still_places(sys.argv[2])
    side = still.shape[0]
    yy, xx = np.mgrid[0:side, 0:side]
    inside = np.hypot(xx - side / 2, yy - side / 2) < side / 2 - 12
    x0, y0, x1, y1 = CAT_CROP
    crop = cat[y0:y1, x0:x1]
    rows = []
    for name, greys in (("radiograph", crop.ravel()), ("still", still[inside])):
        percentiles, sd = spread(greys)
        rows.append((name, [f"{p:.2f}" for p in percentiles], sd, entropy(greys)))
    print("greys between the 1st and 99th percentile: percentiles 5 25 50 75 95, sd, entropy of 64 greys")
    for name, percentiles, sd, bits in rows:
        print(f"  {name:10}  {' '.join(percentiles)}   sd {sd:.2f}   {bits:.2f} bit")
    print("10-90 % rise of bone edges in pixels: median (range), n")
    cat_edges = [(np.array(p, float), np.array(n, float) / np.hypot(*n)) for p, n in CAT_EDGES]
    cat_rises = [edge_rise(cat, p, n, np.array([-n[1], n[0]]), 12, 9)[0] for p, n in cat_edges]
    still_rises = [edge_rise(still, p, n, a, 12, 9)[0] for p, n, a in edges]
    for name, rises in (("radiograph", cat_rises), ("still", still_rises)):
        print(f"  {name:10}  {np.median(rises):.1f} ({min(rises):.1f} to {max(rises):.1f}), {len(rises)}")
    print("power within bone by octave (1/32-1/16, 1/16-1/8, 1/8-1/4, 1/4-1/2 cycles a pixel), sd in % of full scale")
    cat_grain = [grain(cat, c, 32) for c in CAT_BONE]
    step = 0.15 * side * 0.22
    still_grain = [grain(still, centre + np.array(d), 32) for d in ((0, 0), (step / 2, 0), (-step / 2, 0), (0, step / 2), (0, -step / 2))]
    for name, found in (("radiograph", cat_grain), ("still", still_grain)):
        shares = np.mean([g[0] for g in found], axis=0)
        sd = np.mean([g[1] for g in found])
        print(f"  {name:10}  {' '.join(f'{s:.2f}' for s in shares)}   sd {100 * sd:.1f}")
    if len(sys.argv) > 3:
        a = (np.clip((crop - np.percentile(crop, 1)) / np.ptp(np.percentile(crop, [1, 99.5])), 0, 1) * 255).astype(np.uint8)
        b = (np.clip(still, 0, 1) * 255).astype(np.uint8)
        height = 520
        tiles = [Image.fromarray(t).resize((round(t.shape[1] * height / t.shape[0]), height), Image.LANCZOS) for t in (a, b)]
        both = Image.new("L", (sum(t.width for t in tiles) + 10, height), 128)
        both.paste(tiles[0], (0, 0))
        both.paste(tiles[1], (tiles[0].width + 10, 0))
        both.save(sys.argv[3])


if __name__ == "__main__":
    main()
