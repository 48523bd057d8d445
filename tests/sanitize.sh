#!/bin/sh
# sanitize.sh address|thread|valgrind [ARGUMENTS OF meson test]: the suite under a sanitizer, in a
# build of its own. The address one also looks for undefined behaviour and leaks.
set -eu
cd "$(dirname "$0")/.."
kind=${1:?say address, thread or valgrind}
shift
case $kind in
  address) sanitize=address,undefined ;;
  thread) sanitize=thread ;;
  valgrind) sanitize=none ;;
  *) echo "sanitize.sh: $kind is none of address, thread, valgrind" >&2; exit 2 ;;
esac
build=build-$kind
[ -f "$build/build.ninja" ] ||
  meson setup "$build" --buildtype=debugoptimized -Db_sanitize=$sanitize -Db_lundef=false >/dev/null
ninja -C "$build" >/dev/null
export LSAN_OPTIONS="suppressions=$PWD/tests/lsan.supp:print_suppressions=0"
export UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1
export TSAN_OPTIONS=halt_on_error=1
[ "$kind" != valgrind ] ||
  set -- --wrap='valgrind --error-exitcode=99 --quiet --leak-check=full --errors-for-leak-kinds=definite' -t 20 "$@"
exec meson test -C "$build" --print-errorlogs -t 10 "$@"
