#!/usr/bin/env bash
# The JSON Schemas in docs against what the command line reads and writes, by jsonschema and pycocotools from
# PyPI; also the readers of docs/data.md. Skips, and says so, where that cannot be had.
set -euo pipefail
cd "$(dirname "$0")/.."
. .ci/venv.sh
venv jsonschema==4.25.1 pycocotools==2.0.11
cargo build --locked --quiet --bin stillmark-cli
mkdir "$work/out"
"$python" tests/outside/schemas.py "$target/debug/stillmark-cli" . "$work/out"
