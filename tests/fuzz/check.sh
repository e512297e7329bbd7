#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# check PROGRAM   What the fuzz targets look for, without libFuzzer: the corpus, small changes of it with a
# fixed seed, inputs that once broke a reader, and what a target makes up by itself. Uses the replay program
# that was built beside PROGRAM.
set -u
cd "$(dirname "$0")/../.."
replay=$(cd "$(dirname "${1:?which program?}")" && pwd)/tests/fuzz/replay
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
sh tests/fuzz/make-corpus.sh "$work/made" || exit 2
failed=0
try() { # try NAME ARGUMENTS
    name=$1
    shift
    if (cd "$work" && ${WRAP:-} "$replay" "$@") >"$work/log" 2>&1 && ! grep -qx "0 inputs" "$work/log"; then
        echo "ok - $name"
    else
        echo "not ok - $name"
        tail -n 20 "$work/log"
        failed=1
    fi
}
for t in cells header ini number record table unit; do
    try "replay $t: corpus" $t files "$work/made/$t"
    try "replay $t: changed" $t change "${REPLAY_CHANGES:-500}" 1 "$work/made/$t"
    [ -d tests/fuzz/crashes/$t ] && try "replay $t: kept inputs" $t files "$PWD/tests/fuzz/crashes/$t"
done
for t in cells number; do
    try "replay $t: made up" $t generate 5000 1
done
exit $failed
