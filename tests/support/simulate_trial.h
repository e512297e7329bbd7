/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whole simulated trials of every study that asks for more shots: a file of shots whose truth,
 * scatter of shots and scatter of conditions are known, run through the study as a user's file
 * would be, and further shots of the same truth added to it. */
#ifndef TESTS_SIMULATE_TRIAL_H
#define TESTS_SIMULATE_TRIAL_H

#include "plateau/study.h"
#include "simulate.h"

struct sim_mold;

/* One kind of trial. */
struct sim_case {
    const char *name, *study;
    const struct sim_mold *mold;
    int truth;            /* enum sim_truth, or a number that the mold knows */
    double noise;         /* sd of a shot, in the unit of the mold's scatter */
    double scatter;       /* sd of a condition, in sds of a shot */
    size_t settings;      /* of the first design, evenly spaced from first to last */
    double first, last;   /* stages: 1 .. settings */
    size_t shots, rounds; /* shots at each; the whole design so often */
};

/* What a mold and its press do. */
struct sim_mold {
    const char *header, *ini;
    double sd;          /* what `noise` is counted in */
    const char *answer; /* the quantity whose half-width is promised; NULL: the first bound */
    /* One row: `off` is what its condition has in common, in sds of a shot. */
    void (*row)(struct text *t, const struct sim_case *c, double at, double off,
                struct sim_stream *s);
    /* Is a decided verdict right? Of the finding in which it was decided. */
    bool (*right)(const struct sim_case *c, const struct finding *f, const struct criterion *k);
};

extern const struct sim_mold sim_gate_freeze, sim_slow_cavity, sim_cooling_length, sim_cooling_hot,
    sim_cooling_limits, sim_cooling_defects, sim_cavities, sim_stages, sim_melt;

double sim_setting(const struct sim_case *c, size_t i);
/* One condition of `shots` rows: its own offset is drawn from the stream. */
void sim_condition(struct text *t, const struct sim_case *c, double at, size_t shots,
                   struct sim_stream *s);
/* The first design, with its header. */
void sim_first_trial(struct text *t, const struct sim_case *c, struct sim_stream *s);
/* From bytes to a finding, the flags that all studies share included. */
struct finding sim_run(struct arena *a, const struct sim_case *c, const char *csv);
/* Half the width of what the study promises to narrow; INFINITY where it is open. */
double sim_half_width(const struct sim_case *c, const struct finding *f);

#endif
