/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "fold.h"
#include "shots.h"
#include "summaries.h"
#include "units.h"

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
    {"mw", SUMMARY_MEAN},
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
    {"standardabweichung", SUMMARY_SD},
    {"stdabw", SUMMARY_SD},
    {"ecarttype", SUMMARY_SD},
    {"range", SUMMARY_RANGE},
    {"spread", SUMMARY_RANGE},
    {"spannweite", SUMMARY_RANGE},
    {"count", SUMMARY_COUNT},
    {"n", SUMMARY_COUNT},
    {"anzahl", SUMMARY_COUNT},
    {"cv", SUMMARY_OTHER},
    {"cv%", SUMMARY_OTHER},
    {"rsd", SUMMARY_OTHER},
    {"min/max", SUMMARY_OTHER},
    {"var", SUMMARY_OTHER},
    {"variance", SUMMARY_OTHER},
    {"varianz", SUMMARY_OTHER},
    {"cp", SUMMARY_OTHER},
    {"cpk", SUMMARY_OTHER},
};

/* Signs; the circle with a stroke is also a letter of some languages. */
static const struct {
    const char *sign;
    enum summary kind;
} signs[] = {
    {"\xC3\x98", SUMMARY_MEAN},  {"\xC3\xB8", SUMMARY_MEAN}, {"x\xCC\x84", SUMMARY_MEAN},
    {"X\xCC\x84", SUMMARY_MEAN}, {"\xCE\xA3", SUMMARY_SUM},  {"\xE2\x88\x91", SUMMARY_SUM},
    {"\xCF\x83", SUMMARY_SD},
};

static bool find_sign(const char *s, size_t n, enum summary *kind)
{
    for (size_t i = 0; i < PL_COUNT(signs); i++)
        if (strlen(signs[i].sign) == n && memcmp(s, signs[i].sign, n) == 0) {
            *kind = signs[i].kind;
            return true;
        }
    return false;
}

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
    if (find_sign(s, n, kind) || find_word(r, s, n, kind))
        return (int)k;
    /* "Mean (n=27)", "avg. of all": where a shot or a number is awaited */
    size_t first = strcspn(s, " (:,/=");
    bool lead =
        first >= 3 && first < n && k < r->n_columns && r->columns[k].want != NULL &&
        (r->columns[k].want->role == ROLE_SHOT || r->columns[k].want->spec->dimension != DIM_TEXT);
    return lead && find_word(r, s, first, kind) ? (int)k : -1;
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
    return column_is_quantity(c) && !c->hopeless;
}

/* A number without a unit of its own. */
static bool plain_number(const struct reading *r, size_t i, size_t k, struct number *x)
{
    const char *s = row_cell(r, i, k);
    const struct column *c = &r->columns[k];
    if (number_parse(s, strlen(s), r->mark, x) != NUMBER_OK)
        return false;
    if (x->rest_length == 0)
        return true;
    const struct unit *u = unit_find_for(c->want->spec->dimension, x->rest, x->rest_length).unit;
    return u != NULL && c->unit != NULL && strcmp(u->spelling, c->unit->spelling) == 0;
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

/* A row that was found to be a summary without a label is broken. */
static bool is_summary(const struct reading *r, size_t i)
{
    return r->rows[i].kind == ROW_SUMMARY || r->rows[i].kind == ROW_BROKEN;
}

/* The rows a summary may be about: all above it or those behind the summary before it, with or
 * without what the user left out. *nearest: over all rows above that are used. */
static bool matches(const struct reading *r, size_t i, size_t k, enum summary kind,
                    const struct number *x, struct values *buffer, double *nearest)
{
    size_t block = i;
    *nearest = PL_NAN;
    while (block > r->body && is_summary(r, block - 1))
        block--;
    while (block > r->body && !is_summary(r, block - 1))
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

static bool has_digit(const char *s)
{
    return strpbrk(s, "0123456789") != NULL;
}

/* What the other rows have in a column that says which shot it is: something, and a number. */
struct names {
    bool all, numbered;
    size_t rows;
};

static struct names names_of(const struct reading *r, size_t k)
{
    struct names n = {false, false, 0};
    size_t named = 0, numbered = 0;
    for (size_t i = r->body; i < r->records.n; i++) {
        const char *s = record_cell(&r->records.items[i], k);
        if (r->rows[i].kind != ROW_DATA)
            continue;
        n.rows++;
        named += s[0] != '\0' || row_cell(r, i, k)[0] != '\0';
        numbered += has_digit(s);
    }
    /* averages behind every block of three make a quarter of the rows */
    n.all = 3 * n.rows <= 4 * named + 2 && named > 1;
    n.numbered = 3 * n.rows <= 4 * numbered + 2 && numbered > 1;
    return n;
}

enum lack { LACKS_NOTHING, LACKS_SETTING, LACKS_SHOT };

/* The cell of the shot number is blank, or holds a word where the others hold numbers; or a setting
 * is blank. A blank that was filled down is one of merged cells, in the last row perhaps not. */
static enum lack lacks_name(const struct reading *r, const struct names *names, size_t i,
                            bool is_last)
{
    enum lack lack = LACKS_NOTHING;
    for (size_t k = 0; k < r->n_columns; k++) {
        const char *s = record_cell(&r->records.items[i], k);
        if (!identifies(&r->columns[k]))
            continue;
        bool shot = r->columns[k].want->role == ROLE_SHOT, blank = s[0] == '\0';
        bool filled = blank && row_cell(r, i, k)[0] != '\0';
        if (shot && !filled && (blank ? names[k].all : names[k].numbered && !has_digit(s)))
            return LACKS_SHOT;
        if (blank && (!shot || filled) && (!filled || is_last) && names[k].all)
            lack = LACKS_SETTING;
    }
    return lack;
}

/* All readings of the row are this of the rows above. `settings`: those too. */
static size_t count_matches(const struct reading *r, size_t i, enum summary kind, bool settings,
                            struct values *buffer, size_t *first)
{
    size_t n = 0;
    for (size_t k = 0; k < r->n_columns; k++) {
        struct number x;
        double v;
        if (!is_quantity(&r->columns[k]) || (!settings && identifies(&r->columns[k])) ||
            !plain_number(r, i, k, &x))
            continue;
        if (!matches(r, i, k, kind, &x, buffer, &v))
            return 0;
        if (n == 0 || identifies(&r->columns[*first]))
            *first = k;
        n++;
    }
    return n;
}

/* The setting has decimals that those above do not have: nobody sets 5.444 s after 5 s and 6 s. */
static bool has_computed_setting(const struct reading *r, size_t i)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        struct number x, y;
        const struct column *c = &r->columns[k];
        bool finer = true;
        if (!is_quantity(c) || !(c->want->spec->flags & COLUMN_SETTING) ||
            !plain_number(r, i, k, &x))
            continue;
        for (size_t j = r->body; j < i && finer; j++)
            finer = r->rows[j].kind != ROW_DATA || !plain_number(r, j, k, &y) ||
                    y.decimals < x.decimals;
        if (finer)
            return true;
    }
    return false;
}

