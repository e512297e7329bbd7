/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the terminal shows: whole texts at fixed widths, and what must hold at every width. */
#include <string.h>

#include "near.h"
#include "report/layout.h"
#include "sample_analysis.h"

#define REPORT_PATH "lid-trial/report/index.html"

static struct arena *arena;

static int make_arena(void **state)
{
    (void)state;
    arena = arena_new();
    return 0;
}

static int free_arena(void **state)
{
    (void)state;
    arena_free(arena);
    return 0;
}

static const char *shown(const struct analysis *x, int width, bool color)
{
    struct text t;
    text_init(&t, arena);
    struct terminal_style style = {width, color, REPORT_PATH};
    report_terminal(&t, x, &style);
    return t.s;
}

static void test_eighty_columns(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    assert_string_equal(
        shown(&x, 80, false),
        "No clamp force can be recommended: flash needs at least 900 kN and the mold is\n"
        "  rated for 850 kN.\n"
        "\n"
        "Window of \"Lid, first trial\": not shown\n"
        "\n"
        "setting            low      aim     high  decided by   verdict\n"
        "hold pressure  420 bar  480 bar  540 bar  hold-window  not shown\n"
        "  Parts were good from 420 to 540 bar at both melt temperatures, but nobody has\n"
        "  run the corners yet.\n"
        "  Now running at 400 bar: outside the window.\n"
        "hold time        5.8 s    6.3 s        -  gate-freeze  met (by convention)\n"
        "  Weight is within 0.1 % of its plateau from 5.8 s on.\n"
        "  Now running at 6.5 s: inside the window.\n"
        "\n"
        "Not shown\n"
        "  Window, pressure use at the aim (limit 80 % of the available pressure):\n"
        "    filling in 0.6 s takes 79 % (77 to 81 %) of the 180 MPa available. No number\n"
        "    of further shots at the same settings promises to decide this; move the\n"
        "    setting or mend the cause.\n"
        "  Gate freeze, cavities freeze together (limit 3 %): the interval 1.2 to 4.1 %\n"
        "    reaches across the limit of 3 %. 6 more shots per condition would probably\n"
        "    decide this.\n"
        "  Hold window, share of good shots at the edges (limit 95 %): 5 of 5 shots were\n"
        "    good, which shows a share of at least 54.9 %. No number of further shots at\n"
        "    the same settings promises to decide this; move the setting or mend the\n"
        "    cause.\n"
        "\n"
        "To know\n"
        "  doubt: gate-freeze.csv:13: shot 9 at 4 s weighs 25.118 g, which fits the shots\n"
        "    at 5 s better [stray-shot]\n"
        "  doubt: the balance steps by 0.001 g [coarse-scale]\n"
        "  doubt: hold time was found at 217 degC; the window reaches 225 degC\n"
        "    [worst-corner-untested]\n"
        "  note: gate-freeze.csv:5: no block column: consecutive shots at one hold time\n"
        "    are one condition [conditions-inferred]\n"
        "  plateau explain WORD says what a word in brackets means.\n"
        "\n"
        "Run next\n"
        "  3 shots at hold time 5.5 s (parts): halves the bracket: 5.0 to 6.0 s becomes\n"
        "    0.5 s wide. Why: the freeze time lies between two tested hold times.\n"
        "  3 shots at hold time 9.0 s: says whether the press drifted. Why: the longest\n"
        "    hold time again, at the end.\n"
        "  59 shots at hold pressure 420 bar: 59 good shots in a row show 95 % at 95 %\n"
        "    confidence. Why: corner 420 bar, 205 degC has not been challenged.\n"
        "  3 shots at hold time 6.3 s (corner 225 degC melt temperature): shows whether\n"
        "    the gate is frozen there. Why: the bound was found at 217 degC.\n"
        "\n"
        "Gate freeze, side by side\n"
        "                           as used                    with the excluded shot\n"
        "                                                      (line 18)\n"
        "verdict of the study       met                        * not shown\n"
        "weight stays on its        met                        * not shown\n"
        "plateau\n"
        "cavities freeze together   not shown                  not shown\n"
        "hold time, lower limit     5.8 s                      * 6.0 s\n"
        "plateau weight             25.1800 g, 25.1760 to      * none\n"
        "                           25.1840 g\n"
        "weight gained by the       0.420 g/10 s, at most      * none\n"
        "runner per second          0.510 g/10 s\n"
        "  Other numbers, each inside the other's interval: gate freeze time.\n"
        "  The same: weight still gained at the longest hold time; start of the plateau.\n"
        "  * marks another verdict or limit than as used, and a number that has no\n"
        "  interval or lies outside the other's.\n"
        "\n"
        "Report\n"
        "  lid-trial/report/index.html\n");
}

