#!/usr/bin/env bash
# Compares the samples that the command line reads from generated image files with what Pillow, OpenCV, pydicom and gdcm read.
# Two of each kind here; STILLMARK_VALUES names another number of files. Skips, and says so, where Python's venv or the packages
# are not to be had.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
if ! python3 -m venv "$work/venv" >"$work/venv.log" 2>&1; then
  echo "skipped: no Python virtual environment can be made here"
  exit 0
fi
if ! "$work/venv/bin/pip" install --quiet --disable-pip-version-check \
  numpy pillow opencv-python-headless pydicom==3.0.2 pylibjpeg pylibjpeg-libjpeg pylibjpeg-openjpeg pyjpegls python-gdcm \
  >"$work/pip.log" 2>&1; then
  echo "skipped: the Python packages cannot be installed here"
  exit 0
fi
cargo build --locked --quiet --bin stillmark-cli
"$work/venv/bin/python" tests/outside/values.py "$target/debug/stillmark-cli" --files "${STILLMARK_VALUES:-104}" >"$work/said" || {
  tail -n 20 "$work/said"
  exit 1
}
tail -n 1 "$work/said"
