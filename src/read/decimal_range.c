/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The decimal mark by what can be: the reading that puts a value outside of it is not meant. */
#include <string.h>

#include "decimal.h"

#define HEAVY_PART 20e3 /* g: `25,123` beside hold times in seconds is a laboratory balance */
#define FAR_OFF 50.0    /* a misread mark is off by a thousand */
#define LOWEST_MELT_PRESSURE 0.2 /* MPa: no mold is filled with less */
#define HEAVIEST_COMPOUND 15e-3  /* g/mm3: no melt is heavier, metal powder in it counted */

/* What a column can hold in canonical units, and what says so. */
struct span {
    double low, high;
    const char *by;
};

static void lower(struct span *s, double high, const char *by)
{
    if (high > 0.0 && high < s->high) {
        s->high = high;
        s->by = by;
    }
}

static void raise_low(struct span *s, double low, const char *by)
{
    if (low > s->low) {
        s->low = low;
        s->by = by;
    }
}

static double fact(const struct reading *r, const char *section, const char *key)
{
    return facts_number(r->facts, section, key, PL_NAN);
}

/* One part, or one of several in a cell of their own, is off by less than a factor of fifty from
 * what trial.ini says; no shot is heavier than what the press and the mold hold. */
static void narrow_weight(const struct reading *r, const struct column_spec *spec, bool given,
                          struct span *s)
{
    double part = fact(r, "mold", "part_weight"), volume = fact(r, "mold", "part_volume");
    double cavities = facts_number(r->facts, "mold", "cavities", 1.0);
    bool parts = strcmp(spec->name, "weight") == 0;
    if (parts && part > 0.0) {
        raise_low(s, part / FAR_OFF, "[mold] part_weight");
        lower(s, part * cavities * FAR_OFF, "[mold] part_weight");
    }
    if (parts)
        lower(s, volume * cavities * HEAVIEST_COMPOUND, "[mold] part_volume");
    lower(s, fact(r, "mold", "shot_volume") * HEAVIEST_COMPOUND, "[mold] shot_volume");
    lower(s, fact(r, "press", "max_shot_volume") * HEAVIEST_COMPOUND, "[press] max_shot_volume");
    if (!given && (!parts || !(part > 0.0)))
        lower(s, HEAVY_PART, NULL);
}

/* A characteristic of [dimensions] is off by less than a factor of fifty from its limits. */
static void narrow_dimension(const struct reading *r, const struct column_spec *spec,
                             struct span *s)
{
    const struct fact *f = facts_find(r->facts, "dimensions", spec->name);
    if (f == NULL || spec->dimension == DIM_TEMPERATURE)
        return;
    if (isfinite(f->high) && f->high > 0.0)
        lower(s, f->high * FAR_OFF, "[dimensions]");
    if (isfinite(f->high) && isfinite(f->low) && f->low > 0.0)
        raise_low(s, f->low / FAR_OFF, "[dimensions]");
}

/* `given`: the mark was said; then what only seldom is counts as possible. */
static struct span span_of(const struct reading *r, const struct column *c, bool given)
{
    const struct column_spec *spec = c->want->spec;
    struct span s = {-PL_INF, PL_INF, NULL};
    if (spec->low < spec->high) {
        s.low = spec->low;
        s.high = spec->high;
    }
    if (spec->dimension == DIM_MASS)
        narrow_weight(r, spec, given, &s);
    if (!given && (spec->flags & COLUMN_BASIS) && spec->low > 0.0) /* hold pressure may be off */
        raise_low(&s, LOWEST_MELT_PRESSURE, NULL);
    narrow_dimension(r, spec, &s);
    return s;
}

/* False where the cell read with this mark lies outside; a cell that tells nothing fits. */
static bool fits(const struct reading *r, const struct column *c, const char *s,
                 enum decimal_mark mark, bool given, struct span *span, double *value)
{
    struct number x;
    if (number_parse(s, strlen(s), mark, &x) > NUMBER_ABOVE || c->use == NULL || c->hopeless)
        return true;
    *span = span_of(r, c, given);
    *value = x.value * c->use->factor + c->use->offset;
    return *value >= span->low && *value <= span->high;
}

/* "weight on line 2 would be 21314 g, and at most 2310 g is possible by [press] max_shot_volume" */
static const char *reason(struct reading *r, size_t record, const struct column *c,
                          const struct span *s, double value)
{
    bool high = value > s->high;
    double limit = unit_from_canonical(c->use, high ? s->high : s->low);
    const char *unit = c->use->spelling;
    return arena_printf(r->arena,
                        "%s on line %ld would be %.10g %s, and at %s %.6g %s is possible%s%s",
                        c->want->spec->name, r->records.items[record].line,
                        unit_from_canonical(c->use, value), unit, high ? "most" : "least", limit,
                        unit, s->by != NULL ? " by " : "", s->by != NULL ? s->by : "");
}

/* What speaks against either mark; of the first cell that does. A cell that cannot be in either
 * reading tells nothing: it is wrong by itself. */
static void look(struct reading *r, size_t i, size_t k, bool given, const char *against[2])
{
    static const enum decimal_mark marks[] = {MARK_POINT, MARK_COMMA};
    const struct column *c = &r->columns[k];
    const char *s = row_cell(r, i, k);
    struct span span[2];
    double value[2];
    bool can[2];
    if (number_evidence(s, strlen(s)) != EVIDENCE_EITHER)
        return;
    for (size_t m = 0; m < 2; m++)
        can[m] = fits(r, c, s, marks[m], given, &span[m], &value[m]);
    for (size_t m = 0; m < 2; m++)
        if (against[m] == NULL && !can[m] && can[1 - m])
            against[m] = reason(r, i, c, &span[m], value[m]);
}

enum decimal_mark decimal_by_range(struct reading *r, const struct column_spec *only, bool given,
                                   const char **why)
{
    const char *against[2] = {NULL, NULL}; /* the point, the comma */
    for (size_t i = r->body; i < r->records.n; i++)
        for (size_t k = 0; k < r->n_columns && r->rows[i].kind == ROW_DATA; k++)
            if (column_is_quantity(&r->columns[k]) &&
                (only == NULL || r->columns[k].want->spec == only))
                look(r, i, k, given, against);
    if ((against[0] == NULL) == (against[1] == NULL))
        return MARK_NONE_SEEN;
    *why = against[0] != NULL ? against[0] : against[1];
    return against[0] != NULL ? MARK_COMMA : MARK_POINT;
}
