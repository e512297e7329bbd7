/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The SVG writer: the drawing is read back, element by element. Widths of labels are estimated
 * here by a rule of their own, so that the writer's table does not check itself. */
#include <stdlib.h>
#include <string.h>

#include "markup.h"
#include "near.h"
#include "plateau/report.h"
#include "sample_fixture.h"

/* ---- reading back -----------------------------------------------------------------------------
 */

static const char *drawn(struct fixture *f, const struct figure *g, bool standalone)
{
    struct text t;
    text_init(&t, f->arena);
    report_svg(&t, g, f->analysis.premises, f->analysis.window, standalone);
    return t.s;
}

static size_t count(const char *s, const char *what)
{
    size_t n = 0;
    for (const char *p = strstr(s, what); p != NULL; p = strstr(p + 1, what))
        n++;
    return n;
}

/* The value of an attribute of the element that begins at s; NULL when it has none. */
static const char *attribute(struct arena *a, const char *s, const char *name)
{
    const char *end = strchr(s, '>');
    const char *p = strstr(s, arena_printf(a, " %s=\"", name));
    if (p == NULL || p > end)
        return NULL;
    p += strlen(name) + 3;
    return arena_copy_n(a, p, (size_t)(strchr(p, '"') - p));
}

static double number(struct arena *a, const char *s, const char *name)
{
    const char *v = attribute(a, s, name);
    assert_non_null(v);
    char *end;
    double d = strtod(v, &end);
    assert_true(*end == '\0' && isfinite(d));
    return d;
}

struct label {
    const char *kind, *text;
    double x, y, width;
};

/* Text of `<text ...>`, without a `<title>` inside. */
static const char *content(struct arena *a, const char *s)
{
    const char *p = strchr(s, '>') + 1;
    if (strncmp(p, "<title>", 7) == 0)
        p = strstr(p, "</title>") + 8;
    return arena_copy_n(a, p, (size_t)(strchr(p, '<') - p));
}

/* An ordinary sans: narrow letters a third, wide ones nine tenths, the others 0.57 of the size. */
static double estimated_width(const char *s)
{
    double width = 0.0;
    for (; *s != '\0'; s++) {
        if (*s == '&') /* an entity is one letter */
            s += strcspn(s, ";");
        if (((unsigned char)*s & 0xC0) == 0x80)
            continue;
        width += strchr("iljtf.,:;'|! ", *s) != NULL ? 0.3 : strchr("mwMW%@", *s) ? 0.88 : 0.57;
    }
    return 15.0 * width;
}

static struct label *labels(struct arena *a, const char *svg, size_t *n)
{
    struct label *l = ARENA_ARRAY(a, struct label, count(svg, "<text "));
    *n = 0;
    for (const char *p = strstr(svg, "<text "); p != NULL; p = strstr(p + 1, "<text ")) {
        const char *text = content(a, p);
        l[(*n)++] = (struct label){attribute(a, p, "class"), text, number(a, p, "x"),
                                   number(a, p, "y"), estimated_width(text)};
    }
    return l;
}

static size_t count_labels(struct arena *a, const char *svg, const char *kind, const char *text)
{
    size_t n, found = 0;
    struct label *l = labels(a, svg, &n);
    for (size_t i = 0; i < n; i++)
        found += (kind == NULL || strcmp(l[i].kind, kind) == 0) && strcmp(l[i].text, text) == 0;
    return found;
}

static void assert_labels_apart(struct arena *a, const char *svg)
{
    size_t n;
    struct label *l = labels(a, svg, &n);
    const char *box = attribute(a, strstr(svg, "<svg"), "viewBox");
    double width = 0.0, height = 0.0;
    assert_int_equal(sscanf(box, "0 0 %lf %lf", &width, &height), 2);
    for (size_t i = 0; i < n; i++) {
        if (l[i].x < 0.0 || l[i].x + l[i].width > width || l[i].y < 10.0 || l[i].y + 3.0 > height)
            fail_msg("\"%s\" leaves the drawing", l[i].text);
        for (size_t k = i + 1; k < n; k++)
            if (l[i].x < l[k].x + l[k].width && l[k].x < l[i].x + l[i].width &&
                fabs(l[i].y - l[k].y) < 14.0)
                fail_msg("\"%s\" lies on \"%s\"", l[i].text, l[k].text);
    }
}

