/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings that have a second reading: `4,202`, `4 202` and `4'202` where these marks group
 * thousands, `4.202 kg` in a column of grams. Where the one that the rules give lies far from all
 * other readings of the column and the second one among them, the cell was not meant as it stands:
 * refused. So is `4203`, where all others are typed with the same number of decimals and this one
 * with none. Other readings that have one reading only are never judged here. */
#include <string.h>

#include "decimal.h"
#include "shots.h"
#include "units.h"

/* The readings of one quantity, all cavities, that have no second one; canonical. */
struct level {
    double low, high, step; /* step: of the last digit, the finest of all */
    size_t n, doubtful;     /* readings; cells worth a second look */
    size_t whole, marked;   /* of them without and with decimals */
    int decimals;           /* that all with decimals have; -1: they differ */
};

enum doubt { DOUBT_NONE, DOUBT_THOUSANDS, DOUBT_UNIT, DOUBT_LOST_MARK };

/* One cell, both ways. */
struct two {
    double value, other;    /* canonical */
    const struct unit *use; /* what both are shown in */
    enum doubt doubt;       /* DOUBT_NONE: there is no other way, or the mark may be lost */
    double step;
    int decimals;
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
    out->doubt = DOUBT_UNIT;
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
                        .decimals = x.decimals,
                        .exponent = strpbrk(s, "eE") != NULL && x.rest_length == 0};
    if (x.rest_length > 0 && !read_with_unit(c, &x, out))
        return false;
    bool one_group = (x.repairs & NUMBER_HAD_GROUPS) && x.decimals == 0 && fabs(x.value) < 1e6;
    if (one_group && out->doubt == DOUBT_NONE && x.rest_length == 0) {
        out->other = x.value / 1000.0 * c->use->factor + c->use->offset;
        out->doubt = DOUBT_THOUSANDS;
    }
    return true;
}

/* "4.202", with the decimal mark of the file; `decimals` behind it, -1: as many as it takes. */
static const char *with_decimals(struct reading *r, const struct two *x, double v, int decimals)
{
    double entered = unit_from_canonical(x->use, v);
    char *s = decimals < 0 ? arena_printf(r->arena, "%.10g", entered)
                           : arena_printf(r->arena, "%.*f", decimals, entered);
    char *point = r->mark == MARK_COMMA ? strchr(s, '.') : NULL;
    if (point != NULL)
        *point = ',';
    return s;
}

static const char *as_typed(struct reading *r, const struct two *x, double v)
{
    return with_decimals(r, x, v, -1);
}

/* The last sentence: how to write either, so that it is read. */
static const char *remedy(struct reading *r, const struct level *l, const struct two *x)
{
    const char *was = as_typed(r, x, x->value), *fits = as_typed(r, x, x->other);
    const char *unit = x->use->spelling;
    bool zeros = l->decimals > 0 && strpbrk(was, ".,") == NULL;
    const char *as_meant = zeros ? with_decimals(r, x, x->value, l->decimals) : was;
    if (x->doubt == DOUBT_UNIT)
        return arena_printf(r->arena,
                            "If %s %s is meant, take the unit out of the cell or correct it; if %s "
                            "%s is meant, write %s.",
                            fits, unit, was, unit, as_meant);
    if (x->doubt == DOUBT_LOST_MARK)
        return arena_printf(r->arena,
                            "If the decimal mark was left out, write %s; if %s is meant, write %s.",
                            with_decimals(r, x, x->other, l->decimals), was, as_meant);
    return arena_printf(
        r->arena,
        "If %s is meant, write it so, and all others with the same decimal mark; if "
        "%s is meant, write %s.",
        fits, was, as_meant);
}

