/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the setting page promises, on simulated studies with a known truth: the press is set up anew
 * at the aim, which no study ran; its mean lies in the interval in 95 % of cases, and a single shot
 * raises an alarm in at most 0.5 %. Scatter from set-up to set-up 0, 1 and 2 times that of shots,
 * readings with fine and with coarse digits. PLATEAU_TRIALS sets the number of trials (400); the
 * stream is fixed. */
#include <stdlib.h>

#include "../unit/window_make.h"
#include "plateau/math.h"
#include "simulate.h"
#include "trials.h"

#define TRIALS 400
#define SETTINGS 8
#define UNITS (SETTINGS + 1) /* the fourth setting again at the end */
#define SHOTS 3
#define FRESH 20 /* shots of the new set-up */
#define COVERAGE 0.93
#define ALARMS 0.005
#define WIDEST                                                                                     \
    8.0 /* sd of a set-up's mean: limits that are wide enough for anything tell nothing */

struct cell {
    const char *name, *series, *response;
    double shot, unit; /* sd; of fill time and pressure as a share */
    double step;
};

static const struct cell cells[] = {
    {"fill time", "fill time", "fill_time", 0.004, 0.0, 0.001},
    {"fill time, scatter 1", "fill time", "fill_time", 0.004, 0.004, 0.001},
    {"fill time, scatter 2", "fill time", "fill_time", 0.004, 0.008, 0.001},
    {"fill time, coarse timer", "fill time", "fill_time", 0.002, 0.002, 0.01},
    {"fill time, timer hides all", "fill time", "fill_time", 0.0003, 0.0, 0.01},
    {"peak pressure", "peak pressure", "peak_pressure", 0.006, 0.0, 0.1},
    {"peak pressure, scatter 1", "peak pressure", "peak_pressure", 0.006, 0.006, 0.1},
    {"peak pressure, scatter 2", "peak pressure", "peak_pressure", 0.006, 0.012, 0.1},
    {"fitted pressure", "transfer pressure", "transfer_pressure", 0.006, 0.0, 0.1},
    {"fitted pressure, scatter 1", "transfer pressure", "transfer_pressure", 0.006, 0.006, 0.1},
    {"fitted pressure, scatter 2", "transfer pressure", "transfer_pressure", 0.006, 0.012, 0.1},
    {"cushion", "cushion", "cushion", 0.15, 0.0, 0.1},
    {"cushion, scatter 2", "cushion", "cushion", 0.15, 0.3, 0.1},
};

static bool relative(const struct cell *c)
{
    return strcmp(c->series, "cushion") != 0;
}

/* Speeds of 20 to 140 mm/s; hold times of 2 to 9 s for the cushion. */
static double setting(const struct cell *c, size_t i)
{
    size_t k = i < SETTINGS ? i : 3;
    return relative(c) ? 20.0 * pow(7.0, (double)k / (SETTINGS - 1)) : 2.0 + (double)k;
}

static double truth(const struct cell *c, double x)
{
    double t = 0.05 + 30.0 / x;
    if (!relative(c))
        return 5.3 - 0.05 * x;
    return strcmp(c->series, "fill time") == 0 ? t : 95.0 * pow(t, -0.3);
}

static double reading(const struct cell *c, struct sim_stream *s, double mean)
{
    double sd = relative(c) ? c->shot * mean : c->shot;
    return c->step * round((mean + sd * sim_normal(s)) / c->step);
}

static double set_up(const struct cell *c, struct sim_stream *s, double x)
{
    double t = truth(c, x), sd = relative(c) ? c->unit * t : c->unit;
    return t + sd * sim_normal(s);
}

static void add_unit(const struct cell *c, struct sim_stream *s, struct finding *f, size_t i)
{
    struct condition *k = finding_condition(f);
    double x = setting(c, i), mean = set_up(c, s, x), ss = 0.0;
    double y[SHOTS];
    k->series = c->series;
    k->setting = x;
    k->setting_dimension = relative(c) ? DIM_SPEED : DIM_TIME;
    k->dimension = strcmp(c->series, "fill time") == 0 ? DIM_TIME
                   : relative(c)                       ? DIM_PRESSURE
                                                       : DIM_LENGTH;
    k->n = SHOTS;
    k->mean = 0.0;
    for (size_t j = 0; j < SHOTS; j++) {
        y[j] = reading(c, s, mean);
        k->mean += y[j] / SHOTS;
    }
    for (size_t j = 0; j < SHOTS; j++)
        ss += (y[j] - k->mean) * (y[j] - k->mean);
    k->sd = sqrt(ss / (SHOTS - 1));
}

/* The straight line of ln pressure over ln fill time, with its interval, as a study would draw it.
 */
