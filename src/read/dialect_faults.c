/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is wrong with a file as a file: no table in it, or records whose quotes make no sense. */
#include <string.h>

#include "fold.h"
#include "limits.h"
#include "reading.h"

/* ---- broken records ------------------------------------------------------------------------- */

static struct complaint fault_text(struct reading *r, const struct record *rec)
{
    struct complaint c = {.severity = DIAG_ERROR};
    switch (rec->fault) {
    case FAULT_OPEN_QUOTE:
        c.code = "open-quote";
        c.message = "a quote is opened here and not closed where the cell should end";
        c.expected = "a closing quote before the next separator or line end";
        c.remedy = "Close it, or delete it. For inches write `in`, not a quote.";
        break;
    case FAULT_TEXT_AFTER_QUOTE:
        c.code = "text-after-quote";
        c.message = "text behind a closing quote";
        c.expected = "a separator or the end of the line behind a closing quote";
        c.remedy = "Put the whole cell in quotes and double the quotes inside it.";
        break;
    case FAULT_BACKSLASH_QUOTE:
        c.code = "backslash-quote";
        c.message = "a backslash before a quote: it cannot be told where the cell ends";
        c.expected = "a quote inside a cell written twice";
        c.remedy = "Write \"\" instead of \\\".";
        break;
    case FAULT_STRAY_QUOTE:
        c.code = "stray-quote";
        c.message = "a quote inside a cell that does not start with one";
        c.expected = "no quote, or the whole cell in quotes";
        c.remedy = "Put the cell in quotes and double the quote inside, or delete it. For inches "
                   "write `in`.";
        if (rec->fault_at > 0 && r->text.s[rec->fault_at - 1] == '=') {
            c.message = "a cell of the form =\"...\", as spreadsheets keep text from being changed";
            c.remedy =
                "Take = and the quotes out of all cells of the file, with search and replace.";
        }
        break;
    case FAULT_CELL_TOO_LONG:
        c.code = "cell-too-long";
        c.message = "a cell longer than 65536 bytes starts here";
        c.expected = "cells of at most 64 KiB";
        c.remedy = "The usual cause is a quote that was opened and never closed.";
        break;
    case FAULT_ROW_TOO_LONG:
        c.code = "row-too-long";
        c.message = "a row with more than 4096 cells";
        c.expected = "at most 4096 cells in a row";
        c.remedy = "Check what separates the cells of this file.";
        break;
    case FAULT_NONE:
        break;
    }
    return c;
}

static void tell_too_many(struct reading *r)
{
    struct complaint c = {DIAG_ERROR,
                          "table-too-large",
                          NULL,
                          arena_printf(r->arena, "more than %zu rows", LIMIT_RECORDS),
                          arena_printf(r->arena, "at most %zu rows in a file", LIMIT_RECORDS),
                          "Split the file; or export one value for each shot instead of the "
                          "curve of each shot."};
    complain_line(r, &c, r->records.n - 1);
}

static void tell_faults(struct reading *r)
{
    size_t first = r->header == NO_RECORD ? 0 : r->header;
    for (size_t i = first; i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (rec->fault == FAULT_NONE)
            continue;
        struct complaint c = fault_text(r, rec);
        complain_bytes(r, &c, rec->fault_line, rec->fault_start, rec->fault_at, rec->fault_at + 1);
    }
    if (r->records.given_up) {
        struct complaint c = {
            DIAG_ERROR,
            "too-many-broken-rows",
            NULL,
            "so many rows have broken quotes that the rest was not read",
            "rows whose quotes are balanced",
            "Mend the first rows named above; the others often follow from them."};
        complain_line(r, &c, r->records.n - 1);
    }
    if (r->records.too_many)
        tell_too_many(r);
}

/* ---- no table ------------------------------------------------------------------------------- */

