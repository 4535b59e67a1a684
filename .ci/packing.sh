# To be sourced by the scripts that pack, in the project's folder: what every package has in common.
#
#   $version $commit $SOURCE_DATE_EPOCH   what is packed; without changes that are not committed, or the script ends here
#   $out $work                  where packages go, and a folder that goes away with the script
#   build_flags                 exports what makes the same programs anywhere: nothing names this computer's folders
#   enclose FOLDER              the documents and the demonstration into this folder, readable by all
#   sums SYSTEM FILE…           digests of these packages into SHA256SUMS-SYSTEM, and both listed
version=$(sed -n 's/^version = "\(.*\)"/\1/p' Cargo.toml | head -n 1)
commit=$(git rev-parse --short=12 HEAD)
SOURCE_DATE_EPOCH=$(git log -1 --format=%ct)
export SOURCE_DATE_EPOCH
[ -z "$(git status --porcelain)" ] || { echo "there are changes that are not committed: a package tells its commit"; exit 1; }
out=$PWD/target/packages
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$out"

build_flags() {
  export STILLMARK_COMMIT=$commit CARGO_INCREMENTAL=0
  export RUSTFLAGS="--remap-path-prefix=$PWD=stillmark --remap-path-prefix=${CARGO_HOME:-$HOME/.cargo}=crates"
}

enclose() {
  mkdir -p "$1"
  cp README.md docs/changes.md docs/licenses.txt LICENSE-MIT LICENSE-APACHE "$1/"
  cp -r sample-images "$1/sample-images"
  find "$1" -type d -exec chmod 755 {} + -o -type f -exec chmod 644 {} +
}

sums() {
  local system=$1
  shift
  (
    cd "$out"
    # macOS has the same under another name.
    if command -v sha256sum >/dev/null; then sha256sum "$@"; else shasum -a 256 "$@"; fi | tee "SHA256SUMS-$system"
    ls -l "$@"
  )
}