static void add_fit(struct finding *f)
{
    struct model *m = finding_model(f, "power law");
    m->chosen = true;
    m->n_parameters = 2;
    double mx = 0.0, my = 0.0, sxx = 0.0, sxy = 0.0, rss = 0.0;
    double x[UNITS], y[UNITS];
    for (size_t i = 0; i < UNITS; i++) {
        x[i] = log(0.05 + 30.0 / f->conditions[i].setting);
        y[i] = log(f->conditions[i].mean);
        mx += x[i] / UNITS;
        my += y[i] / UNITS;
    }
    for (size_t i = 0; i < UNITS; i++) {
        sxx += (x[i] - mx) * (x[i] - mx);
        sxy += (x[i] - mx) * (y[i] - my);
    }
    for (size_t i = 0; i < UNITS; i++) {
        double r = y[i] - my - sxy / sxx * (x[i] - mx);
        rss += r * r;
    }
    for (size_t i = 0; i < UNITS; i++) {
        struct condition *c = &f->conditions[i];
        double half = math_t_quantile(0.975, UNITS - 2) *
                      sqrt(rss / (UNITS - 2) * (1.0 / UNITS + (x[i] - mx) * (x[i] - mx) / sxx));
        double fitted = my + sxy / sxx * (x[i] - mx);
        c->fitted = exp(fitted);
        c->fitted_low = exp(fitted - half);
        c->fitted_high = exp(fitted + half);
    }
}

/* The fill times of the speeds, exact: pressure is read over them. */
static void add_fill_times(struct finding *f)
{
    for (size_t i = 0; i < UNITS; i++) {
        struct condition *k = finding_condition(f);
        *k = f->conditions[i];
        k->series = "fill time";
        k->dimension = DIM_TIME;
        k->mean = 0.05 + 30.0 / k->setting;
        k->fitted = k->fitted_low = k->fitted_high = NAN;
        k->sd = 0.0;
    }
}

static void build(const struct cell *c, struct sim_stream *s, struct made *m)
{
    made_new(m);
    if (relative(c)) { /* aim sqrt(30 x 80) = 49.0, between two settings */
        made_bound(m, "viscosity", "injection_speed", BOUND_LOWER, 30, 29);
        made_bound(m, "viscosity", "injection_speed", BOUND_UPPER, 80, 81);
    } else { /* 5.8 + 0.5 = 6.3 */
        made_bound(m, "gate-freeze", "hold_time", BOUND_LOWER, 5.8, 5.1);
    }
    struct finding *f = &m->f[0];
    for (size_t i = 0; i < UNITS; i++)
        add_unit(c, s, f, i);
    if (strcmp(c->series, "transfer pressure") == 0)
        add_fit(f);
    if (relative(c) && strcmp(c->series, "fill time") != 0)
        add_fill_times(f);
    char *name = arena_printf(m->a, "%s_step", c->response);
    finding_quantity(f, name, name, DIM_COUNT)->value = c->step;
}

static void keeps_its_promise(void **state)
{
    const struct cell *c = *state;
    size_t n = sim_trials(TRIALS, 0), covered = 0;
    struct trials_mean width = {0.0, 0.0, 0.0}, alarms = {0.0, 0.0, 0.0};
    double variance = c->unit * c->unit + c->shot * c->shot / SHOTS;
    for (size_t i = 0; i < n; i++) {
        struct sim_stream s = {((uint64_t)(c - cells) * 1000003u + i) * 0xD1342543DE82EF95u};
        struct made m;
        build(c, &s, &m);
        made_window(&m);
        const struct expected_response *r = made_expected(&m, c->response);
        assert_non_null(r);
        double aim = relative(c) ? made_setting(&m, "injection_speed")->aim
                                 : made_setting(&m, "hold_time")->aim;
        double mean = set_up(c, &s, aim);
        covered += r->low <= mean && mean <= r->high;
        double scale = relative(c) ? r->value : 1.0;
        double sd = sqrt(variance * scale * scale + c->step * c->step / 12.0);
        trials_add(&width, (r->high - r->low) / sd);
        size_t beyond = 0;
        for (size_t k = 0; k < FRESH; k++) {
            double y = reading(c, &s, mean);
            beyond += y < r->alarm_low || y > r->alarm_high;
        }
        trials_add(&alarms, (double)beyond / FRESH);
        made_free(&m);
    }
    double share = (double)covered / (double)n;
    print_message("%-28s covered %.3f, false alarms %.4f, mean width %.1f sd of a mean\n", c->name,
                  share, trials_mean(&alarms), trials_mean(&width));
    assert_true(share_upper_99(share, (double)n) >= COVERAGE);
    assert_true(trials_lower_99(&alarms) <= ALARMS);
    assert_true(trials_lower_99(&width) <= WIDEST);
}

int main(void)
{
    struct CMUnitTest tests[PL_COUNT(cells)];
    for (size_t i = 0; i < PL_COUNT(cells); i++)
        tests[i] = (struct CMUnitTest){cells[i].name, keeps_its_promise, NULL, NULL,
                                       (void *)(uintptr_t)&cells[i]};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
