/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "fold.h"
#include "shots.h"
#include "summaries.h"

/* ---- the label ------------------------------------------------------------------------------ */

static const struct {
    const char *word; /* folded */
    enum summary kind;
} words[] = {
    {"average", SUMMARY_MEAN},
    {"averages", SUMMARY_MEAN},
    {"avg", SUMMARY_MEAN},
    {"ave", SUMMARY_MEAN},
    {"mean", SUMMARY_MEAN},
    {"means", SUMMARY_MEAN},
    {"grandmean", SUMMARY_MEAN},
    {"mittel", SUMMARY_MEAN},
    {"mittelwert", SUMMARY_MEAN},
    {"durchschnitt", SUMMARY_MEAN},
    {"moyenne", SUMMARY_MEAN},
    {"media", SUMMARY_MEAN},
    {"promedio", SUMMARY_MEAN},
    {"gemiddelde", SUMMARY_MEAN},
    {"xbar", SUMMARY_MEAN},
    {"total", SUMMARY_SUM},
    {"totals", SUMMARY_SUM},
    {"sum", SUMMARY_SUM},
    {"summe", SUMMARY_SUM},
    {"somme", SUMMARY_SUM},
    {"suma", SUMMARY_SUM},
    {"somma", SUMMARY_SUM},
    {"som", SUMMARY_SUM},
    {"gesamt", SUMMARY_SUM},
    {"grandtotal", SUMMARY_SUM},
    {"subtotal", SUMMARY_SUM},
    {"min", SUMMARY_LEAST},
    {"minimum", SUMMARY_LEAST},
    {"max", SUMMARY_LARGEST},
    {"maximum", SUMMARY_LARGEST},
    {"median", SUMMARY_MEDIAN},
    {"std", SUMMARY_SD},
    {"stdev", SUMMARY_SD},
    {"stddev", SUMMARY_SD},
    {"sd", SUMMARY_SD},
    {"stabw", SUMMARY_SD},
    {"sigma", SUMMARY_SD},
    {"standarddeviation", SUMMARY_SD},
    {"range", SUMMARY_RANGE},
    {"spread", SUMMARY_RANGE},
    {"spannweite", SUMMARY_RANGE},
    {"count", SUMMARY_COUNT},
    {"n", SUMMARY_COUNT},
    {"anzahl", SUMMARY_COUNT},
    {"cv", SUMMARY_OTHER},
    {"cv%", SUMMARY_OTHER},
    {"variance", SUMMARY_OTHER},
    {"varianz", SUMMARY_OTHER},
    {"cp", SUMMARY_OTHER},
    {"cpk", SUMMARY_OTHER},
};

static bool find_word(struct reading *r, const char *s, size_t n, enum summary *kind)
{
    struct arena_mark mark = arena_mark(r->arena);
    const char *folded = fold_name(r->arena, s, n);
    bool found = false;
    for (size_t i = 0; i < PL_COUNT(words) && !found; i++) {
        found = strcmp(folded, words[i].word) == 0;
        if (found)
            *kind = words[i].kind;
    }
    arena_reset(r->arena, mark);
    return found;
}

int summary_label(struct reading *r, const struct record *rec, enum summary *kind)
{
    size_t k = 0;
    enum summary ignored = SUMMARY_OTHER;
    while (k < rec->n_cells && rec->cells[k][0] == '\0')
        k++;
    if (k >= rec->n_cells || strlen(rec->cells[k]) > 40)
        return -1;
    if (k < r->n_columns && r->columns[k].want != NULL) {
        enum role role = r->columns[k].want->role;
        if (role == ROLE_EXCLUDE || role == ROLE_NOTE || role == ROLE_DEFECT ||
            role == ROLE_EXCLUDED_BY)
            return -1;
    }
    const char *s = rec->cells[k];
    size_t n = strlen(s);
    while (n > 0 && strchr(":= ", s[n - 1]) != NULL)
        n--;
    kind = kind != NULL ? kind : &ignored;
    /* the sign for a mean, a circle with a stroke, is a letter of some languages */
    if (n == 2 && (memcmp(s, "\xC3\x98", 2) == 0 || memcmp(s, "\xC3\xB8", 2) == 0)) {
        *kind = SUMMARY_MEAN;
        return (int)k;
    }
    return find_word(r, s, n, kind) ? (int)k : -1;
}

/* ---- the numbers above ---------------------------------------------------------------------- */

/* Looked at by all comparisons of one file; a file of averages takes no longer than one of shots.
 */
#define MOST_COMPARED ((size_t)4 << 20)

/* The numbers of one column, as typed. */
struct values {
    double *v;
    size_t n;
    size_t spent;
};

struct span {
    size_t from, to;
    bool with_excluded;
};

static bool is_quantity(const struct column *c)
{
    return c->want != NULL && c->want->spec->dimension != DIM_TEXT && !c->hopeless;
}

