#!/bin/sh
# made_again.sh PROGRAM MESHES: what PROGRAM makes is byte for byte what lies in MESHES.
set -eu
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
"$1" "$scratch"
for made in "$scratch"/*; do
  cmp "$made" "$2/${made##*/}"
done
