/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The trial as window and report see it: plain data, no reader behind it. */
#include <string.h>

#include "commands.h"

/* What nobody may overlook, whatever the figures say. */
static const char *const cautions[] = {
    "The melt is at 200 to 400 degrees Celsius and under up to 250 MPa, and the clamp closes with "
    "up to tens of meganewtons: run trials behind closed guards, and follow the site's lock-out "
    "rules before anyone reaches between the platens, under the nozzle or into the hopper throat.",
    "The instructions of the makers of press and mold, the resin supplier's instructions and "
    "safety data sheets, and the local codes come before every figure on these pages.",
    "Never exceed the mold's rated clamp force, the limits of the press or the resin's permitted "
    "residence time to complete a study: leave the condition out and write down why.",
    "The results are advice. People who are qualified to set this press decide; no figure here "
    "releases a setting by itself.",
    "A window holds for the mold, press, material lot and conditions it was found on. When one of "
    "them changes, show again that it holds.",
    "For regulated parts the qualification belongs to the manufacturer's quality system and the "
    "people responsible in it. This program is a calculation aid and must be validated for its "
    "intended use there.",
};

/* ---- files ---------------------------------------------------------------------------------- */

static bool same_column_before(const struct table *t, size_t i)
{
    for (size_t j = 0; j < i; j++)
        if (t->columns[j].spec == t->columns[i].spec)
            return true;
    return false;
}

/* "hold_time s, weight g" */
static const char *units_text(struct arena *a, const struct table *t)
{
    struct text s;
    text_init(&s, a);
    for (size_t i = 0; i < t->n_columns; i++) {
        const struct table_column *c = &t->columns[i];
        if (c->unit == NULL || c->unit->spelling[0] == '\0' || same_column_before(t, i))
            continue;
        text_addf(&s, "%s%s %s", s.length > 0 ? ", " : "", c->spec->name, c->unit->spelling);
    }
    return s.s;
}

static void fill_repairs(struct arena *a, const struct source *s, struct premises_file *f)
{
    f->repairs = ARENA_ARRAY(a, struct premises_repair, s->n_repairs);
    f->n_repairs = s->n_repairs;
    for (size_t i = 0; i < s->n_repairs; i++) {
        const struct repair *r = &s->repairs[i];
        f->repairs[i] = (struct premises_repair){
            .code = r->code, .text = r->text, .column = r->column, .count = r->count};
        memcpy(f->repairs[i].lines, r->lines, sizeof r->lines);
    }
}

static void fill_records(struct arena *a, const struct source *s, struct premises_file *f)
{
    f->header = s->header_cells;
    f->n_header = s->n_header_cells;
    f->records = ARENA_ARRAY(a, struct premises_record, s->n_records);
    f->n_records = s->n_records;
    for (size_t i = 0; i < s->n_records; i++) {
        const struct raw_record *r = &s->records[i];
        f->records[i] = (struct premises_record){.line = r->line,
                                                 .cells = r->cells,
                                                 .n_cells = r->n_cells,
                                                 .left_out = r->left_out,
                                                 .reason = r->reason,
                                                 .repaired = r->repaired};
    }
}

static void fill_excluded(struct arena *a, const struct table *t, size_t source,
                          struct premises_file *f)
{
    f->excluded = ARENA_ARRAY(a, struct row_use, t->n_rows);
    f->n_excluded = 0;
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct table_row *r = &t->rows[i];
        if (r->source == source && r->excluded && r->by_user)
            f->excluded[f->n_excluded++] =
                (struct row_use){t->sources[source].name, r->line, r->reason, true};
    }
}

static void fill_file(struct arena *a, const struct table *t, size_t source,
                      struct premises_file *f)
{
    const struct source *s = &t->sources[source];
    *f = (struct premises_file){
        .name = s->name,
        .study = t->study,
        .sha256 = s->sha256,
        .bytes = s->bytes,
        .encoding = s->encoding,
        .separator = s->separator,
        .decimal = s->decimal,
        .layout = s->layout,
        .header_line = s->header_line,
        .units_line = s->units_line,
        .rows_read = s->rows_read,
        .rows_used = s->rows_used,
        .rows_left_out = s->rows_left_out,
        .preamble = s->preamble,
        .n_preamble = s->n_preamble,
        .unused = s->unused,
        .n_unused = s->n_unused,
        .units = units_text(a, t),
    };
    fill_repairs(a, s, f);
    fill_records(a, s, f);
    fill_excluded(a, t, source, f);
}

static void fill_files(struct arena *a, const struct trial *trial, struct premises *p)
{
    size_t n = 1;
    for (size_t i = 0; i < trial->n_tables; i++)
        n += trial->tables[i].n_sources;
    for (size_t i = 0; i < trial->n_refused; i++)
        n += trial->refused[i].n_sources;
    p->files = ARENA_ARRAY(a, struct premises_file, n);
    if (trial->ini_sha256[0] != '\0')
        p->files[p->n_files++] = (struct premises_file){
            .name = trial->facts.file != NULL ? trial->facts.file : "trial.ini",
            .study = "",
            .sha256 = trial->ini_sha256,
            .bytes = trial->ini_bytes,
        };
    for (size_t i = 0; i < trial->n_tables; i++)
        for (size_t j = 0; j < trial->tables[i].n_sources; j++)
            fill_file(a, &trial->tables[i], j, &p->files[p->n_files++]);
    for (size_t i = 0; i < trial->n_refused; i++)
        for (size_t j = 0; j < trial->refused[i].n_sources; j++) {
            fill_file(a, &trial->refused[i], j, &p->files[p->n_files]);
            p->files[p->n_files++].refused = true;
        }
}

static void fill_studies(struct arena *a, struct premises *p)
{
    const struct study *const *all = study_all(&p->n_studies);
    struct premises_study *s = ARENA_ARRAY(a, struct premises_study, p->n_studies);
    for (size_t i = 0; i < p->n_studies; i++)
        s[i] =
            (struct premises_study){all[i]->name, all[i]->title, all[i]->method, all[i]->question};
    p->studies = s;
}

void premises_fill(struct arena *a, const struct trial *trial, struct premises *out)
{
    const struct facts *facts = &trial->facts;
    *out = (struct premises){
        .facts = facts,
        .path = trial->path,
        .single_file = trial->single_file,
        .confidence = facts_number(facts, "report", "confidence", 0.95),
        .resamples = (int)facts_number(facts, "report", "resamples", 2000.0),
        .seed = (unsigned long)facts_number(facts, "report", "seed", 1.0),
        .unread = trial->unread,
        .n_unread = trial->n_unread,
        .n_cautions = PL_COUNT(cautions),
    };
    out->cautions = ARENA_ARRAY(a, const char *, PL_COUNT(cautions));
    memcpy(out->cautions, cautions, sizeof cautions);
    memcpy(out->display, trial->display, sizeof out->display);
    fill_studies(a, out);
    fill_files(a, trial, out);
}