static void assert_clean(const char *s)
{
    assert_well_formed(s);
    for (const char *p = s; *p != '\0'; p++)
        if ((unsigned char)*p < 0x20 && *p != '\n')
            fail_msg("control character %d", *p);
    static const char *const never[] = {"<script", "nan", "inf\"", "href", "style=", "onload"};
    for (size_t i = 0; i < PL_COUNT(never); i++)
        if (strstr(s, never[i]) != NULL)
            fail_msg("contains %s: %.60s", never[i], strstr(s, never[i]));
}

/* ---- the sample figure -------------------------------------------------------------------------
 */

static const struct figure *weight(struct fixture *f)
{
    return &f->analysis.findings[0].figures[0];
}

static void test_every_rule_has_its_line_and_its_label(void **state)
{
    struct fixture *f = *state;
    const char *svg = drawn(f, weight(f), true);
    /* three of the figure and the aim of the window */
    assert_int_equal(count(svg, "class=\"rule-line\""), 4);
    assert_int_equal(count(svg, "class=\"rule-label\""), 4);
    static const char *const texts[] = {"lower bound 5.8 s", "freeze time 5.4 s", "plateau - 0.1 %",
                                        "aim 6.3 s"};
    for (size_t i = 0; i < PL_COUNT(texts); i++)
        assert_int_equal(count_labels(f->arena, svg, "rule-label", texts[i]), 1);
    assert_labels_apart(f->arena, svg);
    assert_clean(svg);
}

static void test_without_a_window_there_is_no_aim(void **state)
{
    struct fixture *f = *state;
    struct text t;
    text_init(&t, f->arena);
    report_svg(&t, weight(f), f->analysis.premises, NULL, false);
    assert_int_equal(count(t.s, "class=\"rule-line\""), 3);
    assert_null(strstr(t.s, "aim 6.3"));
}

static void test_every_shot_is_drawn(void **state)
{
    struct fixture *f = *state;
    const struct figure *g = weight(f);
    size_t n = 0;
    for (size_t i = 0; i < g->n_series; i++)
        n += g->series[i].n;
    const char *svg = drawn(f, g, true);
    /* of the samples below the plot one is a point too */
    size_t samples = count(svg, "<g class=\"sample\"");
    assert_int_equal(count(svg, "class=\"point\"") - samples, n);
    assert_int_equal(count(svg, "class=\"error-bar\""), g->series[2].n);
    assert_int_equal(count(svg, "class=\"curve fit\""), 1);
    assert_int_equal(count(svg, "class=\"curve candidate\""), 1);
    assert_int_equal(count(svg, "class=\"band\""), 1);
    assert_int_equal(count(svg, "class=\"region "), 3);
}

static void test_units_stand_in_the_axis_titles(void **state)
{
    struct fixture *f = *state;
    const char *svg = drawn(f, weight(f), true);
    assert_int_equal(count_labels(f->arena, svg, "title-x", "hold time (s)"), 1);
    assert_int_equal(count_labels(f->arena, svg, "title-y", "part weight (g)"), 1);
}

static void test_title_and_description(void **state)
{
    struct fixture *f = *state;
    const char *svg = drawn(f, weight(f), false);
    assert_non_null(strstr(svg, "role=\"img\""));
    assert_non_null(strstr(svg, "aria-labelledby=\"gate-freeze-weight__title "
                                "gate-freeze-weight__desc\""));
    assert_non_null(strstr(svg, "<title id=\"gate-freeze-weight__title\">The gate is frozen from "
                                "5.4 s on</title>"));
    assert_non_null(strstr(svg, "<desc id=\"gate-freeze-weight__desc\">Part weight against"));
    assert_ptr_equal(strstr(svg, "<svg"), svg);
    assert_null(strstr(svg, "http"));
}