/* A number without a unit of its own. */
static bool plain_number(const struct reading *r, size_t i, size_t k, struct number *x)
{
    const char *s = row_cell(r, i, k);
    return number_parse(s, strlen(s), r->mark, x) == NUMBER_OK && x->rest_length == 0;
}

static void gather(const struct reading *r, const struct span *span, size_t k, struct values *out)
{
    int exclude = reading_role(r, ROLE_EXCLUDE);
    struct number x;
    out->n = 0;
    out->spent += span->to - span->from;
    for (size_t i = span->from; i < span->to && out->spent < MOST_COMPARED; i++) {
        if (r->rows[i].kind != ROW_DATA || !plain_number(r, i, k, &x))
            continue;
        if (span->with_excluded || exclude < 0 ||
            shots_exclusion(row_cell(r, i, (size_t)exclude)) == NULL)
            out->v[out->n++] = x.value;
    }
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Sorts the values. */
static double compute(struct values *x, enum summary kind, bool of_sample)
{
    double sum = 0.0, squares = 0.0, n = (double)x->n;
    qsort(x->v, x->n, sizeof *x->v, compare_doubles);
    for (size_t i = 0; i < x->n; i++)
        sum += x->v[i];
    for (size_t i = 0; i < x->n; i++)
        squares += (x->v[i] - sum / n) * (x->v[i] - sum / n);
    switch (kind) {
    case SUMMARY_MEAN:
        return sum / n;
    case SUMMARY_SUM:
        return sum;
    case SUMMARY_LEAST:
        return x->v[0];
    case SUMMARY_LARGEST:
        return x->v[x->n - 1];
    case SUMMARY_MEDIAN:
        return 0.5 * (x->v[(x->n - 1) / 2] + x->v[x->n / 2]);
    case SUMMARY_SD:
        return x->n > 1 ? sqrt(squares / (of_sample ? n - 1.0 : n)) : 0.0;
    case SUMMARY_RANGE:
        return x->v[x->n - 1] - x->v[0];
    case SUMMARY_COUNT:
        return n;
    case SUMMARY_OTHER:
        break;
    }
    return PL_NAN;
}

/* Equal to half a step of the digits it was written with. */
static bool agrees(const struct number *x, double v)
{
    return fabs(x->value - v) <= 0.5000001 * x->step + 1e-9 * fabs(v);
}

/* The rows a summary may be about: all above it or those behind the summary before it, with or
 * without what the user left out. *nearest: over all rows above that are used. */
static bool matches(const struct reading *r, size_t i, size_t k, enum summary kind,
                    const struct number *x, struct values *buffer, double *nearest)
{
    size_t block = i;
    *nearest = PL_NAN;
    while (block > r->body && r->rows[block - 1].kind == ROW_SUMMARY)
        block--;
    while (block > r->body && r->rows[block - 1].kind != ROW_SUMMARY)
        block--;
    const struct span spans[] = {
        {r->body, i, false}, {r->body, i, true}, {block, i, false}, {block, i, true}};
    for (size_t j = 0; j < PL_COUNT(spans); j++) {
        gather(r, &spans[j], k, buffer);
        if (buffer->n == 0)
            continue;
        double v = compute(buffer, kind, true);
        *nearest = isnan(*nearest) ? v : *nearest;
        if (agrees(x, v) || (kind == SUMMARY_SD && agrees(x, compute(buffer, kind, false))))
            return true;
    }
    return false;
}

/* ---- what is said --------------------------------------------------------------------------- */

static const struct {
    const char *one, *several, *noun;
} said[] = {
    [SUMMARY_MEAN] = {"is their mean", "are their means", "mean"},
    [SUMMARY_SUM] = {"is their sum", "are their sums", "sum"},
    [SUMMARY_LEAST] = {"is the least of them", "are the least of them", "least value"},
    [SUMMARY_LARGEST] = {"is the largest of them", "are the largest of them", "largest value"},
    [SUMMARY_MEDIAN] = {"is their median", "are their medians", "median"},
    [SUMMARY_SD] = {"is their standard deviation", "are their standard deviations",
                    "standard deviation"},
    [SUMMARY_RANGE] = {"is their range", "are their ranges", "range"},
    [SUMMARY_COUNT] = {"is their number", "are their numbers", "number"},
    [SUMMARY_OTHER] = {"", "", ""},
};

static const char *shown_name(struct reading *r, const struct column *c)
{
    return c->head.cavity > 0 ? arena_printf(r->arena, "%s c%d", column_name(c), c->head.cavity)
                              : column_name(c);
}

static void add_differing(struct reading *r, size_t i, size_t k, enum summary kind, double v,
                          struct text *t)
{
    const struct column *c = &r->columns[k];
    const char *unit = c->unit != NULL && kind != SUMMARY_COUNT ? c->unit->spelling : "";
    text_addf(t, "%s%s is not their %s, which is %.6g%s%s", t->length > 0 ? "; " : "",
              shown_name(r, c), said[kind].noun, v, unit[0] != '\0' ? " " : "", unit);
    note_repair(r, "summary-differs", column_name(c), r->records.items[i].line,
                arena_printf(r->arena,
                             "%s is given as the %s of %s, but that of the rows above is %.6g%s%s",
                             quoted(r, record_cell(&r->records.items[i], k)), said[kind].noun,
                             shown_name(r, c), v, unit[0] != '\0' ? " " : "", unit));
}

static void check_summary(struct reading *r, size_t i, struct values *buffer)
{
    const struct record *rec = &r->records.items[i];
    enum summary kind = SUMMARY_OTHER;
    int label = summary_label(r, rec, &kind);
    struct text same, differ;
    size_t n_same = 0;
    text_init(&same, r->arena);
    text_init(&differ, r->arena);
    for (size_t k = 0; k < r->n_columns && kind != SUMMARY_OTHER; k++) {
        struct number x;
        double v;
        if (!is_quantity(&r->columns[k]) || !plain_number(r, i, k, &x))
            continue;
        if (matches(r, i, k, kind, &x, buffer, &v))
            text_addf(&same, "%s%s", n_same++ > 0 ? ", " : "", shown_name(r, &r->columns[k]));
        else if (!isnan(v))
            add_differing(r, i, k, kind, v, &differ);
    }
    const char *verb = n_same == 0 ? "" : n_same == 1 ? said[kind].one : said[kind].several;
    r->rows[i].reason = arena_printf(
        r->arena, "%s is not a shot but computed from the rows above%s%s%s%s%s%s",
        quoted(r, label >= 0 ? rec->cells[label] : ""), n_same + differ.length > 0 ? ": " : "",
        same.s, n_same > 0 ? " " : "", verb, n_same > 0 && differ.length > 0 ? "; " : "", differ.s);
    note_repair(r, "summary-row", NULL, rec->line, r->rows[i].reason);
}

/* ---- a summary that does not say so --------------------------------------------------------- */

static bool identifies(const struct column *c)
{
    return c->want != NULL &&
           (c->want->role == ROLE_SHOT ||
            (c->want->spec->flags & (COLUMN_SETTING | COLUMN_CONSTANT_LABEL)) != 0);
}

/* Without a needed reading the row is left out anyway. */
static bool is_complete(const struct reading *r, size_t last)
{
    for (size_t k = 0; k < r->n_columns; k++)
        if (r->columns[k].want != NULL &&
            (r->columns[k].want->spec->flags & (COLUMN_REQUIRED | COLUMN_SETTING)) ==
                (COLUMN_REQUIRED | COLUMN_SETTING) &&
            row_cell(r, last, k)[0] == '\0')
            return false;
    return true;
}

/* A cell is blank in the last row that says in all rows above which shot it is; or it was blank and
 * is filled down. */
static bool lacks_name(const struct reading *r, size_t last)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        bool all = true;
        if (!identifies(&r->columns[k]) || record_cell(&r->records.items[last], k)[0] != '\0')
            continue;
        for (size_t i = r->body; i < last; i++)
            all = all && (r->rows[i].kind != ROW_DATA || row_cell(r, i, k)[0] != '\0');
        if (all)
            return true;
    }
    return false;
}

