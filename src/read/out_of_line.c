/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings that have a second reading: `4,202`, `4 202` and `4'202` where these marks group
 * thousands, `4.202 kg` in a column of grams. Where the one that the rules give lies far from all
 * other readings of the column and the second one among them, the cell was not meant as it stands:
 * refused. Readings that have one reading only are never judged here. */
#include <string.h>

#include "decimal.h"
#include "shots.h"
#include "units.h"

#define APART 1.5 /* thousands are off by a thousand, units mostly by more than this */

/* The readings of one quantity, all cavities, that have no second one; canonical. */
struct level {
    double low, high, step; /* step: of the last digit, the finest of all */
    size_t n, doubtful;     /* readings; cells worth a second look */
};

/* One cell, both ways. */
struct two {
    double value, other;    /* canonical */
    const struct unit *use; /* what both are shown in */
    bool has_other, by_unit;
    double step;
    bool exponent;
};

/* Another unit than that of the column behind the number. Units of other dimensions (a speed in
 * %) are left to what reads the cell. */
static bool read_with_unit(const struct column *c, const struct number *x, struct two *out)
{
    struct unit_result u = unit_find_for(c->want->spec->dimension, x->rest, x->rest_length);
    if (u.answer != UNIT_OK || u.unit->dimension != c->unit->dimension)
        return false;
    if (strcmp(u.unit->spelling, c->unit->spelling) == 0)
        return true;
    double basis = c->use->factor / c->unit->factor; /* hydraulic pressure */
    out->value = (x->value * u.unit->factor + u.unit->offset) * basis;
    out->other = x->value * c->use->factor + c->use->offset;
    out->has_other = out->by_unit = true;
    return true;
}

/* False: no number, or none that can be compared. */
static bool read_both(const struct reading *r, const struct column *c, const char *s,
                      struct two *out)
{
    struct number x;
    if (number_parse(s, strlen(s), r->mark, &x) != NUMBER_OK)
        return false;
    *out = (struct two){.value = x.value * c->use->factor + c->use->offset,
                        .use = c->use,
                        .step = x.step * c->use->factor,
                        .exponent = strpbrk(s, "eE") != NULL && x.rest_length == 0};
    if (x.rest_length > 0 && !read_with_unit(c, &x, out))
        return false;
    bool one_group = (x.repairs & NUMBER_HAD_GROUPS) && x.decimals == 0 && fabs(x.value) < 1e6;
    if (one_group && !out->has_other && x.rest_length == 0) {
        out->other = x.value / 1000.0 * c->use->factor + c->use->offset;
        out->has_other = true;
    }
    return true;
}

static bool is_near(const struct level *l, double v)
{
    double low = l->low > 0.0 ? l->low / APART : l->low * APART;
    double high = l->high > 0.0 ? l->high * APART : l->high / APART;
    return v >= low && v <= high;
}

/* "4.202", with the decimal mark of the file. */
static const char *as_typed(struct reading *r, const struct two *x, double v)
{
    char *s = arena_printf(r->arena, "%.10g", unit_from_canonical(x->use, v));
    char *point = r->mark == MARK_COMMA ? strchr(s, '.') : NULL;
    if (point != NULL)
        *point = ',';
    return s;
}

static void refuse(struct reading *r, const struct level *l, const struct two *x, size_t i,
                   size_t k)
{
    const struct column_spec *spec = r->columns[k].want->spec;
    const char *unit = x->use->spelling, *was = as_typed(r, x, x->value),
               *fits = as_typed(r, x, x->other);
    const char *low = as_typed(r, x, l->low), *high = as_typed(r, x, l->high);
    const char *others =
        strcmp(low, high) == 0
            ? arena_printf(r->arena, "the others are %s %s", low, unit)
            : arena_printf(r->arena, "the others are %s to %s %s", low, high, unit);
    struct complaint c = {
        DIAG_ERROR,
        x->by_unit ? "unit-out-of-line" : "thousands-out-of-line",
        spec->name,
        arena_printf(r->arena, "%s in %s would be %s %s; %s, and %s %s would be among them",
                     quoted(r, row_cell(r, i, k)), spec->name, was, unit, others, fits, unit),
        x->by_unit ? "a number in the unit of its column"
                   : "one decimal mark, and none between thousands",
        x->by_unit
            ? arena_printf(r->arena,
                           "If %s %s is meant, take the unit out of the cell or correct it; if "
                           "%s %s is meant, write %s.",
                           fits, unit, was, unit, was)
            : arena_printf(r->arena,
                           "If %s is meant, write it so, and all others with the same decimal "
                           "mark; if %s is meant, write %s.",
                           fits, was, was)};
    complain_cell(r, &c, i, k);
}

/* What lies outside of it is told when the cell is read. */
static bool is_possible(const struct column_spec *spec, double v)
{
    return !(spec->low < spec->high) || (v >= spec->low && v <= spec->high);
}

/* Cell j of a row, of the quantity of column k; false: of another one, or nothing to compare. */
static bool read_cell(const struct reading *r, size_t k, size_t i, size_t j, struct two *x)
{
    const struct column *c = &r->columns[j];
    return c->want != NULL && c->want->spec == r->columns[k].want->spec && c->use != NULL &&
           !c->hopeless && read_both(r, c, row_cell(r, i, j), x);
}

static void gather(const struct reading *r, size_t k, struct level *l)
{
    struct two x;
    for (size_t i = r->body; i < r->records.n; i++) {
        size_t end = shots_keeps_row(r, i) ? r->n_columns : 0;
        for (size_t j = k; j < end; j++) {
            if (!read_cell(r, k, i, j, &x))
                continue;
            l->doubtful += x.has_other || x.exponent;
            if (x.has_other)
                continue;
            l->low = l->n == 0 ? x.value : fmin(l->low, x.value);
            l->high = l->n == 0 ? x.value : fmax(l->high, x.value);
            l->step = l->n == 0 ? x.step : fmin(l->step, x.step);
            l->n++;
        }
    }
}

static void judge(struct reading *r, size_t k, const struct level *l)
{
    struct two x;
    for (size_t i = r->body; i < r->records.n; i++) {
        size_t end = shots_keeps_row(r, i) ? r->n_columns : 0;
        for (size_t j = k; j < end; j++) {
            if (!read_cell(r, k, i, j, &x))
                continue;
            if (x.exponent && x.step > 5.0 * l->step)
                note_cell(r, "digits-cut", i, j,
                          "a number in scientific notation has fewer digits than the others of its "
                          "column: a spreadsheet may have cut it");
            if (x.has_other && !is_near(l, x.value) && is_near(l, x.other) &&
                is_possible(r->columns[k].want->spec, x.value))
                refuse(r, l, &x, i, j);
        }
    }
}

static bool is_first_of_its_kind(const struct reading *r, size_t k)
{
    for (size_t j = 0; j < k; j++)
        if (r->columns[j].want != NULL && r->columns[j].want->spec == r->columns[k].want->spec)
            return false;
    return true;
}

void out_of_line_check(struct reading *r)
{
    bool told = r->decimal == TABLE_DECIMAL_MIXED ||
                (r->decimal == TABLE_DECIMAL_EITHER && r->hint == NULL);
    if (told) /* a reading may be off by a thousand as it is */
        return;
    for (size_t k = 0; k < r->n_columns; k++) {
        struct level level = {.n = 0};
        if (!decimal_is_looked_at(&r->columns[k]) || !is_first_of_its_kind(r, k))
            continue;
        gather(r, k, &level);
        if (level.n > 0 && level.doubtful > 0)
            judge(r, k, &level);
    }
}