static void test_ids_of_two_figures_do_not_collide(void **state)
{
    struct fixture *f = *state;
    const struct figure *g = f->analysis.findings[0].figures;
    const char *page =
        arena_printf(f->arena, "%s%s", drawn(f, &g[0], false), drawn(f, &g[1], false));
    size_t n = 0;
    for (const char *p = strstr(page, " id=\""); p != NULL; p = strstr(p + 1, " id=\"")) {
        const char *id = arena_copy_n(f->arena, p, (size_t)(strchr(p + 5, '"') - p) + 1);
        assert_int_equal(count(page, id), 1);
        n++;
    }
    assert_true(n >= 12);
    /* what is referred to is there */
    for (const char *p = strstr(page, "url(#"); p != NULL; p = strstr(p + 1, "url(#")) {
        const char *id = arena_printf(f->arena, " id=\"%.*s\"", (int)strcspn(p + 5, ")"), p + 5);
        assert_int_equal(count(page, id), 1);
    }
}

static void test_the_same_figure_gives_the_same_bytes(void **state)
{
    struct fixture *f = *state;
    assert_string_equal(drawn(f, weight(f), true), drawn(f, weight(f), true));
}

/* ---- figures of our own
 * -------------------------------------------------------------------------- */

static struct figure plain(const double *x, const double *y, size_t n)
{
    static struct series s;
    s = (struct series){.label = "shots", .role = SERIES_SHOTS, .n = n, .x = x, .y = y};
    struct figure g = {.name = "plain", .title = "Plain", .description = "A test."};
    g.x = (struct axis){"setting", NULL, DIM_TIME, NULL, AXIS_LINEAR, NAN, NAN};
    g.y = (struct axis){"reading", NULL, DIM_MASS, NULL, AXIS_LINEAR, NAN, NAN};
    g.series = &s;
    g.n_series = 1;
    return g;
}

/* Values of the tick labels of one axis, in order. */
static size_t ticks(struct arena *a, const char *svg, const char *kind, double *out)
{
    size_t n, m = 0;
    struct label *l = labels(a, svg, &n);
    for (size_t i = 0; i < n && m < 40; i++)
        if (strcmp(l[i].kind, kind) == 0)
            out[m++] = strtod(l[i].text, NULL);
    return m;
}

static void assert_step_125(const double *v, size_t n)
{
    assert_true(n >= 3);
    double step = v[1] - v[0];
    double mantissa = step / pow(10.0, floor(log10(step) + 1e-9));
    if (fabs(mantissa - 1.0) > 1e-6 && fabs(mantissa - 2.0) > 1e-6 && fabs(mantissa - 5.0) > 1e-6)
        fail_msg("step %g", step);
    for (size_t i = 0; i < n; i++) {
        assert_near(v[i] / step, round(v[i] / step), 0.0, 1e-6);
        if (i > 0)
            assert_near(v[i] - v[i - 1], step, 1e-6, 0.0);
    }
}

static void test_ticks_stand_at_1_2_5_steps(void **state)
{
    struct fixture *f = *state;
    static const double spans[][2] = {{0, 1},      {3, 3.7},       {0.002, 0.0171},
                                      {-4, 9},     {24.88, 25.19}, {1050, 2210},
                                      {0, 950000}, {-0.7, -0.2},   {99.98, 100.02}};
    for (size_t i = 0; i < PL_COUNT(spans); i++) {
        double x[2] = {spans[i][0], spans[i][1]}, v[40];
        struct figure g = plain(x, x, 2);
        const char *svg = drawn(f, &g, true);
        assert_step_125(v, ticks(f->arena, svg, "tick-x", v));
        assert_step_125(v, ticks(f->arena, svg, "tick-y", v));
        assert_labels_apart(f->arena, svg);
    }
}

