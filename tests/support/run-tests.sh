#!/bin/sh
# run-tests PROGRAM ...   Runs the test programs, then the scripts (golden, cli), counts, and closes
# with "N passed, N failed". WRAP is put before each program (valgrind).
set -u
cd "$(dirname "$0")/../.."
passed=0 failed=0
log=$(mktemp)
trap 'rm -f "$log"' EXIT
count() { # a program that printed cmocka's lines, or a script's "ok -" / "not ok -" lines
    name=$1 status=$2
    p=$(grep -acE '^\[       OK \]|^ok - ' "$log")
    # cmocka names a failed test twice
    f=$(grep -aE '^\[  FAILED  \] |^not ok - ' "$log" | grep -avE 'test\(s\), listed below' | sort -u | wc -l)
    passed=$((passed + p))
    if [ "$status" != 0 ] || [ "$f" != 0 ] || [ "$p" = 0 ]; then
        [ "$f" = 0 ] && f=1
        failed=$((failed + f))
        echo "FAILED $name (status $status)"
        grep -avE '^\[ RUN|^\[       OK|^ok - ' "$log" | tail -n 60
    fi
}
for t; do
    ${WRAP:-} "$t" >"$log" 2>&1
    count "$t" $?
done
for s in tests/golden/run.sh tests/cli/run.sh tests/fuzz/check.sh tests/abuse/check.sh; do
    [ -f "$s" ] || continue
    WRAP=${WRAP:-} sh "$s" "build/${VARIANT:-release}/plateau" >"$log" 2>&1
    count "$s" $?
done
echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
