#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# run.sh PROGRAM   What the program does on a command line: messages, exit statuses, files it
# writes and leaves alone, manual page and completion in step with its own help.
# Prints "ok - name" or "not ok - name" with what was seen.
set -u
cd "$(dirname "$0")/../.." || exit 2
root=$PWD
program=$(cd "$(dirname "${1:?which program?}")" && pwd)/$(basename "$1")
[ -x "$program" ] || { echo "not ok - there is no program $program"; exit 1; }
unset NO_COLOR
export COLUMNS=80 TERM=xterm
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0
cd "$work" || exit 2

plateau() {
    ${WRAP:-} "$program" "$@" </dev/null
}
ok() { # ok NAME: the status before it decides
    if [ $? = 0 ]; then
        echo "ok - $1"
    else
        echo "not ok - $1"
        failed=1
        # what was seen last
        for f in out err; do
            [ -s "$work/$f" ] && sed "s/^/  $f: /" "$work/$f" | head -n 15
        done
    fi
}
run() { # run ARGUMENTS: leaves out, err and $status
    plateau "$@" >"$work/out" 2>"$work/err"
    status=$?
}

# ---- what the tests work on --------------------------------------------------------------------------
cp -r "$root/tests/golden/gate-freeze-alone" trial
rm -f trial/cmd trial/stdout trial/stderr trial/status trial/record.json
cp trial/gate-freeze.csv .
mkdir empty taken loop
cp trial/gate-freeze.csv noise.csv
printf '[trial]\ntitle = Already here\n' >taken/trial.ini
echo text >file
ln -s gate-freeze.csv loop/gate-freeze.csv
mkdir never bad
printf 'hold_time [s],weight [g]\n1,10.00\n1,10.01\n2,11.00\n2,11.01\n3,12.00\n3,12.01\n4,13.00\n4,13.01\n5,14.00\n5,14.01\n6,15.00\n6,15.01\n' \
    >never/gate-freeze.csv
printf 'hold_time [s],weight [g]\n1,10.00\n2,abc\n3,11.00\n' >bad/gate-freeze.csv

studies=$(plateau help | sed -n '/^studies$/,/^$/s/^  \([a-z-]*\).*/\1/p')

# ---- one line of errors.tsv per message --------------------------------------------------------------
tab=$(printf '\t')
while IFS="$tab" read -r arguments wanted message; do
    case $arguments in '' | '#'*) continue ;; esac
    [ "$arguments" = '(none)' ] && arguments=
    eval "run $arguments"
    printf '%s\n' "$message" | sed "s/\\\\n/\\n/g; s/@studies@/$(echo $studies | sed 's/ /, /g')/" >wanted
    # where the lines of a list of studies break depends on how many there are
    case $message in
    *@studies@*) tr -s ' \n' ' ' <wanted >words && tr -s ' \n' ' ' <err | cmp -s words - ;;
    *) cmp -s wanted err ;;
    esac && [ "$status" = "$wanted" ] && [ ! -s out ]
    ok "message: plateau $arguments"
done <"$root/tests/cli/errors.tsv"

# ---- help and version --------------------------------------------------------------------------------
run --version
[ "$status" = 0 ] && grep -qxE 'plateau [0-9]+\.[0-9]+\.[0-9]+' out && [ ! -s err ]
ok 'version'
run help && cp out help.txt && run --help && [ "$status" = 0 ] && cmp -s help.txt out && [ ! -s err ]
ok 'help and --help say the same'
commands=$(sed -n '/^commands$/,/^$/s/^  \([a-z]*\).*/\1/p' help.txt)
[ "$(echo $commands)" = 'analyze check explain help new verify' ] && [ -n "$studies" ]
ok 'help lists commands and studies'
for c in $commands; do
    run "$c" --help && cp out "help-$c.txt" && run help "$c" && cmp -s "help-$c.txt" out
    ok "help on $c"
done
for w in 20 40 80 132; do
    COLUMNS=$w plateau help analyze >out 2>err &&
        [ "$(awk -v w="$w" 'length($0) > (w < 40 ? 40 : w)' out | wc -l)" = 0 ] && [ -s out ]
    ok "help on analyze in $w columns"
done

