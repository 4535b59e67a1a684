#!/usr/bin/env python3
"""A folder's content as a .zip that is the same bytes each time: .ci/pack.py FOLDER FILE.zip SECONDS

Files stand in order of name, all with the time SECONDS since 1970 and the permissions they have.
"""

import pathlib
import sys
import time
import zipfile


def main():
    folder, out, seconds = pathlib.Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
    with zipfile.ZipFile(out, "w") as packed:
        for file in sorted(path for path in folder.rglob("*") if path.is_file()):
            entry = zipfile.ZipInfo(file.relative_to(folder).as_posix(), time.gmtime(seconds)[:6])
            # Permissions as Unix keeps them, for programs that must stay programs.
            entry.create_system, entry.external_attr = 3, file.stat().st_mode << 16
            entry.compress_type = zipfile.ZIP_DEFLATED
            packed.writestr(entry, file.read_bytes(), compresslevel=9)


if __name__ == "__main__":
    main()
