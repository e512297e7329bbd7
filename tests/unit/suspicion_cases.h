/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the tests of the flags that every study has: from files to a finding and its flags. */
#ifndef SUSPICION_CASES_H
#define SUSPICION_CASES_H

#include <math.h>
#include <string.h>

#include "arena_bench.h"
#include "near.h"
#include "run_study.h"
#include "simulate.h"

/* ---- from files to flags -------------------------------------------------------------------- */

static const struct flag *find(const struct finding *f, const char *code)
{
    for (size_t i = 0; i < f->n_flags; i++)
        if (strcmp(f->flags[i].code, code) == 0)
            return &f->flags[i];
    return NULL;
}

/* The flag is there, at that line of that file, and says every one of the words. */
static void assert_flag(const struct finding *f, const char *code, const char *file, long line,
                        const char *const *words, size_t n)
{
    const struct flag *g = find(f, code);
    if (g == NULL)
        fail_msg("no %s", code);
    print_message("%s:%ld: %s: %s\n", g->file != NULL ? g->file : "-", g->line, code, g->text);
    assert_string_equal(g->file != NULL ? g->file : "", file);
    assert_int_equal(g->line, line);
    for (size_t i = 0; i < n; i++)
        if (strstr(g->text, words[i]) == NULL)
            fail_msg("\"%s\" does not say \"%s\"", g->text, words[i]);
}
#define ASSERT_FLAG(f, code, file, line, ...)                                                      \
    assert_flag(f, code, file, line, (const char *const[]){__VA_ARGS__},                           \
                PL_COUNT(((const char *const[]){__VA_ARGS__})))

static void assert_none(const struct finding *f, const char *code)
{
    if (find(f, code) != NULL)
        fail_msg("%s: %s", code, find(f, code)->text);
}

/* ---- a gate-freeze study that can be spoiled --------------------------------------------------
 */

struct freeze {
    double hold[12];
    size_t n, shots;
    double sd, step;
    double drift; /* over the study, linear in time */
    double last;  /* on the last condition alone */
    long wide;    /* condition with five times the scatter, or -1 */
};

static const struct freeze mixed = {.hold = {6, 3, 8, 4, 2, 7, 5, 9, 6},
                                    .n = 9,
                                    .shots = 4,
                                    .sd = 0.005,
                                    .step = 0.001,
                                    .wide = -1};

static inline const char *freeze_csv(const struct freeze *s, uint64_t seed)
{
    struct sim_stream r = {seed};
    struct text t;
    text_init(&t, arena);
    text_add(&t, "hold time [s],weight [g]\n");
    for (size_t i = 0; i < s->n; i++)
        for (size_t k = 0; k < s->shots; k++) {
            double w = sim_weight(SIM_EXPONENTIAL, s->hold[i]);
            w += s->drift * (double)i / (double)(s->n - 1);
            w += i + 1 == s->n ? s->last : 0.0;
            w += s->sd * ((long)i == s->wide ? 5.0 : 1.0) * sim_normal(&r);
            text_addf(&t, "%.1f,%.3f\n", s->hold[i], round(w / s->step) * s->step);
        }
    return t.s;
}

#endif
