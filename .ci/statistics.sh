#!/usr/bin/env bash
# What plots of a case series and of repeated readings say, recomputed with statsmodels and SciPy. A dozen series; the
# argument says another number, such as 200. Installs what it needs; skips, and says so, where that cannot be had.
set -euo pipefail
cd "$(dirname "$0")/.."
target=${CARGO_TARGET_DIR:-$PWD/target}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
python=python3
if ! "$python" -c 'import statsmodels' 2>/dev/null; then
  python=$work/python/bin/python3
  if ! { python3 -m venv "$work/python" && "$python" -m pip install --quiet statsmodels==0.15.0 scipy==1.17.1; } >/dev/null 2>&1; then
    echo "skipped: statsmodels cannot be installed here"
    exit 0
  fi
fi
cargo build --locked --quiet --bin stillmark-cli
STILLMARK_DATA_DIR=$work/home "$python" tests/outside/statistics.py "$target/debug/stillmark-cli" sample-images/demonstration.case.json "$work/series" "${1:-12}"
