/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "cli/commands.h"
#include "fuzz.h"

const struct fuzz_target fuzz_targets[] = {
    {"cells", fuzz_run_cells, fuzz_generate_cells, 512},
    {"header", fuzz_run_header, NULL, 128},
    {"ini", fuzz_run_ini, NULL, 512},
    {"number", fuzz_run_number, fuzz_generate_number, 64},
    {"record", fuzz_run_record, NULL, 4096},
    {"table", fuzz_run_table, NULL, 512},
    {"unit", fuzz_run_unit, NULL, 48},
    {NULL, NULL, NULL, 0},
};

const struct fuzz_target *fuzz_target_find(const char *name)
{
    for (const struct fuzz_target *t = fuzz_targets; t->name != NULL; t++)
        if (strcmp(t->name, name) == 0)
            return t;
    return NULL;
}

void fuzz_fail(const char *file, int line, const char *fmt, ...)
{
    va_list ap;
    va_start(ap, fmt);
    fprintf(stderr, "\n%s:%d: ", file, line);
    vfprintf(stderr, fmt, ap);
    fputc('\n', stderr);
    va_end(ap);
    abort();
}

/* ---- memory ---------------------------------------------------------------------------------- */

struct arena *fuzz_kept_arena(void)
{
    static struct arena *kept;
    if (kept == NULL)
        kept = arena_new();
    return kept;
}

/* All that is kept is made before the first input. */
struct arena *fuzz_begin(void)
{
    static bool prepared;
    if (!prepared) {
        fuzz_request();
        fuzz_pool_keep();
        prepared = true;
    }
    return arena_new();
}

void fuzz_end(struct arena *a)
{
    arena_free(a);
    fuzz_pool_reset();
}

const struct read_request *fuzz_request(void)
{
    static struct read_request request;
    if (request.studies != NULL)
        return &request;
    struct arena *a = fuzz_kept_arena();
    size_t n;
    const struct study *const *all = study_all(&n);
    struct study_input *studies = ARENA_ARRAY(a, struct study_input, n);
    for (size_t i = 0; i < n; i++)
        studies[i] = (struct study_input){all[i]->name, all[i]->columns, all[i]->n_columns};
    request.criteria = cli_criteria(a, &request.n_criteria);
    request.n_studies = n;
    request.studies = studies;
    return &request;
}

/* ---- random numbers -------------------------------------------------------------------------- */

uint64_t fuzz_random(uint64_t *state)
{
    uint64_t x = *state += 0x9E3779B97F4A7C15u; /* splitmix64, public domain algorithm */
    x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9u;
    x = (x ^ (x >> 27)) * 0x94D049BB133111EBu;
    return x ^ (x >> 31);
}

size_t fuzz_random_below(uint64_t *state, size_t n)
{
    return (size_t)((fuzz_random(state) >> 11) % n);
}

/* ---- checks ---------------------------------------------------------------------------------- */

bool fuzz_is_harmless(const char *s)
{
    size_t n = strlen(s), size;
    for (size_t i = 0; i < n; i += size) {
        unsigned cp = 0;
        size = utf8_next(s + i, n - i, &cp);
        if (size == 0 || cp < 0x20 || (cp >= 0x7F && cp <= 0x9F) ||
            (cp >= 0x202A && cp <= 0x202E) || (cp >= 0x2066 && cp <= 0x2069))
            return false;
    }
    return true;
}

bool fuzz_same_double(double a, double b)
{
    uint64_t x, y;
    memcpy(&x, &a, sizeof x);
    memcpy(&y, &b, sizeof y);
    return x == y;
}

size_t fuzz_physical_lines(const char *s, size_t n)
{
    size_t lines = 1;
    for (size_t i = 0; i < n; i++)
        lines += s[i] == '\n' || s[i] == '\r';
    return lines;
}

void fuzz_make_text(char *s, size_t n)
{
    size_t size;
    for (size_t i = 0; i < n; i += size) {
        unsigned cp = 0;
        size = utf8_next(s + i, n - i, &cp);
        if (size == 0 || cp == 0)
            s[i] = '?';
        size = size > 0 ? size : 1;
    }
}

static bool is_known_code(const char *code)
{
    size_t n;
    const struct code_text *codes = read_codes(&n);
    for (size_t i = 0; i < n; i++)
        if (strcmp(codes[i].code, code) == 0)
            return true;
    return false;
}

static void check_place(const struct diag *d, const struct diag_place *p, size_t lines)
{
    FUZZ_CHECK(p->line >= 0 && (size_t)p->line <= lines, "%s: line %ld of %zu", d->code, p->line,
               lines);
    FUZZ_CHECK(p->column_from >= 0 && p->column_to >= p->column_from, "%s: columns %d to %d",
               d->code, p->column_from, p->column_to);
    FUZZ_CHECK(p->source == NULL || fuzz_is_harmless(p->source), "%s: the line shown is not safe",
               d->code);
}

void fuzz_check_diags(struct arena *a, const struct diag_list *l, size_t lines)
{
    size_t errors = 0;
    for (size_t i = 0; i < l->n; i++) {
        const struct diag *d = &l->items[i];
        errors += d->severity == DIAG_ERROR;
        FUZZ_CHECK(d->code != NULL && is_known_code(d->code), "unknown code '%s'",
                   d->code != NULL ? d->code : "(none)");
        FUZZ_CHECK(d->message != NULL && d->message[0] != '\0', "%s: no message", d->code);
        FUZZ_CHECK(fuzz_is_harmless(d->message), "%s: unsafe message '%s'", d->code, d->message);
        FUZZ_CHECK(d->expected == NULL || fuzz_is_harmless(d->expected), "%s: unsafe expectation",
                   d->code);
        FUZZ_CHECK(d->remedy == NULL || fuzz_is_harmless(d->remedy), "%s: unsafe remedy", d->code);
        FUZZ_CHECK(d->count > 0, "%s: counted 0 times", d->code);
        for (size_t k = 0; k < PL_COUNT(d->places) && k < d->count; k++)
            check_place(d, &d->places[k], lines);
    }
    FUZZ_CHECK(l->errors >= errors, "%zu errors kept, %zu counted", errors, l->errors);
    if (l->n == 0)
        return;
    struct text t;
    struct terminal_style style = {.width = 80};
    text_init(&t, a);
    report_diagnostics(&t, l, &style);
    for (char *p = t.s; (p = strchr(p, '\n')) != NULL;)
        *p = ' ';
    FUZZ_CHECK(fuzz_is_harmless(t.s), "diagnostics are not safe on a terminal");
}
