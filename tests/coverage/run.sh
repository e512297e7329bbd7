#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# run.sh COVERAGE OUT CELLS TRIALS   Runs the cells whose name matches CELLS with TRIALS trials each
# (usual: by what a trial costs, about an hour on two cores) and judges them.
# Rows go to OUT/rows/CELL.tsv, the judged table to OUT/table. JOBS processes.
set -u
here=$(dirname "$0")
coverage=$1 out=$2 cells=$3 trials=$4
mkdir -p "$out/rows" && rm -f "$out"/rows/*.tsv "$out/failed" || exit 2

trials_of() { # study
    case $trials:$1 in
    usual:gate-freeze | usual:cavity-balance) echo 1000 ;;
    usual:viscosity | usual:cooling | usual:cavities | usual:fill-trend) echo 400 ;;
    usual:*) echo 4000 ;;
    *) echo "$trials" ;;
    esac
}

grep -v '^#' "$here/cells.tsv" | cut -f1,2 | grep -e "^[^	]*$cells" | while read -r cell study; do
    echo "$cell $(trials_of "$study")"
done | xargs -P "${JOBS:-$(nproc)}" -L 1 sh -c \
    '"$0" "$1" "$3" "$4" >"$2/rows/$3.tsv" || echo "$3" >>"$2/failed"' "$coverage" "$here/cells.tsv" "$out"
if [ -s "$out/failed" ]; then
    echo "coverage: cells that did not run: $(tr '\n' ' ' <"$out/failed")"
    exit 2
fi
"$coverage" "$here/cells.tsv" --distances >"$out/distances" || exit 2
awk -f "$here/judge.awk" -v table="$out/table" kind=cells "$here/cells.tsv" kind=known "$here/known-misses.tsv" \
    kind=distance "$out/distances" kind=rows "$out"/rows/*.tsv
