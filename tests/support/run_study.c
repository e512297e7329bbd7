/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "near.h"
#include "run_study.h"

enum errc run_study_files(struct arena *a, const struct study_file *files, size_t n,
                          const char *ini, struct finding *f, struct error *e)
{
    const struct study *first = study_find(files[0].study);
    struct study_input *inputs = ARENA_ARRAY(a, struct study_input, n);
    struct read_request request = {inputs, n, first->criteria, first->n_criteria};
    struct trial *trial = ARENA_NEW(a, struct trial);
    struct diag_list diags;
    diag_init(&diags, a);
    for (size_t i = 0; i < n; i++) {
        const struct study *s = study_find(files[i].study);
        inputs[i] = (struct study_input){s->name, s->columns, s->n_columns};
    }
    *trial = (struct trial){.tables = ARENA_ARRAY(a, struct table, n), .n_tables = n};
    assert_int_equal(
        facts_load_bytes(a, "trial.ini", ini, strlen(ini), &request, &trial->facts, &diags, e),
        ERR_NONE);
    for (size_t i = 0; i < n; i++)
        assert_int_equal(table_load_bytes(a, arena_printf(a, "%s.csv", files[i].study),
                                          files[i].csv, strlen(files[i].csv), &inputs[i],
                                          &trial->facts, &trial->tables[i], &diags, e),
                         ERR_NONE);
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_ERROR)
            fail_msg("%s: %s", diags.items[i].code, diags.items[i].message);
    trial_fill_display(a, trial);
    finding_init(f, a, first->name, first->title);
    return study_run(first, trial, &trial->tables[0], f, e);
}

struct finding run_study(struct arena *a, const char *study, const char *csv, const char *ini)
{
    const struct study_file file = {study, csv};
    struct finding f;
    struct error e = {.code = ERR_NONE};
    if (run_study_files(a, &file, 1, ini, &f, &e) != ERR_NONE)
        fail_msg("%s", e.message);
    return f;
}
