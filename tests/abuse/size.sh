#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# size PROGRAM FOLDER PERCENT   Files of absurd size and shape, at PERCENT of the full size: what is told, how much
# memory, and whether twice the file takes twice the time. FOLDER holds the program `usage`.
# Memory is bound as MiB for each MB of the file, beside 30 MiB; times are compared with each other only.
set -u
cd "$(dirname "$0")/../.." || exit 2
program=$(cd "$(dirname "${1:?which program?}")" && pwd)/$(basename "$1")
usage=$(cd "${2:?where is usage?}" && pwd)/usage
percent=${3:-100}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 2
failed=0

head1='hold_time [s],weight [g]'
repeat() { head -c "$1" /dev/zero | tr '\0' "$2"; } # repeat N CHARACTER
lines() { awk -v n="$1" "BEGIN { for (i = 1; i <= n; i++) $2 }"; } # lines N STATEMENT
make_case() { # make_case NAME N: N is the full size, or twice it
    case $1 in
    'one cell') echo "$head1"; printf '1,'; repeat "$2" 9; echo ;;
    'one quoted cell') echo "$head1"; printf '1,"'; repeat "$2" 9; echo '"' ;;
    'columns') lines "$2" 'printf "c%d,", i'; echo; lines "$2" 'printf "1,"'; echo ;;
    'quotes') echo "$head1"; printf '1,'; repeat "$2" '"'; echo ;;
    'open quotes') echo "$head1"; yes '1,"' | head -n "$2" ;;
    'no line end') repeat "$2" x ;;
    'cells without a line end') yes "$head1," | head -c "$2" | tr -d '\n' ;;
    'empty lines') echo "$head1"; echo 1,10.1; repeat "$2" '\n'; echo 2,10.2 ;;
    'empty lines, carriage returns') echo "$head1"; repeat "$2" '\r' ;;
    'empty rows') echo "$head1"; yes ', ' | head -n "$2" ;;
    'comments') yes '# nothing' | head -n "$2" ;;
    'errors') echo "$head1"; lines "$2" 'printf "%d,abc\n", i' ;;
    'errors of many kinds') echo "$head1"; lines "$2" 'printf "%d,%s\n", i, i % 5 == 0 ? "1:30" : i % 5 == 1 ? "12 lb/s" : i % 5 == 2 ? "-3" : i % 5 == 3 ? "2-Jan" : "1/2,3"' ;;
    'rows too long') echo "$head1"; yes '1,10.5,more' | head -n "$2" ;;
    'headers again') yes "$head1" | head -n "$2" ;;
    'rows') echo "$head1,note"; lines "$2" 'printf "%d.5,10.%03d,row %d\n", i % 40 + 1, i % 1000, i' ;;
    'brackets in a header') repeat "$2" '('; echo; echo 1,2 ;;
    'NUL bytes') echo "$head1"; head -c "$2" /dev/zero ;;
    'no text') echo "$head1"; repeat "$2" '\377' ;;
    esac >gate-freeze.csv
}
# run ARGUMENTS: $seconds, $memory (MiB), $status
run() {
    "$usage" "$program" "$@" >out 2>err
    set -- $(tail -n 1 err)
    seconds=$2 memory=$3 status=$4
    sed -i '$d' err
}
say() { # say NAME: $bad decides
    if [ -z "$bad" ]; then
        echo "ok - $1"
    else
        echo "not ok - $1: $bad"
        head -n 8 err
        failed=1
    fi
}
# absurd NAME SIZE STATUS MEMORY: SIZE of the full case; a case of a fixed size has its own
absurd() {
    n=$(($2 * percent / 100)) bad=
    make_case "$1" $n
    size=$((($(wc -c <gate-freeze.csv) + 999999) / 1000000))
    run check gate-freeze.csv
    [ "$status" = "$3" ] || bad="status $status, not $3"
    [ "$3" = 0 ] || grep -qE '^gate-freeze.csv(:[0-9]+|: error)' err || bad="$bad, no place is named"
    [ "$memory" -le $((30 + $4 * size)) ] || [ -n "${LOOSE:-}" ] || bad="$bad, $memory MiB for $size MB"
    [ "$(cat out err | wc -c)" -le 20000 ] || bad="$bad, $(cat out err | wc -c) bytes are said"
    first=$seconds name="$1: $size MB, $memory MiB, $seconds s"
    for try in 1 2 3; do
        make_case "$1" $((2 * n))
        run check gate-freeze.csv
        # what takes no time takes no measure
        awk -v a="$first" -v b="$seconds" 'BEGIN { exit !(b < 0.3 || b <= 3 * a) }' && break
        [ $try = 3 ] && bad="$bad, $first s, but $seconds s for twice the file"
        make_case "$1" $n
        run check gate-freeze.csv
        first=$seconds
    done
    say "$name"
}
absurd 'one cell' 200000000 3 3
absurd 'one quoted cell' 200000000 3 3
absurd 'columns' 1000000 3 3
absurd 'quotes' 10000000 3 3
absurd 'open quotes' 2500000 0 100
absurd 'no line end' 200000000 3 3
absurd 'cells without a line end' 200000000 3 3
absurd 'empty lines' 10000000 0 3
absurd 'empty lines, carriage returns' 10000000 3 3
absurd 'empty rows' 1000000 3 200
absurd 'comments' 1000000 3 40
absurd 'errors' 1000000 3 80
absurd 'errors of many kinds' 1000000 3 80
absurd 'rows too long' 1000000 3 80
absurd 'headers again' 1000000 3 30
absurd 'rows' 1000000 0 60
absurd 'brackets in a header' 10000000 3 3
absurd 'NUL bytes' 10000000 3 3
absurd 'no text' 10000000 3 8
rm -f gate-freeze.csv

# ---- other files ------------------------------------------------------------------------------------------
mkdir many && make_case rows 60 && mv gate-freeze.csv many
(cd many && lines $((100000 * percent / 100)) 'print "other-" i ".csv"' | xargs touch)
bad=
run check many
[ "$(cat out err | wc -c)" -le 20000 ] || bad="$(cat out err | wc -c) bytes are said"
[ "$memory" -le 100 ] || [ -n "${LOOSE:-}" ] || bad="$bad, $memory MiB"
[ "$status" = 0 ] || [ "$status" = 3 ] || bad="$bad, status $status"
say "a folder with $((1000 * percent)) other files: $memory MiB, $seconds s, status $status"

mkdir ini && make_case rows 60 && mv gate-freeze.csv ini
for what in '[trial]' 'title = x' '[' '= x' '"'; do
    yes "$what" | head -c $((2000000 * percent)) >ini/trial.ini
    run check ini
    bad=
    [ "$status" = 3 ] && grep -q 'trial.ini' err && [ "$(wc -c <err)" -le 20000 ] || bad="status $status"
    [ "$memory" -le 100 ] || [ -n "${LOOSE:-}" ] || bad="$bad, $memory MiB"
    say "trial.ini: $((2 * percent)) MB of '$what': $memory MiB, $seconds s"
done
for what in '[' '{"a":' '1,' '"'; do
    yes "$what" | tr -d '\n' | head -c $((2000000 * percent)) >record.json
    run verify record.json
    bad=
    [ "$status" = 3 ] || [ "$status" = 4 ] || bad="status $status"
    grep -q 'record.json' err || bad="$bad, no file is named"
    [ "$memory" -le $((30 + 6 * percent)) ] || [ -n "${LOOSE:-}" ] || bad="$bad, $memory MiB"
    say "record.json: $((2 * percent)) MB of '$what': $memory MiB, $seconds s"
done
exit $failed
