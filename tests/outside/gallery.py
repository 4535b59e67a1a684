"""The gallery of docs/gallery.md: every kind of figure at every width on both grounds, from the demonstration and from the
same case with annotations as a lecturer makes them and both probes in one frame. Arguments: the command line, the case, the folder of the docs."""

import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

CLI, CASE, DOCS = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
LATERALS = ["l4-right-lateral-pedicle", "l4-right-lateral-posterior_wall", "l4-right-lateral-stylet", "l4-right-lateral-final"]
STYLET, FINAL, AP = LATERALS[2], LATERALS[3], "l4-right-ap-final"
KINDS = {
    "shot": ("One shot", [FINAL]),
    "before_after": ("Before and after", [STYLET, FINAL]),
    "pair": ("Lateral and AP", [FINAL, AP]),
    "sequence": ("Sequence of five", [*LATERALS, AP]),
}
WIDTHS = {
    "single": "85 mm",
    "one_and_half": "120 mm",
    "double": "175 mm",
    "slide": "slide 16:9",
    "slide_4_3": "slide 4:3",
    "poster": "poster, 600 mm",
}
# The longest side of one figure in the gallery, in pixels.
LONGEST, QUALITY, BETWEEN = 640, 82, 12


def second_probe(picture, tip, start):
    """The picture with another probe that ends at a place: a dark, slightly soft line as metal casts it."""
    values = np.asarray(picture).astype(float)
    mask = Image.new("L", picture.size)
    ImageDraw.Draw(mask).line([start, tip], fill=190, width=9)
    shadow = np.asarray(mask.filter(ImageFilter.GaussianBlur(1.2))).astype(float) / 255.0
    return Image.fromarray((values * (1.0 - shadow)).astype(np.asarray(picture).dtype))


def with_both_probes(case, work):
    """The final lateral and AP show both probes in one frame: each picture belongs to a shot of either side."""
    shots = {shot["id"]: shot for shot in case["shots"]}
    for name in (FINAL, AP):
        shot = shots[name]
        marks = shot["marks"]
        x, y = marks["tip"][0] if isinstance(marks["tip"][0], list) else marks["tip"]
        # The lateral's comes from behind like the first, the AP's from the other side.
        other = (x + 14.0, y + 13.0) if name == FINAL else (x - 26.0, y + 9.0)
        start = (other[0] + 240.0, other[1] - 30.0) if name == FINAL else (other[0] - 150.0, other[1] - 120.0)
        out = work / f"both-{name}.png"
        second_probe(Image.open(work / shot["image"]), other, start).save(out)
        shot["image"] = out.name
        shot.pop("digest", None)
        left = json.loads(json.dumps(shot))
        left["id"], left["side"], left["labels"] = name.replace("right", "left"), "left", []
        left["marks"]["tip"] = [list(other)] if isinstance(marks["tip"][0], list) else list(other)
        case["shots"].append(left)
    return case


def annotated(case):
    """Seven annotations on the final lateral, two of them on the shot before, one of them an inset."""
    shots = {shot["id"]: shot for shot in case["shots"]}
    for name in (STYLET, FINAL):
        marks = shots[name]["marks"]
        tip = marks["tip"][0] if isinstance(marks["tip"][0], list) else marks["tip"]
        top, bottom = marks["superior_end_plate"], marks["inferior_end_plate"]
        labels = [
            {"kind": "text", "points": [tip], "text": "tip"},
            {"kind": "number", "points": [top[0]], "text": "posterior-superior corner"},
        ]
        if name == FINAL:
            middle = [0.5 * (top[0][i] + bottom[0][i]) for i in (0, 1)]
            labels += [
                {"kind": "number", "points": [top[-1]], "text": "anterior-superior corner"},
                {"kind": "arrow", "points": [[middle[0] + 60, middle[1] + 40], middle], "text": "posterior wall"},
                {"kind": "text", "points": [bottom[len(bottom) // 2]], "text": "inferior endplate"},
                {"kind": "length", "points": [top[0], bottom[0]]},
                {"kind": "inset", "points": [[tip[0] - 26, tip[1] - 20], [tip[0] + 26, tip[1] + 20]], "text": "the tip, larger", "times": 2},
            ]
        shots[name]["labels"] = labels
    return case


def figure(case, shots, options, out):
    made = subprocess.run([CLI, "figure", str(case), *shots, *options, "--letters", "--scale-bar", "--out", str(out)],
                          capture_output=True, text=True, check=False)
    if made.returncode != 0:
        sys.exit(f"{out.name}: {made.stderr}")
    picture = Image.open(out).convert("RGB")
    scale = LONGEST / max(picture.size)
    return picture.resize([max(1, round(scale * side)) for side in picture.size], Image.LANCZOS)


def beside(pictures):
    width = sum(picture.width for picture in pictures) + BETWEEN * (len(pictures) - 1)
    sheet = Image.new("RGB", (width, max(picture.height for picture in pictures)), "#808080")
    x = 0
    for picture in pictures:
        sheet.paste(picture, (x, 0))
        x += picture.width + BETWEEN
    return sheet


def main():
    case = json.loads(CASE.read_text())
    gallery = DOCS / "gallery"
    gallery.mkdir(exist_ok=True)
    lines = [
        "# Gallery of figures",
        "",
        "Every kind of figure at every width, on a light and on a dark ground, as the command line writes it",
        "(`bash .ci/gallery.sh` makes this page anew). What is measured of them is in `tests/it/layouts.rs`: the share of the page",
        "that is image, the least type, words that are clipped or lie on others, contrast, and that the legend names what is",
        "drawn and nothing else.",
        "",
    ]
    with tempfile.TemporaryDirectory() as folder:
        work = pathlib.Path(folder)
        # Images outside a case's folder are not opened.
        for image in {shot["image"] for shot in case["shots"]}:
            (work / image).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(CASE.parent / image, work / image)
        plain, cluttered = work / "plain.case.json", work / "cluttered.case.json"
        plain.write_text(json.dumps(case))
        cluttered.write_text(json.dumps(with_both_probes(annotated(json.loads(json.dumps(case))), work)))
        for file, title, name in ((plain, "The demonstration", "plain"), (cluttered, "The same with annotations and both probes in one frame", "annotated")):
            lines += [f"## {title}", ""]
            for kind, (said, shots) in KINDS.items():
                lines += [f"### {said}", ""]
                for width, wide in WIDTHS.items():
                    options = ["--kind", kind, "--width", width]
                    both = [figure(file, shots, [*options, "--ground", ground], work / f"{kind}-{width}-{ground}.png")
                            for ground in ("light", "dark")]
                    out = gallery / f"{name}-{kind}-{width}.jpg"
                    beside(both).save(out, quality=QUALITY, optimize=True)
                    lines += [f"{wide}:", "", f"![{said}, {wide}, {title.lower()}, light and dark](gallery/{out.name})", ""]
    (DOCS / "gallery.md").write_text("\n".join(lines).rstrip() + "\n")


main()
