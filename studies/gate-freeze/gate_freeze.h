/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the files of this study. */
#ifndef GATE_FREEZE_H
#define GATE_FREEZE_H

#include "plateau/math.h"
#include "plateau/study.h"

/* The shots that can be used, in time order. y is the part weight: the column as weighed, or the
 * mean over the cavities of complete shots. */
struct gate_freeze_data {
    size_t n;
    double *x, *y;   /* s, g */
    size_t *row;     /* row of the table */
    size_t cavities; /* 0: one column of weights */
    int *cavity_number;
    double **cavity;   /* [cavity][shot] */
    double step;       /* of y; a mean of k cavities steps by step / sqrt(k) */
    size_t incomplete; /* shots left out because a cavity has no weight */
};

struct gate_freeze {
    const struct trial *trial;
    const struct table *table;
    struct finding *f;
    struct arena *a;
    double confidence, time_step;
    struct plateau_options options;
    struct gate_freeze_data data;
    struct math_blocks blocks;
    struct plateau_answer r;
    const char *tolerance_wording; /* "0.1 % of the plateau weight" */
    /* a cavity that stands alone and has the latest bound; 0: the common answer decides */
    int last_cavity;
    bool no_common;      /* of two cavities each stands alone */
    bool cavity_unknown; /* a cavity stands alone and its data do not bound it: no bound at all */
    struct math_blocks last_blocks;
    struct plateau_answer last;
};

/* gate_freeze_data.c */
void gate_freeze_collect(const struct gate_freeze *g, enum study_take take,
                         struct gate_freeze_data *out);
const char *gate_freeze_file(const struct gate_freeze *g, size_t shot);
long gate_freeze_line(const struct gate_freeze *g, size_t shot);

/* gate_freeze_words.c: numbers in the units people entered */
const char *gate_freeze_time(const struct gate_freeze *g, double v, double half_width);
const char *gate_freeze_time_span(const struct gate_freeze *g, double low, double high);
const char *gate_freeze_mass(const struct gate_freeze *g, double v, double half_width);
void gate_freeze_decision(struct gate_freeze *g);
/* What to mend before longer hold times can tell anything, "look for ..."; NULL: nothing. */
const char *gate_freeze_first_cause(const struct gate_freeze *g);
/* The criterion of one answer; cavity 0: the common one. */
void gate_freeze_criterion(struct gate_freeze *g, const struct math_blocks *b,
                           const struct plateau_answer *r, int cavity);
void gate_freeze_next_shots(struct gate_freeze *g);

/* gate_freeze_flags.c */
enum { GATE_FREEZE_FLAGS = 17 };
extern const struct flag_spec gate_freeze_flags[GATE_FREEZE_FLAGS];
void gate_freeze_raise_flags(struct gate_freeze *g);
/* Does the weight fall beyond its highest value, by more than chance? */
bool gate_freeze_falls(const struct gate_freeze *g, size_t *top, double *fall);
#define GATE_FREEZE_RAISE(g, code, file, line, ...)                                                \
    finding_flag((g)->f, (code), study_grade(gate_freeze_flags, GATE_FREEZE_FLAGS, (code)),        \
                 (file), (line), __VA_ARGS__)

/* gate_freeze_cavities.c: may replace the common answer's bound; true when cavities stand alone */
struct plateau_options gate_freeze_options(const struct gate_freeze *g, bool one_cavity);
enum errc gate_freeze_cavities(struct gate_freeze *g, struct error *e) PL_MUST_CHECK;

/* gate_freeze_figure.c */
void gate_freeze_figure(struct gate_freeze *g);
/* Half width of the curve's interval per standard error from rows: the wider of rows and blocks. */
double gate_freeze_band_factor(const struct gate_freeze *g, const struct family_fit *f);

#endif
