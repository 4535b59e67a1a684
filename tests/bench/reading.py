"""The same readings with NumPy and SciPy: marks to depth, height and their budget. See README.md here."""

import pathlib
import statistics
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "reference"))

import budget  # noqa: E402
import lateral  # noqa: E402

# Second-order differences, two evaluations a coordinate: as few as differences can do with.
budget.STENCIL = ((-1, -0.5), (1, 0.5))
budget.gradients.__globals__["STENCIL"] = budget.STENCIL

STRAIGHT = {
    "superior_end_plate": [[412.0, 305.0], [268.0, 318.0]],
    "inferior_end_plate": [[405.0, 398.0], [262.0, 421.0]],
    "tip": [[365.4, 356.9]],
}
CURVED = {
    "superior_end_plate": [[412.0, 305.0], [364.0, 313.0], [316.0, 317.0], [268.0, 318.0]],
    "inferior_end_plate": [[405.0, 398.0], [357.0, 401.0], [309.0, 409.0], [262.0, 421.0]],
    "posterior_wall": [[405.0, 336.0], [402.0, 367.0]],
    "anterior_wall": [[272.0, 344.0], [273.0, 370.0], [269.0, 396.0]],
    "tip": [[365.4, 356.9]],
}


def median_us(work, runs):
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1e6 * statistics.median(times)


if __name__ == "__main__":
    for name, marks, runs in (("straight, 5 marks", STRAIGHT, 30), ("curved, 14 marks", CURVED, 8)):
        shot = {"stage": "final", "mm_per_px": 0.31, "marks": marks}
        tip = lateral.read(shot, details=False)["tip"]
        print(f"{name}: depth {tip['depth']['value']:.6f} sd {tip['depth']['sd']:.6f}, "
              f"height {tip['height']['value']:.6f} sd {tip['height']['sd']:.6f}")
        print(f"reading: {name}: {median_us(lambda: lateral.read(shot, details=False), runs):.0f} us")
        body = lateral.body_of(marks)
        print(f"inverse: {name}: {median_us(lambda: body.to_body(marks['tip'][0]), 20 * runs):.0f} us")
