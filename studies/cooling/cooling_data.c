/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From the table to shots with a closed time. */
#include <math.h>
#include <string.h>

#include "cooling.h"

const struct table_row *cooling_row(const struct cooling *c, size_t shot)
{
    return &c->table->rows[c->shot[shot].row];
}

const char *cooling_file(const struct cooling *c, size_t shot)
{
    return study_file(c->table, c->shot[shot].row);
}

long cooling_line(const struct cooling *c, size_t shot)
{
    return cooling_row(c, shot)->line;
}

/* ---- columns -----------------------------------------------------------------------------------
 */

static double value_in(const struct table_row *row, int column)
{
    return column >= 0 && row->cells[column].kind == CELL_VALUE ? row->cells[column].value : PL_NAN;
}

/* The column when a row that is kept has a value in it; else -1. */
static int filled_column(const struct cooling *c, const char *name)
{
    int column = table_find(c->table, name, 0);
    for (size_t i = 0; column >= 0 && i < c->table->n_rows; i++)
        if (!c->table->rows[i].excluded && !isnan(value_in(&c->table->rows[i], column)))
            return column;
    return -1;
}

/* Where a time of the cycle comes from: its column, [running], or nowhere (NULL). */
static const char *source_of(const struct cooling *c, const char *name, int column, double *running)
{
    *running = column >= 0 ? PL_NAN : facts_number(&c->trial->facts, "running", name, PL_NAN);
    if (column >= 0)
        return arena_printf(c->a, "column %s", name);
    return isnan(*running) ? NULL : "[running]";
}

/* ---- shots -------------------------------------------------------------------------------------
 */

struct sources { /* of the times */
    int cooling, hold, fill, age;
    double hold_running, fill_running;
};

static const char *why_unusable(const struct table_row *row, const struct sources *s)
{
    if (isnan(value_in(row, s->cooling)))
        return "no cooling time";
    if (s->hold >= 0 && isnan(value_in(row, s->hold)))
        return "no hold time";
    return NULL;
}

static void add_shot(struct cooling *c, const struct sources *s, size_t row)
{
    const struct table_row *r = &c->table->rows[row];
    c->shot[c->n++] =
        (struct cooling_shot){.row = row,
                              .cooling = value_in(r, s->cooling),
                              .hold = s->hold >= 0 ? value_in(r, s->hold) : s->hold_running,
                              .fill = s->fill >= 0 ? value_in(r, s->fill) : s->fill_running,
                              .age = value_in(r, s->age)};
}

static void collect_shots(struct cooling *c, const struct sources *s, enum study_take take)
{
    const struct table *t = c->table;
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct table_row *row = &t->rows[i];
        bool looked_at = study_takes(row, take);
        const char *why = looked_at ? why_unusable(row, s) : NULL;
        if (looked_at && why == NULL) {
            add_shot(c, s, i);
            if (cooling_has_reading(c, c->n - 1))
                continue;
            c->n--;
            why = "nothing was measured";
        }
        study_leave_out(c->f, t, i, why, take);
    }
}

/* ---- settings and closed time ------------------------------------------------------------------
 */

static bool same(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static void find_settings(struct cooling *c)
{
    c->setting = ARENA_ARRAY(c->a, struct cooling_setting, c->n);
    for (size_t i = 0; i < c->n; i++) {
        struct cooling_shot *s = &c->shot[i];
        size_t k = 0;
        while (k < c->n_settings &&
               !(same(c->setting[k].cooling, s->cooling) && same(c->setting[k].hold, s->hold)))
            k++;
        if (k == c->n_settings)
            c->setting[c->n_settings++] =
                (struct cooling_setting){.cooling = s->cooling, .hold = s->hold};
        c->setting[k].n++;
        s->setting = k;
    }
}

/* Mean fill time of the shots of a setting, of all where none of them has one. */
static double mean_fill(const struct cooling *c, long setting)
{
    double sum = 0.0, n = 0.0;
    for (size_t i = 0; i < c->n; i++)
        if (!isnan(c->shot[i].fill) && (setting < 0 || c->shot[i].setting == (size_t)setting)) {
            sum += c->shot[i].fill;
            n += 1.0;
        }
    if (n > 0.0)
        return sum / n;
    return setting < 0 ? PL_NAN : mean_fill(c, -1);
}

/* All shots of one setting share one x: the fill time scatters from shot to shot by less than it
 * can be set, and a setting that was run twice must be one condition. */
static void find_closed_times(struct cooling *c)
{
    for (size_t k = 0; k < c->n_settings; k++) {
        struct cooling_setting *s = &c->setting[k];
        s->fill = c->fill_from != NULL ? mean_fill(c, (long)k) : PL_NAN;
        s->x = s->cooling;
        if (c->hold_from != NULL)
            s->x += s->hold + (c->fill_from != NULL ? s->fill : 0.0);
    }
}

/* ---- age ---------------------------------------------------------------------------------------
 */

/* Limits count from conditioning_time on; a study that has both sides compares two things. */
static enum errc check_age(struct cooling *c, struct error *e)
{
    long young = -1, old = -1;
    size_t measured = 0;
    for (size_t i = 0; i < c->n; i++) {
        bool has = false;
        for (size_t k = 0; k < c->n_measures; k++)
            for (size_t j = 0; !c->measure[k].temperature && j < c->measure[k].n; j++)
                has = has || c->measure[k].shot[j] == i;
        if (!has)
            continue;
        measured++;
        if (isnan(c->shot[i].age))
            c->age_missing++;
        else if (c->shot[i].age < c->conditioning)
            young = young < 0 ? (long)i : young;
        else
            old = old < 0 ? (long)i : old;
    }
    if (young >= 0 && old >= 0)
        return ERR_AT(
            e, ERR_INPUT, cooling_file(c, (size_t)young), cooling_line(c, (size_t)young),
            "this part was measured at an age of %s and the one in line %ld at %s: parts change "
            "until they are %s old (conditioning_time), so one study cannot hold both; measure all "
            "of them after that time, or leave the young ones out",
            value_text(c->a, c->trial->display, DIM_AGE, c->shot[young].age, PL_NAN),
            cooling_line(c, (size_t)old),
            value_text(c->a, c->trial->display, DIM_AGE, c->shot[old].age, PL_NAN),
            value_text(c->a, c->trial->display, DIM_AGE, c->conditioning, PL_NAN));
    c->age = measured > 0 && c->age_missing > 0 ? COOLING_AGE_NOT_GIVEN
             : young >= 0                       ? COOLING_AGE_TOO_YOUNG
                                                : COOLING_AGE_FINE;
    return ERR_NONE;
}

enum errc cooling_load(struct cooling *c, enum study_take take, struct error *e)
{
    struct sources s = {.cooling = table_find(c->table, "cooling_time", 0),
                        .hold = filled_column(c, "hold_time"),
                        .fill = filled_column(c, "fill_time"),
                        .age = table_find(c->table, "age", 0)};
    c->hold_from = source_of(c, "hold_time", s.hold, &s.hold_running);
    c->fill_from = source_of(c, "fill_time", s.fill, &s.fill_running);
    c->shot = ARENA_ARRAY(c->a, struct cooling_shot, c->table->n_rows);
    if (s.cooling >= 0)
        collect_shots(c, &s, take);
    find_settings(c);
    find_closed_times(c);
    cooling_find_measures(c);
    return check_age(c, e);
}
