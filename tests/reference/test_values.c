/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every statistic the program prints against data/values.tsv: published values, and values of R
 * (scripts/values.R says how each is computed there; `make crosscheck` computes them again). A line
 * is: what, value, digits of agreement asked for, source. The data are beside it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/math.h"
#include "plateau/math_anova.h"
#include "plateau/math_cooling.h"

#define MOST_ROWS 64
#define MOST_WORDS 8
#define DATA SOURCE_DIR "/tests/reference/data/"

/* ---- files -------------------------------------------------------------------------------------
 */

struct sheet {
    size_t n, columns;
    double v[3][MOST_ROWS];
};

static void sheet_read(const char *name, struct sheet *s)
{
    char path[400], line[200];
    snprintf(path, sizeof path, DATA "%s.csv", name);
    FILE *f = fopen(path, "r");
    if (f == NULL)
        fail_msg("cannot read %s", path);
    *s = (struct sheet){0};
    assert_non_null(fgets(line, sizeof line, f)); /* names */
    while (fgets(line, sizeof line, f) != NULL) {
        assert_true(s->n < MOST_ROWS);
        char *at = line;
        for (s->columns = 0; s->columns < 3 && *at != '\n' && *at != '\0'; s->columns++) {
            s->v[s->columns][s->n] = strtod(at, &at);
            at += *at == ',';
        }
        s->n++;
    }
    fclose(f);
}

struct words {
    size_t n;
    char text[400];
    const char *w[MOST_WORDS];
};

static void words_of(const char *line, struct words *w)
{
    *w = (struct words){0};
    snprintf(w->text, sizeof w->text, "%s", line);
    for (char *at = w->text; *at != '\0' && w->n < MOST_WORDS;) {
        w->w[w->n++] = at;
        at += strcspn(at, " ");
        if (*at == ' ')
            *at++ = '\0';
    }
}

static double number(const struct words *w, size_t i)
{
    if (i >= w->n)
        fail_msg("%s: too few words", w->w[0]);
    return strtod(w->w[i], NULL);
}

/* one of `names` (the last is NULL) to the value beside it */
static double pick(const char *what, const char *const *names, const double *values)
{
    for (size_t i = 0; names[i] != NULL; i++)
        if (strcmp(what, names[i]) == 0)
            return values[i];
    fail_msg("no meaning for %s", what);
    return PL_NAN;
}

/* ---- analysis of variance ----------------------------------------------------------------------
 */

static double one_way(struct arena *a, const struct words *w)
{
    static const char *const names[] = {"ss_between", "ss_within",   "f", "p",
                                        "r_squared",  "residual_sd", NULL};
    struct sheet s;
    size_t group[MOST_ROWS];
    struct anova_one_way o;
    sheet_read(w->w[1], &s);
    for (size_t i = 0; i < s.n; i++)
        group[i] = (size_t)s.v[0][i];
    math_anova_one_way(a, s.v[1], group, s.n, 10, &o);
    const double values[] = {o.ss_between, o.ss_within, o.f, o.p, o.r_squared, o.residual_sd};
    return pick(w->w[2], names, values);
}

static void layout(struct arena *a, const char *name, struct anova_two_way *t)
{
    struct sheet s;
    double y[8][8];
    const double *rows[8];
    size_t cavities = 0, shots = 0;
    sheet_read(name, &s);
    for (size_t i = 0; i < s.n; i++) {
        size_t c = (size_t)s.v[0][i], k = (size_t)s.v[1][i];
        assert_true(c >= 1 && c <= 8 && k >= 1 && k <= 8);
        y[c - 1][k - 1] = s.v[2][i];
        cavities = c > cavities ? c : cavities;
        shots = k > shots ? k : shots;
    }
    assert_int_equal(s.n, cavities * shots);
    for (size_t c = 0; c < cavities; c++)
        rows[c] = y[c];
    math_anova_two_way(a, rows, cavities, shots, t);
}

static double two_way(struct arena *a, const struct words *w)
{
    static const char *const names[] = {"ss_rows",   "ss_columns",  "ss_residual",
                                        "f_rows",    "p_rows",      "f_columns",
                                        "p_columns", "residual_sd", NULL};
    struct anova_two_way t;
    layout(a, w->w[1], &t);
    const double values[] = {t.ss_rows, t.ss_columns, t.ss_residual, t.f_rows,
                             t.p_rows,  t.f_columns,  t.p_columns,   t.residual_sd};
    return pick(w->w[2], names, values);
}

static double imbalance(struct arena *a, const struct words *w)
{
    static const char *const names[] = {"value", "low", "high", NULL};
    struct anova_two_way t;
    struct imbalance i;
    layout(a, w->w[1], &t);
    math_imbalance(&t, 0.0, 0.95, &i);
    const double values[] = {i.value, i.low, i.high};
    return pick(w->w[2], names, values);
}

/* ---- curves ------------------------------------------------------------------------------------
 */

static enum family_id family_named(const char *name)
{
    static const char *const names[] = {"constant",          "line",        "linear-plateau",
                                        "quadratic-plateau", "exponential", "logistic",
                                        "stretched",         "stick",       NULL};
    static const double values[] = {
        FAMILY_CONSTANT,    FAMILY_LINE,     FAMILY_LINEAR_PLATEAU, FAMILY_QUADRATIC_PLATEAU,
        FAMILY_EXPONENTIAL, FAMILY_LOGISTIC, FAMILY_STRETCHED,      FAMILY_BROKEN_STICK};
    return (enum family_id)pick(name, names, values);
}

