/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * False alarms of the flags that every study shares, on clean simulated trials of four studies:
 * with scatter from condition to condition 0 and 1 times that of the shots, on fine and coarse
 * scales, run in the order of the setting, in mixed order, and in mixed order with the first
 * setting again at the end. The files are written as text and read again, with trial.ini and beside
 * each other, so that the checks between files see clean files too. At most 1 % of the trials of a
 * study may raise a flag, at most 5 % any. `one-direction` tells of the order, which is no chance:
 * it must be raised where the order is that of the setting, and is counted apart. PLATEAU_TRIALS
 * sets the number of trials a cell (12 by default; there are 12); the bars allow for three standard
 * errors of the simulation. The stream is fixed, so a result is reproducible. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/study.h"
#include "simulate.h"

#define TRIALS 12
#define STUDIES 4
#define CODES_MOST 16
#define SETTINGS_MOST 9

static const char *const study_names[STUDIES] = {"cavity-balance", "gate-freeze", "pressure-drop",
                                                 "viscosity"};

enum order { IN_ORDER, MIXED, MIXED_AND_AGAIN, ORDERS };
static const char *const order_names[ORDERS] = {"in order", "mixed", "mixed, first again"};

struct clean {
    double condition; /* sd of a condition over that of a shot */
    enum order order;
    bool coarse;
};

static const char ini[] =
    "[press]\nmax_injection_pressure = 2200 bar\npressure_basis = melt\n"
    "intensification_ratio = 10.2\ntime_step = 0.1 s\n[mold]\npart_weight = 21.6 g\n"
    "[running]\nhold_time = 7 s\ncooling_time = 9 s\ncycle_time = 40 s\nfill_time = 0.5 s\n"
    "hold_pressure = 500 bar\n";

static double rounded(double v, double step)
{
    return round(v / step) * step;
}

/* The order in which n settings are run; returns how many conditions that makes. */
static size_t run_order(struct sim_stream *r, size_t n, enum order order, size_t *out)
{
    for (size_t i = 0; i < n; i++)
        out[i] = i;
    for (size_t i = n; order != IN_ORDER && i > 1; i--) {
        size_t j = (size_t)(sim_uniform(r) * (double)i), keep = out[i - 1];
        out[i - 1] = out[j];
        out[j] = keep;
    }
    if (order == MIXED_AND_AGAIN)
        out[n++] = out[0];
    return n;
}

static void write_gate_freeze(struct text *t, struct sim_stream *r, const struct clean *c)
{
    static const enum sim_truth truths[] = {SIM_EXPONENTIAL, SIM_LINEAR_PLATEAU, SIM_LOGISTIC,
                                            SIM_TWO_EXPONENTIALS};
    enum sim_truth truth = truths[(size_t)(sim_uniform(r) * 4.0)];
    double sd = 0.0065, step = c->coarse ? 0.01 : 0.001;
    size_t order[SETTINGS_MOST + 1], n = run_order(r, 8, c->order, order);
    size_t shots = sim_uniform(r) < 0.5 ? 3 : 5;
    text_add(t, "hold time [s],cooling time [s],hold pressure [bar],weight [g]\n");
    for (size_t i = 0; i < n; i++) {
        double hold = 2.0 + (double)order[i], off = c->condition * sd * sim_normal(r);
        for (size_t k = 0; k < shots; k++)
            text_addf(t, "%.1f,%.1f,500,%.3f\n", hold, 14.0 - hold,
                      rounded(sim_weight(truth, hold) + off + sd * sim_normal(r), step));
    }
}

static void write_viscosity(struct text *t, struct sim_stream *r, const struct clean *c)
{
    double sd = 0.005, timer = c->coarse ? 0.01 : 0.001, step = c->coarse ? 5.0 : 0.1;
    size_t order[SETTINGS_MOST + 1], n = run_order(r, 8, c->order, order);
    size_t shots = sim_uniform(r) < 0.5 ? 3 : 5;
    text_add(t, "injection speed [mm/s],fill time [s],transfer pressure [bar],peak pressure "
                "[bar]\n");
    for (size_t i = 0; i < n; i++) {
        double speed = round(10.0 * pow(18.0, (double)order[i] / 7.0));
        double off = c->condition * sd * sim_normal(r);
        for (size_t k = 0; k < shots; k++) {
            double fill = 33.0 / speed * exp(0.003 * sim_normal(r));
            double p = 900.0 * pow(fill, -0.28) * exp(off + sd * sim_normal(r));
            text_addf(t, "%.0f,%.3f,%.1f,%.1f\n", speed, rounded(fill, timer), rounded(p, step),
                      rounded(p * (1.012 + 0.002 * sim_uniform(r)), step));
        }
    }
}

