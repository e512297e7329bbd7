#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# crosscheck.sh PROGRAM   Computes the reference values of the tests again in R, and the demo trial's
# record. Installs nothing: without R it says so and is content.
set -u
here=$(cd "$(dirname "$0")" && pwd)
program=$(cd "$(dirname "${1:?which program?}")" && pwd)/$(basename "$1")
for tool in Rscript jq; do
    command -v "$tool" >/dev/null 2>&1 && continue
    echo "crosscheck: $tool is not installed; nothing was compared"
    exit 0
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$here"/../../../demo/trial.ini "$here"/../../../demo/*.csv "$work" || exit 1
"$program" analyze "$work" >"$work/said" 2>&1
status=$?
if [ ! -s "$work/report/record.json" ]; then
    cat "$work/said"
    echo "crosscheck: the demo trial gave no record (status $status)"
    exit 1
fi
jq -r -f "$here/record.jq" "$work/report/record.json" >"$work/record.tsv" || exit 1
Rscript --vanilla "$here/crosscheck.R" "$here/.." "$work" "$work/record.tsv"
