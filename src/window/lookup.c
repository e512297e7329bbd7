/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the checks ask of findings, premises and the settings made so far. */
#include <math.h>
#include <string.h>

#include "window_internal.h"

static const struct facts *facts_of(const struct work *w)
{
    return w->premises != NULL ? w->premises->facts : NULL;
}

const struct setting_spec *window_spec(const char *setting)
{
    size_t n;
    const struct setting_spec *specs = window_setting_specs(&n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(specs[i].setting, setting) == 0)
            return &specs[i];
    return NULL;
}

struct window_setting *window_setting_of(const struct work *w, const char *setting)
{
    for (size_t i = 0; i < w->n_settings; i++)
        if (w->settings[i].setting != NULL && strcmp(w->settings[i].setting, setting) == 0)
            return &w->settings[i];
    return NULL;
}

double window_aim_of(const struct work *w, const char *setting)
{
    const struct window_setting *s = window_setting_of(w, setting);
    return s != NULL ? s->aim : PL_NAN;
}

double window_running_of(const struct work *w, const char *setting)
{
    return facts_number(facts_of(w), "running", setting, PL_NAN);
}

double window_confidence(const struct work *w)
{
    return w->premises != NULL && w->premises->confidence > 0.0 ? w->premises->confidence : 0.95;
}

const struct finding *window_finding(const struct work *w, const char *study)
{
    for (size_t i = 0; i < w->n_findings; i++)
        if (study != NULL && strcmp(w->findings[i].study, study) == 0)
            return &w->findings[i];
    return NULL;
}

const struct quantity *window_quantity(const struct work *w, const char *name,
                                       const struct finding **from)
{
    for (size_t i = 0; i < w->n_findings; i++) {
        const struct quantity *q = finding_get(&w->findings[i], name);
        if (q == NULL || !isfinite(q->value))
            continue;
        if (from != NULL)
            *from = &w->findings[i];
        return q;
    }
    return NULL;
}

const char *window_criterion_title(const struct work *w, const struct bound *b)
{
    const struct finding *f = window_finding(w, b->study);
    const char *any = NULL;
    for (size_t i = 0; f != NULL && i < f->n_criteria; i++) {
        const struct criterion *c = &f->criteria[i];
        if (strcmp(c->name, b->criterion) != 0 || c->title == NULL)
            continue;
        if (c->verdict == b->verdict)
            return c->title;
        any = any == NULL ? c->title : any;
    }
    return any != NULL ? any : b->criterion;
}

const struct operating_value *window_operating(const struct finding *f, const char *setting)
{
    for (size_t i = 0; i < f->n_operating_point; i++) {
        const struct operating_value *o = &f->operating_point[i];
        if (strcmp(o->setting, setting) == 0 && isfinite(o->low) && isfinite(o->high))
            return o;
    }
    return NULL;
}

double window_limit(const struct work *w, const char *key, double otherwise)
{
    const struct fact *f = facts_find(facts_of(w), "criteria", key);
    if (f != NULL && isfinite(f->low))
        return f->low;
    return f != NULL && isfinite(f->relative) ? f->relative : otherwise;
}

/* ---- what is added --------------------------------------------------------------------------- */

struct bound *window_derive(struct work *w, const struct bound *from, double shift)
{
    struct derived *d = ARENA_NEW(w->arena, struct derived);
    *d = (struct derived){.from = from, .shift = shift};
    *ARENA_PUSH(w->arena, w->derived, w->n_derived, w->cap_derived) = d;
    return &d->bound;
}

const struct derived *window_derived_of(const struct work *w, const struct bound *b)
{
    for (size_t i = 0; i < w->n_derived; i++)
        if (&w->derived[i]->bound == b)
            return w->derived[i];
    return NULL;
}

struct criterion *window_check(struct work *w, const char *name)
{
    struct criterion *c =
        ARENA_PUSH(w->arena, w->window->checks, w->window->n_checks, w->cap_checks);
    *c = (struct criterion){.name = name,
                            .limit = PL_NAN,
                            .value = PL_NAN,
                            .low = PL_NAN,
                            .high = PL_NAN,
                            .level = PL_NAN};
    return c;
}

struct next_shot *window_next_shot(struct work *w)
{
    struct next_shot *s =
        ARENA_PUSH(w->arena, w->window->next_shots, w->window->n_next_shots, w->cap_next_shots);
    *s = (struct next_shot){.at = PL_NAN, .half_width_now = PL_NAN, .half_width_then = PL_NAN};
    return s;
}

bool window_counts(const struct condition *c, const char *series)
{
    return c->series != NULL && strcmp(c->series, series) == 0 && c->left_out == NULL &&
           isfinite(c->setting) && isfinite(c->mean) && c->n > 0;
}

double window_reading_step(const struct finding *f, const char *reading)
{
    char name[64];
    size_t n = 0;
    for (; reading[n] != '\0' && n + sizeof "_step" < sizeof name; n++)
        name[n] = reading[n] == ' ' ? '_' : reading[n];
    memcpy(name + n, "_step", sizeof "_step");
    const struct quantity *q = finding_get(f, name);
    return q != NULL && q->value > 0.0 ? q->value : 0.0;
}
