/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The same study typed in another way gives the same findings, to ten digits (at most one unit in
 * the tenth): separator, decimal mark, encoding, line ends, long and wide form, units, row order
 * with shot numbers. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/study.h"
#include "simulate.h"

#define SHOTS 27
#define CAVITIES 3

struct typed { /* how the study is written down */
    const char *name;
    const char *separator;
    char decimal;
    const char *line_end;
    const char *encoding; /* "utf8", "bom", "utf16le", "cp1252" */
    bool long_form, shuffled;
    const char *time_unit, *mass_unit;
    double time_factor, mass_factor; /* typed = canonical * factor */
    int time_decimals, mass_decimals;
};

static const struct typed plain = {"plain", ",", '.', "\n", "utf8", false, false,
                                   "s",     "g", 1.0, 1.0,  1,      3};

struct shot {
    int number;
    double hold, weight[CAVITIES];
};

static void make_study(struct shot *shots)
{
    const double hold[9] = {6, 3, 8, 4, 2, 7, 5, 9, 6};
    struct sim_stream s = {2026};
    for (int i = 0; i < SHOTS; i++) {
        double all = 0.0012 * sim_normal(&s);
        shots[i].number = i + 1;
        shots[i].hold = hold[i / 3] + (i / 3 == 4 ? 0.5 : 0.0);
        for (int c = 0; c < CAVITIES; c++) {
            double w = (1.0 + 0.002 * c) * (4.2 - 0.3 * exp(-(shots[i].hold - 2.0) / 0.8));
            shots[i].weight[c] = round((w + all + 0.0006 * sim_normal(&s)) * 1000.0) / 1000.0;
        }
    }
}

static void add_typed(struct text *t, const struct typed *how, double v, int decimals)
{
    size_t from = t->length;
    text_addf(t, "%.*f", decimals, v);
    for (char *p = t->s + from; *p != '\0'; p++)
        if (*p == '.')
            *p = how->decimal;
}

static void add_row(struct text *t, const struct typed *how, const struct shot *s, int cavity)
{
    text_addf(t, "%d%s", s->number, how->separator);
    add_typed(t, how, s->hold * how->time_factor, how->time_decimals);
    if (how->long_form)
        text_addf(t, "%s%d", how->separator, cavity + 1);
    for (int c = how->long_form ? cavity : 0; c < (how->long_form ? cavity + 1 : CAVITIES); c++) {
        text_add(t, how->separator);
        add_typed(t, how, s->weight[c] * how->mass_factor, how->mass_decimals);
    }
    text_addf(t,
              "%sgepr\xC3\xBC"
              "ft%s",
              how->separator, how->line_end);
}

static void write_study(struct text *t, const struct typed *how, const struct shot *shots)
{
    const char *s = how->separator;
    text_addf(t, "shot%shold time [%s]", s, how->time_unit);
    if (how->long_form)
        text_addf(t, "%scavity%sweight [%s]", s, s, how->mass_unit);
    for (int c = 0; !how->long_form && c < CAVITIES; c++)
        text_addf(t, "%sweight c%d [%s]", s, c + 1, how->mass_unit);
    text_addf(t, "%snote%s", s, how->line_end);
    for (int i = 0; i < SHOTS; i++) {
        const struct shot *shot = &shots[how->shuffled ? (i * 10 + 3) % SHOTS : i];
        for (int c = 0; c < (how->long_form ? CAVITIES : 1); c++)
            add_row(t, how, shot, c);
    }
}

static size_t encode(const struct typed *how, const struct text *t, char *out)
{
    size_t n = 0;
    bool utf16 = strcmp(how->encoding, "utf16le") == 0, cp = strcmp(how->encoding, "cp1252") == 0;
    if (strcmp(how->encoding, "bom") == 0) {
        memcpy(out, "\xEF\xBB\xBF", 3);
        n = 3;
    } else if (utf16) {
        memcpy(out, "\xFF\xFE", 2);
        n = 2;
    }
    for (size_t i = 0; i < t->length;) {
        unsigned point = 0;
        size_t k = utf8_next(t->s + i, t->length - i, &point);
        if (utf16) {
            out[n++] = (char)(point & 0xFF);
            out[n++] = (char)(point >> 8);
        } else if (cp) {
            out[n++] = (char)point;
        } else {
            memcpy(out + n, t->s + i, k);
            n += k;
        }
        i += k;
    }
    return n;
}

static void analyze_typed(struct arena *a, const struct typed *how, struct finding *f)
{
    static struct shot shots[SHOTS];
    const struct study *study = study_find("gate-freeze");
    const struct study_input input = {study->name, study->columns, study->n_columns};
    struct trial trial = {.folder = ""};
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    struct text t;
    struct table *table = ARENA_NEW(a, struct table);
    make_study(shots);
    text_init(&t, a);
    write_study(&t, how, shots);
    char *bytes = arena_alloc(a, 2 * t.length + 4);
    size_t n = encode(how, &t, bytes);
    diag_init(&diags, a);
    assert_int_equal(
        table_load_bytes(a, "gate-freeze.csv", bytes, n, &input, NULL, table, &diags, &e),
        ERR_NONE);
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_ERROR)
            print_error("%s: %s\n", how->name, diags.items[i].message);
    assert_int_equal(diags.errors, 0);
    trial.tables = table;
    trial.n_tables = 1;
    trial_fill_display(a, &trial);
    finding_init(f, a, study->name, study->title);
    assert_int_equal(study->analyze(&trial, table, f, &e), ERR_NONE);
}

