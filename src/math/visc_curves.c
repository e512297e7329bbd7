/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The curves of ln P over ln g, written so that neither end of a parameter's range loses digits: at
 * one end every curved model is a power law. */
#include <math.h>

#include "math/visc_internal.h"

size_t visc_theta(enum visc_model_id id)
{
    return id == VISC_POWER ? 1 : 2;
}

const char *visc_name(enum visc_model_id id)
{
    static const char *const names[VISC_MODELS] = {"power law", "Sisko", "Cross", "Carreau"};
    return names[id];
}

const char *visc_formula(enum visc_model_id id)
{
    static const char *const formulas[VISC_MODELS] = {"P = K g^n", "P = e_inf g + K g^n",
                                                      "P = e0 g / (1 + (lambda g)^(1 - n))",
                                                      "P = e0 g (1 + (lambda g)^2)^((n - 1) / 2)"};
    return formulas[id];
}

/* The bend may lie decades outside the tested range on either side; farther out nobody could tell.
 */
void visc_theta_range(enum visc_model_id id, const struct visc_data *d, size_t k, double *low,
                      double *high)
{
    double reach = fmax(fabs(d->x_low), fabs(d->x_high));
    if (k == 0) {
        *low = id == VISC_POWER ? -1.0 : 0.01;
        *high = id == VISC_POWER ? 2.0 : 0.98;
        return;
    }
    *low = id == VISC_SISKO ? -12.0 - reach : -8.0 - reach;
    *high = id == VISC_SISKO ? 8.0 + reach : 12.0 + reach;
}

/* ln(1 + e^v) */
static double softplus(double v)
{
    return v > 0.0 ? v + log1p(exp(-v)) : log1p(exp(v));
}

static double logistic(double v)
{
    return v > 0.0 ? 1.0 / (1.0 + exp(-v)) : exp(v) / (1.0 + exp(v));
}

double visc_curve(enum visc_model_id id, const double *theta, double x)
{
    double n = theta[0];
    switch (id) {
    case VISC_SISKO:
        return n * x + softplus(theta[1] + (1.0 - n) * x) - softplus(theta[1]);
    case VISC_CROSS:
        return x - softplus(theta[1] + (1.0 - n) * x) + softplus(theta[1]);
    case VISC_CARREAU:
        return x + 0.5 * (n - 1.0) * (softplus(2.0 * (theta[1] + x)) - softplus(2.0 * theta[1]));
    case VISC_POWER:
    case VISC_MODELS:
        break;
    }
    return n * x;
}

void visc_curve_gradient(enum visc_model_id id, const double *theta, double x, double *d)
{
    double n = theta[0], s, s0;
    switch (id) {
    case VISC_SISKO:
    case VISC_CROSS:
        s = logistic(theta[1] + (1.0 - n) * x);
        s0 = logistic(theta[1]);
        d[0] = id == VISC_SISKO ? x * (1.0 - s) : x * s;
        d[1] = id == VISC_SISKO ? s - s0 : s0 - s;
        return;
    case VISC_CARREAU:
        d[0] = 0.5 * (softplus(2.0 * (theta[1] + x)) - softplus(2.0 * theta[1]));
        d[1] = (n - 1.0) * (logistic(2.0 * (theta[1] + x)) - logistic(2.0 * theta[1]));
        return;
    case VISC_POWER:
    case VISC_MODELS:
        break;
    }
    d[0] = x;
}

double visc_curve_slope(enum visc_model_id id, const double *theta, double x)
{
    double n = theta[0];
    switch (id) {
    case VISC_SISKO:
        return n + (1.0 - n) * logistic(theta[1] + (1.0 - n) * x);
    case VISC_CROSS:
        return 1.0 - (1.0 - n) * logistic(theta[1] + (1.0 - n) * x);
    case VISC_CARREAU:
        return 1.0 + (n - 1.0) * logistic(2.0 * (theta[1] + x));
    case VISC_POWER:
    case VISC_MODELS:
        break;
    }
    return n;
}

/* With u = g / g0, ln g0 = center, and h = ln P at g0:
 * power    K = e^h g0^-n
 * Sisko    P = H (u^n + c u), H = e^h / (1 + c), c = e^theta1: K = H g0^-n, e_inf = H c / g0
 * Cross    P = H u / (1 + k u^(1-n)), H = e^h (1 + k), k = e^theta1: e0 = H / g0,
 *          lambda = k^(1/(1-n)) / g0
 * Carreau  lambda = e^theta1 / g0, e0 = e^h (1 + e^(2 theta1))^((1-n)/2) / g0
 * The logarithm of each value is differentiated, then multiplied by the value. */
void visc_unscale(enum visc_model_id id, const struct visc_data *d, double height,
                  const double *theta, double *value, const char **names, double jacobian[3][3])
{
    double n = theta[0], h = height + d->y0, c = d->log_center;
    double s = id == VISC_POWER ? 0.0 : logistic(theta[1]);
    double lse = id == VISC_POWER ? 0.0 : softplus(theta[1]);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            jacobian[i][j] = 0.0;
    switch (id) {
    case VISC_SISKO:
        names[0] = "e_inf", names[1] = "K", names[2] = "n";
        value[0] = exp(h - lse + theta[1] - c);
        value[1] = exp(h - lse - n * c);
        value[2] = n;
        jacobian[0][0] = value[0], jacobian[0][2] = value[0] * (1.0 - s);
        jacobian[1][0] = value[1], jacobian[1][1] = -c * value[1], jacobian[1][2] = -s * value[1];
        jacobian[2][1] = 1.0;
        return;
    case VISC_CROSS:
        names[0] = "e0", names[1] = "lambda", names[2] = "n";
        value[0] = exp(h + lse - c);
        value[1] = exp(theta[1] / (1.0 - n) - c);
        value[2] = n;
        jacobian[0][0] = value[0], jacobian[0][2] = s * value[0];
        jacobian[1][1] = value[1] * theta[1] / ((1.0 - n) * (1.0 - n));
        jacobian[1][2] = value[1] / (1.0 - n);
        jacobian[2][1] = 1.0;
        return;
    case VISC_CARREAU:
        lse = softplus(2.0 * theta[1]);
        names[0] = "e0", names[1] = "lambda", names[2] = "n";
        value[0] = exp(h + 0.5 * (1.0 - n) * lse - c);
        value[1] = exp(theta[1] - c);
        value[2] = n;
        jacobian[0][0] = value[0], jacobian[0][1] = -0.5 * lse * value[0];
        jacobian[0][2] = (1.0 - n) * logistic(2.0 * theta[1]) * value[0];
        jacobian[1][2] = value[1];
        jacobian[2][1] = 1.0;
        return;
    case VISC_POWER:
    case VISC_MODELS:
        break;
    }
    names[0] = "K", names[1] = "n";
    value[0] = exp(h - n * c);
    value[1] = n;
    jacobian[0][0] = value[0], jacobian[0][1] = -c * value[0];
    jacobian[1][1] = 1.0;
}
