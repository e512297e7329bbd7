/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows that stand in the data twice. Equal shots are normal where the scale is coarse, so being
 * equal is no offence: a shot number or a time stamp must occur again with all its readings, or so
 * many rows in a row that chance does not explain it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "study_internal.h"

#define LEAST_RUN 4
#define CHANCE 0.002   /* expected runs like it, at most */
#define ROWS_MOST 3000 /* looked at for runs: every lag is walked */
#define LEAST_SCATTER                                                                              \
    2e-4 /* relative; no press repeats better. Our convention, used only where the                 \
            rows themselves do not tell */
#define ROOT_PI_2 3.5449077018 /* 2 sqrt(pi): height of the density of a difference at 0 */

/* ---- rows ----------------------------------------------------------------------------------- */

struct rows {
    const struct table *t;
    size_t *row, n; /* used ones, in the order they stand */
    int *setting, *reading;
    size_t n_settings, n_readings;
};

static bool is_setting(const struct suspect *s, const struct column_spec *spec)
{
    return (spec->flags & (COLUMN_SETTING | COLUMN_CONSTANT_LABEL)) != 0 ||
           strcmp(spec->name, s->study->setting) == 0;
}

static bool is_shared(const char *name)
{
    static const char *const shared[] = {"shot", "exclude", "excluded_by", "note", "defect"};
    for (size_t i = 0; i < PL_COUNT(shared); i++)
        if (strcmp(name, shared[i]) == 0)
            return true;
    return false;
}

static struct rows rows_of(const struct suspect *s)
{
    const struct table *t = s->table;
    struct rows r = {.t = t,
                     .row = ARENA_ARRAY(s->a, size_t, t->n_rows),
                     .setting = ARENA_ARRAY(s->a, int, t->n_columns),
                     .reading = ARENA_ARRAY(s->a, int, t->n_columns)};
    for (size_t i = 0; i < t->n_columns; i++)
        if (is_setting(s, t->columns[i].spec))
            r.setting[r.n_settings++] = (int)i;
        else if (!is_shared(t->columns[i].spec->name))
            r.reading[r.n_readings++] = (int)i;
    for (size_t i = 0; i < t->n_rows; i++)
        if (!t->rows[i].excluded)
            r.row[r.n++] = i;
    return r;
}

static bool same_cell(const struct cell *a, const struct cell *b)
{
    if (a->kind != b->kind)
        return false;
    if (a->kind == CELL_TEXT)
        return strcmp(a->text, b->text) == 0;
    return a->kind == CELL_MISSING || a->value == b->value;
}

static bool same_cells(const struct rows *r, size_t i, size_t j, const int *columns, size_t n)
{
    const struct table_row *a = &r->t->rows[r->row[i]], *b = &r->t->rows[r->row[j]];
    for (size_t k = 0; k < n; k++)
        if (!same_cell(&a->cells[columns[k]], &b->cells[columns[k]]))
            return false;
    return true;
}

static bool same_setting(const struct rows *r, size_t i, size_t j)
{
    return same_cells(r, i, j, r->setting, r->n_settings);
}

static bool same_row(const struct rows *r, size_t i, size_t j)
{
    return same_setting(r, i, j) && same_cells(r, i, j, r->reading, r->n_readings);
}

static const char *place(const struct suspect *s, const struct rows *r, size_t i)
{
    const struct table_row *row = &r->t->rows[r->row[i]];
    if (r->t->n_sources == 1)
        return arena_printf(s->a, "line %ld", row->line);
    return arena_printf(s->a, "%s, line %ld", study_file(r->t, r->row[i]), row->line);
}

/* ---- shot numbers --------------------------------------------------------------------------- */

struct named { /* a row and the text that should be its own */
    const char *name;
    size_t at;
};

static int compare_named(const void *a, const void *b)
{
    const struct named *x = a, *y = b;
    int order = strcmp(x->name, y->name);
    return order != 0 ? order : (x->at > y->at) - (x->at < y->at);
}