/* One unit in the tenth digit. */
static void same(double got, double want)
{
    assert_near(got, want, 1.1e-9, 0.0);
}

static void same_models(const struct finding *a, const struct finding *b)
{
    assert_int_equal(a->n_models, b->n_models);
    for (size_t i = 0; i < a->n_models; i++) {
        assert_int_equal(a->models[i].in_play, b->models[i].in_play);
        assert_int_equal(a->models[i].chosen, b->models[i].chosen);
        same(b->models[i].answer, a->models[i].answer);
        same(b->models[i].answer_low, a->models[i].answer_low);
        same(b->models[i].answer_high, a->models[i].answer_high);
        same(b->models[i].residual_sd, a->models[i].residual_sd);
    }
}

static void gives_the_same(void **state)
{
    const struct typed *how = *state;
    struct arena *arena = arena_new();
    struct finding a, b;
    analyze_typed(arena, &plain, &a);
    analyze_typed(arena, how, &b);
    assert_true(finding_get(&a, "freeze_time")->value > 2.0);
    assert_int_equal(a.verdict, b.verdict);
    assert_int_equal(a.n_quantities, b.n_quantities);
    for (size_t i = 0; i < a.n_quantities; i++) {
        same(b.quantities[i].value, a.quantities[i].value);
        same(b.quantities[i].low, a.quantities[i].low);
        same(b.quantities[i].high, a.quantities[i].high);
    }
    assert_int_equal(a.n_criteria, b.n_criteria);
    for (size_t i = 0; i < a.n_criteria; i++) {
        same(b.criteria[i].limit, a.criteria[i].limit);
        same(b.criteria[i].high, a.criteria[i].high);
        assert_int_equal(a.criteria[i].verdict, b.criteria[i].verdict);
    }
    assert_int_equal(a.n_bounds, 1);
    assert_int_equal(b.n_bounds, 1);
    same(b.bounds[0].value, a.bounds[0].value);
    assert_int_equal(a.n_flags, b.n_flags);
    for (size_t i = 0; i < a.n_flags; i++)
        assert_string_equal(a.flags[i].code, b.flags[i].code);
    assert_int_equal(a.n_next_shots, b.n_next_shots);
    for (size_t i = 0; i < a.n_next_shots; i++)
        same(b.next_shots[i].at, a.next_shots[i].at);
    same_models(&a, &b);
    arena_free(arena);
}

static const struct typed ways[] = {
    {"semicolon", ";", '.', "\n", "utf8", false, false, "s", "g", 1, 1, 1, 3},
    {"tab", "\t", '.', "\n", "utf8", false, false, "s", "g", 1, 1, 1, 3},
    {"bar", "|", '.', "\n", "utf8", false, false, "s", "g", 1, 1, 1, 3},
    {"decimal comma", ";", ',', "\n", "utf8", false, false, "s", "g", 1, 1, 1, 3},
    {"carriage return and line feed", ",", '.', "\r\n", "utf8", false, false, "s", "g", 1, 1, 1, 3},
    {"carriage return", ",", '.', "\r", "utf8", false, false, "s", "g", 1, 1, 1, 3},
    {"byte order mark", ",", '.', "\n", "bom", false, false, "s", "g", 1, 1, 1, 3},
    {"UTF-16", "\t", '.', "\r\n", "utf16le", false, false, "s", "g", 1, 1, 1, 3},
    {"Windows-1252", ";", ',', "\r\n", "cp1252", false, false, "s", "g", 1, 1, 1, 3},
    {"long form", ",", '.', "\n", "utf8", true, false, "s", "g", 1, 1, 1, 3},
    {"row order", ",", '.', "\n", "utf8", false, true, "s", "g", 1, 1, 1, 3},
    {"long form, row order", ",", '.', "\n", "utf8", true, true, "s", "g", 1, 1, 1, 3},
    {"milligrams", ",", '.', "\n", "utf8", false, false, "s", "mg", 1, 1e3, 1, 0},
    {"kilograms", ",", '.', "\n", "utf8", false, false, "s", "kg", 1, 1e-3, 1, 6},
    {"zeros of a number format", ";", ',', "\n", "utf8", false, false, "s", "g", 1, 1, 3, 6},
    {"digits beyond a double", ";", ',', "\n", "utf8", false, false, "s", "g", 1, 1, 1, 17},
    {"milliseconds", ",", '.', "\n", "utf8", false, false, "ms", "g", 1e3, 1, 0, 3},
};

int main(void)
{
    struct CMUnitTest tests[PL_COUNT(ways)];
    for (size_t i = 0; i < PL_COUNT(ways); i++)
        tests[i] = (struct CMUnitTest){ways[i].name, gives_the_same, NULL, NULL,
                                       (void *)(uintptr_t)&ways[i]};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