static void refuse_unlabelled(struct reading *r, struct values *buffer)
{
    size_t last = r->records.n, above = 0, first = 0, n = 0;
    while (last > r->body && r->rows[last - 1].kind != ROW_DATA)
        last--;
    if (last-- == r->body)
        return;
    for (size_t i = r->body; i < last; i++)
        above += r->rows[i].kind == ROW_DATA;
    if (above < 2 || !lacks_name(r, last) || !is_complete(r, last))
        return;
    enum summary kind = SUMMARY_MEAN;
    for (size_t k = 0; k < r->n_columns; k++) {
        struct number x;
        double v;
        if (!is_quantity(&r->columns[k]) || identifies(&r->columns[k]) ||
            !plain_number(r, last, k, &x))
            continue;
        if (n == 0 && !matches(r, last, k, kind, &x, buffer, &v))
            kind = SUMMARY_SUM;
        if (!matches(r, last, k, kind, &x, buffer, &v))
            return;
        first = n++ == 0 ? k : first;
    }
    if (n == 0)
        return;
    struct complaint c = {
        DIAG_ERROR,
        "summary-without-label",
        column_name(&r->columns[first]),
        arena_printf(r->arena, "%s can be one more shot or the %s of the rows above: it is both",
                     quoted(r, row_cell(r, last, first)), said[kind].noun),
        "a shot with its setting, or a word such as `average` in the row's first cell",
        "Write `average` or `total` into the row's first cell, or take the row out; if it is a "
        "shot, write its setting or number."};
    complain_cell(r, &c, last, first);
}

void summaries_check(struct reading *r)
{
    struct values buffer = {ARENA_ARRAY(r->arena, double, r->records.n), 0, 0};
    for (size_t i = r->body; i < r->records.n; i++)
        if (r->rows[i].kind == ROW_SUMMARY)
            check_summary(r, i, &buffer);
    refuse_unlabelled(r, &buffer);
}
