/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * trial.ini: every form of value, every message, with its place.
 */
#include <string.h>

#include "near.h"
#include "read/ini.h"
#include "read/ini_codes.h"
#include "read_ini_cases.h"

/* ---- a request of two studies -----------------------------------------------------------------
 */

static const struct column_spec gate_columns[] = {
    {"hold_time", "pack time", DIM_TIME, COLUMN_REQUIRED | COLUMN_SETTING, 0.0, 600.0, "hold time"},
    {"weight", "", DIM_MASS, COLUMN_REQUIRED | COLUMN_PER_CAVITY, 1e-4, 1e6, "weight"},
};
static const struct column_spec viscosity_columns[] = {
    {"fill_time", "", DIM_TIME, COLUMN_REQUIRED, 1e-3, 600.0, "fill time"},
    {"transfer_pressure", "", DIM_PRESSURE, COLUMN_REQUIRED | COLUMN_BASIS, 0.0, 600.0, "pressure"},
    {"injection_speed", "", DIM_SPEED, 0, 0.0, 5000.0, "speed"},
    {"condition", "", DIM_TEXT, 0, 0.0, 0.0, "condition"},
    {"age", "", DIM_AGE, 0, 0.0, 1e5, "age"},
};
static const struct study_input studies[] = {
    {"gate-freeze", gate_columns, PL_COUNT(gate_columns)},
    {"viscosity", viscosity_columns, PL_COUNT(viscosity_columns)},
};
static const struct criterion_spec criteria[] = {
    {"freeze_tolerance", DIM_MASS, NAN, 0.001, 'O', "0.1 % of the plateau weight", ""},
    {"hold_time_margin", DIM_TIME, 0.5, 0.05, 'C', "0.5 s or 5 %, the larger", ""},
    {"cooling_time_margin", DIM_TIME, 0.5, NAN, 'C', "0.5 s", ""},
    {"conditioning_time", DIM_AGE, 24.0, NAN, 'S', "24 h", ""},
    {"speed_disturbance", DIM_RATIO, NAN, 0.1, 'O', "10 % slower", ""},
    {"pressure_use_max", DIM_RATIO, 0.9, NAN, 'C', "90 %", ""},
    {"ppk_min", DIM_COUNT, 1.33, NAN, 'C', "1.33", ""},
    {"hold_window_min_temperature_width", DIM_TEMPERATURE_STEP, 10.0, NAN, 'O', "10 K", ""},
};
static const struct read_request request = {studies, PL_COUNT(studies), criteria,
                                            PL_COUNT(criteria)};

struct loaded {
    struct arena *arena;
    struct facts facts;
    struct diag_list diags;
};

static struct loaded load(const char *ini)
{
    struct loaded l = {.arena = arena_new()};
    struct error e = {0};
    diag_init(&l.diags, l.arena);
    assert_int_equal(
        facts_load_bytes(l.arena, "trial.ini", ini, strlen(ini), &request, &l.facts, &l.diags, &e),
        ERR_NONE);
    return l;
}

static void show(const struct loaded *l)
{
    for (size_t i = 0; i < l->diags.n; i++)
        print_error("  %ld:%d-%d %s [%s] %s | %s | %s\n", l->diags.items[i].places[0].line,
                    l->diags.items[i].places[0].column_from, l->diags.items[i].places[0].column_to,
                    l->diags.items[i].code, l->diags.items[i].column, l->diags.items[i].message,
                    l->diags.items[i].expected, l->diags.items[i].remedy);
}

/* ---- values that are read ---------------------------------------------------------------------
 */

static void value_is_read(void **state)
{
    const struct good_case *c = *state;
    struct loaded l = load(c->ini);
    const struct fact *f = facts_find(&l.facts, c->section, c->key);
    if (f == NULL || l.diags.errors > 0)
        show(&l);
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(l.diags.notes, c->notes);
    assert_non_null(f);
    assert_int_equal(f->kind, c->kind);
    assert_near(f->low, c->low, 1e-7, 1e-12);
    assert_near(f->high, c->high, 1e-7, 1e-12);
    assert_near(f->relative, c->relative, 1e-12, 0.0);
    assert_string_equal(f->text, c->text);
    assert_true(f->given);
    assert_true(f->line > 0);
    arena_free(l.arena);
}

/* ---- values and lines that are refused --------------------------------------------------------
 */

static bool mentions(const struct diag *d, const char *s)
{
    return strstr(d->message, s) != NULL ||
           (d->expected != NULL && strstr(d->expected, s) != NULL) ||
           (d->remedy != NULL && strstr(d->remedy, s) != NULL);
}

