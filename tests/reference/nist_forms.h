/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * NIST's nonlinear regression problems written for the fit engine: y = sum of linear parameters
 * times functions of x and theta. Twenty-six are so as published or after renaming; Roszman1 needs
 * one row more (see there). */
#ifndef TESTS_NIST_FORMS_H
#define TESTS_NIST_FORMS_H

#include <math.h>
#include <string.h>

#include "nist_nonlinear.h"
#include "plateau/math.h"

#define NIST_PI 3.141592653589793238462643383279
#define MOST_ORDERS 6
#define ROSZMAN_LAST 1e300 /* x of the row that is not data */

struct nist_form {
    const char *name;
    struct separable s;
    struct separable_range range[5];
    /* published starts that lead to the certified values */
    bool start1, start2;
    /* which parameter of the fit is published parameter k; several where terms may change places */
    size_t order[MOST_ORDERS][9];
    size_t n_orders; /* 0: the fit's own order */
};

/* ---- one term ---------------------------------------------------------------------------------
 */

static bool form_rise(double x, const double *theta, double *phi, double *dphi, const void *context)
{
    (void)context;
    phi[0] = -expm1(-theta[0] * x);
    if (dphi != NULL)
        dphi[0] = x * exp(-theta[0] * x);
    return isfinite(phi[0]);
}

static bool form_misra1b(double x, const double *theta, double *phi, double *dphi,
                         const void *context)
{
    (void)context;
    double q = 1.0 + theta[0] * x / 2.0;
    phi[0] = 1.0 - 1.0 / (q * q);
    if (dphi != NULL)
        dphi[0] = x / (q * q * q);
    return q > 0.0;
}

static bool form_misra1c(double x, const double *theta, double *phi, double *dphi,
                         const void *context)
{
    (void)context;
    double q = 1.0 + 2.0 * theta[0] * x;
    phi[0] = 1.0 - 1.0 / sqrt(q);
    if (dphi != NULL)
        dphi[0] = x / (q * sqrt(q));
    return q > 0.0;
}

static bool form_misra1d(double x, const double *theta, double *phi, double *dphi,
                         const void *context)
{
    (void)context;
    double q = 1.0 + theta[0] * x;
    phi[0] = theta[0] * x / q;
    if (dphi != NULL)
        dphi[0] = x / (q * q);
    return q > 0.0;
}

static bool form_power(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    phi[0] = pow(x, theta[0]);
    if (dphi != NULL)
        dphi[0] = phi[0] * log(x);
    return isfinite(phi[0]);
}

static bool form_rat42(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    double e = exp(theta[0] - theta[1] * x);
    phi[0] = 1.0 / (1.0 + e);
    if (dphi != NULL) {
        dphi[0] = -e * phi[0] * phi[0];
        dphi[1] = x * e * phi[0] * phi[0];
    }
    return isfinite(e);
}

static bool form_rat43(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    double e = exp(theta[0] - theta[1] * x), b = theta[2];
    if (!(b > 0.0))
        return false;
    phi[0] = pow(1.0 + e, -1.0 / b);
    if (dphi != NULL) {
        double d = -phi[0] * e / (b * (1.0 + e));
        dphi[0] = d;
        dphi[1] = -x * d;
        dphi[2] = phi[0] * log1p(e) / (b * b);
    }
    return isfinite(e);
}

static bool form_bennett5(double x, const double *theta, double *phi, double *dphi,
                          const void *context)
{
    (void)context;
    double q = theta[0] + x, b = theta[1];
    if (!(q > 0.0) || !(b > 0.0))
        return false;
    phi[0] = pow(q, -1.0 / b);
    if (dphi != NULL) {
        dphi[0] = -phi[0] / (b * q);
        dphi[1] = phi[0] * log(q) / (b * b);
    }
    return isfinite(phi[0]);
}

static bool form_mgh10(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    double q = x + theta[1];
    phi[0] = exp(theta[0] / q);
    if (dphi != NULL) {
        dphi[0] = phi[0] / q;
        dphi[1] = -phi[0] * theta[0] / (q * q);
    }
    return q > 0.0 && isfinite(phi[0]);
}

