/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bounds to aims and verdicts. Every expectation is worked out by hand in the comment beside it. */
#include <math.h>
#include <string.h>

#include "near.h"
#include "plateau/window.h"
#include "window_rows.h"

/* ---- building ---------------------------------------------------------------------------------
 */

static enum dimension dimension_of(const char *setting)
{
    if (strstr(setting, "time") != NULL)
        return DIM_TIME;
    if (strstr(setting, "pressure") != NULL)
        return DIM_PRESSURE;
    if (strstr(setting, "force") != NULL)
        return DIM_FORCE;
    return strstr(setting, "speed") != NULL ? DIM_SPEED : DIM_TEMPERATURE;
}

static void add_tested(struct finding *f, const struct row *r, enum dimension d)
{
    if (isnan(r->tested.low) || f->n_conditions > 0)
        return;
    for (int i = 0; i < 2; i++) {
        struct condition *c = finding_condition(f);
        c->setting = i == 0 ? r->tested.low : r->tested.high;
        c->setting_dimension = d;
    }
}

static struct finding *finding_of(struct arena *a, struct finding *all, size_t *n,
                                  const char *study)
{
    for (size_t i = 0; i < *n; i++)
        if (strcmp(all[i].study, study) == 0)
            return &all[i];
    finding_init(&all[*n], a, study, study);
    return &all[(*n)++];
}

static size_t build_findings(struct arena *a, const struct row *r, struct finding *all)
{
    size_t n = 0;
    for (size_t i = 0; i < PL_COUNT(r->bounds) && r->bounds[i].study != NULL; i++) {
        const struct bound_row *b = &r->bounds[i];
        struct finding *f = finding_of(a, all, &n, b->study);
        enum dimension d = dimension_of(b->setting);
        struct bound *out = finding_bound(f, b->setting, b->side, d);
        out->value = b->value;
        out->low = b->low;
        out->high = b->high;
        out->grade = b->grade;
        out->verdict = b->verdict;
        out->criterion = strcmp(b->study, "gate-freeze") == 0 ? "freeze_tolerance" : NULL;
        out->because = "the trial says so";
        add_tested(f, r, d);
    }
    return n;
}

static void build_facts(struct arena *a, const struct fact_row *rows_in, size_t most,
                        struct facts *out)
{
    *out = (struct facts){.file = "trial.ini"};
    out->items = ARENA_ARRAY(a, struct fact, most);
    for (size_t i = 0; i < most && rows_in[i].section != NULL; i++)
        out->items[out->n++] = (struct fact){.section = rows_in[i].section,
                                             .key = rows_in[i].key,
                                             .kind = FACT_QUANTITY,
                                             .low = rows_in[i].low,
                                             .high = rows_in[i].low,
                                             .relative = rows_in[i].relative,
                                             .given = true};
}

static void check_row(void **state)
{
    const struct row *r = *state;
    struct arena *a = arena_new();
    struct finding findings[4];
    size_t n = build_findings(a, r, findings);
    struct facts facts;
    build_facts(a, r->facts, PL_COUNT(r->facts), &facts);
    struct premises p = {.facts = &facts, .confidence = 0.95};
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, findings, n, &p, &w, &e), ERR_NONE);

    assert_int_equal(w.n_settings, 1);
    const struct window_setting *s = &w.settings[0];
    assert_string_equal(s->setting, r->want.setting);
    assert_lre(s->low_value, r->want.low, 10);
    assert_lre(s->high_value, r->want.high, 10);
    assert_lre(s->aim, r->want.aim, 10);
    assert_lre(s->margin, r->want.margin, 10);
    assert_string_equal(verdict_text(s->verdict), verdict_text(r->verdict.setting));
    assert_int_equal(s->by_convention, r->verdict.by_convention);
    assert_string_equal(verdict_text(s->running_verdict), verdict_text(r->verdict.running));
    assert_int_equal(w.n_none, r->verdict.n_none);
    if (r->because != NULL)
        assert_string_equal(s->because, r->because);
    if (r->aim_because != NULL && strstr(s->aim_because, r->aim_because) == NULL)
        fail_msg("aim_because is: %s", s->aim_because);
    assert_int_equal(w.verdict, r->verdict.setting);
    arena_free(a);
}

/* ---- what does not fit the table ----------------------------------------------------------------
 */

static void nothing_gives_nothing(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, NULL, 0, NULL, &w, &e), ERR_NONE);
    assert_int_equal(w.n_settings + w.n_none + w.n_flags + w.n_assumptions + w.n_expected, 0);
    assert_int_equal(w.verdict, VERDICT_NONE);
    arena_free(a);
}

