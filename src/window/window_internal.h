/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared inside the window room. */
#ifndef WINDOW_INTERNAL_H
#define WINDOW_INTERNAL_H

#include "plateau/window.h"

enum aim_kind {
    AIM_LOWER_PLUS_MARGIN, /* just above the lower bound: longer or stronger only costs */
    AIM_GEOMETRIC_MEAN,    /* needs both bounds */
    AIM_CENTRE,            /* needs both bounds */
    AIM_NONE               /* a result of other settings: it has limits and no aim of its own */
};

enum aim_rounding { ROUND_UP, ROUND_NEAREST };

/* Everything the window has to know of a setting. */
struct setting_spec {
    const char *setting, *title;
    const char *noun; /* in a sentence: "hold time" */
    enum dimension dimension;
    enum aim_kind aim;
    const char *study;      /* the study that varies it, or NULL */
    const char *margin_key; /* in [criteria], or NULL */
    const char *step_key;   /* in [press], or NULL */
    double step_default;    /* canonical; NAN: three significant digits */
    const char *sd_key;     /* in [press], or NULL */
    enum aim_rounding rounding;
};

const struct setting_spec *window_setting_specs(size_t *n);

/* What the checks pass around. */
struct work {
    struct arena *arena;
    const struct finding *findings;
    size_t n_findings;
    const struct premises *premises;
    struct window *window;
    size_t cap_flags, cap_assumptions, cap_none, cap_expected;
};

/* All bounds on one setting. */
struct setting_bounds {
    const struct bound **lower, **upper; /* the one that decides first */
    size_t n_lower, n_upper;
    const struct finding *study; /* finding of the study that varies the setting, or NULL */
};

/* ---- words ------------------------------------------------------------------------------------
 */

/* A value with its unit, as people entered it. `toward` +1 rounds up, -1 down, 0 to the nearest:
 * the last digit shown errs to the safe side. One digit finer than the press's step where that says
 * more; three significant digits without a step. */
const char *window_words(const struct work *w, const struct setting_spec *s, double v, int toward);
/* The same for a plain dimension, three significant digits. */
const char *window_plain(const struct work *w, enum dimension d, double v);
/* First letter made large, full stop at the end. */
const char *window_sentence(const struct work *w, const char *s);
void window_assume(struct work *w, const char *fmt, ...) PL_PRINTF(2, 3);
struct flag *window_flag(struct work *w, const char *code, const char *fmt, ...) PL_PRINTF(3, 4);

/* ---- the parts ---------------------------------------------------------------------------------
 */

/* The step of the press, or the default; NAN: none. Sets *given. */
double window_step(const struct work *w, const struct setting_spec *s, bool *given);
/* The press's measured scatter, 1 sd; NAN: not measured. */
double window_sd(const struct work *w, const struct setting_spec *s);
/* v to the step, upward or to the nearest; step NAN: to three significant digits. What is within
 * 1e-9 of a step is on it. */
double window_round(double v, double step, enum aim_rounding rounding);

void window_collect(const struct work *w, const struct setting_spec *s, struct setting_bounds *out);
/* Fills low, high, runners-up, decided_by and the verdict as far as the bounds decide it. */
void window_combine(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                    struct window_setting *out);
/* True when the bounds leave nothing, or may: sets verdict and sentences, adds to `none`. */
bool window_crossed(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                    struct window_setting *out);
/* Fills aim, margin, aim_because; lowers the verdict where there is no aim or no room around it. */
void window_aim(struct work *w, const struct setting_spec *s, const struct setting_bounds *b,
                struct window_setting *out);
/* `because`, when all else is known. */
void window_explain(const struct work *w, const struct setting_spec *s,
                    const struct setting_bounds *b, struct window_setting *out);
/* The value in use against the bounds. */
void window_running(const struct work *w, const struct setting_spec *s,
                    const struct setting_bounds *b, struct window_setting *out);
/* Settings tested in a finding: false when it does not say. */
bool window_tested_range(const struct finding *f, const char *setting, enum dimension d,
                         double *low, double *high);

/* ---- cross-checks, one file each
 * ------------------------------------------------------------------
 */

void window_check_operating_point(struct work *w);
void window_expect_weight(struct work *w);

#endif
