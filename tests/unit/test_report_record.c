/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The record: what is in it, that it comes back, and that a broken one is refused with its place.
 * jansson, which did not write it, is the judge of what was written. */
#include <string.h>

#include <jansson.h>

#include "near.h"
#include "sample_analysis.h"

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

static const char *written(const struct analysis *x)
{
    struct text t;
    struct error e = {0};
    text_init(&t, arena);
    assert_int_equal(report_record(&t, x, &e), ERR_NONE);
    assert_int_equal(t.s[t.length - 1], '\n');
    return t.s;
}

static void read_back(const char *s, struct analysis *out)
{
    struct error e = {0};
    if (report_record_read(arena, "record.json", s, strlen(s), out, &e) != ERR_NONE)
        print_error("%s:%ld: %s\n", e.file, e.line, e.message);
    assert_int_equal(e.code, ERR_NONE);
}

/* ---- round trip ---- */

static void check_round_trip(const struct analysis *x)
{
    struct analysis again;
    const char *first = written(x);
    read_back(first, &again);
    assert_string_equal(written(&again), first);
}

static void test_round_trip(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    check_round_trip(&x);
}

static void test_round_trip_hostile(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_hostile(arena, &x);
    check_round_trip(&x);
}

static void test_round_trip_not_frozen(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_not_frozen(arena, &x);
    check_round_trip(&x);
}

static void test_round_trip_nothing(void **state)
{
    (void)state;
    struct premises p = {.confidence = 0.95};
    struct analysis x = {.premises = &p}, again;
    check_round_trip(&x);
    read_back(written(&x), &again);
    assert_null(again.window);
    assert_int_equal(again.n_findings, 0);
}

static void same_text(const char *got, const char *want)
{
    assert_true((got == NULL) == (want == NULL));
    if (want != NULL)
        assert_string_equal(got, want);
}

static void same_bound(const struct bound *got, const struct bound *want)
{
    assert_true((got == NULL) == (want == NULL));
    if (want == NULL)
        return;
    same_text(got->setting, want->setting);
    same_text(got->study, want->study);
    same_text(got->model, want->model);
    same_text(got->criterion, want->criterion);
    same_text(got->because, want->because);
    assert_int_equal(got->side, want->side);
    assert_int_equal(got->dimension, want->dimension);
    assert_int_equal(got->grade, want->grade);
    assert_int_equal(got->verdict, want->verdict);
    assert_int_equal(got->rows, want->rows);
    assert_lre(got->value, want->value, 10);
    assert_lre(got->low, want->low, 10);
    assert_near(got->high, want->high, 1e-10, 0);
}

static void same_flag(const struct flag *got, const struct flag *want)
{
    same_text(got->code, want->code);
    same_text(got->text, want->text);
    same_text(got->file, want->file);
    assert_int_equal(got->grade, want->grade);
    assert_int_equal(got->line, want->line);
}

static void same_numbers(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_quantities, want->n_quantities);
    for (size_t i = 0; i < want->n_quantities; i++) {
        const struct quantity *g = &got->quantities[i], *w = &want->quantities[i];
        same_text(g->name, w->name);
        same_text(g->title, w->title);
        same_text(g->method, w->method);
        same_text(g->reason, w->reason);
        same_text(g->unit, w->unit);
        assert_int_equal(g->dimension, w->dimension);
        assert_int_equal(g->sides, w->sides);
        assert_near(g->value, w->value, 1e-10, 0);
        assert_near(g->low, w->low, 1e-10, 0);
        assert_near(g->high, w->high, 1e-10, 0);
        assert_near(g->level, w->level, 1e-10, 0);
    }
    assert_int_equal(got->n_criteria, want->n_criteria);
    for (size_t i = 0; i < want->n_criteria; i++) {
        const struct criterion *g = &got->criteria[i], *w = &want->criteria[i];
        same_text(g->name, w->name);
        same_text(g->title, w->title);
        same_text(g->limit_wording, w->limit_wording);
        same_text(g->because, w->because);
        assert_int_equal(g->dimension, w->dimension);
        assert_int_equal(g->origin, w->origin);
        assert_int_equal(g->verdict, w->verdict);
        assert_int_equal(g->sides, w->sides);
        assert_int_equal(g->shots_to_decide, w->shots_to_decide);
        assert_int_equal(g->own_verdict, w->own_verdict);
        assert_lre(g->limit, w->limit, 10);
        assert_lre(g->value, w->value, 10);
        assert_lre(g->low, w->low, 10);
        assert_lre(g->high, w->high, 10);
        assert_lre(g->level, w->level, 10);
    }
}

