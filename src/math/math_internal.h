/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared inside the math room. */
#ifndef MATH_INTERNAL_H
#define MATH_INTERNAL_H

#include "plateau/math.h"

/* GSL's default handler ends the program; every entry that may reach GSL calls this first. */
void math_quiet(void);

/* Minimum of fn in [a, b] around the interior point m with fn(m) <= fn(a), fn(b). Brent by GSL;
 * where the bracket is not one, m itself. Sets *value. */
double math_minimize(double (*fn)(double u, void *context), void *context, double a, double m,
                     double b, double *value);
/* The same for the value alone: ends when the value gains nothing more. Its place is then known to
 * a few digits only. (GSL's steps are never shorter than 1.5e-8, so waiting for a narrow interval
 * takes all the steps there are.) */
double math_least(double (*fn)(double u, void *context), void *context, double a, double m,
                  double b, double *value);
/* Where fn reaches `level` between a and b, fn(a) <= level < fn(b). Brent by GSL. */
double math_root(double (*fn)(double u, void *context), void *context, double level, double a,
                 double b);

/* ---- families ----------------------------------------------------------------------------------
 */

/* The data of one plateau problem, scaled. */
struct scaled {
    size_t m;
    const double *x, *y, *w; /* block means, weights = rows of the block */
    double x0;               /* first setting, scaled */
    double w_sum, y_mean;    /* weighted */
    size_t n_knots;
    const double *knots; /* distinct settings, sorted */
    double spacing;      /* least distance of neighbouring settings */
    const double *log_x; /* logarithms of x; unused where x <= 0 */
    double *g;           /* scratch, m */
};

/* x and y are scaled (x by its range, y by its spread), y rises. */
struct family {
    enum family_id id;
    const char *name, *formula;
    bool plateau, smooth;
    size_t n_theta;           /* of the plateau families: 1 or 2 */
    const char *parameter[5]; /* linear first, then theta */
    /* g >= 0 falling to 0; dg[n_theta] when not NULL */
    double (*g)(double x, const double *theta, double x0, double *dg);
    /* g of all x into s->g; NULL: by g above. For families that gain by doing it at once. */
    void (*g_all)(const struct scaled *s, const double *theta);
    /* x with g(x) = ratio, -INFINITY where every x lies below */
    double (*inverse)(double ratio, const double *theta, double x0);
};
const struct family *family_of(enum family_id id);

/* The linear part solved for given theta: S(theta, A) = s0 + (A - a)^2 d, P profiled out. */
struct inner {
    double s0, a, d, p, p_var; /* p_var: variance of P in units of sigma^2 */
};
bool family_inner(const struct family *f, const struct scaled *s, const double *theta,
                  struct inner *out);

struct extremes {
    double f_low, f_high; /* x of the answer */
    double p_low, p_high; /* plateau level */
    double c_low, c_high; /* theta[0]: the corner */
    bool open_top;        /* the region reaches the end of the plausible range */
};
/* The plausible range of each theta, scaled. */
void family_range(const struct family *f, const struct scaled *s, double low[2], double high[2]);
/* The best theta by scan and Brent, before the polish. False when A > 0 is nowhere better than A =
 * 0. */
bool family_search(const struct family *f, const struct scaled *s, double theta[2], double *s0);
/* Extremes of the answer over {theta, A: S <= crit}. best: the answer and the level where S is
 * least. */
void family_extremes(const struct family *f, const struct scaled *s, double crit, double delta,
                     double best_answer, double best_level, struct extremes *out);

/* The end of the profile interval near `rough`, on the side away from `best` (where S is least):
 * the value at which S, minimised with the answer (or the level) pinned to it, equals crit.
 * `theta`: where the rough end was found. Far outside the data: a value there. Smooth families
 * only. */
enum pinned_what { PINNED_ANSWER, PINNED_LEVEL };
double family_polish_end(const struct family *f, const struct scaled *s, enum pinned_what what,
                         double delta, double crit, double best, double rough,
                         const double theta[2]);

#endif