static void value_is_refused(void **state)
{
    const struct bad_case *c = *state;
    struct loaded l = load(c->ini);
    const struct diag *d = l.diags.n > 0 ? &l.diags.items[0] : NULL;
    if (d == NULL || l.diags.errors != 1 || strcmp(d->code, c->code) != 0 ||
        d->places[0].column_from != c->from || d->places[0].column_to != c->to ||
        !mentions(d, c->in_message))
        show(&l);
    assert_int_equal(l.diags.errors, 1);
    assert_int_equal(d->severity, DIAG_ERROR);
    assert_string_equal(d->code, c->code);
    assert_string_equal(d->file, "trial.ini");
    assert_int_equal(d->places[0].line, c->line);
    assert_int_equal(d->places[0].column_from, c->from);
    assert_int_equal(d->places[0].column_to, c->to);
    assert_non_null(d->places[0].source);
    assert_true(mentions(d, c->in_message));
    arena_free(l.arena);
}

/* ---- the file as a whole ----------------------------------------------------------------------
 */

static void defaults_are_filled_in(void **state)
{
    (void)state;
    struct loaded l = load("[criteria]\nppk_min = 2\n");
    assert_int_equal(l.facts.n, PL_COUNT(criteria));
    for (size_t i = 0; i < PL_COUNT(criteria); i++) {
        const struct fact *f = facts_find(&l.facts, "criteria", criteria[i].name);
        assert_non_null(f);
        assert_int_equal(f->origin, criteria[i].origin);
        assert_int_equal(f->dimension, criteria[i].dimension);
        if (strcmp(f->key, "ppk_min") == 0) {
            assert_true(f->given);
            assert_lre(f->low, 2.0, 16);
            continue;
        }
        assert_false(f->given);
        assert_int_equal(f->line, 0);
        assert_lre(f->low, criteria[i].absolute, 16);
        assert_lre(f->high, criteria[i].absolute, 16);
        assert_lre(f->relative, criteria[i].relative, 16);
        assert_string_equal(f->text, criteria[i].wording);
    }
    arena_free(l.arena);
    l = load("");
    assert_int_equal(l.facts.n, PL_COUNT(criteria));
    assert_int_equal(l.diags.n, 0);
    assert_string_equal(l.facts.file, "trial.ini");
    arena_free(l.arena);
}

static void all_problems_in_one_go(void **state)
{
    (void)state;
    struct loaded l = load("[trial]\nmold\n[press]\nmax_injection_pressure = 2200\n[what]\nx = 1\n"
                           "[mold]\ncavities = four\nwall_thickness = 2.4 mm\n");
    assert_int_equal(l.diags.errors, 4);
    assert_lre(facts_number(&l.facts, "mold", "wall_thickness", 0.0), 2.4, 15);
    arena_free(l.arena);
}

static void facts_stand_in_order_of_lines(void **state)
{
    (void)state;
    struct loaded l = load("[running]\ninjection_speed = 40 %\n[press]\nmax_injection_speed = 200 "
                           "mm/s\nscrew_diameter = 35 mm\n[dimensions]\nwall = 1..2 mm\n");
    for (size_t i = 1; i < 4; i++)
        assert_true(l.facts.items[i].line > l.facts.items[i - 1].line);
    assert_string_equal(l.facts.items[0].key, "injection_speed");
    arena_free(l.arena);
}

static void empty_values_are_noted(void **state)
{
    (void)state;
    struct loaded l = load("[trial]\nmold =\n[press]\nscrew_diameter = \n");
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(l.diags.notes, 2);
    assert_string_equal(l.diags.items[0].code, "empty-value");
    assert_null(facts_find(&l.facts, "trial", "mold"));
    assert_null(facts_find(&l.facts, "press", "screw_diameter"));
    arena_free(l.arena);
}

static void other_encodings_are_read(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct facts f;
    struct diag_list d;
    struct error e = {0};
    diag_init(&d, a);
    /* Windows-1252: B0 is the degree sign */
    static const char bytes[] = "[running]\nmelt_temperature = 230 \xB0"
                                "C\n";
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", bytes, sizeof bytes - 1, &request, &f, &d, &e), ERR_NONE);
    assert_int_equal(d.errors, 0);
    assert_lre(facts_number(&f, "running", "melt_temperature", 0.0), 230.0, 15);
    /* UTF-16LE with a byte order mark */
    char wide[2 + 2 * 40] = "\xFF\xFE";
    static const char plain[] = "[mold]\ncavities = 8\n";
    for (size_t i = 0; i < sizeof plain - 1; i++)
        wide[2 + 2 * i] = plain[i];
    diag_init(&d, a);
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", wide, 2 + 2 * (sizeof plain - 1), &request, &f, &d, &e),
        ERR_NONE);
    assert_int_equal(d.errors, 0);
    assert_lre(facts_number(&f, "mold", "cavities", 0.0), 8.0, 15);
    arena_free(a);
}