static void same_conditions(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_conditions, want->n_conditions);
    for (size_t i = 0; i < want->n_conditions; i++) {
        const struct condition *g = &got->conditions[i], *w = &want->conditions[i];
        same_text(g->series, w->series);
        same_text(g->left_out, w->left_out);
        same_text(g->file, w->file);
        assert_int_equal(g->block, w->block);
        assert_int_equal(g->n, w->n);
        assert_int_equal(g->first_line, w->first_line);
        assert_lre(g->setting, w->setting, 10);
        assert_lre(g->mean, w->mean, 9.9);
        assert_lre(g->sd, w->sd, 9.9);
        assert_lre(g->fitted, w->fitted, 9.9);
        assert_lre(g->fitted_low, w->fitted_low, 9.9);
        assert_lre(g->fitted_high, w->fitted_high, 9.9);
    }
}

static size_t parameter_index(const struct model *m, const char *name)
{
    size_t i = 0;
    while (i < m->n_parameters && strcmp(m->parameter[i], name) != 0)
        i++;
    assert_true(i < m->n_parameters);
    return i;
}

/* Parameters come back by name; their order is not kept. */
static void same_models(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_models, want->n_models);
    for (size_t i = 0; i < want->n_models; i++) {
        const struct model *g = &got->models[i], *w = &want->models[i];
        same_text(g->name, w->name);
        same_text(g->series, w->series);
        same_text(g->formula, w->formula);
        same_text(g->stop, w->stop);
        assert_int_equal(g->n_parameters, w->n_parameters);
        for (size_t j = 0; j < w->n_parameters; j++) {
            size_t gj = parameter_index(g, w->parameter[j]);
            assert_lre(g->value[gj], w->value[j], 10);
            for (size_t k = 0; k < w->n_parameters; k++)
                assert_lre(g->covariance[gj][parameter_index(g, w->parameter[k])],
                           w->covariance[j][k], 10);
        }
        assert_int_equal(g->rank, w->rank);
        assert_int_equal(g->tried, w->tried);
        assert_int_equal(g->in_play, w->in_play);
        assert_int_equal(g->chosen, w->chosen);
        assert_int_equal(g->plateau, w->plateau);
        assert_lre(g->residual_sd, w->residual_sd, 10);
        assert_lre(g->aicc, w->aicc, 10);
        assert_lre(g->weight, w->weight, 10);
        assert_lre(g->misfit, w->misfit, 10);
        assert_lre(g->misfit_p, w->misfit_p, 10);
        assert_near(g->condition_number, w->condition_number, 1e-10, 0);
        assert_lre(g->answer, w->answer, 10);
        assert_lre(g->answer_low, w->answer_low, 10);
        assert_near(g->answer_high, w->answer_high, 1e-10, 0);
    }
}

