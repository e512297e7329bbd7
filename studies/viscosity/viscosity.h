/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the files of this study. */
#ifndef VISCOSITY_H
#define VISCOSITY_H

#include "plateau/math_viscosity.h"
#include "plateau/study.h"

/* Consecutive shots at one setting, in time order. */
struct viscosity_block {
    size_t first, n;    /* shots */
    double speed;       /* told; NAN without the column */
    double time;        /* geometric mean */
    double pressure;    /* the same, at transfer */
    double peak, limit; /* mean of the highest pressure; known limit or NAN */
    size_t n_peak;      /* shots whose highest pressure was written down */
    double peak_sd;
    const char *defect; /* of its first bad shot, or NULL */
    struct visc_doubt doubt;
};

struct viscosity_data {
    size_t n;
    double *t, *p; /* s, MPa; in time order */
    size_t *row;   /* row of the table */
    struct viscosity_block *block;
    struct visc_unit *unit; /* of each block */
    size_t n_blocks;
    bool by_speed, inferred;
    double time_step, pressure_step, peak_step;
};

/* The good condition next to one with a defect. */
struct viscosity_edge {
    const struct viscosity_block *good, *bad; /* NULL: no defect ends the range on this side */
    size_t shots;                             /* good ones at its setting */
    size_t between; /* good settings beyond the defect, up to the bound that decides */
    enum verdict verdict;
};

struct viscosity {
    const struct trial *trial;
    const struct table *table;
    struct finding *f;
    struct arena *a;
    struct visc_options options;
    double use_max;    /* pressure_use_max */
    double good_share; /* defect_free_share */
    double available;  /* melt pressure, NAN */
    struct viscosity_data data;
    /* the blocks that tell of the melt, and the answer from them */
    size_t *free; /* indices of blocks */
    struct visc_unit *free_unit;
    size_t n_free, n_settings; /* settings: distinct ones among them */
    bool solved;
    bool no_rise; /* pressure is not shown to rise with speed: it tells of a limit, not of the melt
                   */
    struct visc_answer r;
    enum verdict verdict;          /* of viscosity_tolerance */
    struct viscosity_edge edge[2]; /* slow, fast */
    /* A few speeds that are held against an approved record: a knee follows the tested speeds, so
     * these have none of their own. */
    bool is_short;
};

/* viscosity_data.c */
void viscosity_collect(const struct viscosity *v, enum study_take take, struct viscosity_data *out);
void viscosity_pick_free(struct viscosity *v);
const char *viscosity_file(const struct viscosity *v, const struct viscosity_block *b);
long viscosity_line(const struct viscosity *v, const struct viscosity_block *b);
/* Indices of the blocks from slow to fast: by told speed where there is one, else by fill time. */
size_t *viscosity_order(const struct viscosity *v);

/* viscosity_words.c */
/* Why the conditions do not tell of the melt, and what to do: one clause. */
const char *viscosity_too_few(const struct viscosity *v);
const char *viscosity_time(const struct viscosity *v, double t, double half_width);
const char *viscosity_span(const struct viscosity *v, const struct visc_value *x);
const char *viscosity_pressure(const struct viscosity *v, double p);
const char *viscosity_percent(const struct viscosity *v, double ratio);
/* "120 mm/s", else "0.38 s" */
const char *viscosity_setting(const struct viscosity *v, const struct viscosity_block *b);
void viscosity_decision(struct viscosity *v);
void viscosity_next_shots(struct viscosity *v);

/* viscosity_bounds.c */
void viscosity_bounds(struct viscosity *v);
double viscosity_shear_rate_time(const struct viscosity *v, bool *slit_is_narrow);

/* viscosity_notes.c */
void viscosity_quantities(struct viscosity *v);
void viscosity_tolerance_criterion(struct viscosity *v);
/* after the bounds: */
void viscosity_pressure_criterion(struct viscosity *v);
void viscosity_defect_criteria(struct viscosity *v);
void viscosity_models(struct viscosity *v);
void viscosity_conditions(struct viscosity *v);

/* viscosity_flags.c */
#define VISCOSITY_ENOUGH 7 /* settings for a curve */
enum { VISCOSITY_FLAGS = 17 };
extern const struct flag_spec viscosity_flags[VISCOSITY_FLAGS];
void viscosity_raise_flags(struct viscosity *v);
#define VISCOSITY_RAISE(v, code, file, line, ...)                                                  \
    finding_flag((v)->f, (code), study_grade(viscosity_flags, VISCOSITY_FLAGS, (code)), (file),    \
                 (line), __VA_ARGS__)

/* viscosity_figure.c */
void viscosity_figures(struct viscosity *v);

#endif