const char *reading_needed_names(const struct reading *r)
{
    struct text t;
    text_init(&t, r->arena);
    for (size_t i = 0; i < r->wants.n; i++)
        if (r->wants.items[i].spec->flags & COLUMN_REQUIRED)
            text_addf(&t, "%s%s", t.length > 0 ? ", " : "", r->wants.items[i].spec->name);
    for (size_t i = 0; t.length == 0 && i < r->study->n_columns; i++)
        text_addf(&t, "%s%s", i > 0 ? ", " : "", r->study->columns[i].name);
    return t.s;
}

bool reading_is_transposed(struct reading *r)
{
    bool *seen = ARENA_ARRAY(r->arena, bool, r->wants.n);
    size_t known = 0, required = 0;
    for (size_t i = 0; i < r->records.n && i < 200; i++) {
        struct header_name h;
        const struct record *rec = &r->records.items[i];
        header_read(r->arena, &r->wants, record_cell(rec, 0), false, &h);
        size_t want = h.want != NULL ? (size_t)(h.want - r->wants.items) : 0;
        if (h.want == NULL || seen[want] || rec->n_cells < 2)
            continue;
        seen[want] = true;
        known++;
        required += (h.want->spec->flags & COLUMN_REQUIRED) != 0;
    }
    return known >= 2 && required == r->wants.n_required;
}

static size_t first_row(const struct reading *r, bool *only_comments)
{
    *only_comments = false;
    for (size_t i = 0; i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (rec->fault == FAULT_NONE && record_is_empty(rec))
            continue;
        if (record_cell(rec, 0)[0] != '#')
            return i;
        *only_comments = true;
    }
    return NO_RECORD;
}

static bool separator_was_said(const struct reading *r)
{
    for (size_t i = 0; i < r->source->n_repairs; i++)
        if (strcmp(r->source->repairs[i].code, "separator-line") == 0)
            return true;
    return reading_files_fact(r, "separator") != NULL;
}

static void tell_no_header(struct reading *r)
{
    bool only_comments;
    size_t first = first_row(r, &only_comments);
    struct complaint c = {.severity = DIAG_ERROR,
                          .expected =
                              arena_printf(r->arena, "a row with the names of the columns: %s",
                                           reading_needed_names(r))};
    if (first == NO_RECORD) {
        c.code = "empty-file";
        c.message = r->text.length == 0 ? "the file is empty"
                    : only_comments     ? "the file holds nothing but comments"
                                        : "the file holds nothing but blank lines";
        c.remedy = "Enter the shots, or take the file out of the folder.";
        complain_file(r, &c);
        return;
    }
    c.code = "no-header";
    c.message = arena_printf(r->arena, "no row names a column of the study %s", r->study->name);
    struct text keys;
    text_init(&keys, r->arena);
    for (size_t i = 0; i < r->study->n_columns; i++)
        if (r->study->columns[i].flags & COLUMN_REQUIRED)
            text_addf(&keys, "%s%s.%s = ...", keys.length > 0 ? ", " : "", r->study->name,
                      r->study->columns[i].name);
    c.remedy = arena_printf(r->arena,
                            "Write the names above the columns, or say under [columns] in "
                            "trial.ini what they are called here%s%s",
                            keys.length > 0 ? ": " : ".", keys.s);
    if (separator_was_said(r))
        c.remedy = "The first line (`sep=`) or [files] in trial.ini says what separates the cells: "
                   "correct it there if another character does.";
    complain_line(r, &c, first);
}

bool dialect_find(struct reading *r, struct error *e, enum errc *code)
{
    if (!dialect_choose(r, e, code))
        return false;
    tell_faults(r);
    size_t required = 0;
    if (r->header != NO_RECORD)
        required = reading_count_required(r);
    if ((r->header == NO_RECORD || required < r->wants.n_required) && reading_is_transposed(r)) {
        struct complaint c = {DIAG_ERROR,
                              "transposed",
                              NULL,
                              "the names of the columns stand below each other in the first column",
                              "one row for each shot, the names in the first row",
                              "Turn the table round (in a spreadsheet: copy, paste special, "
                              "transpose) and save it again."};
        complain_line(r, &c, 0);
        return false;
    }
    if (r->header == NO_RECORD) {
        tell_no_header(r);
        return false;
    }
    return true;
}