static void same_rest(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_bounds, want->n_bounds);
    for (size_t i = 0; i < want->n_bounds; i++)
        same_bound(&got->bounds[i], &want->bounds[i]);
    assert_int_equal(got->n_flags, want->n_flags);
    for (size_t i = 0; i < want->n_flags; i++)
        same_flag(&got->flags[i], &want->flags[i]);
    assert_int_equal(got->n_next_shots, want->n_next_shots);
    for (size_t i = 0; i < want->n_next_shots; i++) {
        const struct next_shot *g = &got->next_shots[i], *w = &want->next_shots[i];
        same_text(g->setting, w->setting);
        same_text(g->series, w->series);
        same_text(g->promise, w->promise);
        same_text(g->why, w->why);
        assert_int_equal(g->dimension, w->dimension);
        assert_int_equal(g->shots, w->shots);
        assert_lre(g->at, w->at, 10);
        assert_lre(g->half_width_now, w->half_width_now, 10);
        assert_lre(g->half_width_then, w->half_width_then, 10);
    }
    assert_int_equal(got->n_operating_point, want->n_operating_point);
    for (size_t i = 0; i < want->n_operating_point; i++) {
        /* the sample has them in alphabetical order */
        const struct operating_value *g = &got->operating_point[i], *w = &want->operating_point[i];
        same_text(g->setting, w->setting);
        same_text(g->from, w->from);
        assert_int_equal(g->dimension, w->dimension);
        assert_lre(g->low, w->low, 10);
        assert_lre(g->high, w->high, 10);
    }
    assert_int_equal(got->n_left_out, want->n_left_out);
    for (size_t i = 0; i < want->n_left_out; i++) {
        same_text(got->left_out[i].file, want->left_out[i].file);
        same_text(got->left_out[i].reason, want->left_out[i].reason);
        assert_int_equal(got->left_out[i].line, want->left_out[i].line);
        assert_int_equal(got->left_out[i].by_user, want->left_out[i].by_user);
    }
}

static void same_tables(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_tables, want->n_tables);
    for (size_t i = 0; i < want->n_tables; i++) {
        const struct data_table *g = &got->tables[i], *w = &want->tables[i];
        same_text(g->name, w->name);
        same_text(g->title, w->title);
        assert_int_equal(g->n_rows, w->n_rows);
        assert_int_equal(g->n_columns, w->n_columns);
        for (size_t c = 0; c < w->n_columns; c++) {
            same_text(g->columns[c].title, w->columns[c].title);
            assert_int_equal(g->columns[c].is_text, w->columns[c].is_text);
            assert_int_equal(g->columns[c].digits, w->columns[c].digits);
            assert_int_equal(g->columns[c].dimension, w->columns[c].dimension);
        }
        for (size_t k = 0; k < w->n_rows * w->n_columns; k++) {
            assert_lre(g->values[k], w->values[k], 9.9);
            same_text(g->texts[k], w->texts[k]);
        }
    }
}

static void test_every_field_of_a_finding(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis(arena, &x);
    read_back(written(&x), &again);
    assert_int_equal(again.n_findings, x.n_findings);
    for (size_t i = 0; i < x.n_findings; i++) {
        const struct finding *g = &again.findings[i], *w = &x.findings[i];
        same_text(g->study, w->study);
        same_text(g->title, w->title);
        same_text(g->decision, w->decision);
        same_text(g->with_excluded, w->with_excluded);
        same_text(g->files[0], w->files[0]);
        assert_int_equal(g->n_files, w->n_files);
        assert_int_equal(g->verdict, w->verdict);
        assert_int_equal(g->rows_used, w->rows_used);
        same_numbers(g, w);
        same_conditions(g, w);
        same_models(g, w);
        same_rest(g, w);
        same_tables(g, w);
        assert_int_equal(g->n_figures, 0);
        assert_ptr_equal(g->arena, arena);
    }
}

static void same_setting(const struct window_setting *g, const struct window_setting *w)
{
    same_text(g->setting, w->setting);
    same_text(g->title, w->title);
    same_text(g->aim_because, w->aim_because);
    same_text(g->because, w->because);
    same_text(g->decided_by, w->decided_by);
    assert_int_equal(g->dimension, w->dimension);
    assert_int_equal(g->verdict, w->verdict);
    assert_int_equal(g->by_convention, w->by_convention);
    assert_int_equal(g->running_verdict, w->running_verdict);
    assert_lre(g->low_value, w->low_value, 10);
    assert_lre(g->high_value, w->high_value, 10);
    assert_lre(g->aim, w->aim, 10);
    assert_lre(g->margin, w->margin, 10);
    assert_lre(g->running, w->running, 10);
    same_bound(g->low, w->low);
    same_bound(g->high, w->high);
    assert_int_equal(g->n_runners_up, w->n_runners_up);
    for (size_t i = 0; i < w->n_runners_up; i++)
        same_bound(g->runners_up[i], w->runners_up[i]);
}

