"""Compares what this project reads from DICOM files with what pydicom reads, file by file and frame by frame.

The files are those that ship in PyPI pydicom 3.0.2, pydicom-data 1.0.0 and deid-data 0.0.20. Peers that decode what
pydicom leaves to plugins: pylibjpeg with its libjpeg and openjpeg plugins, pyjpegls.

    python compare.py STILLMARK_CLI [--table FILE.md]

A frame is *equal* if every stored value and every modality value agrees; *lossy* if the stored values differ by at
most one grey of 8 bits (JPEG and colour conversions may round differently; of a colour JPEG, whose halved colours
every decoder widens in its own way, by at most one from the range that pydicom's two decoders span, but for one pixel
in a million that may differ by two); *refused* if this project says one
sentence instead. Anything else is *different* or *panicked*, and makes the exit status 1.
"""
import argparse
import collections
import copy
import importlib.util
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import warnings

import numpy as np
from PIL import Image

warnings.simplefilter("ignore")
import logging

logging.disable(logging.CRITICAL)

import pydicom
from pydicom.pixels import apply_color_lut, apply_modality_lut, pixel_array

Image.MAX_IMAGE_PIXELS = None


def folders():
    """Package name and folder of the files of each package."""
    for package, module in (("pydicom", "pydicom"), ("pydicom-data", "data_store"), ("deid-data", "deid_data")):
        spec = importlib.util.find_spec(module)
        if spec is None:
            sys.exit(f"{package} is not installed")
        yield package, pathlib.Path(next(iter(spec.submodule_search_locations)))


def is_candidate(path):
    if path.suffix in {".py", ".pyc", ".json", ".txt", ".csv", ".md", ".pyi", ".typed", ".png", ".jpg", ".gz", ".zip", ".db",
                       ".html", ".xml", ".cfg", ".toml", ".rst", ".so", ".hashes"}:
        return False
    return path.is_file() and path.stat().st_size > 0


def ours(cli, path, frame):
    """Facts and stored values of a frame, or the refusal."""
    said = subprocess.run([cli, "frame", path, "--frame", str(frame)], capture_output=True, text=True, timeout=120)
    if said.returncode != 0:
        good = said.returncode == 2 and len(said.stderr.strip().splitlines()) == 1 and "panicked" not in said.stderr
        return ("refused" if good else "panicked"), said.stderr.strip(), None
    facts = json.loads(said.stdout)
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "frame.png")
        said = subprocess.run([cli, "frame", path, "--frame", str(frame), "--out", out], capture_output=True, text=True, timeout=120)
        if said.returncode != 0:
            return "panicked", said.stderr.strip(), None
        samples = np.asarray(Image.open(out)).astype(np.int64)
    return "read", facts, samples


def luma(rgb):
    """ITU-R BT.709, rounded half up, as the documentation of this project says."""
    rgb = rgb.astype(np.int64)
    return (2126 * rgb[..., 0] + 7152 * rgb[..., 1] + 722 * rgb[..., 2] + 5000) // 10000


def peer(ds, frame):
    """Stored values, modality values (or None) and bits of a frame as pydicom has them."""
    values = pixel_array(ds, index=frame)
    syntax = ds.file_meta.get("TransferSyntaxUID", pydicom.uid.ImplicitVRLittleEndian)
    photometric = ds.get("PhotometricInterpretation", "")
    bits = int(ds.get("BitsStored", 8))
    if photometric == "PALETTE COLOR":
        if not syntax.is_little_endian and "SegmentedRedPaletteColorLookupTableData" not in ds:
            # pydicom takes the table's words for little endian; in these files they are not (PS3.5, 7.3).
            ds = copy.deepcopy(ds)
            for colour in ("Red", "Green", "Blue"):
                name = f"{colour}PaletteColorLookupTableData"
                setattr(ds, name, np.frombuffer(ds[name].value, ">u2").astype("<u2").tobytes())
        rgb = apply_color_lut(values, ds)
        return luma(rgb), None, 8 if rgb.dtype == np.uint8 else 16, True
    if values.ndim == 3:
        return luma(values), None, bits, True
    values = values.astype(np.int64)
    allocated = int(ds.BitsAllocated)
    stored = values
    if bits < allocated <= 16:
        # pydicom gives whole words; only the stored bits count, with their sign (PS3.5, 8.1.1).
        high = int(ds.get("HighBit", bits - 1))
        shift = high + 1 - bits if not syntax.is_compressed else 0
        stored = (values >> shift) & ((1 << bits) - 1)
        if int(ds.get("PixelRepresentation", 0)) == 1:
            stored = np.where(stored >= 1 << (bits - 1), stored - (1 << bits), stored)
    modality = None
    if np.array_equal(stored, values):
        modality = np.asarray(apply_modality_lut(pixel_array(ds, index=frame), groups(ds, frame)), dtype=np.float64)
    return stored, modality, bits, False


def groups(ds, frame):
    """The data set that holds a frame's modality transform: pydicom does not look into functional groups."""
    own = ds.get("PerFrameFunctionalGroupsSequence", [])[frame:frame + 1]
    for group in [*own, *ds.get("SharedFunctionalGroupsSequence", [])[:1]]:
        for item in group.get("PixelValueTransformationSequence", [])[:1]:
            return item
    return ds


