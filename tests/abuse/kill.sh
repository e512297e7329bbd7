#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# kill PROGRAM FOLDER STEP TIMES   An analysis that is killed, or whose disk fills up, while it writes into a folder that
# holds an older report. FOLDER holds die_at.so. At each STEP-th call that changes files; then at TIMES random moments.
# What must hold afterwards: every file is byte for byte the old one or the new one; where nothing hidden is left,
# all are of one set; a mixed set is found by `verify`; after an error all are old; the next analysis puts a whole set there and leaves nothing hidden.
set -u
cd "$(dirname "$0")/../.." || exit 2
root=$PWD
program=$(cd "$(dirname "${1:?which program?}")" && pwd)/$(basename "$1")
helper=$(cd "${2:?where is die_at.so?}" && pwd)/die_at.so
step=${3:-1} times=${4:-200}
work=$(mktemp -d)
disk=
trap '[ -n "$disk" ] && umount "$disk"; rm -rf "$work"' EXIT
cd "$work" || exit 2
failed=0
result() { # result NAME: $bad decides
    if [ -z "$bad" ]; then
        echo "ok - $1"
    else
        echo "not ok - $1"
        printf '%b' "$bad" | head -n 20
        failed=1
    fi
}

# ---- the old report and the new one: other bytes, other figures ------------------------------------------
mkdir old new
cp "$root/tests/golden/gate-freeze-alone/gate-freeze.csv" new
sed 's/,\([0-9][0-9]\)\./,3\1./' new/gate-freeze.csv >old/gate-freeze.csv
cp "$root/tests/golden/pressure-drop/trial/"* old 2>/dev/null || cp "$root/tests/golden/pressure-drop/"*.csv old
"$program" analyze --quiet --out was old >/dev/null 2>err && "$program" analyze --quiet --out will new >/dev/null 2>>err
[ -s was/index.html ] && [ -s will/index.html ] && ! cmp -s was/record.json will/record.json &&
    [ "$(ls was)" != "$(ls will)" ] && bad= || bad=$(cat err)x
result 'killed: there are two reports to tell apart'

fresh() { rm -rf now && cp -r was now; }
hidden() { ls -A now | grep '^\.'; }
same() { diff -r -x '.*' "$1" now >/dev/null; }
mixed=0 left=0
# judge WHAT: adds to $bad
judge() {
    [ -z "$(hidden)" ] || left=$((left + 1))
    if same was || same will; then
        return
    fi
    mixed=$((mixed + 1))
    hidden | grep -q '^\.plateau-new-' || bad="$bad$1: a mixed report, and nothing tells\n"
    trial=old
    cmp -s now/record.json will/record.json && trial=new
    "$program" verify --quiet now/record.json --trial $trial >/dev/null 2>&1
    [ $? = 1 ] || bad="$bad$1: verify does not tell that the report is mixed\n"
    for f in now/*; do
        name=${f##*/}
        cmp -s "$f" "was/$name" || cmp -s "$f" "will/$name" || bad="$bad$1: $name is neither the old nor the new one\n"
    done
    for f in was/*; do
        name=${f##*/}
        [ ! -e "will/$name" ] || [ -e "now/$name" ] || bad="$bad$1: $name is missing\n"
    done
}
# again WHAT: the next analysis
again() {
    "$program" analyze --quiet --out now new >/dev/null 2>err || bad="$bad$1: the next analysis fails: $(cat err)\n"
    same will || bad="$bad$1: the next report is not whole\n"
    [ -z "$(hidden)" ] || bad="$bad$1: the next analysis leaves $(hidden)\n"
}
with() { # with HOW AT: one analysis; $status
    LD_PRELOAD=$helper ASAN_OPTIONS=verify_asan_link_order=0 DIE_HOW=$1 DIE_AT=$2 DIE_COUNT=$work/count \
        "$program" analyze --quiet --out now new >out 2>err
    status=$?
}