static void test_every_field_of_the_window(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis(arena, &x);
    read_back(written(&x), &again);
    const struct window *g = again.window, *w = x.window;
    assert_int_equal(g->verdict, w->verdict);
    assert_int_equal(g->n_settings, w->n_settings);
    for (size_t i = 0; i < w->n_settings; i++)
        same_setting(&g->settings[i], &w->settings[i]);
    assert_int_equal(g->n_none, 1);
    same_text(g->none[0].setting, w->none[0].setting);
    same_text(g->none[0].text, w->none[0].text);
    same_bound(g->none[0].low, w->none[0].low);
    same_bound(g->none[0].high, w->none[0].high);
    assert_int_equal(g->n_expected, 2);
    for (size_t i = 0; i < 2; i++) {
        same_text(g->expected[i].name, w->expected[i].name);
        same_text(g->expected[i].title, w->expected[i].title);
        same_text(g->expected[i].because, w->expected[i].because);
        assert_int_equal(g->expected[i].dimension, w->expected[i].dimension);
        assert_lre(g->expected[i].value, w->expected[i].value, 10);
        assert_lre(g->expected[i].low, w->expected[i].low, 10);
        assert_lre(g->expected[i].high, w->expected[i].high, 10);
    }
    assert_int_equal(g->n_flags, 1);
    same_flag(&g->flags[0], &w->flags[0]);
    assert_int_equal(g->n_assumptions, 1);
    same_text(g->assumptions[0].text, w->assumptions[0].text);
}

static void same_file(const struct premises_file *g, const struct premises_file *w)
{
    same_text(g->name, w->name);
    same_text(g->study, w->study);
    same_text(g->sha256, w->sha256);
    same_text(g->encoding, w->encoding);
    same_text(g->separator, w->separator);
    same_text(g->decimal, w->decimal);
    same_text(g->layout, w->layout);
    same_text(g->units, w->units);
    assert_int_equal(g->bytes, w->bytes);
    assert_int_equal(g->header_line, w->header_line);
    assert_int_equal(g->units_line, w->units_line);
    assert_int_equal(g->rows_read, w->rows_read);
    assert_int_equal(g->rows_used, w->rows_used);
    assert_int_equal(g->rows_left_out, w->rows_left_out);
    assert_int_equal(g->n_preamble, w->n_preamble);
    assert_int_equal(g->n_unused, w->n_unused);
    assert_int_equal(g->n_repairs, w->n_repairs);
    for (size_t i = 0; i < w->n_repairs; i++) {
        same_text(g->repairs[i].code, w->repairs[i].code);
        same_text(g->repairs[i].text, w->repairs[i].text);
        same_text(g->repairs[i].column, w->repairs[i].column);
        assert_int_equal(g->repairs[i].count, w->repairs[i].count);
        assert_memory_equal(g->repairs[i].lines, w->repairs[i].lines, sizeof w->repairs[i].lines);
    }
    assert_int_equal(g->n_excluded, w->n_excluded);
    for (size_t i = 0; i < w->n_excluded; i++) {
        same_text(g->excluded[i].reason, w->excluded[i].reason);
        assert_int_equal(g->excluded[i].line, w->excluded[i].line);
    }
}

static void test_every_field_of_the_premises(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis(arena, &x);
    read_back(written(&x), &again);
    const struct premises *g = again.premises, *w = x.premises;
    assert_lre(g->confidence, 0.95, 15);
    assert_int_equal(g->resamples, 2000);
    assert_int_equal(g->seed, 1);
    assert_false(g->single_file);
    assert_int_equal(g->n_files, w->n_files);
    for (size_t i = 0; i < w->n_files; i++)
        same_file(&g->files[i], &w->files[i]);
    same_text(g->files[1].preamble[0], "Freeze study, night shift");
    same_text(g->files[1].unused[0], "Operator");
    same_text(g->unread[0], "notes.csv");
    assert_int_equal(g->n_cautions, 2);
    same_text(g->display[DIM_PRESSURE].name, "bar");
    assert_lre(g->display[DIM_PRESSURE].factor, 0.1, 10);
    same_text(g->display[DIM_TIME].name, "s");
    same_text(g->facts->file, "trial.ini");
    assert_int_equal(g->facts->n, w->facts->n);
    for (size_t i = 0; i < w->facts->n; i++) {
        const struct fact *wf = &w->facts->items[i];
        const struct fact *gf = facts_find(g->facts, wf->section, wf->key);
        assert_non_null(gf);
        same_text(gf->text, wf->text);
        assert_int_equal(gf->kind, wf->kind);
        assert_int_equal(gf->dimension, wf->dimension);
        assert_int_equal(gf->given, wf->given);
        assert_int_equal(gf->origin, wf->origin);
        assert_near(gf->low, wf->low, 1e-10, 0);
        assert_near(gf->high, wf->high, 1e-10, 0);
        assert_near(gf->relative, wf->relative, 1e-10, 0);
    }
}

