#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# nist.sh FOLDER   Rewrites nist_nonlinear.h, nist_nonlinear_data.h, nist_linear.h and
# nist_univariate.h from NIST's own files (Statistical Reference Datasets, a work of the US
# Government, public domain): FOLDER/nonlinear/*.dat, FOLDER/linear/*.dat, FOLDER/univariate/*.dat.
# The files are not part of this repository; their numbers are.
set -eu
from=$1
to=$(dirname "$0")/..

head_of() { # head_of GUARD COMMENT
    printf '/* SPDX-License-Identifier: GPL-3.0-or-later\n *\n'
    printf '%s\n' "$2" | fold -s -w 96 | sed 's/^/ * /; s/ *$//'
    printf ' * Written by scripts/nist.sh. */\n#ifndef %s\n#define %s\n\n' "$1" "$1"
}

# functions shared by the awk programs: a number as C writes it, an array's name
common='
function c_number(s) {
    sub(/[Ee][+-]?0+$/, "", s)
    if (s ~ /^-?\./) sub(/\./, "0.", s)
    if (s ~ /\.$/) s = s "0"
    return s
}
function array_name(s) { return "nist_" tolower(s) }
function row(first, last,   i, out) {
    out = "{"
    for (i = first; i <= last; i++) out = out (i > first ? ", " : "") c_number($i)
    return out "},"
}'

