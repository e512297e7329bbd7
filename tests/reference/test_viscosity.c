/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Viscosity against values that do not come from this code: exact arithmetic, least squares by R,
 * measured fills. The R lines that made a value stand beside it. */
#include <math.h>
#include <string.h>

#include "near.h"
#include "plateau/math_viscosity.h"

#define FILLS 10
static const double fills[FILLS] = {5, 3.2, 2.2, 1.6, 1.2, 0.9, 0.7, 0.55, 0.45, 0.38};
static const struct visc_options exact = {0.95, 0.0, 0.0, 0.10, 0.05};

static void single_shots(const double *t, const double *p, size_t n, struct visc_unit *u)
{
    for (size_t i = 0; i < n; i++) {
        visc_unit_make(&t[i], &p[i], 1, &u[i]);
        u[i].group = i;
    }
}

static void solve(struct arena *a, const double *p, struct visc_answer *r)
{
    struct visc_unit u[FILLS];
    struct error e = {0};
    single_shots(fills, p, FILLS, u);
    assert_int_equal(visc_solve(a, u, FILLS, &exact, r, &e), ERR_NONE);
}

/* P = 9000 psi s^0.3 x g^0.30. Knee (a) by its closed form
 * g^(n-1) = 0.05 (g1^(n-1) - g2^(n-1)) / (0.9^(n-1) - 1); chord by its own; the broken stick by R:
 *   t <- c(5, 3.2, 2.2, 1.6, 1.2, .9, .7, .55, .45, .38); g <- 1/t; e <- 9000 * g^.3 * t
 *   f <- function(psi) sum(lm.fit(cbind(1, g, pmax(g - psi, 0)), e)$residuals^2)
 *   optimize(f, c(.5, .56), tol = 1e-12)$minimum   # 0.53283679 */
static void exact_power_law(void **state)
{
    (void)state;
    double psi = 0.00689475729316836; /* MPa, exact */
    for (int metric = 0; metric < 2; metric++) {
        struct arena *a = arena_new();
        struct visc_answer r;
        double p[FILLS], unit = metric ? psi : 1.0;
        for (size_t i = 0; i < FILLS; i++)
            p[i] = 9000.0 * unit * pow(1.0 / fills[i], 0.30);
        solve(a, p, &r);
        assert_int_equal(r.best, VISC_POWER);
        assert_lre(r.line.slope, 0.30, 9);
        assert_lre(r.model[VISC_POWER].value[1], 0.30, 9);
        assert_lre(r.model[VISC_POWER].value[0], 9000.0 * unit, 9);
        assert_lre(r.slowest, 5.0, 12);
        assert_lre(r.fastest, 0.38, 12);
        double g1 = 0.2, g2 = 1.0 / 0.38, d = -0.7;
        double knee = pow(0.05 * (pow(g1, d) - pow(g2, d)) / (pow(0.9, d) - 1.0), 1.0 / d);
        assert_int_equal(r.state, VISC_KNEE_FOUND);
        assert_lre(r.sensitivity.value, 1.0 / knee, 9);
        assert_near(1.0 / r.sensitivity.value, 0.4751, 0, 5e-5);
        assert_near(r.sensitivity.value, 2.105, 0, 5e-4);
        assert_near(1.0 / r.chord.value, 0.7835, 0, 5e-5);
        assert_lre(1.0 / r.stick.value, 0.53283679, 6);
        assert_true(r.power_in_play && r.follows_range);
        arena_free(a);
    }
}

/* Published nowhere: the closed form evaluated by hand for n = 0.3. */
static void chord_closed_form(void **state)
{
    (void)state;
    assert_near(visc_chord_of_power_law(0.3, 0.2, 2.0), 0.6731, 0, 5e-5);
    assert_near(visc_chord_of_power_law(0.3, 0.2, 5.0), 1.1224, 0, 5e-5);
    assert_near(visc_chord_of_power_law(0.3, 0.2, 10.0), 1.6643, 0, 5e-5);
}

/*   t <- c(5, 3.2, 2.2, 1.6, 1.2, .9, .7, .55, .45, .38); g <- 1/t
 *   y <- log(c(28.4, 33.6, 40, 45.8, 53.1, 61, 70.5, 80.4, 91.1, 100.5))
 *   l <- lm(y ~ log(g)); confint(l)
 *   s <- nls(y ~ h + log(g^n + exp(q) * g), start = list(h = 3.7, n = .3, q = -.8)); vcov(s) */
