/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * math: distributions, separable least squares, families of curves that reach a plateau, the
 * answer with its interval, verdicts. The only room that includes <gsl/...>. Every argument is a
 * plain array in the caller's unit; NAN never enters. Knows base alone.
 */
#ifndef PLATEAU_MATH_H
#define PLATEAU_MATH_H

#include "plateau/base.h"

/* ---- distributions ----------------------------------------------------------------------------
 */

/* Quantile of Student's t, dof > 0; NAN for a dof or p out of range. Source: GSL. */
double math_t_quantile(double p, double dof);
/* P(T <= t). */
double math_t_cdf(double t, double dof);
/* Upper tail of F(d1, d2). */
double math_f_tail(double f, double d1, double d2);
/* Of n values, none of them NAN, which are sorted for it; NAN for none. */
double math_median(double *v, size_t n);

/* ---- blocks: the unit of a fit
 * ------------------------------------------------------------------- */

/* Consecutive rows at one setting. A setting visited twice gives two blocks at the same x and one
 * group. */
struct math_block {
    double x;
    size_t first, n; /* rows first .. first + n - 1 */
    double mean;
    double ss;    /* sum of squares around the mean */
    size_t group; /* index of its condition, conditions sorted by x */
};
struct math_blocks {
    struct math_block *b; /* in time order */
    size_t n_blocks, n_rows, n_groups;
    double *group_x;    /* sorted, distinct */
    double *group_mean; /* over all its rows */
    size_t *group_n;
    double sspe; /* pooled within-block sum of squares, dof = n_rows - n_blocks */
};
/* x and y in time order, n >= 1, finite. Sums are two-pass. */
void math_blocks_make(struct arena *a, const double *x, const double *y, size_t n,
                      struct math_blocks *out);
/* The same with n further blocks behind them: their x, n, mean and ss. */
void math_blocks_add(struct arena *a, const struct math_blocks *blocks,
                     const struct math_block *more, size_t n, struct math_blocks *out);

/* ---- separable least squares
 * ------------------------------------------------------------------------ */

#define SEPARABLE_MOST 12 /* linear and nonlinear parameters, each */

/* y = sum_j linear_j phi_j(x; theta) */
struct separable {
    const char *name;
    size_t n_linear, n_theta;
    /* phi[n_linear]; dphi[j * n_theta + k] = d phi_j / d theta_k when dphi is not NULL. Returns
     * false where theta is not admissible. */
    bool (*basis)(double x, const double *theta, double *phi, double *dphi, const void *context);
    const void *context;
};
struct separable_range { /* of one theta: scanned at `points` values, evenly or in the logarithm */
    double low, high;
    bool log;
    size_t points;
};
struct separable_fit {
    size_t n, p; /* rows, parameters (linear first, then theta) */
    double parameter[2 * SEPARABLE_MOST];
    double covariance[2 * SEPARABLE_MOST][2 * SEPARABLE_MOST]; /* times rss / (n - p) */
    double rss, sigma;                                         /* sigma = sqrt(rss / (n - p)) */
    int rank;
    double condition_number; /* of the scaled Jacobian */
    int iterations;
    const char *stop;
};
/* What: minimises sum w (y - model)^2 over linear and theta.
 * Inputs: x, y any unit, w > 0 or NULL for 1, n > p; ranges: the whole plausible range of each
 * theta. Errors: ERR_NUMERIC when no admissible theta gives a finite sum, or n <= p. Numerics: grid
 * over theta with the linear part solved by SVD at each point (variable projection); the three best
 * local grid minima are polished by GSL's trust region (Levenberg-Marquardt, QR) on y scaled to
 * order one with parameters scaled by their columns, then by Gauss-Newton until the step is below
 * 1e-14, with residuals and J'r summed in twice the precision; a polish that did worse than its
 * start is thrown away. Covariance by way of Q = J R^-1, in twice the precision as well. Cost
 * points^n_theta linear solves.
 * Source: Golub and Pereyra, SIAM J. Numer. Anal. 10 (1973) 413, from memory, for the separation.
 * Checked by: tests/reference/test_nist_nonlinear.c, test_nist_linear.c. */
enum errc separable_fit_scan(const struct separable *s, const struct separable_range *ranges,
                             const double *x, const double *y, const double *w, size_t n,
                             struct separable_fit *out, struct error *e) PL_MUST_CHECK;