# ---- manual page and completion in step with the option table -----------------------------------------
options_in() { grep -oE -- '--[a-z][a-z-]*' "$@" | sort -u; }
{ options_in help.txt; for c in $commands; do options_in "help-$c.txt"; done; } | sort -u >options
mandoc -T ascii -O width=1000 "$root/docs/plateau.1" | sed 's/.\x08//g' >page
options_in page >out
diff options out >err 2>&1
ok 'manual page: every option and no other'
sed -n 's/^\.It Cm \([a-z-]*\).*/\1/p' "$root/docs/plateau.1" | sort >out
printf '%s\n' $commands $studies | sort | diff - out >err 2>&1
ok 'manual page: every command, every study and no other'
mandoc -T lint -W warning "$root/docs/plateau.1" >out 2>err
ok 'manual page: well formed'
{ options_in "$root/docs/completion.bash"; } >out
diff options out >err 2>&1
ok 'completion: every option and no other'
complete_words() { # complete_words WORD ...: what is offered for the last word
    PATH=$(dirname "$program"):$PATH bash -c '
        . "$1"; shift
        COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _plateau
        printf "%s\n" "${COMPREPLY[@]}"' bash "$root/docs/completion.bash" "$@" 2>err | sort
}
if command -v bash >/dev/null; then
    complete_words plateau '' >out
    { printf '%s\n' $commands; echo --help; echo --version; } | sort | diff - out >err 2>&1
    ok 'completion: commands'
    for c in $commands; do
        complete_words plateau "$c" -- >out
        options_in "help-$c.txt" | diff - out >err 2>&1
        ok "completion: options of $c"
    done
    complete_words plateau analyze --color '' >out
    [ "$(echo $(cat out))" = 'always auto never' ]
    ok 'completion: values of --color'
    complete_words plateau explain gate-free >out
    grep -qx gate-freeze out
    ok 'completion: words of explain'
fi

# ---- explain ---------------------------------------------------------------------------------------
run explain
[ "$status" = 0 ] && cut -d ' ' -f 1 out >words && LC_ALL=C sort -c words 2>err && cp out list
ok 'explain lists its words alphabetically'
sort -u words >out
bad=
while read -r w; do
    plateau explain "$w" >one 2>>err && [ "$(wc -w <one)" -ge 8 ] || bad="$bad $w"
done <out
echo "$bad" >err
[ -z "$bad" ]
ok 'explain explains every word it lists'
run explain GATE-NOT-FROZEN && grep -q '^gate-not-frozen: stop, flag of gate-freeze$' out
ok 'explain does not mind capitals'
known=yes
for w in closed_time ejection_defects met 'not shown' 'not met' freeze_time paths_p defect_free_share; do
    plateau explain "$w" >out 2>err && [ "$(wc -w <out)" -ge 8 ] || known="no: $w"
done
echo "$known" >>err
[ "$known" = yes ]
ok 'explain knows settings, criteria, verdicts and quantities'

# ---- new -------------------------------------------------------------------------------------------
run new blank
{ echo blank/trial.ini; for s in $studies; do echo "blank/$s.csv"; done; } >wanted
[ "$status" = 0 ] && cmp -s wanted out && [ ! -s err ] && [ -s blank/trial.ini ]
ok 'new names the files it makes'
(cd blank && find . -type f | sort) >out
{ echo ./trial.ini; for s in $studies; do echo "./$s.csv"; done; } | sort | diff - out >err
ok 'new makes these files and no others'
cp -r blank before
run new blank
[ "$status" = 4 ] && diff -r before blank >out
ok 'new leaves what is there alone'
[ "$(cat taken/trial.ini)" = "$(printf '[trial]\ntitle = Already here')" ] && [ "$(ls taken)" = trial.ini ]
ok 'new writes nothing beside a file that is there'
sed -n '/^\[/p; s/^#\([a-z_]* = \)/\1/p' blank/trial.ini >keys
# (but how a file is coded: this one is coded otherwise)
mkdir uncommented && grep -vE '^(decimal|separator|encoding) =' keys >uncommented/trial.ini && cp trial/gate-freeze.csv uncommented
run check uncommented
[ "$status" = 0 ]
ok 'every example of the blank trial.ini can be used as it stands'
run check blank
cp err first && cp out firstout && first=$status && run check blank
[ "$status" = "$first" ] && cmp -s first err && { [ "$status" = 0 ] || [ "$status" = 3 ]; } &&
    ! grep -q 'trial.ini.*error' err
ok 'check reads the blank trial'

# A blank table filled in and saved by spreadsheets of other countries says the same.
for i in a b c d; do mkdir -p "saved-$i"; done
awk -F';' -v OFS=';' '!/^[0-9]/ { print; next }
    { $3 = sprintf("%.4f", 4.2 - 0.4 * exp(-1.3 * $2) + 0.0007 * (NR % 3)); print }' \
    blank/gate-freeze.csv >saved-a/gate-freeze.csv # as it was written
sed 's/\([0-9]\)\.\([0-9]\)/\1,\2/; /^#/s/$/;;;;;;;;/; /^sep/d' \
    saved-a/gate-freeze.csv >saved-b/gate-freeze.csv # semicolon and decimal comma, the first line gone
sed '/^#/{s/"/""/g; s/.*/"&",,,,,,,,/; b
}; s/^sep=;$/sep=;,,,,,,,,/; t
s/;/,/g' saved-a/gate-freeze.csv >saved-c/gate-freeze.csv # comma, the first line kept as a cell
sed '/^#/b
/^sep/d; s/;/\t/g' saved-a/gate-freeze.csv >saved-d/gate-freeze.csv
for i in a b c d; do
    run analyze --json "saved-$i" && jq '.studies[0] | del(.flags)' out >"saved-$i.json"
