/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Curves of weight against hold time: y = P - A g(x; theta), g falling to 0. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "coverage.h"

#define FIRST 2.0 /* where the exponentials begin */

struct shape_form {
    const char *name;
    size_t thetas;
    bool corner;
    double a, theta[SHAPE_THETAS]; /* g, s */
};

/* 20.3 to 21.5 g over 2 to 9 s, frozen within 0.1 % between 5.2 and 6.2 s. */
static const struct shape_form forms[SHAPES] = {
    [SHAPE_EXPONENTIAL] = {"exponential", 1, false, 1.2, {0.8}},
    [SHAPE_LINEAR_PLATEAU] = {"linear-plateau", 1, true, 0.3, {5.37}},
    [SHAPE_QUADRATIC_PLATEAU] = {"quadratic-plateau", 1, true, 0.068, {6.2}},
    [SHAPE_LOGISTIC] = {"logistic", 2, false, 1.2, {4.0, 0.5}},
    [SHAPE_STRETCHED] = {"stretched", 2, false, 1.2, {3.2, 2.5}},
    [SHAPE_TWO_EXPONENTIALS] = {"two-exponentials", 3, false, 1.2, {3.0, 0.5, 1.2}},
    [SHAPE_HILL] = {"hill", 2, false, 1.2, {3.2, 8.0}},
    [SHAPE_GOMPERTZ] = {"gompertz", 2, false, 1.2, {3.5, 0.55}},
    [SHAPE_LINE] = {"line", 0, false, 0.1, {0.0}},
    [SHAPE_LOGARITHM] = {"logarithm", 0, false, 0.35, {0.0}},
};

enum shape shape_find(const char *name)
{
    for (int s = 0; s < SHAPES; s++)
        if (strcmp(forms[s].name, name) == 0)
            return (enum shape)s;
    fprintf(stderr, "coverage: no curve %s\n", name);
    abort();
}

bool shape_levels(enum shape s)
{
    return s < SHAPE_LINE;
}

bool shape_corner(enum shape s)
{
    return forms[s].corner;
}

size_t shape_thetas(enum shape s)
{
    return forms[s].thetas;
}

double shape_g(enum shape s, double x, const double *t)
{
    double d;
    switch (s) {
    case SHAPE_EXPONENTIAL:
        return exp(-(x - FIRST) / t[0]);
    case SHAPE_LINEAR_PLATEAU:
        return fmax(0.0, t[0] - x);
    case SHAPE_QUADRATIC_PLATEAU:
        d = fmax(0.0, t[0] - x);
        return d * d;
    case SHAPE_LOGISTIC:
        return 1.0 / (1.0 + exp((x - t[0]) / t[1]));
    case SHAPE_STRETCHED:
        return exp(-pow(x / t[0], t[1]));
    case SHAPE_TWO_EXPONENTIALS: /* t[0]: fast share over slow share */
        return (t[0] * exp(-(x - FIRST) / t[1]) + exp(-(x - FIRST) / t[2])) / (1.0 + t[0]);
    case SHAPE_HILL:
        return 1.0 / (1.0 + pow(x / t[0], t[1]));
    case SHAPE_GOMPERTZ:
        return -expm1(-exp(-(x - t[0]) / t[1]));
    case SHAPE_LINE:
    case SHAPE_LOGARITHM:
    case SHAPES:
        break;
    }
    return NAN;
}

void truth_of(const struct cov_cell *c, struct arena *a, struct curve_truth *out)
{
    enum shape s = shape_find(cov_word(a, c, "truth"));
    *out = (struct curve_truth){.shape = s, .plateau = SIM_PLATEAU, .a = forms[s].a};
    memcpy(out->theta, forms[s].theta, sizeof out->theta);
    out->theta[0] = cov_number(c, "theta", out->theta[0]);
    out->a = cov_number(c, "amplitude", out->a);
}

double truth_value(const struct curve_truth *t, double x)
{
    x -= t->late;
    if (t->shape == SHAPE_LINE)
        return 20.0 + t->a * x;
    if (t->shape == SHAPE_LOGARITHM)
        return 20.0 + t->a * log(x);
    return t->plateau - t->a * shape_g(t->shape, x, t->theta);
}

double truth_answer(const struct curve_truth *t, double tolerance)
{
    double low = 0.01, high = 200.0;
    if (!shape_levels(t->shape))
        return PL_INF;
    for (int i = 0; i < 100; i++) {
        double middle = (low + high) / 2.0;
        if (t->plateau - truth_value(t, middle) > tolerance)
            low = middle;
        else
            high = middle;
    }
    return high;
}
