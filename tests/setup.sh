#!/bin/sh
# setup.sh build|test: installs what is missing from packages.txt, then compiles into ./build.
# Says nothing when there is nothing to say.
set -eu
cd "$(dirname "$0")/.."

case "${1:-}" in
  build | test) set_wanted=$1 ;;
  *) echo "setup.sh: say for what: sh tests/setup.sh build|test" >&2; exit 2 ;;
esac

# Installed by Debian, or a program of that name from elsewhere.
is_here() {
  dpkg-query -W -f='${Status}' "$1" 2>/dev/null | grep -q 'ok installed' || command -v "$1" >/dev/null
}

quietly() {
  log=$(mktemp)
  "$@" >"$log" 2>&1 || { status=$?; cat "$log" >&2; rm -f "$log"; exit "$status"; }
  rm -f "$log"
}

wanted=$(awk -v set="$set_wanted" '!/^#/ && NF && (set == "test" || !/# test/) { print $1 }' tests/packages.txt)
missing=
for package in $wanted; do
  is_here "$package" || missing="$missing $package"
done

if [ -n "$missing" ]; then
  echo "setup.sh: installing$missing" >&2
  as_root=
  [ "$(id -u)" -eq 0 ] || as_root=sudo
  quietly $as_root apt-get update
  quietly $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing
fi

if [ ! -f build/build.ninja ]; then
  quietly meson setup build
elif [ -n "$missing" ]; then
  quietly meson setup --reconfigure build # it may have done without what is there now
fi
quietly meson compile -C build
