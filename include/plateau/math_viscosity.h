/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * math, viscosity: pressure at transfer against fill time. Fits P(g), g = 1 / fill time, on the
 * logarithms of condition means, and answers with fill times and their intervals. Every argument is
 * in the caller's units of time and pressure; the answers do not depend on them.
 */
#ifndef PLATEAU_MATH_VISCOSITY_H
#define PLATEAU_MATH_VISCOSITY_H

#include "plateau/base.h"

/* Consecutive shots at one setting, in the logarithms of fill time and pressure. */
struct visc_unit {
    size_t n;
    double log_t, log_p;      /* means of the logarithms */
    double ss_t, ss_p, ss_tp; /* sums of squares and products around them */
    size_t group;             /* units at one setting share it; any numbering */
};
/* t, p > 0 of n >= 1 shots. Two passes. `group` is left 0. */
void visc_unit_make(const double *t, const double *p, size_t n, struct visc_unit *out);

struct visc_options {
    double confidence;    /* 0.95 */
    double time_step;     /* smallest step of the fill times; 0 when not known */
    double pressure_step; /* of the pressures; 0 when not known */
    double disturbance;   /* 0.10: what fills this much slower ... */
    double tolerance; /* 0.05: ... may change viscosity by this share of its fall in the trial */
};

/* ---- pressure against fill time: weights and the straight line
 * ----------------------------------------
 */

/* How pressures scatter: alike as a share of the reading, or alike in units of pressure. */
enum visc_law { VISC_SHARE, VISC_ALIKE };

/* What: ln P = ln K + n ln g on unit means.
 * Weights: rows of the unit over s_P^2 h + n^2 (s_t^2 + (time_step / t)^2 / 12), relative
 * variances, s_P and s_t pooled within units, h = 1 or (middle P / P)^2 by the law of scatter; n
 * from an unweighted line first, then once more. Without repeats s_P is the scatter around the
 * unweighted line. Law: the one under which the scatter of ln P + n ln t within units is likelier
 * (normal, its size free); the other is kept unless twice the difference of the ln likelihoods
 * exceeds z(confidence)^2. A share, and that alone, without repeats or where they agree exactly.
 * Intervals: two-sided; the wider of the one from rows (variance of ln P + n ln t within units and
 * around the line, rows - 2 dof) and the one from unit means (their residual mean square, units - 2
 * dof); neither below the rounding of the digits; hull over the laws that are kept. NAN with two
 * settings. Inputs: m units; groups >= 2. Checked by: tests/unit/test_visc_line.c,
 * tests/reference/test_viscosity.c, tests/property/test_viscosity_coverage.c. */
struct visc_line {
    enum visc_law law; /* that the weights follow */
    bool either_law;   /* the scatter does not refute the other one */
    size_t n_units, n_rows, n_groups;
    double log_center;    /* mean of ln g, where the line's height is known best */
    double height, slope; /* ln P at the center; n */
    double slope_low, slope_high;
    double s_p, s_t;   /* pooled relative sd within units; NAN without repeats */
    double shot_sd;    /* within units, of ln P + n ln t; NAN without repeats */
    double unit_sd;    /* scatter of units in excess of it, >= 0; NAN with two settings */
    double revisit_sd; /* the same from settings visited twice, free of any model; NAN */
    /* for the fits: residual variances in units of a row of average weight */
    double ss_within;               /* weighted, of ln P + n ln t within units */
    double floor_rows, floor_units; /* of the digits' rounding */
    double *weight;                 /* [n_units] rows x relative weight */
};
enum errc visc_line_fit(struct arena *a, const struct visc_unit *u, size_t m,
                        const struct visc_options *o, struct visc_line *out,
                        struct error *e) PL_MUST_CHECK;

/* ---- did the press do what it was told?
 * ----------------------------------------------------------------
 */

enum visc_limited { VISC_FREE, VISC_PRESSURE_LIMITED, VISC_SPEED_NOT_REACHED };
struct visc_doubt {
    enum visc_limited what;
    bool at_limit; /* within 2 % of a known limit */
    double off;    /* pressure below the line of the others, or fill time above what the speed
                      promises, as a fraction; NAN when it was not the reason */
};
/* What: pressure-limited where the highest pressure is within 2 % of a known limit, or the pressure
 * lies more than 5 % below the line of the others and its CV is at most half the fill time's CV;
 * speed-not-reached where t exceeds t0 + L/v of the slower units by more than 5 % and more than the
 * prediction's own 95 % limit.
 * Inputs: peak[m] mean of the highest pressure and limit[m], NAN where not known; speed[m], NAN
 * where not known. `out` [m]. */
void visc_find_limited(struct arena *a, const struct visc_unit *u, size_t m, const double *peak,
                       const double *limit, const double *speed, const struct visc_options *o,
                       struct visc_doubt *out);

/* ---- models
 * ---------------------------------------------------------------------------------------------
 */