static bool form_mgh09(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    double over = x * x + x * theta[0], under = x * x + x * theta[1] + theta[2];
    phi[0] = over / under;
    if (dphi != NULL) {
        dphi[0] = x / under;
        dphi[1] = -x * over / (under * under);
        dphi[2] = -over / (under * under);
    }
    return under > 0.0;
}

static bool form_eckerle4(double x, const double *theta, double *phi, double *dphi,
                          const void *context)
{
    (void)context;
    double s = theta[0], z = (x - theta[1]) / s;
    if (!(s > 0.0))
        return false;
    phi[0] = exp(-z * z / 2.0) / s;
    if (dphi != NULL) {
        dphi[0] = phi[0] * (z * z - 1.0) / s;
        dphi[1] = phi[0] * z / s;
    }
    return true;
}

/* exp(-b1 x) / (b2 + b3 x) with linear part 1 / b2 and theta = b1, b3 / b2 */
static bool form_chwirut(double x, const double *theta, double *phi, double *dphi,
                         const void *context)
{
    (void)context;
    double q = 1.0 + theta[1] * x;
    phi[0] = exp(-theta[0] * x) / q;
    if (dphi != NULL) {
        dphi[0] = -x * phi[0];
        dphi[1] = -x * phi[0] / q;
    }
    return q > 0.0 && isfinite(phi[0]);
}

/* ---- several terms ----------------------------------------------------------------------------
 */

/* theta: rates; linear: [a constant], one amplitude a rate */
static bool decays(size_t n, size_t constant, double x, const double *theta, double *phi,
                   double *dphi)
{
    bool ok = true;
    if (dphi != NULL)
        memset(dphi, 0, (n + constant) * n * sizeof *dphi);
    if (constant > 0)
        phi[0] = 1.0;
    for (size_t k = 0; k < n; k++) {
        phi[constant + k] = exp(-x * theta[k]);
        ok = ok && isfinite(phi[constant + k]);
        if (dphi != NULL)
            dphi[(constant + k) * n + k] = -x * phi[constant + k];
    }
    return ok;
}

static bool form_mgh17(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    return decays(2, 1, x, theta, phi, dphi);
}

static bool form_lanczos(double x, const double *theta, double *phi, double *dphi,
                         const void *context)
{
    (void)context;
    return decays(3, 0, x, theta, phi, dphi);
}

/* exp(-b2 x), two bells (b4, b5), (b7, b8) */
static bool form_gauss(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    phi[0] = exp(-theta[0] * x);
    if (dphi != NULL) {
        memset(dphi, 0, 15 * sizeof *dphi);
        dphi[0] = -x * phi[0];
    }
    for (size_t k = 0; k < 2; k++) {
        double s = theta[2 * k + 2], z = (x - theta[2 * k + 1]) / s;
        phi[k + 1] = exp(-z * z);
        if (dphi != NULL) {
            dphi[(k + 1) * 5 + 2 * k + 1] = 2.0 * z / s * phi[k + 1];
            dphi[(k + 1) * 5 + 2 * k + 2] = 2.0 * z * z / s * phi[k + 1];
        }
    }
    return theta[2] > 0.0 && theta[4] > 0.0 && isfinite(phi[0]);
}

/* powers of x up to n_over - 1 over 1 + theta[0] x + theta[1] x^2 + ... */
static bool rational(size_t n_over, size_t n_under, double x, const double *theta, double *phi,
                     double *dphi)
{
    double under = 0.0, power = 1.0;
    for (size_t k = n_under; k > 0; k--)
        under = (under + theta[k - 1]) * x;
    under += 1.0;
    for (size_t j = 0; j < n_over; j++, power *= x)
        phi[j] = power / under;
    if (dphi != NULL)
        for (size_t j = 0; j < n_over; j++) {
            power = x;
            for (size_t k = 0; k < n_under; k++, power *= x)
                dphi[j * n_under + k] = -phi[j] * power / under;
        }
    return under > 0.0;
}

static bool form_kirby2(double x, const double *theta, double *phi, double *dphi,
                        const void *context)
{
    (void)context;
    return rational(3, 2, x, theta, phi, dphi);
}

static bool form_cubics(double x, const double *theta, double *phi, double *dphi,
                        const void *context)
{
    (void)context;
    return rational(4, 3, x, theta, phi, dphi);
}