static void study_without_bound_says_why(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    finding_init(&f, a, "gate-freeze", "Gate freeze");
    f.verdict = VERDICT_NOT_MET;
    f.decision = "no plateau in the tested range: weight still rises by 0.02 g/s at 9 s";
    struct fact_row given[1] = {{"running", "hold_time", 6.0, NAN}};
    struct facts facts;
    build_facts(a, given, 1, &facts);
    struct premises p = {.facts = &facts};
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, &f, 1, &p, &w, &e), ERR_NONE);
    assert_int_equal(w.n_settings, 1);
    assert_int_equal(w.settings[0].verdict, VERDICT_NOT_MET);
    assert_string_equal(w.settings[0].because,
                        "No plateau in the tested range: weight still rises by 0.02 g/s at 9 s.");
    assert_string_equal(w.settings[0].decided_by, "gate-freeze");
    assert_true(isnan(w.settings[0].aim) && isnan(w.settings[0].low_value));
    assert_near(w.settings[0].running, 6.0, 0, 0);
    assert_int_equal(w.settings[0].running_verdict, VERDICT_NONE);
    assert_int_equal(w.n_flags, 0); /* without a bound there is no point to keep */
    assert_int_equal(w.verdict, VERDICT_NOT_MET);

    f.verdict = VERDICT_NONE; /* the gate is meant to stay open */
    f.decision = "The gate is meant to stay open";
    assert_int_equal(window_make(a, &f, 1, &p, &w, &e), ERR_NONE);
    assert_int_equal(w.settings[0].verdict, VERDICT_NONE);
    assert_int_equal(w.verdict, VERDICT_NONE);
    arena_free(a);
}

static void a_study_that_is_not_shown_lowers_the_whole(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f[2];
    build_findings(a, &rows[0], f);
    finding_init(&f[1], a, "viscosity", "Viscosity");
    f[1].verdict = VERDICT_NOT_SHOWN;
    struct premises p = {.confidence = 0.95};
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, 2, &p, &w, &e), ERR_NONE);
    assert_int_equal(w.n_settings, 1); /* viscosity owes no bound */
    assert_int_equal(w.settings[0].verdict, VERDICT_MET);
    assert_int_equal(w.verdict, VERDICT_NOT_SHOWN);
    arena_free(a);
}

static void unknown_setting_is_our_fault(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f;
    finding_init(&f, a, "gate-freeze", "Gate freeze");
    finding_bound(&f, "hold_tiem", BOUND_LOWER, DIM_TIME)->value = 5.0;
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, &f, 1, NULL, &w, &e), ERR_INTERNAL);
    arena_free(a);
}

static void runners_up_by_strictness(void **state)
{
    (void)state;
    static const struct row r = {"",
                                 {HOLD(5.8, 5.1, VERDICT_MET),
                                  {"a", "hold_time", BOUND_LOWER, 5.0, 4.0, 5.0, 0, VERDICT_MET},
                                  {"b", "hold_time", BOUND_LOWER, 6.0, 4.0, 6.0, 0, VERDICT_MET},
                                  {"c", "hold_time", BOUND_LOWER, 5.5, 4.0, 5.5, 0, VERDICT_MET}},
                                 {{NULL, NULL, 0, 0}},
                                 {2, 9},
                                 {NULL, 0, 0, 0, 0},
                                 {0, false, 0, 0},
                                 NULL,
                                 NULL};
    struct arena *a = arena_new();
    struct finding f[4];
    size_t n = build_findings(a, &r, f);
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    const struct window_setting *s = &w.settings[0];
    assert_string_equal(s->decided_by, "b");
    assert_int_equal(s->n_runners_up, 3);
    assert_string_equal(s->runners_up[0]->study, "gate-freeze");
    assert_string_equal(s->runners_up[1]->study, "c");
    assert_string_equal(s->runners_up[2]->study, "a");
    arena_free(a);
}

static void assumptions_are_listed_once(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct finding f[4];
    size_t n = build_findings(a, &rows[0], f);
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_int_equal(w.n_assumptions, 2);
    assert_string_equal(w.assumptions[0].text,
                        "The press sets times in steps of 0.1 s ([press] time_step is not given).");
    assert_string_equal(w.assumptions[1].text,
                        "How well the press repeats its hold time was not measured ([press] "
                        "time_repeatability is not given): its scatter counts as 0.");
    struct fact_row given[2] = {{"press", "time_step", 0.01, NAN},
                                {"press", "time_repeatability", 0.02, NAN}};
    struct facts facts;
    build_facts(a, given, 2, &facts);
    struct premises p = {.facts = &facts};
    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_int_equal(w.n_assumptions, 0);
    arena_free(a);
}