done
jq 'walk(if type == "object" then del(.first_line) else . end)' saved-a.json >a.json
for i in b c d; do
    jq 'walk(if type == "object" then del(.first_line) else . end)' "saved-$i.json" | cmp a.json - ||
        echo "saved-$i differs" >>err
done
[ -s a.json ] && grep -q '"value": 4.' a.json && [ ! -s err ]
ok 'an entry table says the same however a spreadsheet saves it'

# The reader keeps rows; whether they can be used the study says, and without readings they cannot.
mkdir cold
printf '[dimensions]\nlength = 62.28..62.52 mm\n' >cold/trial.ini
printf 'cooling_time [s],length [mm]\n5,\n7,\n9,\n' >cold/cooling.csv
run check cold
[ "$status" = 0 ] && grep -qx '  3 rows read, 3 kept, 0 left out' out && ! grep -qw used out
ok 'check: rows without a reading are kept, not used'
run analyze cold
[ "$status" = 0 ] && jq -e '.studies[0].rows_used == 0' cold/report/record.json >/dev/null
ok 'analyze: rows without a reading are not used'

# What was excluded stands beside what was used, and it is what the study says of the whole table.
mkdir sides whole
cp "$root/tests/golden/excluded-and-odd/gate-freeze.csv" sides
sed 's/,short of melt$/,/' sides/gate-freeze.csv >whole/gate-freeze.csv
run analyze whole
sides='{verdict, decision, rows_used, quantities, criteria, bounds}'
jq -S ".studies[0] | $sides" whole/report/record.json >whole.json
run analyze sides
jq -S ".studies[0].other_answers[] | select(.which == \"with excluded\") | $sides" \
    sides/report/record.json >put-back.json
[ "$status" = 0 ] && [ -s put-back.json ] && cmp whole.json put-back.json &&
    grep -q 'part weight flat .* not shown .* not shown .* \* met' out &&
    grep -q 'caption>Side by side' sides/report/index.html &&
    [ "$(grep -c 'answer is: ' sides/report/index.html)" = 0 ]
ok 'excluded and odd shots: the answers stand side by side'
grep -vF 'short of melt' sides/gate-freeze.csv | grep -v '^17,' >whole/gate-freeze.csv
run analyze whole
[ "$status" = 0 ] && ! grep -qi 'side by side' out whole/report/index.html &&
    jq -e '.studies[0].other_answers == []' whole/report/record.json >/dev/null
ok 'without such shots nothing stands beside the answer'

# Three decimals, semicolons: the line that `new --decimal` writes tells 4.197 from four thousand.
run new marked --decimal point
awk -F';' -v OFS=';' '!/^[0-9]/ { print; next } { $3 = sprintf("%.3f", 4.2 - 0.4 * exp(-1.3 * $2)); print }' \
    marked/gate-freeze.csv >marked.csv && cp marked.csv marked/gate-freeze.csv
sed '/^# decimal/d' marked.csv >gate-freeze.three && mkdir unmarked && cp gate-freeze.three unmarked/gate-freeze.csv
run check unmarked
[ "$status" = 3 ] && grep -q 'put the line `# decimal = point` above' err &&
    run check marked/gate-freeze.csv && [ "$status" = 0 ] && grep -q 'decimal mark point' out
ok 'new --decimal settles what nothing else does'

# a short trial from a record
run analyze trial && run new lot --from trial/report/record.json
[ "$status" = 0 ] && grep -q '^lot/trial.ini$' out && grep -q '^reason = new material lot$' lot/trial.ini &&
    grep -qx 'record = trial/report/record.json' lot/trial.ini &&
    grep -qx "record_sha256 = $(sha256sum trial/report/record.json | cut -d' ' -f1)" lot/trial.ini
