#!/usr/bin/env python3
"""The program's icon for Windows and macOS, made of src/ui/icon.svg.

    .ci/icons.py            checks that .ci/windows/stillmark.ico and .ci/macos/stillmark.icns hold every size
    .ci/icons.py --write    draws them anew (needs rsvg-convert, Debian package librsvg2-bin)

Both formats are containers around PNG pictures: ICO since Windows Vista, ICNS since Mac OS X 10.7.
"""

import pathlib
import struct
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[1]
SVG = ROOT / "src" / "ui" / "icon.svg"
ICO = ROOT / ".ci" / "windows" / "stillmark.ico"
ICNS = ROOT / ".ci" / "macos" / "stillmark.icns"
ICO_SIDES = [16, 24, 32, 48, 64, 256]
# The type of an entry says its size: 16, 32, 64, 128, 256, 512 points, and the doubled ones that differ from these.
ICNS_SIDES = {b"icp4": 16, b"icp5": 32, b"icp6": 64, b"ic07": 128, b"ic08": 256, b"ic09": 512, b"ic10": 1024}


def drawn(side):
    command = ["rsvg-convert", "--width", str(side), "--height", str(side), str(SVG)]
    return subprocess.run(command, check=True, capture_output=True).stdout


def ico():
    pictures = [(side, drawn(side)) for side in ICO_SIDES]
    head = struct.pack("<HHH", 0, 1, len(pictures))
    at = len(head) + 16 * len(pictures)
    entries = b""
    for side, png in pictures:
        # A side of 256 is written as 0.
        entries += struct.pack("<BBBBHHII", side % 256, side % 256, 0, 0, 1, 32, len(png), at)
        at += len(png)
    return head + entries + b"".join(png for _, png in pictures)


def icns():
    pictures = [(kind, drawn(side)) for kind, side in ICNS_SIDES.items()]
    body = b"".join(kind + struct.pack(">I", 8 + len(png)) + png for kind, png in pictures)
    return b"icns" + struct.pack(">I", 8 + len(body)) + body


def side_of(png):
    assert png[:8] == b"\x89PNG\r\n\x1a\n", "an entry is no PNG"
    across, down = struct.unpack(">II", png[16:24])
    assert across == down, f"{across} x {down} is no square"
    return across


def sides_of_ico(data):
    _, kind, count = struct.unpack("<HHH", data[:6])
    assert kind == 1
    found = []
    for entry in range(count):
        side, _, _, _, _, _, size, at = struct.unpack("<BBBBHHII", data[6 + 16 * entry : 22 + 16 * entry])
        found.append(side_of(data[at : at + size]))
        assert found[-1] % 256 == side
    return found


def sides_of_icns(data):
    kind, size = struct.unpack(">4sI", data[:8])
    assert kind == b"icns" and size == len(data)
    found, at = {}, 8
    while at < len(data):
        kind, size = struct.unpack(">4sI", data[at : at + 8])
        found[kind] = side_of(data[at + 8 : at + size])
        at += size
    return found


def main():
    if "--write" in sys.argv[1:]:
        ICO.write_bytes(ico())
        ICNS.write_bytes(icns())
    assert sides_of_ico(ICO.read_bytes()) == ICO_SIDES, "the icon for Windows lacks a size"
    assert sides_of_icns(ICNS.read_bytes()) == ICNS_SIDES, "the icon for macOS lacks a size"
    print(f"icons: {len(ICO_SIDES)} sizes for Windows, {len(ICNS_SIDES)} for macOS")


if __name__ == "__main__":
    main()
