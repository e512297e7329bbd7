/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A trial as it was read to its findings, window and record; writes nothing. */
#include <sys/types.h>

#include <sha2.h>
#include <stdlib.h>
#include <string.h>

#include "commands.h"

static int compare_findings(const void *a, const void *b)
{
    const struct finding *x = a, *y = b;
    return strcmp(x->study, y->study);
}

static enum errc run_studies(struct arena *a, const struct trial *trial, struct finding **out,
                             struct error *e)
{
    struct finding *findings = ARENA_ARRAY(a, struct finding, trial->n_tables);
    for (size_t i = 0; i < trial->n_tables; i++) {
        const struct table *t = &trial->tables[i];
        const struct study *s = study_find(t->study);
        if (s == NULL)
            return ERR_SET(e, ERR_INTERNAL, "a table was read for '%s', which is no study",
                           t->study);
        finding_init(&findings[i], a, s->name, s->title);
        TRY(study_run(s, trial, t, &findings[i], e));
    }
    qsort(findings, trial->n_tables, sizeof *findings, compare_findings);
    *out = findings;
    return ERR_NONE;
}

enum errc cli_compute(struct arena *a, const struct loaded *l, struct computed *out,
                      struct error *e)
{
    struct finding *findings = NULL;
    TRY(run_studies(a, &l->trial, &findings, e));
    TRY(window_make(a, findings, l->trial.n_tables, &l->premises, &out->window, e));
    out->analysis = (struct analysis){.premises = &l->premises,
                                      .findings = findings,
                                      .n_findings = l->trial.n_tables,
                                      .window = &out->window};
    text_init(&out->record, a);
    TRY(report_record(&out->record, &out->analysis, e));
    char digest[SHA256_DIGEST_STRING_LENGTH];
    SHA256Data((const void *)out->record.s, out->record.length, digest);
    out->analysis.record_sha256 = arena_copy(a, digest);
    return ERR_NONE;
}