static void test_log_ticks(void **state)
{
    struct fixture *f = *state;
    double x[] = {0.2, 1.1, 2.63}, y[] = {0.3, 70.0, 41000.0}, v[40];
    struct figure g = plain(x, y, 3);
    g.x.scale = g.y.scale = AXIS_LOG;
    const char *svg = drawn(f, &g, true);
    static const double want[] = {0.2, 0.5, 1.0, 2.0};
    assert_int_equal(ticks(f->arena, svg, "tick-x", v), 4);
    for (size_t i = 0; i < 4; i++)
        assert_near(v[i], want[i], 1e-12, 0.0);
    /* five decades: powers of ten only */
    size_t n = ticks(f->arena, svg, "tick-y", v);
    assert_true(n >= 3);
    for (size_t i = 0; i < n; i++)
        assert_near(log10(v[i]), round(log10(v[i])), 0.0, 1e-9);
    /* equal ratios stand equally far apart: 0.5 to 1 as 1 to 2 */
    size_t m;
    struct label *l = labels(f->arena, svg, &m);
    double at[4];
    size_t k = 0;
    for (size_t i = 0; i < m; i++)
        if (strcmp(l[i].kind, "tick-x") == 0)
            at[k++] = l[i].x;
    /* labels are centred; those of 1 and 2 are equally wide */
    const char *half = strstr(svg, "<g stroke=");
    double line[4];
    for (size_t i = 0; i < 4; i++) {
        half = strstr(half + 1, "class=\"grid\"");
        line[i] = number(f->arena, half, "x1");
    }
    assert_near(line[2] - line[1], line[3] - line[2], 0.0, 0.02);
    assert_near(at[3] - at[2], line[3] - line[2], 0.0, 0.02);
}

static void test_values_stand_where_the_ticks_say(void **state)
{
    struct fixture *f = *state;
    double x[] = {2.0, 4.0, 8.0}, y[] = {10.0, 30.0, 20.0};
    struct figure g = plain(x, y, 3);
    const char *svg = drawn(f, &g, true);
    /* the grid line of tick v and the point at v have the same place; ticks 2, 3, ... and 10, 15 */
    const char *first = strstr(svg, "<circle class=\"point\"");
    double v[40];
    size_t n = ticks(f->arena, svg, "tick-x", v), at = n;
    for (size_t i = 0; i < n; i++)
        if (v[i] == 2.0)
            at = i;
    assert_true(at < n);
    const char *grid = strstr(svg, "class=\"grid\"");
    for (size_t i = 0; i < at; i++)
        grid = strstr(grid + 1, "class=\"grid\"");
    assert_near(number(f->arena, first, "cx"), number(f->arena, grid, "x1"), 0.0, 0.011);
    /* up is more */
    const char *second = strstr(first + 1, "<circle class=\"point\"");
    assert_true(number(f->arena, second, "cy") < number(f->arena, first, "cy"));
}

static void test_entered_units(void **state)
{
    struct fixture *f = *state;
    double x[] = {40.0, 50.0, 60.0}, y[] = {1.0, 2.0, 3.0}, v[40]; /* MPa; entered in bar */
    struct figure g = plain(x, y, 3);
    g.x =
        (struct axis){"hold pressure", "hold_pressure", DIM_PRESSURE, NULL, AXIS_LINEAR, NAN, NAN};
    const char *svg = drawn(f, &g, true);
    assert_int_equal(count_labels(f->arena, svg, "title-x", "hold pressure (bar)"), 1);
    size_t n = ticks(f->arena, svg, "tick-x", v);
    assert_true(v[0] >= 390.0 && v[n - 1] <= 610.0);
    assert_int_equal(count_labels(f->arena, svg, "rule-label", "aim 480 bar"), 1);
}

