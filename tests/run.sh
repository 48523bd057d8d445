#!/bin/sh
# run.sh: builds and runs every test, then those chosen for the address and undefined-behaviour
# sanitizers (sanitize.sh); the last line is "N passed, N failed". With arguments they go to `meson
# test`, and the sanitizers are left out: sh tests/run.sh --suite cavity
set -u
cd "$(dirname "$0")/.."
sh tests/setup.sh test || { echo "0 passed, 1 failed"; exit 1; }

kinds=
[ $# -gt 0 ] || kinds=address
logs=build/meson-logs/testlog.txt
for kind in $kinds; do
  logs="$logs build-$kind/meson-logs/testlog*.txt"
done
rm -f $logs

status=0
meson test -C build --print-errorlogs "$@" || status=1
for kind in $kinds; do
  echo "under $kind:"
  sh tests/sanitize.sh "$kind" chosen || status=1
done

# The summaries of the runs that have just ended, from their own logs.
count() {
  cat $logs 2>/dev/null | awk -v what="$1" '$0 ~ "^" what ":" { n += $NF } END { print n + 0 }'
}
passed=$(($(count Ok) + $(count 'Expected Fail')))
failed=$(($(count Fail) + $(count 'Unexpected Pass') + $(count Timeout)))
[ "$status" -eq 0 ] || [ "$failed" -gt 0 ] || failed=1
echo "$passed passed, $failed failed"
[ "$status" -eq 0 ] && [ "$failed" -eq 0 ]