static void find(struct arena *a, const struct words *w, struct math_blocks *b,
                 struct plateau_answer *r)
{
    struct sheet s;
    struct plateau_options o = {number(w, 2), PL_NAN, 0.0, 0.95, 1};
    struct error e = {.code = ERR_NONE};
    sheet_read(w->w[1], &s);
    math_blocks_make(a, s.v[0], s.v[1], s.n, b);
    assert_int_equal(plateau_find(a, b, &o, r, &e), ERR_NONE);
}

/* "value.NAME", "sd.NAME" */
static double parameter_of(const struct family_fit *f, const char *what)
{
    const char *name = strchr(what, '.') + 1;
    for (size_t k = 0; k < f->p; k++)
        if (strcmp(f->parameter[k], name) == 0)
            return what[0] == 'v' ? f->value[k] : sqrt(f->covariance[k][k]);
    fail_msg("%s has no parameter %s", f->name, name);
    return PL_NAN;
}

static double family(struct arena *a, const struct words *w)
{
    static const char *const names[] = {"rss",        "residual_sd", "aicc",        "misfit_p",
                                        "answer",     "answer_low",  "answer_high", "start_low",
                                        "start_high", "curve_lwr",   "curve_upr",   NULL};
    struct math_blocks b;
    struct plateau_answer r;
    find(a, w, &b, &r);
    const struct family_fit *f = &r.family[family_named(w->w[3])];
    assert_true(f->tried);
    if (strchr(w->w[4], '.') != NULL)
        return parameter_of(f, w->w[4]);
    double n = (double)b.n_rows, at = 6.5;
    double half = math_t_quantile(0.975, n - (double)f->p) * family_value_se(f, at, b.group_x[0]);
    double y = family_value(f, at, b.group_x[0]);
    const double values[] = {
        f->rss,         f->residual_sd, f->aicc + n * (1.0 + log(2.0 * 3.14159265358979323846)),
        f->misfit_p,    f->answer,      f->answer_low,
        f->answer_high, f->start_low,   f->start_high,
        y - half,       y + half};
    return pick(w->w[4], names, values);
}

static double rise(struct arena *a, const struct words *w)
{
    static const char *const names[] = {"rise", "low", "high", "verdict", NULL};
    struct math_blocks b;
    struct plateau_answer r;
    find(a, w, &b, &r);
    assert_int_equal(r.best, family_named(w->w[3]));
    assert_int_equal(r.rise_from + 1, (size_t)number(w, 4));
    const double values[] = {r.rise, r.rise_low, r.rise_high, r.verdict};
    return pick(w->w[5], names, values);
}

/* ---- the list ----------------------------------------------------------------------------------
 */

static double computed(struct arena *a, const struct words *w)
{
    static const struct {
        const char *name;
        double (*of)(struct arena *a, const struct words *w);
    } studies[] = {
        {"one_way", one_way}, {"two_way", two_way}, {"imbalance", imbalance},
        {"family", family},   {"rise", rise},
    };
    for (size_t i = 0; i < PL_COUNT(studies); i++)
        if (strcmp(w->w[0], studies[i].name) == 0)
            return studies[i].of(a, w);
    if (strcmp(w->w[0], "t_quantile") == 0)
        return math_t_quantile(number(w, 1), number(w, 2));
    if (strcmp(w->w[0], "t_cdf") == 0)
        return math_t_cdf(number(w, 1), number(w, 2));
    if (strcmp(w->w[0], "t_two_sided") == 0)
        return math_two_sided_p(number(w, 1), number(w, 2));
    if (strcmp(w->w[0], "f_tail") == 0)
        return math_f_tail(number(w, 1), number(w, 2), number(w, 3));
    if (strcmp(w->w[0], "tolerance") == 0)
        return math_tolerance_factor(number(w, 1), number(w, 2), number(w, 3), number(w, 4));
    fail_msg("no meaning for %s", w->w[0]);
    return PL_NAN;
}

static void every_line(void **state)
{
    char line[400];
    size_t lines = 0, missed = 0;
    double least = 16.0;
    FILE *f = fopen(DATA "values.tsv", "r");
    (void)state;
    assert_non_null(f);
    while (fgets(line, sizeof line, f) != NULL) {
        struct words w;
        char *tab = strchr(line, '\t'), *rest;
        if (line[0] == '#' || tab == NULL)
            continue;
        struct arena *a = arena_new();
        *tab = '\0';
        words_of(line, &w);
        double want = strtod(tab + 1, &rest), digits = strtod(rest, NULL);
        double got = computed(a, &w);
        if (!(lre(got, want) >= digits)) {
            print_error("%s = %.15g, want %.15g: %.1f digits of %.1f\n", line, got, want,
                        lre(got, want), digits);
            missed++;
        }
        least = fmin(least, lre(got, want) - digits);
        lines++;
        arena_free(a);
    }
    fclose(f);
    print_message("%zu values; the closest has %.1f digits in hand\n", lines, least);
    assert_true(lines > 150);
    assert_int_equal(missed, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_line)};
    return cmocka_run_group_tests_name("values", tests, NULL, NULL);
}
