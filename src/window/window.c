/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Findings to window: every setting that a study bounds or was run to bound, then the checks that
 * need more than one of them. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

/* A study that was run and gave no bound has the reason in its own decision. */
static void unbounded(struct work *w, const struct setting_spec *s, const struct finding *f,
                      struct window_setting *out)
{
    /* a study without a verdict demands nothing: a gate that is meant to stay open */
    out->verdict = f->verdict == VERDICT_MET ? VERDICT_NOT_SHOWN : f->verdict;
    out->decided_by = f->study;
    out->aim_because = arena_printf(w->arena, "%s gives no bound on the %s", f->study, s->noun);
    out->because = f->decision != NULL && *f->decision != '\0'
                       ? window_sentence(w, f->decision)
                       : window_sentence(w, out->aim_because);
}

/* False when no study says or was run to say anything about the setting. */
static bool make_setting(struct work *w, const struct setting_spec *s, struct window_setting *out)
{
    struct setting_bounds b;
    window_collect(w, s, &b);
    bool any = b.n_lower + b.n_upper > 0;
    bool owed = b.study != NULL && s->aim == AIM_LOWER_PLUS_MARGIN;
    if (!any && !owed)
        return false;
    window_combine(w, s, &b, out);
    if (!any) {
        unbounded(w, s, b.study, out);
    } else if (!window_crossed(w, s, &b, out)) {
        window_aim(w, s, &b, out);
        window_explain(w, s, &b, out);
        out->by_convention = out->by_convention && out->verdict == VERDICT_MET;
    }
    window_running(w, s, &b, out);
    if (out->running_verdict == VERDICT_NOT_MET)
        window_flag(w, "running-outside", "the %s in use now, %s, lies outside the limits found",
                    s->noun, window_words(w, s, out->running, 0));
    return true;
}

static enum errc check_findings(const struct finding *findings, size_t n, struct error *e)
{
    size_t n_specs;
    const struct setting_spec *specs = window_setting_specs(&n_specs);
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < findings[i].n_bounds; k++) {
            const struct bound *b = &findings[i].bounds[k];
            bool known = false;
            for (size_t j = 0; j < n_specs; j++)
                known = known || (strcmp(specs[j].setting, b->setting) == 0 &&
                                  specs[j].dimension == b->dimension);
            if (!known)
                return ERR_SET(e, ERR_INTERNAL, "%s puts a bound on '%s', which is no setting",
                               findings[i].study, b->setting);
        }
    return ERR_NONE;
}

enum errc window_make(struct arena *a, const struct finding *findings, size_t n_findings,
                      const struct premises *premises, struct window *out, struct error *e)
{
    *out = (struct window){.verdict = VERDICT_NONE};
    TRY(check_findings(findings, n_findings, e));
    struct work w = {.arena = a,
                     .findings = findings,
                     .n_findings = n_findings,
                     .premises = premises,
                     .window = out};
    size_t n;
    const struct setting_spec *specs = window_setting_specs(&n);
    out->settings = ARENA_ARRAY(a, struct window_setting, n);
    for (size_t i = 0; i < n; i++)
        if (make_setting(&w, &specs[i], &out->settings[out->n_settings]))
            out->n_settings++;
    window_check_operating_point(&w);
    window_expect_weight(&w);
    for (size_t i = 0; i < out->n_settings; i++)
        out->verdict = verdict_worst(out->verdict, out->settings[i].verdict);
    for (size_t i = 0; i < n_findings; i++)
        out->verdict = verdict_worst(out->verdict, findings[i].verdict);
    return ERR_NONE;
}