/* Scatter alike in pressure, or a share of it. Run in order: once, as the melt flows. */
static void write_pressure_drop(struct text *t, struct sim_stream *r, const struct clean *c)
{
    static const double level[4] = {380.0, 620.0, 900.0, 1180.0};
    static const char *const stage[4] = {"nozzle", "runner", "gate", "part"};
    bool share = sim_uniform(r) < 0.5;
    double step = c->coarse ? 10.0 : 0.1;
    size_t shots = sim_uniform(r) < 0.5 ? 3 : 5, rounds = c->order == IN_ORDER ? 1 : 2;
    text_add(t, "stage,peak pressure [bar],injection speed [mm/s],fill time [s]\n");
    for (size_t round = 0; round < rounds; round++) {
        size_t order[SETTINGS_MOST + 1], n = 4;
        run_order(r, n, c->order == MIXED && round > 0 ? MIXED : IN_ORDER, order);
        for (size_t i = 0; i < n; i++) {
            double p = level[order[i]], sd = share ? 0.008 * p : 5.0;
            double off = c->condition * sd * sim_normal(r);
            for (size_t k = 0; k < shots; k++)
                text_addf(t, "%s,%.1f,90,%.2f\n", stage[order[i]],
                          rounded(p + off + sd * sim_normal(r), step),
                          rounded(0.26 + 0.04 * (double)order[i] + 0.002 * sim_normal(r), 0.01));
        }
    }
}

static void write_cavity_balance(struct text *t, struct sim_stream *r, const struct clean *c)
{
    static const double fills[3] = {0.85, 0.90, 0.95};
    static const double share[4] = {1.0, 0.985, 1.01, 0.99};
    double own = 0.006, step = c->coarse ? 0.02 : 0.001;
    size_t order[SETTINGS_MOST + 1], n = run_order(r, 3, c->order, order);
    text_add(t, "fill [%],weight c1 [g],weight c2 [g],weight c3 [g],weight c4 [g]\n");
    for (size_t i = 0; i < n; i++) {
        double off = c->condition * 0.02 * sim_normal(r);
        for (size_t k = 0; k < 5; k++) {
            double all = off + 0.02 * sim_normal(r);
            text_addf(t, "%.0f", 100.0 * fills[order[i]]);
            for (size_t j = 0; j < 4; j++)
                text_addf(
                    t, ",%.3f",
                    rounded(21.0 * fills[order[i]] * share[j] + all + own * sim_normal(r), step));
            text_add_char(t, '\n');
        }
    }
}

static void write_table(size_t study, struct text *t, struct sim_stream *r, const struct clean *c)
{
    static void (*const writers[STUDIES])(struct text *, struct sim_stream *,
                                          const struct clean *) = {
        write_cavity_balance, write_gate_freeze, write_pressure_drop, write_viscosity};
    writers[study](t, r, c);
}

/* ---- counting ------------------------------------------------------------------------------- */

struct tally {
    size_t trials, any;
    size_t code[CODES_MOST];
    size_t directed, in_order; /* one-direction, and trials whose order asks for it */
};

static size_t code_index(const char *code)
{
    size_t n;
    const struct flag_spec *flags = study_flags(&n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(flags[i].code, code) == 0)
            return i;
    return CODES_MOST;
}

static void count(const struct finding *f, const struct clean *c, struct tally *t)
{
    bool seen[CODES_MOST] = {false}, any = false;
    size_t direction = code_index("one-direction");
    for (size_t i = 0; i < f->n_flags; i++) {
        size_t k = code_index(f->flags[i].code);
        if (k < CODES_MOST)
            seen[k] = true;
    }
    for (size_t k = 0; k < CODES_MOST; k++) {
        t->code[k] += seen[k] && k != direction;
        any = any || (seen[k] && k != direction);
    }
    t->trials++;
    t->any += any;
    t->directed += seen[direction];
    t->in_order += c->order == IN_ORDER;
}

