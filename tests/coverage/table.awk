# SPDX-License-Identifier: GPL-3.0-or-later
#
# The judged table as Markdown:
#   awk -f table.awk -v full=docs/coverage.md kind=cells cells.tsv kind=known known-misses.tsv kind=table TABLE
# writes the table of every cell to `full` and the summary to stdout.

BEGIN { FS = "\t" }
kind == "cells" { if ($0 !~ /^#/ && NF == 5) all[++cells_all] = $1; next }
kind == "known" { if ($0 !~ /^#/ && NF >= 5) { figure[$1 FS $2 FS $3] = $4; tried[$1 FS $2 FS $3] = $5 }; next }
{
    n++
    for (i = 1; i <= NF; i++) f[n, i] = $i
}

function min(a, b) { return a == "" || b + 0 < a + 0 ? b : a }
function max(a, b) { return a == "" || b + 0 > a + 0 ? b : a }
function range(a, b) { return a == b ? a : a " to " b }
# the program's study behind a simulator of the battery
function study_of(s) {
    return s == "cavities" || s == "open-gate" ? "gate-freeze" : s == "fill-trend" ? "cavity-balance" : s
}
function group_key(r) { return study_of(f[r, 2]) FS f[r, 3] FS f[r, 5] }

function note_miss(r, check, told,   key) {
    key = f[r, 1] FS f[r, 5] FS check
    why = key in tried ? tried[key] : "not in the list of known misses"
    told = f[r, 1] " (" told ")"
    if (check == "width") { widths[why] = widths[why] (widths[why] == "" ? "" : ", ") told; return }
    if (!((check FS f[r, 5] FS why) in at)) { at[check FS f[r, 5] FS why] = ++kinds; kind_of[kinds] = check; quantity[kinds] = f[r, 5]; reason[kinds] = why }
    list[at[check FS f[r, 5] FS why]] = list[at[check FS f[r, 5] FS why]] (list[at[check FS f[r, 5] FS why]] == "" ? "" : ", ") told
}
function missed(v) { return v == "MISS" || v == "known miss" }

function summary(   r, k, i, g) {
    for (r = 1; r <= n; r++) {
        if (f[r, 13] == "-") continue
        k = group_key(r)
        if (!(k in cells)) order[++groups] = k
        cells[k]++
        trials_low[k] = min(trials_low[k], f[r, 6]); trials_high[k] = max(trials_high[k], f[r, 6])
        share_low[k] = min(share_low[k], f[r, 9]); share_high[k] = max(share_high[k], f[r, 9])
        if (f[r, 7] != "-") answered[k] = min(answered[k], f[r, 7])
        bar[k] = f[r, 12]
        good[k] += f[r, 13] == "pass"
        if (missed(f[r, 13])) note_miss(r, f[r, 3] == "inside" || f[r, 3] == "outside" ? "coverage" : "share", f[r, 9] " %")
        if (missed(f[r, 26])) note_miss(r, "refused", f[r, 8] " %")
        if (missed(f[r, 25])) { note_miss(r, "width", f[r, 24]); wide++ }
        if (f[r, 25] != "-") compared++
    }
    print "| study | cells of the group | what is counted | cells | trials a cell | answered, least | share, least to greatest | bar | cells that pass |"
    print "|---|---|---|---|---|---|---|---|---|"
    for (i = 1; i <= groups; i++) {
        k = order[i]
        split(k, g, FS)
        printf "| %s | %s | %s | %d | %s | %s | %s %% | %s %% | %d |\n", g[1], g[2], g[3], cells[k],
            range(trials_low[k], trials_high[k]), answered[k] == "" ? "" : answered[k] " %", range(share_low[k], share_high[k]),
            bar[k], good[k]
    }
}

function not_run(   i, r, ran, names) {
    for (r = 1; r <= n; r++) ran[f[r, 1]] = 1
    for (i = 1; i <= cells_all; i++) if (!(all[i] in ran)) names = names (names == "" ? "" : ", ") all[i]
    if (names != "") { print ""; print "Cells of the list that are not in this run: " names "." }
}

# How often a method reaches the bar where all of them were asked.
function rivals(   r, of, own, env, boot, iso) {
    for (r = 1; r <= n; r++) {
        if (f[r, 5] != "freeze_time" || f[r, 16] == "-" || f[r, 13] == "-") continue
        of++
        own += f[r, 9] + 0 >= f[r, 12] + 0
        env += f[r, 16] + 0 >= f[r, 12] + 0
        boot += f[r, 18] + 0 >= f[r, 12] + 0
        iso += f[r, 21] + 0 >= f[r, 12] + 0
    }
    if (of == 0) return
    print ""
    printf "Share at or above the bar, of %d cells of the freeze time: the program %d, the envelope of profiles without bracket %d, the ", of, own, env
    printf "model-averaged bootstrap %d, the bracket with isotonic means %d.\n", boot, iso
}

function misses(   i, why) {
    print ""
    print "**Cells that miss, by name** (the figure in brackets; the rest of the row is in the table of every cell)."
    print ""
    for (i = 1; i <= kinds; i++)
        printf "- %s%s: %s. %s\n", quantity[i], kind_of[i] == "refused" ? ", refused too often" : "", list[i], reason[i]
    if (kinds == 0) print "- none."
    print ""
    printf "**Width.** In %d of %d cells the median interval of the freeze time is at most 1.25 times as wide as that of the narrowest rival that reaches the bar in that cell. ", compared - wide, compared
    print "It is wider (times the rival's width in brackets) in:"
    print ""
    for (why in widths) printf "- %s. %s\n", widths[why], why
}

function table(   r, i, last) {
    print "# Coverage, cell by cell" > full
    print "" > full
    print "Made by `make coverage` and `make coverage-table`; what it means is in validation.md. Shares in per cent. `99 %`: Monte Carlo" > full
    print "interval (Wilson). `bar`: a cell passes when that interval reaches it. `open`: printed intervals with an infinite end. Rivals:" > full
    print "envelope of profiles without bracket (every trial), model-averaged parametric bootstrap (`of` trials, every eighth), bracket with" > full
    print "isotonic means (every trial): share that covers, median width. `oracle`: the program's median width over that of the profile with" > full
    print "the true curve known. `rival`: over that of the narrowest rival that reaches the bar in the cell. The cells' parameters are in" > full
    print "tests/coverage/cells.tsv." > full
    for (r = 1; r <= n; r++) {
        if (f[r, 2] f[r, 3] != last) {
            print "" > full
            print "## " study_of(f[r, 2]) (study_of(f[r, 2]) == f[r, 2] ? "" : " (" f[r, 2] ")") ": " f[r, 3] > full
            print "" > full
            print "| cell | counted | trials | answered | refused | share | 99 % | bar | | width | open | envelope | bootstrap | of | isotonic | oracle | rival | |" > full
            print "|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|" > full
            last = f[r, 2] f[r, 3]
        }
        printf "| %s | %s | %s | %s | %s | %s | %s-%s | %s | %s | %s | %s | %s; %s | %s; %s | %s | %s; %s | %s | %s | %s |\n", f[r, 1],
            f[r, 5], f[r, 6], f[r, 7], f[r, 8], f[r, 9], f[r, 10], f[r, 11], f[r, 12], f[r, 13], f[r, 14], f[r, 15], f[r, 16], f[r, 17],
            f[r, 18], f[r, 19], f[r, 20], f[r, 21], f[r, 22], f[r, 23], f[r, 24], missed(f[r, 25]) || missed(f[r, 26]) ? f[r, 25] "/" f[r, 26] : "" > full
    }
}

END {
    summary()
    not_run()
    rivals()
    misses()
    table()
}