/* The same from given starting values of all parameters (linear first), no scan. */
enum errc separable_fit_from(const struct separable *s, const double *start, const double *x,
                             const double *y, const double *w, size_t n, struct separable_fit *out,
                             struct error *e) PL_MUST_CHECK;

/* ---- plateau: where a rising (or falling) curve has come within a tolerance of its end value
 * ---------- */

enum family_id {
    FAMILY_CONSTANT,
    FAMILY_LINE,
    FAMILY_LINEAR_PLATEAU,
    FAMILY_QUADRATIC_PLATEAU,
    FAMILY_EXPONENTIAL,
    FAMILY_LOGISTIC,
    FAMILY_STRETCHED,
    FAMILY_BROKEN_STICK,
    FAMILY_N
};

struct family_fit {
    enum family_id id;
    const char *name, *formula;
    bool plateau;  /* flat at the end by form */
    bool tried;    /* enough rows and conditions */
    bool in_play;  /* within 7 AICc units of the best, or: */
    bool by_means; /* not so, but block means do not tell it from the best */
    size_t p;      /* curve parameters, sigma not counted */
    const char *parameter[5];
    double value[5];
    double covariance[5][5]; /* with the residual variance of rows */
    double rss;              /* of rows */
    double rss_means;        /* weighted, of block means */
    double residual_sd;
    double aicc, weight;
    double misfit;   /* largest |block mean - curve| / tolerance */
    double misfit_p; /* lack of fit against pure error; NAN when there are no repeats */
    int rank;
    double condition_number;
    const char *stop;
    double answer, answer_low, answer_high; /* freeze time; +-INFINITY open, NAN none */
    double start, start_low, start_high;    /* corner; NAN where the family has none */
    double level, level_low, level_high;    /* plateau value */
};

enum plateau_state {
    PLATEAU_FOUND,        /* value, interval, bound */
    PLATEAU_BRACKET_ONLY, /* too few rows for a curve: neighbour bracket only */
    PLATEAU_BEFORE_FIRST, /* every condition within the tolerance: no value, bound = first setting
                           */
    PLATEAU_OPEN,         /* a plateau shape is shown, but not two conditions beyond it: no bound */
    PLATEAU_UNDECIDED,    /* a plateau is not told from a slope: no value, no bound */
    PLATEAU_NOT_REACHED   /* the slope at the end is shown to exceed the tolerance */
};

enum plateau_end { END_NONE, END_BRACKET, END_FAMILY };

struct plateau_options {
    double tolerance_absolute; /* y unit; NAN when relative */
    double tolerance_relative; /* fraction of the plateau value; NAN when absolute */
    double step;               /* y step of the digits; 0 when not known */
    double confidence;         /* 0.95 */
    int direction;             /* +1 rises to the plateau, -1 falls */
};

struct plateau_answer {
    enum plateau_state state;
    double tolerance;      /* absolute, as used */
    bool tolerance_raised; /* the step of the digits was coarser */
    double value, low,
        high;     /* x from which y stays within the tolerance; NAN none, +-INFINITY open */
    double bound; /* safe end, or NAN */
    double start, start_low, start_high; /* corner of the best family; NAN */
    double level, level_low, level_high; /* plateau value */
    double bracket_low, bracket_high;    /* neighbour bracket; NAN when the last two disagree */
    enum plateau_end high_from;          /* what put the upper end where it is */
    int high_family;                     /* enum family_id when high_from is END_FAMILY */
    int best;                            /* best plateau family, or -1 */
    bool shape_shown;                    /* a plateau is told from curves that never level off */
    double shape_gap; /* AICc of the best of those less that of the best plateau family */
    size_t n_beyond;  /* conditions at or beyond the upper end */
    /* the verdict on the conditions beyond: rise over their range and its 90 % interval */
    size_t rise_from; /* index of the first such condition among the groups */
    double rise, rise_low, rise_high;
    double rise_se, rise_dof;
    int verdict;              /* +1 met, 0 not shown, -1 not met */
    double shot_sd, shot_dof; /* within blocks; NAN without repeats */
    double block_sd;          /* excess scatter of blocks around the best curve, >= 0 */
    double revisit_sd;        /* the same from settings visited twice; NAN */
    struct family_fit family[FAMILY_N];
};