static void refuse_summary(struct reading *r, size_t i, size_t k, enum summary kind)
{
    struct complaint c = {
        DIAG_ERROR,
        "summary-without-label",
        column_name(&r->columns[k]),
        arena_printf(r->arena, "%s can be one more shot or the %s of the rows above: it is both",
                     quoted(r, row_cell(r, i, k)), said[kind].noun),
        "a shot with its setting, or a word such as `average` in the row's first cell",
        "Write `average` or `total` into the row's first cell, or take the row out; if it is a "
        "shot, write its setting or number."};
    complain_cell(r, &c, i, k);
    r->rows[i].kind = ROW_BROKEN;
}

static const struct {
    enum summary kind;
    size_t least; /* what one reading alone can meet by chance needs two */
} kinds[] = {{SUMMARY_MEAN, 1},    {SUMMARY_SUM, 1}, {SUMMARY_MEDIAN, 2}, {SUMMARY_LEAST, 2},
             {SUMMARY_LARGEST, 2}, {SUMMARY_SD, 2},  {SUMMARY_RANGE, 2}};

#define MEAN_AND_SUM 2 /* the first two */

static bool refuse_unlabelled(struct reading *r, size_t i, enum lack lack, struct values *buffer)
{
    size_t first = 0, n = lack == LACKS_SHOT ? PL_COUNT(kinds) : MEAN_AND_SUM;
    bool settings = lack == LACKS_NOTHING;
    for (size_t j = 0; j < n; j++)
        if (count_matches(r, i, kinds[j].kind, settings, buffer, &first) >=
            (settings ? 2 : kinds[j].least)) {
            refuse_summary(r, i, first, kinds[j].kind);
            return true;
        }
    return false;
}

static void check_unlabelled(struct reading *r, struct values *buffer)
{
    struct names *names = ARENA_ARRAY(r->arena, struct names, r->n_columns);
    size_t above = 0, end = r->records.n;
    for (size_t k = 0; k < r->n_columns; k++)
        if (identifies(&r->columns[k]))
            names[k] = names_of(r, k);
    while (end > r->body && r->rows[end - 1].kind != ROW_DATA)
        end--;
    for (size_t i = r->body; i < end; i++) {
        if (!shots_keeps_row(r, i))
            continue;
        enum lack lack = lacks_name(r, names, i, i + 1 == end);
        bool looked_at = lack != LACKS_NOTHING && above >= 2 && is_complete(r, i);
        /* a spreadsheet counts shot numbers on by itself: then the setting is a mean too */
        if (lack == LACKS_NOTHING)
            looked_at = i + 1 == end && above >= 4 && has_computed_setting(r, i);
        above += !(looked_at && refuse_unlabelled(r, i, lack, buffer));
    }
}

void summaries_check(struct reading *r)
{
    struct values buffer = {ARENA_ARRAY(r->arena, double, r->records.n), 0, 0};
    for (size_t i = r->body; i < r->records.n; i++)
        if (r->rows[i].kind == ROW_SUMMARY)
            check_summary(r, i, &buffer);
    check_unlabelled(r, &buffer);
}