/* ---- what another reader sees ---- */

static json_t *parsed(const char *s)
{
    json_error_t why;
    json_t *root = json_loads(s, JSON_REJECT_DUPLICATES, &why);
    if (root == NULL)
        print_error("line %d: %s\n", why.line, why.text);
    assert_non_null(root);
    return root;
}

/* jansson keeps the order in which keys came. */
static void check_sorted(json_t *v)
{
    const char *key, *before = "";
    json_t *item;
    size_t i;
    json_object_foreach(v, key, item)
    {
        assert_true(strcmp(before, key) < 0);
        before = key;
        check_sorted(item);
    }
    json_array_foreach(v, i, item) check_sorted(item);
}

static void test_keys_are_sorted(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis_hostile(arena, &x);
    json_t *root = parsed(written(&x));
    check_sorted(root);
    json_decref(root);
}

static void check_has(json_t *o, const char *keys)
{
    char *list = arena_copy(arena, keys), *rest = NULL;
    for (char *key = strtok_r(list, " ", &rest); key != NULL; key = strtok_r(NULL, " ", &rest))
        if (json_object_get(o, key) == NULL) {
            print_error("missing: %s\n", key);
            fail();
        }
}

/* The keys that format.md promises. */
static void test_promised_keys(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    json_t *root = parsed(written(&x));
    check_has(root, "plateau trial options inputs studies window expected no_window flags verdict");
    check_has(json_object_get(root, "plateau"), "record version");
    check_has(json_object_get(root, "options"), "confidence resamples seed");
    check_has(json_array_get(json_object_get(root, "inputs"), 1),
              "file sha256 bytes rows repairs excluded");
    json_t *study = json_array_get(json_object_get(root, "studies"), 0);
    check_has(study, "study files verdict quantities criteria conditions operating_point models "
                     "bounds flags next_shots");
#define FIRST(key) json_array_get(json_object_get(study, key), 0)
    check_has(FIRST("quantities"), "name value low high unit method");
    check_has(FIRST("criteria"), "name limit unit origin value low high level sides verdict "
                                 "shots_to_decide");
    check_has(FIRST("conditions"), "series setting block n mean sd left_out");
    check_has(FIRST("models"), "name parameters covariance residual_sd aicc weight in_play misfit "
                               "chosen");
    check_has(FIRST("bounds"), "setting side value low high unit grade model criterion because");
    check_has(FIRST("flags"), "code grade text file line");
    json_t *setting = json_array_get(json_object_get(root, "window"), 1);
    check_has(setting, "setting unit low aim high low_from high_from verdict by_convention");
    assert_string_equal(json_string_value(json_object_get(setting, "setting")), "hold_time");
    assert_string_equal(json_string_value(json_object_get(setting, "low_from")), "gate-freeze");
    assert_true(json_is_null(json_object_get(setting, "high_from")));
    assert_string_equal(json_string_value(json_object_get(setting, "unit")), "s");
    assert_near(json_number_value(json_object_get(setting, "aim")), 6.3, 0, 0);
    check_has(json_array_get(json_object_get(root, "expected"), 0), "name value low high unit");
    json_decref(root);
}

/* Objects whose keys are names of the trial's own. */
static bool has_free_keys(const char *key)
{
    static const char *const names[] = {"trial", "display", "operating_point", "parameters",
                                        "covariance"};
    for (size_t i = 0; i < PL_COUNT(names); i++)
        if (strcmp(key, names[i]) == 0)
            return true;
    return false;
}