ok 'new --from carries a record over'
# A spreadsheet that does not know `sep=;` guesses from all lines: each as many cells, commas in quotes only.
run new commas --decimal comma --from trial/report/record.json
awk 'FNR == 1 { bad = bad || $0 != "sep=;"; width = -1; next }
    { gsub(/"[^"]*"/, ""); bad = bad || /,/ && !/^[0-9]/; n = gsub(/;/, ""); bad = bad || width >= 0 && n != width; width = n }
    END { exit bad || NR < 50 }' marked/*.csv lot/*.csv commas/*.csv
ok 'the rows of entry tables are of one width'
run check lot
[ "$status" = 0 ] && [ "$(grep -c '^[0-9][0-9]*;' lot/gate-freeze.csv)" = 12 ]
ok 'check reads the short trial'

# The demo's next lot, as it is filled in at the press: the same, 15 % stiffer, a gate that freezes later.
cp -r "$root/demo" approved && rm -rf approved/report && run analyze approved && cp -r approved/report approved-report
fill() { # fill DIR STIFFNESS SLOWNESS: a power law, and weights that near their plateau; scatter by the row
    awk -F';' -v OFS=';' -v k="$2" '!/^[0-9]/ { print; next }
        { t = 0.0607 + 29.98 / $2; p = 92.43 * k * (t / 1.2138) ^ -0.32 * (1 + 0.003 * (NR % 3 - 1))
          $3 = sprintf("%.2f", t); $4 = sprintf("%.1f", p); $5 = sprintf("%.1f", 1.0176 * p); print }' \
        "$1/viscosity.csv" >filled && mv filled "$1/viscosity.csv"
    awk -F';' -v OFS=';' -v k="$3" 'BEGIN { split("4.220 4.200 4.225 4.203", w, " ") } !/^[0-9]/ { print; next }
        { for (i = 1; i <= 4; i++)
              $(2 + i) = sprintf("%.4f", w[i] * (1 - 0.05 * exp(-($2 / (2.6 * k)) ^ 2)) + 0.0006 * (NR % 3 - 1))
          $10 = sprintf("%.1f", 5 + 0.05 * (NR % 3 - 1)); print }' \
        "$1/gate-freeze.csv" >filled && mv filled "$1/gate-freeze.csv"
}
of() { # of FILE SETTING KEY
    jq -r --arg s "$2" '.window[] | select(.setting == $s) | .'"$3" "$1/report/record.json"
}
run new same --from approved/report/record.json
grep -q '^shot;hold_time;weight c1;weight c2;weight c3;weight c4;runner_weight;' same/gate-freeze.csv &&
    grep -q '^;s;g;g;g;g;g;s;' same/gate-freeze.csv && ! grep -q '^[0-9][0-9]*;;' same/gate-freeze.csv same/viscosity.csv
ok 'new --from: a weight for every cavity, and every setting filled in'
low=$(of approved hold_time low) aim=$(of approved hold_time aim)
awk -F';' -v low="$low" '/^[0-9]/ { short = short || $2 < low; long = long || $2 > low + 2 } END { exit !(short && long) }' \
    same/gate-freeze.csv
ok 'new --from: hold times on both sides of the limit'
awk -F';' -v low="$(of approved injection_speed low)" -v high="$(of approved injection_speed high)" \
    '/^[0-9]/ && ($2 < low || $2 > high) { bad = 1 } END { exit bad }' same/viscosity.csv
ok 'new --from: no speed outside the approved limits'
fill same 1 1 && run analyze same
tr -s ' \n' ' ' <out >words && [ "$status" = 0 ] &&
    grep -q 'The approved window holds for this lot in what this short trial tried: .*; not tried: closed time, cooling time' words &&
    [ "$(of same hold_time aim)" = "$aim" ] && [ "$(of same hold_time low)" = "$low" ] &&
    [ "$(of same injection_speed aim)" = "$(of approved injection_speed aim)" ] && [ "$(of same hold_time verdict)" = met ]
ok 'a lot like the last one keeps the approved aims'
grep -q "$(sha256sum approved/report/record.json | cut -d' ' -f1)" same/report/record.json same/report/index.html
ok "the approved record's SHA-256 stands in record and page"
run new next --from same/report/record.json && fill next 1 1 && run analyze next
[ "$(of next hold_time aim)" = "$aim" ] && [ "$(of next hold_time low)" = "$low" ] &&
    [ "$(of next injection_speed high)" = "$(of approved injection_speed high)" ] &&
    grep -q '^title = New lot: Demo' next/trial.ini
ok 'the lot after that has the same limits and aims again'
run new stiff --from approved/report/record.json && fill stiff 1.15 1 && run analyze stiff
tr -s ' \n' ' ' <out >words && grep -q 'The approved window does not hold for this lot: pressure at transfer, peak pressure;' words &&
    grep -q 'pressure at transfer was 106.* expected 92.* alarm below .* the melt is stiffer than in the approved trial' words &&
    ! grep -q 'running-outside' out
ok 'a stiffer lot is told from the last one'
run new slow --from approved/report/record.json && fill slow 1 1.5 && run analyze slow
[ "$(of slow hold_time verdict)" = 'not met' ] && [ "$(of slow hold_time aim)" = null ] &&
    tr -s ' \n' ' ' <out | grep -q 'The approved window does not hold for this lot: hold time'
ok 'a gate that freezes later takes the aim away'
sed 's/^hold_time.aim = .*/hold_time.aim = 6.5 mm/' same/trial.ini >next/trial.ini && run check next
[ "$status" = 3 ] && grep -q 'hold_time.aim = 6.5 mm' err
ok 'a value under [approved] has to have its unit'

# a hold pressure that only informs, without a word on its basis
mkdir informs && sed 's/^shot.*/&/' trial/gate-freeze.csv >/dev/null &&
    awk -F, -v OFS=, '/^#/ || NF < 2 { print; next } !head { head = 1; print $0, "hold pressure [bar]"; next } { print $0, 450 }' \
        trial/gate-freeze.csv >informs/gate-freeze.csv
run analyze informs
[ "$status" = 0 ] && grep -q 'warning: hold_pressure: hydraulic pressure or melt' err && [ -s informs/report/record.json ]
ok 'a hold pressure without its basis refuses no study'

# ---- the example of README.md ----------------------------------------------------------------------
mkdir my-trial
block() { # the indented block of README.md that begins with the line $1
    awk -v first="    $1" 'index($0, first) == 1 { on = 1 } on && !/^    / { exit } on' "$root/README.md" | sed 's/^    //'
}
block 'shot,hold time' >my-trial/gate-freeze.csv
block '[trial]' >my-trial/trial.ini
run check my-trial
[ "$status" = 0 ] && [ ! -s err ] && grep -q '7 rows read' out && run analyze my-trial && [ "$status" = 0 ] &&
    grep -q '^hold time .* met$' out && ! grep -q 'can be recommended' out
ok 'the example of README.md gives a window'
grep '^    plateau \(analyze\|explain\|verify\)' "$root/README.md" | sed 's/^    //; s/ *#.*//' >commands.txt
[ -s commands.txt ]
while read -r _ words; do
    run $words
    [ "$status" = 0 ] || break
done <commands.txt
[ "$status" = 0 ]
ok 'the commands of README.md run'

# ---- verify ----------------------------------------------------------------------------------------
run verify trial/report/record.json
[ "$status" = 0 ] && grep -q 'the same, byte for byte' out && [ ! -s err ]
ok 'verify finds a record the same'
digest=$(sha256sum trial/report/record.json | cut -d' ' -f1)
[ "$(grep -c "<code>$digest</code>" trial/report/index.html)" = 2 ]
ok 'the page names the record it belongs to by its SHA-256'
cp -r trial moved && cp trial/report/record.json loose.json
run verify loose.json --trial moved
[ "$status" = 0 ] && (cd moved/report && plateau verify record.json) >>out
ok 'verify finds the trial where it is told, and from inside the report folder'
run analyze gate-freeze.csv && run verify gate-freeze-report/record.json
[ "$status" = 0 ] && grep -q 'byte for byte' out
ok 'verify finds a single file'
grep -q '^page and figures beside it are those of this record ([2-9] files)$' out
ok 'verify finds page and figures as the record gives them'
cp -r trial mixed && sed 's/gate-freeze-weight/gate-freeze-old/g' mixed/report/gate-freeze-weight.svg >mixed/report/gate-freeze-old.svg && sed -i '0,/hold/s//held/' mixed/report/index.html && for f in mixed/report/*.svg; do echo >>"$f"; done
run verify mixed/report/record.json
[ "$status" = 1 ] && grep -q 'byte for byte' out && [ "$(grep -o '[a-z-]*\.svg' out | wc -l)" = "$(ls mixed/report/*.svg | wc -l)" ] &&
    grep -q '^beside it, not as this record gives it: .*index.html' out && ! grep -q '^page and figures' out
ok 'verify names page and figures that are not those of the record'
rm -r mixed/report/*.svg mixed/report/index.html && run verify mixed/report/record.json && [ "$status" = 0 ] && ! grep -q 'beside it' out
ok 'verify of a record without its page'
sed -i '$s/$/ /' moved/gate-freeze.csv && run verify moved/report/record.json
[ "$status" = 1 ] && grep -q 'input gate-freeze.csv has changed since' out && grep -q 'inputs\[gate-freeze' out
ok 'verify says which input has changed'
grep -q '^no finding differs: only the files themselves' out
ok 'verify says that no finding differs where only bytes of the inputs do'
sed 's/"margin": 0.5,/"margin": 0.4,/' trial/report/record.json >loose.json && run verify loose.json --trial trial
[ "$status" = 1 ] && grep -q ': 1 value differs' out && grep -q 'window\[hold_time\].margin' out &&
    grep -q 'recorded: 0.4$' out && grep -q 'now: *0.5$' out && ! grep -q 'no finding differs' out
ok 'verify lists a value that differs'
run verify --quiet loose.json --trial trial
[ "$status" = 1 ] && [ ! -s out ]
ok 'verify --quiet tells by its exit status'
sed -E 's/"(mean|sd|low|high|value|fitted[a-z_]*|aicc)": ([0-9])/"\1": 1\2/' trial/report/record.json >loose.json && run verify loose.json --trial trial
[ "$status" = 1 ] && [ "$(grep -c 'recorded: ' out)" = 40 ] && grep -q '^and [0-9]* more; --all lists them$' out &&
    cp out first && run verify --all loose.json --trial trial &&
    [ "$(grep -c 'recorded: ' out)" = "$(sed -n 's/.*: \([0-9]*\) values differ.*/\1/p' first)" ]
ok 'verify --all lists what is more than forty'
rm moved/gate-freeze.csv && run verify moved/report/record.json
[ "$status" = 3 ] && grep -q '^input gate-freeze.csv is not there any more$' err && grep -q 'trial PATH$' err &&
    ! grep -q 'differ' err && [ ! -s out ]
ok 'verify without one of the inputs compares nothing'
mkdir -p archive/records && cp trial/report/record.json archive/records && run verify archive/records/record.json
[ "$status" = 3 ] && grep -q 'looked for beside it' err && grep -q 'trial PATH$' err &&
    ! grep -q 'named after a study' err
ok 'verify of a record that lies elsewhere names --trial'
cp gate-freeze-report/record.json archive/records/single.json && run verify archive/records/single.json
[ "$status" = 3 ] && grep -q 'trial PATH$' err && ! grep -q 'could not be read' err &&
    run verify archive/records/single.json --trial gate-freeze.csv && [ "$status" = 0 ]
ok 'verify of the record of a single file that lies elsewhere'
run verify --self
[ "$status" = 0 ] && grep -q 'byte for byte\|ten digits' out && [ ! -s err ] &&
    ! ls "${TMPDIR:-/tmp}"/plateau-verify-* >/dev/null 2>&1
ok 'verify --self, and nothing is left behind'

# ---- how a file was read, in the record and on the page ---------------------------------------------
mkdir messy
{
    printf 'Press 7 \261 2 \260C;;;\r\nOperator: <script>alert(1)</script>\r\n'
    printf 'Shot;hold time [s];Part wt [g];exclude;note\r\n'
    awk 'BEGIN { for (t = 1; t <= 8; t++) for (k = 1; k <= 3; k++) { n++
        w = sprintf("%.4f", 4.2 - 0.4 * exp(-1.1 * t) + 0.0006 * (k - 2)); sub(/\./, ",", w); x = ""; c = ""
        if (n == 5) { w = "fell"; x = "dropped" }
        if (n == 9) w = "-"
        if (n == 11) w = w " g"
        if (n == 13) c = "<b>\033[31mred"
        printf "%d;%s;%s;%s;%s\r\n", n, k == 1 ? t : "", w, x, c } }'
    printf 'average;;4,1;;\r\nEND OF FILE\r\n'
} >messy/gate-freeze.csv
run analyze messy
jq -c '.inputs[] | [.encoding, .separator, .decimal, .header_line, .units, .rows, .rows_used, .rows_left_out], .preamble,
    [.repairs[].code]' messy/report/record.json >out 2>>err
