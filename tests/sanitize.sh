#!/bin/sh
# sanitize.sh address|thread|valgrind [chosen | ARGUMENTS OF meson test]: tests under a sanitizer, in a
# build of its own. The address one also looks for undefined behaviour and leaks. Without arguments it
# is the whole suite; `chosen` is the part below, which run.sh has time for.
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

# Address: all but pages in a browser, GUDHI's figures and large plans, which repeat the same code at
# length. Threads: what works in parallel. Valgrind: memory read before it is set, which the others
# do not see, in the tests that end soon.
if [ "${1:-}" = chosen ]; then
  shift
  case $kind in
    address)
      set -- --suite shapes --suite base --suite cavity --suite rise --suite air --suite shop --suite main \
        --suite alone --suite bad --suite fuzz --suite stress
      ;;
    thread)
      set -- base columns fill grid thin measure self_intersect solid union import level seam solver mobility \
        'rise limits' 'air of a rise' attitude tilts 'least pack' 'alone, check' 'alone, tilts' 'alone, rise' 'alone, plan'
      ;;
    valgrind)
      set -- shapes base weld columns fill thin audit measure solid union import foam foam_card vent_flow meets wet \
        seam attitude place 'last places' charge csv drills hold packing parting shadow shots tool vent_size \
        markers words outline page options 'fuzz cases, audit' 'fuzz cases, card' 'fuzz cases, options' \
        'fuzz cases, plan' 'fuzz cases, shots' 'fuzz cases, wire' 'alone, check' 'alone, rise' 'alone, plan'
      ;;
  esac
fi

build=build-$kind
# Their dlopen() does not look where the program's RUNPATH says, but does where an RPATH says.
[ -f "$build/build.ninja" ] ||
  meson setup "$build" --buildtype=debugoptimized -Db_sanitize=$sanitize -Db_lundef=false \
    -Dc_link_args=-Wl,--disable-new-dtags >/dev/null
ninja -C "$build" >/dev/null
export LSAN_OPTIONS="suppressions=$PWD/tests/lsan.supp:print_suppressions=0"
export UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1
export TSAN_OPTIONS=halt_on_error=1
export OMP_THREAD_LIMIT=1 # of CHOLMOD, in a test: the thread sanitizer does not know the locks of OpenMP
if [ "$kind" = valgrind ]; then
  leaks="--leak-check=full --errors-for-leak-kinds=definite --suppressions=$PWD/tests/valgrind.supp"
  set -- --wrap="valgrind --error-exitcode=99 --quiet $leaks" "$@"
fi
exec meson test -C "$build" --print-errorlogs -t 20 "$@"