/* What: fits every family to the rows, chooses, and gives the x from which the curve stays within
 * the tolerance of its plateau, as the hull of the exact profile intervals of all plateau families
 * in play and the neighbour bracket. Model: y = P - A g(x; theta), g falling to 0, A > 0 (direction
 * +1). Interval: for a family the set of f with S(f) <= crit, S the weighted residual sum of
 * squares of block means minimised under A g(f; theta) = tolerance; crit is the larger of the rows'
 * and the block means' F criterion. Since S(theta, A) is a parabola in A for given theta, the set
 * is the union over {theta: S0(theta) <= crit} of explicit intervals: no root in f is needed.
 * Inputs: blocks with at least one row; options.
 * Errors: ERR_NUMERIC only for non-finite input; everything else is a state.
 * Checked by: tests/reference/test_plateau.c, tests/property/test_plateau_coverage.c. */
enum errc plateau_find(struct arena *a, const struct math_blocks *blocks,
                       const struct plateau_options *options, struct plateau_answer *out,
                       struct error *e) PL_MUST_CHECK;

/* Value of a fitted family at x, and the standard error of the curve there (0 covariance gives 0).
 */
double family_value(const struct family_fit *f, double x, double x_first);
double family_value_se(const struct family_fit *f, double x, double x_first);

/* The answer of one family alone, fitted to these blocks; NAN where it has none. */
double plateau_family_answer(struct arena *a, const struct math_blocks *blocks,
                             const struct plateau_options *options, enum family_id id,
                             double tolerance);

/* ---- what to measure next
 * ------------------------------------------------------------------------- */

enum next_kind {
    NEXT_NONE,    /* nothing would sharpen the answer: the settings are as close as the press can */
    NEXT_EXTEND,  /* longer settings: the plateau is not in the data */
    NEXT_SHORTER, /* shorter settings: every tested one is on the plateau */
    NEXT_MIDWAY,  /* halve the gap of the neighbour bracket */
    NEXT_OPTIMAL, /* the setting that narrows the fitted answer most */
    NEXT_AROUND,  /* more shots at the two settings around the safe end */
    NEXT_REPEAT   /* more shots at the settings on the plateau, to show that it is flat */
};
struct plateau_next {
    enum next_kind kind;
    size_t n;
    double at[3];
    int shots;                              /* at each */
    double half_width_now, half_width_then; /* NAN when not predicted */
};
/* What: the further shots that would settle most, and what they are predicted to give.
 * Numerics of NEXT_OPTIMAL: c-optimal step, var(f) = g' (M + dM)^-1 g with M from blocks of
 * variance s_c^2 + s_r^2 / n. Source: Silvey, Optimal Design (1980), from memory. `step`: least
 * change of the setting; `shots`: shots per new block. At most two entries: a flatness request
 * first, then one for the interval. Returns how many. */
size_t plateau_next_shots(const struct math_blocks *blocks, const struct plateau_options *options,
                          const struct plateau_answer *answer, double step, int shots,
                          struct plateau_next out[2]);

/* Coordinate d of the i-th of n points spread over the unit cube: the first evenly, two more by
 * multiples of irrational numbers, the others by a hash. A draw that is the same every time. */
double math_even_point(size_t i, size_t d, size_t n);
/* The same as a standard normal. */
double math_even_normal(size_t i, size_t d, size_t n);
/* The same as what an sd estimated with dof degrees of freedom must be multiplied by to be the true
 * one. */
double math_even_scale(size_t i, size_t d, size_t n, double dof);
/* Numbers of further shots that are looked at, rising: 1 to 6, then rounder ones up to 200; 0
 * behind the last. */
int math_shots(size_t i);

#define MATH_PROMISE_KEPT 1.6 /* nine in ten follow-ups end within this many times the promise */
#define MATH_NARROWS 0.9      /* a half-width above this share of today's is not worth a promise */
#define MATH_DECIDED 0.75     /* share of follow-ups that more shots must decide to be named */
/* What may be promised of n follow-ups' half-widths (sorted for it, INFINITY where none is closed):
 * the median, moved by at most a fifth so that nineteen in twenty stay within MATH_PROMISE_KEPT
 * times of it (what is drawn knows only the fitted curves; the truth keeps nine in ten); NAN where
 * they scatter more than that. */
