#!/usr/bin/env bash
# Compares what the command line reads from DICOM files with what pydicom reads, over every file of three Python
# packages. Skips, and says so, where Python's venv or the packages are not to be had.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
if ! python3 -m venv "$work/venv" >"$work/venv.log" 2>&1; then
  echo "skipped: no Python virtual environment can be made here"
  exit 0
fi
# The packages whose files are compared, and the decoders that pydicom leaves to others.
if ! "$work/venv/bin/pip" install --quiet --disable-pip-version-check \
  pydicom==3.0.2 pydicom-data==1.0.0 deid-data==0.0.20 numpy pillow \
  pylibjpeg pylibjpeg-libjpeg pylibjpeg-openjpeg pyjpegls >"$work/pip.log" 2>&1; then
  echo "skipped: the Python packages cannot be installed here"
  exit 0
fi
cargo build --locked --quiet --bin stillmark-cli
"$work/venv/bin/python" tests/pydicom/compare.py "$target/debug/stillmark-cli" --table "$work/table.md" >"$work/said" || {
  grep -E '\| (different|panicked) \|' "$work/table.md"
  tail -n 1 "$work/said"
  exit 1
}
tail -n 1 "$work/said"
