#!/usr/bin/env bash
# Compares what the command line reads from DICOM files with what pydicom reads, over every file of three Python
# packages. Skips, and says so, where Python's venv or the packages are not to be had.
set -euo pipefail
cd "$(dirname "$0")/.."
. .ci/venv.sh
# The packages whose files are compared, and the decoders that pydicom leaves to others.
venv pydicom==3.0.2 pydicom-data==1.0.0 deid-data==0.0.20 numpy pillow \
  pylibjpeg pylibjpeg-libjpeg pylibjpeg-openjpeg pyjpegls
cargo build --locked --quiet --bin stillmark-cli
"$python" tests/pydicom/compare.py "$target/debug/stillmark-cli" --table "$work/table.md" >"$work/said" || {
  grep -E '\| (different|panicked) \|' "$work/table.md"
  tail -n 1 "$work/said"
  exit 1
}
tail -n 1 "$work/said"