# ---- nonlinear -------------------------------------------------------------------------------------
names() { (cd "$from/$1" && ls ./*.dat | sed 's|^\./||; s/\.dat$//'); }
{
    head_of TESTS_NIST_NONLINEAR_DATA_H "The data of NIST's certified nonlinear regression problems: response, predictors."
    for name in $(names nonlinear); do
        awk -v name="$name" "$common"'
            /^Data: +y/ { inside = 1; next }
            inside && NF >= 2 {
                if (!n++) print "static const double " array_name(name) "[][" NF "] = {"
                print row(1, NF)
            }
            END { print "};\n" }' "$from/nonlinear/$name.dat"
    done
    printf '#endif\n'
} >"$to/nist_nonlinear_data.h"
{
    head_of TESTS_NIST_NONLINEAR_H "NIST's certified nonlinear regression problems: both published starts, certified value and standard deviation of each parameter, residual sum of squares, residual standard deviation."
    cat <<'C'
#include <stddef.h>

#include "nist_nonlinear_data.h"

struct nist_problem {
    const char *name;
    size_t n, p, columns;
    const double *data; /* n rows of response, predictors */
    struct {
        double start1, start2, certified, sd;
    } b[9];
    double rss, residual_sd;
};

static const struct nist_problem nist_problems[] = {
C
    for name in $(names nonlinear); do
        awk -v name="$name" "$common"'
            /^ *b[0-9] *=/ { b[++p] = row(3, 6) }
            /^Residual Sum of Squares:/ { rss = $NF }
            /^Residual Standard Deviation:/ { sd = $NF }
            /^Number of Observations:/ { n = $NF }
            /^Data: +y/ { inside = 1; next }
            inside && NF >= 2 { columns = NF; rows++ }
            END {
                if (rows != n) { print name ": " rows " rows, not " n > "/dev/stderr"; exit 1 }
                printf "{\"%s\", %d, %d, %d, &%s[0][0],\n{", name, n, p, columns, array_name(name)
                for (i = 1; i <= p; i++) print b[i]
                printf "}, %s, %s},\n", c_number(rss), c_number(sd)
            }' "$from/nonlinear/$name.dat"
    done
    printf '};\n\n#endif\n'
} >"$to/nist_nonlinear.h"

# ---- linear ----------------------------------------------------------------------------------------
{
    head_of TESTS_NIST_LINEAR_H "NIST's certified linear regression problems: data, certified value and standard deviation of each parameter, residual sum of squares and standard deviation."
    printf '#include <stddef.h>\n\n'
    for name in $(names linear); do
        awk -v name="$name" "$common"'
            /^Data: +y/ { inside = 1; next }
            inside && NF >= 2 {
                if (!n++) print "static const double " array_name(name) "[][" NF "] = {"
                print row(1, NF)
            }
            END { print "};\n" }' "$from/linear/$name.dat"
    done
    cat <<'C'
struct nist_linear {
    const char *name;
    size_t n, p, columns;
    const double *data; /* n rows of response, predictors */
    struct {
        double certified, sd;
    } b[11];
    double rss, residual_sd;
};

static const struct nist_linear nist_linear[] = {
C
    for name in $(names linear); do
        awk -v name="$name" "$common"'
            /^ *B[0-9]+ / { b[++p] = row(2, 3) }
            /Standard Deviation +[0-9]/ { sd = $NF }
            /^Residual +[0-9]/ { rss = $3 }
            /^Data: +y/ { inside = 1; next }
            inside && NF >= 2 { columns = NF; n++ }
            END {
                printf "{\"%s\", %d, %d, %d, &%s[0][0],\n{", name, n, p, columns, array_name(name)
                for (i = 1; i <= p; i++) print b[i]
                printf "}, %s, %s},\n", c_number(rss), c_number(sd)
            }' "$from/linear/$name.dat"
    done
    printf '};\n\n#endif\n'
} >"$to/nist_linear.h"

# ---- univariate: the accuracy sets alternate, so their rule is kept instead of their rows ------------
last_rule() { grep -n '^-----' "$1" | tail -n 1 | cut -d: -f1; }
{
    head_of TESTS_NIST_UNIVARIATE_H "NIST's certified univariate data sets: sample mean and standard deviation (NumAcc3's stand in its prose)."
    printf '#include <stddef.h>\n\n'
    for name in Lew Lottery Mavro Michelso; do
        file=$from/univariate/$name.dat
        printf 'static const double nist_%s[] = {\n' "$(printf %s "$name" | tr A-Z a-z)"
        tail -n +$(($(last_rule "$file") + 1)) "$file" | awk "$common"'NF { print c_number($1) "," }'
        printf '};\n\n'
    done
    file=$from/univariate/PiDigits.dat
    printf '/* digits, as many as fit a line */\nstatic const char *const nist_pidigits[] = {\n'
    tail -n +$(($(last_rule "$file") + 1)) "$file" | tr -dc '0-9' | fold -w 92 | sed 's/.*/"&",/'
    printf '\n};\n\n'
    cat <<'C'
struct nist_univariate {
    const char *name;
    size_t n;
    const double *data; /* NULL: PiDigits, or by its rule */
    /* NumAcc: the first, then below and above it in turn */
    double first, below, above;
    double mean, sd;
};

static const struct nist_univariate nist_univariate[] = {
C
    for name in $(names univariate); do
        awk -v name="$name" "$common"'
            /[Mm]ean.*[:=] *-?[0-9.]+/ && mean == "" { match($0, /[:=] *-?[0-9.]+/)
                mean = substr($0, RSTART + 1, RLENGTH - 1) }
            /[Ss]tandard [Dd]ev.*[:=] *-?[0-9.]+/ && sd == "" { match($0, /[:=] *-?[0-9.]+/)
                sd = substr($0, RSTART + 1, RLENGTH - 1) }
            /^-----/ { n = 0; inside = 1; next }
            inside && NF { y[++n] = $1 }
            END {
                gsub(/ /, "", mean); gsub(/ /, "", sd)
                rule = "0, 0, 0"; data = array_name(name)
                if (name ~ /^NumAcc/) {
                    data = "NULL"; rule = y[1] ", " y[2] ", " y[3]
                    for (i = 2; i <= n; i++) if (y[i] != y[2 + i % 2]) bad = 1
                    if (bad) { print name ": does not alternate" > "/dev/stderr"; exit 1 }
                }
                if (name == "PiDigits") data = "NULL"
                printf "{\"%s\", %d, %s, %s, %s, %s},\n", name, n, data, rule, mean, sd
            }' "$from/univariate/$name.dat"
    done
    printf '};\n\n#endif\n'
} >"$to/nist_univariate.h"
clang-format-14 -i "$to"/nist_nonlinear.h "$to"/nist_nonlinear_data.h "$to"/nist_linear.h "$to"/nist_univariate.h
