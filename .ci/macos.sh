#!/usr/bin/env bash
# The bundle for macOS into target/packages, from what is committed:
#
#   .ci/macos.sh              on a Mac: builds the profile `packaged` and packs it
#   .ci/macos.sh FOLDER       packs the programs stillmark and stillmark-cli in FOLDER, as built before
#
# Untried on a Mac: this script has only been run with a folder, and its result only been looked at, on Linux. The bundle is
# not signed; whoever gives it away signs it (codesign) and has it notarized, else the system asks before it opens.
set -euo pipefail
programs=${1:+$(cd "$1" && pwd)}
cd "$(dirname "$0")/.."
. .ci/packing.sh
if [ -z "$programs" ]; then
  build_flags
  cargo build --locked --profile packaged --bins
  programs=${CARGO_TARGET_DIR:-$PWD/target}/packaged
fi
for name in stillmark stillmark-cli; do
  [ -f "$programs/$name" ] || { echo "$programs holds no $name"; exit 1; }
done

contents=$work/Stillmark.app/Contents
mkdir -p "$contents/MacOS"
enclose "$contents/Resources"
cp "$programs/stillmark" "$programs/stillmark-cli" "$contents/MacOS/"
chmod 755 "$contents/MacOS"/*
sed "s/VERSION/$version/" .ci/macos/Info.plist >"$contents/Info.plist"
printf 'APPL????' >"$contents/PkgInfo"
cp .ci/macos/stillmark.icns "$contents/Resources/"
find "$work" -type d -exec chmod 755 {} +
chmod 644 "$contents/Info.plist" "$contents/PkgInfo" "$contents/Resources/stillmark.icns"

python3 - "$contents" "$version" <<'CHECK'
import pathlib
import plistlib
import sys

contents, version = pathlib.Path(sys.argv[1]), sys.argv[2]
told = plistlib.loads((contents / "Info.plist").read_bytes())
assert (contents / "MacOS" / told["CFBundleExecutable"]).is_file(), "the program is not where Info.plist says"
assert (contents / "Resources" / (told["CFBundleIconFile"] + ".icns")).is_file(), "the icon is not where Info.plist says"
assert told["CFBundleShortVersionString"] == told["CFBundleVersion"] == version, "Info.plist tells another version"
assert list((contents / "Resources" / "sample-images").glob("*.case.json")), "the demonstration is not in the bundle"
CHECK

.ci/pack.py "$work" "$out/stillmark-$version-macos.zip" "$SOURCE_DATE_EPOCH"
sums macos "stillmark-$version-macos.zip"