static void refuse(struct reading *r, const struct level *l, const struct two *x, size_t i,
                   size_t k)
{
    static const struct {
        const char *code, *expected;
    } told[] = {
        [DOUBT_NONE] = {"", ""},
        [DOUBT_THOUSANDS] = {"thousands-out-of-line",
                             "one decimal mark, and none between thousands"},
        [DOUBT_UNIT] = {"unit-out-of-line", "a number in the unit of its column"},
        [DOUBT_LOST_MARK] = {"decimal-mark-left-out", "as many decimals as in the other rows"},
    };
    const struct column_spec *spec = r->columns[k].want->spec;
    const char *unit = x->use->spelling, *low = as_typed(r, x, l->low),
               *high = as_typed(r, x, l->high);
    const char *others =
        strcmp(low, high) == 0
            ? arena_printf(r->arena, "the others are %s %s", low, unit)
            : arena_printf(r->arena, "the others are %s to %s %s", low, high, unit);
    struct complaint c = {
        DIAG_ERROR,
        told[x->doubt].code,
        spec->name,
        arena_printf(r->arena, "%s in %s would be %s %s; %s, and %s %s would be among them",
                     quoted(r, row_cell(r, i, k)), spec->name, as_typed(r, x, x->value), unit,
                     others, as_typed(r, x, x->other), unit),
        told[x->doubt].expected,
        remedy(r, l, x)};
    complain_cell(r, &c, i, k);
    for (size_t j = 0; j < r->n_columns; j++)
        r->columns[j].judged = r->columns[j].judged ||
                               (r->columns[j].want != NULL && r->columns[j].want->spec == spec);
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

static void add(struct level *l, const struct two *x)
{
    l->low = l->n == 0 ? x->value : fmin(l->low, x->value);
    l->high = l->n == 0 ? x->value : fmax(l->high, x->value);
    l->step = l->n == 0 ? x->step : fmin(l->step, x->step);
    l->n++;
}

/* The next number of the quantity of column k, from cell *j of row *i on; false: none. */
static bool next_cell(const struct reading *r, size_t k, size_t *i, size_t *j, struct two *x)
{
    for (; *i < r->records.n; ++*i, *j = k)
        for (bool keeps = shots_keeps_row(r, *i); keeps && *j < r->n_columns; ++*j)
            if (read_cell(r, k, *i, *j, x))
                return true;
    return false;
}

/* In `all` the readings of the column; in `marked` those of them that have decimals. */
static void gather(const struct reading *r, size_t k, struct level *all, struct level *marked)
{
    struct two x;
    for (size_t i = r->body, j = k; next_cell(r, k, &i, &j, &x); j++) {
        all->doubtful += x.doubt != DOUBT_NONE || x.exponent;
        if (x.doubt != DOUBT_NONE)
            continue;
        add(all, &x);
        all->whole += x.decimals <= 0;
        if (x.decimals <= 0)
            continue;
        add(marked, &x);
        all->decimals = all->marked++ == 0 || all->decimals == x.decimals ? x.decimals : -1;
    }
}

#define MARKED_LEAST 4 /* and four of five readings: then decimals are the rule */

/* Where all readings but a few have the same number of decimals, these are the level. */
static void settle_level(struct level *all, const struct level *marked)
{
    bool rule = all->decimals > 0 && all->marked >= MARKED_LEAST && 4 * all->whole <= all->marked;
    if (!rule) {
        all->decimals = 0;
        return;
    }
    all->low = marked->low;
    all->high = marked->high;
    all->doubtful += all->whole;
}

/* `70` among 6.0, 7.0 and 8.0. */
static void doubt_mark(const struct level *l, struct two *x)
{
    if (l->decimals <= 0 || x->doubt != DOUBT_NONE || x->decimals != 0 || x->exponent)
        return;
    double number = unit_from_canonical(x->use, x->value);
    x->other = number / pow(10.0, l->decimals) * x->use->factor + x->use->offset;
    x->doubt = DOUBT_LOST_MARK;
}

static void judge(struct reading *r, size_t k, const struct level *l)
{
    struct two x;
    for (size_t i = r->body, j = k; next_cell(r, k, &i, &j, &x); j++) {
        if (x.exponent && x.step > 5.0 * l->step)
            note_cell(r, "digits-cut", i, j,
                      "a number in scientific notation has fewer digits than the others of its "
                      "column: a spreadsheet may have cut it");
        doubt_mark(l, &x);
        if (x.doubt != DOUBT_NONE && !is_among(x.value, l->low, l->high) &&
            is_among(x.other, l->low, l->high) && is_possible(r->columns[k].want->spec, x.value))
            refuse(r, l, &x, i, j);
    }
}

void out_of_line_check(struct reading *r)
{
    if (!decimal_is_settled(r))
        return;
    for (size_t k = 0; k < r->n_columns; k++) {
        struct level level = {.n = 0}, marked = {.n = 0};
        if (!column_is_quantity(&r->columns[k]) || !column_is_first(r, k))
            continue;
        gather(r, k, &level, &marked);
        settle_level(&level, &marked);
        if (level.n > 0 && level.doubtful > 0)
            judge(r, k, &level);
    }
}