static void check_documented(json_t *v, const char *page, bool free_keys)
{
    const char *key;
    json_t *item;
    size_t i;
    json_object_foreach(v, key, item)
    {
        if (!free_keys && strstr(page, arena_printf(arena, "`%s`", key)) == NULL) {
            print_error("format.md does not speak of \"%s\"\n", key);
            fail();
        }
        if (strcmp(key, "covariance") != 0 && strcmp(key, "trial") != 0)
            check_documented(item, page, has_free_keys(key));
    }
    json_array_foreach(v, i, item) check_documented(item, page, false);
}

static const char *file_text(const char *path)
{
    FILE *f = fopen(path, "rb");
    assert_non_null(f);
    struct text t;
    char block[4096];
    text_init(&t, arena);
    for (size_t n; (n = fread(block, 1, sizeof block, f)) > 0;)
        text_add_n(&t, block, n);
    fclose(f);
    return t.s;
}

static void test_every_key_is_documented(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    json_t *root = parsed(written(&x));
    const char *page = strstr(file_text(SOURCE_DIR "/docs/format.md"), "## The record");
    assert_non_null(page);
    check_documented(root, page, false);
    json_decref(root);
}

static void test_numbers_have_ten_digits(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    struct quantity *q = &sample_findings(&x)->quantities[0];
    q->value = 2.0 / 3.0;
    q->low = -0.0;
    q->high = 1e-5 / 3.0;
    const char *s = written(&x);
    assert_non_null(strstr(s, "\"value\": 0.6666666667"));
    assert_non_null(strstr(s, "\"high\": 3.333333333e-06"));
    assert_null(strstr(s, "-0,"));
    check_round_trip(&x);
}

static void test_no_number_and_open_ends(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis(arena, &x);
    json_t *root = parsed(written(&x));
    json_t *q = json_array_get(
        json_object_get(json_array_get(json_object_get(root, "studies"), 0), "quantities"), 2);
    assert_string_equal(json_string_value(json_object_get(q, "name")), "plateau_start");
    assert_true(json_is_null(json_object_get(q, "value")));
    assert_true(json_is_null(json_object_get(q, "high")));
    assert_string_equal(json_string_value(json_object_get(q, "reason")),
                        "the best family has no corner");
    json_t *open = json_object_get(q, "open");
    assert_int_equal(json_object_size(open), 1);
    assert_string_equal(json_string_value(json_object_get(open, "high")), "above");
    json_decref(root);
    read_back(written(&x), &again);
    assert_true(isnan(again.findings[0].quantities[2].value));
    assert_true(again.findings[0].quantities[2].high == (double)INFINITY);
    assert_true(again.findings[0].quantities[4].low == -(double)INFINITY);
}

/* Control characters and markup come back as they were; bytes that are no UTF-8 are spelled. */
static void test_hostile_text_comes_back(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis_hostile(arena, &x);
    const char *s = written(&x);
    for (const char *p = s; *p != '\0'; p++)
        assert_true(*p == '\n' || (unsigned char)*p >= 0x20);
    assert_null(strstr(s, "\xe2\x80\xae")); /* the mark that turns text around */
    read_back(s, &again);
    assert_string_equal(again.findings[0].decision,
                        "<script>alert(1)</script> \"'&]]>\x1b[2J\x1b]0;owned\x07 \xe2\x80\xae txt "
                        "\\xFF\\xC3 \\x9B\x01 {\"a\":1}");
}

/* Where the trial lay is nobody's business. */
static void test_no_absolute_path(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    struct premises *p = sample_premises(&x);
    struct finding *f = sample_findings(&x);
    p->path = "/home/somebody/trials/lid";
    p->files[1].name = f->files[0] = f->flags[0].file = "/home/somebody/trials/lid/gate-freeze.csv";
    assert_null(strstr(written(&x), "somebody"));
}

static void test_one_name_twice_is_an_error(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    struct model *m = &sample_findings(&x)->models[0];
    m->parameter[1] = m->parameter[0];
    struct text t;
    struct error e = {0};
    text_init(&t, arena);
    text_add(&t, "before");
    assert_int_equal(report_record(&t, &x, &e), ERR_INTERNAL);
    assert_string_equal(t.s, "before");
}

