/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How often flags are raised on clean trials. Trials are drawn with 6 to 12 conditions of 2 to 5
 * shots, 1 to 8 cavities, scatter from condition to condition of 0 or 1 times that of the shots,
 * fine and coarse instruments, in the order of the setting, in mixed order, and in mixed order with
 * the first setting again, with and without shot numbers, in one file or two, in long and wide
 * form; they are written to a folder and read from it. PLATEAU_TRIALS sets the number of clean
 * trials of each study; the tables of docs/validation.md are what this program prints. The stream
 * is fixed, so a result is reproducible.
 *
 * Flags of three kinds are told apart. A suspicion says that something may be wrong with the data,
 * and can be raised by chance: at most 1 % of the clean trials of a study may raise one, at most
 * 5 % any. A fact states what stands in the files (one shot a setting, an order, a coarse timer):
 * it must be raised where it is so and nowhere else. A result is an answer of the study, with an
 * error rate of its own that the tests of coverage measure. The bars allow for three standard
 * errors of the simulation. */
#include "clean_run.h"

#define TRIALS 60
#define WINDOWS 6
#define CODES_MOST 48 /* of a study */
#define RATE 0.01
#define RATE_ANY 0.05

/* ---- kinds ---------------------------------------------------------------------------------- */

enum kind { SUSPICION, SCATTER, FACT, RESULT, KINDS };

/* What is not listed is a fact. */
static const struct {
    const char *code;
    enum kind kind;
} kinds[] = {
    {"cavities-differ", RESULT},
    {"cushion-lost", SUSPICION},
    {"band-too-narrow", RESULT},
    {"drift", SUSPICION},
    {"first-shots", SUSPICION},
    {"frozen-before-first", RESULT},
    {"gate-not-frozen", SUSPICION},
    {"hydraulic-or-melt", SUSPICION},
    {"knee-below-range", RESULT},
    {"knee-follows-range", RESULT},
    {"knee-not-reached", RESULT},
    {"late-rise", SUSPICION},
    {"melt-temperature-varied", SUSPICION},
    {"minutes-for-seconds", SUSPICION},
    {"misfit", SCATTER}, /* scatter from condition to condition is meant to raise it */
    {"not-cold-enough", RESULT},
    {"outlier", SUSPICION},
    {"outside-limits", SUSPICION},
    {"packed-parts", SUSPICION},
    {"peak-below-transfer", SUSPICION},
    {"plateau-not-told", RESULT},
    {"pressure-at-limit", SUSPICION},
    {"pressure-hardly-used", SUSPICION},
    {"pressure-limited", SUSPICION},
    {"pressure-not-rising", SUSPICION},
    {"psi-for-bar", SUSPICION},
    {"range-ends-here", RESULT},
    {"range-too-short", RESULT},
    {"repeated-row", SUSPICION},
    {"scatter-large", SUSPICION},
    {"settled-before-first", RESULT},
    {"settling-not-told", RESULT},
    {"speed-not-reached", SUSPICION},
    {"speeds-differ", SUSPICION},
    {"spread-differs", SUSPICION},
    {"stage-out-of-order", SUSPICION},
    {"still-moving", SUSPICION},
    {"stray-shot", SUSPICION},
    {"unit-impossible", SUSPICION},
    {"viscosity-not-falling", SUSPICION},
    {"weight-falls", SUSPICION},
    {"weight-off", SUSPICION},
};

static enum kind kind_of(const char *code)
{
    for (size_t i = 0; i < PL_COUNT(kinds); i++)
        if (strcmp(kinds[i].code, code) == 0)
            return kinds[i].kind;
    return FACT;
}

/* The facts that a clean trial can have. */
static bool fact_holds(const char *code, const char *study, const struct clean *c, bool in_order)
{
    if (strcmp(code, "one-direction") == 0) /* of a setting that is a number and sets the curve */
        return in_order && strcmp(study, "cavity-balance") != 0 &&
               strcmp(study, "pressure-drop") != 0;
    if (strcmp(code, "stages-run-once") == 0)
        return c->order == IN_ORDER;
    if (strcmp(code, "few-conditions") == 0)
        return c->conditions < 7;
    if (strcmp(code, "coarse-timer") == 0)
        return c->coarse;
    return strcmp(code, "too-few-shots") == 0 && c->shots < 3;
}

/* ---- counting ------------------------------------------------------------------------------- */

struct tally {
    size_t n, trials, any, alone; /* alone: trials without scatter between conditions */
    const char *code[CODES_MOST];
    size_t raised[CODES_MOST], raised_alone[CODES_MOST];
    size_t holds[CODES_MOST], wrong[CODES_MOST]; /* facts */
};

static void add_codes(struct tally *t, const struct flag_spec *flags, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        assert_true(t->n < CODES_MOST);
        t->code[t->n++] = flags[i].code;
    }
}

