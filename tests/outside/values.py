"""Compares the samples that this project reads from generated image files with what other programs read from them.

Raster files are written by Pillow and OpenCV and read again by both; DICOM files are written by pydicom (and coded by Pillow,
pyjpegls and pydicom's own coders) and read again by pydicom and gdcm. Every file has another size, depth, sign, layout and
content, drawn from a seed.

    python values.py STILLMARK_CLI [--files N] [--seed S] [--page docs/hostile-files.md]

A file is *equal* if every sample agrees with every peer that opens it; *lossy* if it is coded with losses (JPEG, JPEG 2000) and
no gray differs by more than peers differ among themselves or by one of 8 bits, of a color JPEG by two (colors are turned into
RGB in each decoder's own way), by four where the colors are halved (and the last one of a row is widened in each decoder's
own way, which ITU-T T.81 leaves open; seen were three); *refused* if this project says one sentence
instead. Anything else is *different* or *panicked*, and makes the exit status 1.

Needs: numpy, pillow, opencv-python-headless, pydicom, pylibjpeg with its libjpeg and openjpeg plugins, pyjpegls, python-gdcm.
"""
import argparse
import collections
import concurrent.futures
import io
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import warnings

import cv2
import numpy as np
from PIL import Image

warnings.simplefilter("ignore")
import logging

logging.disable(logging.CRITICAL)

# A peer of its own, and not one of pydicom's decoders.
sys.modules["gdcm"] = None
import pydicom
from pydicom.dataset import FileDataset, FileMetaDataset
from pydicom.encaps import encapsulate
from pydicom.pixels import pixel_array
from pydicom.uid import UID

import pydicom.pixels.decoders

del sys.modules["gdcm"]
try:
    import gdcm
except ImportError:
    gdcm = None

Image.MAX_IMAGE_PIXELS = None


