#!/usr/bin/env bash
# The package for Windows into target/packages, from what is committed: both programs, built on Linux, in a .zip.
#
#   .ci/windows.sh            builds the profile `packaged` for x86_64-pc-windows-gnu and packs it
#   .ci/windows.sh --built    packs the programs as built before
#
# Installs what it needs where it may (Debian: gcc-mingw-w64-x86-64-win32; rustup: the target's standard library).
# The same commit, compiler and system give the same bytes. `.ci/wine.sh` tries the package.
set -euo pipefail
cd "$(dirname "$0")/.."
triple=x86_64-pc-windows-gnu
# The compiler that Cargo.toml asks for, so that everyone builds with the same one.
export RUSTUP_TOOLCHAIN=${RUSTUP_TOOLCHAIN:-$(sed -n 's/^rust-version = "\(.*\)"/\1.0/p' Cargo.toml)}
. .ci/packing.sh

need=()
command -v x86_64-w64-mingw32-gcc >/dev/null || need+=(gcc-mingw-w64-x86-64-win32)
if [ "${#need[@]}" -gt 0 ]; then
  apt-get update -qq
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${need[@]}" >/dev/null
fi

# A folder of its own, at a place that is the same in every checkout: its name stands in the linker's arguments.
target=target/windows
built=$target/$triple/packaged
if [ "${1:-}" != --built ]; then
  rustup target add "$triple" >/dev/null 2>&1 || rustup target list --installed | grep -qx "$triple"
  mkdir -p "$target"
  build_flags
  # Icon, version and manifest for both programs.
  numbers=${version//./,},0
  for name in stillmark-cli stillmark; do
    cat >"$target/$name.rc" <<TEXT
1 ICON ".ci/windows/stillmark.ico"
1 24 ".ci/windows/stillmark.exe.manifest"
1 VERSIONINFO
FILEVERSION $numbers
PRODUCTVERSION $numbers
BEGIN
  BLOCK "StringFileInfo"
  BEGIN
    BLOCK "040904b0"
    BEGIN
      VALUE "FileDescription", "Stillmark: measurement on saved stills; not a medical device"
      VALUE "FileVersion", "$version"
      VALUE "LegalCopyright", "MIT or Apache-2.0"
      VALUE "OriginalFilename", "$name.exe"
      VALUE "ProductName", "Stillmark"
      VALUE "ProductVersion", "$version ($commit)"
    END
  END
  BLOCK "VarFileInfo"
  BEGIN
    VALUE "Translation", 0x409, 1200
  END
END
TEXT
    x86_64-w64-mingw32-windres -O coff "$target/$name.rc" "$target/$name.res.o"
    CARGO_TARGET_DIR=$target CARGO_TARGET_X86_64_PC_WINDOWS_GNU_LINKER=x86_64-w64-mingw32-gcc \
      cargo rustc --locked --profile packaged --target "$triple" --bin "$name" ${JOBS:+-j "$JOBS"} -- \
      -C "link-arg=$target/$name.res.o" -C link-arg=-Wl,--no-insert-timestamp
  done
fi

name=stillmark-$version-windows-x86_64
enclose "$work/$name"
cp "$built/stillmark.exe" "$built/stillmark-cli.exe" "$work/$name/"
cat >"$work/$name/START.txt" <<'TEXT'
Open stillmark.exe. On the first page, one button opens the demonstration; your own stills are dropped on the window.
stillmark-cli.exe does the same on the command line. Nothing is installed: to remove the program, delete this folder.
What the program keeps for itself is listed by "stillmark-cli kept" and deleted by "stillmark-cli kept --forget".

It reads saved frames for teaching, documentation and audit. It does not guide a needle and is not a medical device.
TEXT
chmod 644 "$work/$name/START.txt"
chmod 755 "$work/$name" "$work/$name"/*.exe
.ci/pack.py "$work" "$out/$name.zip" "$SOURCE_DATE_EPOCH"
sums windows "$name.zip"
