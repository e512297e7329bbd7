/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One file from bytes to table: the layers in their order. */
#include <string.h>

#include <sha2.h>

#include "limits.h"
#include "reading.h"
#include "summaries.h"

int table_find(const struct table *t, const char *column, int cavity)
{
    for (size_t i = 0; i < t->n_columns; i++)
        if (t->columns[i].cavity == cavity && strcmp(t->columns[i].spec->name, column) == 0)
            return (int)i;
    return -1;
}

bool table_row_has(const struct table *t, size_t row, const int *columns, size_t n)
{
    if (row >= t->n_rows || t->rows[row].excluded)
        return false;
    for (size_t i = 0; i < n; i++)
        if (columns[i] < 0 || t->rows[row].cells[columns[i]].kind != CELL_VALUE)
            return false;
    return true;
}

static void start(struct reading *r, struct arena *a, const char *name,
                  const struct study_input *study, const struct facts *facts,
                  const struct table_hint *hint, struct table *out, struct diag_list *diags)
{
    *out = (struct table){.study = study->name, .n_sources = 1};
    out->sources = ARENA_NEW(a, struct source);
    *out->sources = (struct source){
        .name = arena_copy(a, name),
        .study = study->name,
        .encoding = "UTF-8",
        .separator = "comma",
        .decimal = "none seen",
        .layout = "one column",
    };
    *r = (struct reading){.arena = a,
                          .name = out->sources->name,
                          .study = study,
                          .facts = facts,
                          .hint = hint,
                          .diags = diags,
                          .source = out->sources,
                          .header = NO_RECORD,
                          .units = NO_RECORD,
                          .cavity_column = -1};
}

static bool decode(struct reading *r, const void *bytes, size_t n)
{
    bool ok = text_decode(r->arena, r->name, bytes, n, reading_files_fact(r, "encoding"), &r->text,
                          r->diags);
    r->source->encoding = r->text.encoding;
    if (ok && r->text.note != NULL)
        note_repair(r, r->text.note_code, NULL, r->text.note_lines[0], r->text.note);
    return ok;
}

/* Up to the decimal mark; false when there is no table in the file. */
static bool read_layers(struct reading *r, const void *bytes, size_t n, struct error *e,
                        enum errc *code)
{
    if (!decode(r, bytes, n))
        return false;
    wants_fill(r->arena, r->study, r->facts, &r->wants);
    if (!dialect_find(r, e, code))
        return false;
    columns_match(r);
    columns_find_units_row(r);
    rows_classify(r);
    columns_note_empty(r);
    rows_fill_down(r);
    columns_settle_units(r);
    decimal_settle(r);
    out_of_line_check(r);
    lost_marks_check(r);
    summaries_check(r);
    torn_check(r);
    cut_off_check(r);
    labels_check(r);
    return true;
}

/* What is wrong with this file says enough of rows that are left out for it. */
static bool has_errors(const struct reading *r)
{
    for (size_t i = 0; i < r->diags->n; i++)
        if (r->diags->items[i].severity == DIAG_ERROR && r->diags->items[i].file != NULL &&
            strcmp(r->diags->items[i].file, r->name) == 0)
            return true;
    return false;
}

static bool is_read_off(const struct column_spec *spec)
{
    return spec->dimension != DIM_TEXT && !(spec->flags & COLUMN_SETTING);
}

bool table_has_readings(const struct table *t)
{
    for (size_t i = 0; i < t->n_rows; i++)
        for (size_t k = 0; k < t->n_columns && !t->rows[i].excluded; k++)
            if (is_read_off(t->columns[k].spec) && t->rows[i].cells[k].kind != CELL_MISSING)
                return true;
    return false;
}

static void warn_without_readings(struct reading *r, const struct table *t)
{
    bool used = false;
    for (size_t i = 0; i < t->n_rows; i++)
        used = used || !t->rows[i].excluded;
    if (t->n_rows == 0 || table_has_readings(t))
        return;
    struct complaint c = {
        DIAG_WARNING,
        "no-row-used",
        NULL,
        used ? "no row of this file has a reading" : "every row of this file is left out",
        NULL,
        used ? "Enter the readings, or take the file out of the folder if the study was not run."
             : "Enter the readings, or take the file out of the folder if the study was not run; "
               "the rows that are left out are listed with the reason."};
    complain_file(r, &c);
}

enum errc table_read(struct arena *a, const char *name, const void *bytes, size_t n_bytes,
                     const struct study_input *study, const struct facts *facts,
                     const struct table_hint *hint, struct table *out, struct diag_list *diags,
                     struct error *e)
{
    struct reading r;
    enum errc code = ERR_NONE;
    start(&r, a, name, study, facts, hint, out, diags);
    r.source->bytes = n_bytes;
    if (n_bytes <= LIMIT_FILE_BYTES)
        SHA256Data(n_bytes > 0 ? bytes : (const void *)"", n_bytes, r.source->sha256);
    if (!read_layers(&r, bytes, n_bytes, e, &code))
        return code;
    shots_build(&r, out);
    if (!has_errors(&r))
        warn_without_readings(&r, out);
    return code;
}

enum errc table_load_bytes(struct arena *a, const char *name, const void *bytes, size_t n_bytes,
                           const struct study_input *study, const struct facts *facts,
                           struct table *out, struct diag_list *diags, struct error *e)
{
    return table_read(a, name, bytes, n_bytes, study, facts, NULL, out, diags, e);
}

enum table_decimal_answer table_decimal(struct arena *scratch, const char *name, const void *bytes,
                                        size_t n_bytes, const struct study_input *study,
                                        const struct facts *facts)
{
    struct reading r;
    struct table t;
    struct diag_list diags;
    struct error e = {.code = ERR_NONE};
    enum errc code = ERR_NONE;
    diag_init(&diags, scratch);
    start(&r, scratch, name, study, facts, NULL, &t, &diags);
    if (!read_layers(&r, bytes, n_bytes, &e, &code))
        return TABLE_DECIMAL_NONE;
    return r.decimal;
}