static void test_shots_that_coincide_stay_visible(void **state)
{
    struct fixture *f = *state;
    double x[] = {1, 2, 2, 2, 2, 3}, y[] = {5, 6, 6, 6, 6.5, 7};
    struct figure g = plain(x, y, 6);
    const char *svg = drawn(f, &g, true);
    double cx[6], cy[6];
    const char *p = svg;
    for (size_t i = 0; i < 6; i++) {
        p = strstr(p + 1, "<circle class=\"point\"");
        assert_non_null(p);
        cx[i] = number(f->arena, p, "cx");
        cy[i] = number(f->arena, p, "cy");
        for (size_t k = 0; k < i; k++)
            assert_true(fabs(cx[i] - cx[k]) > 3.0 || fabs(cy[i] - cy[k]) > 3.0);
    }
    /* only the three that coincide have moved, and by little: one of them and 6.5 stand in line */
    size_t in_line = 0;
    for (size_t i = 0; i < 6; i++)
        in_line += fabs(cx[i] - (cx[0] + cx[5]) / 2.0) < 0.02;
    assert_int_equal(in_line, 2);
    for (size_t i = 0; i < 6; i++)
        assert_true(fabs(cx[i] - (cx[0] + cx[5]) / 2.0) < 20.0 || i == 0 || i == 5);
}

static void test_shapes_say_what_a_point_is(void **state)
{
    struct fixture *f = *state;
    double x[] = {1, 2}, y[] = {5, 6}, up[] = {INFINITY, INFINITY};
    static struct series s[5];
    struct figure g = plain(x, y, 2);
    for (int i = 0; i < 5; i++)
        s[i] = (struct series){.role = (enum series_role)i, .n = 2, .x = x, .y = y};
    s[SERIES_CENSORED].high = up;
    const char *shapes[5];
    g.series = s;
    for (size_t i = 0; i < 5; i++) {
        g.series = &s[i];
        const char *svg = drawn(f, &g, false);
        assert_int_equal(count(svg, "class=\"point\""), 2);
        const char *group = strstr(svg, "<g class=\"series\"");
        if (i == SERIES_CENSORED) /* bars come first, and there are none */
            group = strstr(group + 1, "<g class=\"series\"");
        const char *p = strstr(group, "class=\"point\"");
        size_t corners = 0;
        for (const char *c = p; *c != '>'; c++)
            corners += *c == 'L';
        shapes[i] = arena_printf(f->arena, "%.4s %zu %s", p - 6, corners,
                                 i == SERIES_EXCLUDED ? attribute(f->arena, group, "fill") : "");
        for (size_t k = 0; k < i; k++)
            if (i != SERIES_LIMITED && i != SERIES_MEANS)
                assert_string_not_equal(shapes[i], shapes[k]);
    }
    /* hollow */
    assert_non_null(strstr(shapes[SERIES_EXCLUDED], "#fff"));
}

static void test_forty_rules_are_all_labelled(void **state)
{
    struct fixture *f = *state;
    double x[] = {0, 10}, y[] = {0, 10};
    struct figure g = plain(x, y, 2);
    struct rule rules[40];
    for (int i = 0; i < 40; i++)
        rules[i] = (struct rule){arena_printf(f->arena, "limit number %d", i),
                                 (enum rule_role)(i % 5), i % 2 == 0, 5.0 + 0.05 * i};
    g.rules = rules;
    g.n_rules = 40;
    const char *svg = drawn(f, &g, true);
    assert_int_equal(count(svg, "class=\"rule-line\""), 40);
    for (int i = 0; i < 40; i++)
        assert_int_equal(count_labels(f->arena, svg, NULL, rules[i].label), 1);
    assert_labels_apart(f->arena, svg);
}

