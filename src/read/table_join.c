/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdlib.h>
#include <string.h>

#include "table_join.h"

static size_t column_of(const struct table *t, const struct table_column *c)
{
    for (size_t i = 0; i < t->n_columns; i++)
        if (t->columns[i].cavity == c->cavity &&
            strcmp(t->columns[i].spec->name, c->spec->name) == 0)
            return i;
    return t->n_columns;
}

static void add_repair(struct arena *a, struct source *s, const struct repair *more)
{
    struct repair *repairs = ARENA_ARRAY(a, struct repair, s->n_repairs + 1);
    if (s->n_repairs > 0)
        memcpy(repairs, s->repairs, s->n_repairs * sizeof *repairs);
    repairs[s->n_repairs++] = *more;
    s->repairs = repairs;
}

/* Each file was read by its own units; people should know that they differ. */
static void note_unit(struct arena *a, const struct table_column *have,
                      const struct table_column *c, struct source *s)
{
    if (have->unit == NULL || c->unit == NULL ||
        strcmp(have->unit->spelling, c->unit->spelling) == 0)
        return;
    for (size_t i = 0; i < s->n_repairs; i++)
        if (strcmp(s->repairs[i].code, "units-differ-by-file") == 0 &&
            strcmp(s->repairs[i].column, c->spec->name) == 0)
            return; /* told of another cavity */
    add_repair(a, s,
               &(struct repair){.code = "units-differ-by-file",
                                .text = arena_printf(a,
                                                     "%s is in %s here and in %s in the first "
                                                     "file; each was read by its own unit",
                                                     c->spec->name, c->unit->spelling,
                                                     have->unit->spelling),
                                .column = c->spec->name,
                                .count = 1,
                                .lines = {s->header_line}});
}

static void join_columns(struct arena *a, const struct table *parts, size_t n, struct table *out)
{
    size_t most = 0;
    for (size_t p = 0; p < n; p++)
        most += parts[p].n_columns;
    out->columns = ARENA_ARRAY(a, struct table_column, most);
    for (size_t p = 0; p < n; p++)
        for (size_t i = 0; i < parts[p].n_columns; i++) {
            const struct table_column *c = &parts[p].columns[i];
            struct table_column *have = &out->columns[column_of(out, c)];
            if (have == &out->columns[out->n_columns]) {
                *have = *c;
                out->n_columns++;
                continue;
            }
            note_unit(a, have, c, &parts[p].sources[0]);
            have->unit = have->unit != NULL ? have->unit : c->unit;
            if (c->step > 0.0 && (have->step == 0.0 || c->step < have->step))
                have->step = c->step;
        }
}

static void join_sources(struct arena *a, const struct table *parts, size_t n, struct table *out,
                         struct diag_list *diags)
{
    size_t most = 0;
    for (size_t p = 0; p < n; p++)
        most += parts[p].n_sources;
    out->sources = ARENA_ARRAY(a, struct source, most);
    for (size_t p = 0; p < n; p++)
        for (size_t i = 0; i < parts[p].n_sources; i++) {
            const struct source *s = &parts[p].sources[i];
            for (size_t j = 0; j < out->n_sources; j++) {
                if (strcmp(out->sources[j].sha256, s->sha256) != 0)
                    continue;
                struct diag d = {
                    .severity = DIAG_ERROR,
                    .code = "same-file-twice",
                    .file = s->name,
                    .message = arena_printf(a, "the file holds the same bytes as %s",
                                            out->sources[j].name),
                    .expected = "every shot once",
                    .remedy = "Take one of the two files out of the folder or of [studies]."};
                struct diag_place whole = {.line = 0};
                diag_add(diags, &d, &whole);
                break;
            }
            out->sources[out->n_sources++] = *s;
        }
}

static void copy_row(struct arena *a, const struct table *part, const size_t *map,
                     const struct table_row *from, size_t first_source, struct table *out)
{
    struct table_row *row = &out->rows[out->n_rows++];
    *row = *from;
    row->source += first_source;
    row->cells = ARENA_ARRAY(a, struct cell, out->n_columns);
    for (size_t i = 0; i < out->n_columns; i++)
        row->cells[i] = (struct cell){.kind = CELL_MISSING, .text = "", .line = row->line};
    for (size_t i = 0; i < part->n_columns; i++)
        row->cells[map[i]] = from->cells[i];
}

static int compare_rows(const void *a, const void *b)
{
    const struct table_row *x = a, *y = b;
    if (x->order < y->order || x->order > y->order)
        return x->order < y->order ? -1 : 1;
    if (x->source != y->source)
        return x->source < y->source ? -1 : 1;
    return (x->line > y->line) - (x->line < y->line);
}

/* Sorts by shot number; false, and nothing sorted, when one occurs twice. */
static bool order_by_number(struct arena *a, struct table *out)
{
    struct table_row *sorted = ARENA_ARRAY(a, struct table_row, out->n_rows);
    if (out->n_rows > 0)
        memcpy(sorted, out->rows, out->n_rows * sizeof *sorted);
    qsort(sorted, out->n_rows, sizeof *sorted, compare_rows);
    const struct table_row *before = NULL;
    for (size_t i = 0; i < out->n_rows; i++) {
        if (sorted[i].shot[0] == '\0') /* an average row: no shot */
            continue;
        if (before != NULL && !(before->order < sorted[i].order))
            return false;
        before = &sorted[i];
    }
    out->rows = sorted;
    return true;
}

static void note_order(struct arena *a, struct source *s)
{
    add_repair(a, s,
               &(struct repair){
                   .code = "files-in-order",
                   .text = "the files of this study were taken one after the other, in the order "
                           "in which they are listed",
                   .count = 1});
}

static void order_by_file(struct arena *a, const struct table *parts, size_t n, struct table *out)
{
    double before = 0.0;
    size_t k = 0;
    for (size_t p = 0; p < n; p++)
        for (size_t i = 0; i < parts[p].n_rows; i++)
            out->rows[k++].order = ++before;
    out->has_shot_numbers = false;
    for (size_t i = 0; i < out->n_sources; i++)
        note_order(a, &out->sources[i]);
}

void table_join(struct arena *a, const struct table *parts, size_t n, struct table *out,
                struct diag_list *diags)
{
    if (n == 1) {
        *out = parts[0];
        return;
    }
    *out = (struct table){.study = parts[0].study, .has_shot_numbers = true};
    join_columns(a, parts, n, out);
    join_sources(a, parts, n, out, diags);
    size_t rows = 0, source = 0;
    for (size_t p = 0; p < n; p++)
        rows += parts[p].n_rows;
    out->rows = ARENA_ARRAY(a, struct table_row, rows);
    for (size_t p = 0; p < n; p++) {
        const struct table *part = &parts[p];
        size_t *map = ARENA_ARRAY(a, size_t, part->n_columns);
        for (size_t i = 0; i < part->n_columns; i++)
            map[i] = column_of(out, &part->columns[i]);
        for (size_t i = 0; i < part->n_rows; i++)
            copy_row(a, part, map, &part->rows[i], source, out);
        source += part->n_sources;
        out->has_shot_numbers = out->has_shot_numbers && part->has_shot_numbers;
        out->cavities = part->cavities > out->cavities ? part->cavities : out->cavities;
    }
    if (!out->has_shot_numbers || !order_by_number(a, out))
        order_by_file(a, parts, n, out);
}
