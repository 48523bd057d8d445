#!/bin/sh
# run.sh: builds and runs every test; the last line is "N passed, N failed". Arguments go to
# `meson test`, for example a suite: sh tests/run.sh --suite cavity
set -u
cd "$(dirname "$0")/.."
sh tests/setup.sh test || { echo "0 passed, 1 failed"; exit 1; }

rm -f build/meson-logs/testlog.txt
meson test -C build --print-errorlogs "$@"
status=$?

# The summary of the run that has just ended, from its own log.
count() {
  cat build/meson-logs/testlog.txt 2>/dev/null |
    awk -v what="$1" '$0 ~ "^" what ":" { n = $NF } END { print n + 0 }'
}
passed=$(($(count Ok) + $(count 'Expected Fail')))
failed=$(($(count Fail) + $(count 'Unexpected Pass') + $(count Timeout)))
[ "$status" -eq 0 ] || [ "$failed" -gt 0 ] || failed=1
echo "$passed passed, $failed failed"
[ "$status" -eq 0 ] && [ "$failed" -eq 0 ]
