/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Premises from a trial made by hand: units people see, files, exclusions. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>
#include <cmocka.h>

#include "cli/commands.h"
#include "near.h"

static const struct column_spec specs[] = {
    {.name = "hold_time", .dimension = DIM_TIME},
    {.name = "weight", .dimension = DIM_MASS},
    {.name = "hold_pressure", .dimension = DIM_PRESSURE},
    {.name = "melt_temperature", .dimension = DIM_TEMPERATURE},
    {.name = "note", .dimension = DIM_TEXT},
};

struct fixture {
    struct arena *a;
    struct trial trial;
    struct table table;
    struct table_column columns[6];
    struct source sources[2];
    struct table_row rows[4];
    struct fact fact;
    struct premises premises;
};

static void column(struct fixture *f, size_t i, size_t spec, int cavity, const char *unit)
{
    f->columns[i] = (struct table_column){.spec = &specs[spec], .cavity = cavity};
    if (unit != NULL)
        f->columns[i].unit = unit_find(unit, strlen(unit), NULL);
}

static int setup(void **state)
{
    struct arena *a = arena_new();
    struct fixture *f = ARENA_NEW(a, struct fixture);
    f->a = a;
    column(f, 0, 0, 0, "s");
    column(f, 1, 1, 1, "oz");
    column(f, 2, 1, 2, "oz");
    column(f, 3, 2, 0, "psi");
    column(f, 4, 3, 0, "degF");
    column(f, 5, 4, 0, NULL);
    f->sources[0] = (struct source){.name = "a.csv", .sha256 = "11", .rows_read = 3};
    f->sources[1] = (struct source){.name = "b.csv", .sha256 = "22", .rows_read = 1};
    f->rows[0] =
        (struct table_row){.source = 0, .line = 2, .cells = ARENA_ARRAY(a, struct cell, 6)};
    for (size_t i = 0; i < 6; i++)
        f->rows[0].cells[i].kind = CELL_VALUE;
    f->rows[1] = (struct table_row){
        .source = 0, .line = 3, .excluded = true, .by_user = true, .reason = "short shot"};
    f->rows[2] =
        (struct table_row){.source = 0, .line = 4, .excluded = true, .reason = "average row"};
    f->rows[3] = (struct table_row){
        .source = 1, .line = 2, .excluded = true, .by_user = true, .reason = "spilled"};
    f->table = (struct table){.study = "gate-freeze",
                              .sources = f->sources,
                              .n_sources = 2,
                              .columns = f->columns,
                              .n_columns = PL_COUNT(f->columns),
                              .rows = f->rows,
                              .n_rows = PL_COUNT(f->rows)};
    f->trial = (struct trial){.path = "mold", .tables = &f->table, .n_tables = 1};
    *state = f;
    return 0;
}

static int teardown(void **state)
{
    struct fixture *f = *state;
    arena_free(f->a);
    return 0;
}

static void fill_with_units(struct fixture *f, const char *units)
{
    f->fact = (struct fact){.section = "report", .key = "units", .kind = FACT_TEXT, .text = units};
    f->trial.facts = (struct facts){.file = "trial.ini", .items = &f->fact, .n = 1};
    trial_fill_display(f->a, &f->trial);
    premises_fill(f->a, &f->trial, &f->premises);
}

static void shows(const struct fixture *f, enum dimension d, const char *name, double canonical)
{
    const struct display_unit *u = &f->premises.display[d];
    assert_string_equal(u->name, name);
    assert_near(1.0 * u->factor + u->offset, canonical, 1e-9, 1e-12);
}

static void test_as_entered(void **state)
{
    struct fixture *f = *state;
    fill_with_units(f, "as-entered");
    shows(f, DIM_TIME, "s", 1.0);
    shows(f, DIM_MASS, "oz", 28.349523125); /* NIST SP 811, avoirdupois ounce */
    shows(f, DIM_PRESSURE, "psi", 6.894757293e-3);
    shows(f, DIM_VISCOSITY, "psi.s", 6.894757293e-3);
    shows(f, DIM_TEMPERATURE, "degF", -17.222222222);
    shows(f, DIM_TEMPERATURE_STEP, "degF", 5.0 / 9.0);
    shows(f, DIM_MASS_RATE, "oz/s", 28.349523125);
    shows(f, DIM_FORCE, "kN", 1.0);
    shows(f, DIM_RATIO, "%", 0.01);
}

static void test_metric(void **state)
{
    struct fixture *f = *state;
    fill_with_units(f, "metric");
    shows(f, DIM_MASS, "g", 1.0);
    shows(f, DIM_PRESSURE, "MPa", 1.0);
    shows(f, DIM_VISCOSITY, "MPa.s", 1.0);
    shows(f, DIM_TEMPERATURE, "degC", 1.0);
    shows(f, DIM_TEMPERATURE_STEP, "K", 1.0);
}