/* UTF-8 with one byte of another coding in it: said, and harmful only where a unit is. */
static void stray_bytes_are_noted(void **state)
{
    (void)state;
    struct loaded l = load("[trial]\ntitle = \xC3\xA4 \xB0 x\n[press]\ntime_step = 0,1 s\n");
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(l.diags.n, 2);
    assert_string_equal(l.diags.items[0].code, "stray-bytes");
    assert_int_equal(l.diags.items[0].places[0].line, 2);
    assert_string_equal(l.diags.items[1].code, "number-repaired");
    assert_string_equal(l.diags.items[1].message, "`0,1` read as 0.1");
    arena_free(l.arena);
    l = load("[trial]\ntitle = \xC3\xA4\n[running]\nmelt_temperature = 230 \xB0"
             "C\n");
    assert_int_equal(l.diags.errors, 1);
    assert_string_equal(l.diags.items[1].code, "unit-not-known");
    arena_free(l.arena);
}

/* Long lines and many keys: read in the time of their number, not of its square, or refused. */
static void size_is_bounded(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct text t;
    text_init(&t, a);
    text_add(&t, "[dimensions]\n");
    for (int i = 0; i < 20000; i++)
        text_addf(&t, "d%d = 1..2 mm\n", i);
    struct loaded l = load(t.s);
    assert_int_equal(l.diags.errors, 1);
    assert_string_equal(l.diags.items[0].code, "too-many-keys");
    arena_free(l.arena);
    text_clear(&t);
    text_add(&t, "[trial]\ntitle = ");
    for (int i = 0; i < 5000; i++)
        text_add(&t, "long ");
    l = load(t.s);
    assert_int_equal(l.diags.errors, 0);
    assert_int_equal(strlen(facts_text(&l.facts, "trial", "title")), 24999);
    arena_free(l.arena);
    arena_free(a);
}

/* ---- the table of keys ------------------------------------------------------------------------
 */

/* What the blank trial.ini shows must itself be readable, every key of it, together. */
static void examples_are_accepted(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    struct text t;
    text_init(&t, a);
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    const char *section = "";
    for (size_t i = 0; i < n; i++) {
        if (strcmp(section, keys[i].section) != 0)
            text_addf(&t, "[%s]\n", keys[i].section);
        section = keys[i].section;
        const char *key = keys[i].key;
        if (strcmp(key, "*") == 0)
            key = strcmp(section, "dimensions") == 0 ? "length"
                  : strcmp(section, "criteria") == 0 ? "hold_time_margin"
                  : strcmp(section, "columns") == 0  ? "viscosity.fill_time"
                  : strcmp(section, "units") == 0    ? "viscosity.transfer_pressure"
                  : strcmp(section, "studies") == 0  ? "gate-freeze"
                  : strcmp(section, "approved") == 0 ? "hold_time.aim"
                                                     : "viscosity.decimal";
        text_addf(&t, "%s = %s\n", key, keys[i].example);
    }
    struct loaded l = load(t.s);
    if (l.diags.n > 0)
        show(&l);
    assert_int_equal(l.diags.n, 0);
    size_t given = 0;
    for (size_t i = 0; i < l.facts.n; i++)
        given += l.facts.items[i].given;
    assert_int_equal(given, n);
    arena_free(l.arena);
    arena_free(a);
}

/* `explain` knows every code of this file's cases, and they are in order. */
static void codes_are_explained(void **state)
{
    (void)state;
#define ROW(code, meaning, remedy) {code, meaning, remedy},
    static const struct code_text codes[] = {READ_INI_CODES(ROW)};
#undef ROW
    for (size_t i = 0; i < PL_COUNT(codes); i++) {
        assert_int_equal(codes[i].meaning[strlen(codes[i].meaning) - 1], '.');
        assert_int_equal(codes[i].remedy[strlen(codes[i].remedy) - 1], '.');
        assert_true(i == 0 || strcmp(codes[i - 1].code, codes[i].code) < 0);
    }
    for (size_t i = 0; i < PL_COUNT(bad_cases); i++) {
        bool known = false;
        for (size_t j = 0; j < PL_COUNT(codes); j++)
            known |= strcmp(codes[j].code, bad_cases[i].code) == 0;
        assert_true(known);
    }
}

static void table_of_keys_is_whole(void **state)
{
    (void)state;
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    for (size_t i = 0; i < n; i++) {
        char first = keys[i].purpose[0];
        assert_true((first >= 'A' && first <= 'Z') || first == '`');
        assert_int_equal(keys[i].purpose[strlen(keys[i].purpose) - 1], '.');
        assert_true(keys[i].low <= keys[i].high);
        for (size_t j = i + 1; j < n; j++) {
            bool same = strcmp(keys[i].section, keys[j].section) == 0;
            assert_false(same && strcmp(keys[i].key, keys[j].key) == 0);
            /* a section stands in one piece */
            assert_true(!same || strcmp(keys[j - 1].section, keys[j].section) == 0);
        }
    }
}

