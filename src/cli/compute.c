/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A trial as it was read to its findings, window, record and report; writes nothing. */
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

static size_t count_figures(const struct analysis *an)
{
    size_t n = 0;
    for (size_t i = 0; i < an->n_findings; i++)
        n += an->findings[i].n_figures; /* NOLINT: n_findings counts them */
    return n;
}

size_t cli_report_files(struct arena *a, const struct computed *c, struct output_file **out)
{
    const struct analysis *an = &c->analysis;
    struct output_file *files = ARENA_ARRAY(a, struct output_file, 2 + count_figures(an));
    size_t n = 0;
    for (size_t i = 0; i < an->n_findings; i++)
        /* NOLINTNEXTLINE: the counts are of what is there */
        for (size_t j = 0; j < an->findings[i].n_figures; j++) {
            const struct figure *f = &an->findings[i].figures[j];
            struct text svg;
            text_init(&svg, a);
            report_svg(&svg, f, an->premises, an->window, true);
            files[n++] =
                (struct output_file){arena_printf(a, "%s.svg", f->name), svg.s, svg.length};
        }
    struct text page;
    text_init(&page, a);
    report_html(&page, an);
    files[n++] = (struct output_file){RECORD_NAME, c->record.s, c->record.length};
    files[n++] = (struct output_file){PAGE_NAME, page.s, page.length};
    *out = files;
    return n;
}