static void tally_init(struct tally *t, const char *study)
{
    const struct study *s = study_find(study);
    size_t n;
    const struct flag_spec *shared = study_flags(&n);
    *t = (struct tally){.trials = 0};
    add_codes(t, s->flags, s->n_flags);
    for (size_t i = 0; i < n; i++)
        if (study_grade(s->flags, s->n_flags, shared[i].code) == FLAG_DOUBT) {
            bool own = false;
            for (size_t k = 0; k < s->n_flags; k++)
                own = own || strcmp(s->flags[k].code, shared[i].code) == 0;
            if (!own)
                add_codes(t, &shared[i], 1);
        }
    shared = finding_flags(&n);
    add_codes(t, shared, n);
}

static bool is_raised(const struct flag *flags, size_t n, const char *code)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(flags[i].code, code) == 0)
            return true;
    return false;
}

static void count(struct tally *t, const struct finding *f, const struct clean *c, bool in_order)
{
    bool any = false;
    for (size_t i = 0; i < f->n_flags; i++) {
        size_t k = 0;
        while (k < t->n && strcmp(t->code[k], f->flags[i].code) != 0)
            k++;
        if (k == t->n)
            fail_msg("%s raises %s and does not list it", f->study, f->flags[i].code);
    }
    for (size_t k = 0; k < t->n; k++) {
        bool raised = is_raised(f->flags, f->n_flags, t->code[k]);
        bool holds = fact_holds(t->code[k], f->study, c, in_order);
        t->raised[k] += raised;
        t->raised_alone[k] += raised && !(c->between > 0.0);
        t->holds[k] += holds;
        t->wrong[k] += kind_of(t->code[k]) == FACT && raised != holds;
        any = any || (raised && kind_of(t->code[k]) == SUSPICION);
    }
    t->trials++;
    t->alone += !(c->between > 0.0);
    t->any += any;
}

static void show(const struct finding *f, const struct clean *c, bool in_order)
{
    for (size_t k = 0; k < f->n_flags; k++) {
        enum kind kind = kind_of(f->flags[k].code);
        bool told = kind == SUSPICION ||
                    (kind == FACT && !fact_holds(f->flags[k].code, f->study, c, in_order));
        if (told)
            print_message("%s, %zu conditions, %zu shots, %zu cavities, order %d, between %.0f, "
                          "coarse %d: %s:%ld: %s: %s\n",
                          f->study, c->conditions, c->shots, c->cavities, (int)c->order, c->between,
                          c->coarse, f->flags[k].file ? f->flags[k].file : "-", f->flags[k].line,
                          f->flags[k].code, f->flags[k].text);
    }
}

/* Above the rate by more than three standard errors of the simulation. */
static bool above(size_t count_, size_t trials, double rate)
{
    double n = (double)trials;
    return (double)count_ > n * rate + 3.0 * sqrt(n * rate * (1.0 - rate));
}

/* ---- tables --------------------------------------------------------------------------------- */

static long index_of(const struct tally *t, const char *code)
{
    for (size_t k = 0; k < t->n; k++)
        if (strcmp(t->code[k], code) == 0)
            return (long)k;
    return -1;
}

static const char *cell(struct arena *a, const struct tally *t, const char *code, enum kind kind)
{
    long k = index_of(t, code);
    if (k < 0)
        return "";
    if (kind == FACT)
        return arena_printf(a, "%zu of %zu, wrong %zu", t->raised[k], t->trials, t->wrong[k]);
    if (kind == SCATTER)
        return arena_printf(a, "%.2f %%; %.2f %%", percent(t->raised_alone[k], t->alone),
                            percent(t->raised[k] - t->raised_alone[k], t->trials - t->alone));
    return arena_printf(a, "%.2f %%", percent(t->raised[k], t->trials));
}

static bool worth_a_row(const struct tally *t, const char *code, enum kind kind)
{
    bool seen = kind == SUSPICION || kind == SCATTER;
    for (size_t i = 0; i < CLEAN_STUDIES; i++) {
        long k = index_of(&t[i], code);
        seen = seen || (k >= 0 && (t[i].raised[k] > 0 || t[i].holds[k] > 0));
    }
    return seen;
}

