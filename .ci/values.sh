#!/usr/bin/env bash
# Compares the samples that the command line reads from generated image files with what Pillow, OpenCV, pydicom and gdcm read.
# Two of each kind here; STILLMARK_VALUES names another number of files. Skips, and says so, where Python's venv or the packages
# are not to be had.
set -euo pipefail
cd "$(dirname "$0")/.."
. .ci/venv.sh
venv numpy pillow opencv-python-headless pydicom==3.0.2 pylibjpeg pylibjpeg-libjpeg pylibjpeg-openjpeg pyjpegls \
  python-gdcm
cargo build --locked --quiet --bin stillmark-cli
"$python" tests/outside/values.py "$target/debug/stillmark-cli" --files "${STILLMARK_VALUES:-106}" >"$work/said" || {
  tail -n 20 "$work/said"
  exit 1
}
tail -n 1 "$work/said"