/* Too narrow for a table: a block per setting. */
static void test_forty_columns(void **state)
{
    (void)state;
    static const char want[] = "No clamp force can be recommended: flash\n"
                               "  needs at least 900 kN and the mold is\n"
                               "  rated for 850 kN.\n"
                               "\n"
                               "Window of \"Lid, first trial\": not shown\n"
                               "\n"
                               "hold pressure: not shown\n"
                               "  low 420 bar, aim 480 bar, high 540 bar\n"
                               "  decided by hold-window\n"
                               "  Parts were good from 420 to 540 bar at\n"
                               "  both melt temperatures, but nobody has\n"
                               "  run the corners yet.\n"
                               "  Now running at 400 bar: outside the\n"
                               "  window.\n"
                               "hold time: met (by convention)\n"
                               "  low 5.8 s, aim 6.3 s, high -\n"
                               "  decided by gate-freeze\n"
                               "  Weight is within 0.1 % of its plateau\n"
                               "  from 5.8 s on.\n"
                               "  Now running at 6.5 s: inside the\n"
                               "  window.\n";
    struct analysis x;
    sample_analysis(arena, &x);
    assert_memory_equal(shown(&x, 40, false), want, sizeof want - 1);
}

static void test_never_frozen_is_said_first(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_not_frozen(arena, &x);
    assert_string_equal(shown(&x, 60, false),
                        "No hold time can be recommended: weight is still rising at\n"
                        "  9 s, the longest time tested.\n"
                        "  Now running at 6.5 s: not shown to be inside.\n"
                        "\n"
                        "Not met\n"
                        "  Gate freeze, weight stays on its plateau (limit 0.1 % of\n"
                        "    plateau weight): from 7 to 9 s the weight still rises by\n"
                        "    0.06 g.\n"
                        "\n"
                        "To know\n"
                        "  stop: gate-freeze.csv:26: weight still rises by 0.12 %/s\n"
                        "    at 9 s, the longest time tested [gate-not-frozen]\n"
                        "  plateau explain WORD says what a word in brackets means.\n"
                        "\n"
                        "Run next\n"
                        "  3 shots at hold time 12.0 s: shows whether the gate\n"
                        "    freezes at all. Why: the tested range ends before a\n"
                        "    plateau.\n"
                        "\n"
                        "Report\n"
                        "  lid-trial/report/index.html\n");
}

/* ---- what holds at every width ---- */

static void check_lines(const char *s, int width)
{
    while (*s != '\0') {
        size_t length = strcspn(s, "\n");
        const char *line = arena_copy_n(arena, s, length);
        assert_true(s[length] == '\n');
        if (strstr(line, REPORT_PATH) == NULL && utf8_columns(line) > (size_t)width) {
            print_error("%d columns allowed, %zu used: %s\n", width, utf8_columns(line), line);
            fail();
        }
        assert_true(length == 0 || line[length - 1] != ' ');
        s += length + 1;
    }
}

static void test_every_width(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    sample_window(&x)->settings[0].decided_by = "\xe6\xb5\x81\xe5\x8b\x95 / hold-window";
    for (int width = 40; width <= 200; width++)
        check_lines(shown(&x, width, false), width);
    sample_analysis_hostile(arena, &x);
    for (int width = 40; width <= 200; width += 7)
        check_lines(shown(&x, width, false), width);
}

