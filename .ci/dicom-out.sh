#!/usr/bin/env bash
# DICOM objects that the command line writes, as other programs see them. Installs what it needs; skips, and says so, where
# that cannot be had.
set -euo pipefail
cd "$(dirname "$0")/.."
. .ci/venv.sh
need=()
for program in dciodvfy:dicom3tools dcmpschk:dcmtk python3:python3; do
  command -v "${program%%:*}" >/dev/null 2>&1 || need+=("${program##*:}")
done
if [ "${#need[@]}" -gt 0 ]; then
  apt-get update -qq || true
  if ! DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${need[@]}" >/dev/null; then
    echo "skipped: ${need[*]} cannot be installed here"
    exit 0
  fi
fi
venv pydicom==3.0.2 highdicom==0.28.2 numpy
cargo build --locked --quiet --bin stillmark-cli
mkdir "$work/out"
"$python" tests/outside/dicom_out.py "$target/debug/stillmark-cli" \
  sample-images/demonstration.case.json "$work/out"