static void test_rules_anywhere_are_labelled_at_the_line(void **state)
{
    struct fixture *f = *state;
    double x[] = {0, 10}, y[] = {0, 10};
    /* close together, at the left rim, at the right rim, apart */
    static const double places[][4] = {
        {5.0, 5.1, 5.2, 5.3}, {0.0, 0.1, 0.2, 0.3}, {9.7, 9.8, 9.9, 10.0}, {1.0, 4.0, 7.0, 9.9}};
    for (size_t k = 0; k < PL_COUNT(places); k++)
        for (int vertical = 0; vertical < 2; vertical++) {
            struct figure g = plain(x, y, 2);
            struct rule rules[4];
            for (size_t i = 0; i < 4; i++)
                rules[i] = (struct rule){arena_printf(f->arena, "bound no. %zu at 12.3 s", i),
                                         RULE_BOUND, vertical == 1, places[k][i]};
            g.rules = rules;
            g.n_rules = 4;
            const char *svg = drawn(f, &g, true);
            assert_int_equal(count(svg, "class=\"rule-label\""), 4);
            assert_labels_apart(f->arena, svg);
        }
}

static void test_long_words_stay_inside(void **state)
{
    struct fixture *f = *state;
    double x[] = {0, 10}, y[] = {0, 10};
    struct figure g = plain(x, y, 2);
    const char *words =
        "a label that goes on and on, far beyond what any drawing has room for, and "
        "does not come to an end even then, WWWWWWWWWWWWWWWWWWWWWWWW";
    struct rule rules[] = {{words, RULE_LIMIT, true, 4.0}, {words, RULE_LIMIT, false, 4.0}};
    g.rules = rules;
    g.n_rules = 2;
    g.title = g.x.title = g.y.title = g.series[0].label = words;
    const char *svg = drawn(f, &g, true);
    assert_labels_apart(f->arena, svg);
    assert_clean(svg);
}

static void test_words_beside_points(void **state)
{
    struct fixture *f = *state;
    static const char *const words[] = {"short", "good", "good", "flash", "sink"};
    double x[] = {40, 50, 50, 60, 60}, y[] = {205, 205, 205, 205, 205};
    struct figure g = plain(x, y, 5);
    g.series[0].point_label = words;
    const char *svg = drawn(f, &g, true);
    assert_int_equal(count_labels(f->arena, svg, "point-label", "short"), 1);
    assert_int_equal(count_labels(f->arena, svg, "point-label", "good (2)"), 1);
    assert_int_equal(count_labels(f->arena, svg, "point-label", "flash, sink"), 1);
    assert_labels_apart(f->arena, svg);
}

static void test_a_far_point_left_out_does_not_flatten_the_figure(void **state)
{
    struct fixture *f = *state;
    double x[] = {1, 2, 3}, y[] = {25.1, 25.2, 25.3}, ox[] = {2}, oy[] = {2520.0}, v[40];
    struct series s[2] = {{.role = SERIES_SHOTS, .n = 3, .x = x, .y = y},
                          {.role = SERIES_EXCLUDED, .n = 1, .x = ox, .y = oy}};
    struct figure g = plain(x, y, 3);
    g.series = s;
    g.n_series = 2;
    const char *svg = drawn(f, &g, true);
    size_t n = ticks(f->arena, svg, "tick-y", v);
    assert_true(n >= 3 && v[n - 1] < 26.0);
    assert_int_equal(count(svg, "class=\"point\""), 4);
    assert_int_equal(count_labels(f->arena, svg, NULL, "outside, at 2 s, 2520 g"), 1);
}