static void values_are_said_in_the_units_of_the_data(void **state)
{
    (void)state;
    static const struct row r = {
        "",
        {{"viscosity", "transfer_pressure", BOUND_UPPER, 60.5, 60.5, 61, 0, VERDICT_MET}},
        {{NULL, NULL, 0, 0}},
        {NAN, NAN},
        {NULL, 0, 0, 0, 0},
        {0, false, 0, 0},
        NULL,
        NULL};
    struct arena *a = arena_new();
    struct finding f[4];
    size_t n = build_findings(a, &r, f);
    struct premises p = {.confidence = 0.95};
    p.display[DIM_PRESSURE] = (struct display_unit){"bar", 0.1, 0.0};
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, n, &p, &w, &e), ERR_NONE);
    assert_string_equal(w.settings[0].because,
                        "At most 605.0 bar, from viscosity. Why 605.0 bar: the trial says so.");
    assert_true(isnan(w.settings[0].aim));
    assert_int_equal(w.settings[0].verdict, VERDICT_MET); /* watched, not set */
    arena_free(a);
}

/* Both from one study: what made them tells them apart. */
static void crossing_within_a_study(void **state)
{
    (void)state;
    static const struct row *r = NULL;
    for (size_t i = 0; i < PL_COUNT(rows); i++)
        if (strcmp(rows[i].name, "crossing, but one is a convention: not shown") == 0)
            r = &rows[i];
    struct arena *a = arena_new();
    struct finding f[4];
    size_t n = build_findings(a, r, f);
    f[0].bounds[0].criterion = "viscosity_tolerance";
    f[0].bounds[1].model = "tested conditions";
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_string_equal(w.settings[0].because,
                        "The bounds from viscosity_tolerance in viscosity and tested conditions in "
                        "viscosity cross. The one from viscosity_tolerance in viscosity is a "
                        "convention, not a limit of press, mold or material: decide whether it "
                        "shall give way. They cross by more than their intervals, so no further "
                        "shots will open it.");
    f[0].bounds[1].grade = BOUND_CONVENTION;
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_non_null(strstr(w.settings[0].because, "Both are conventions"));
    arena_free(a);
}

static void no_window_reads_well(void **state)
{
    (void)state;
    const struct row *r = NULL;
    for (size_t i = 0; i < PL_COUNT(rows); i++)
        if (rows[i].verdict.n_none == 1 && r == NULL)
            r = &rows[i];
    struct arena *a = arena_new();
    struct finding f[4];
    size_t n = build_findings(a, r, f);
    struct window w;
    struct error e = {0};
    assert_int_equal(window_make(a, f, n, NULL, &w, &e), ERR_NONE);
    assert_string_equal(
        w.none[0].text,
        "No clamp force satisfies both limits: clamp needs at least 950 kN, and press allows at "
        "most 900 kN, even where both are read at the ends of their intervals that leave most "
        "room. Change the mold, the material or the part before looking for a setting.");
    arena_free(a);
}

int main(void)
{
    static const struct CMUnitTest plain[] = {
        cmocka_unit_test(nothing_gives_nothing),
        cmocka_unit_test(study_without_bound_says_why),
        cmocka_unit_test(a_study_that_is_not_shown_lowers_the_whole),
        cmocka_unit_test(unknown_setting_is_our_fault),
        cmocka_unit_test(runners_up_by_strictness),
        cmocka_unit_test(assumptions_are_listed_once),
        cmocka_unit_test(values_are_said_in_the_units_of_the_data),
        cmocka_unit_test(crossing_within_a_study),
        cmocka_unit_test(no_window_reads_well),
    };
    struct CMUnitTest tests[PL_COUNT(rows) + PL_COUNT(plain)];
    for (size_t i = 0; i < PL_COUNT(rows); i++)
        tests[i] =
            (struct CMUnitTest){rows[i].name, check_row, NULL, NULL, (void *)(uintptr_t)&rows[i]};
    for (size_t i = 0; i < PL_COUNT(plain); i++)
        tests[PL_COUNT(rows) + i] = plain[i];
    return _cmocka_run_group_tests("window", tests, PL_COUNT(tests), NULL, NULL);
}