/* docs/format.md names every section, key and example of the table, and every unit offered. */
static void manual_names_every_key(void **state)
{
    (void)state;
    static char page[200000];
    FILE *f = fopen(SOURCE_DIR "/docs/format.md", "rb");
    assert_non_null(f);
    size_t length = fread(page, 1, sizeof page - 1, f);
    assert_true(length > 0 && length < sizeof page - 1);
    fclose(f);
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    struct arena *a = arena_new();
    for (size_t i = 0; i < n; i++) {
        assert_non_null(strstr(page, arena_printf(a, "`[%s]`", keys[i].section)));
        if (strcmp(keys[i].key, "*") == 0)
            continue;
        const char *row =
            arena_printf(a, "| `%s` | `%s` | %s |", keys[i].key, keys[i].example, keys[i].purpose);
        if (strstr(page, row) == NULL)
            print_error("format.md has no row %s\n", row);
        assert_non_null(strstr(page, row));
    }
    for (int d = 0; d < DIM_N; d++)
        for (const char *u = unit_accepted((enum dimension)d); *u != '\0';) {
            size_t m = strcspn(u, ",");
            assert_non_null(strstr(page, arena_printf(a, "`%.*s`", (int)m, u)));
            u += m + strspn(u + m, ", ");
        }
    arena_free(a);
}

static void names_are_compared_without_case_and_marks(void **state)
{
    (void)state;
    assert_true(ini_same_name("gate-freeze", "Gate_Freeze"));
    assert_true(ini_same_name("gate-freeze", "gatefreeze "));
    assert_false(ini_same_name("gate-freeze", "gate-freez"));
    assert_false(ini_same_name("gate-freeze", ""));
    assert_true(ini_same_name("", " _-"));
    assert_true(ini_same_name_n("viscosity.fill_time", 9, "viscosity"));
    assert_true(ini_is_study_word("Cavity Balance"));
    assert_false(ini_is_study_word("balance"));
}

static void lists_are_split(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    size_t n;
    const char **items = ini_split_list(a, " a.csv ; \"b c.csv\";; d.csv;", &n);
    assert_int_equal(n, 3);
    assert_string_equal(items[0], "a.csv");
    assert_string_equal(items[1], "b c.csv");
    assert_string_equal(items[2], "d.csv");
    ini_split_list(a, " ; ", &n);
    assert_int_equal(n, 0);
    arena_free(a);
}

#define FIXED 13

int main(void)
{
    static struct CMUnitTest tests[PL_COUNT(good_cases) + PL_COUNT(bad_cases) + FIXED];
    static char names[PL_COUNT(good_cases) + PL_COUNT(bad_cases)][96];
    const struct CMUnitTest fixed[FIXED] = {
        cmocka_unit_test(defaults_are_filled_in),
        cmocka_unit_test(all_problems_in_one_go),
        cmocka_unit_test(facts_stand_in_order_of_lines),
        cmocka_unit_test(empty_values_are_noted),
        cmocka_unit_test(other_encodings_are_read),
        cmocka_unit_test(stray_bytes_are_noted),
        cmocka_unit_test(codes_are_explained),
        cmocka_unit_test(size_is_bounded),
        cmocka_unit_test(examples_are_accepted),
        cmocka_unit_test(table_of_keys_is_whole),
        cmocka_unit_test(manual_names_every_key),
        cmocka_unit_test(names_are_compared_without_case_and_marks),
        cmocka_unit_test(lists_are_split),
    };
    size_t n = 0;
    for (size_t i = 0; i < PL_COUNT(good_cases); i++, n++) {
        snprintf(names[n], sizeof names[n], "read_%zu_%s_%s", i, good_cases[i].section,
                 good_cases[i].key);
        tests[n] = (struct CMUnitTest){.name = names[n],
                                       .test_func = value_is_read,
                                       .initial_state = (void *)(uintptr_t)&good_cases[i]};
    }
    for (size_t i = 0; i < PL_COUNT(bad_cases); i++, n++) {
        snprintf(names[n], sizeof names[n], "refused_%zu_%s", i, bad_cases[i].code);
        tests[n] = (struct CMUnitTest){.name = names[n],
                                       .test_func = value_is_refused,
                                       .initial_state = (void *)(uintptr_t)&bad_cases[i]};
    }
    memcpy(tests + n, fixed, sizeof fixed);
    return _cmocka_run_group_tests("ini", tests, PL_COUNT(tests), NULL, NULL);
}
