#!/usr/bin/env python3
"""Images as other programs put them on the clipboard or drag them, and what must become of each.

tests/window/inputs.py make FOLDER           writes the files and a list of them: way, file, how many shots it adds
tests/window/inputs.py shots CASE.case.json  how many shots a case has

Needs Python with NumPy, Pillow and pydicom.
"""

import io
import json
import pathlib
import struct
import sys

import numpy as np
from PIL import Image

SIZE = (160, 120)


def still(seed):
    rng = np.random.default_rng(seed)
    rows, columns = np.mgrid[0 : SIZE[1], 0 : SIZE[0]]
    return (60 + columns + rows / 2 + rng.normal(0, 6, rows.shape)).clip(0, 255).astype(np.uint8)


def chunk(name, data):
    return name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)


def avi(frames):
    """Motion JPEG in AVI: the main header, one stream and its frames."""
    header = struct.pack("<I", 50_000).ljust(56, b"\0")
    stream = (b"vids" + b"MJPG").ljust(56, b"\0")
    head = b"hdrl" + chunk(b"avih", header) + chunk(b"strh", stream)
    movi = b"movi" + b"".join(chunk(b"00dc", frame) for frame in frames)
    return chunk(b"RIFF", b"AVI " + chunk(b"LIST", head) + chunk(b"LIST", movi))


def dicom(path, frames):
    from pydicom.dataset import FileDataset, FileMetaDataset
    from pydicom.uid import ExplicitVRLittleEndian, generate_uid

    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = "1.2.840.10008.5.1.4.1.1.7"
    meta.MediaStorageSOPInstanceUID = generate_uid()
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    data = FileDataset(str(path), {}, file_meta=meta, preamble=b"\0" * 128)
    data.SOPClassUID, data.SOPInstanceUID = meta.MediaStorageSOPClassUID, meta.MediaStorageSOPInstanceUID
    data.Rows, data.Columns, data.SamplesPerPixel = SIZE[1], SIZE[0], 1
    data.PhotometricInterpretation, data.PixelRepresentation = "MONOCHROME2", 0
    data.BitsAllocated, data.BitsStored, data.HighBit = 8, 8, 7
    if len(frames) > 1:
        data.NumberOfFrames = len(frames)
    data.PixelData = b"".join(frame.tobytes() for frame in frames)
    data.save_as(path, enforce_file_format=True)


def make(folder):
    listed = []

    def add(way, name, shots):
        listed.append((way, name, shots))

    def saved(way, name, image, shots=1, **how):
        image.save(folder / name, **how)
        add(way, name, shots)

    def written(way, name, data, shots):
        (folder / name).write_bytes(data)
        add(way, name, shots)

    gray = Image.fromarray(still(1))
    colour = Image.merge("RGB", [gray, Image.fromarray(still(2)), gray])
    # What programs put on the clipboard as image/png.
    saved("paste", "gray.png", gray)
    saved("paste", "colour.png", colour)
    saved("paste", "palette.png", colour.quantize(16))
    saved("paste", "bilevel.png", gray.convert("1"))
    saved("paste", "opacity.png", Image.merge("RGBA", [*colour.split(), gray]))
    saved("paste", "gray-opacity.png", Image.merge("LA", [gray, gray]))
    saved("paste", "deep.png", Image.fromarray(still(3).astype(np.uint16) * 200))
    saved("paste", "optimized.png", gray, optimize=True)
    saved("paste", "tiny.png", Image.new("L", (1, 1), 7))
    saved("paste", "large.png", gray.resize((2400, 1800)))
    written("paste", "broken.png", (folder / "gray.png").read_bytes()[:200], 0)
    written("text", "words.txt", b"no image at all", 0)
    # What file managers and browsers drag.
    saved("drop", "dragged.png", gray)
    saved("drop", "dragged.jpg", gray)
    saved("drop", "dragged.tif", Image.fromarray(still(4).astype(np.uint16) * 200))
    saved("drop", "dragged.bmp", gray)
    saved("drop", "dragged.webp", colour, lossless=True)
    saved("drop", "dragged.gif", gray)
    saved("drop", "dragged.pgm", gray)
    saved("drop", "dragged.ppm", colour)
    written("drop", "dragged.pbm", b"P1\n8 2\n1 0 1 0 1 0 1 0\n0 1 0 1 0 1 0 1\n", 1)
    frames = [Image.fromarray(still(seed)) for seed in range(5, 9)]
    saved("drop", "film.gif", frames[0], save_all=True, append_images=frames[1:], duration=80)
    jpegs = []
    for frame in frames:
        held = io.BytesIO()
        frame.save(held, "JPEG")
        jpegs.append(held.getvalue())
    written("drop", "film.avi", avi(jpegs), 1)
    dicom(folder / "one.dcm", [still(9)])
    add("drop", "one.dcm", 1)
    dicom(folder / "many.dcm", [still(10), still(11)])
    add("drop", "many.dcm", 1)
    saved("drop", "spaces und Ümlaute %20.png", gray)
    (folder / "a folder").mkdir()
    for number in (1, 2, 3):
        Image.fromarray(still(20 + number)).save(folder / "a folder" / f"{number}.png")
    add("drop", "a folder", 3)
    written("drop", "page.html", b"<!DOCTYPE html><html></html>", 0)
    written("drop", "drawing.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", 0)
    written("drop", "empty.png", b"", 0)
    written("drop", "cut.png", (folder / "gray.png").read_bytes()[:300], 0)
    written("drop", "table.csv", b"a,b\n1,2\n", 0)
    add("drop", "not-there.png", 0)
    with (folder / "list").open("w") as out:
        out.writelines(f"{way}\t{name}\t{shots}\n" for way, name, shots in listed)


def main():
    what, path = sys.argv[1], pathlib.Path(sys.argv[2])
    if what == "make":
        make(path)
    else:
        print(len(json.loads(path.read_text())["shots"]))


if __name__ == "__main__":
    main()