/* The answer is the same words at any width, only broken elsewhere. */
static void test_width_changes_no_word(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_not_frozen(arena, &x);
    const char *wide = shown(&x, 200, false), *narrow = shown(&x, 50, false);
    while (*wide != '\0' || *narrow != '\0') {
        wide += strspn(wide, " \n");
        narrow += strspn(narrow, " \n");
        assert_int_equal(*wide, *narrow);
        wide += *wide != '\0';
        narrow += *narrow != '\0';
    }
}

static void test_hostile_text_is_spelled(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_hostile(arena, &x);
    const char *s = shown(&x, 120, false);
    for (size_t left = strlen(s), n; left > 0; left -= n, s += n) {
        unsigned cp = 0;
        n = utf8_next(s, left, &cp);
        assert_true(n > 0);
        assert_true(cp == '\n' || (cp >= 0x20 && cp < 0x7F) || cp >= 0xA0);
        assert_true(cp < 0x200B || cp > 0x202E);
    }
    assert_non_null(strstr(shown(&x, 200, false), "\\x1B[2J"));
}

/* Without its emphasis the coloured text is the plain one. */
static void test_color_is_bold_and_dim_only(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    for (int width = 40; width <= 120; width += 40) {
        const char *s = shown(&x, width, true);
        struct text plain;
        text_init(&plain, arena);
        bool bold = false;
        for (; *s != '\0'; s++) {
            if (*s != '\x1b') {
                text_add_char(&plain, *s);
                continue;
            }
            assert_memory_equal(s, bold ? "\x1b[0m" : s[2] == '1' ? "\x1b[1m" : "\x1b[2m", 4);
            bold = !bold;
            s += 3;
        }
        assert_false(bold);
        assert_string_equal(plain.s, shown(&x, width, false));
    }
}

/* ---- single sentences ---- */

static void test_no_bounds_at_all(void **state)
{
    (void)state;
    struct window w = {.verdict = VERDICT_NONE};
    struct finding f = {.study = "gauge",
                        .title = "Gauge",
                        .verdict = VERDICT_MET,
                        .decision = "The gauge takes 8 % of the tolerance"};
    struct analysis x;
    sample_analysis(arena, &x);
    x.window = &w;
    x.findings = &f;
    x.n_findings = 1;
    struct text t;
    text_init(&t, arena);
    report_terminal(&t, &x, &(struct terminal_style){100, false, NULL});
    assert_string_equal(t.s, "No study of this trial puts a limit on a setting, so there is no "
                             "window to show.\n\nAlso found\n"
                             "  Gauge: The gauge takes 8 % of the tolerance.\n");
}

/* A reason that says "No hold time" itself is not said twice, another "No" is; and a decision that
 * gave the reason does not come again below. */
static void test_reason_is_said_once(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_not_frozen(arena, &x);
    struct window_setting *s = sample_window(&x)->settings;
    s->because = "No hold time fits: the gate never freezes.";
    const char *t = shown(&x, 80, false);
    assert_int_equal(strncmp(t, "No hold time fits: the gate never freezes.\n", 43), 0);
    assert_null(strstr(t, "Also found"));
    s->because = "No plateau in the tested range";
    t = shown(&x, 80, false);
    assert_int_equal(
        strncmp(t, "No hold time can be recommended. No plateau in the tested range.\n", 65), 0);
    s->because = s->aim_because = NULL;
    t = shown(&x, 80, false);
    assert_int_equal(strncmp(t, "No hold time can be recommended.\n", 33), 0);
}

static void test_many_flags_are_counted(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_not_frozen(arena, &x);
    struct finding *f = sample_findings(&x);
    f->flags = ARENA_ARRAY(arena, struct flag, 9);
    f->n_flags = 9;
    for (size_t i = 0; i < 9; i++)
        f->flags[i] = (struct flag){"stray-shot", FLAG_DOUBT, "strays", "a.csv", (long)i + 1};
    const char *s = shown(&x, 80, false);
    assert_non_null(strstr(s, "a.csv:3: strays [stray-shot]\n"
                              "    and 6 more [stray-shot], listed in the report\n"));
    assert_null(strstr(s, "a.csv:4"));
}

