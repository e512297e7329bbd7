#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# house-rules [FOLDER]   Greps for what the house does not allow: dependencies that point upwards,
# libraries and calls outside their room, files that grew too long, words that stand for work not
# done. A line that carries the words "house-rules:" with its reason is excepted from the rules
# about calls. Prints each offence as file:line: rule: text; status 1 when there is one.
set -u
cd "${1:-$(dirname "$0")/../..}" || exit 2
offences=$(mktemp) lines=$(mktemp)
trap 'rm -f "$offences" "$lines"' EXIT

# complain RULE: reads "file:line:text" and notes what is not excepted
complain() {
    grep -v 'house-rules:' | sed "s|^\([^:]*:[0-9]*\):[[:space:]]*|\1: $1: |" >>"$offences"
}
# the same for rules without exceptions
refuse() {
    sed "s|^\([^:]*:[0-9]*\):[[:space:]]*|\1: $1: |" >>"$offences"
}
# the lines of all C files as "file:line:text" with comments and the insides of strings blanked
find src studies include tests -name '*.[ch]' | sort | xargs awk '
    FNR == 1 { inside = 0 }
    {
        line = $0; out = ""; excepted = line ~ /house-rules:/
        if ($0 !~ /^[ \t]*#[ \t]*include/)
            gsub(/"([^"\\]|\\.)*"/, "\"\"", line)
        while (length(line) > 0) {
            if (inside) {
                end = index(line, "*/")
                if (end == 0) break
                inside = 0; line = substr(line, end + 2)
            } else {
                start = index(line, "/*")
                if (start == 0) { out = out line; break }
                out = out substr(line, 1, start - 1)
                inside = 1; line = substr(line, start + 2)
            }
        }
        sub(/\/\/.*/, "", out)
        if (out ~ /[^ \t]/)
            print FILENAME ":" FNR ":" out (excepted ? " house-rules:" : "")
    }' >"$lines"
code() { # code FOLDER ...: the lines below these folders
    pattern=
    for folder; do pattern="$pattern|^$folder/"; done
    grep -E "${pattern#|}" "$lines"
}

# ---- libraries stay in their room ------------------------------------------------------------------
code src studies include | grep '#[ ]*include[ ]*<gsl/' | grep -v '^src/math/' |
    refuse 'GSL belongs to src/math'
code src studies include | grep '#[ ]*include[ ]*<csv\.h>' | grep -v '^src/read/' |
    refuse 'libcsv belongs to src/read'
code src studies include | grep '#[ ]*include[ ]*<jansson\.h>' | grep -v '^src/report/' |
    refuse 'jansson belongs to src/report'

# ---- calls stay in their room ----------------------------------------------------------------------
code src studies | grep -v '^src/cli/' |
    grep -E '(^|[^A-Za-z0-9_])(exit|_exit|_Exit|quick_exit|abort)[ ]*\(' |
    complain 'only src/cli ends the program'
# (arena.c: the message before its one exit)
code src studies | grep -vE '^src/(cli/|main\.c:|base/arena\.c:)' |
    grep -E '(^|[^A-Za-z0-9_])(v?printf|puts|putchar|perror)[ ]*\(|(^|[^A-Za-z0-9_])std(out|err)([^A-Za-z0-9_]|$)' |
    complain 'only src/cli prints to a terminal'
code src studies tests | grep -E '(^|[^A-Za-z0-9_])(setlocale|newlocale|uselocale)[ ]*\(' |
    complain 'no locale'
code src studies | grep -v '^src/read/number\.c:' |
    grep -E '(^|[^A-Za-z0-9_])(strtod|strtof|strtold|atof|v?f?s?scanf)[ ]*\(' |
    complain 'numbers are read by src/read/number.c'
code src studies | grep -E '(^|[^A-Za-z0-9_])(time|clock|clock_gettime|gettimeofday|localtime|gmtime|rand|srand|random)[ ]*\(' |
    complain 'no clock and no hidden random numbers'

# ---- dependencies point downwards ------------------------------------------------------------------
# what a place may include of include/plateau/
allowed() {
    case $1 in
    src/main.c) echo 'cli' ;;
    src/cli/*) echo 'cli report study window math read finding base' ;;
    src/report/*) echo 'report window finding base' ;;
    src/window/*) echo 'window math finding base' ;;
    studies/* | src/study/*) echo 'study math read finding base' ;;
    src/math/*) echo 'math base' ;;
    src/read/*) echo 'read base' ;;
    src/finding/*) echo 'finding base' ;;
    src/base/*) echo 'base' ;;
    include/plateau/cli.h) echo '' ;;
    include/plateau/report.h) echo 'window finding base' ;;
    include/plateau/study.h) echo 'math read finding base' ;;
    include/plateau/window.h) echo 'finding base' ;;
    include/plateau/math*.h | include/plateau/read.h | include/plateau/finding.h) echo 'base' ;;
    include/plateau/base.h) echo '' ;;
    *) echo 'nothing: this place is not in the list of rooms' ;;
    esac
}
code src studies include | grep -E '#[ ]*include[ ]*["<]plateau/' | while IFS= read -r hit; do
    file=${hit%%:*}
    header=$(printf '%s\n' "$hit" | sed 's/.*plateau\/\([a-z_]*\)\.h.*/\1/')
    # math_anova.h is a part of math.h
    case " $(allowed "$file") " in
    *" ${header%%_*} "*) ;;
    *) printf '%s\n' "$hit" ;;
    esac
done | refuse 'includes a room above or beside it'
# headers of another room by path
code src studies | grep -E '#[ ]*include[ ]*"(\.\./|src/)' | refuse 'reaches into another room'
for room in $(cd src && ls -d */); do
    code src studies | grep -v "^src/$room" | grep -E "#[ ]*include[ ]*\"$room" |
        refuse 'reaches into another room'
done

# ---- length and words ------------------------------------------------------------------------------
find src studies include tests -name '*.[ch]' -o -name '*.sh' | sort | while read -r f; do
    n=$(wc -l <"$f")
    [ "$n" -gt 700 ] && echo "$f:$n: $n lines"
done | refuse 'more than 700 lines'
find src studies include tests docs Makefile README.md DEVELOPERS.md .ci -type f 2>/dev/null |
    sort | while read -r f; do
    grep -nIE '(^|[^A-Za-z])(T[O]DO|F[I]XME|X[X]X|H[A]CK)([^A-Za-z]|$)' "$f" /dev/null
    grep -niIE '(^|[^A-Za-z])s[t]ubs?([^A-Za-z]|$)|not[ ]implemented' "$f" /dev/null
done | refuse 'word for work not done'

# ---- first line ------------------------------------------------------------------------------------
find src studies include tests -name '*.[ch]' | sort | while read -r f; do
    head -n 1 "$f" | grep -q '^/\* SPDX-License-Identifier: GPL-3.0-or-later' ||
        echo "$f:1:$(head -n 1 "$f")"
done | refuse 'no licence line'

cat "$offences"
if [ -s "$offences" ]; then
    echo "house rules: $(wc -l <"$offences") offences" >&2
    exit 1
fi