/* Where every number occurs again, or most of those that do have other readings, numbering began
 * anew and a number is no name. */
static bool repeated_shots(struct suspect *s, const struct rows *r)
{
    struct named *x = ARENA_ARRAY(s->a, struct named, r->n);
    size_t n = 0, same = 0, differ = 0, alone = 0, from = 0, to = 0;
    for (size_t i = 0; i < r->n; i++)
        if (r->t->rows[r->row[i]].shot[0] != '\0')
            x[n++] = (struct named){r->t->rows[r->row[i]].shot, i};
    if (n > 0)
        qsort(x, n, sizeof *x, compare_named);
    for (size_t i = 0, end; i < n; i = end) {
        for (end = i + 1; end < n && strcmp(x[end].name, x[i].name) == 0; end++) {
            bool equal = same_row(r, x[i].at, x[end].at);
            if (equal && (same == 0 || x[end].at < to)) {
                from = x[i].at;
                to = x[end].at;
            }
            same += equal;
            differ += !equal;
        }
        alone += end == i + 1;
    }
    if (same == 0 || alone == 0 || differ >= same)
        return false;
    const struct table_row *row = &r->t->rows[r->row[to]];
    SUSPECT_RAISE(s, "repeated-row", study_file(r->t, r->row[to]), row->line,
                  "shot %s stands here and in %s, with the same readings%s", row->shot,
                  place(s, r, from),
                  same == 1 ? "" : arena_printf(s->a, "; so do %zu more rows", same - 1));
    return true;
}

/* ---- time stamps ---------------------------------------------------------------------------- */

/* A clock with seconds, "7:05:31" somewhere in the cell. */
static bool is_stamp(const char *c)
{
    for (; *c != '\0'; c++) {
        size_t k = 0;
        static const char pattern[] = "0:00:00";
        while (pattern[k] != '\0' &&
               (pattern[k] == '0' ? c[k] >= '0' && c[k] <= '9' : c[k] == pattern[k]))
            k++;
        if (pattern[k] == '\0')
            return true;
    }
    return false;
}

static bool same_record(const struct raw_record *a, const struct raw_record *b)
{
    if (a->n_cells != b->n_cells)
        return false;
    for (size_t i = 0; i < a->n_cells; i++)
        if (strcmp(a->cells[i], b->cells[i]) != 0)
            return false;
    return true;
}

/* The column whose cells are time stamps in all records that are used, or n_header_cells. */
static size_t stamp_column(const struct source *f)
{
    for (size_t k = 0; k < f->n_header_cells; k++) {
        size_t stamps = 0, others = 0;
        for (size_t i = 0; i < f->n_records; i++) {
            if (f->records[i].left_out || f->records[i].n_cells <= k)
                continue;
            bool is = is_stamp(f->records[i].cells[k]);
            stamps += is;
            others += !is;
        }
        if (stamps > 1 && others == 0)
            return k;
    }
    return f->n_header_cells;
}

static bool repeated_stamps_in(struct suspect *s, const struct source *f)
{
    size_t k = stamp_column(f), n = 0;
    if (k == f->n_header_cells)
        return false;
    struct named *x = ARENA_ARRAY(s->a, struct named, f->n_records);
    for (size_t i = 0; i < f->n_records; i++)
        if (!f->records[i].left_out && f->records[i].n_cells > k)
            x[n++] = (struct named){f->records[i].cells[k], i};
    qsort(x, n, sizeof *x, compare_named);
    size_t same = 0, from = 0, to = 0;
    for (size_t i = 0, end; i < n; i = end)
        for (end = i + 1; end < n && strcmp(x[end].name, x[i].name) == 0; end++)
            for (size_t j = i; j < end; j++)
                if (same_record(&f->records[x[j].at], &f->records[x[end].at])) {
                    if (same++ == 0 || x[end].at < to) {
                        from = x[j].at;
                        to = x[end].at;
                    }
                    break;
                }
    if (same == 0)
        return false;
    SUSPECT_RAISE(s, "repeated-row", f->name, f->records[to].line,
                  "the row of %s stands here and in line %ld, with the same readings%s",
                  f->records[to].cells[k], f->records[from].line,
                  same == 1 ? "" : arena_printf(s->a, "; so do %zu more rows", same - 1));
    return true;
}

