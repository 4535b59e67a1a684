#!/usr/bin/env bash
# Figures and the report as other programs see them: PDF by qpdf and poppler, SVG by librsvg, PNG by Pillow, and all three
# formats of each figure compared pixel by pixel. Installs what it needs; skips, and says so, where that cannot be had.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
need=()
for program in qpdf:qpdf pdffonts:poppler-utils rsvg-convert:librsvg2-bin python3:python3; do
  command -v "${program%%:*}" >/dev/null 2>&1 || need+=("${program##*:}")
done
python3 -c 'import PIL, numpy' 2>/dev/null || need+=(python3-pil python3-numpy)
if [ "${#need[@]}" -gt 0 ]; then
  apt-get update -qq || true
  if ! DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${need[@]}" >/dev/null; then
    echo "skipped: ${need[*]} cannot be installed here"
    exit 0
  fi
fi
# A Python of the user's own may come before the system's, which has the packages that apt installs.
python=python3
"$python" -c 'import PIL, numpy' 2>/dev/null || python=/usr/bin/python3
if ! "$python" -c 'import PIL, numpy' 2>/dev/null; then
  echo "skipped: Pillow and NumPy are not to be had here"
  exit 0
fi
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cargo build --locked --quiet --bin stillmark-cli
"$python" tests/outside/figures.py "$target/debug/stillmark-cli" sample-images/demonstration.case.json "$work"
