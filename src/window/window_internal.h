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

/* What another setting follows from is worked out before it. */
enum work_order { ORDER_FIRST, ORDER_FOLLOWS, ORDER_LAST, ORDER_N };

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
    enum work_order order;
};

const struct setting_spec *window_setting_specs(size_t *n);

/* A bound that no study gives by itself. */
struct derived {
    struct bound bound;
    const struct bound *from; /* the study's own, or NULL */
    double shift;             /* added to the derived setting it gives the study's */
};

/* An approved setting, and what a short trial makes of it; NONE: it did not try. */
struct approved_setting {
    const char *setting;
    enum verdict here;
};

/* What the checks pass around. */
struct work {
    struct arena *arena;
    const struct finding *findings;
    size_t n_findings;
    const struct premises *premises;
    struct window *window;
    /* one place for every spec until all are made; `setting` NULL: not made */
    struct window_setting *settings;
    size_t n_settings;
    struct derived **derived;
    size_t n_derived, cap_derived;
    struct approved_setting *approved;
    size_t n_approved, cap_approved;
    size_t cap_flags, cap_assumptions, cap_none, cap_expected, cap_checks, cap_next_shots;
};

struct window_value { /* NAN: none */
    double value, low, high;
};

/* A response at the aim of the setting that a study varied. */
struct window_response {
    const struct finding *from;
    const struct setting_spec *setting;
    enum dimension dimension;
    double aim;                 /* of that setting */
    struct window_value mean;   /* of a new set-up there; low, high NAN: not known */
    struct window_value fitted; /* the study's fitted curve there; NAN without one */
    double shot_sd, shot_dof;   /* single shots around their mean; NAN: not known */
};

/* All bounds on one setting. */
struct setting_bounds {
    const struct bound **lower, **upper; /* the one that decides first */
    size_t n_lower, n_upper;
    const struct finding *study; /* finding of the study that varies the setting, or NULL */
};

/* ---- words ----------------------------------------------------------------------------------- */

/* A value with its unit, as people entered it. `toward` +1 rounds up, -1 down, 0 to the nearest:
 * the last digit shown errs to the safe side. One digit finer than the press's step where that says
 * more; three significant digits without a step. */
const char *window_words(const struct work *w, const struct setting_spec *s, double v, int toward);
/* The same for a plain dimension, three significant digits. */
const char *window_plain(const struct work *w, enum dimension d, double v);
/* With so many decimals, less the zeros at the end. */
const char *window_decimals(const struct work *w, enum dimension d, double v, int decimals,
                            int toward);
/* "6.5 %" */
const char *window_percent(const struct work *w, double share);
/* "6.1 to 6.9 %" */
const char *window_percent_span(const struct work *w, double low, double high);
/* First letter made large, full stop at the end. */
const char *window_sentence(const struct work *w, const char *s);
void window_assume(struct work *w, const char *fmt, ...) PL_PRINTF(2, 3);
struct flag *window_flag(struct work *w, const char *code, const char *fmt, ...) PL_PRINTF(3, 4);

/* ---- looking things up ----------------------------------------------------------------------- */

const struct setting_spec *window_spec(const char *setting);
/* As far as it is made; NULL: not at all. */
struct window_setting *window_setting_of(const struct work *w, const char *setting);
double window_aim_of(const struct work *w, const char *setting);     /* NAN: none */
double window_running_of(const struct work *w, const char *setting); /* of [running], NAN */
double window_confidence(const struct work *w);
const struct finding *window_finding(const struct work *w, const char *study);
/* The first finding that has a finite value by this name. */
const struct quantity *window_quantity(const struct work *w, const char *name,
                                       const struct finding **from);
/* "no defect from ejecting too early": the title of the criterion behind a bound, of those with its
 * verdict where several share the name. */
const char *window_criterion_title(const struct work *w, const struct bound *b);
/* NULL where the study does not say. */
const struct operating_value *window_operating(const struct finding *f, const char *setting);
/* A key of [criteria]: absolute, else relative part; `otherwise` where neither is given. */
double window_limit(const struct work *w, const char *key, double otherwise);
/* A usable mean of that series. */
bool window_counts(const struct condition *c, const char *series);
/* Rounding step of a reading, "part weight" or "part_weight"; 0 when the study does not tell. */
double window_reading_step(const struct finding *f, const char *reading);
struct bound *window_derive(struct work *w, const struct bound *from, double shift);
const struct derived *window_derived_of(const struct work *w, const struct bound *b);
struct criterion *window_check(struct work *w, const char *name);
struct next_shot *window_next_shot(struct work *w);

/* ---- the parts ------------------------------------------------------------------------------- */

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

/* ---- cross-checks, one file each ------------------------------------------------------------- */

/* pressure_scaling.c: pressure-drop and viscosity together */
void window_derive_speed_cap(struct work *w);
/* Pressure at a fill time from the stages of filling, scaled by the power-law index; false: not to
 * be had. */
bool window_scaled_pressure(const struct work *w, double fill_time, struct window_value *out,
                            const struct finding **from);
/* closed_time.c: after fill time and hold time */
void window_derive_cooling(struct work *w);
/* Says beside the limits on the cooling time what they hang on. */
void window_explain_closed(const struct work *w, const struct setting_bounds *b,
                           struct window_setting *out);
/* A part of the closed time, and where it comes from. */
struct window_part {
    double value; /* NAN: not known */
    const char *from;
};
/* As in use now; where that is not known, as aimed at, or as a study was run. */
struct window_part window_running_part(const struct work *w, const struct finding *f,
                                       const char *setting);
/* How long the mold stays closed now, counted as the study of `b` counts it, for a bound on the
 * closed time or one made from it; NAN: not known. `off` is what of it is not cooling. */
double window_running_closed(const struct work *w, const struct bound *b, double *off);
/* pressure_use.c */
void window_check_pressure(struct work *w);
/* operating_point.c, other_point.c, worst_corner.c */
void window_check_operating_point(struct work *w);
void window_check_other_points(struct work *w);
void window_check_corners(struct work *w);
/* The coldest corner by name, where the window spans temperatures and the study was not run there;
 * else NULL. */
const char *window_cold_corner(const struct work *w, const struct finding *f);
/* narrow.c */
void window_check_width(struct work *w);
/* response.c */
bool window_response(const struct work *w, const char *series, struct window_response *out);
/* The speed that fills in this time: 1 / speed is straight over fill time between the conditions of
 * the study that varied it, and goes on straight beyond them. NAN: no study tells. */
double window_speed_at(const struct work *w, double fill_time);
/* The other way round, between the conditions of that study only. NAN: no study tells. */
double window_fill_time_at(const struct work *w, double speed);
/* expected.c */
void window_expect(struct work *w);
/* approved.c, approved_responses.c: a short trial, held against the record it was made from. */
/* The record's name; NULL: this is no short trial. */
const char *window_approved_record(const struct work *w);
/* Facts of [approved], NAME.PART. */
double window_approved_number(const struct work *w, const char *name, const char *part);
const char *window_approved_text(const struct work *w, const char *name, const char *part);
/* False where the record does not bound the setting. Else makes all of it but what is in use now,
 * and leaves the bounds that count in `b`. */
bool window_approved_setting(struct work *w, const struct setting_spec *s, struct setting_bounds *b,
                             struct window_setting *out);
/* Whether the study's verdict is replaced by what is held against the record. */
bool window_approved_replaces(const struct work *w, const struct finding *f);
void window_check_approved(struct work *w);
/* False, and nothing is done, where this is no short trial. */
bool window_approved_expect(struct work *w);

#endif
