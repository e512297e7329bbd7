# SPDX-License-Identifier: GPL-3.0-or-later
#
# Judges the rows of the battery:
#   awk -f judge.awk -v table=OUT kind=cells cells.tsv kind=known known-misses.tsv \
#       kind=distance DISTANCES kind=rows ROWS...
# writes one line per row of the program to OUT and the summary to stdout. The exit status is 1
# where a cell misses that is not in the list of known misses.
#
# A share of simulated trials passes when the nearer end of its 99 % interval (Wilson) reaches the
# bar. What is judged:
#   coverage  inside, outside: printed intervals of a quantity that hold the truth
#   refused   the same cells, freeze time, where the truth can be resolved: at most 5 % without an
#             interval
#   width     median width at most 1.25 times that of the narrowest rival that does not know the
#             curve and whose own share reaches the bar in that cell
#   share     robust, invent, power: the share that the group is about

function wilson(p, n, side,   z, z2) {
    z = 2.5758293035489004; z2 = z * z
    return (p + z2 / (2 * n) + side * z * sqrt(p * (1 - p) / n + z2 / (4 * n * n))) / (1 + z2 / n)
}
function percent(p) { return sprintf("%.1f", 100 * p) }
function number(w) { return w ~ /inf/ ? "inf" : w ~ /nan/ ? "-" : sprintf("%.3g", w) }
function is_finite(w) { return w !~ /inf|nan/ && w != "" }
# the share a group is about
function judged_share(group, q) {
    if (group == "robust") return q == "flagged or covered"
    if (group == "invent") return q ~ /claimed$/ || q == "hold time bounded"
    if (group == "power") return q == "hold time bounded" || q == "told from a power law"
    return 0
}
function verdict(check, ok,   key) {
    key = cell "\t" quantity "\t" check
    judged++
    seen[key] = 1
    if (ok) { passed++; if (key in known) mended = mended "\n  " cell ", " quantity ", " check; return "pass" }
    missed++
    if (key in known) { known_misses++; return "known miss" }
    news = news "\n  " cell ", " quantity ", " check
    return "MISS"
}

BEGIN { FS = OFS = "\t"; program = "program"; names = 0 }
/^#/ || NF == 0 { next }
kind == "cells" { study[$1] = $2; group[$1] = $3; bar[$1] = $4; about[$1] = $5; order[++n_cells] = $1; next }
kind == "known" { known[$1 FS $2 FS $3] = 1; next }
kind == "distance" { distance[$1] = $2; next }
kind == "rows" {
    id = $1 FS $2
    if ($3 == "program" || $3 == "share") { if (!(id in kinds)) list[$1] = list[$1] "\n" $2; kinds[id] = $3 }
    trials[id, $3] = $4; printed[id, $3] = $5; covered[id, $3] = $6; open[id, $3] = $9; width[id, $3] = $10
    ran[$1] = 1
}

function rival(id, method,   p) {
    r_cover = "-"; r_width = "-"
    if (!((id, method) in trials) || printed[id, method] == 0) return 0
    p = covered[id, method] / printed[id, method]
    r_cover = percent(p); r_width = number(width[id, method])
    if (method != "oracle" && p >= bar[cell] && is_finite(width[id, method]) &&
        (least == "" || width[id, method] + 0 < least))
        least = width[id, method] + 0
    return printed[id, method]
}

function judge_interval(id,   m, w) {
    m = "program"; n = trials[id, m]; k = printed[id, m]; w = width[id, m]; least = ""
    coverage = refused = wide = "-"
    inside = group[cell] == "inside" || group[cell] == "outside"
    p = k > 0 ? covered[id, m] / k : 0
    if (inside && k > 0) coverage = verdict("coverage", wilson(p, k, 1) >= bar[cell])
    if (inside && quantity == "freeze_time" && distance[cell] >= 4.65)
        refused = verdict("refused", wilson(1 - k / n, n, -1) <= 0.05)
    rival(id, "envelope"); rivals = r_cover OFS r_width
    some = rival(id, "bootstrap"); rivals = rivals OFS r_cover OFS r_width OFS some
    rival(id, "isotonic bracket"); rivals = rivals OFS r_cover OFS r_width
    rival(id, "oracle"); ratio = is_finite(r_width) && r_width > 0 && is_finite(w) ? sprintf("%.2f", w / r_width) : "-"
    if (inside && least != "" && k > 0) wide = verdict("width", is_finite(w) && w <= 1.25 * least)
    answered = percent(k / n); missing = percent(1 - k / n)
    share = low = high = unbounded = "-"
    if (k > 0) {
        share = percent(p); low = percent(wilson(p, k, -1)); high = percent(wilson(p, k, 1))
        unbounded = percent(open[id, m] / k)
    }
    limit = inside ? percent(bar[cell]) : "-"
    times = least == "" || !is_finite(w) ? "-" : sprintf("%.2f", w / least)
    print cell, study[cell], group[cell], about[cell], quantity, n, answered, missing, share, low, high, limit,
        coverage, number(w), unbounded, rivals, ratio, times, wide, refused > table
}

function judge_share(id,   at_most) {
    n = trials[id, "share"]; p = covered[id, "share"] / n; coverage = "-"; at_most = group[cell] == "invent"
    if (judged_share(group[cell], quantity))
        coverage = verdict("share", at_most ? wilson(p, n, -1) <= bar[cell] : wilson(p, n, 1) >= bar[cell])
    low = percent(wilson(p, n, -1)); high = percent(wilson(p, n, 1))
    limit = coverage == "-" ? "-" : at_most ? "at most " percent(bar[cell]) : percent(bar[cell])
    rivals = "-" OFS "-" OFS "-" OFS "-" OFS "-" OFS "-" OFS "-"
    print cell, study[cell], group[cell], about[cell], quantity, n, "-", "-", percent(p), low, high, limit, coverage,
        "-", "-", rivals, "-", "-", "-", "-" > table
}

END {
    printf "" > table
    for (i = 1; i <= n_cells; i++) {
        cell = order[i]
        if (!(cell in ran)) continue
        cells_run++
        before = missed
        count = split(substr(list[cell], 2), q, "\n")
        for (j = 1; j <= count; j++) {
            quantity = q[j]
            if (kinds[cell FS quantity] == "program") judge_interval(cell FS quantity)
            else judge_share(cell FS quantity)
        }
        if (missed == before) cells_good++
    }
    if (mended != "") print "listed as missing, but passed in this run:" mended
    if (news != "") print "missed, and not in the list of known misses:" news
    printf "coverage: %d cells, %d of them without a miss; %d checks, %d passed, %d known misses, %d new misses\n",
        cells_run, cells_good, judged, passed, known_misses, missed - known_misses
    exit news != ""
}
