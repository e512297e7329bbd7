/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every member of finding, window and premises that the record holds comes back as it was. */
#include <string.h>

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

static void same_criterion(const struct criterion *g, const struct criterion *w)
{
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

static void same_quantities(const struct quantity *got, const struct quantity *want, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const struct quantity *g = &got[i], *w = &want[i];
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
}

static void same_numbers(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_quantities, want->n_quantities);
    same_quantities(got->quantities, want->quantities, want->n_quantities);
    assert_int_equal(got->n_criteria, want->n_criteria);
    for (size_t i = 0; i < want->n_criteria; i++)
        same_criterion(&got->criteria[i], &want->criteria[i]);
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
        assert_int_equal(g->dimension, w->dimension);
        assert_int_equal(g->setting_dimension, w->setting_dimension);
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

static void same_next_shot(const struct next_shot *g, const struct next_shot *w)
{
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

static void same_rest(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_bounds, want->n_bounds);
    for (size_t i = 0; i < want->n_bounds; i++)
        same_bound(&got->bounds[i], &want->bounds[i]);
    assert_int_equal(got->n_flags, want->n_flags);
    for (size_t i = 0; i < want->n_flags; i++)
        same_flag(&got->flags[i], &want->flags[i]);
    assert_int_equal(got->n_next_shots, want->n_next_shots);
    for (size_t i = 0; i < want->n_next_shots; i++)
        same_next_shot(&got->next_shots[i], &want->next_shots[i]);
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

static void same_other_answers(const struct finding *got, const struct finding *want)
{
    assert_int_equal(got->n_other_answers, want->n_other_answers);
    for (size_t i = 0; i < want->n_other_answers; i++) {
        const struct other_answer *g = &got->other_answers[i], *w = &want->other_answers[i];
        same_text(g->title, w->title);
        same_text(g->decision, w->decision);
        same_text(g->reason, w->reason);
        assert_int_equal(g->which, w->which);
        assert_int_equal(g->shots, w->shots);
        assert_int_equal(g->rows_used, w->rows_used);
        assert_int_equal(g->verdict, w->verdict);
        assert_int_equal(g->n_quantities, w->n_quantities);
        same_quantities(g->quantities, w->quantities, w->n_quantities);
        assert_int_equal(g->n_criteria, w->n_criteria);
        for (size_t k = 0; k < w->n_criteria; k++)
            same_criterion(&g->criteria[k], &w->criteria[k]);
        assert_int_equal(g->n_bounds, w->n_bounds);
        for (size_t k = 0; k < w->n_bounds; k++)
            same_bound(&g->bounds[k], &w->bounds[k]);
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
    struct finding *of = sample_findings(&x);
    *finding_other_answer(of, SHOTS_WITHOUT_ODD) =
        (struct other_answer){.which = SHOTS_WITHOUT_ODD,
                              .title = "without the shot that stands off (line 13)",
                              .shots = 1,
                              .reason = "parts of two ages cannot be compared"};
    read_back(written(&x), &again);
    assert_int_equal(again.n_findings, x.n_findings);
    for (size_t i = 0; i < x.n_findings; i++) {
        const struct finding *g = &again.findings[i], *w = &x.findings[i];
        same_text(g->study, w->study);
        same_text(g->title, w->title);
        same_text(g->decision, w->decision);
        same_text(g->with_excluded, w->with_excluded);
        same_text(g->without_odd, w->without_odd);
        same_text(g->files[0], w->files[0]);
        assert_int_equal(g->n_files, w->n_files);
        assert_int_equal(g->verdict, w->verdict);
        assert_int_equal(g->rows_used, w->rows_used);
        same_numbers(g, w);
        same_conditions(g, w);
        same_models(g, w);
        same_rest(g, w);
        same_tables(g, w);
        same_other_answers(g, w);
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
        assert_lre(g->expected[i].alarm_low, w->expected[i].alarm_low, 10);
        assert_lre(g->expected[i].alarm_high, w->expected[i].alarm_high, 10);
    }
    assert_int_equal(g->n_checks, 1);
    same_criterion(&g->checks[0], &w->checks[0]);
    assert_int_equal(g->n_next_shots, 1);
    same_next_shot(&g->next_shots[0], &w->next_shots[0]);
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

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_arena, free_arena)
    const struct CMUnitTest tests[] = {
        TEST(test_every_field_of_a_finding),
        TEST(test_every_field_of_the_window),
        TEST(test_every_field_of_the_premises),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