static void test_nan_and_inf_do_no_harm(void **state)
{
    struct fixture *f = *state;
    static const double bad[] = {NAN, INFINITY, -INFINITY, 1e308, -1e308, 0.0};
    for (size_t i = 0; i < PL_COUNT(bad); i++)
        for (int scale = 0; scale < 2; scale++) {
            double x[] = {1, bad[i], 3}, y[] = {bad[i], 2, 3}, low[] = {bad[i], bad[i], 2};
            struct figure g = plain(x, y, 3);
            g.x.scale = g.y.scale = (enum axis_scale)scale;
            g.series[0].low = g.series[0].high = low;
            struct curve c = {"fit", CURVE_FIT, 3, x, y};
            struct band b = {"band", 3, x, low, y};
            struct rule r[] = {{"bad", RULE_LIMIT, true, bad[i]},
                               {"bad", RULE_LIMIT, false, bad[i]}};
            struct region z = {"region", REGION_CHOSEN, bad[i], 2, 1, bad[i]};
            g.curves = &c;
            g.bands = &b;
            g.rules = r;
            g.regions = &z;
            g.n_curves = g.n_bands = g.n_regions = 1;
            g.n_rules = 2;
            g.x.low = g.y.high = bad[i];
            const char *svg = drawn(f, &g, true);
            assert_clean(svg);
            assert_labels_apart(f->arena, svg);
        }
}

static void test_an_empty_figure_says_so(void **state)
{
    struct fixture *f = *state;
    struct figure g = plain(NULL, NULL, 0);
    g.x.setting = "hold_pressure"; /* of another dimension: no aim */
    for (int i = 0; i < 2; i++) {
        const char *svg = drawn(f, &g, true);
        assert_clean(svg);
        assert_int_equal(count_labels(f->arena, svg, NULL, "No data to draw"), 1);
        assert_int_equal(count(svg, "class=\"tick-"), 0);
        g = (struct figure){.name = NULL};
    }
}

static void test_one_value_has_an_axis(void **state)
{
    struct fixture *f = *state;
    static const double values[] = {25.18, 0.0, -3.0, 1e-9, 5e11};
    for (size_t i = 0; i < PL_COUNT(values); i++) {
        double x[] = {values[i], values[i]}, v[40];
        struct figure g = plain(x, x, 2);
        const char *svg = drawn(f, &g, true);
        assert_true(ticks(f->arena, svg, "tick-x", v) >= 2);
        assert_clean(svg);
        assert_labels_apart(f->arena, svg);
    }
}

static void test_small_numbers_carry_a_power_of_ten(void **state)
{
    struct fixture *f = *state;
    double x[] = {1, 2}, y[] = {-2e-6, 3e-6}, v[40];
    struct figure g = plain(x, y, 2);
    const char *svg = drawn(f, &g, true);
    assert_int_equal(count_labels(f->arena, svg, "title-y", "reading (10\u207b\u2076 g)"), 1);
    size_t n = ticks(f->arena, svg, "tick-y", v);
    assert_true(v[0] >= -3.0 && v[n - 1] <= 4.0);
}

static void test_hostile_text_is_escaped(void **state)
{
    struct fixture *f = *state;
    sample_analysis_hostile(f->arena, &f->analysis);
    for (size_t i = 0; i < 2; i++)
        for (int standalone = 0; standalone < 2; standalone++) {
            const char *svg = drawn(f, &f->analysis.findings[0].figures[i], standalone == 1);
            assert_clean(svg);
            assert_labels_apart(f->arena, svg);
            assert_null(strstr(svg, "\xff"));
            assert_null(strstr(svg, "\xe2\x80\xae"));
        }
    assert_non_null(strstr(drawn(f, weight(f), true), "&lt;script&gt;alert(1)&lt;/script&gt;"));
    /* no characters in the sense of XML */
    struct figure g = plain(NULL, NULL, 0);
    g.title = "a\xef\xbf\xbf"
              "b\xef\xbf\xbe";
    g.name = "x\"y><z";
    const char *svg = drawn(f, &g, true);
    assert_null(strstr(svg, "\xef\xbf\xbf"));
    assert_non_null(strstr(svg, "id=\"x_y__z\""));
}

