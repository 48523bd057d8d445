#!/bin/sh
# run.sh MINUTES [FUZZER...]: runs each fuzzer that long, from the cases kept, under the address and
# undefined-behaviour sanitizers; prints a line each. Needs clang. What makes one fail stays in
# build-fuzz/found: mend the program, then keep the case in cases/FUZZER, where the tests replay it.
set -eu
cd "$(dirname "$0")/../.."
minutes=${1:?say for how many minutes each}
shift
if [ ! -f build-fuzz/build.ninja ]; then
  CC=clang CXX=clang++ meson setup build-fuzz --buildtype=debugoptimized -Dauto_features=disabled \
    -Db_sanitize=address,undefined -Db_lundef=false -Ddefault_library=static \
    -Dc_args='-fsanitize=fuzzer-no-link -fno-sanitize-recover=all' >/dev/null
fi
ninja -C build-fuzz -t targets all | sed -n 's|^\(tests/fuzz/fuzz_[a-z]*\): .*|\1|p' | xargs ninja -C build-fuzz >/dev/null
mkdir -p build-fuzz/found
status=0
for name in ${*:-audit card options plan shots wire}; do
  corpus=build-fuzz/corpus-$name
  mkdir -p "$corpus"
  log=build-fuzz/fuzz-$name.log
  LSAN_OPTIONS=suppressions=$PWD/tests/lsan.supp:print_suppressions=0 nice "build-fuzz/tests/fuzz/fuzz_$name" "$corpus" "tests/fuzz/cases/$name" \
    -max_total_time=$((minutes * 60)) -timeout=300 -report_slow_units=10 -rss_limit_mb=1024 -max_len=10000 \
    -artifact_prefix="build-fuzz/found/$name-" -print_final_stats=1 >"$log" 2>&1 || status=1
  # A machine that stands still for a while makes any input slow: those that are slow again count.
  for slow in build-fuzz/found/"$name"-slow-unit-*; do
    if [ -f "$slow" ] && "build-fuzz/tests/fuzz/fuzz_$name" -timeout=10 -artifact_prefix=build-fuzz/ "$slow" >/dev/null 2>&1; then
      rm "$slow"
    fi
  done
  runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$log")
  speed=$(sed -n 's/^stat::average_exec_per_sec: *//p' "$log")
  cover=$(sed -n 's/.* cov: \([0-9]*\) .*/\1/p' "$log" | tail -1)
  found=$(find build-fuzz/found -name "$name-*" | wc -l)
  [ "$found" -eq 0 ] || status=1
  echo "$name: $minutes min, ${runs:-?} runs (${speed:-?} a second), $cover edges, $found failures"
done
exit $status