/* ---- broken records ---- */

static const char *replaced(const char *s, const char *from, const char *to)
{
    const char *at = strstr(s, from);
    assert_non_null(at);
    struct text t;
    text_init(&t, arena);
    text_add_n(&t, s, (size_t)(at - s));
    text_add(&t, to);
    text_add(&t, at + strlen(from));
    return t.s;
}

static long line_of(const char *s, const char *what)
{
    const char *at = strstr(s, what);
    assert_non_null(at);
    long line = 1;
    for (; s < at; s++)
        line += *s == '\n';
    return line;
}

static void refused(const char *s, long line, const char *message)
{
    struct analysis out;
    struct error e = {0};
    assert_int_equal(report_record_read(arena, "old.json", s, strlen(s), &out, &e), ERR_INPUT);
    assert_string_equal(e.message, message);
    assert_string_equal(e.file, "old.json");
    assert_int_equal(e.line, line);
    assert_null(out.premises);
    assert_int_equal(out.n_findings, 0);
}

static void test_broken_records_are_refused(void **state)
{
    (void)state;
    /* `from` is replaced by `to`, and the complaint is about the line that holds `to` */
    static const struct {
        const char *from, *to, *message;
    } cases[] = {
        {"\"record\": 1", "\"record\": 2",
         "plateau.record: the record has version 2 and this program reads version 1; analyze the "
         "trial again with this program"},
        {"\"value\": 5.4\n", "\"value\": \"5.4\"\n",
         "studies[0].quantities[0].value: a number or null is expected"},
        {"\"side\": \"lower\"", "\"side\": \"left\"",
         "studies[0].bounds[0].side: one of \"lower\", \"upper\" is expected"},
        {"\"grade\": \"doubt\",\n          \"line\": 13", "\"grade\": 7,\n          \"line\": 13",
         "studies[0].flags[0].grade: one of \"note\", \"doubt\", \"stop\" is expected"},
        {"\"name\": \"freeze_time\"", "\"name\": null",
         "studies[0].quantities[0].name: a text is expected"},
        {"\"origin\": \"our convention\"", "\"origin\": \"hearsay\"",
         "studies[0].criteria[0].origin: \"common practice\", \"given\", \"our convention\", "
         "\"standard\" or null is expected"},
        {"\"shots\": 3,", "\"shots\": 3.5,",
         "studies[0].next_shots[0].shots: a whole number is expected"},
        {"\"bytes\": 412", "\"bytes\": -412",
         "inputs[0].bytes: a whole number from 0 on is expected"},
        {"\"chosen\": true", "\"chosen\": 1",
         "studies[0].models[0].chosen: true or false is expected"},
        {"\"lines\": [8]", "\"lines\": [8, 9, 10, 11]",
         "inputs[1].repairs[0].lines: at most three lines are expected"},
        {"[12, 1, 25.21, ", "[12, 1, ",
         "studies[0].tables[0].rows[8]: an array with one value per column is expected"},
        {"[12, 1, 25.21, ", "[12, true, 25.21, ",
         "studies[0].tables[0].rows[8][1]: a number or null is expected"},
        {"\"files\": [\"gate-freeze.csv\"]", "\"files\": [null]",
         "studies[0].files[0]: a text is expected"},
        {"\"unread\": [\"notes.csv\"]", "\"unread\": \"notes.csv\"",
         "unread: an array is expected"},
        {"\"trial\": {", "\"trial\": [], \"was\": {", "trial: an object is expected"},
        {"\"unit\": \"bar\"", "\"unit\": null",
         "display.pressure: a unit with a positive factor and an offset is expected"},
        {"\"verdict\": \"not shown\",\n  \"window\"", "\"verdict\": \"passed\",\n  \"window\"",
         "verdict: one of \"none\", \"met\", \"not shown\", \"not met\" is expected"},
    };
    struct analysis x;
    sample_analysis(arena, &x);
    const char *good = written(&x);
    for (size_t i = 0; i < PL_COUNT(cases); i++) {
        const char *bad = replaced(good, cases[i].from, cases[i].to);
        refused(bad, line_of(bad, cases[i].to), cases[i].message);
    }
}