static void one_trial(const struct clean *c, uint64_t seed, struct tally tallies[STUDIES])
{
    struct arena *a = arena_new();
    struct sim_stream r = {seed * 0xD1342543DE82EF95u + 0x632BE59BD9B4E019u};
    struct study_input inputs[STUDIES];
    struct diag_list diags;
    struct trial trial = {.tables = ARENA_ARRAY(a, struct table, STUDIES), .n_tables = STUDIES};
    struct error e = {.code = ERR_NONE};
    for (size_t i = 0; i < STUDIES; i++) {
        const struct study *s = study_find(study_names[i]);
        inputs[i] = (struct study_input){s->name, s->columns, s->n_columns};
    }
    struct read_request request = {inputs, STUDIES, NULL, 0};
    diag_init(&diags, a);
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", ini, strlen(ini), &request, &trial.facts, &diags, &e),
        ERR_NONE);
    for (size_t i = 0; i < STUDIES; i++) {
        struct text t;
        text_init(&t, a);
        write_table(i, &t, &r, c);
        assert_int_equal(table_load_bytes(a, arena_printf(a, "%s.csv", study_names[i]), t.s,
                                          t.length, &inputs[i], &trial.facts, &trial.tables[i],
                                          &diags, &e),
                         ERR_NONE);
    }
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_ERROR)
            fail_msg("%s: %s", diags.items[i].code, diags.items[i].message);
    trial_fill_display(a, &trial);
    for (size_t i = 0; i < STUDIES; i++) {
        const struct study *s = study_find(study_names[i]);
        struct finding f;
        finding_init(&f, a, s->name, s->title);
        assert_int_equal(study_run(s, &trial, &trial.tables[i], &f, &e), ERR_NONE);
        count(&f, c, &tallies[i]);
        if (getenv("PLATEAU_SHOW") != NULL)
            for (size_t k = 0; k < f.n_flags; k++)
                if (code_index(f.flags[k].code) < CODES_MOST &&
                    strcmp(f.flags[k].code, "one-direction") != 0)
                    print_message("%s, condition sd %.0f, %s, %s scale: %s: %s\n", s->name,
                                  c->condition, order_names[c->order],
                                  c->coarse ? "coarse" : "fine", f.flags[k].code, f.flags[k].text);
    }
    arena_free(a);
}

/* Above the rate by more than three standard errors of the simulation. */
static bool above(size_t count_, size_t trials, double rate)
{
    double n = (double)trials;
    return (double)count_ > n * rate + 3.0 * sqrt(n * rate * (1.0 - rate));
}

static void print_tally(const char *name, const struct tally *t)
{
    size_t n;
    const struct flag_spec *flags = study_flags(&n);
    print_message("%s: %zu clean trials, any flag in %zu (%.2f %%)\n", name, t->trials, t->any,
                  100.0 * (double)t->any / (double)t->trials);
    for (size_t k = 0; k < n; k++)
        if (t->code[k] > 0)
            print_message("    %-20s %zu (%.2f %%)\n", flags[k].code, t->code[k],
                          100.0 * (double)t->code[k] / (double)t->trials);
    if (t->directed > 0)
        print_message("    one-direction: %zu; run in order: %zu\n", t->directed, t->in_order);
}

