#!/usr/bin/env bash
# Packages into target/packages, from what is committed: a .tar.gz and a .deb for this Linux.
#
#   .ci/package.sh            builds the profile `packaged` and makes both
#   .ci/package.sh --built    takes the programs as built before
#
# The same commit, compiler and system give the same bytes: times are the commit's, paths are not in the programs, and
# files stand in order of name.
set -euo pipefail
cd "$(dirname "$0")/.."
. .ci/packing.sh
target=${CARGO_TARGET_DIR:-$PWD/target}

if [ "${1:-}" != --built ]; then
  build_flags
  cargo build --locked --profile packaged --bins
fi
built=$target/packaged

# --- what both hold, laid out as in a system
root=$work/root
usr=$root/usr
install -Dm755 -t "$usr/bin" "$built/stillmark" "$built/stillmark-cli"
install -Dm644 .ci/linux/stillmark.desktop "$usr/share/applications/stillmark.desktop"
install -Dm644 .ci/linux/stillmark.xml "$usr/share/mime/packages/stillmark.xml"
grep -q "<release version=\"$version\"" .ci/linux/stillmark.metainfo.xml || { echo "the metainfo tells another version"; exit 1; }
install -Dm644 .ci/linux/stillmark.metainfo.xml "$usr/share/metainfo/invalid.stillmark.stillmark.metainfo.xml"
install -Dm644 src/ui/icon.svg "$usr/share/icons/hicolor/scalable/apps/stillmark.svg"
install -Dm644 src/ui/icon.png "$usr/share/icons/hicolor/128x128/apps/stillmark.png"
cli=$built/stillmark-cli
completions() { mkdir -p "$(dirname "$2")"; "$cli" completions "$1" >"$2"; }
completions bash "$usr/share/bash-completion/completions/stillmark-cli"
completions zsh "$usr/share/zsh/vendor-completions/_stillmark-cli"
completions fish "$usr/share/fish/vendor_completions.d/stillmark-cli.fish"
"$cli" manual --out "$usr/share/man/man1" >/dev/null
install -Dm644 .ci/linux/stillmark.1 "$usr/share/man/man1/stillmark.1"
find "$usr/share/man" -name '*.1' -exec gzip -9n {} +
doc=$usr/share/doc/stillmark
enclose "$doc"
gzip -9n "$doc/licenses.txt" "$doc/changes.md"
find "$root" -type d -exec chmod 755 {} +
find "$root" -exec touch -h -d "@$SOURCE_DATE_EPOCH" {} +

# --- .tar.gz: unpack anywhere; `bin/stillmark` runs from there
name=stillmark-$version-linux-$(uname -m)
tar --sort=name --owner=0 --group=0 --numeric-owner --mtime="@$SOURCE_DATE_EPOCH" \
  --transform "s,^\./usr,$name,;s,^\.,$name," -C "$root" -cf - ./usr | gzip -9n >"$out/$name.tar.gz"

# --- .deb: the packages that README names, without the one for building
depends=$(sed -n '/<!-- packages -->/,/^```$/s/^sudo apt install //p' README.md | tr ' ' '\n' | grep -v '^build-' | paste -sd, | sed 's/,/, /g')
[ -n "$depends" ] || { echo "README.md names no packages"; exit 1; }
case $(uname -m) in x86_64) arch=amd64 ;; aarch64) arch=arm64 ;; *) arch=$(dpkg --print-architecture) ;; esac
glibc=$(objdump -T "$built/stillmark" "$built/stillmark-cli" | grep -o 'GLIBC_2\.[0-9]*' | sort -uV | tail -n 1 | cut -d_ -f2)
cat >"$doc/copyright" <<TEXT
Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: stillmark

Files: *
Copyright: the authors of Stillmark
License: Expat or Apache-2.0
 The texts are in /usr/share/doc/stillmark/LICENSE-MIT and /usr/share/common-licenses/Apache-2.0.
 The works of others that the programs contain, and their licenses, are in
 /usr/share/doc/stillmark/licenses.txt.gz.
TEXT
mkdir -p "$root/DEBIAN"
cat >"$root/DEBIAN/control" <<TEXT
Package: stillmark
Version: $version
Architecture: $arch
Maintainer: the authors of Stillmark <stillmark@localhost.invalid>
Installed-Size: $(du -sk "$usr" | cut -f1)
Depends: libc6 (>= $glibc), libgcc-s1, $depends
Section: science
Priority: optional
Description: measures where a probe tip lies on saved fluoroscopy stills
 Stillmark measures, on saved fluoroscopy stills and after the procedure, where
 the tip of a radiofrequency probe lies inside a lumbar vertebral body, with its
 uncertainty, for teaching, documentation and audit.
 .
 It reads saved frames. It does not guide a needle and is not a medical device.
TEXT
(cd "$root" && find usr -type f -print0 | LC_ALL=C sort -z | xargs -0 md5sum) >"$root/DEBIAN/md5sums"
find "$root" -exec touch -h -d "@$SOURCE_DATE_EPOCH" {} +
dpkg-deb --root-owner-group -Zxz --build "$root" "$out/stillmark_${version}_$arch.deb" >/dev/null

sums linux "$name.tar.gz" "stillmark_${version}_$arch.deb"
