#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# fuzz FUZZER RUNS [TARGET ...]   Runs every target under libFuzzer and replays the inputs that once
# broke it. The corpus is made anew; FUZZ_KEEP=FOLDER keeps what is found and goes on from there.
# An input that breaks a target is left in tests/fuzz/crashes/TARGET: mend the reader, keep the
# input under a name that says what it is.
set -u
cd "$(dirname "$0")/../.."
fuzzer=$(cd "$(dirname "${1:?which fuzzer?}")" && pwd)/$(basename "$1")
runs=${2:?how many inputs?}
shift 2
[ $# = 0 ] && set -- cells header ini number record table unit
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
sh tests/fuzz/make-corpus.sh "$work/made" || exit 2
failed=0
export ASAN_OPTIONS=allow_user_poisoning=1:quarantine_size_mb=1 UBSAN_OPTIONS=print_stacktrace=1
for t; do
    ln -s "$fuzzer" "$work/fuzz-$t"
    crashes=tests/fuzz/crashes/$t
    grown=${FUZZ_KEEP:-$work/grown}/$t
    mkdir -p "$crashes" "$grown"
    longest=512
    case $t in record) longest=4096 ;; number | unit) longest=64 ;; header) longest=128 ;; esac
    "$work/fuzz-$t" -runs=0 -timeout=10 "$crashes" >"$work/log" 2>&1 &&
        "$work/fuzz-$t" -runs="$runs" -max_len=$longest -timeout=10 -rss_limit_mb=2048 -fork=0 -entropic=0 \
            -dict=tests/fuzz/words.dict -print_final_stats=1 -artifact_prefix="$crashes/" \
            "$grown" "$work/made/$t" >"$work/log" 2>&1
    status=$?
    rate=$(sed -n 's/^stat::average_exec_per_sec: *//p' "$work/log")
    done=$(sed -n 's/^stat::number_of_executed_units: *//p' "$work/log")
    if [ $status = 0 ]; then
        echo "ok - fuzz $t: ${done:-0} inputs, ${rate:-0} a second, $(ls "$grown" | wc -l) worth keeping"
    else
        echo "not ok - fuzz $t (status $status)"
        tail -n 40 "$work/log"
        failed=1
    fi
    rmdir "$crashes" 2>/dev/null
done
exit $failed