/* a constant and three waves: of 12 months and of periods theta; cosine, sine each */
static bool form_enso(double x, const double *theta, double *phi, double *dphi, const void *context)
{
    (void)context;
    phi[0] = 1.0;
    if (dphi != NULL)
        memset(dphi, 0, 14 * sizeof *dphi);
    for (size_t k = 0; k < 3; k++) {
        double period = k == 0 ? 12.0 : theta[k - 1], u = 2.0 * NIST_PI * x / period;
        phi[2 * k + 1] = cos(u);
        phi[2 * k + 2] = sin(u);
        if (dphi != NULL && k > 0) {
            dphi[(2 * k + 1) * 2 + k - 1] = sin(u) * u / period;
            dphi[(2 * k + 2) * 2 + k - 1] = -cos(u) * u / period;
        }
    }
    return theta[0] > 0.0 && theta[1] > 0.0;
}

/* log y = b1 - b2 x1 exp(-b3 x2); x is the number of the row */
static bool form_nelson(double x, const double *theta, double *phi, double *dphi,
                        const void *context)
{
    const double *row = nist_nelson[(size_t)x];
    (void)context;
    phi[0] = 1.0;
    phi[1] = -row[1] * exp(-theta[0] * row[2]);
    if (dphi != NULL) {
        dphi[0] = 0.0;
        dphi[1] = -row[2] * phi[1];
    }
    return isfinite(phi[1]);
}

/* b1 - b2 x - atan(b3 / (x - b4)) / pi has a term without a factor. The whole is given a factor,
 * theta = b1 .. b4, and a last row at x = infinity with y = 1 and a large weight holds it at 1;
 * that row takes away the degree of freedom that it brings. */
static bool form_roszman1(double x, const double *theta, double *phi, double *dphi,
                          const void *context)
{
    (void)context;
    if (x >= ROSZMAN_LAST) {
        phi[0] = 1.0;
        if (dphi != NULL)
            memset(dphi, 0, 4 * sizeof *dphi);
        return true;
    }
    double d = x - theta[3], q = d * d + theta[2] * theta[2];
    phi[0] = theta[0] - theta[1] * x - atan(theta[2] / d) / NIST_PI;
    if (dphi != NULL) {
        dphi[0] = 1.0;
        dphi[1] = -x;
        dphi[2] = -d / (NIST_PI * q);
        dphi[3] = -theta[2] / (NIST_PI * q);
    }
    return isfinite(phi[0]);
}

/* ---- the list ---------------------------------------------------------------------------------
 */

#define MISRA(name, basis)                                                                         \
    {                                                                                              \
        name, {name, 1, 1, basis, NULL}, {{1e-6, 1e-1, true, 60}}, true, true, {{0}}, 0            \
    }
#define CHWIRUT(name)                                                                              \
    {                                                                                              \
        name, {name, 1, 2, form_chwirut, NULL}, {{1e-3, 10.0, true, 20}, {1e-2, 100.0, true, 20}}, \
            true, true, {{0}}, 0                                                                   \
    }
#define LANCZOS(name)                                                                              \
    {                                                                                              \
        name, {name, 3, 3, form_lanczos, NULL},                                                    \
            {{0.1, 10.0, true, 12}, {0.1, 10.0, true, 12}, {0.1, 10.0, true, 12}}, true, true,     \
            {{0, 3, 1, 4, 2, 5}, {0, 3, 2, 5, 1, 4}, {1, 4, 0, 3, 2, 5},                           \
             {1, 4, 2, 5, 0, 3}, {2, 5, 0, 3, 1, 4}, {2, 5, 1, 4, 0, 3}},                          \
            6                                                                                      \
    }
#define GAUSS(name)                                                                                \
    {                                                                                              \
        name, {name, 3, 5, form_gauss, NULL},                                                      \
            {{1e-3, 1e-1, true, 5},                                                                \
             {20.0, 230.0, false, 8},                                                              \
             {8.0, 60.0, true, 4},                                                                 \
             {20.0, 230.0, false, 8},                                                              \
             {8.0, 60.0, true, 4}},                                                                \
            true, true, {{0, 3, 1, 4, 5, 2, 6, 7}, {0, 3, 2, 6, 7, 1, 4, 5}}, 2                    \
    }