jq -r '.studies[0].left_out[] | "line \(.line): \(.reason)"' messy/report/record.json >left-out 2>>err
cat >wanted <<'END'
["Windows-1252","semicolon","comma",3,"hold_time s, weight g",26,22,4]
["Press 7 ± 2 °C","Operator: <script>alert(1)</script>"]
END
[ "$status" = 0 ] && head -n 2 out | cmp -s - wanted && [ "$(wc -l <left-out)" = 4 ]
ok 'the record says how a file was read'
for code in encoding-assumed other-name filled-down summary-row summary-differs footer missing-word missing-reading \
    unit-in-cell unreadable-in-excluded-row; do
    grep -q "\"$code\"" out && grep -q ">$code<" messy/report/index.html || echo "$code" >>err
done
[ ! -s err ]
ok 'every repair stands in the record and on the page'
sed "s/'/\&#39;/g" left-out | while read -r row; do
    grep -qF "<li>$row</li>" messy/report/index.html || echo "$row" >>err
done
grep -q '^line 8: dropped$' left-out && grep -q '^line 12: no reading of weight$' left-out &&
    grep -q '^line 28: .*average' left-out && grep -q '^line 29: .*END OF FILE' left-out && [ ! -s err ]
ok 'every row that is left out stands in the record and on the page, with its reason'
! grep -q '<script' messy/report/index.html && grep -qF '&lt;b&gt;\x1B[31mred' messy/report/index.html &&
    ! LC_ALL=C grep -q "$(printf '[\001-\010\013-\037]')" messy/report/index.html
