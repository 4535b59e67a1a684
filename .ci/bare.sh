#!/usr/bin/env bash
# The package in a bare Debian: installed with nothing but its own dependencies, the demonstration opened under a virtual
# display (a picture of it is kept), a case read, and removed again; nothing is left but what the user made. Before the
# libraries are there, the window says which packages are missing.
#
#   .ci/bare.sh PACKAGE.deb PACKAGE.tar.gz FOLDER     FOLDER gets what was seen, and pictures
#
# Needs root, debootstrap, Xvfb, xdotool, ImageMagick and a mirror. Not part of .ci/run, which may run where none of
# these can be had.
set -euo pipefail
deb=$(realpath "$1") tar=$(realpath "$2") to=$3
cd "$(dirname "$0")/.."
mkdir -p "$to"
to=$(realpath "$to")
suite=${SUITE:-bookworm} mirror=${MIRROR:-http://deb.debian.org/debian}
packages=$(sed -n '/<!-- packages -->/,/^```$/s/^sudo apt install build-essential //p' README.md)
root=$(mktemp -d)
. .ci/window.sh
leave() {
  finish
  for at in proc tmp/.X11-unix; do mountpoint -q "$root/$at" && umount "$root/$at"; done
  rm -rf --one-file-system "$root"
}
trap leave EXIT
say() { echo "== $*"; }
enter=(chroot "$root" /usr/bin/env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 DEBIAN_FRONTEND=noninteractive)
inside() { "${enter[@]}" "$@"; }
files() { inside find / -xdev -type f -not -path '/proc/*' -not -path '/tmp/*' -not -path '/var/*' -not -path '/root/*' -not -path '/etc/ld.so.cache' | LC_ALL=C sort; }

say "a bare $suite"
debootstrap --variant=minbase "$suite" "$root" "$mirror" >"$to/debootstrap.log"
mount -t proc proc "$root/proc"
display 1280x800
mkdir -p "$root/tmp/.X11-unix"
mount --bind /tmp/.X11-unix "$root/tmp/.X11-unix"

# The window with the demonstration, until its first image is shown; a picture of it.
shown() { # PROGRAM CASE PICTURE
  trace=$work/trace
  "${enter[@]}" DISPLAY="$DISPLAY" LIBGL_ALWAYS_SOFTWARE=1 STILLMARK_TRACE_LAYOUT=1 STILLMARK_DATA_DIR=/tmp/kept "$1" "$2" 2>"$trace" &
  app=$!
  pids+=("$app")
  for _ in $(seq 600); do
    grep -q 'ready=true' "$trace" && break
    kill -0 "$app" 2>/dev/null || { cat "$trace"; return 1; }
    sleep 0.1
  done
  grep -q 'ready=true' "$trace"
  sleep 2
  import -window root "$3"
  close_window
}

say "the .tar.gz, before any library is there: the command line runs, the window says what is missing"
mkdir "$root/opt/try"
tar -xzf "$tar" -C "$root/opt/try" --strip-components=1
case=/opt/try/share/doc/stillmark/sample-images/demonstration.case.json
inside /opt/try/bin/stillmark-cli --version
inside /opt/try/bin/stillmark-cli read "$case" | head -n 12
said=$(inside DISPLAY="$DISPLAY" /opt/try/bin/stillmark "$case" 2>&1 || true)
echo "$said"
for package in $packages; do grep -q -- "$package" <<<"$said" || { echo "it does not name $package"; exit 1; }; done

say "the README's packages, and the window"
inside apt-get install -y -qq --no-install-recommends $packages >"$to/apt.log" 2>&1
shown /opt/try/bin/stillmark "$case" "$to/tar.png"
rm -rf "$root/opt/try" "$root/tmp/kept"
inside apt-get purge -y -qq --autoremove $packages >>"$to/apt.log" 2>&1

say "the .deb"
files >"$to/before.txt"
cp "$deb" "$root/tmp/stillmark.deb"
inside apt-get install -y -qq --no-install-recommends /tmp/stillmark.deb >>"$to/apt.log" 2>&1
inside stillmark-cli --version
case=/usr/share/doc/stillmark/sample-images/demonstration.case.json
inside stillmark-cli read "$case" | head -n 12
shown stillmark "$case" "$to/deb.png"
inside mkdir -p /root/mine
inside stillmark-cli read "$case" --json --out /root/mine/readings.json
inside stillmark-cli kept --forget
inside apt-get purge -y -qq --autoremove stillmark >>"$to/apt.log" 2>&1
files >"$to/after.txt"

say "what is left beside what the user made"
left=$(LC_ALL=C comm -13 "$to/before.txt" "$to/after.txt")
echo "${left:-nothing}"
inside ls /root/mine
[ -z "$left" ]
say "done"
