/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Beside the decision: what conduction in a slab leads to expect, what a tenth of a second costs,
 * at which point the study was run. */
#include <math.h>
#include <string.h>

#include "cooling.h"

/* ---- operating point ---------------------------------------------------------------------------
 */

static bool range_of_column(const struct cooling *c, const char *name, double *low, double *high)
{
    int column = table_find(c->table, name, 0);
    *low = PL_INF;
    *high = -PL_INF;
    for (size_t i = 0; column >= 0 && i < c->n; i++) {
        const struct cell *cell = &cooling_row(c, i)->cells[column];
        if (cell->kind != CELL_VALUE)
            continue;
        *low = fmin(*low, cell->value);
        *high = fmax(*high, cell->value);
    }
    return *low <= *high;
}

static bool find_operating(const struct cooling *c, const char *name, struct operating_value *out)
{
    *out = (struct operating_value){.setting = name};
    if (range_of_column(c, name, &out->low, &out->high)) {
        out->dimension = c->table->columns[table_find(c->table, name, 0)].spec->dimension;
        out->from = arena_printf(c->a, "column %s", name);
        return true;
    }
    const struct fact *running = facts_find(&c->trial->facts, "running", name);
    if (running == NULL || running->kind != FACT_QUANTITY)
        return false;
    out->dimension = running->dimension;
    out->low = running->low;
    out->high = running->high;
    out->from = "[running]";
    return true;
}

void cooling_operating_point(struct cooling *c)
{
    static const char *const settings[] = {"fill_time",      "hold_time",        "recovery_time",
                                           "hold_pressure",  "melt_temperature", "mold_temperature",
                                           "injection_speed"};
    for (size_t i = 0; i < PL_COUNT(settings); i++) {
        struct operating_value v;
        if (!find_operating(c, settings[i], &v))
            continue;
        struct operating_value *o = finding_operating(c->f, v.setting, v.dimension);
        *o = v;
        if (strcmp(settings[i], "recovery_time") == 0)
            o->low = o->high; /* the slowest has to fit */
    }
}

/* ---- slab --------------------------------------------------------------------------------------
 */

struct slab_input {
    double thickness, diffusivity, ejection, melt, mold;
    const char *melt_from, *mold_from;
    const char *missing;
};

static double temperature_of(const struct cooling *c, const char *name, const char **from)
{
    struct operating_value v;
    if (find_operating(c, name, &v)) {
        *from = strcmp(v.from, "[running]") == 0 ? "[running]" : "as measured";
        return 0.5 * (v.low + v.high);
    }
    const struct fact *range = facts_find(&c->trial->facts, "material", name);
    if (range == NULL || !isfinite(range->low) || !isfinite(range->high))
        return PL_NAN;
    *from = "middle of the supplier's range";
    return 0.5 * (range->low + range->high);
}

static void find_input(const struct cooling *c, struct slab_input *s)
{
    const struct facts *f = &c->trial->facts;
    s->thickness = facts_number(f, "mold", "wall_thickness", PL_NAN);
    s->diffusivity = facts_number(f, "material", "thermal_diffusivity", PL_NAN);
    s->ejection = facts_number(f, "material", "ejection_temperature", PL_NAN);
    s->melt = temperature_of(c, "melt_temperature", &s->melt_from);
    s->mold = temperature_of(c, "mold_temperature", &s->mold_from);
    s->missing = isnan(s->thickness)     ? "[mold] wall_thickness is not given"
                 : isnan(s->diffusivity) ? "[material] thermal_diffusivity is not given"
                 : isnan(s->ejection)    ? "[material] ejection_temperature is not given"
                 : isnan(s->melt)        ? "no melt temperature is given"
                 : isnan(s->mold)        ? "no mold temperature is given"
                 : !(s->ejection > s->mold) || !(s->melt > s->mold)
                     ? "the mold is not colder than ejection and melt temperature"
                     : NULL;
}

static const char *shown(const struct cooling *c, enum dimension d, double v)
{
    return value_text(c->a, c->trial->display, d, v, PL_NAN);
}

