"""A real lateral spine radiograph as a 16-bit PNG, for trying the program on something it did not make.

The package `deid-data` (MIT) ships a digital radiograph of a cat. The picture is not kept here; this script
finds it in the installed package and writes it where it is told:

    pip install deid-data==0.0.20 pydicom==3.0.2 pillow numpy
    python3 tests/radiograph/convert.py FOLDER

It prints the detector's spacing. At the plane of the body a millimetre covers more pixels, by a magnification
that the file does not tell, so that the spacing is no calibration.
"""

import pathlib
import sys

import numpy as np
import pydicom
from PIL import Image


def main():
    if len(sys.argv) != 2:
        sys.exit(f"usage: {sys.argv[0]} FOLDER")
    import deid_data

    source = pathlib.Path(deid_data.__file__).parent / "data" / "animals" / "cat.dcm"
    data = pydicom.dcmread(source)
    stored = data.pixel_array.astype(np.int64)
    lowest, highest = int(stored.min()), int(stored.max())
    if data.PhotometricInterpretation == "MONOCHROME1":
        # The lowest value is meant to be white: turned round within the range of the stored bits.
        stored = (1 << int(data.BitsStored)) - 1 - stored
    elif data.PhotometricInterpretation != "MONOCHROME2":
        sys.exit(f"{source.name} is {data.PhotometricInterpretation}, not a grey radiograph")
    # The stored values as they are: stretching the greys is the program's affair.
    target = pathlib.Path(sys.argv[1]) / "radiograph.png"
    target.parent.mkdir(parents=True, exist_ok=True)
    Image.fromarray(stored.astype(np.uint16)).save(target)
    print(f"{target}: {stored.shape[1]} x {stored.shape[0]}, stored values {lowest} to {highest}, "
          f"{data.PhotometricInterpretation}")
    print("detector spacing", [float(s) for s in data.ImagerPixelSpacing], "mm (not at the plane of the body)")


if __name__ == "__main__":
    main()
