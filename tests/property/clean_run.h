/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Simulated trials in a folder, and what is read and found there. */
#ifndef CLEAN_RUN_H
#define CLEAN_RUN_H

#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "near.h"
#include "clean_trials.h"
#include "plateau/window.h"

static char folder[] = "/tmp/plateau-rates-XXXXXX";

static inline void put(struct arena *a, const char *name, const char *bytes)
{
    const char *path = arena_printf(a, "%s/%s", folder, name);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    assert_true(fputs(bytes, f) >= 0);
    assert_int_equal(fclose(f), 0);
}

static inline const char *file_name(struct arena *a, size_t study, int part)
{
    return arena_printf(a, part == 0 ? "%s.csv" : "second %s.csv", clean_studies[study]);
}

static inline void empty_folder(struct arena *a)
{
    for (size_t i = 0; i < CLEAN_STUDIES; i++)
        for (int part = 0; part < 2; part++)
            unlink(arena_printf(a, "%s/%s", folder, file_name(a, i, part)));
    unlink(arena_printf(a, "%s/trial.ini", folder));
}

/* `in_order`, for each study, may be NULL. */
static inline void write_trial(struct arena *a, const struct clean *c, struct sim_stream *r,
                               size_t only, bool *in_order)
{
    struct text ini;
    text_init(&ini, a);
    text_add(&ini, CLEAN_INI "[studies]\n");
    empty_folder(a);
    for (size_t i = 0; i < CLEAN_STUDIES; i++) {
        const char *first = file_name(a, i, 0), *second = file_name(a, i, 1);
        struct sim_stream own = {r->state + 0x632BE59BD9B4E019u * (i + 1)};
        if (only < CLEAN_STUDIES && only != i)
            continue;
        struct sheet *s = ARENA_NEW(a, struct sheet);
        *s = (struct sheet){.a = a, .c = c, .r = &own};
        clean_sheet(s, i);
        if (in_order != NULL)
            in_order[i] = sheet_in_order(s);
        size_t half = c->two_files ? s->n_rows / c->shots / 2 * c->shots : s->n_rows;
        put(a, first, clean_csv(s, 0, half));
        if (c->two_files) {
            put(a, second, clean_csv(s, half, s->n_rows));
            text_addf(&ini, "%s = %s ; %s\n", clean_studies[i], first, second);
        }
    }
    put(a, "trial.ini", ini.s);
}

static inline void add_criteria(struct criterion_spec *all, size_t *n,
                                const struct criterion_spec *more, size_t n_more)
{
    for (size_t i = 0; i < n_more; i++) {
        size_t j = 0;
        while (j < *n && strcmp(all[j].name, more[i].name) != 0)
            j++;
        if (j == *n)
            all[(*n)++] = more[i];
    }
}

struct run {
    struct trial trial;
    struct finding finding[CLEAN_STUDIES];
};

static inline void read_trial(struct arena *a, struct run *out)
{
    struct study_input inputs[CLEAN_STUDIES];
    struct criterion_spec *criteria = ARENA_ARRAY(a, struct criterion_spec, 64);
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    size_t n = 0, n_window;
    for (size_t i = 0; i < CLEAN_STUDIES; i++) {
        const struct study *s = study_find(clean_studies[i]);
        inputs[i] = (struct study_input){s->name, s->columns, s->n_columns};
        add_criteria(criteria, &n, s->criteria, s->n_criteria);
    }
    const struct criterion_spec *window = window_criteria(&n_window);
    add_criteria(criteria, &n, window, n_window);
    struct read_request request = {inputs, CLEAN_STUDIES, criteria, n};
    diag_init(&diags, a);
    assert_int_equal(trial_load(a, folder, &request, &out->trial, &diags, &e), ERR_NONE);
    for (size_t i = 0; i < diags.n; i++)
        if (diags.items[i].severity == DIAG_ERROR)
            fail_msg("%s: %s", diags.items[i].code, diags.items[i].message);
}

static inline void analyze(struct arena *a, struct run *out)
{
    struct error e = {.code = ERR_NONE};
    read_trial(a, out);
    for (size_t i = 0; i < out->trial.n_tables; i++) {
        const struct study *s = study_find(out->trial.tables[i].study);
        finding_init(&out->finding[i], a, s->name, s->title);
        if (study_run(s, &out->trial, &out->trial.tables[i], &out->finding[i], &e) != ERR_NONE)
            fail_msg("%s: %s", s->name, e.message);
    }
}

static inline int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) == NULL;
}

static inline int remove_folder(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    empty_folder(a);
    arena_free(a);
    return rmdir(folder);
}

/* PLATEAU_TRIALS, or `share` of it; the usual number without. */
static inline size_t clean_count(size_t usual, double share)
{
    const char *s = getenv("PLATEAU_TRIALS");
    long n = s != NULL ? strtol(s, NULL, 10) : 0;
    return n > 0 ? (size_t)ceil((double)n * share) : usual;
}

static inline double percent(size_t count_, size_t of)
{
    return of > 0 ? 100.0 * (double)count_ / (double)of : 0.0;
}

/* A table in docs/validation.md begins so. */
static inline void print_head(const char *first)
{
    print_message("\n| %s |", first);
    for (size_t i = 0; i < CLEAN_STUDIES; i++)
        print_message(" %s |", clean_studies[i]);
    print_message("\n|---|---|---|---|---|---|\n");
}

#endif