static const char *seconds(const struct cooling *c, double v)
{
    return cooling_time(c, v, v / 20.0);
}

static const char *comparison(const struct cooling *c, double mean)
{
    if (c->decides == NULL)
        return "";
    return arena_printf(c->a, " The %s found, %s, is %s times the first.", cooling_axis(c),
                        cooling_time(c, c->high, 0.1), number_text(c->a, c->high / mean, 2));
}

void cooling_check_slab(struct cooling *c)
{
    struct slab_input s = {.melt_from = "", .mold_from = ""};
    find_input(c, &s);
    static const struct {
        enum slab_point point;
        const char *name, *title;
    } points[] = {
        {SLAB_MEAN, "theoretical_cooling_time", "a slab's mean cools to ejection temperature in"},
        {SLAB_CENTRE, "theoretical_cooling_time_centre",
         "a slab's centre cools to ejection temperature in"},
    };
    double t[2] = {PL_NAN, PL_NAN};
    for (size_t i = 0; i < PL_COUNT(points); i++) {
        struct quantity *q = finding_quantity(c->f, points[i].name, points[i].title, DIM_TIME);
        q->method = "conduction across the wall, full thickness, whole series; a check, never the "
                    "decision";
        q->reason = s.missing;
        if (s.missing == NULL)
            t[i] = q->value = math_slab_time(points[i].point, s.thickness, s.diffusivity, s.melt,
                                             s.mold, s.ejection);
    }
    if (s.missing != NULL)
        return;
    COOLING_RAISE(
        c, "slab-check", NULL, 0,
        "a wall of %s (thermal diffusivity %s) that starts at %s (%s) between faces of %s (%s) "
        "cools to %s in %s on average and in %s at its center.%s Published diffusivities of one "
        "material differ by a factor of two, so this checks the order of magnitude and decides "
        "nothing",
        shown(c, DIM_LENGTH, s.thickness), shown(c, DIM_DIFFUSIVITY, s.diffusivity),
        shown(c, DIM_TEMPERATURE, s.melt), s.melt_from, shown(c, DIM_TEMPERATURE, s.mold),
        s.mold_from, shown(c, DIM_TEMPERATURE, s.ejection), seconds(c, t[0]), seconds(c, t[1]),
        comparison(c, t[0]));
}

/* ---- price of time -----------------------------------------------------------------------------
 */

void cooling_price(struct cooling *c)
{
    const struct facts *f = &c->trial->facts;
    double parts = facts_number(f, "economics", "parts_per_year", PL_NAN);
    double rate = facts_number(f, "economics", "press_rate", PL_NAN);
    double cavities = facts_number(f, "mold", "cavities", 1.0);
    const char *currency = facts_text(f, "economics", "currency");
    if (isnan(parts))
        return;
    double hours = parts / cavities * 0.1 / 3600.0;
    struct quantity *q = finding_quantity(
        c->f, "tenth_second_hours", "press time that 0.1 s of cycle takes in a year", DIM_COUNT);
    q->value = hours;
    q->unit = "h/year";
    q->method = "[economics] parts_per_year over [mold] cavities, times 0.1 s";
    const char *money = "";
    if (!isnan(rate)) {
        const char *unit = currency != NULL ? currency : "currency units";
        q = finding_quantity(c->f, "tenth_second_cost", "price of 0.1 s of cycle in a year",
                             DIM_COUNT);
        q->value = hours * rate;
        q->unit = arena_printf(c->a, "%s/year", unit);
        q->method = "those hours times [economics] press_rate";
        money = arena_printf(c->a, ", or %s %s", number_text(c->a, hours * rate, 3), unit);
    }
    COOLING_RAISE(c, "price-of-time", NULL, 0,
                  "0.1 s of cycle time is %s hours of press time a year%s (%.0f parts a year, %s)",
                  number_text(c->a, hours, 3), money, parts,
                  cavities > 1.0 ? arena_printf(c->a, "%.0f a shot", cavities) : "one a shot");
}
