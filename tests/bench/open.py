"""How long pictures take to open, beside the fastest of Pillow, OpenCV and pydicom in the same run; and a folder of
mixed frames as the window opens it.

    pip install pillow opencv-python-headless pydicom numpy
    cargo bench --bench open          # builds the program that is timed
    python3 tests/bench/open.py [NUMBER OF FRAMES IN THE FOLDER]

Frames are made here: 1024 x 1024, a smooth body with noise, as a fluoroscope saves them. Each file is opened five
times by each program, in three turns of all programs, and the fastest counts. For the library, opening includes what
is said of the file; its digest is made beside the decoding, and how long both take together stands in a column of its
own, since the peers make none. JPEG 2000 is decoded in a process of its own, as the programs do it. Peers use all cores
where they can.
"""

import io
import json
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import PIL
import cv2
import numpy as np
import pydicom
from PIL import Image
from pydicom.dataset import FileDataset, FileMetaDataset
from pydicom.encaps import encapsulate
from pydicom.uid import (
    ExplicitVRLittleEndian,
    JPEG2000Lossless,
    JPEGBaseline8Bit,
    RLELossless,
    SecondaryCaptureImageStorage,
    generate_uid,
)

SIDE = 1024
# Another profile, such as `dev`, for a quick look; its figures are no measure.
PROFILE = ["--profile", os.environ["PROFILE"]] if "PROFILE" in os.environ else []
ROUNDS = 5
TURNS = 3


def body(seed, bits):
    """A round field with a soft body and noise, `bits` deep."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:SIDE, 0:SIDE] / SIDE - 0.5
    picture = 0.55 + 0.2 * np.sin(9 * x + seed) * np.cos(7 * y) + rng.normal(0, 0.01, (SIDE, SIDE))
    picture[np.hypot(x, y) > 0.48] = 0
    most = (1 << bits) - 1
    return np.clip(picture * most, 0, most).astype(np.uint8 if bits == 8 else np.uint16)


def dicom(path, pixels, syntax):
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = SecondaryCaptureImageStorage
    meta.MediaStorageSOPInstanceUID = generate_uid()
    meta.TransferSyntaxUID = syntax
    data = FileDataset(str(path), {}, file_meta=meta, preamble=b"\0" * 128)
    data.SOPClassUID = meta.MediaStorageSOPClassUID
    data.SOPInstanceUID = meta.MediaStorageSOPInstanceUID
    data.Rows, data.Columns = pixels.shape
    bits = 8 * pixels.dtype.itemsize
    data.BitsAllocated, data.SamplesPerPixel, data.PixelRepresentation = bits, 1, 0
    data.BitsStored = 8 if bits == 8 else 12
    data.HighBit = data.BitsStored - 1
    data.PhotometricInterpretation = "MONOCHROME2"
    if syntax == ExplicitVRLittleEndian:
        data.PixelData = pixels.tobytes()
    elif syntax == RLELossless:
        data.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
        data.PixelData = pixels.tobytes()
        data["PixelData"].VR = "OW"
        data.compress(RLELossless, encoding_plugin="pydicom")
    else:
        buffer = io.BytesIO()
        if syntax == JPEGBaseline8Bit:
            Image.fromarray(pixels).save(buffer, "JPEG", quality=92)
        else:
            Image.fromarray(pixels).save(buffer, "JPEG2000", irreversible=False, no_jp2=True)
        data.PixelData = encapsulate([buffer.getvalue()])
        data["PixelData"].VR = "OB"
        data["PixelData"].is_undefined_length = True
    data.save_as(path, enforce_file_format=True)


def write(path, kind, seed):
    bits = 8 if kind in ("png 8", "jpeg", "bmp", "dicom jpeg") else 12
    pixels = body(seed, bits)
    if kind.startswith("dicom"):
        syntax = {
            "dicom": ExplicitVRLittleEndian,
            "dicom rle": RLELossless,
            "dicom jpeg": JPEGBaseline8Bit,
            "dicom jpeg 2000": JPEG2000Lossless,
        }[kind]
        dicom(path, pixels, syntax)
    elif kind == "tiff lzw":
        Image.fromarray(pixels).save(path, compression="tiff_lzw")
    elif kind == "tiff deflate":
        Image.fromarray(pixels).save(path, compression="tiff_adobe_deflate")
    elif kind == "jpeg":
        Image.fromarray(pixels).save(path, quality=92)
    else:
        Image.fromarray(pixels).save(path)


KINDS = {
    "png 8": ".png",
    "png 16": ".png",
    "jpeg": ".jpg",
    "bmp": ".bmp",
    "tiff": ".tif",
    "tiff lzw": ".tif",
    "tiff deflate": ".tif",
    "dicom": ".dcm",
    "dicom rle": ".dcm",
    "dicom jpeg": ".dcm",
    "dicom jpeg 2000": ".dcm",
}


def versions():
    """The peers' versions, and on how many cores they may work."""
    told = [f"Pillow {PIL.__version__}", f"OpenCV {cv2.__version__} on {cv2.getNumThreads()} cores", f"pydicom {pydicom.__version__}"]
    return f"{', '.join(told)}; of {os.cpu_count()} cores"


