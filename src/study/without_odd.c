/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer once more without the shots that stand off. Nothing is removed for a flag; whoever
 * decides whether to leave a shot out sees what hangs on it. */
#include <string.h>

#include "study_internal.h"

static bool is_odd(const struct suspect *s, size_t row)
{
    const struct table_row *r = &s->table->rows[row];
    const char *file = study_file(s->table, row);
    for (size_t i = 0; i < s->f->n_flags; i++) {
        const struct flag *g = &s->f->flags[i];
        bool odd = strcmp(g->code, "outlier") == 0 || strcmp(g->code, "stray-shot") == 0;
        if (odd && g->line == r->line && g->file != NULL && strcmp(g->file, file) == 0)
            return true;
    }
    return false;
}

/* "the shot in line 7", "the 2 shots in lines 7 and 12" */
static const char *name_of(const struct suspect *s, const bool *odd, size_t n)
{
    struct text t;
    text_init(&t, s->a);
    if (n == 1)
        text_add(&t, "the shot that stands off (line ");
    else
        text_addf(&t, "the %zu shots that stand off (lines ", n);
    size_t k = 0;
    for (size_t i = 0; i < s->table->n_rows; i++)
        if (odd[i]) {
            text_addf(&t, "%s%ld",
                      k == 0      ? ""
                      : k + 1 < n ? ", "
                                  : " and ",
                      s->table->rows[i].line);
            k++;
        }
    text_add(&t, ")");
    return t.s;
}

enum errc study_without_odd(struct suspect *s, struct error *e)
{
    struct table less = *s->table;
    struct finding other;
    size_t n = 0, left = 0;
    bool *odd = ARENA_ARRAY(s->a, bool, less.n_rows);
    less.rows = ARENA_ARRAY(s->a, struct table_row, less.n_rows);
    for (size_t i = 0; i < less.n_rows; i++) {
        less.rows[i] = s->table->rows[i];
        odd[i] = !less.rows[i].excluded && is_odd(s, i);
        n += odd[i];
        if (odd[i]) {
            less.rows[i].excluded = true;
            less.rows[i].reason = "stands off"; /* a row is left out for a reason, or it is used */
        }
        left += !less.rows[i].excluded;
    }
    if (n == 0 || left == 0)
        return ERR_NONE;
    finding_init(&other, s->a, s->f->study, s->f->title);
    TRY(s->study->analyze(s->trial, &less, &other, e));
    const char *was = s->f->decision, *now = other.decision;
    if (now == NULL)
        return ERR_NONE;
    s->f->without_odd =
        was != NULL && strcmp(was, now) == 0
            ? arena_printf(s->a, "Without %s the answer is the same.", name_of(s, odd, n))
            : arena_printf(s->a, "Without %s the answer is: %s", name_of(s, odd, n), now);
    return ERR_NONE;
}
