/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "commands.h"

static int compare_criteria(const void *a, const void *b)
{
    const struct criterion_spec *x = a, *y = b;
    return strcmp(x->name, y->name);
}

static void add_criteria(struct criterion_spec *all, size_t *n, const struct criterion_spec *more,
                         size_t n_more)
{
    for (size_t i = 0; i < n_more; i++) {
        bool known = false;
        for (size_t j = 0; j < *n; j++)
            known = known || strcmp(all[j].name, more[i].name) == 0;
        if (!known)
            all[(*n)++] = more[i];
    }
}

const struct criterion_spec *cli_criteria(struct arena *a, size_t *n)
{
    size_t n_studies, n_window;
    const struct study *const *studies = study_all(&n_studies);
    const struct criterion_spec *window = window_criteria(&n_window);
    size_t most = n_window;
    for (size_t i = 0; i < n_studies; i++)
        most += studies[i]->n_criteria;
    struct criterion_spec *all = ARENA_ARRAY(a, struct criterion_spec, most);
    *n = 0;
    for (size_t i = 0; i < n_studies; i++)
        add_criteria(all, n, studies[i]->criteria, studies[i]->n_criteria);
    add_criteria(all, n, window, n_window);
    qsort(all, *n, sizeof *all, compare_criteria);
    return all;
}

static struct read_request make_request(struct arena *a)
{
    size_t n, n_criteria;
    const struct study *const *studies = study_all(&n);
    struct study_input *inputs = ARENA_ARRAY(a, struct study_input, n);
    for (size_t i = 0; i < n; i++)
        inputs[i] =
            (struct study_input){studies[i]->name, studies[i]->columns, studies[i]->n_columns};
    const struct criterion_spec *criteria = cli_criteria(a, &n_criteria);
    return (struct read_request){
        .studies = inputs, .n_studies = n, .criteria = criteria, .n_criteria = n_criteria};
}

enum errc cli_load_path(struct invocation *inv, const char *path, struct loaded *out,
                        struct error *e)
{
    *out = (struct loaded){.request = make_request(inv->arena)};
    diag_init(&out->diags, inv->arena);
    TRY(trial_load(inv->arena, path, &out->request, &out->trial, &out->diags, e));
    premises_fill(inv->arena, &out->trial, &out->premises);
    return ERR_NONE;
}

enum errc cli_load(struct invocation *inv, struct loaded *out, struct error *e)
{
    return cli_load_path(inv, inv->argument, out, e);
}
