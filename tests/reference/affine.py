"""Affine maps by NumPy and OpenCV, similarities by scikit-image, from pairs that do not fit exactly: affine.json."""

import json
import pathlib

import cv2
import numpy as np
from skimage.transform import AffineTransform, SimilarityTransform


def main():
    draw = np.random.default_rng(2026)
    cases = []
    for n in [3, 4, 6, 12, 24]:
        for mirrored in [False, True]:
            pairs = draw.uniform(0, 700, (n, 2))
            turn, zoom = draw.uniform(-np.pi, np.pi), draw.uniform(0.5, 2)
            linear = zoom * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
            flip = np.diag([1, -1 if mirrored else 1])
            to = pairs @ flip @ linear.T + draw.uniform(-200, 200, 2) + draw.normal(0, 5, (n, 2))
            solved = np.linalg.lstsq(np.c_[pairs, np.ones(n)], to, rcond=None)[0].T
            ok, by_cv = cv2.solve(np.c_[pairs, np.ones(n)], to, flags=cv2.DECOMP_SVD)
            assert ok and np.allclose(solved, by_cv.T, rtol=0, atol=1e-8)
            # scikit-image solves a homogeneous form, which is another estimate unless the pairs fit exactly.
            affine = AffineTransform.from_estimate(pairs, to).params[:2]
            assert n > 3 or np.allclose(affine, solved, rtol=0, atol=1e-8)
            # Unmirrored pairs, so that the estimate is a turn; the mirror is put back before it.
            upright = SimilarityTransform.from_estimate(pairs @ flip, to).params[:2]
            similar = np.c_[upright[:, :2] @ flip, upright[:, 2]]
            cases.append({"mirrored": mirrored, "from": pairs.tolist(), "to": to.tolist(),
                          "affine": solved.tolist(), "similarity": similar.tolist()})
    text = json.dumps(cases, indent=1)
    pathlib.Path(__file__).with_name("affine.json").write_text(text + "\n")


if __name__ == "__main__":
    main()
