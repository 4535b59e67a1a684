"""Bilinear maps by scikit-fem's MappingIsoparametric and projective maps by scikit-image: q4.json."""

import json
import pathlib

import numpy as np
from skfem import MeshQuad
from skimage.transform import ProjectiveTransform

# Corners in cyclic order: start-superior, end-superior, end-inferior, start-inferior.
QUADS = {
    "A": [[0, 0], [4, 0.5], [3.5, 3], [0.5, 2.5]],
    "B": [[412, 305], [268, 318], [262, 421], [405, 398]],
    "parallelogram": [[10, 20], [90, 32], [98, 92], [18, 80]],
    "turned": [[300.5, 120.25], [342.75, 251.5], [221.0, 297.0], [187.5, 160.75]],
    "wedge": [[0, 0], [120, 10], [118, 70], [2, 110]],
}
PLACES = [(0.5, 0.5), (0.25, 0.75), (0.3, 0.4), (0.9, 0.1), (0.3, 0.5), (0.0, 0.0), (1.0, 1.0), (-0.2, 0.4),
          (1.15, 1.1)]


def quad(corners):
    nodes = np.asarray(corners, dtype=float).T
    mapping = MeshQuad(nodes, np.array([[0], [1], [2], [3]])).mapping()
    homography = ProjectiveTransform.from_estimate(
        np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=float), nodes.T)
    out = []
    for place in PLACES:
        local = np.asarray(place).reshape(2, 1)
        image = mapping.F(local)[:, 0, 0]
        # scikit-fem keeps its search inside the element: outside there is only the way forward.
        inside = all(0.0 <= x <= 1.0 for x in place)
        back = mapping.invF(image.reshape(2, 1, 1))[:, 0, 0] if inside else np.asarray(place)
        det = float(mapping.detDF(local)[0, 0])
        projective = homography.inverse(image)[0]
        out.append({"at": list(place), "image": image.tolist(), "inverse": back.tolist(), "determinant": det,
                    "projective_of_the_same_point": projective.tolist()})
    return {"corners": corners, "places": out}


if __name__ == "__main__":
    here = pathlib.Path(__file__).parent
    text = json.dumps({name: quad(c) for name, c in QUADS.items()}, indent=1)
    (here / "q4.json").write_text(text + "\n")
    print(text[:600])