double math_promise(double *half, size_t n);

/* One more round of all conditions, told from the interval there is. */
struct math_round {
    double gap, half;       /* estimate to limit; half-width now, at `confidence` */
    double confidence, dof; /* dof: of the interval, from `conditions` of them */
    double conditions, n;   /* conditions; shots at each so far */
    double shot, condition; /* variances of a shot, and of a condition in excess of it */
};
/* Least number of shots at each condition of the round, of those of math_shots, after which the
 * interval lies on one side of the limit with at least the chance MATH_DECIDED; -1: none.
 * Model: the estimate of both rounds is the weighted mean of theirs, so it moves by
 * t sqrt(v_now - v_then), and v falls as 1 / (condition + shot / n) adds up.
 * Checked by: tests/property/test_next_shots.c. */
int math_round_to_decide(const struct math_round *r);

/* Further shots, run as one more round: `shots` at each of n settings. */
struct plateau_plan {
    const double *at;
    size_t n;
    int shots;
};
struct plateau_forecast {
    double half_width; /* that may be promised; NAN: none can be */
    double decided;    /* share of the follow-ups after which the verdict is no longer open; NAN */
};
/* What: what a plan would give. Follow-ups are drawn from what is known now (the families in play
 * by their weights with their standard error, the scatter of shots and of conditions), added to the
 * data, and analyzed. half_width: math_promise of half the interval's width; NAN also where there
 * is nothing to draw from (no repeats, no neighbours). Numerics: families are not fitted anew: a
 * further block moves parameters, covariance and residual sum to first order (a row added to a
 * linear least-squares problem), and the interval keeps its shape and narrows as the answer's
 * standard error does; choice, bracket and verdict are then those of plateau_find. Where the plan
 * makes families possible that had too little data, follow-ups are fitted. The draws are a fixed
 * set of evenly spread points, so the same data give the same forecast. Checked by:
 * tests/property/test_next_shots.c. */
void plateau_forecast(const struct math_blocks *blocks, const struct plateau_options *options,
                      const struct plateau_answer *answer, const struct plateau_plan *plan,
                      struct plateau_forecast *out);
/* Least number of further shots at each of the n settings that decides the verdict in at least
 * MATH_DECIDED of the follow-ups, of those of math_shots; -1: none of them.
 * Not for a verdict that is decided. */
int plateau_shots_to_decide(const struct math_blocks *blocks, const struct plateau_options *options,
                            const struct plateau_answer *answer, const double *at, size_t n);
/* The same for the two ends of the flat part alone (group rise_from and the last). */
int plateau_flat_end_shots(const struct math_blocks *blocks, const struct plateau_options *options,
                           const struct plateau_answer *answer);

/* ---- cavities: one answer for all, or not?
 * ------------------------------------------------------- */

struct cavity_compare {
    size_t n;         /* cavities */
    double f, d1, d2; /* F statistic of "all cavities have the same answer" */
    double p;         /* its tail; NAN when it cannot be tested */
    double *answer;   /* each cavity's own answer by the common family; NAN none */
    double *p_each;   /* Holm-adjusted tail of its own difference */
    long worst; /* the cavity that stands off most, when equality is rejected at 5 % or a cavity's
                 * own answer lies further than `most` from the common one; -1: none. Take it out,
                 * fit the rest again and compare anew: one slow cavity moves the mean away from all
                 * others. */
};

/* What: compares cavities on weight minus the shot's mean over cavities, so that a shot that is
 * heavy in all cavities moves none of them. Model: deviation of cavity c = a_c + b_c g(x; theta) +
 * sum_k e_ck dg/dtheta_k at the common theta; the test is e = 0 for all cavities, on block means,
 * error variance the larger of block means' and shots' residuals. Inputs: y[c][row], complete shots
 * only, rows as in `blocks` (the blocks of the shot means); `common` with best >= 0; `most` in x
 * units. Checked by: tests/unit/test_cavities.c. */
void plateau_cavities_compare(struct arena *a, const struct math_blocks *blocks,
                              const double *const *y, size_t cavities,
                              const struct plateau_answer *common,
                              const struct plateau_options *options, double most,
                              struct cavity_compare *out);

/* ---- suspicion
 * ------------------------------------------------------------------------------------ */