static const struct nist_form nist_forms[] = {
    {"Bennett5",
     {"Bennett5", 1, 2, form_bennett5, NULL},
     {{1.0, 1000.0, true, 25}, {0.1, 10.0, true, 25}},
     true,
     true,
     {{0}},
     0},
    {"BoxBOD", {"BoxBOD", 1, 1, form_rise, NULL}, {{1e-2, 1e1, true, 60}}, false, true, {{0}}, 0},
    CHWIRUT("Chwirut1"),
    CHWIRUT("Chwirut2"),
    {"DanWood",
     {"DanWood", 1, 1, form_power, NULL},
     {{0.5, 10.0, false, 40}},
     true,
     true,
     {{0}},
     0},
    {"ENSO",
     {"ENSO", 7, 2, form_enso, NULL},
     {{15.0, 90.0, true, 30}, {15.0, 90.0, true, 30}},
     true,
     true,
     {{0, 1, 2, 7, 3, 4, 8, 5, 6}, {0, 1, 2, 8, 5, 6, 7, 3, 4}},
     2},
    {"Eckerle4",
     {"Eckerle4", 1, 2, form_eckerle4, NULL},
     {{1.0, 100.0, true, 20}, {400.0, 500.0, false, 30}},
     false,
     true,
     {{0}},
     0},
    GAUSS("Gauss1"),
    GAUSS("Gauss2"),
    GAUSS("Gauss3"),
    {"Hahn1",
     {"Hahn1", 4, 3, form_cubics, NULL},
     {{-0.02, 0.02, false, 17}, {1e-5, 1e-2, true, 13}, {-1e-6, 1e-6, false, 17}},
     true,
     true,
     {{0}},
     0},
    {"Kirby2",
     {"Kirby2", 3, 2, form_kirby2, NULL},
     {{-0.01, 0.01, false, 25}, {1e-6, 1e-3, true, 25}},
     true,
     true,
     {{0}},
     0},
    LANCZOS("Lanczos1"),
    LANCZOS("Lanczos2"),
    LANCZOS("Lanczos3"),
    {"MGH09",
     {"MGH09", 1, 3, form_mgh09, NULL},
     {{1e-2, 10.0, true, 15}, {1e-2, 10.0, true, 15}, {1e-2, 10.0, true, 15}},
     true,
     true,
     {{0}},
     0},
    {"MGH10",
     {"MGH10", 1, 2, form_mgh10, NULL},
     {{1e3, 1e5, true, 30}, {10.0, 2000.0, true, 30}},
     false,
     true,
     {{0}},
     0},
    {"MGH17",
     {"MGH17", 3, 2, form_mgh17, NULL},
     {{1e-3, 1e-1, true, 16}, {1.1e-3, 1.1e-1, true, 16}},
     false,
     true,
     {{0, 1, 2, 3, 4}, {0, 2, 1, 4, 3}},
     2},
    MISRA("Misra1a", form_rise),
    MISRA("Misra1b", form_misra1b),
    MISRA("Misra1c", form_misra1c),
    MISRA("Misra1d", form_misra1d),
    {"Nelson", {"Nelson", 2, 1, form_nelson, NULL}, {{-0.2, 0.2, false, 60}}, true, true, {{0}}, 0},
    {"Rat42",
     {"Rat42", 1, 2, form_rat42, NULL},
     {{-2.0, 10.0, false, 24}, {1e-3, 1.0, true, 24}},
     true,
     true,
     {{0}},
     0},
    {"Rat43",
     {"Rat43", 1, 3, form_rat43, NULL},
     {{-2.0, 12.0, false, 15}, {0.05, 3.0, true, 15}, {0.2, 5.0, true, 10}},
     true,
     true,
     {{0}},
     0},
    {"Roszman1",
     {"Roszman1", 1, 4, form_roszman1, NULL},
     {{0.0, 0.0, false, 0}},
     true,
     true,
     {{1, 2, 3, 4}},
     1},
    {"Thurber",
     {"Thurber", 4, 3, form_cubics, NULL},
     {{0.0, 2.0, false, 15}, {0.0, 1.0, false, 15}, {0.0, 0.2, false, 15}},
     true,
     true,
     {{0}},
     0},
};

#endif