static int compare_texts(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void print_kind(struct arena *a, const struct tally *t, enum kind kind, const char *head)
{
    const char *all[CLEAN_STUDIES * CODES_MOST];
    size_t n = 0;
    for (size_t i = 0; i < CLEAN_STUDIES; i++)
        for (size_t k = 0; k < t[i].n; k++)
            if (kind_of(t[i].code[k]) == kind)
                all[n++] = t[i].code[k];
    qsort(all, n, sizeof *all, compare_texts);
    print_head(head);
    for (size_t j = 0; j < n; j++) {
        if ((j > 0 && strcmp(all[j], all[j - 1]) == 0) || !worth_a_row(t, all[j], kind))
            continue;
        print_message("| `%s` |", all[j]);
        for (size_t i = 0; i < CLEAN_STUDIES; i++)
            print_message(" %s |", cell(a, &t[i], all[j], kind));
        print_message("\n");
    }
    if (kind != SUSPICION)
        return;
    print_message("| any of them |");
    for (size_t i = 0; i < CLEAN_STUDIES; i++)
        print_message(" %.2f %% |", percent(t[i].any, t[i].trials));
    print_message("\n");
}

static void print_tables(const struct tally *t)
{
    struct arena *a = arena_new();
    print_message("%zu clean trials of each study\n", t[0].trials);
    print_kind(a, t, SUSPICION, "suspicion");
    print_kind(a, t, SCATTER, "without and with scatter from condition to condition");
    print_kind(a, t, FACT, "fact");
    print_kind(a, t, RESULT, "result");
    arena_free(a);
}

/* ---- clean trials --------------------------------------------------------------------------- */

static void check(const char *study, const struct tally *t)
{
    assert_false(above(t->any, t->trials, RATE_ANY));
    for (size_t k = 0; k < t->n; k++) {
        enum kind kind = kind_of(t->code[k]);
        if ((kind == SUSPICION && above(t->raised[k], t->trials, RATE)) ||
            (kind == SCATTER && above(t->raised_alone[k], t->alone, RATE)) || t->wrong[k] > 0)
            fail_msg("%s: %s in %zu of %zu trials, wrong in %zu", study, t->code[k], t->raised[k],
                     t->trials, t->wrong[k]);
    }
}

static void clean_trials(void **state)
{
    (void)state;
    struct tally t[CLEAN_STUDIES];
    for (size_t i = 0; i < CLEAN_STUDIES; i++)
        tally_init(&t[i], clean_studies[i]);
    for (size_t k = 0; k < clean_count(TRIALS, 1.0); k++) {
        struct arena *a = arena_new();
        struct sim_stream r = {(40000 + k) * 0xD1342543DE82EF95u + 0x632BE59BD9B4E019u};
        struct clean c = clean_draw(&r);
        struct run *run = ARENA_NEW(a, struct run);
        bool in_order[CLEAN_STUDIES];
        write_trial(a, &c, &r, CLEAN_STUDIES, in_order);
        analyze(a, run);
        assert_int_equal(run->trial.n_tables, CLEAN_STUDIES);
        for (size_t i = 0; i < CLEAN_STUDIES; i++) {
            count(&t[i], &run->finding[i], &c, in_order[i]);
            if (getenv("PLATEAU_SHOW") != NULL)
                show(&run->finding[i], &c, in_order[i]);
        }
        arena_free(a);
    }
    print_tables(t);
    for (size_t i = 0; i < CLEAN_STUDIES; i++)
        check(clean_studies[i], &t[i]);
}

/* ---- the window ----------------------------------------------------------------------------- */

/* Its flags state how figures of the trial lie to each other. In these trials hold pressure and
 * temperatures are what is in use, no temperature range is given, and the screw's recovery is. */
static bool window_cannot(const char *code)
{
    static const char *const never[] = {"other-hold-pressure", "other-temperature",
                                        "outside-material-range", "recovery-not-given"};
    for (size_t i = 0; i < PL_COUNT(never); i++)
        if (strcmp(never[i], code) == 0)
            return true;
    return false;
}

static void clean_windows(void **state)
{
    (void)state;
    size_t n_flags, n = clean_count(WINDOWS, 0.1), raised[CODES_MOST] = {0};
    const struct flag_spec *flags = window_flags(&n_flags);
    assert_true(n_flags <= CODES_MOST);
    for (size_t k = 0; k < n; k++) {
        struct arena *a = arena_new();
        struct error e = {.code = ERR_NONE};
        struct sim_stream r = {(60000 + k) * 0xD1342543DE82EF95u + 0x632BE59BD9B4E019u};
        struct clean c = clean_draw(&r);
        struct run *run = ARENA_NEW(a, struct run);
        struct window *w = ARENA_NEW(a, struct window);
        write_trial(a, &c, &r, CLEAN_STUDIES, NULL);
        analyze(a, run);
        struct premises p = {
            .facts = &run->trial.facts, .confidence = 0.95, .resamples = 2000, .seed = 1};
        memcpy(p.display, run->trial.display, sizeof p.display);
        assert_int_equal(window_make(a, run->finding, CLEAN_STUDIES, &p, w, &e), ERR_NONE);
        for (size_t i = 0; i < n_flags; i++)
            raised[i] += is_raised(w->flags, w->n_flags, flags[i].code);
        arena_free(a);
    }
    print_message("\n| of the window | %zu clean trials |\n|---|---|\n", n);
    for (size_t i = 0; i < n_flags; i++)
        print_message("| `%s` | %.1f %% |\n", flags[i].code, percent(raised[i], n));
    for (size_t i = 0; i < n_flags; i++)
        assert_true(raised[i] == 0 || !window_cannot(flags[i].code));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(clean_trials),
                                       cmocka_unit_test(clean_windows)};
    return cmocka_run_group_tests_name("suspicion-rates", tests, make_folder, remove_folder);
}