/* The step of the instrument behind n readings typed in steps of `step`: the greatest common
 * divisor of their differences, in multiples of step. A balance that prints three decimals may
 * count in 0.02 g. Below 12 readings step itself: few readings share a divisor by chance (2^-n for
 * 2). */
double math_reading_step(const double *v, size_t n, double step);

/* A row that stands off its block: studentised deletion residual against the pooled scatter within
 * blocks of all other rows, Bonferroni over rows. Their variance is never taken below
 * `least_variance`, that of the rounding: few readings that round alike are no proof of none. */
struct math_odd_row {
    size_t row;
    double distance; /* y minus the mean of the block's other rows */
    double p;        /* Bonferroni-adjusted */
    long nearer;     /* group whose mean it fits better than its own, or -1 */
};
/* Rows with p <= level, at most `most`, by row. Blocks of one row are passed over. */
size_t math_odd_rows(const struct math_blocks *b, const double *y, double level,
                     double least_variance, struct math_odd_row *out, size_t most);

struct math_first_shots {
    size_t blocks; /* with at least three rows */
    double mean;   /* of first shot minus the mean of the block's rest */
    double p;      /* two-sided t over blocks; NAN below three blocks */
};
struct math_first_shots math_first_shots(const struct math_blocks *b, const double *y);

/* Two-sided tail of Student's t. */
double math_two_sided_p(double t, double dof);

struct math_drift {
    double change; /* over the whole study, in the unit of y */
    double p;      /* two-sided; NAN where the design cannot tell */
    double dof;
    double told; /* share of time's variance that the setting leaves: 0 cannot be told from it */
};
/* What: do block means move with time, what the setting does taken out?
 * Model: y = a_group + b t + e, settings as they are; or, for the residuals of a fitted curve,
 * y = sum_j c_j tangent_j + b t + e, tangent_j the derivative of the curve by its j-th parameter (p
 * rows of m numbers): the curve has given way to the drift already, and the tangent takes account
 * of that. Weights w (shots of a block). The error variance is that of the blocks themselves, with
 * what is left of their degrees of freedom, so scatter from condition to condition raises no
 * alarm; it is never taken below least_variance (that of a mean of weight 1).
 * Inputs: m blocks in time order, weights > 0, group[i] < m. Numerics: the tangent is made
 * orthonormal by Gram and Schmidt, twice.
 * Checked by: tests/unit/test_suspicion.c (R's lm). */
struct math_drift math_drift_groups(struct arena *a, const double *time, const double *y,
                                    const double *w, const size_t *group, size_t m,
                                    double least_variance);
struct math_drift math_drift_curve(struct arena *a, const double *time, const double *residual,
                                   const double *w, const double *tangent, size_t p, size_t m,
                                   double least_variance);
/* One setting run twice, n_a and n_b shots: two-sided tail of the difference of its means against
 * the shots' scatter, with an allowance for scatter from condition to condition of the same size:
 * variance shot_sd^2 (2 + 1 / n_a + 1 / n_b). With one repeated setting nothing in the data tells
 * how well conditions repeat; the allowance is a convention. NAN without degrees of freedom. */
double math_revisit_p(double difference, size_t n_a, size_t n_b, double shot_sd, double dof);

struct math_spread {
    size_t at;          /* the condition that stands off most */
    double own, others; /* its sd, and the pooled one of the others */
    double p;           /* Bonferroni-adjusted over the conditions */
};
/* What: has one of k conditions a larger variance than the others?
 * Model: F = s_i^2 / pooled variance of the others, F(n_i - 1, sum of the others' n - 1), the
 * smallest tail times the number of conditions. For equal n this is Cochran's largest variance over
 * the sum of all, C = F / (F + k - 1). The pooled sd is never taken below least_sd, that of the
 * rounding of the readings. False when no condition can be compared.
 * Source: W. G. Cochran, Annals of Eugenics 11 (1941) 47; R. U. E. 't Lam, Analytica Chimica Acta
 * 659 (2010) 68 for unequal n; both from memory.
 * Checked by: tests/unit/test_suspicion.c (the critical values of ISO 5725-2, from memory). */
bool math_spread(const double *sd, const size_t *n, size_t k, double least_sd,
                 struct math_spread *out);

#endif