/* ---- runs of rows --------------------------------------------------------------------------- */

struct run {
    size_t from, to, length; /* rows from.. stand again at to.. */
    size_t places;           /* pairs of places at which such a run could stand, by the settings */
};

static struct run longest_run(const struct rows *r)
{
    struct run best = {0};
    for (size_t lag = LEAST_RUN; lag < r->n; lag++) {
        size_t equal = 0, alike = 0;
        for (size_t i = 0; i + lag < r->n; i++) {
            bool setting = same_setting(r, i, i + lag);
            alike = setting ? alike + 1 : 0;
            equal = setting && same_cells(r, i, i + lag, r->reading, r->n_readings) ? equal + 1 : 0;
            best.places += alike >= LEAST_RUN;
            size_t length = equal < lag ? equal : lag; /* a copy does not overlap itself */
            if (length > best.length) {
                best.length = length;
                best.to = i + lag + 1 - length;
                best.from = i + 1 - length;
            }
        }
    }
    return best;
}

/* Chance that two shots of a setting agree in all readings, where no pairs tell: the finest scale
 * against the least scatter. */
static double least_chance(const struct rows *r, const struct run *run)
{
    double least = 1.0;
    for (size_t k = 0; k < r->n_readings; k++) {
        double most = 0.0;
        for (size_t i = run->from; i < run->from + run->length; i++) {
            const struct cell *c = &r->t->rows[r->row[i]].cells[r->reading[k]];
            double step = r->t->columns[r->reading[k]].step;
            double sd = c->kind == CELL_VALUE ? LEAST_SCATTER * fabs(c->value) : 0.0;
            most = fmax(most, sd > 0.0 && step > 0.0 ? step / (ROOT_PI_2 * sd) : 1.0);
        }
        least = fmin(least, most);
    }
    return least;
}

/* From the pairs of shots at the settings of the run, those of the run and its copy left out. */
static double chance_of_agreement(const struct rows *r, const struct run *run)
{
    double pairs = 0.0, agree = 0.0;
    for (size_t i = run->from; i < run->from + run->length; i++)
        for (size_t j = 0; j < r->n; j++) {
            bool in_run = j >= run->from && j < run->from + run->length;
            bool in_copy = j >= run->to && j < run->to + run->length;
            if (j == i || (in_run && j < i) || (in_copy && j - run->to == i - run->from) ||
                !same_setting(r, i, j))
                continue;
            if (in_copy) /* its double in the run was or will be counted */
                continue;
            pairs += 1.0;
            agree += same_cells(r, i, j, r->reading, r->n_readings);
        }
    return pairs > 0.0 ? (agree + 1.0) / (pairs + 2.0) : least_chance(r, run);
}

static void repeated_run(struct suspect *s, const struct rows *r)
{
    if (r->n_readings == 0 || r->n < 2 * LEAST_RUN || r->n > ROWS_MOST)
        return;
    struct run run = longest_run(r);
    if (run.length < LEAST_RUN ||
        (double)run.places * pow(chance_of_agreement(r, &run), (double)run.length) > CHANCE)
        return;
    SUSPECT_RAISE(s, "repeated-row", study_file(r->t, r->row[run.to]),
                  r->t->rows[r->row[run.to]].line,
                  "%zu rows from here on are the same as those from %s on, in every reading",
                  run.length, place(s, r, run.from));
}

void suspect_repeated(struct suspect *s)
{
    struct rows r = rows_of(s);
    if (r.n < 2 || repeated_shots(s, &r))
        return;
    for (size_t i = 0; i < s->table->n_sources; i++)
        if (repeated_stamps_in(s, &s->table->sources[i]))
            return;
    repeated_run(s, &r);
}