# ---- at every call that changes files ---------------------------------------------------------------------
fresh
with none 0
calls=$(cat count)
{ [ "$status" = 0 ] && [ "$calls" -gt 20 ] && same will; } && bad= || bad="status $status, $calls calls, $(cat err)\n"
result 'killed: the calls that change files are counted'
at=1 bad= n=0
while [ "$at" -le "$calls" ]; do
    fresh
    with kill "$at" 2>/dev/null
    [ "$status" = 137 ] || bad="${bad}call $at: status $status, not killed\n"
    judge "killed at call $at"
    again "killed at call $at"
    at=$((at + step)) n=$((n + 1))
done
result "killed at $n of $calls calls: $mixed mixed, marked and found by verify, $left with something hidden; the next analysis mends all"

at=1 bad= n=0 mixed=0 left=0 refused=0
while [ "$at" -le "$calls" ]; do
    fresh
    with full "$at"
    case $status in
    4)
        refused=$((refused + 1))
        same was || bad="${bad}full at call $at: an error, but the report changed\n"
        grep -q '^plateau: ' err || bad="${bad}full at call $at: nothing is said\n"
        ;;
    0) same will || bad="${bad}full at call $at: no error, but the report is not the new one\n" ;;
    *) bad="${bad}full at call $at: status $status\n" ;;
    esac
    judge "full at call $at"
    again "full at call $at"
    at=$((at + step)) n=$((n + 1))
done
[ "$refused" -gt $((n / 3)) ] || bad="${bad}only $refused of $n were refused\n"
result "disk full at $n of $calls calls: $refused refused with the old report whole, $((n - refused)) completed"

# ---- files that may not grow ------------------------------------------------------------------------------
bad= n=0
for blocks in 0 1 7 13 20 30 45 60 90 140 200 300; do
    for how in "trap '' XFSZ" ':'; do
        fresh
        (eval "$how"; ulimit -c 0; ulimit -f $blocks; exec "$program" analyze --quiet --out now new) >out 2>err
        judge "files of $blocks blocks"
        again "files of $blocks blocks"
        n=$((n + 1))
    done
done 2>/dev/null
result "files that may not grow: $n analyses"

# ---- a disk that is full, where one may be made --------------------------------------------------------------
mkdir disk
if mount -t tmpfs -o size=2m tmpfs disk 2>/dev/null; then
    disk=$work/disk
    bad= n=0 refused=0
    rm -rf now && ln -s disk/now now
    for room in 0 4 12 24 40 60 80 120; do
        rm -rf disk/* && cp -r was disk/now
        cat /dev/zero >disk/filler 2>/dev/null
        size=$(wc -c <disk/filler)
        head -c $((size - room * 1024)) /dev/zero >disk/filler
        "$program" analyze --quiet --out now new >out 2>err
        status=$?
        [ $status = 4 ] && refused=$((refused + 1))
        { [ $status = 4 ] && same was; } || { [ $status = 0 ] && same will; } || bad="$bad$room KiB: status $status\n"
        judge "$room KiB left"
        rm -f disk/filler
        again "$room KiB left"
        n=$((n + 1))
    done
    rm -f now
    result "a full disk: $n analyses, $refused refused with the old report whole"
fi

# ---- at random moments -----------------------------------------------------------------------------------------
fresh
from=$(date +%s%N)
for i in 1 2 3 4 5; do "$program" analyze --quiet --out now new; done
to=$(date +%s%N)
awk -v n="$times" -v t=$(((to - from) / 5000)) 'BEGIN { srand(41); for (i = 0; i < n; i++) printf "%.6f\n", rand() * t * 1.1e-6 }' >moments
bad= n=0 mixed=0 left=0 killed=0
while read -r moment; do
    fresh
    "$program" analyze --quiet --out now new >out 2>err &
    sleep "$moment"
    kill -9 $! 2>/dev/null
    wait $! 2>/dev/null
    [ $? = 137 ] && killed=$((killed + 1))
    judge "killed after $moment s"
    again "killed after $moment s"
    n=$((n + 1))
done <moments
result "killed at $n random moments: $killed while at work, $mixed mixed, marked and found by verify, $left with something hidden"
exit $failed
