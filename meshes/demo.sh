#!/bin/sh
# demo.sh: plans the rigger float, the whole way from its mesh to vents.
set -eu
cd "$(dirname "$0")/.."
sh tests/setup.sh build
status=0
build/ullage plan meshes/rigger-float.stl -o build/demo-plan || status=$?
[ "$status" -le 1 ] || exit "$status" # 1: planned, but not good; the verdict says why
echo
echo "The plan lies in build/demo-plan:"
ls build/demo-plan