static void clean_trials(void **state)
{
    (void)state;
    struct tally all[STUDIES] = {{0}};
    const char *said = getenv("PLATEAU_TRIALS");
    size_t trials = said != NULL && atol(said) > 0 ? (size_t)atol(said) : TRIALS;
    uint64_t seed = 0;
    for (size_t i = 0; i < 2 * ORDERS * 2; i++) {
        struct clean c = {(double)(i % 2), (enum order)(i / 2 % ORDERS), i / (2 * ORDERS) > 0};
        for (size_t k = 0; k < trials; k++)
            one_trial(&c, 40000 + seed++, all);
    }
    for (size_t i = 0; i < STUDIES; i++)
        print_tally(study_names[i], &all[i]);
    for (size_t i = 0; i < STUDIES; i++) {
        assert_false(above(all[i].any, all[i].trials, 0.05));
        for (size_t k = 0; k < CODES_MOST; k++)
            if (above(all[i].code[k], all[i].trials, 0.01))
                fail_msg("%s: flag %zu in %zu of %zu trials", study_names[i], k, all[i].code[k],
                         all[i].trials);
        bool told =
            strcmp(study_names[i], "gate-freeze") == 0 || strcmp(study_names[i], "viscosity") == 0;
        assert_true(all[i].directed >= (told ? all[i].in_order : 0));
        assert_true(told || all[i].directed == 0);
    }
}

/* ---- what an order hides -------------------------------------------------------------------- */

struct hidden {
    size_t missed, flagged; /* the interval does not hold the truth; `drift` */
};

/* Gate-freeze with a drift over the study of so many tolerances. */
static struct hidden drifting(enum order order, double drift, size_t trials)
{
    struct hidden out = {0, 0};
    const double tolerance = 0.001 * SIM_PLATEAU, truth = sim_freeze(SIM_EXPONENTIAL, tolerance);
    for (size_t i = 0; i < trials; i++) {
        struct arena *a = arena_new();
        struct sim_stream r = {(90000 + i) * 0xD1342543DE82EF95u};
        const struct study *s = study_find("gate-freeze");
        struct study_input input = {s->name, s->columns, s->n_columns};
        struct trial trial = {.tables = ARENA_NEW(a, struct table), .n_tables = 1};
        struct diag_list diags;
        struct error e = {.code = ERR_NONE};
        struct finding f;
        struct text t;
        size_t at[SETTINGS_MOST + 1], n = run_order(&r, 8, order, at);
        text_init(&t, a);
        diag_init(&diags, a);
        text_add(&t, "hold time [s],weight [g]\n");
        for (size_t k = 0; k < 3 * n; k++) {
            double hold = 2.0 + (double)at[k / 3], on = (double)(k / 3) / (double)(n - 1);
            text_addf(&t, "%.1f,%.3f\n", hold,
                      sim_weight(SIM_EXPONENTIAL, hold) + drift * tolerance * on +
                          0.2 * tolerance * sim_normal(&r));
        }
        assert_int_equal(table_load_bytes(a, "gate-freeze.csv", t.s, t.length, &input, NULL,
                                          trial.tables, &diags, &e),
                         ERR_NONE);
        finding_init(&f, a, s->name, s->title);
        assert_int_equal(study_run(s, &trial, trial.tables, &f, &e), ERR_NONE);
        const struct quantity *q = finding_get(&f, "freeze_time");
        out.missed += q->low > truth || q->high < truth;
        out.flagged += finding_has_flag(&f, "drift");
        arena_free(a);
    }
    return out;
}

/* Why `one-direction` is a doubt: the same drift that mixed order shows moves the answer in an
 * order that hides it. */
static void an_order_hides(void **state)
{
    (void)state;
    enum { N = 40 };
    static const double drifts[] = {0.0, 2.0, -2.0};
    struct hidden h[3][ORDERS];
    for (size_t i = 0; i < PL_COUNT(drifts); i++)
        for (int o = 0; o < ORDERS; o++) {
            h[i][o] = drifting((enum order)o, drifts[i], N);
            print_message("drift of %+.0f tolerances, %s: answer missed in %zu, drift flagged in "
                          "%zu of %d\n",
                          drifts[i], order_names[o], h[i][o].missed, h[i][o].flagged, N);
            bool drifts_ = i > 0, hides = o == IN_ORDER;
            assert_true(drifts_ && hides ? h[i][o].missed >= N / 2 : h[i][o].missed <= N / 8);
            assert_true(drifts_ && !hides ? h[i][o].flagged >= N * 3 / 4 : h[i][o].flagged <= 2);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(clean_trials),
                                       cmocka_unit_test(an_order_hides)};
    return cmocka_run_group_tests_name("suspicion-rates", tests, NULL, NULL);
}
