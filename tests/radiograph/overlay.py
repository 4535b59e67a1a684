"""Proposed outlines on a real lateral spine radiograph, drawn for looking at.

    python3 tests/radiograph/convert.py FOLDER                # writes FOLDER/radiograph.png
    cargo build --release --example shaped
    python3 tests/radiograph/overlay.py FOLDER target/release/examples/shaped OUT.jpg

The radiograph is of a cat (package `deid-data`, MIT License), lying on its side, its bodies two to three times as long
as they are deep. It is turned head up and cut to its lumbar bodies. For each of four bodies the same two clicks are
tried twice: with the usual form of a human body, and with the form of the first of these bodies, measured by eye.
Needs NumPy and Pillow.
"""

import pathlib
import subprocess
import sys

import numpy as np
from PIL import Image, ImageDraw

LEFT, TOP, WIDE, HIGH = 1614, 1950, 650, 1000
# Middle of the posterior and of the anterior wall, in pixels of the part that is cut out.
CLICKS = [((272, 143), (237, 146)), ((304, 322), (260, 325)), ((323, 520), (284, 522)), ((352, 730), (310, 735))]
# Depth, height, posterior and anterior waist of the second body, in pixels, somewhat narrower.
FORM = "57,162,9,11"
TILE = (190, 240)
SCALE = 3


def outline(lines):
    marks = {}
    for line in lines:
        key, *places = line.split()
        marks[key] = [tuple(map(float, place.split(","))) for place in places]
    superior, inferior = marks["superior_end_plate"], marks["inferior_end_plate"]
    return [
        superior,
        inferior,
        [superior[0], *marks["posterior_wall"], inferior[0]],
        [superior[-1], *marks["anterior_wall"], inferior[-1]],
    ]


def main():
    folder, program, out = pathlib.Path(sys.argv[1]), sys.argv[2], sys.argv[3]
    turned = np.rot90(np.array(Image.open(folder / "radiograph.png")), -1)
    part = np.ascontiguousarray(turned[TOP : TOP + HIGH, LEFT : LEFT + WIDE]).astype(np.uint16) * 16
    picture = folder / "part.png"
    Image.fromarray(part).save(picture)
    low, high = np.quantile(part, [0.05, 0.997])
    shown = Image.fromarray((np.clip((part - low) / (high - low), 0, 1) * 255).astype(np.uint8)).convert("RGB")
    tiles = []
    for posterior, anterior in CLICKS:
        for form in ([], [FORM]):
            clicks = [f"{x},{y}" for x, y in (posterior, anterior)]
            said = subprocess.run([program, picture, *clicks, *form], capture_output=True, text=True, check=True).stdout
            lines = said.strip().splitlines()
            centre = np.mean([posterior, anterior], 0)
            corner = centre - np.array(TILE) / 2
            tile = shown.crop((*corner, *(corner + TILE))).resize((TILE[0] * SCALE, TILE[1] * SCALE), Image.LANCZOS)
            draw = ImageDraw.Draw(tile)
            place = lambda p: tuple((np.array(p) - corner) * SCALE)
            if lines[0].startswith("refused"):
                draw.text((8, 8), lines[0].split(":")[0], fill=(255, 230, 90), font_size=22)
            else:
                for border in outline(lines):
                    draw.line([place(p) for p in border], fill=(90, 230, 255), width=3)
                    for p in border:
                        x, y = place(p)
                        draw.ellipse((x - 4, y - 4, x + 4, y + 4), outline=(90, 230, 255), width=2)
            for click in (posterior, anterior):
                x, y = place(click)
                draw.line((x - 9, y, x + 9, y), fill=(255, 120, 60), width=3)
                draw.line((x, y - 9, x, y + 9), fill=(255, 120, 60), width=3)
            print(*clicks, *form, lines[0])
            tiles.append(tile)
    columns = len(CLICKS)
    sheet = Image.new("RGB", (columns * tiles[0].width, 2 * tiles[0].height))
    for i, tile in enumerate(tiles):
        sheet.paste(tile, ((i // 2) * tile.width, (i % 2) * tile.height))
    sheet.resize((sheet.width // 2, sheet.height // 2), Image.LANCZOS).save(out, quality=85)


if __name__ == "__main__":
    main()
