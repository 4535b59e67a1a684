# Sourced by scripts that compare with other programs: `venv PACKAGE…` makes a Python environment with these packages, in
# $work, and names its interpreter $python. Where that cannot be had the script that asks says so and ends without a fault.
target=${CARGO_TARGET_DIR:-$PWD/target}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
python=$work/venv/bin/python

venv() {
  # Debian's Python makes no environment without this package.
  if ! python3 -c 'import ensurepip' 2>/dev/null; then
    { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends python3-venv; } \
      >"$work/apt.log" 2>&1 || true
  fi
  if ! python3 -m venv "$work/venv" >"$work/venv.log" 2>&1; then
    echo "skipped: no Python virtual environment can be made here"
    exit 0
  fi
  if ! "$python" -m pip install --quiet --disable-pip-version-check "$@" >"$work/pip.log" 2>&1; then
    echo "skipped: the Python packages cannot be installed here"
    exit 0
  fi
}