enum visc_model_id { VISC_POWER, VISC_SISKO, VISC_CROSS, VISC_CARREAU, VISC_MODELS };

struct visc_fit {
    enum visc_model_id id;
    const char *name, *formula;
    bool tried, in_play;
    size_t p; /* curve parameters, sigma not counted */
    const char *parameter[3];
    double value[3];            /* in the caller's units */
    double covariance[3][3];    /* with the residual variance of rows or units, the larger */
    double rss_rows, rss_units; /* weighted */
    double residual_sd;         /* relative, of rows */
    double aicc, weight;        /* Akaike weight among those tried */
    double misfit;   /* largest misfit of a unit mean over the tolerance (of viscosity) */
    double misfit_p; /* against pure error; NAN without repeats */
    int rank;
    double condition_number;
    const char *stop;
    /* scaled: ln P = height + curve(ln g - center; theta) */
    double height, theta[2];
};

enum visc_knee_state {
    VISC_KNEE_FOUND,
    VISC_KNEE_BELOW_RANGE, /* holds from the slowest setting on */
    VISC_KNEE_NOT_REACHED  /* not even at the fastest */
};
struct visc_value { /* a fill time, or a ratio; NAN none; +-INFINITY open */
    double value, low, high;
};

struct visc_answer {
    struct visc_line line;
    struct visc_fit model[VISC_MODELS];
    int best;           /* enum visc_model_id, least AICc among those tried */
    bool power_in_play; /* the plain power law is in play */
    double power_gap;   /* AICc of the power law minus the least of the others; NAN */
    bool curved; /* unit means tell the best curved model from the power law (F, 1 - confidence) */
    double power_p;          /* of the power law against the best other on unit means; NAN */
    double slowest, fastest; /* tested fill times */
    /* (a) the greatest fill time from which on faster filling keeps the disturbance's effect within
     * the tolerance */
    enum visc_knee_state state;
    struct visc_value sensitivity;
    bool safe; /* the interval ends inside the tested range on the fast side */
    /* effect of the disturbance at the fastest setting, as a share of the fall */
    struct visc_value effect_at_fastest;
    struct visc_value stick, chord; /* (b), (c): context only */
    /* (a) again without the slowest, without the fastest setting; NAN when there is none */
    double without_slowest, without_fastest;
    bool follows_range; /* moves by more than 25 %, or the plain power law is in play */
    void *regions;      /* for the functions below */
};

/* What: fits every model, chooses, and answers.
 * Models: K g^n; e_inf g + K g^n (Sisko); e0 g / (1 + (lambda g)^(1 - n)) (Cross);
 * e0 g (1 + (lambda g)^2)^((n - 1) / 2) (Carreau).
 * Choice: AICc on rows, sigma counted; in play within 7 of the best. A curved model is tried with
 * at least five settings and six rows. The power law leaves play only when unit means also tell it
 * from the best curved model (F, 5 %), so that scatter from condition to condition does not pass
 * for curvature. Intervals: range over the parameter region S <= S_min + F(confidence; 1, dof) x
 * residual variance, the wider of rows and units; hull over the models in play, under each law of
 * scatter that is kept; the answers and the choice are those of the better law. Numerics:
 * logarithms centred; grid over the nonlinear parameters, the three best cells polished by damped
 * Gauss-Newton inside the plausible range on GSL's SVD, a polish that did worse is thrown away;
 * region by Brent along each parameter.
 * Errors: ERR_NUMERIC with fewer than two settings or non-finite input.
 * Source: Sisko, Ind. Eng. Chem. 50 (1958) 1789; Cross, J. Colloid Sci. 20 (1965) 417; Carreau,
 * Trans. Soc. Rheol. 16 (1972) 99, from memory. Checked by: tests/reference/test_viscosity.c,
 * tests/unit/test_visc_models.c, tests/property/test_viscosity_coverage.c. */
enum errc visc_solve(struct arena *a, const struct visc_unit *u, size_t m,
                     const struct visc_options *o, struct visc_answer *out,
                     struct error *e) PL_MUST_CHECK;

/* Pressure of a fitted model at fill time t. */
double visc_pressure(const struct visc_answer *r, enum visc_model_id id, double t);
/* Pressure of the best model at t, interval over the region of the models in play. */
struct visc_value visc_pressure_at(const struct visc_answer *r, double t);
/* Fill time at which the best model reaches the pressure, interval likewise. Not cut to the tested
 * range. */
struct visc_value visc_time_at_pressure(const struct visc_answer *r, double pressure);

/* Chord knee of a power law with index n between rates g1 < g2 by its closed form. */
double visc_chord_of_power_law(double n, double g1, double g2);
/* Break of the continuous two-line fit to points (x sorted, distinct, n >= 4); NAN below four
 * points. */
double visc_broken_stick(const double *x, const double *y, size_t n);

#endif
