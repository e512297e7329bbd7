/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the files of this study. Times in s; x is the closed time, fill + hold + cooling, or
 * the cooling time alone where the hold time is not known. */
#ifndef COOLING_H
#define COOLING_H

#include "plateau/math.h"
#include "plateau/math_cooling.h"
#include "plateau/study.h"

#define COOLING_SHOTS 3 /* asked for at each cooling time */
/* Good tested times between a defect and the bound that keep the defect from mattering there; our
 * convention. */
#define COOLING_CLEAR_TIMES 2

struct cooling_shot {
    size_t row;                      /* of the table */
    double cooling, hold, fill, age; /* NAN where not given */
    size_t setting;                  /* index of its setting */
};

struct cooling_setting { /* a distinct pair of cooling and hold time */
    double cooling, hold, fill, x;
    size_t n;
};

enum cooling_age { COOLING_AGE_FINE, COOLING_AGE_NOT_GIVEN, COOLING_AGE_TOO_YOUNG };

/* One column (or cavity) of a measure by itself. */
struct cooling_column {
    int column, cavity; /* cavity 0: one column for all */
    size_t n;
    double *x, *y;
    size_t *shot;
    double step;
};

/* What one closed time shows of the limits: the cavity that comes off worst. */
struct cooling_share {
    double x, mean, sd, k; /* k: needed on each side there is a limit */
    size_t n;
    int cavity;
    enum verdict verdict;
    double share, share_low, share_high; /* inside the limits; one-sided bounds */
    double nearest;                      /* distance of the mean from the nearer limit, in sds */
    double parts, dof; /* parts' worth of scatter behind the mean; degrees of freedom of sd */
    double shot_variance, block_variance;
};

struct cooling_yield {
    bool known; /* the scatter is */
    size_t n;
    struct cooling_share *at; /* per closed time, rising */
    size_t reference;         /* index of the closed time the criterion is told at */
    bool too_narrow;          /* the band is narrower than 2 k sd */
    int shots_needed;         /* at each cooling time, for the band; -1: no number */
    int shots_to_decide;
};

struct cooling_measure {
    const char *name, *words; /* "part_temperature", "part temperature" */
    enum dimension dimension;
    bool temperature;
    bool limited;     /* [dimensions], or [material] ejection_temperature, gives a limit */
    bool settles;     /* two-sided limits: movement is judged */
    double low, high; /* limits; infinite where there is none */
    size_t n_columns;
    struct cooling_column *column;
    /* shots that have every cavity, in time order; y: their mean, the hottest for a temperature */
    size_t n, incomplete;
    double *x, *y;
    size_t *shot;
    double step;
    struct math_blocks blocks;
    struct plateau_options options;
    struct plateau_answer r;   /* movement; of scatter alone where it does not settle */
    struct decay_answer decay; /* temperature */
    struct cooling_yield yield;
};

/* What one criterion says of the closed time. */
struct cooling_limit {
    struct cooling_measure *m; /* NULL: defects */
    const char *criterion, *model;
    enum verdict verdict;
    bool bounded, withdraws; /* withdraws: as long as this is open no closed time is bounded */
    double value, low, high; /* high: the safe end */
    size_t rows;
};

struct cooling_defects {
    double share;          /* that a run of good shots must show to be free of them */
    size_t n, good;        /* shots with a defect; good ones from the bound on */
    size_t at_bound;       /* good ones at the bound itself */
    size_t between;        /* tested times beyond the last defect, up to the bound that decides */
    size_t last;           /* a shot with a defect at the longest time */
    double last_bad, from; /* x; from NAN: seen at the longest */
};

struct cooling {
    const struct trial *trial;
    const struct table *table;
    struct finding *f;
    struct arena *a;
    double confidence, time_step, yield, conditioning;
    double tolerance_share, tolerance_length; /* one of them is NAN */
    size_t n, n_settings, n_measures, n_limits;
    struct cooling_shot *shot;
    struct cooling_setting *setting;
    struct cooling_measure *measure;
    struct cooling_limit *limit;
    const char *hold_from, *fill_from; /* "column hold_time", "[running]"; NULL: not known */
    enum cooling_age age;
    size_t age_missing; /* shots without an age */
    const char *lost;   /* a measure of which no shot has all cavities; NULL: none */
    struct cooling_defects defects;
    const struct cooling_limit *decides; /* NULL: nothing is bounded */
    bool withdrawn;
    double value, low, high; /* least closed time */
};