/* Of curves that lie on one another the best is named at its end; one that is apart at a line. */
static void test_curves_that_coincide_are_named_together(void **state)
{
    struct fixture *f = *state;
    enum { N = 60 };
    static const double more[4] = {0.0, 0.004, -0.004, -0.3};
    double x[N], y[4][N];
    for (size_t i = 0; i < N; i++)
        for (size_t k = 0; k < 4; k++) {
            x[i] = 10.0 * (double)i / (N - 1);
            y[k][i] = 1.0 - exp(-x[i] / 2.0) + more[k] * x[i] / 10.0;
        }
    struct curve c[4] = {{"twin", CURVE_CANDIDATE, N, x, y[1]},
                         {"best", CURVE_FIT, N, x, y[0]},
                         {"second twin", CURVE_CANDIDATE, N, x, y[2]},
                         {"lone curve", CURVE_CANDIDATE, N, x, y[3]}};
    struct figure g = plain(x, y[0], 1);
    g.curves = c;
    g.n_curves = 4;
    const char *svg = drawn(f, &g, true);
    assert_labels_apart(f->arena, svg);
    assert_int_equal(count_labels(f->arena, svg, "note", "close to the best: twin, second twin"),
                     1);
    assert_int_equal(count(svg, "class=\"curve-label\""), 2);
    assert_int_equal(count_labels(f->arena, svg, "curve-label", "lone curve"), 1);
    assert_int_equal(count(svg, "class=\"leader\""), 1);
    size_t n, best = 0;
    struct label *l = labels(f->arena, svg, &n);
    while (best < n && strcmp(l[best].text, "best") != 0)
        best++;
    assert_true(best < n && l[best].x > 0.75 * 480.0 - l[best].width);
    g.n_curves = 2; /* no other is apart: nothing is named in the plot but the best */
    assert_int_equal(count(drawn(f, &g, true), "class=\"curve-label\""), 1);
}

/* Ten thousand shots: the drawing grows in proportion, and is done at once. */
static void test_many_points(void **state)
{
    struct fixture *f = *state;
    enum { MANY = 10000 };
    double *x = ARENA_ARRAY(f->arena, double, MANY), *y = ARENA_ARRAY(f->arena, double, MANY);
    for (size_t i = 0; i < MANY; i++) {
        x[i] = (double)(i % 100);
        y[i] = (double)(i * 7919 % 13);
    }
    struct figure g = plain(x, y, MANY);
    const char *svg = drawn(f, &g, true);
    assert_int_equal(count(svg, "<circle class=\"point\"") - count(svg, "<g class=\"sample\""),
                     MANY);
    assert_true(strlen(svg) < 100 * MANY);
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        CASE(test_every_rule_has_its_line_and_its_label),
        CASE(test_without_a_window_there_is_no_aim),
        CASE(test_every_shot_is_drawn),
        CASE(test_units_stand_in_the_axis_titles),
        CASE(test_title_and_description),
        CASE(test_ids_of_two_figures_do_not_collide),
        CASE(test_the_same_figure_gives_the_same_bytes),
        CASE(test_ticks_stand_at_1_2_5_steps),
        CASE(test_log_ticks),
        CASE(test_values_stand_where_the_ticks_say),
        CASE(test_entered_units),
        CASE(test_shots_that_coincide_stay_visible),
        CASE(test_shapes_say_what_a_point_is),
        CASE(test_forty_rules_are_all_labelled),
        CASE(test_rules_anywhere_are_labelled_at_the_line),
        CASE(test_long_words_stay_inside),
        CASE(test_words_beside_points),
        CASE(test_a_far_point_left_out_does_not_flatten_the_figure),
        CASE(test_nan_and_inf_do_no_harm),
        CASE(test_an_empty_figure_says_so),
        CASE(test_one_value_has_an_axis),
        CASE(test_small_numbers_carry_a_power_of_ten),
        CASE(test_hostile_text_is_escaped),
        CASE(test_curves_that_coincide_are_named_together),
        CASE(test_many_points),
    };
    return cmocka_run_group_tests_name("report: svg", tests, NULL, NULL);
}
