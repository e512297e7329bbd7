/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * window: findings + premises -> the settings' limits and aims. Everything that combines studies
 * lives here, one file per cross-check.
 */
#ifndef PLATEAU_WINDOW_H
#define PLATEAU_WINDOW_H

#include "plateau/base.h"
#include "plateau/finding.h"

struct window_setting {
    const char *setting; /* "hold_time" */
    const char *title;   /* "Hold time" */
    enum dimension dimension;
    const struct bound *low, *high; /* the deciding bounds, or NULL */
    double low_value, high_value;   /* safe ends; NAN when none */
    double aim;                     /* NAN when none */
    const char *aim_because; /* "bound 5.8 s + margin 0.5 s, up to the next 0.1 s" or why none */
    bool aim_is_result;      /* of another setting's aim: to be seen, not to be set */
    double margin;           /* in the aim, canonical; NAN */
    enum verdict verdict;
    bool by_convention;
    const char *because;    /* one sentence for people */
    const char *decided_by; /* "gate-freeze", "gate-freeze / viscosity" */
    const struct bound **runners_up;
    size_t n_runners_up;
    double running;               /* [running] value, NAN */
    enum verdict running_verdict; /* is the running value inside? */
};

struct no_window {
    const char *setting;
    const struct bound *low, *high;
    const char *text;
};

/* At the aim. `low` and `high` are the interval of the mean of a new set-up; a single shot beyond
 * `alarm_low` or `alarm_high` is a reason to stop and look: the interval, widened on either side by
 * what 99.73 % of single shots scatter around their mean. */
struct expected_response {
    const char *name, *title;
    enum dimension dimension;
    double value, low, high;
    double alarm_low, alarm_high; /* NAN: none, and `because` says why */
    const char *because;
};

struct assumption {
    const char *text;
};

struct window {
    struct window_setting *settings; /* alphabetical by setting */
    size_t n_settings;
    struct no_window *none;
    size_t n_none;
    struct expected_response *expected;
    size_t n_expected;
    struct flag *flags;
    size_t n_flags;
    struct assumption *assumptions;
    size_t n_assumptions;
    struct criterion *checks; /* what only several studies together can tell */
    size_t n_checks;
    struct next_shot *next_shots; /* beside those of the studies */
    size_t n_next_shots;
    enum verdict verdict; /* worst of settings, checks that count, and studies */
};

/* Stands for a study where a limit was carried over from the record of an earlier trial. */
#define WINDOW_BY_RECORD "approved record"

/* Criteria the window itself reads (hold_time_margin, ...), for [criteria] and `explain`. */
const struct criterion_spec *window_criteria(size_t *n);
/* Flags the window raises, for `explain`. */
const struct flag_spec *window_flags(size_t *n);

enum errc window_make(struct arena *a, const struct finding *findings, size_t n_findings,
                      const struct premises *premises, struct window *out,
                      struct error *e) PL_MUST_CHECK;

#endif