#define COOLING_NOTHING "no row has a cooling time and a reading"
/* cooling_data.c */
enum errc cooling_load(struct cooling *c, enum study_take take, struct error *e) PL_MUST_CHECK;
const char *cooling_file(const struct cooling *c, size_t shot);
long cooling_line(const struct cooling *c, size_t shot);
const struct table_row *cooling_row(const struct cooling *c, size_t shot);

/* cooling_measures.c */
void cooling_find_measures(struct cooling *c);
bool cooling_has_reading(const struct cooling *c, size_t shot);

/* cooling_settle.c */
enum errc cooling_settle(struct cooling *c, struct cooling_measure *m,
                         struct error *e) PL_MUST_CHECK;
enum verdict cooling_cap(const struct cooling *c, const struct cooling_measure *m, enum verdict v);
void cooling_note_settled(struct cooling *c, struct cooling_measure *m);
void cooling_note_conditions(struct cooling *c, const struct cooling_measure *m);

/* cooling_yield.c */
void cooling_find_yield(struct cooling *c, struct cooling_measure *m);
void cooling_note_yield(struct cooling *c, struct cooling_measure *m);

/* cooling_temperature.c */
enum errc cooling_find_temperature(struct cooling *c, struct cooling_measure *m,
                                   struct error *e) PL_MUST_CHECK;
void cooling_note_temperature(struct cooling *c, struct cooling_measure *m);

/* cooling_bounds.c */
void cooling_find_defects(struct cooling *c);
/* After the decision: a defect far below the bound that decides keeps nothing open. */
void cooling_clear_defects(struct cooling *c);
struct cooling_limit *cooling_add_limit(struct cooling *c, struct cooling_measure *m,
                                        const char *criterion);
const struct cooling_limit *
cooling_limit_of(const struct cooling *c, const struct cooling_measure *m, const char *criterion);
void cooling_decide(struct cooling *c);
void cooling_note_bounds(struct cooling *c);
void cooling_note_defects(struct cooling *c);

/* cooling_checks.c: slab, price of time, operating point */
void cooling_check_slab(struct cooling *c);
void cooling_price(struct cooling *c);
void cooling_operating_point(struct cooling *c);

/* cooling_words.c: numbers in the units people entered */
const char *cooling_axis(const struct cooling *c); /* "closed time", "cooling time" */
const char *cooling_setting_name(const struct cooling *c);
const char *cooling_time(const struct cooling *c, double v, double half_width);
const char *cooling_span(const struct cooling *c, double low, double high);
const char *cooling_amount(const struct cooling *c, const struct cooling_measure *m, double v,
                           double half_width);
const char *cooling_limit_text(const struct cooling *c, const struct cooling_measure *m, double v);
const char *cooling_limits(const struct cooling *c, const struct cooling_measure *m);
const char *cooling_confidence(const struct cooling *c);
const char *cooling_share_text(const struct cooling *c, double share);
void cooling_decision(struct cooling *c);
const char *cooling_because(const struct cooling *c, const struct cooling_limit *l);

/* cooling_next.c */
void cooling_next_shots(struct cooling *c);

/* cooling_flags.c, cooling_flag_texts.c */
enum { COOLING_FLAGS = 23 };
extern const struct flag_spec cooling_flags[COOLING_FLAGS];
void cooling_raise_flags(struct cooling *c);
/* cooling_shots.c */
void cooling_check_shots(struct cooling *c, const struct cooling_measure *m);
#define COOLING_RAISE(c, code, file, line, ...)                                                    \
    finding_flag((c)->f, (code), study_grade(cooling_flags, COOLING_FLAGS, (code)), (file),        \
                 (line), __VA_ARGS__)

/* cooling_figure.c */
/* `all`: the study with the rows put back that people left out, or NULL. */
void cooling_figures(struct cooling *c, const struct cooling *all);
double cooling_band_factor(const struct cooling *c, const struct cooling_measure *m,
                           const struct family_fit *f);

#endif