def texture(rng, h, w, top, channels=0):
    """Waves, a bright field and noise up to `top`, so that every coder has something to do."""
    y, x = np.mgrid[0:h, 0:w]
    def one():
        a = 0.5 + 0.3 * np.sin(x / rng.uniform(2, 20)) * np.cos(y / rng.uniform(2, 20)) + rng.uniform(0, 0.2) * rng.standard_normal((h, w))
        a[h // 4:h // 2, w // 3:2 * w // 3] = rng.uniform()
        return np.clip(a, 0, 1) * top
    a = np.stack([one() for _ in range(channels)], -1) if channels else one()
    return np.round(a)


def luma(rgb):
    """ITU-R BT.709 of the stored values, rounded, as the project states it."""
    r, g, b = (rgb[..., i].astype(np.int64) for i in range(3))
    return (2126 * r + 7152 * g + 722 * b + 5000) // 10000


# ---- raster -----------------------------------------------------------------------------------------------------------

def size(rng):
    return int(rng.integers(1, 90)), int(rng.integers(1, 90))


def by_pillow(mode, suffix, least=1, **how):
    def write(rng, path):
        h, w = size(rng)
        w = max(w, least)
        if mode == "I;16":
            image = Image.fromarray(texture(rng, h, w, 65535).astype(np.uint16))
        elif mode == "1":
            image = Image.fromarray(texture(rng, h, w, 255).astype(np.uint8)).convert("1")
        elif mode == "P":
            image = Image.fromarray(texture(rng, h, w, 255, 3).astype(np.uint8)).quantize(int(rng.integers(2, 257)))
        elif mode in ("RGBA", "LA"):
            channels = {"RGBA": 4, "LA": 2}[mode]
            image = Image.fromarray(texture(rng, h, w, 255, channels).astype(np.uint8), mode)
        elif mode == "RGB":
            image = Image.fromarray(texture(rng, h, w, 255, 3).astype(np.uint8))
        else:
            image = Image.fromarray(texture(rng, h, w, 255).astype(np.uint8))
        options = {key: value(rng) if callable(value) else value for key, value in how.items()}
        turn = options.pop("turned", None)
        if turn:
            exif = Image.Exif()
            exif[0x0112] = turn
            options["exif"] = exif
        image.save(path, **options)
    write.suffix = suffix
    return write


def by_opencv(depth, channels, suffix):
    def write(rng, path):
        h, w = size(rng)
        top = 255 if depth == 8 else 65535
        a = texture(rng, h, w, top, channels if channels > 1 else 0).astype(np.uint8 if depth == 8 else np.uint16)
        if not cv2.imwrite(path, a):
            raise ValueError("not written")
    write.suffix = suffix
    return write


def turned(rng):
    return int(rng.integers(1, 9))


def quality(rng):
    return int(rng.integers(20, 100))


RASTER = {
    "PNG, gray 8": by_pillow("L", ".png", compress_level=lambda rng: int(rng.integers(0, 10))),
    "PNG, gray 16": by_pillow("I;16", ".png"),
    "PNG, 1 bit": by_pillow("1", ".png"),
    "PNG, palette": by_pillow("P", ".png"),
    "PNG, color": by_pillow("RGB", ".png"),
    "PNG, color and alpha": by_pillow("RGBA", ".png"),
    "PNG, gray and alpha": by_pillow("LA", ".png"),
    "PNG, color 16": by_opencv(16, 3, ".png"),
    "PNG, turned": by_pillow("L", ".png", turned=turned),
    "JPEG, gray": by_pillow("L", ".jpg", quality=quality),
    "JPEG, gray, progressive": by_pillow("L", ".jpg", quality=quality, progressive=True),
    "JPEG, gray, restart markers": by_pillow("L", ".jpg", quality=quality, restart_marker_rows=1),
    "JPEG, gray, turned": by_pillow("L", ".jpg", quality=quality, turned=turned),
    "JPEG, color": by_pillow("RGB", ".jpg", quality=quality, subsampling=0),
    # Both peers widen halved colors smoothly only where there are more than two of them in a row (their common decoder's rule);
    # in narrower images they repeat them, and this project goes on widening smoothly. The standard (ITU-T T.81) leaves it open.
    "JPEG, color halved": by_pillow("RGB", ".jpg", least=5, quality=quality, subsampling=lambda rng: int(rng.integers(1, 3))),
    "TIFF, gray 8": by_pillow("L", ".tif"),
    "TIFF, gray 16": by_pillow("I;16", ".tif"),
    "TIFF, 1 bit": by_pillow("1", ".tif"),
    "TIFF, palette": by_pillow("P", ".tif"),
    "TIFF, color": by_pillow("RGB", ".tif"),
    "TIFF, LZW": by_pillow("L", ".tif", compression="tiff_lzw"),
    "TIFF, LZW 16": by_pillow("I;16", ".tif", compression="tiff_lzw"),
    "TIFF, deflate": by_pillow("L", ".tif", compression="tiff_adobe_deflate"),
    "TIFF, PackBits": by_pillow("L", ".tif", compression="packbits"),
    "TIFF, JPEG": by_pillow("L", ".tif", compression="jpeg"),
    "TIFF, color 16": by_opencv(16, 3, ".tif"),
    "BMP, gray": by_pillow("L", ".bmp"),
    "BMP, 1 bit": by_pillow("1", ".bmp"),
    "BMP, palette": by_pillow("P", ".bmp"),
    "BMP, color": by_pillow("RGB", ".bmp"),
}


def pillow_reads(path):
    """Gray samples as Pillow reads them, upright."""
    with Image.open(path) as image:
        turn = image.getexif().get(0x0112, 1)
        if image.mode == "1":
            a = np.array(image, dtype=np.int64) * 255
        elif image.mode == "P":
            a = luma(np.array(image.convert("RGB")))
        elif image.mode in ("L", "I;16", "I"):
            a = np.array(image).astype(np.int64)
        elif image.mode == "LA":
            a = np.array(image)[..., 0].astype(np.int64)
        elif image.mode in ("RGB", "RGBA"):
            a = luma(np.array(image))
        else:
            return None
    turns = {1: lambda b: b, 2: np.fliplr, 3: lambda b: np.rot90(b, 2), 4: np.flipud, 5: np.transpose,
             6: lambda b: np.rot90(b, -1), 7: lambda b: np.rot90(np.transpose(b), 2), 8: np.rot90}
    return turns.get(turn, turns[1])(a)


def opencv_reads(path):
    a = cv2.imread(path, cv2.IMREAD_ANYDEPTH | cv2.IMREAD_UNCHANGED)
    if a is None:
        return None
    if a.ndim == 3:
        a = luma(a[..., 2::-1]) if a.shape[2] >= 3 else a[..., 0]
    return a.astype(np.int64)


def raster_peers(path, row):
    peers = []
    pillow = None
    # Pillow gives 16-bit colors as 8 bits.
    if not row.endswith("color 16"):
        pillow = pillow_reads(path)
    if pillow is not None:
        peers.append(pillow)
    # OpenCV does not turn what it is asked to leave unchanged, and spreads palettes and single bits in its own way.
    if not ("turned" in row or "1 bit" in row):
        found = opencv_reads(path)
        if found is not None:
            peers.append(found)
    return peers


# ---- DICOM ------------------------------------------------------------------------------------------------------------

def dataset(syntax):
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = UID("1.2.840.10008.5.1.4.1.1.7")
    meta.MediaStorageSOPInstanceUID = UID("1.2.826.0.1.3680043.8.498.1")
    meta.TransferSyntaxUID = UID("1.2.840.10008.1.2" + syntax)
    ds = FileDataset(None, {}, file_meta=meta, preamble=b"\0" * 128, is_implicit_VR=syntax == "", is_little_endian=syntax != ".2")
    ds.SOPClassUID = meta.MediaStorageSOPClassUID
    ds.SOPInstanceUID = meta.MediaStorageSOPInstanceUID
    return ds


def native(syntax, stored, signed=False, frames=1, meaning="MONOCHROME2", allocated=None):
    def write(rng, path):
        h, w = size(rng)
        bits = stored(rng) if callable(stored) else stored
        wide = allocated or (8 if bits <= 8 else 16)
        ds = dataset(syntax)
        a = np.stack([texture(rng, h, w, 2 ** bits - 1) for _ in range(frames)]).astype(np.int64)
        if signed:
            a -= 2 ** (bits - 1)
        ds.Rows, ds.Columns, ds.SamplesPerPixel = h, w, 1
        ds.PhotometricInterpretation = meaning
        ds.BitsAllocated, ds.BitsStored, ds.HighBit, ds.PixelRepresentation = wide, bits, bits - 1, int(signed)
        if frames > 1:
            ds.NumberOfFrames = frames
        kind = {(8, False): "u1", (8, True): "i1", (16, False): "u2", (16, True): "i2"}[(wide, signed)]
        order = ">" if syntax == ".2" else "<"
        raw = a.astype(order + kind).tobytes()
        ds.PixelData = raw + b"\0" * (len(raw) % 2)
        ds["PixelData"].VR = "OB" if wide == 8 and syntax != "" else "OW"
        if syntax == ".2" and wide == 8:
            ds["PixelData"].VR = "OB"
        if syntax == ".5":
            ds.file_meta.TransferSyntaxUID = UID("1.2.840.10008.1.2.1")
            ds.compress(UID("1.2.840.10008.1.2.5"))
        ds.save_as(path, enforce_file_format=True)
    write.suffix = ".dcm"
    return write


def colors(syntax, planar, meaning="RGB"):
    def write(rng, path):
        h, w = size(rng)
        ds = dataset(syntax)
        a = texture(rng, h, w, 255, 3).astype(np.uint8)
        ds.Rows, ds.Columns, ds.SamplesPerPixel, ds.PlanarConfiguration = h, w, 3, planar
        ds.PhotometricInterpretation = meaning
        ds.BitsAllocated, ds.BitsStored, ds.HighBit, ds.PixelRepresentation = 8, 8, 7, 0
        raw = (np.moveaxis(a, -1, 0) if planar else a).tobytes()
        ds.PixelData = raw + b"\0" * (len(raw) % 2)
        ds["PixelData"].VR = "OB" if syntax != "" else "OW"
        ds.save_as(path, enforce_file_format=True)
    write.suffix = ".dcm"
    return write


def palette(first_mapped):
    def write(rng, path):
        h, w = size(rng)
        ds = dataset(".1")
        entries = int(rng.integers(20, 257))
        first = int(rng.integers(0, 40)) if first_mapped else 0
        ds.Rows, ds.Columns, ds.SamplesPerPixel = h, w, 1
        ds.PhotometricInterpretation = "PALETTE COLOR"
        ds.BitsAllocated, ds.BitsStored, ds.HighBit, ds.PixelRepresentation = 8, 8, 7, 0
        for color in ("Red", "Green", "Blue"):
            setattr(ds, f"{color}PaletteColorLookupTableDescriptor", [entries % 65536, first, 16])
            table = rng.integers(0, 65536, entries).astype("<u2").tobytes()
            setattr(ds, f"{color}PaletteColorLookupTableData", table)
        raw = texture(rng, h, w, 255).astype(np.uint8).tobytes()
        ds.PixelData = raw + b"\0" * (len(raw) % 2)
        ds["PixelData"].VR = "OB"
        ds.save_as(path, enforce_file_format=True)
    write.suffix = ".dcm"
    return write


def coded(syntax, bits, coder):
    def write(rng, path):
        h, w = (int(n) + 16 for n in size(rng))
        ds = dataset(syntax)
        a = texture(rng, h, w, 2 ** bits - 1).astype(np.uint8 if bits <= 8 else np.uint16)
        ds.Rows, ds.Columns, ds.SamplesPerPixel = h, w, 1
        ds.PhotometricInterpretation = "MONOCHROME2"
        wide = 8 if bits <= 8 else 16
        ds.BitsAllocated, ds.BitsStored, ds.HighBit, ds.PixelRepresentation = wide, bits, bits - 1, 0
        ds.PixelData = encapsulate([coder(rng, a)])
        ds["PixelData"].VR = "OB"
        ds.save_as(path, enforce_file_format=True)
    write.suffix = ".dcm"
    return write


def jpeg(rng, a):
    out = io.BytesIO()
    Image.fromarray(a).save(out, "JPEG", quality=quality(rng))
    return out.getvalue()


def jpeg_2000(lossy):
    def code(rng, a):
        out = io.BytesIO()
        how = {"no_jp2": True, "irreversible": lossy, "num_resolutions": int(rng.integers(1, 5)),
               "progression": ["LRCP", "RLCP", "RPCL", "PCRL", "CPRL"][int(rng.integers(0, 5))]}
        if lossy:
            how.update(quality_mode="rates", quality_layers=[float(rng.uniform(2, 12))])
        # The coder ends the whole process where a lossy tile is one sample wide at its lowest resolution.
        narrow = [n for n in a.shape[:2] if n < 9]
        if lossy and narrow:
            how["num_resolutions"] = 1
        if rng.random() < 0.5:
            side = int(rng.integers(17, 70))
            if not lossy or narrow or all(n % side == 0 or n % side >= 9 for n in a.shape[:2]):
                how["tile_size"] = (side, side)
        Image.fromarray(a).save(out, "JPEG2000", **how)
        return out.getvalue()
    return code


def jpeg_ls(rng, a):
    import jpeg_ls as coder
    return bytes(coder.encode_array(a))


def depth(low, high):
    return lambda rng: int(rng.integers(low, high + 1))


DICOM = {
    "DICOM, implicit, 9 to 16 bits": native("", depth(9, 16)),
    "DICOM, explicit, 2 to 8 bits": native(".1", depth(2, 8)),
    "DICOM, explicit, 9 to 16 bits": native(".1", depth(9, 16)),
    "DICOM, explicit, signed": native(".1", depth(9, 16), signed=True),
    "DICOM, explicit, signed 8 bits": native(".1", depth(4, 8), signed=True),
    "DICOM, MONOCHROME1": native(".1", depth(9, 16), meaning="MONOCHROME1"),
    "DICOM, films": native(".1", depth(9, 16), frames=3),
    "DICOM, big endian": native(".2", depth(9, 16)),
    "DICOM, big endian, signed": native(".2", depth(9, 16), signed=True),
    "DICOM, deflated": native(".1.99", depth(9, 16)),
    "DICOM, run lengths": native(".5", depth(9, 16)),
    "DICOM, run lengths, 8 bits": native(".5", 8),
    "DICOM, run lengths, films": native(".5", 12, frames=3),
    "DICOM, color by pixel": colors(".1", 0),
    "DICOM, color by plane": colors(".1", 1),
    "DICOM, palette": palette(False),
    "DICOM, palette from a first value": palette(True),
    "DICOM, JPEG baseline": coded(".4.50", 8, jpeg),
    "DICOM, JPEG 2000 lossless, 8 bits": coded(".4.90", 8, jpeg_2000(False)),
    "DICOM, JPEG 2000 lossless, 16 bits": coded(".4.90", 16, jpeg_2000(False)),
    "DICOM, JPEG 2000": coded(".4.91", 8, jpeg_2000(True)),
    "DICOM, JPEG-LS, 8 bits": coded(".4.80", 8, jpeg_ls),
    "DICOM, JPEG-LS, 16 bits": coded(".4.80", 16, jpeg_ls),
}
LOSSY = {"JPEG, gray", "JPEG, gray, progressive", "JPEG, gray, restart markers", "JPEG, gray, turned", "JPEG, color",
         "JPEG, color halved", "TIFF, JPEG", "DICOM, JPEG baseline", "DICOM, JPEG 2000"}
# How far grays may lie from the peers' in these, of 255; 1 in the others.
STEPS = {"JPEG, color": 2, "JPEG, color halved": 4}


def dicom_peers(path, frame):
    ds = pydicom.dcmread(path)
    a = pixel_array(ds, index=frame)
    if ds.PhotometricInterpretation == "PALETTE COLOR":
        from pydicom.pixels import apply_color_lut
        a = luma(apply_color_lut(a, ds).astype(np.int64) >> 8) if ds.RedPaletteColorLookupTableDescriptor[2] == 8 else luma(apply_color_lut(a, ds))
        return [a]
    if a.ndim == 3:
        return [luma(a)]
    peers = [a.astype(np.int64)]
    found = gdcm_reads(path, frame, a.shape)
    return peers if found is None else peers + [found]


def gdcm_reads(path, frame, shape):
    """Samples as gdcm reads them, in a process of its own: it ends the process on some files that it does not read."""
    if gdcm is None:
        return None
    into, out = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
            reader = gdcm.ImageReader()
            reader.SetFileName(str(path))
            if reader.Read():
                image = reader.GetImage()
                kind = {gdcm.PixelFormat.UINT8: b"u1", gdcm.PixelFormat.INT8: b"i1", gdcm.PixelFormat.UINT16: b"u2",
                        gdcm.PixelFormat.INT16: b"i2"}.get(image.GetPixelFormat().GetScalarType())
                if kind:
                    with os.fdopen(out, "wb") as pipe:
                        pipe.write(kind + image.GetBuffer().encode("utf-8", errors="surrogateescape"))
        finally:
            os._exit(0)
    os.close(out)
    with os.fdopen(into, "rb") as pipe:
        got = pipe.read()
    os.waitpid(child, 0)
    if len(got) < 3:
        return None
    kind, pixels = "<" + got[:2].decode(), shape[0] * shape[1]
    raw = got[2 + frame * pixels * int(kind[2]):][:pixels * int(kind[2])]
    if len(raw) < pixels * int(kind[2]):
        return None
    return np.frombuffer(raw, kind).reshape(shape).astype(np.int64)


# ---- this project -----------------------------------------------------------------------------------------------------

def ours(cli, path, frame, work):
    out = work / "ours.png"
    base = [cli, "frame", str(path), "--frame", str(frame)]
    told = subprocess.run(base, capture_output=True, text=True, timeout=300)
    if told.returncode != 0:
        good = told.returncode == 2 and len(told.stderr.strip().splitlines()) == 1 and "panicked" not in told.stderr
        return None, None, told.stderr.strip() if good else "PANICKED " + told.stderr
    facts = json.loads(told.stdout)
    drawn = subprocess.run(base + ["--out", str(out), "--force"], capture_output=True, text=True, timeout=300)
    if drawn.returncode != 0:
        return None, None, "PANICKED " + drawn.stderr
    return facts, np.array(Image.open(out)).astype(np.int64) + facts["stored_offset"], None


def compare(cli, row, write, seed, frame, work):
    """What came of one file: a verdict and a remark."""
    rng = np.random.default_rng(seed)
    path = work / ("file" + write.suffix)
    try:
        write(rng, str(path))
        peers = dicom_peers(path, frame) if row in DICOM else raster_peers(str(path), row)
    except Exception as error:
        return "not made", f"{type(error).__name__}: {error}"
    facts, values, refusal = ours(cli, path, frame, work)
    if refusal is not None:
        return ("panicked", refusal) if refusal.startswith("PANICKED") else ("refused", refusal)
    if not peers:
        return "no peer", ""
    for peer in peers:
        if peer.shape != values.shape:
            return "different", f"{values.shape}, a peer has {peer.shape}"
    apart = [int(np.abs(peer - values).max()) for peer in peers]
    if max(apart) == 0:
        return "equal", ""
    among = max(int(np.abs(p - q).max()) for p in peers for q in peers)
    top = 255 if facts["bits"] == 8 else 65535
    step = STEPS.get(row, 1) * top // 255
    if row in LOSSY and min(apart) <= max(among, step):
        return "lossy", f"{apart}"
    # Peers that do not agree with each other prove nothing against one that agrees with one of them.
    if min(apart) == 0:
        return "as one peer", f"{apart}"
    return "different", f"differs by up to {apart}, peers by {among}"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("cli")
    parser.add_argument("--files", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--page", type=pathlib.Path)
    parser.add_argument("--workers", type=int, default=2)
    args = parser.parse_args()
    rows = list(RASTER.items()) + list(DICOM.items())
    jobs = [(row, write, args.seed * 1_000_003 + n) for n, (row, write) in
            ((n, rows[n % len(rows)]) for n in range(args.files))]
    counts = collections.defaultdict(collections.Counter)
    wrong = []

    def one(job):
        row, write, seed = job
        frame = seed % 3 if "films" in row else 0
        with tempfile.TemporaryDirectory() as work:
            return row, seed, compare(args.cli, row, write, seed, frame, pathlib.Path(work))

    with concurrent.futures.ThreadPoolExecutor(args.workers) as pool:
        for row, seed, (verdict, remark) in pool.map(one, jobs):
            counts[row][verdict] += 1
            if verdict in ("different", "panicked"):
                wrong.append(f"{row}, seed {seed}: {verdict}: {remark}")
            elif verdict in ("refused", "not made") and counts[row][verdict] == 1:
                print(f"{row}: {verdict}: {remark[-200:]}")
    verdicts = ["equal", "lossy", "as one peer", "refused", "no peer", "not made", "different", "panicked"]
    lines = ["| files | tried | " + " | ".join(verdicts) + " |", "| --- |" + " --: |" * (len(verdicts) + 1)]
    total = collections.Counter()
    for row, _ in rows:
        if row in counts:
            total.update(counts[row])
            lines.append(f"| {row} | {sum(counts[row].values())} | " + " | ".join(str(counts[row][v]) for v in verdicts) + " |")
    lines.append(f"| **all** | {sum(total.values())} | " + " | ".join(str(total[v]) for v in verdicts) + " |")
    print("\n".join(lines))
    print("\n".join(wrong))
    if args.page:
        text = args.page.read_text()
        begin = "<!-- values -->\n"
        before, rest = text.split(begin, 1)
        _, after = rest.split("<!-- end -->", 1)
        args.page.write_text(before + begin + "\n".join(lines) + "\n<!-- end -->" + after)
    compared = total["equal"] + total["lossy"] + total["as one peer"] + total["different"]
    tried = sum(total.values())
    print(f"{tried} files: {compared} compared, {total['different']} different, {total['panicked']} panicked")
    if 2 * compared < tried:
        sys.exit("too little was compared")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