def spread(ds, frame, stored):
    """How far apart pydicom's decoders of a lossy colour JPEG lie: the range that its pixels may be in."""
    low = high = stored
    uid = ds.file_meta.get("TransferSyntaxUID")
    if uid == pydicom.uid.JPEGBaseline8Bit and ds.SamplesPerPixel == 3:
        other = luma(pixel_array(ds, index=frame, decoding_plugin="pillow"))
        low, high = np.minimum(low, other), np.maximum(high, other)
    return low, high


def modality_of(facts, stored):
    how = facts["modality"]
    if "slope" in how:
        return how["slope"] * stored.astype(np.float64) + how["intercept"]
    table = np.asarray(how["values"], dtype=np.float64)
    return table[np.clip(stored - how["first"], 0, len(table) - 1)]


def compare(cli, path):
    """Outcome, the syntax, and a remark."""
    try:
        ds = pydicom.dcmread(path, force=True)
        has_pixels = "PixelData" in ds
    except Exception:
        ds, has_pixels = None, False
    meta = getattr(ds, "file_meta", None)
    uid = meta.get("TransferSyntaxUID") if meta is not None else None
    syntax = uid.name if uid is not None and uid.name else "no transfer syntax"
    how, facts, samples = ours(cli, path, 0)
    if how == "panicked":
        return how, syntax, facts
    if how == "refused":
        sentence = facts.split(": ", 1)[-1]
        if has_pixels:
            try:
                pixel_array(ds, index=0)
            except Exception as error:
                return "refused by both", syntax, sentence
            return "refused", syntax, sentence
        return "no picture", syntax, sentence
    count = facts["frames"]
    frames = range(count) if count <= 8 else (0, 1, count // 2, count - 1)
    worst, exact, twos = 0.0, True, 0
    for frame in frames:
        if frame > 0:
            how, facts, samples = ours(cli, path, frame)
            if how != "read":
                try:
                    pixel_array(ds, index=frame)
                except Exception:
                    continue
                return ("different" if how == "refused" else how), syntax, f"frame {frame}: {facts}"
        try:
            stored, modality, bits, colour = peer(ds, frame)
        except Exception as error:
            return "read, pydicom refuses", syntax, f"{type(error).__name__}: {error}".splitlines()[0][:150]
        mine = samples + facts["stored_offset"]
        if mine.shape != stored.shape:
            return "different", syntax, f"shape {mine.shape} for {stored.shape}"
        low, high = spread(ds, frame, stored)
        outside = np.maximum(np.maximum(low - mine, mine - high), 0)
        if colour and outside.max() == 2 and (outside == 2).sum() <= max(1, outside.size / 1e6):
            twos += int((outside == 2).sum())
            outside = np.minimum(outside, 1)
        off = int(outside.max()) / max(1, 2 ** (bits - 8))
        exact = exact and np.array_equal(mine, stored)
        worst = max(worst, off)
        if off == 0 and modality is not None:
            gap = np.abs(modality_of(facts, mine) - modality).max()
            if gap > 1e-6 * max(1.0, float(np.abs(modality).max())):
                return "different", syntax, f"modality values differ by {gap}"
    if exact:
        return "equal", syntax, ""
    remark = f"greatest difference {worst:.3g} of 8 bits" + (f"; {twos} pixels with 2" if twos else "")
    return ("lossy" if worst <= 1 else "different"), syntax, remark


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("cli")
    parser.add_argument("--table")
    args = parser.parse_args()
    rows, seen = [], set()
    for package, folder in folders():
        for path in sorted(folder.rglob("*")):
            if not is_candidate(path) or (path.name, path.stat().st_size) in seen:
                continue
            head = path.read_bytes()[:140]
            named = path.suffix.lower() in {".dcm", ".ima", ".dic"} or "dicom" in str(path).lower()
            if head[128:132] != b"DICM" and not named:
                continue
            seen.add((path.name, path.stat().st_size))
            outcome, syntax, remark = compare(args.cli, str(path))
            if outcome == "different":
                # A difference counts if it is there twice: once, on a machine short of time, pydicom gave three files
                # other values than in every run before and after.
                outcome, syntax, remark = compare(args.cli, str(path))
            rows.append((package, str(path.relative_to(folder)), outcome, syntax, remark))
    order = ["equal", "lossy", "refused", "refused by both", "read, pydicom refuses", "no picture", "different", "panicked"]
    totals = collections.Counter(row[2] for row in rows)
    by_syntax = collections.defaultdict(collections.Counter)
    for row in rows:
        by_syntax[row[3]][row[2]] += 1
    lines = [f"| transfer syntax | {' | '.join(order)} |", f"|---|{'--:|' * len(order)}"]
    for syntax in sorted(by_syntax):
        lines.append(f"| {syntax} | " + " | ".join(str(by_syntax[syntax][o] or "") for o in order) + " |")
    lines.append("| **all** | " + " | ".join(f"**{totals[o]}**" for o in order) + " |")
    lines += ["", "| file | outcome | remark |", "|---|---|---|"]
    for package, name, outcome, syntax, remark in rows:
        if outcome in ("equal", "no picture"):
            continue
        remark = remark.replace("|", "/")
        lines.append(f"| {package}: {name} | {outcome} | {remark} |")
    text = "\n".join(lines) + "\n"
    if args.table:
        pathlib.Path(args.table).write_text(text)
    print(text)
    print(f"{len(rows)} files: " + ", ".join(f"{totals[o]} {o}" for o in order))
    return 1 if totals["different"] or totals["panicked"] else 0


sys.exit(main())