ok 'what stands in cells is harmless on the page'

# ---- check -----------------------------------------------------------------------------------------
(cd trial && find . | sort) >before.txt
run check trial
[ "$status" = 0 ] && grep -q gate-freeze.csv out && (cd trial && find . | sort) | cmp -s - before.txt
ok 'check says how the file was read and writes nothing'
run check bad
[ "$status" = 3 ] && grep -q 'bad/gate-freeze.csv:3:\|gate-freeze.csv:3:' err && grep -q abc err
ok 'check names the place of what is wrong'
run analyze bad
[ "$status" = 3 ] && [ ! -s out ] && [ ! -e bad/report ] && grep -q 'gate-freeze.csv:3:' err
ok 'analyze stops at bad input and writes nothing'

# ---- analyze: the report folder ----------------------------------------------------------------------
run analyze trial
[ "$status" = 0 ] && [ -s out ] && [ -s trial/report/index.html ] && [ -s trial/report/record.json ] &&
    ls trial/report/gate-freeze-*.svg >/dev/null
ok 'analyze writes page, record and figures'
cp out answer
tail -n 3 answer | grep -qF trial/report/index.html
ok 'the answer says where the report is'
[ -d trial/report ] && [ -z "$(find trial/report -name '.*')" ]
ok 'nothing hidden is left in the report folder'
cp -r trial/report first-report
run analyze trial && diff -r first-report trial/report >err && cmp -s answer out
ok 'the same again gives the same bytes'
run analyze --json trial
[ "$status" = 0 ] && cmp -s out trial/report/record.json && jq -e '.plateau.record' out >/dev/null
ok '--json prints the record, which is JSON'
run analyze trial --quiet
[ "$status" = 0 ] && [ ! -s out ] && [ ! -s err ] && diff -r first-report trial/report >/dev/null
ok '--quiet prints nothing and writes the report'
run analyze --quiet bad
[ "$status" = 3 ] && [ ! -s out ] && [ -s err ]
ok '--quiet still names errors'
run analyze --out elsewhere trial
[ "$status" = 0 ] && diff -r trial/report elsewhere >err && grep -qF elsewhere/index.html out
ok '--out writes there'
run analyze --out=elsewhere/ -- trial
[ "$status" = 0 ] && grep -qF elsewhere/index.html out
ok '--out=DIR and -- are understood'
cp "$root/tests/golden/gate-freeze-alone/gate-freeze.csv" .
run analyze gate-freeze.csv
[ "$status" = 0 ] && [ -s gate-freeze-report/record.json ] && grep -qF gate-freeze-report/index.html out
ok 'a single file has its report beside it'
(cd trial && plateau analyze . >../out 2>../err) && diff -r first-report trial/report >/dev/null
ok 'a folder named . is understood'
plateau analyze "$work/trial/" >out 2>err && diff -r first-report trial/report >/dev/null
ok 'an absolute path with a slash is understood'

