#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# publish.sh TABLE   The judged table of `make coverage` into docs/: every cell into docs/coverage.md, the
# summary and the misses between the two marks of docs/validation.md.
set -eu
cd "$(dirname "$0")/../.."
table=${1:?which table?}
[ -s "$table" ] || { echo "coverage-table: no table: run make coverage first" >&2; exit 1; }
new=$(mktemp)
trap 'rm -f "$new" "$new.doc"' EXIT
awk -f tests/coverage/table.awk -v full=docs/coverage.md kind=cells tests/coverage/cells.tsv kind=known tests/coverage/known-misses.tsv kind=table "$table" >"$new"
awk -v new="$new" '
    /<!-- coverage: begin -->/ { print; while ((getline line < new) > 0) print line; inside = 1; next }
    /<!-- coverage: end -->/ { inside = 0 }
    !inside { print }' docs/validation.md >"$new.doc"
grep -q '<!-- coverage: end -->' "$new.doc" || { echo "coverage-table: docs/validation.md has no marks" >&2; exit 1; }
cat "$new.doc" >docs/validation.md
