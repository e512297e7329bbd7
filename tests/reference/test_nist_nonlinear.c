/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The fit engine on NIST's certified nonlinear problems, scored in digits of agreement. Each
 * problem is written in separable form, so the engine finds it by its scan, without starting
 * values; where the published starting values lead there too, that is tested as well. */
#include <math.h>
#include <string.h>

#include "near.h"
#include "nist_nonlinear.h"
#include "plateau/math.h"

#define DIGITS 6.0

static bool rise(double x, const double *theta, double *phi, double *dphi, const void *context)
{
    (void)context;
    phi[0] = 1.0 - exp(-theta[0] * x);
    if (dphi != NULL)
        dphi[0] = x * exp(-theta[0] * x);
    return isfinite(phi[0]);
}

static bool power(double x, const double *theta, double *phi, double *dphi, const void *context)
{
    (void)context;
    phi[0] = pow(x, theta[0]);
    if (dphi != NULL)
        dphi[0] = phi[0] * log(x);
    return isfinite(phi[0]);
}

static bool ratkowsky2(double x, const double *theta, double *phi, double *dphi,
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

static bool ratkowsky3(double x, const double *theta, double *phi, double *dphi,
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

static bool two_decays(double x, const double *theta, double *phi, double *dphi,
                       const void *context)
{
    (void)context;
    phi[0] = 1.0;
    phi[1] = exp(-x * theta[0]);
    phi[2] = exp(-x * theta[1]);
    if (dphi != NULL) {
        memset(dphi, 0, 6 * sizeof *dphi);
        dphi[2] = -x * phi[1];
        dphi[5] = -x * phi[2];
    }
    return isfinite(phi[1]) && isfinite(phi[2]);
}

/* exp(-b1 x) / (b2 + b3 x) with linear part 1 / b2 and theta = b1, b3 / b2 */
static bool chwirut(double x, const double *theta, double *phi, double *dphi, const void *context)
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

struct form {
    const char *name;
    struct separable s;
    struct separable_range range[3];
    bool start1, start2; /* published starts that lead to the certified values */
};

static const struct form forms[] = {
    {"Misra1a", {"Misra1a", 1, 1, rise, NULL}, {{1e-6, 1e-1, true, 60}}, true, true},
    {"Chwirut2",
     {"Chwirut2", 1, 2, chwirut, NULL},
     {{1e-3, 10.0, true, 20}, {1e-2, 100.0, true, 20}},
     true,
     true},
    {"Chwirut1",
     {"Chwirut1", 1, 2, chwirut, NULL},
     {{1e-3, 10.0, true, 20}, {1e-2, 100.0, true, 20}},
     true,
     true},
    {"DanWood", {"DanWood", 1, 1, power, NULL}, {{0.5, 10.0, false, 40}}, true, true},
    {"MGH17",
     {"MGH17", 3, 2, two_decays, NULL},
     {{1e-3, 1e-1, true, 16}, {1.1e-3, 1.1e-1, true, 16}},
     false,
     true},
    {"BoxBOD", {"BoxBOD", 1, 1, rise, NULL}, {{1e-2, 1e1, true, 60}}, false, true},
    {"Rat42",
     {"Rat42", 1, 2, ratkowsky2, NULL},
     {{-2.0, 10.0, false, 24}, {1e-3, 1.0, true, 24}},
     true,
     true},
    {"Rat43",
     {"Rat43", 1, 3, ratkowsky3, NULL},
     {{-2.0, 12.0, false, 15}, {0.05, 3.0, true, 15}, {0.2, 5.0, true, 10}},
     true,
     true},
};

static const struct nist_problem *problem_of(const char *name)
{
    for (size_t i = 0; i < PL_COUNT(nist_problems); i++)
        if (strcmp(nist_problems[i].name, name) == 0)
            return &nist_problems[i];
    fail_msg("no data for %s", name);
    return NULL;
}

/* Chwirut's own parameters from the separable form's, with their covariance. */
static void to_published(const struct form *f, struct separable_fit *fit)
{
    if (f->s.basis != chwirut)
        return;
    double l = fit->parameter[0], b1 = fit->parameter[1], r = fit->parameter[2];
    /* rows: b1, b2 = 1 / l, b3 = r / l; columns: l, b1, r */
    const double j[3][3] = {
        {0.0, 1.0, 0.0}, {-1.0 / (l * l), 0.0, 0.0}, {-r / (l * l), 0.0, 1.0 / l}};
    double c[3][3] = {{0.0}};
    for (size_t a = 0; a < 3; a++)
        for (size_t b = 0; b < 3; b++)
            for (size_t k = 0; k < 3; k++)
                for (size_t m = 0; m < 3; m++)
                    c[a][b] += j[a][k] * fit->covariance[k][m] * j[b][m];
    fit->parameter[0] = b1;
    fit->parameter[1] = 1.0 / l;
    fit->parameter[2] = r / l;
    for (size_t a = 0; a < 3; a++)
        for (size_t b = 0; b < 3; b++)
            fit->covariance[a][b] = c[a][b];
}

static void from_published(const struct form *f, double *start)
{
    if (f->s.basis != chwirut)
        return;
    double b1 = start[0], b2 = start[1], b3 = start[2];
    start[0] = 1.0 / b2;
    start[1] = b1;
    start[2] = b3 / b2;
}

static void assert_certified(const struct form *f, const struct nist_problem *p,
                             struct separable_fit *fit)
{
    to_published(f, fit);
    assert_int_equal(fit->rank, (int)p->p);
    assert_lre(fit->rss, p->rss, 8.0);
    /* the two decays of MGH17 may come in either order */
    size_t order[5] = {0, 1, 2, 3, 4};
    if (f->s.basis == two_decays && fit->parameter[3] > fit->parameter[4]) {
        order[1] = 2;
        order[2] = 1;
        order[3] = 4;
        order[4] = 3;
    }
    for (size_t k = 0; k < p->p; k++) {
        assert_lre(fit->parameter[order[k]], p->b[k].certified, DIGITS);
        assert_lre(sqrt(fit->covariance[order[k]][order[k]]), p->b[k].sd, DIGITS);
    }
}

static void split(const struct nist_problem *p, double *x, double *y)
{
    for (size_t i = 0; i < p->n; i++) {
        y[i] = p->data[i][0];
        x[i] = p->data[i][1];
    }
}

static void by_scan(void **state)
{
    const struct form *f = *state;
    const struct nist_problem *p = problem_of(f->name);
    double x[300], y[300];
    struct separable_fit fit;
    struct error e = {.code = ERR_NONE};
    split(p, x, y);
    assert_int_equal(separable_fit_scan(&f->s, f->range, x, y, NULL, p->n, &fit, &e), ERR_NONE);
    assert_certified(f, p, &fit);
}

static void from_starts(void **state)
{
    const struct form *f = *state;
    const struct nist_problem *p = problem_of(f->name);
    double x[300], y[300], start[5];
    struct separable_fit fit;
    split(p, x, y);
    for (int which = 1; which <= 2; which++) {
        if (!(which == 1 ? f->start1 : f->start2))
            continue;
        struct error e = {.code = ERR_NONE};
        for (size_t k = 0; k < p->p; k++)
            start[k] = which == 1 ? p->b[k].start1 : p->b[k].start2;
        from_published(f, start);
        assert_int_equal(separable_fit_from(&f->s, start, x, y, NULL, p->n, &fit, &e), ERR_NONE);
        assert_certified(f, p, &fit);
    }
}

static void refuses_what_it_cannot_fit(void **state)
{
    (void)state;
    const struct form *f = &forms[0];
    double x[] = {1.0, 2.0}, y[] = {1.0, 2.0}, bad[] = {1.0, NAN, 2.0, 3.0}, x4[] = {1, 2, 3, 4};
    struct separable_fit fit;
    struct error e = {.code = ERR_NONE};
    assert_int_equal(separable_fit_scan(&f->s, f->range, x, y, NULL, 2, &fit, &e), ERR_NUMERIC);
    e.code = ERR_NONE;
    assert_int_equal(separable_fit_scan(&f->s, f->range, x4, bad, NULL, 4, &fit, &e), ERR_NUMERIC);
}

int main(void)
{
    static char names[2 * PL_COUNT(forms)][40];
    struct CMUnitTest tests[2 * PL_COUNT(forms) + 1];
    size_t n = 0;
    for (size_t i = 0; i < PL_COUNT(forms); i++) {
        snprintf(names[n], sizeof names[n], "%s by scan", forms[i].name);
        tests[n] = (struct CMUnitTest){names[n], by_scan, NULL, NULL, (void *)(uintptr_t)&forms[i]};
        n++;
        snprintf(names[n], sizeof names[n], "%s from published starts", forms[i].name);
        tests[n] =
            (struct CMUnitTest){names[n], from_starts, NULL, NULL, (void *)(uintptr_t)&forms[i]};
        n++;
    }
    tests[n] = (struct CMUnitTest)cmocka_unit_test(refuses_what_it_cannot_fit);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