static void line_and_sisko_by_r(void **state)
{
    (void)state;
    static const double p[FILLS] = {28.4, 33.6, 40.0, 45.8, 53.1, 61.0, 70.5, 80.4, 91.1, 100.5};
    struct arena *a = arena_new();
    struct visc_answer r;
    solve(a, p, &r);
    assert_lre(r.line.slope, 0.494882546551, 10);
    assert_lre(r.line.slope_low, 0.466198078244, 10);
    assert_lre(r.line.slope_high, 0.523567014858, 10);
    assert_lre(r.model[VISC_POWER].rss_units, 0.00828866773367, 9);
    assert_lre(log(r.model[VISC_POWER].value[0]), 4.090847551929, 10);
    const struct visc_fit *f = &r.model[VISC_SISKO];
    assert_int_equal(r.best, VISC_SISKO);
    assert_string_equal(f->parameter[0], "e_inf");
    assert_lre(f->value[0], 18.01161778, 6);
    assert_string_equal(f->parameter[1], "K");
    assert_lre(f->value[1], 39.97790504, 6);
    assert_string_equal(f->parameter[2], "n");
    assert_lre(f->value[2], 0.2991037328, 6);
    assert_lre(f->rss_units, 0.0002024249132, 9);
    /* K = e^h and e_inf = e^(h + q): var(h) = 4.8734595e-4, var(n) = 1.4233063e-4, var(h + q) =
     * 4.8734595e-4 + 4.25756651e-3 - 2 x 1.43577101e-3 = 1.87337044e-3 */
    assert_lre(sqrt(f->covariance[2][2]), sqrt(1.4233063e-4), 5);
    assert_lre(sqrt(f->covariance[1][1]), 39.97790504 * sqrt(4.8734595e-4), 5);
    assert_lre(sqrt(f->covariance[0][0]), 18.01161778 * sqrt(1.87337044e-3), 5);
    assert_true(r.curved && !r.power_in_play);
    arena_free(a);
}

/*   y <- log(c(13.8, 19.3, 25.7, 31.7, 38.7, 46.6, 53.8, 62.3, 69.6, 76.7))
 *   nls(y ~ e0 + log(g) - log(1 + exp((1 - n) * (ll + log(g)))), start = list(e0 = 4.6, n = .35, ll
 * = .4)) y <- log(c(17.9, 26.8, 36.2, 47.1, 57.8, 68.9, 78.4, 88.1, 95.6, 102.3)) nls(y ~ e0 +
 * log(g) + (n - 1) / 2 * log(1 + exp(2 * (ll + log(g)))), start = list(e0 = 4.6, n = .3, ll = 0))
 */
static void cross_and_carreau_by_r(void **state)
{
    (void)state;
    static const double p1[FILLS] = {13.8, 19.3, 25.7, 31.7, 38.7, 46.6, 53.8, 62.3, 69.6, 76.7};
    static const double p2[FILLS] = {17.9, 26.8, 36.2, 47.1, 57.8, 68.9, 78.4, 88.1, 95.6, 102.3};
    struct arena *a = arena_new();
    struct visc_answer r;
    solve(a, p1, &r);
    const struct visc_fit *f = &r.model[VISC_CROSS];
    assert_lre(f->value[0], 102.3337233, 6);
    assert_lre(f->value[1], 1.615872458, 6);
    assert_lre(f->value[2], 0.3621871929, 6);
    assert_lre(f->rss_units, 0.0001759584628, 8);
    assert_lre(sqrt(f->covariance[0][0]) / f->value[0], 0.029564437, 5);
    assert_lre(sqrt(f->covariance[1][1]) / f->value[1], 0.097249411, 5);
    assert_lre(sqrt(f->covariance[2][2]), 0.016582797, 5);
    solve(a, p2, &r);
    f = &r.model[VISC_CARREAU];
    assert_lre(f->value[0], 90.355927746, 6);
    assert_lre(f->value[1], 1.383551000, 6);
    assert_lre(f->value[2], 0.3689117897, 6);
    assert_lre(f->rss_units, 0.0007769176207, 8);
    assert_lre(sqrt(f->covariance[0][0]) / f->value[0], 0.0087763331, 5);
    assert_lre(sqrt(f->covariance[1][1]) / f->value[1], 0.0579175418, 5);
    assert_lre(sqrt(f->covariance[2][2]), 0.0250271633, 5);
    arena_free(a);
}

/* Shots that scatter alike in MPa, fill times that repeat: weights stand as the squares of the
 * (geometric) mean pressures.
 *   x <- -log(t); m <- colMeans(log(p)); s <- colSums(sweep(log(p), 2, m)^2) # p: 3 rows, 10
 * columns h <- exp(2 * (mean(m) - m)); 20 * log(sum(s) / sum(s / h)) - 2 * sum(log(h))  # 7.9185
 * > 2.7055 w <- 30 * exp(2 * m) / sum(exp(2 * m)); l <- lm(m ~ x, weights = w); confint(l) f <-
 * deriv(~ e0 + x + (n - 1) / 2 * log(1 + exp(2 * (ll + x))), c("e0", "n", "ll"), function(e0, n,
 * ll, x) NULL) nls(m ~ f(e0, n, ll, x), start = list(e0 = 5, n = .34, ll = .9), weights = w) The
 * residual variance of the means is the larger one here. */
