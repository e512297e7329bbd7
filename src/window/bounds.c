/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All bounds on a setting: which decides, which run behind it. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

/* Positive when a asks for more than b. */
static double stricter(const struct bound *a, const struct bound *b)
{
    return a->side == BOUND_LOWER ? a->value - b->value : b->value - a->value;
}

static void insert(const struct bound **list, size_t *n, const struct bound *b)
{
    size_t i = (*n)++;
    for (; i > 0 && stricter(b, list[i - 1]) > 0.0; i--)
        list[i] = list[i - 1];
    list[i] = b;
}

static void collect(const struct bound *b, struct setting_bounds *out)
{
    if (b->side == BOUND_LOWER)
        insert(out->lower, &out->n_lower, b);
    else
        insert(out->upper, &out->n_upper, b);
}

void window_collect(const struct work *w, const struct setting_spec *s, struct setting_bounds *out)
{
    size_t most = w->n_derived + 1; /* and that of an approved record */
    for (size_t i = 0; i < w->n_findings; i++)
        most += w->findings[i].n_bounds;
    *out = (struct setting_bounds){.lower = ARENA_ARRAY(w->arena, const struct bound *, most),
                                   .upper = ARENA_ARRAY(w->arena, const struct bound *, most)};
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        if (s->study != NULL && strcmp(f->study, s->study) == 0)
            out->study = f;
        for (size_t k = 0; k < f->n_bounds; k++) {
            const struct bound *b = &f->bounds[k];
            if (strcmp(b->setting, s->setting) == 0 && isfinite(b->value))
                collect(b, out);
        }
    }
    for (size_t i = 0; i < w->n_derived; i++)
        if (strcmp(w->derived[i]->bound.setting, s->setting) == 0)
            collect(&w->derived[i]->bound, out);
}

static enum verdict bound_verdict(const struct bound *b)
{
    return b->verdict == VERDICT_NONE ? VERDICT_NOT_SHOWN : b->verdict;
}

static const char *decided_by(const struct work *w, const struct window_setting *s)
{
    const char *low = s->low != NULL ? s->low->study : NULL;
    const char *high = s->high != NULL ? s->high->study : NULL;
    if (low != NULL && high != NULL && strcmp(low, high) != 0)
        return arena_printf(w->arena, "%s / %s", low, high);
    return low != NULL ? low : high;
}

void window_combine(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                    struct window_setting *out)
{
    *out = (struct window_setting){.setting = s->setting,
                                   .title = s->title,
                                   .dimension = s->dimension,
                                   .low = b->n_lower > 0 ? b->lower[0] : NULL,
                                   .high = b->n_upper > 0 ? b->upper[0] : NULL,
                                   .low_value = b->n_lower > 0 ? b->lower[0]->value : PL_NAN,
                                   .high_value = b->n_upper > 0 ? b->upper[0]->value : PL_NAN,
                                   .aim = NAN,
                                   .margin = NAN,
                                   .running = NAN,
                                   .verdict = VERDICT_MET};
    out->decided_by = decided_by(w, out);
    out->runners_up = ARENA_ARRAY(w->arena, const struct bound *, b->n_lower + b->n_upper);
    for (size_t i = 0; i < b->n_lower; i++) {
        out->verdict = verdict_worst(out->verdict, bound_verdict(b->lower[i]));
        if (i > 0)
            out->runners_up[out->n_runners_up++] = b->lower[i];
    }
    for (size_t i = 0; i < b->n_upper; i++) {
        out->verdict = verdict_worst(out->verdict, bound_verdict(b->upper[i]));
        if (i > 0)
            out->runners_up[out->n_runners_up++] = b->upper[i];
    }
    out->by_convention = (out->low != NULL && out->low->grade == BOUND_CONVENTION) ||
                         (out->high != NULL && out->high->grade == BOUND_CONVENTION);
}
