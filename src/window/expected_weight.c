/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The weight to expect at the aim of the hold time: on the plateau, whatever the aim. */
#include <math.h>
#include <string.h>

#include "plateau/math.h"
#include "window_internal.h"

static const struct model *chosen_model(const struct finding *f)
{
    for (size_t i = 0; i < f->n_models; i++)
        if (f->models[i].chosen && isfinite(f->models[i].residual_sd))
            return &f->models[i];
    return NULL;
}

static bool has_aim(const struct work *w, const char *setting)
{
    for (size_t i = 0; i < w->window->n_settings; i++)
        if (strcmp(w->window->settings[i].setting, setting) == 0)
            return isfinite(w->window->settings[i].aim);
    return false;
}

/* One shot differs from the mean of all by more than the mean's own interval: both variances add.
 */
static void shot_interval(const struct finding *f, const struct quantity *q, double confidence,
                          double *low, double *high)
{
    const struct model *m = chosen_model(f);
    *low = *high = NAN;
    if (m == NULL || !isfinite(q->low) || !isfinite(q->high) || f->rows_used <= m->n_parameters)
        return;
    double dof = (double)(f->rows_used - m->n_parameters);
    double t = math_t_quantile(0.5 + 0.5 * confidence, dof);
    *low = q->value - hypot(q->value - q->low, t * m->residual_sd);
    *high = q->value + hypot(q->high - q->value, t * m->residual_sd);
}

void window_expect_weight(struct work *w)
{
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct finding *f = &w->findings[i];
        const struct quantity *q = finding_get(f, "plateau_weight");
        if (strcmp(f->study, "gate-freeze") != 0 || q == NULL || !isfinite(q->value) ||
            !has_aim(w, "hold_time"))
            continue;
        double confidence =
            w->premises != NULL && w->premises->confidence > 0.0 ? w->premises->confidence : 0.95;
        struct expected_response *r =
            ARENA_PUSH(w->arena, w->window->expected, w->window->n_expected, w->cap_expected);
        *r = (struct expected_response){
            .name = "part_weight", .title = q->title, .dimension = q->dimension, .value = q->value};
        shot_interval(f, q, confidence, &r->low, &r->high);
        r->low = round_10(r->low);
        r->high = round_10(r->high);
        r->because = isfinite(r->low)
                         ? arena_printf(w->arena,
                                        "%.0f of 100 single shots, at the temperatures and hold "
                                        "pressure of the study, lie in this range",
                                        100.0 * confidence)
                         : "no interval: the study has no fitted curve with a known scatter";
    }
}