# a figure that is no more is removed, what is not ours stays
old=$(ls trial/report/gate-freeze-*.svg | head -n 1)
stem=$(basename "$old" .svg)
sed "s/id=\"$stem/id=\"gate-freeze-gone/g" "$old" >trial/report/gate-freeze-gone.svg
cp "$old" trial/report/gate-freeze-copy.svg
cp "$old" trial/report/mine.svg
echo '<svg/>' >trial/report/gate-freeze-drawn.svg
ln -s ../../gate-freeze.csv trial/report/gate-freeze-link.svg
run analyze trial
[ "$status" = 0 ] && [ ! -e trial/report/gate-freeze-gone.svg ] && [ -e trial/report/gate-freeze-copy.svg ] &&
    [ -e trial/report/mine.svg ] && [ -e trial/report/gate-freeze-drawn.svg ] &&
    [ -L trial/report/gate-freeze-link.svg ] && [ -s gate-freeze.csv ]
ok 'old figures of ours are removed, other files stay'
rm -rf trial/report && cp -r first-report trial/report

# ---- analyze: verdicts and the exit status --------------------------------------------------------------
verdict=$(jq -r '[.studies[].verdict, .window[].verdict] | unique | join(",")' trial/report/record.json)
run analyze --require met trial
if [ "$verdict" = met ]; then [ "$status" = 0 ] && [ ! -s err ]; else [ "$status" = 1 ]; fi
ok "--require met when the verdict is '$verdict'"
run analyze never
[ "$status" = 0 ]
ok 'a gate that never freezes is an answer'
run analyze --require met never
[ "$status" = 1 ] && grep -q "'met' was required; the verdict is 'not " err && [ -s never/report/record.json ]
ok '--require met when it is missed'
run analyze --require met --quiet never
[ "$status" = 1 ] && [ ! -s out ] && [ ! -s err ]
ok '--require met --quiet tells by its status alone'

# ---- emphasis and width -------------------------------------------------------------------------------
escape=$(printf '\033')
run analyze trial && [ -s out ] && ! grep -q "$escape" out
ok 'no emphasis in a file'
run analyze --color always trial && grep -q "$escape" out && sed "s/$escape\[[0-9;]*m//g" out | cmp -s - answer
ok '--color always emphasizes and changes no word'
# without a pseudo-terminal (a bare chroot) there is nothing to look at
if command -v script >/dev/null && script -qec true /dev/null </dev/null >/dev/null 2>&1; then
    on_terminal() { # on_terminal COMMAND: its output on a terminal
        script -qec "$1" /dev/null </dev/null 2>&1 | tr -d '\r'
    }
    on_terminal "'$program' analyze trial" >out && grep -q "$escape" out
    ok 'emphasis on a terminal'
    NO_COLOR=1 on_terminal "'$program' analyze trial" >out && cmp -s out answer
    ok 'NO_COLOR'
    NO_COLOR= on_terminal "'$program' analyze trial" >out && grep -q "$escape" out
    ok 'an empty NO_COLOR does not count'
    NO_COLOR=1 on_terminal "'$program' analyze --color always trial" >out && grep -q "$escape" out
    ok '--color always is stronger than NO_COLOR'
    TERM=dumb on_terminal "'$program' analyze trial" >out && cmp -s out answer
    ok 'no emphasis on a dumb terminal'
    (unset COLUMNS; on_terminal "stty cols 61; '$program' help" >out)
    [ "$(awk '{ if (length($0) > w) w = length($0) } END { print w }' out)" -le 61 ] &&
        [ "$(awk '{ if (length($0) > w) w = length($0) } END { print w }' out)" -ge 50 ]
    ok 'the width of the terminal'
