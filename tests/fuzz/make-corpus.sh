#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# make-corpus FOLDER   Fills FOLDER/TARGET with inputs made from the tests' own: the strings in
# their C sources, their CSV files, trial.ini and records. Nothing of it is kept in the repository.
set -eu
cd "$(dirname "$0")/../.."
out=${1:?which folder?}
export LC_ALL=C
for t in cells header ini number record table unit; do
    mkdir -p "$out/$t"
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# The string literals of C files, one a line, neighbours joined, as `printf %b` takes them. Text
# with a NUL in it is cut there by nobody: \0 stays an escape.
literals() {
    awk '
    function flush() { if (open && length(s) > 0) print s; s = ""; open = 0 }
    {
        line = $0
        if (line ~ /^[ \t]*#[ \t]*include/) next
        while (length(line) > 0) {
            if (substr(line, 1, 1) == "\"") {
                line = substr(line, 2); open = 1
                while (length(line) > 0 && substr(line, 1, 1) != "\"") {
                    c = substr(line, 1, 1)
                    if (c != "\\") { s = s c; line = substr(line, 2); continue }
                    c = substr(line, 2, 1); line = substr(line, 3)
                    if (c == "x") {
                        v = 0
                        while (substr(line, 1, 1) ~ /[0-9A-Fa-f]/) {
                            v = (v * 16 + index("0123456789abcdef", tolower(substr(line, 1, 1))) - 1) % 256
                            line = substr(line, 2)
                        }
                        s = s sprintf("\\0%03o", v)
                    } else if (c ~ /[0-7]/) {
                        while (substr(line, 1, 1) ~ /[0-7]/ && length(c) < 3) {
                            c = c substr(line, 1, 1); line = substr(line, 2)
                        }
                        s = s "\\0" c
                    } else s = s "\\" (c == "\"" ? "042" : c == "\\" ? "0134" : c)
                }
                line = substr(line, 2)
            } else if (line ~ /^[ \t]/) { line = substr(line, 2) }
            else { flush(); line = substr(line, 2) }
        }
    }
    END { flush() }' "$@" | sort -u
}
# write FOLDER PREFIX: a file for each line
write() {
    n=0
    while IFS= read -r line; do
        n=$((n + 1))
        printf '%b' "$2$line" >"$out/$1/$3-$n"
    done
}

literals tests/unit/test_read_number.c >"$work/number"
literals tests/unit/test_read_units.c src/read/units.c >"$work/unit"
literals tests/unit/test_read_table.c tests/unit/test_read_same.c tests/unit/read_cases.h \
    tests/unit/test_read_trial.c >"$work/table"
literals tests/unit/test_read_ini.c tests/unit/read_ini_cases.h >"$work/ini"
grep -h '"[a-z_]*|*' studies/*/*.c | literals >"$work/header"

write number '' test <"$work/number"
write unit '' test <"$work/unit"
write header a test <"$work/header"
grep '\\n\|\[' "$work/ini" | write ini '' test
grep '[,;|]\|\\t\|\\n' "$work/table" | write cells '\0000' test
awk 'length($0) <= 60' "$work/table" | write header a cell
# a study for each text: the letters stand for studies in their order
n=0
for letter in a b c d e f g h; do
    grep '\\n\|\\r' "$work/table" | write table $letter "test-$letter"
    n=$((n + 1))
    [ "$n" -ge "$(grep -c '^STUDY(' studies/studies.def)" ] && break
done

# ---- files -------------------------------------------------------------------------------------------
n=0
for f in tests/golden/*/*.csv tests/golden/*/trial/*.csv demo/*.csv studies/*/*.csv; do
    [ -f "$f" ] || continue
    n=$((n + 1))
    { printf a; head -c 2000 "$f"; } >"$out/table/file-$n"
    for letter in b c d e; do
        { printf $letter; head -n 6 "$f"; } >"$out/table/file-$letter-$n"
    done
    ini=$(dirname "$f")/trial.ini
    [ -f "$ini" ] && { printf B; head -c 400 "$ini"; printf '\001'; head -n 8 "$f"; } >"$out/table/ini-$n"
    { printf '\000'; head -c 500 "$f"; } >"$out/cells/file-$n"
    head -n 5 "$f" | tr ',;\t' '\n\n\n' | head -n 20 | sed 's/"//g' >"$work/cells"
    k=0
    while IFS= read -r cell; do
        k=$((k + 1))
        printf '%s' "$cell" >"$out/number/file-$n-$k"
        printf 'a%s' "$cell" >"$out/header/file-$n-$k"
    done <"$work/cells"
done
n=0
for f in tests/golden/*/trial/trial.ini demo/trial.ini; do
    [ -f "$f" ] || continue
    n=$((n + 1))
    cp "$f" "$out/ini/file-$n"
    # each section alone
    awk -v to="$out/ini/section-$n" '/^\[/ { k++ } k { print >(to "-" k) }' "$f"
done

# ---- tables with faults ----------------------------------------------------------------------------
# LETTER and bytes as `printf %b` takes them, a case of tests/faults a line; the trial.ini in front, if any
sed -n 's/^STUDY(study_\(.*\))/\1/p' studies/studies.def | tr _ - >"$work/studies"
awk '
    function hex(c) { return index("0123456789ABCDEF", toupper(c)) - 1 }
    function coded(line,    out, c, v) {
        out = ""
        while (length(line) > 0) {
            c = substr(line, 1, 1); line = substr(line, 2)
            if (c != "\\") { out = out c; continue }
            c = substr(line, 1, 1); line = substr(line, 2)
            if (c == "x") {
                v = hex(substr(line, 1, 1)) * 16 + hex(substr(line, 2, 1)); line = substr(line, 3)
                out = out sprintf("\\0%03o", v)
            } else if (c == "c" && line == "") return out
            else out = out (c == "s" ? " " : c == "0" ? "\\0000" : c == "\\" ? "\\0134" : "\\" c)
        }
        return out "\\n"
    }
    function flush() { if (bytes != "") print (ini != "" ? toupper(letter) ini "\\0001" : letter) bytes; bytes = ini = "" }
    FILENAME == studies { letters[$0] = substr("abcdefghijklmnop", FNR, 1); next }
    /^case / { flush(); letter = letters["gate-freeze"] }
    /^study / { letter = letters[$2] }
    /^file / { flush(); sub(/\.csv$/, "", $2); if ($2 in letters) letter = letters[$2] }
    /^ini / { ini = ini coded(substr($0, 5)) }
    /^\|/ { bytes = bytes coded(substr($0, 2)) }
    /^repeat / && $2 <= 200 { line = substr($0, length($2) + 9) "\\c"; for (i = 0; i < $2; i++) bytes = bytes coded(line) }
    END { flush() }' studies="$work/studies" "$work/studies" tests/faults/*.cases >"$work/cases"
write table '' case <"$work/cases"
sed 's/.*\\0001//; s/^[a-zA-Z]//' "$work/cases" | write cells '\0000' case
grep '\\0001' "$work/cases" | sed 's/\\0001.*//; s/^[A-Z]//' | write ini '' case
# their cells: numbers, names with units
sed 's/.*\\0001//; s/^[a-zA-Z]//; s/\\n.*//' "$work/cases" | tr ',;|' '\n\n\n' | sort -u | write header a case
sed 's/\\n/\n/g' "$work/cases" | sed 1d | tr ',;|' '\n\n\n' | awk 'length($0) < 100' | sort -u | write number '' case

# Records with at most one element in an array, and each of their members alone: whole ones are long.
n=0
for f in tests/golden/*/record.json; do
    n=$((n + 1))
    jq -c 'def short(most): walk(if type == "array" then .[:most]
                                 elif type == "string" and length > 30 then .[:6] else . end);
        short(1), (. as $r | (keys - ["plateau"])[] | {plateau: $r.plateau, (.): $r[.]} | short(2))' "$f" \
        >"$work/records"
    k=0
    while IFS= read -r line; do
        k=$((k + 1))
        printf '%s\n' "$line" >"$out/record/file-$n-$k"
    done <"$work/records"
done
