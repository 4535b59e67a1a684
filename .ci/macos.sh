#!/usr/bin/env bash
# The bundle for macOS into target/packages, from programs that were built on a Mac:
#
#   .ci/macos.sh FOLDER       FOLDER holds the programs stillmark and stillmark-cli
#
# On a Mac, first: cargo build --locked --profile packaged --bins, then FOLDER is target/packaged. Untried there: this
# script has only been run, and its result only been looked at, on Linux. The bundle is not signed; whoever gives it away
# signs it (codesign) and has it notarized, else the system asks before it opens.
set -euo pipefail
programs=$(cd "$1" && pwd)
cd "$(dirname "$0")/.."
version=$(sed -n 's/^version = "\(.*\)"/\1/p' Cargo.toml | head -n 1)
SOURCE_DATE_EPOCH=$(git log -1 --format=%ct)
for name in stillmark stillmark-cli; do
  [ -f "$programs/$name" ] || { echo "$programs holds no $name"; exit 1; }
done

out=target/packages
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
contents=$work/Stillmark.app/Contents
mkdir -p "$out" "$contents/MacOS" "$contents/Resources"
cp "$programs/stillmark" "$programs/stillmark-cli" "$contents/MacOS/"
chmod 755 "$contents/MacOS"/*
sed "s/VERSION/$version/" .ci/macos/Info.plist >"$contents/Info.plist"
printf 'APPL????' >"$contents/PkgInfo"
cp .ci/macos/stillmark.icns "$contents/Resources/"
cp README.md docs/changes.md docs/licenses.txt LICENSE-MIT LICENSE-APACHE "$contents/Resources/"
cp -r sample-images "$contents/Resources/"
find "$work" -type d -exec chmod 755 {} +
find "$contents/Resources" "$contents/Info.plist" "$contents/PkgInfo" -type f -exec chmod 644 {} +

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
ls -l "$out/stillmark-$version-macos.zip"