static void alike_in_pressure_by_r(void **state)
{
    (void)state;
    static const double p[FILLS][3] = {
        {28.3, 27.8, 27.9},    {40.0, 40.1, 39.6},   {51.8, 52.3, 52.5}, {62.5, 62.0, 62.4},
        {72.0, 72.4, 71.9},    {81.7, 81.2, 81.0},   {90.2, 90.3, 90.7}, {99.0, 98.6, 99.1},
        {106.5, 106.1, 106.0}, {112.8, 113.3, 113.2}};
    struct arena *a = arena_new();
    struct visc_unit u[FILLS];
    struct visc_answer r;
    struct error e = {0};
    for (size_t i = 0; i < FILLS; i++) {
        const double t[3] = {fills[i], fills[i], fills[i]};
        visc_unit_make(t, p[i], 3, &u[i]);
        u[i].group = i;
    }
    assert_int_equal(visc_solve(a, u, FILLS, &exact, &r, &e), ERR_NONE);
    assert_int_equal(r.line.law, VISC_ALIKE);
    assert_false(r.line.either_law);
    assert_lre(r.line.slope, 0.4587966110279, 10);
    assert_lre(r.line.slope_low, 0.4029477702835, 10);
    assert_lre(r.line.slope_high, 0.5146454517723, 10);
    const struct visc_fit *f = &r.model[VISC_CARREAU];
    assert_int_equal(r.best, VISC_CARREAU);
    assert_lre(f->value[0], 150.53133026728, 7);
    assert_lre(f->value[1], 2.51572536537, 7);
    assert_lre(f->value[2], 0.340319448374, 7);
    assert_lre(f->rss_units, 0.000152604553685, 8);
    assert_lre(sqrt(f->covariance[0][0]) / f->value[0], 0.00678761841, 6);
    assert_lre(sqrt(f->covariance[1][1]) / f->value[1], 0.01861929387, 6);
    assert_lre(sqrt(f->covariance[2][2]), 0.00376355360, 6);
    arena_free(a);
}

/* ---- measured fills
 * -------------------------------------------------------------------------------- Means and sds of
 * a two-cavity machine log (public repository
 * RasmusSpangsberg/manually_labeled_injection_molding_data_set_analysis; figures only): fill time,
 * highest melt pressure, shots. The shots here are drawn and shifted so that they have exactly
 * these means and sds. */

struct batch {
    double t, t_sd, p, p_sd;
    size_t n;
};

static double standard(unsigned *seed)
{
    double sum = 0.0; /* twelve uniforms */
    for (int i = 0; i < 12; i++) {
        *seed = *seed * 1664525u + 1013904223u;
        sum += *seed / 4294967296.0;
    }
    return sum - 6.0;
}

static void draw(double mean, double sd, size_t n, unsigned *seed, double *out)
{
    double sum = 0.0, ss = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += out[i] = standard(seed);
    for (size_t i = 0; i < n; i++)
        ss += (out[i] - sum / (double)n) * (out[i] - sum / (double)n);
    for (size_t i = 0; i < n; i++)
        out[i] = mean + sd * (out[i] - sum / (double)n) / sqrt(ss / (double)(n - 1));
}

static void measured_fills(void **state)
{
    (void)state;
    static const struct batch batches[3] = {{0.1020, 0.0, 537.9, 12.5, 46},
                                            {0.2000, 0.0, 442.8, 3.9, 19},
                                            {0.1736, 0.0041, 383.6, 1.05, 20}};
    struct arena *a = arena_new();
    struct visc_unit u[3];
    double t[46], p[46];
    const double none[3] = {PL_NAN, PL_NAN, PL_NAN};
    struct visc_options o = exact;
    o.time_step = 0.0001;
    o.pressure_step = 0.1;
    unsigned seed = 3;
    for (size_t i = 0; i < 3; i++) {
        draw(batches[i].t, batches[i].t_sd, batches[i].n, &seed, t);
        draw(batches[i].p, batches[i].p_sd, batches[i].n, &seed, p);
        visc_unit_make(t, p, batches[i].n, &u[i]);
        u[i].group = i;
    }
    struct visc_doubt doubt[3];
    visc_find_limited(a, u, 3, none, none, none, &o, doubt);
    assert_int_equal(doubt[0].what, VISC_FREE);
    assert_int_equal(doubt[1].what, VISC_FREE);
    assert_int_equal(doubt[2].what, VISC_PRESSURE_LIMITED);
    assert_near(doubt[2].off, 0.17, 0, 0.005);
    struct visc_line line;
    struct error e = {0};
    assert_int_equal(visc_line_fit(a, u, 2, &o, &line, &e), ERR_NONE);
    assert_near(line.slope, 0.289, 0, 0.001);
    assert_true(isnan(line.slope_low)); /* two settings: no interval */
    /* barrel 30 K colder: 714.1 bar at 0.1028 s; at 0.102 s 716 bar, 33.1 % above 537.9 */
    double cold = 714.1 * pow(0.1028 / 0.102, line.slope);
    assert_near(cold, 716.0, 0.01, 0);
    assert_near(cold / 537.9 - 1.0, 0.331, 0, 0.01);
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exact_power_law),        cmocka_unit_test(chord_closed_form),
        cmocka_unit_test(line_and_sisko_by_r),    cmocka_unit_test(cross_and_carreau_by_r),
        cmocka_unit_test(alike_in_pressure_by_r), cmocka_unit_test(measured_fills),
    };
    return cmocka_run_group_tests_name("viscosity", tests, NULL, NULL);
}
