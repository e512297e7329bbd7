/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "plateau/base.h"

const char *dimension_unit(enum dimension d)
{
    static const char *const units[] = {
#define ROW(name, unit) unit,
        PL_DIMENSION_LIST(ROW)
#undef ROW
    };
    return units[d];
}

const char *dimension_name(enum dimension d)
{
    static const char *const names[DIM_N] = {
        [DIM_TEXT] = "text",
        [DIM_COUNT] = "plain number",
        [DIM_RATIO] = "percentage",
        [DIM_TIME] = "time",
        [DIM_LENGTH] = "length",
        [DIM_AREA] = "area",
        [DIM_VOLUME] = "volume",
        [DIM_MASS] = "weight",
        [DIM_SPEED] = "speed",
        [DIM_VOLUME_RATE] = "volume rate",
        [DIM_PRESSURE] = "pressure",
        [DIM_FORCE] = "force",
        [DIM_TEMPERATURE] = "temperature",
        [DIM_TEMPERATURE_STEP] = "temperature difference",
        [DIM_DENSITY] = "density",
        [DIM_DIFFUSIVITY] = "thermal diffusivity",
        [DIM_RATE] = "rate",
        [DIM_VISCOSITY] = "viscosity",
        [DIM_AGE] = "age",
        [DIM_MASS_RATE] = "weight rate",
    };
    return names[d];
}

const struct fact *facts_find(const struct facts *f, const char *section, const char *key)
{
    for (size_t i = 0; f != NULL && i < f->n; i++)
        if (strcmp(f->items[i].section, section) == 0 && strcmp(f->items[i].key, key) == 0)
            return &f->items[i];
    return NULL;
}

double facts_number(const struct facts *f, const char *section, const char *key, double otherwise)
{
    const struct fact *x = facts_find(f, section, key);
    return x != NULL && x->kind == FACT_QUANTITY ? x->low : otherwise;
}

const char *facts_text(const struct facts *f, const char *section, const char *key)
{
    const struct fact *x = facts_find(f, section, key);
    return x != NULL ? x->text : NULL;
}
