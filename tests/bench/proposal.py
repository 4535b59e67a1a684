"""The same proposals by a prototype in Python; called by proposal.rs with the prototype's folder and the folder that it wrote.

The prototype is what the method was first tried with: modules `conf` (five fits), `track` (metal and the path to its end) and
`reg` (registration), on NumPy, OpenCV and Numba, on one core. Prints the least processor time of some runs in milliseconds for the
proposal from two clicks, for a further shot and for a fit again, and where their borders lie, in pixels.
"""

import json
import pathlib
import sys
import time

import cv2
import numpy as np

RUNS = 9


def least(work):
    """The least processor time of some runs in milliseconds, after one that is not counted, and what the work gives."""
    result = work()
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        result = work()
        times.append(time.process_time() - start)
    return 1e3 * min(times), result


def main():
    sys.path.insert(0, sys.argv[1])
    folder = pathlib.Path(sys.argv[2])
    cv2.setNumThreads(1)
    import conf
    import reg
    import track

    scene = json.loads((folder / "scene.json").read_text())
    side, mm = scene["side"], scene["mm_per_px"]
    first, second = (
        (np.fromfile(folder / name, np.uint16).reshape(side, side) / 65535).astype(np.float32)
        for name in ("first", "second")
    )
    clicks = np.array([scene["posterior"], scene["anterior"]])
    facing = float(np.sign(clicks[1, 0] - clicks[0, 0]))
    sds = [(1.2, 3.0), (1.2, 3.0)]

    def found(picture):
        mask, polarity, field = track.metal2(picture, mm)
        return mask, polarity, field.astype(np.uint8)

    def tip(picture, pre, middle):
        path = track.track(picture, mm, pre, middle)
        return track.end_of(path) if path else None

    def proposal():
        pre = found(first)
        fits = conf.ensemble(first, mm, ["PM", "AM"], clicks, sds, facing, pre)
        return pre, fits, tip(first, pre, clicks.mean(0))

    def further(fits):
        # A marked shot's instrument and field have to be found, too.
        before, after = found(first), found(second)
        start = reg.coarse(first, before, second, after, mm, mm, clicks.mean(0))[0]
        to_second = reg.refine(first, before, second, after, start, mm, fits["A"])[0]
        patch = conf.Patch(second, after[0], after[1], after[2], to_second, mm)
        again = conf.Cfg()
        again.prior_mu = fits["th"]
        again.prior_sd = np.array([1.5, 1.5, 0.04] + [0.03] * 5 + [0.4, 0.3, 0.4, 0.3, 0.4, 0.4])
        shapes = []
        for x, y in conf.JIT:
            shape = fits["th"].copy()
            shape[:2] += x, y
            shapes.append(conf.fit(patch, shape, [], np.zeros((0, 2)), [], again, [5.0] * 4)[0])
        return to_second, np.mean(shapes, 0), tip(second, after, clicks.mean(0))

    def again(fits):
        last = conf.Cfg()
        last.sched = conf.SCHED[-2:]
        return conf.fit(fits["P"], fits["th"], ["PM", "AM"], fits["pts"], sds, last)[0]

    def corners(to_image, shape):
        return np.round(conf.to_img(to_image, conf.corners(shape)), 1).tolist()

    milliseconds = {}
    milliseconds["proposal"], (_, fits, _) = least(proposal)
    milliseconds["further"], (to_second, shape, _) = least(lambda: further(fits))
    milliseconds["again"], refitted = least(lambda: again(fits))
    places = {
        "proposal": corners(fits["A"], fits["th"]),
        "further": corners(to_second, shape),
        "again": corners(fits["A"], refitted),
    }
    print(json.dumps({"milliseconds": milliseconds, "corners": places}))


if __name__ == "__main__":
    main()