static void test_missing_members(void **state)
{
    (void)state;
    struct analysis x, again;
    sample_analysis(arena, &x);
    const char *good = written(&x);
    /* one that a finding cannot be without */
    const char *bad = replaced(good, "\"side\": \"lower\",", "");
    refused(bad, line_of(bad, "\"because\": \"weight is within 0.1 % of its plateau") - 1,
            "studies[0].bounds[0].side: this is missing");
    /* one that it can, and one that nobody knows */
    read_back(replaced(good, "\"title\": \"Gate freeze\",", "\"colour_of_the_press\": \"grey\","),
              &again);
    assert_string_equal(again.findings[0].title, "gate-freeze");
}

static void test_what_is_no_record_at_all(void **state)
{
    (void)state;
    refused("[]\n", 1, "the record: a record is one object in braces");
    refused("{\n}\n", 1,
            "the record: this is not a record: \"plateau\" with the record's version is missing");
    struct analysis out;
    struct error e = {0};
    const char *cut = "{\n\"plateau\": {\"record\": 1,\n";
    assert_int_equal(report_record_read(arena, "r", cut, strlen(cut), &out, &e), ERR_INPUT);
    assert_int_equal(e.line, 3);
    assert_memory_equal(e.message, "this is not JSON: ", 18);
    e = (struct error){0};
    assert_int_equal(report_record_read(arena, "r", "\x1b[2J", 4, &out, &e), ERR_INPUT);
    assert_null(strchr(e.message, '\x1b'));
    e = (struct error){0};
    assert_int_equal(report_record_read(arena, "r", "", 0, &out, &e), ERR_INPUT);
}

/* A model has room for a fixed number of parameters. */
static void test_too_many_parameters(void **state)
{
    (void)state;
    struct analysis x;
    sample_analysis(arena, &x);
    const char *bad = replaced(written(&x), "{\"A\": 1.3, \"P\": 25.18, \"tau\": 1.37}",
                               "{\"a\":1,\"b\":1,\"c\":1,\"d\":1,\"e\":1,\"f\":1,\"g\":1}");
    refused(bad, line_of(bad, "{\"a\":1,"),
            "studies[0].models[0].parameters: more parameters than this program knows of");
}

/* Cut anywhere or with one byte changed: refused or read, never a crash (run under the sanitizers).
 */
static void test_damaged_anywhere(void **state)
{
    (void)state;
    struct analysis x, out;
    sample_analysis(arena, &x);
    char *s = arena_copy(arena, written(&x));
    size_t n = strlen(s), refusals = 0;
    for (size_t i = 0; i < n; i += 61) {
        struct error e = {0};
        struct arena_mark mark = arena_mark(arena);
        assert_int_equal(report_record_read(arena, "r", s, i, &out, &e), ERR_INPUT);
        char was = s[i];
        for (const char *c = "\"9{]\xff-e"; *c != '\0'; c++) {
            s[i] = *c;
            e = (struct error){0};
            enum errc code = report_record_read(arena, "r", s, n, &out, &e);
            assert_true(code == ERR_NONE || (code == ERR_INPUT && e.line > 0));
            refusals += code != ERR_NONE;
        }
        s[i] = was;
        arena_reset(arena, mark);
    }
    assert_true(refusals > n / 61);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_arena, free_arena)
    const struct CMUnitTest tests[] = {
        TEST(test_round_trip),
        TEST(test_round_trip_hostile),
        TEST(test_round_trip_not_frozen),
        TEST(test_round_trip_nothing),
        TEST(test_every_field_of_a_finding),
        TEST(test_every_field_of_the_window),
        TEST(test_every_field_of_the_premises),
        TEST(test_keys_are_sorted),
        TEST(test_promised_keys),
        TEST(test_every_key_is_documented),
        TEST(test_numbers_have_ten_digits),
        TEST(test_no_number_and_open_ends),
        TEST(test_hostile_text_comes_back),
        TEST(test_no_absolute_path),
        TEST(test_one_name_twice_is_an_error),
        TEST(test_broken_records_are_refused),
        TEST(test_missing_members),
        TEST(test_what_is_no_record_at_all),
        TEST(test_too_many_parameters),
        TEST(test_damaged_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
