/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the files of this study. Pressures in MPa, as melt pressure. */
#ifndef PRESSURE_DROP_H
#define PRESSURE_DROP_H

#include "plateau/math.h"
#include "plateau/study.h"

#define PRESSURE_DROP_AT_LIMIT 0.98 /* of the available pressure; within 2 % of it is "at it" */

/* The shots that can be used, in time order. */
struct pressure_drop_shots {
    size_t n;
    double *x, *y; /* number of the stage in the order of flow, from 1; peak pressure */
    size_t *row;   /* row of the table */
};

struct pressure_drop_stage {
    const char *name; /* as first written */
    size_t n, visits;
    size_t first;     /* its first shot */
    double mean, sd;  /* over all its shots; sd NAN for one shot */
    double spread;    /* sum of squares of the visits' means around their own mean */
    double ss_within; /* sum of squares of the shots around the means of their visits */
    double share;  /* what a visit's variance counts in the mean's: 1/visits when all are alike */
    bool at_limit; /* the press could not have given more */
    double low, high; /* interval of the mean; NAN where nothing tells the scatter */
    double drop, drop_low, drop_high; /* from the stage before; the first from zero */
    bool out_of_order;                /* below the stage before by more than its scatter */
};

enum pressure_drop_source { AVAILABLE_NONE, AVAILABLE_PRESS, AVAILABLE_SET_LIMIT };

struct pressure_drop {
    const struct trial *trial;
    const struct table *table;
    struct finding *f;
    struct arena *a;
    double confidence, step; /* step of the pressure's digits */
    double available;        /* NAN when not known, with the reason */
    enum pressure_drop_source from;
    const char *not_known;
    struct pressure_drop_shots shots;
    struct math_blocks blocks;
    struct pressure_drop_stage *stages; /* in the order of flow */
    size_t n_stages;
    const char **gone; /* stages that are named but have no used shot */
    size_t n_gone;
    /* variance of a visit's mean around its stage, pooled over stages run more than once: in
     * pressure, and as a share of the pressure squared */
    double visit_dof, visit_variance, visit_relative;
    double shot_sd, shot_relative; /* pooled within visits; NAN without repeats */
    size_t deciding;               /* the last stage, or one that lies above it */
    bool any_out_of_order;
    size_t largest, second; /* drops; n_stages when there is none */
    bool told_apart;        /* the largest is shown to exceed the second */
    double use, use_low, use_high;
};

/* An estimate with the half widths of its interval; NAN where one cannot be had. */
struct pressure_drop_estimate {
    double value;
    double rows;   /* from the shots' scatter */
    double visits; /* from the scatter between visits of one stage */
    double half;   /* the wider */
};

/* pressure_drop_data.c */
void pressure_drop_collect(struct pressure_drop *p, enum study_take take,
                           struct pressure_drop_shots *out);
/* Fills shots, blocks, stages; false when there is no usable shot. */
bool pressure_drop_load(struct pressure_drop *p);
/* What the blocks say of each stage. */
void pressure_drop_fill_stages(struct pressure_drop *p);
/* More different texts in the column than a flow path has stages. */
bool pressure_drop_too_many(const struct pressure_drop *p);
void pressure_drop_available(struct pressure_drop *p);
const char *pressure_drop_file(const struct pressure_drop *p, size_t shot);
long pressure_drop_line(const struct pressure_drop *p, size_t shot);

/* pressure_drop_intervals.c */
void pressure_drop_scatter(struct pressure_drop *p);
/* sum c[i] mean[i] over the stages. Rows: Welch and Satterthwaite on each stage's own variance,
 * none below that of the digits' rounding; visits: pooled as pressure or as a share of it,
 * whichever is wider. */
struct pressure_drop_estimate pressure_drop_contrast(const struct pressure_drop *p, const double *c,
                                                     double level);
void pressure_drop_estimate_all(struct pressure_drop *p);

/* pressure_drop_forecast.c: after one more round of all stages, `shots` at each */
bool pressure_drop_scatter_known(const struct pressure_drop *p);
/* Half width of the deciding stage's mean that may be promised; NAN: none, for instance where no
 * stage was run twice yet. */
double pressure_drop_promise(const struct pressure_drop *p, int shots);
/* Least number of shots at each stage that decides against the limit in MATH_DECIDED of the rounds;
 * -1: none. */
int pressure_drop_shots_to_decide(const struct pressure_drop *p, double limit);

/* pressure_drop_words.c: numbers in the units people entered */
const char *pressure_drop_pressure(const struct pressure_drop *p, double v, double half_width);
const char *pressure_drop_share(const struct pressure_drop *p, double v, double half_width);
const char *pressure_drop_between(const struct pressure_drop *p, size_t stage);
void pressure_drop_decision(struct pressure_drop *p);
void pressure_drop_next_shots(struct pressure_drop *p);

/* pressure_drop_flags.c */
#define PRESSURE_DROP_NOTHING "no row has both a stage and a peak pressure"
enum { PRESSURE_DROP_FLAGS = 11 };
extern const struct flag_spec pressure_drop_flags[PRESSURE_DROP_FLAGS];
void pressure_drop_raise_flags(struct pressure_drop *p);

/* pressure_drop_figure.c */
void pressure_drop_figure(struct pressure_drop *p);

#endif