/* A lower end is never shown below itself, an upper one never above; a foreign unit does not
 * push a whole number to the next. */
static void test_safe_ends_round_to_their_safe_side(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    const struct premises *p = x.premises;
    assert_string_equal(value_fixed(arena, p, DIM_TIME, 5.81, 1, 1), "5.9 s");
    assert_string_equal(value_fixed(arena, p, DIM_TIME, 5.8, 1, 1), "5.8 s");
    assert_string_equal(value_fixed(arena, p, DIM_TIME, 5.89, 1, -1), "5.8 s");
    assert_string_equal(value_fixed(arena, p, DIM_TIME, 0.7 * 9.0, 1, -1), "6.3 s");
    assert_string_equal(value_fixed(arena, p, DIM_PRESSURE, 42.0, 0, 1), "420 bar");
    assert_string_equal(value_fixed(arena, p, DIM_PRESSURE, 42.01, 0, 1), "421 bar");
    assert_string_equal(value_fixed(arena, p, DIM_PRESSURE, INFINITY, 0, 1), "open");
    assert_string_equal(value_fixed(arena, p, DIM_PRESSURE, NAN, 0, 1), "-");
    sample_window(&x)->settings[1].low_value = 5.81;
    assert_non_null(strstr(shown(&x, 80, false), "hold time        5.9 s    6.3 s "));
}

static void test_digits_come_from_the_interval(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    const struct premises *p = x.premises;
    /* half-width 7 MPa = 70 bar: whole bar; 0.07 MPa = 0.7 bar: two decimals */
    assert_int_equal(value_interval_decimals(p, DIM_PRESSURE, 42.0, 35.0, 49.0), 0);
    assert_int_equal(value_interval_decimals(p, DIM_PRESSURE, 42.0, 41.93, 42.07), 2);
    assert_int_equal(value_interval_decimals(p, DIM_TIME, 0.1234567, 0.1234567, 0.1234567), 3);
    assert_int_equal(value_interval_decimals(p, DIM_TIME, 5.8, 5.1, INFINITY), 2);
    assert_int_equal(value_step_decimals(p, "hold_time", DIM_TIME), 1);
    assert_int_equal(value_step_decimals(p, "hold_pressure", DIM_PRESSURE), 0);
    assert_int_equal(value_step_decimals(p, "clamp_force", DIM_FORCE), -1);
}

static void test_values_in_the_unit_people_entered(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    sample_premises(&x)->display[DIM_TEMPERATURE] =
        (struct display_unit){"degF", 5.0 / 9.0, -160.0 / 9.0};
    const struct premises *p = x.premises;
    assert_string_equal(value_short(arena, p, DIM_TEMPERATURE, 100.0, 3), "212 degF");
    assert_string_equal(value_short(arena, p, DIM_RATIO, 0.05, 2), "5 %");
    assert_string_equal(value_short(arena, NULL, DIM_RATIO, 0.05, 2), "0.05");
    assert_string_equal(value_short(arena, p, DIM_PRESSURE, 4.2, 3), "42 bar");
    assert_string_equal(value_short(arena, p, DIM_TIME, 5.5, 3), "5.5 s");
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_arena, free_arena)
    const struct CMUnitTest tests[] = {
        TEST(test_eighty_columns),
        TEST(test_forty_columns),
        TEST(test_never_frozen_is_said_first),
        TEST(test_every_width),
        TEST(test_width_changes_no_word),
        TEST(test_hostile_text_is_spelled),
        TEST(test_color_is_bold_and_dim_only),
        TEST(test_no_bounds_at_all),
        TEST(test_reason_is_said_once),
        TEST(test_many_flags_are_counted),
        TEST(test_safe_ends_round_to_their_safe_side),
        TEST(test_digits_come_from_the_interval),
        TEST(test_values_in_the_unit_people_entered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
