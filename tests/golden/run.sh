#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# run.sh PROGRAM   Runs every case below tests/golden. A case is a folder with
#   cmd          the arguments, as a shell would split them; run inside a copy of the folder
#   status       the exit status
#   stdout       standard output, byte by byte
#   stderr       standard error, byte by byte; without the file it is not compared
#   record.json  the record that was written: same fields, numbers to 1e-8 of their size
#   *.svg        figures that were written, byte by byte
# and its input files. UPDATE=1 rewrites what differs; a record.json, a stderr or an SVG is
# compared and rewritten only where there is one already (an empty file will do).
set -u
cd "$(dirname "$0")/../.." || exit 2
program=$(cd "$(dirname "${1:?which program?}")" && pwd)/$(basename "$1")
[ -x "$program" ] || { echo "not ok - there is no program $program"; exit 1; }
unset NO_COLOR
export COLUMNS=80 TERM=dumb
demo=$PWD/demo # for a cmd that analyzes the demo trial
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0

same_record() { # WANTED GOT: prints what differs
    jq -n -r --slurpfile want "$1" --slurpfile got "$2" '
        def leaves: [paths(type | . != "object" and . != "array"),
                     paths((type | . == "object" or . == "array") and length == 0)];
        def close($a; $b): ($a - $b | fabs) <= 1e-8 * ([$a, $b] | map(fabs) | max) + 1e-15;
        $want[0] as $w | $got[0] as $g
        | (($w | leaves) - ($g | leaves) | .[] | "missing: \(.)"),
          (($g | leaves) - ($w | leaves) | .[] | "not expected: \(.)"),
          (($w | leaves)[] as $p
           | ($w | getpath($p)) as $a | ($g | try getpath($p) catch null) as $b
           | select(if ($a | type) == "number" and ($b | type) == "number"
                    then close($a; $b) | not else $a != $b end)
           | "\($p): wanted \($a), got \($b)")'
}
compare() { # WANTED GOT HOW: one file of the case; says what differs
    if [ ! -f "$2" ]; then
        echo "$1: was not written"
        return
    fi
    if [ "$3" = record ] && [ -s "$1" ]; then
        difference=$(same_record "$1" "$2" 2>&1)
    else
        difference=$(diff -u "$1" "$2" 2>&1)
    fi
    [ -z "$difference" ] && return
    if [ "${UPDATE:-}" = 1 ]; then
        cp "$2" "$1"
    else
        printf '%s\n' "$1:" "$difference" | head -n 40
    fi
}

for case in tests/golden/*/; do
    case=${case%/}
    [ -f "$case/cmd" ] || continue
    name=$(basename "$case")
    run=$work/$name
    mkdir "$run"
    cp -r "$case"/. "$run"
    (cd "$run" && rm -f cmd stdout stderr status record.json ./*.svg)
    arguments=$(cat "$case/cmd")
    (cd "$run" && eval "${WRAP:-} \"\$program\" $arguments") \
        >"$work/$name.stdout" 2>"$work/$name.stderr" </dev/null
    echo $? >"$work/$name.status"
    for what in status stdout; do
        [ "${UPDATE:-}" = 1 ] && [ ! -f "$case/$what" ] && : >"$case/$what"
        compare "$case/$what" "$work/$name.$what" bytes
    done >"$work/said"
    if [ -f "$case/stderr" ]; then
        compare "$case/stderr" "$work/$name.stderr" bytes
    fi >>"$work/said"
    for f in "$case"/record.json "$case"/*.svg; do
        [ -f "$f" ] || continue
        written=$(find "$run" -name "$(basename "$f")" | sort | head -n 1)
        how=bytes
        [ "$(basename "$f")" = record.json ] && how=record
        compare "$f" "${written:-$run/nothing}" $how
    done >>"$work/said"
    if [ -s "$work/said" ]; then
        echo "not ok - golden $name"
        cat "$work/said"
        [ -s "$work/$name.stderr" ] && { echo "it said:"; head -n 10 "$work/$name.stderr"; }
        failed=1
    else
        echo "ok - golden $name"
    fi
done
exit $failed