static void test_us(void **state)
{
    struct fixture *f = *state;
    fill_with_units(f, "us");
    shows(f, DIM_LENGTH, "in", 25.4);
    shows(f, DIM_AREA, "in2", 645.16);
    shows(f, DIM_VOLUME, "in3", 16387.064);
    shows(f, DIM_SPEED, "in/s", 25.4);
    shows(f, DIM_VOLUME_RATE, "in3/s", 16387.064);
    shows(f, DIM_PRESSURE, "psi", 6.894757293e-3);
    shows(f, DIM_FORCE, "short tonf", 8.896443231); /* NIST SP 811, ton-force of 2000 lbf */
    shows(f, DIM_TEMPERATURE_STEP, "degF", 5.0 / 9.0);
    shows(f, DIM_MASS, "oz", 28.349523125); /* as typed: ounces are of that system */
}

/* What was typed in a unit of the system that is asked for stays as it was typed. */
static void test_units_of_the_system_stay(void **state)
{
    struct fixture *f = *state;
    struct unit hydraulic = {"psi (hydraulic)", DIM_PRESSURE, 10.0 * 6.894757293e-3, 0.0};
    struct unit grams = {"g", DIM_MASS, 1.0, 0.0}, bar = {"bar", DIM_PRESSURE, 0.1, 0.0};
    f->columns[1].unit = &grams;
    f->columns[2].unit = &grams;
    f->columns[3].unit = &hydraulic;
    fill_with_units(f, "us");
    shows(f, DIM_MASS, "g", 1.0);
    shows(f, DIM_PRESSURE, "psi (hydraulic)", 6.894757293e-2);
    fill_with_units(f, "metric");
    shows(f, DIM_PRESSURE, "MPa", 1.0);
    f->columns[3].unit = &bar;
    fill_with_units(f, "metric");
    shows(f, DIM_PRESSURE, "bar", 0.1);
    fill_with_units(f, "us");
    shows(f, DIM_PRESSURE, "psi", 6.894757293e-3);
}

static void test_files(void **state)
{
    struct fixture *f = *state;
    strcpy(f->trial.ini_sha256, "33");
    fill_with_units(f, "as-entered");
    const struct premises *p = &f->premises;
    assert_int_equal(p->n_files, 3);
    assert_string_equal(p->files[0].name, "trial.ini");
    assert_string_equal(p->files[0].study, "");
    assert_string_equal(p->files[1].name, "a.csv");
    assert_string_equal(p->files[1].study, "gate-freeze");
    assert_string_equal(p->files[1].units,
                        "hold_time s, weight oz, hold_pressure psi, melt_temperature degF");
    assert_int_equal(p->files[1].n_excluded, 1);
    assert_int_equal(p->files[1].excluded[0].line, 3);
    assert_string_equal(p->files[1].excluded[0].reason, "short shot");
    assert_int_equal(p->files[2].n_excluded, 1);
    assert_string_equal(p->files[2].excluded[0].file, "b.csv");
}

static void test_defaults(void **state)
{
    struct fixture *f = *state;
    premises_fill(f->a, &f->trial, &f->premises);
    assert_near(f->premises.confidence, 0.95, 0.0, 0.0);
    assert_int_equal(f->premises.resamples, 2000);
    assert_int_equal(f->premises.seed, 1);
    assert_int_equal(f->premises.n_files, 2);
    assert_true(f->premises.n_cautions >= 5);
}

static void test_folder(void **state)
{
    struct fixture *f = *state;
    static const struct {
        const char *path;
        bool single;
        const char *folder;
    } cases[] = {
        {"mold", false, "mold/report"},
        {"mold/", false, "mold/report"},
        {".", false, "report"},
        {"..", false, "../report"},
        {"/", false, "/report"},
        {"gate-freeze.csv", true, "gate-freeze-report"},
        {"a.b/gate-freeze.csv", true, "a.b/gate-freeze-report"},
        {"a.b/gate-freeze", true, "a.b/gate-freeze-report"},
        {"./gate-freeze.CSV", true, "./gate-freeze-report"},
    };
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        f->trial.path = cases[i].path;
        f->trial.single_file = cases[i].single;
        assert_string_equal(output_folder(f->a, &f->trial), cases[i].folder);
    }
}

static void test_wrap(void **state)
{
    struct fixture *f = *state;
    struct text t;
    text_init(&t, f->a);
    text_add_wrapped(&t, "one two  three four", 0, 2, 9);
    assert_string_equal(t.s, "one two\n  three\n  four\n");
    text_clear(&t);
    text_add_wrapped(&t, "", 0, 2, 9);
    assert_string_equal(t.s, "\n");
    text_clear(&t);
    text_add_wrapped(&t, "longer-than-the-line x", 5, 3, 10);
    assert_string_equal(t.s, "longer-than-the-line\n   x\n");
}

int main(void)
{
#define CASE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
    const struct CMUnitTest tests[] = {
        CASE(test_as_entered), CASE(test_metric),
        CASE(test_us),         CASE(test_units_of_the_system_stay),
        CASE(test_files),      CASE(test_defaults),
        CASE(test_folder),     CASE(test_wrap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
