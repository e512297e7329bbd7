/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Findings and premises made by hand, for the tests of the window. */
#ifndef WINDOW_MAKE_H
#define WINDOW_MAKE_H

#include <math.h>
#include <string.h>

#include "near.h"
#include "plateau/window.h"

#define FINDINGS_MOST 6
#define FACTS_MOST 12

/* What a test builds up and hands to the window. */
struct made {
    struct arena *a;
    struct finding f[FINDINGS_MOST];
    size_t n;
    struct fact fact[FACTS_MOST];
    struct facts facts;
    struct premises premises;
    struct window w;
};

static inline void made_new(struct made *m)
{
    *m = (struct made){.a = arena_new()};
}

static inline void made_free(struct made *m)
{
    arena_free(m->a);
}

static inline struct finding *made_finding(struct made *m, const char *study)
{
    for (size_t i = 0; i < m->n; i++)
        if (strcmp(m->f[i].study, study) == 0)
            return &m->f[i];
    assert_true(m->n < FINDINGS_MOST);
    finding_init(&m->f[m->n], m->a, study, study);
    m->f[m->n].verdict = VERDICT_MET;
    return &m->f[m->n++];
}

static inline enum dimension made_dimension(const char *setting)
{
    if (strstr(setting, "time") != NULL)
        return DIM_TIME;
    if (strstr(setting, "pressure") != NULL)
        return DIM_PRESSURE;
    if (strstr(setting, "force") != NULL)
        return DIM_FORCE;
    return strstr(setting, "speed") != NULL ? DIM_SPEED : DIM_TEMPERATURE;
}

/* A met limit with its safe end and the other end of its interval. */
static inline struct bound *made_bound(struct made *m, const char *study, const char *setting,
                                       enum bound_side side, double safe, double other)
{
    struct bound *b = finding_bound(made_finding(m, study), setting, side, made_dimension(setting));
    b->value = safe;
    b->low = side == BOUND_LOWER ? other : safe;
    b->high = side == BOUND_LOWER ? safe : other;
    b->verdict = VERDICT_MET;
    b->because = "the trial says so";
    return b;
}

static inline struct operating_value *made_at(struct made *m, const char *study,
                                              const char *setting, double low, double high)
{
    struct operating_value *o =
        finding_operating(made_finding(m, study), setting, made_dimension(setting));
    o->low = low;
    o->high = high;
    o->from = "a column";
    return o;
}

static inline struct quantity *made_quantity(struct made *m, const char *study, const char *name,
                                             double value, double low, double high)
{
    struct quantity *q = finding_quantity(made_finding(m, study), name, name, DIM_COUNT);
    q->value = value;
    q->low = low;
    q->high = high;
    return q;
}

static inline void made_fact(struct made *m, const char *section, const char *key, double v)
{
    assert_true(m->facts.n < FACTS_MOST);
    m->facts.items = m->fact;
    m->fact[m->facts.n++] = (struct fact){.section = section,
                                          .key = key,
                                          .kind = FACT_QUANTITY,
                                          .low = v,
                                          .high = v,
                                          .relative = NAN,
                                          .given = true};
}

static inline const struct window *made_window(struct made *m)
{
    struct error e = {0};
    m->premises.facts = &m->facts;
    m->premises.confidence = 0.95;
    assert_int_equal(window_make(m->a, m->f, m->n, &m->premises, &m->w, &e), ERR_NONE);
    return &m->w;
}

static inline const struct window_setting *made_setting(const struct made *m, const char *setting)
{
    for (size_t i = 0; i < m->w.n_settings; i++)
        if (strcmp(m->w.settings[i].setting, setting) == 0)
            return &m->w.settings[i];
    return NULL;
}

static inline const struct flag *made_flag(const struct made *m, const char *code)
{
    for (size_t i = 0; i < m->w.n_flags; i++)
        if (strcmp(m->w.flags[i].code, code) == 0)
            return &m->w.flags[i];
    return NULL;
}

static inline const struct criterion *made_check(const struct made *m, const char *name)
{
    for (size_t i = 0; i < m->w.n_checks; i++)
        if (strcmp(m->w.checks[i].name, name) == 0)
            return &m->w.checks[i];
    return NULL;
}

static inline const struct expected_response *made_expected(const struct made *m, const char *name)
{
    for (size_t i = 0; i < m->w.n_expected; i++)
        if (strcmp(m->w.expected[i].name, name) == 0)
            return &m->w.expected[i];
    return NULL;
}

static inline void assert_says(const char *text, const char *part)
{
    if (text == NULL || strstr(text, part) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", text != NULL ? text : "(nothing)", part);
}

#endif
