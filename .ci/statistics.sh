#!/usr/bin/env bash
# What plots of a case series and of repeated readings say, recomputed with statsmodels and SciPy. A dozen series; the
# argument says another number, such as 200. Skips, and says so, where the packages cannot be had.
set -euo pipefail
cd "$(dirname "$0")/.."
. .ci/venv.sh
venv statsmodels==0.15.0 scipy==1.17.1
cargo build --locked --quiet --bin stillmark-cli
STILLMARK_DATA_DIR=$work/home "$python" tests/outside/statistics.py "$target/debug/stillmark-cli" sample-images/demonstration.case.json "$work/series" "${1:-12}"
