/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The coverage battery: simulated studies with a known truth, run through the studies themselves.
 * A cell is a line of cells.tsv; its stream is seeded by its name, so it can be run alone. */
#ifndef TESTS_COVERAGE_H
#define TESTS_COVERAGE_H

#include "plateau/study.h"
#include "simulate.h"

/* ---- cells ------------------------------------------------------------------------------------
 */

struct cov_cell {
    const char *name, *study, *group, *parameters; /* parameters: "key=value key=value" */
    double bar;
};
/* NAN-free: `otherwise` where the key is not there. */
double cov_number(const struct cov_cell *c, const char *key, double otherwise);
bool cov_is(const struct cov_cell *c, const char *key, const char *word);
/* The value as a word, in the arena; "" when it is not there. */
const char *cov_word(struct arena *a, const struct cov_cell *c, const char *key);
/* A stream of its own for every cell and trial. */
struct sim_stream cov_stream(const struct cov_cell *c, size_t trial);

/* ---- tallies ----------------------------------------------------------------------------------
 */

/* What became of one quantity by one method over the trials of a cell. */
struct cov_row {
    const char *quantity, *method;
    size_t trials;                /* in which it was looked for */
    size_t printed;               /* an interval was given */
    size_t covered, above, below; /* the truth inside it; the interval above, below the truth */
    size_t open;                  /* intervals with an infinite end */
    double *width;                /* of the printed ones */
    size_t capacity;
};
#define COV_ROWS 48
struct cov_rows {
    size_t n;
    struct cov_row row[COV_ROWS];
};
/* Counts a trial: an interval, NAN when none was printed. `quantity` and `method` are kept. */
void cov_interval(struct cov_rows *r, const char *quantity, const char *method, double low,
                  double high, double truth);
/* Counts a trial of a share: `covered` counts the hits. */
void cov_share(struct cov_rows *r, const char *quantity, bool hit);
void cov_print(const struct cov_rows *r, const char *cell);

/* ---- tables without files ---------------------------------------------------------------------
 */

/* A study's table, filled by hand: columns by name, rows in time order. */
struct cov_sheet {
    struct arena *a;
    const struct study *study;
    struct trial trial;
    struct fact facts[8];
    struct source source;
    struct table table;
};
void cov_sheet_init(struct cov_sheet *s, struct arena *a, const char *study, size_t columns,
                    size_t rows);
/* cavity 0: a plain column; step of its digits */
void cov_sheet_column(struct cov_sheet *s, const char *name, int cavity, double step);
struct cell *cov_sheet_row(struct cov_sheet *s); /* the cells of a new row */
void cov_sheet_quantity(struct cov_sheet *s, const char *section, const char *key, enum dimension d,
                        double value);
void cov_sheet_text(struct cov_sheet *s, const char *section, const char *key, const char *text);
void cov_sheet_analyze(struct cov_sheet *s, struct finding *out);
struct cell cov_value(double v);
struct cell cov_text(const char *text);
/* The interval of a quantity; NAN when the finding prints none. */
void cov_quantity(const struct finding *f, const char *name, double *low, double *high);

/* ---- curves to a plateau ------------------------------------------------------------------------
 */

enum shape {
    SHAPE_EXPONENTIAL,
    SHAPE_LINEAR_PLATEAU,
    SHAPE_QUADRATIC_PLATEAU,
    SHAPE_LOGISTIC,
    SHAPE_STRETCHED,
    SHAPE_TWO_EXPONENTIALS,
    SHAPE_HILL,
    SHAPE_GOMPERTZ,
    SHAPE_LINE, /* the rest has no plateau in any range */
    SHAPE_LOGARITHM,
    SHAPES
};
enum shape shape_find(const char *name);
bool shape_levels(enum shape s);
bool shape_corner(enum shape s);
/* P - A g(x; theta): theta positive, at most three. */
#define SHAPE_THETAS 3
size_t shape_thetas(enum shape s);
double shape_g(enum shape s, double x, const double *theta);
struct curve_truth {
    enum shape shape;
    double plateau, a, theta[SHAPE_THETAS], late; /* late: the curve is shifted by it */
};
void truth_of(const struct cov_cell *c, struct arena *a, struct curve_truth *out);
double truth_value(const struct curve_truth *t, double x);
double truth_answer(const struct curve_truth *t, double tolerance); /* INFINITY: never */

/* ---- one study of weights
 * ------------------------------------------------------------------------
 */

#define COV_CONDITIONS 16
#define COV_SHOTS 5
#define COV_TOLERANCE 0.001 /* of the plateau */

/* Means of conditions, as the rivals see them. */
struct cov_means {
    size_t m, shots;
    double x[COV_CONDITIONS], y[COV_CONDITIONS];
    double sspe; /* within conditions */
    double step, tolerance;
};

/* Methods the program's interval is compared with. Ends: INFINITY open, NAN none. */
void rival_isotonic(const struct cov_means *d, double *low, double *high);
struct grids;
struct grids *rival_grids(struct arena *a, const double *x, size_t m);
void rival_bootstrap(const struct grids *g, const struct cov_means *d, struct sim_stream *s,
                     double *low, double *high);
/* The profile with the true family known. */
void rival_oracle(const struct curve_truth *t, const struct cov_means *d, double *low,
                  double *high);
/* Root of the least weighted squared distance, in standard errors, between this truth and one of
 * its family whose answer is at `answer`; variance[m] of the means. */
double truth_distance(const struct curve_truth *t, const struct cov_means *d,
                      const double *variance, double answer);

/* ---- studies ------------------------------------------------------------------------------------
 */

void cov_gate_freeze(const struct cov_cell *c, size_t trials, struct cov_rows *out);
void cov_cavities(const struct cov_cell *c, size_t trials, struct cov_rows *out);
void cov_viscosity(const struct cov_cell *c, size_t trials, struct cov_rows *out);
void cov_pressure_drop(const struct cov_cell *c, size_t trials, struct cov_rows *out);
void cov_imbalance(const struct cov_cell *c, size_t trials, struct cov_rows *out);
void cov_cooling(const struct cov_cell *c, size_t trials, struct cov_rows *out);
void cov_open_gate(const struct cov_cell *c, size_t trials, struct cov_rows *out);
void cov_fill_trend(const struct cov_cell *c, size_t trials, struct cov_rows *out);
/* Standard errors between a resolvable cell's truth and the other side; NAN where it has none. */
double cov_gate_freeze_distance(const struct cov_cell *c);
double cov_viscosity_distance(const struct cov_cell *c);

#endif