def fastest(opens):
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        opens()
        best = min(best, time.perf_counter() - start)
    return best


def peers(path, kind):
    """Seconds by each peer that opens the file."""
    ways = {}
    if kind.startswith("dicom"):
        ways["pydicom"] = lambda: pydicom.dcmread(path).pixel_array
    else:
        ways["Pillow"] = lambda: np.asarray(Image.open(path))
        ways["OpenCV"] = lambda: cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    found = {}
    for name, opens in ways.items():
        try:
            found[name] = fastest(opens)
        except Exception as error:  # a peer that cannot open it is left out
            print(f"{name} leaves {kind} out: {error}", file=sys.stderr)
    return found


def bench(arguments):
    run = subprocess.run(
        ["cargo", "bench", "--locked", *PROFILE, "--bench", "open", "--", "--apart", *map(str, arguments)],
        capture_output=True,
        text=True,
        check=True,
    )
    return [json.loads(line) for line in run.stdout.splitlines() if line.startswith("{")]


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    with tempfile.TemporaryDirectory() as place:
        place = pathlib.Path(place)
        one = {kind: place / f"one-{i}{ending}" for i, (kind, ending) in enumerate(KINDS.items())}
        for i, (kind, path) in enumerate(one.items()):
            write(path, kind, i)
        ours, digest, theirs = {}, {}, {}
        for _ in range(TURNS):
            for line in bench(one.values()):
                file = line["file"]
                ours[file] = min(line["seconds"], ours.get(file, float("inf")))
                digest[file] = min(line["with_digest"], digest.get(file, float("inf")))
            for kind, path in one.items():
                for name, seconds in peers(path, kind).items():
                    theirs.setdefault(kind, {})
                    theirs[kind][name] = min(seconds, theirs[kind].get(name, float("inf")))
        print("| format | library | with its digest | fastest peer | ratio |\n| --- | --- | --- | --- | --- |")
        ratios = []
        for kind, path in one.items():
            found = theirs.get(kind, {})
            name = min(found, key=found.get) if found else None
            own, whole = ours.get(str(path), float("inf")), digest.get(str(path), float("inf"))
            if name is None or own == float("inf"):
                print(f"| {kind} | {1000 * own:.2f} ms | {1000 * whole:.2f} ms | none | |")
                continue
            peer = found[name]
            ratios.append(own / peer)
            print(f"| {kind} | {1000 * own:.2f} ms | {1000 * whole:.2f} ms | {1000 * peer:.2f} ms ({name}) | {own / peer:.2f} |")
        mean = statistics.geometric_mean(ratios) if ratios else float("nan")
        print(f"| geometric mean of {len(ratios)} | | | | {mean:.2f} |")
        print(f"Peers: {versions()}.")
        folder = place / "folder"
        folder.mkdir()
        for i in range(count):
            kind = list(KINDS)[i % len(KINDS)]
            target = folder / f"frame-{i:03}{KINDS[kind]}"
            if i < 3 * len(KINDS):
                write(target, kind, i)
            else:
                # The content repeats; the files do not.
                source = folder / f"frame-{i % (3 * len(KINDS)):03}{KINDS[kind]}"
                target.write_bytes(source.read_bytes())
        print(json.dumps(bench([folder])[0]))


if __name__ == "__main__":
    main()