fi
for w in 40 60 80 120; do
    COLUMNS=$w plateau analyze trial >out 2>err &&
        [ "$(LC_ALL=C.UTF-8 awk -v w="$w" 'length($0) > w' out | grep -cv index.html)" = 0 ]
    ok "the answer in $w columns"
done
COLUMNS=nonsense plateau analyze trial >out 2>err && cmp -s out answer
ok 'a COLUMNS that is no number is passed over'

# ---- write errors ---------------------------------------------------------------------------------------
if [ -w /dev/full ]; then
    full='plateau: could not write the results to standard output: No space left on device'
    for c in 'analyze trial' 'analyze --json trial' 'check trial' 'explain' 'help' '--version' 'new full'; do
        plateau $c >/dev/full 2>err
        [ $? = 4 ] && [ "$(cat err)" = "$full" ]
        ok "full device: plateau $c"
    done
fi
plateau help >&- 2>err
[ $? = 4 ] && grep -q 'could not write the results' err
ok 'closed standard output'
plateau analyze --json trial >&- 2>err
[ $? = 4 ] && diff -r first-report trial/report >out
ok 'closed standard output does no harm to the report'
# a file that may not grow stands for a full disk
echo changed >>trial/report/index.html && cp -r trial/report old-report
{ (WRAP= && trap '' XFSZ && ulimit -f 0 && plateau analyze trial 2>&1 >/dev/null) | cat >err; }
diff -r old-report trial/report >out && grep -q '^plateau: trial/report/[^/]*: .*File too large$' err
ok 'full disk: the old report is still there, whole'
[ -d trial/report ] && [ -z "$(find trial/report -name '.*')" ]
ok 'full disk: nothing hidden is left'
(WRAP= && trap '' XFSZ && ulimit -f 0 && plateau analyze --quiet trial >/dev/null 2>&1)
[ $? = 4 ]
ok 'full disk: exit status'
rm -rf trial/report && cp -r first-report trial/report

# ---- two at once -----------------------------------------------------------------------------------------
mkdir other && sed 's/,\([0-9][0-9]\)\./,3\1./' trial/gate-freeze.csv >other/gate-freeze.csv
plateau analyze --out expect-a trial >/dev/null 2>&1
plateau analyze --out expect-b other >/dev/null 2>&1
for i in 1 2 3 4 5 6; do
    plateau analyze --out together trial >/dev/null 2>&1 &
    plateau analyze --out together other >/dev/null 2>&1 &
done
wait
diff -r together expect-a >out || diff -r together expect-b >out
ok 'analyses at once leave one whole report'

# ---- same input, same bytes -----------------------------------------------------------------------------
same_record() { plateau analyze --json trial 2>err | cmp -s - first-report/record.json; }
for l in C POSIX C.UTF-8 de_DE.UTF-8 tr_TR.UTF-8; do
    LC_ALL=$l LANG=$l same_record
    ok "record: locale $l"
done
for z in UTC Pacific/Kiritimati XYZ+13; do
    TZ=$z same_record
    ok "record: time zone $z"
done
(cd / && plateau analyze --json "$work/trial" 2>/dev/null) | cmp -s - first-report/record.json
ok 'record: working folder'
cp -r trial 'a copy; elsewhere' && plateau analyze --json './a copy; elsewhere' 2>err | cmp -s - first-report/record.json
ok 'record: name of the folder'

# ---- names that try something ------------------------------------------------------------------------------
odd=$(printf 'odd\033[31m"<blink>')
cp -r empty "$odd" && cp gate-freeze.csv "$odd"
printf '[trial]\ntitle = <script>alert(1)</script>"\033[31m\n' >"$odd/trial.ini"
run analyze "$odd"
[ "$status" = 0 ] && ! cat out err "$odd"/report/* | grep -q "$escape" && grep -q 'alert(1)' out &&
    ! grep -qE '<(blink|script>alert)' "$odd"/report/*.html "$odd"/report/*.svg &&
    jq -e '.trial | tostring | contains("<script>")' "$odd/report/record.json" >/dev/null
ok 'a hostile name is harmless'

# ---- install ---------------------------------------------------------------------------------------------
mkdir tmp
(cd "$root" && make -s -o all install DESTDIR="$work/tmp" PREFIX=/usr) >out 2>err &&
    [ -x tmp/usr/bin/plateau ] && cmp -s tmp/usr/share/man/man1/plateau.1 "$root/docs/plateau.1" &&
    cmp -s tmp/usr/share/bash-completion/completions/plateau "$root/docs/completion.bash"
ok 'make install'
"$root/build/plateau" analyze --json trial >built 2>err
tmp/usr/bin/plateau analyze --json trial >out 2>err && cmp -s out built
ok 'the installed program works'
(cd "$root" && make -s uninstall DESTDIR="$work/tmp" PREFIX=/usr) >out 2>err && [ -z "$(find tmp -type f)" ]
ok 'make uninstall'

exit $failed
