/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * trial.ini. Without errors every fact lies within the limits of its key, and what was read can be
 * looked up again. */
#include <math.h>
#include <string.h>

#include "fuzz.h"

static const struct ini_key *key_of(const struct fact *f)
{
    size_t n;
    const struct ini_key *keys = ini_keys(&n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(keys[i].section, f->section) == 0 && strcmp(keys[i].key, f->key) == 0)
            return &keys[i];
    return NULL;
}

static void check_given(const struct fact *f, size_t lines)
{
    FUZZ_CHECK(f->line >= 1 && (size_t)f->line <= lines, "%s.%s: line %ld of %zu", f->section,
               f->key, f->line, lines);
    FUZZ_CHECK(fuzz_is_harmless(f->key), "a key that is not safe to print");
    const struct ini_key *k = key_of(f);
    bool number = f->kind == FACT_QUANTITY || f->kind == FACT_RANGE;
    if (k == NULL || !number || strcmp(f->section, "criteria") == 0)
        return;
    FUZZ_CHECK(f->low >= k->low && f->high <= k->high, "%s.%s: %g to %g is outside %g to %g",
               f->section, f->key, f->low, f->high, k->low, k->high);
}

static void check_fact(const struct facts *all, const struct fact *f, size_t lines)
{
    FUZZ_CHECK(f->section != NULL && f->key != NULL && f->text != NULL, "a fact without words");
    FUZZ_CHECK(f->dimension < DIM_N, "a fact without a dimension");
    FUZZ_CHECK(f->kind != FACT_QUANTITY || isnan(f->low) || fuzz_same_double(f->low, f->high),
               "%s.%s: two values", f->section, f->key);
    FUZZ_CHECK(f->kind == FACT_TEXT || isnan(f->low) || isnan(f->high) || f->low <= f->high,
               "%s.%s: %g to %g", f->section, f->key, f->low, f->high);
    FUZZ_CHECK(f->kind == FACT_LIMITS || (!isinf(f->low) && !isinf(f->high)), "%s.%s: infinite",
               f->section, f->key);
    FUZZ_CHECK(facts_find(all, f->section, f->key) != NULL, "%s.%s is not found", f->section,
               f->key);
    if (f->given)
        check_given(f, lines);
}

void fuzz_run_ini(const char *bytes, size_t n)
{
    struct arena *a = fuzz_begin();
    struct facts facts;
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    size_t lines = fuzz_physical_lines(bytes, n);
    const struct read_request *q = fuzz_request();
    diag_init(&diags, a);
    FUZZ_CHECK(facts_load_bytes(a, "trial.ini", bytes, n, q, &facts, &diags, &e) == ERR_NONE, "%s",
               e.message);
    for (size_t i = 0; i < facts.n; i++)
        check_fact(&facts, &facts.items[i], lines);
    for (size_t i = 0; i < q->n_criteria; i++)
        FUZZ_CHECK(facts_find(&facts, "criteria", q->criteria[i].name) != NULL,
                   "the criterion %s has no value", q->criteria[i].name);
    fuzz_check_diags(a, &diags, lines);
    fuzz_end(a);
}
