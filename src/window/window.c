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
    if (window_approved_setting(w, s, &b, out)) {
        window_running(w, s, &b, out);
        return true;
    }
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
        if (strcmp(s->setting, "cooling_time") == 0)
            window_explain_closed(w, &b, out);
        out->by_convention = out->by_convention && out->verdict == VERDICT_MET;
    }
    window_running(w, s, &b, out);
    /* the closed time is judged in the cooling time, which is what can be set */
    if (out->running_verdict == VERDICT_NOT_MET && strcmp(s->setting, "closed_time") != 0)
        window_flag(w, "running-outside", "the %s in use now, %s, lies outside the limits found",
                    s->noun, window_words(w, s, out->running, 0));
    return true;
}

/* Each in its place among the specs, what another follows from first; then the places close up. */
static void make_settings(struct work *w)
{
    size_t n;
    const struct setting_spec *specs = window_setting_specs(&n);
    w->settings = ARENA_ARRAY(w->arena, struct window_setting, n);
    w->n_settings = n;
    for (int order = 0; order < ORDER_N; order++) {
        if (order == ORDER_LAST)
            window_derive_cooling(w);
        for (size_t i = 0; i < n; i++)
            if ((int)specs[i].order == order && !make_setting(w, &specs[i], &w->settings[i]))
                w->settings[i].setting = NULL;
    }
    w->n_settings = 0;
    for (size_t i = 0; i < n; i++)
        if (w->settings[i].setting != NULL)
            w->settings[w->n_settings++] = w->settings[i];
    w->window->settings = w->settings;
    w->window->n_settings = w->n_settings;
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
    window_derive_speed_cap(&w);
    make_settings(&w);
    window_check_approved(&w);
    window_check_operating_point(&w);
    window_check_other_points(&w);
    window_check_pressure(&w);
    window_check_corners(&w);
    window_check_width(&w);
    window_expect(&w);
    for (size_t i = 0; i < out->n_settings; i++)
        out->verdict = verdict_worst(out->verdict, out->settings[i].verdict);
    for (size_t i = 0; i < out->n_checks; i++)
        if (!out->checks[i].own_verdict)
            out->verdict = verdict_worst(out->verdict, out->checks[i].verdict);
    for (size_t i = 0; i < n_findings; i++)
        if (!window_approved_replaces(&w, &findings[i]))
            out->verdict = verdict_worst(out->verdict, findings[i].verdict);
    return ERR_NONE;
}
