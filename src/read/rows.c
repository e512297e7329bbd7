/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What kind of row each record is. A row is dropped only where it cannot be a shot (comment,
 * repeated header, average), and every row that is dropped is listed. */
#include <string.h>

#include "fold.h"
#include "reading.h"
#include "summaries.h"

/* ---- looking at a row ---------------------------------------------------------------------------
 */

/* Index of the only cell that holds something; -1: none or several. */
static int only_cell(const struct record *rec)
{
    int found = -1;
    for (size_t k = 0; k < rec->n_cells; k++) {
        if (rec->cells[k][0] == '\0')
            continue;
        if (found >= 0)
            return -1;
        found = (int)k;
    }
    return found;
}

/* A spreadsheet puts a comment in which the separator stands into quotes, and fills up its row. In
 * quotes a # with readings behind it is data. */
static bool starts_with_hash(const struct reading *r, size_t record)
{
    const struct record *rec = &r->records.items[record];
    const char *first = record_cell(rec, 0);
    bool hash = r->text.s[rec->from] == '#' || (first[0] == '#' && only_cell(rec) == 0);
    return hash && !number_is_sheet_error(first, strlen(first));
}

bool rows_is_comment(const struct reading *r, size_t record)
{
    return !r->hash_ids && starts_with_hash(r, record);
}

/* `#1`, `#2`, ... in front of every row number the shots. */
static bool has_hash_ids(const struct reading *r)
{
    bool any = false;
    for (size_t i = r->body; i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (i == r->units || record_is_empty(rec))
            continue;
        if (!starts_with_hash(r, i) || rec->n_cells < 2)
            return false;
        any = true;
    }
    return any;
}

static bool same_folded(struct reading *r, const char *a, const char *b)
{
    if (strcmp(a, b) == 0)
        return true;
    struct arena_mark mark = arena_mark(r->arena);
    bool same = strcmp(fold_name(r->arena, a, strlen(a)), fold_name(r->arena, b, strlen(b))) == 0;
    arena_reset(r->arena, mark);
    return same;
}

static bool repeats(struct reading *r, size_t record, size_t of)
{
    const struct record *a = &r->records.items[record], *b = &r->records.items[of];
    for (size_t k = 0; k < a->n_cells || k < b->n_cells; k++)
        if (!same_folded(r, record_cell(a, k), record_cell(b, k)))
            return false;
    return true;
}

/* Two or more names of ours and no number: the header of another table. */
static bool is_other_header(struct reading *r, const struct record *rec)
{
    size_t known = 0;
    bool text = false;
    for (size_t k = 0; k < r->n_columns; k++) {
        const char *s = record_cell(rec, k);
        if (!column_is_quantity(&r->columns[k]) || number_is_missing(s, strlen(s)))
            continue;
        if (cell_is_number(s))
            return false;
        text = true;
    }
    for (size_t k = 0; text && k < rec->n_cells; k++) {
        struct header_name h;
        struct arena_mark mark = arena_mark(r->arena);
        header_read(r->arena, &r->wants, rec->cells[k], false, &h);
        known += h.want != NULL;
        arena_reset(r->arena, mark);
    }
    return known >= 2;
}

/* ---- averages and notes below the table ----------------------------------------------------- */

/* A label in a column of text could be data ("Max" is a name too): there it counts only below the
 * last other row, and only once. */
static bool label_may_be_data(const struct reading *r, int k)
{
    return (size_t)k < r->n_columns && r->columns[k].want != NULL &&
           r->columns[k].want->spec->dimension == DIM_TEXT &&
           r->columns[k].want->role == ROLE_VALUE;
}

static void leave_out(struct reading *r, size_t i, enum row_kind kind, const char *reason)
{
    r->rows[i].kind = kind;
    r->rows[i].left_out = true;
    r->rows[i].reason = reason;
}

/* From the end upwards: blanks, averages, notes. */
static void classify_bottom(struct reading *r)
{
    for (size_t i = r->records.n; i-- > r->body;) {
        const struct record *rec = &r->records.items[i];
        if (rec->fault != FAULT_NONE)
            return;
        if (record_is_empty(rec)) {
            r->rows[i].kind = ROW_BLANK;
            continue;
        }
        if (i == r->units)
            return;
        int label = summary_label(r, rec, NULL), only = only_cell(rec);
        bool same_above =
            label >= 0 && label_may_be_data(r, label) && i > r->body &&
            same_folded(r, rec->cells[label], record_cell(&r->records.items[i - 1], (size_t)label));
        if (rows_is_comment(r, i)) {
            r->rows[i].kind = ROW_COMMENT;
        } else if (label >= 0 && !same_above) {
            leave_out(r, i, ROW_SUMMARY, NULL); /* summaries_check gives the reason */
        } else if (only >= 0 && !cell_is_number(rec->cells[only]) && label < 0) {
            leave_out(
                r, i, ROW_FOOTER,
                arena_printf(r->arena, "a line below the table: %s", quoted(r, rec->cells[only])));
        } else {
            return;
        }
    }
}

/* ---- cells that are too many or too few ----------------------------------------------------- */

static bool refuse_typographic(struct reading *r, size_t i)
{
    const struct record *rec = &r->records.items[i];
    for (size_t k = 0; k + 1 < rec->n_cells; k++) {
        const char *s = rec->cells[k];
        if (strncmp(s, "\xE2\x80\x9C", 3) != 0 && strncmp(s, "\xE2\x80\x9E", 3) != 0)
            continue;
        if (strstr(s + 3, "\xE2\x80\x9D") != NULL || strstr(s + 3, "\xE2\x80\x9C") != NULL)
            continue;
        for (size_t j = k + 1; j < rec->n_cells; j++) {
            size_t n = strlen(rec->cells[j]);
            const char *end = rec->cells[j] + (n >= 3 ? n - 3 : n);
            if (strcmp(end, "\xE2\x80\x9D") != 0 && strcmp(end, "\xE2\x80\x9C") != 0)
                continue;
            struct complaint c = {
                DIAG_ERROR,
                "typographic-quotes",
                NULL,
                "curved quotes enclose a separator: they are no quotes to a CSV file",
                "straight quotes around a cell that holds a separator",
                "Replace the curved quotes of a word processor by straight ones."};
            complain_cell(r, &c, i, k);
            return true;
        }
    }
    return false;
}

/* Whole numbers and nothing else in the row: what a number with a decimal comma leaves that a
 * spreadsheet split at its comma, whatever it then separated the cells with. */
static bool may_be_torn(const struct record *rec)
{
    size_t n = 0;
    for (size_t k = 0; k < rec->n_cells; k++) {
        size_t digits = strspn(rec->cells[k], "0123456789");
        if (rec->cells[k][digits] == '.' || rec->cells[k][digits] == ',')
            return false;
        n += digits > 0 && rec->cells[k][digits] == '\0';
    }
    return n > 2;
}

static bool refuse_surplus(struct reading *r, size_t i)
{
    const struct record *rec = &r->records.items[i];
    size_t width = reading_header_width(r, r->header, r->joined);
    for (size_t k = 0; k < rec->n_cells; k++) {
        bool headed = k < r->n_columns && r->columns[k].head.shown[0] != '\0';
        if (rec->cells[k][0] == '\0' || headed)
            continue;
        struct complaint c = {.severity = DIAG_ERROR};
        if (k < width) {
            c.code = "value-without-header";
            c.message = arena_printf(r->arena, "%s stands in a column without a header",
                                     quoted(r, rec->cells[k]));
            c.expected = "a name above every column that holds something";
            c.remedy = may_be_torn(rec)
                           ? "Give the column a name (`note` for remarks), or empty the cell. If "
                             "numbers were split at their decimal commas, open the file as it was "
                             "with the semicolon (or tab) as its only separator."
                           : "Give the column a name (`note` for remarks), or empty the cell.";
        } else {
            c.code = "too-many-cells";
            c.message = arena_printf(r->arena, "%zu cells in this row, but %zu headers",
                                     rec->n_cells, width);
            c.expected = arena_printf(r->arena, "at most %zu cells", width);
            c.remedy = r->separator == ','
                           ? "Decimal commas in a comma-separated file do this: save it with "
                             "semicolons, or with decimal points."
                           : "A separator inside a cell does this: put the cell in quotes.";
        }
        complain_cell(r, &c, i, k);
        return true;
    }
    return false;
}

/* The last row has no line end, and every other row goes on further than it: what stands last in
 * it may be half a number. */
static bool seems_cut_off(const struct reading *r, size_t i)
{
    const struct record *rec = &r->records.items[i];
    bool longer = false;
    if (i + 1 != r->records.n || rec->to != r->text.length)
        return false;
    for (size_t j = r->body; j < i; j++) {
        const struct record *other = &r->records.items[j];
        if (other->n_cells == 0 || r->rows[j].kind != ROW_DATA)
            continue;
        if (other->n_cells <= rec->n_cells)
            return false;
        longer = true;
    }
    return longer;
}

/* `hold time, s` without quotes: the unit became a header of its own. The header in front, or NULL.
 */
static const char *torn_header(const struct reading *r)
{
    for (size_t k = 1; r->separator == ',' && k < r->n_columns; k++) {
        const char *s = r->columns[k].head.shown;
        if (r->columns[k].want == NULL && r->columns[k - 1].want != NULL &&
            r->columns[k - 1].head.unit_text[0] == '\0' && unit_find(s, strlen(s), NULL) != NULL)
            return r->columns[k - 1].head.shown;
    }
    return NULL;
}

static const char *how_to_fill(const struct reading *r)
{
    const char *torn = torn_header(r);
    if (torn != NULL)
        return arena_printf(r->arena,
                            "A comma in a header makes two of it: write `%s [...]` with the "
                            "unit in brackets.",
                            text_harmless(r->arena, torn, strlen(torn)));
    return "Fill the row up: an empty cell still needs its separator. A line that is no shot gets "
           "# "
           "in front.";
}

static bool refuse_short(struct reading *r, size_t i)
{
    const struct record *rec = &r->records.items[i];
    if (rec->n_cells >= r->n_columns)
        return false;
    struct text lacking;
    text_init(&lacking, r->arena);
    for (size_t k = rec->n_cells; k < r->n_columns; k++) {
        const struct want *w = r->columns[k].want;
        if (w != NULL && (w->spec->flags & COLUMN_REQUIRED) &&
            !(w->spec->flags & (COLUMN_SETTING | COLUMN_CONSTANT_LABEL)))
            text_addf(&lacking, "%s%s", lacking.length > 0 ? ", " : "", r->columns[k].head.shown);
    }
    bool cut = seems_cut_off(r, i);
    int only = only_cell(rec);
    if (only >= 0 && !cell_is_number(rec->cells[only]) && lacking.length > 0 && !cut) {
        struct complaint alone = {
            DIAG_ERROR,
            "too-few-cells",
            NULL,
            arena_printf(r->arena, "%s stands alone in this row", quoted(r, rec->cells[only])),
            "a shot with its readings, or a comment line",
            "Put # in front of the line, or take it out."};
        complain_line(r, &alone, i);
        return true;
    }
    if (lacking.length == 0 && !cut) {
        note_repair(r, "short-row", NULL, rec->line,
                    "a row has fewer cells than the header; the rest was taken as empty");
        return false;
    }
    struct complaint c = {
        DIAG_ERROR,
        cut ? "file-cut-off" : "too-few-cells",
        NULL,
        cut ? "the last row ends before its end and has no line end: the file seems cut off"
            : arena_printf(r->arena, "%zu of %zu cells in this row", rec->n_cells, r->n_columns),
        lacking.length == 0 ? "a last row as long as the others, or a line end behind it"
                            : arena_printf(r->arena, "a value, or an empty cell, for %s",
                                           text_harmless(r->arena, lacking.s, lacking.length)),
        cut ? "Export or copy the file again." : how_to_fill(r)};
    complain_line(r, &c, i);
    return true;
}

/* ---- all rows ------------------------------------------------------------------------------- */

static void classify_comment(struct reading *r, size_t i)
{
    const struct record *rec = &r->records.items[i];
    r->rows[i].kind = ROW_COMMENT;
    for (size_t k = 0; k < r->n_columns; k++)
        if (record_cell(rec, k)[0] == '\0')
            return;
    note_repair(
        r, "hash-row", NULL, rec->line,
        "a row with all its cells starts with # and was taken as a comment; a # in quotes is "
        "data");
}

/* Names right below the header belong to it; further down another table starts. */
static void refuse_header(struct reading *r, size_t i, size_t names)
{
    bool below = i == names + 1;
    struct complaint c = {
        DIAG_ERROR,
        below ? "names-below-header" : "second-table",
        NULL,
        below ? "the names of the columns stand in two rows"
              : arena_printf(r->arena,
                             "another header: a second table starts here, the first one "
                             "has its header on line %ld",
                             r->records.items[names].line),
        below ? "one row with the names of the columns" : "one table in a file",
        below ? "Write the whole names into one row, such as `weight c1 [g]`, `weight c2 [g]`, and "
                "take the other row out."
              : "Split the file in two."};
    complain_line(r, &c, i);
}

static void classify_row(struct reading *r, size_t i)
{
    const struct record *rec = &r->records.items[i];
    struct row *row = &r->rows[i];
    size_t names = r->joined ? r->header + 1 : r->header;
    int label = summary_label(r, rec, NULL);
    if (rows_is_comment(r, i)) {
        classify_comment(r, i);
    } else if (repeats(r, i, names) || (r->joined && repeats(r, i, r->header))) {
        row->kind = ROW_HEADER_AGAIN;
        note_repair(r, "header-repeated", NULL, rec->line,
                    "the header stands once more in the table");
    } else if (r->units != NO_RECORD && repeats(r, i, r->units)) {
        row->kind = ROW_HEADER_AGAIN;
    } else if (is_other_header(r, rec)) {
        refuse_header(r, i, names);
        row->kind = ROW_BROKEN;
    } else if (label >= 0 && !label_may_be_data(r, label)) {
        leave_out(r, i, ROW_SUMMARY, NULL); /* summaries_check gives the reason */
    } else if (refuse_typographic(r, i) || refuse_surplus(r, i) || refuse_short(r, i)) {
        row->kind = ROW_BROKEN;
    } else {
        row->kind = ROW_DATA;
    }
}

/* A record that is blank from end to end stands for as many rows as it has lines. */
static void note_blank(struct reading *r, const struct record *rec)
{
    for (long k = 0; k < (rec->n_cells == 0 ? rec->lines : 1); k++)
        note_repair(r, "blank-row", NULL, rec->line + k,
                    "a blank row inside the table was passed over");
}

static void note_passed_over(struct reading *r)
{
    size_t last = r->body, first = NO_RECORD;
    for (size_t i = r->body; i < r->records.n; i++)
        if (r->rows[i].kind == ROW_DATA) {
            last = i;
            first = first == NO_RECORD ? i : first;
        }
    for (size_t i = r->body; i < last; i++)
        if (r->rows[i].kind == ROW_BLANK && i > first)
            note_blank(r, &r->records.items[i]);
    for (size_t i = r->body; i < r->records.n; i++)
        if (r->rows[i].kind == ROW_DATA && r->records.items[i].odd_blanks)
            note_repair(r, "no-break-blanks", NULL, r->records.items[i].line,
                        "no-break blanks around cells were dropped");
    for (size_t i = r->body; i < r->records.n; i++)
        if (r->rows[i].kind == ROW_FOOTER)
            note_repair(r, "footer", NULL, r->records.items[i].line, r->rows[i].reason);
}

void rows_classify(struct reading *r)
{
    bool data = false, broken = false;
    r->rows = ARENA_ARRAY(r->arena, struct row, r->records.n);
    r->hash_ids = has_hash_ids(r);
    for (size_t i = r->body; i < r->records.n; i++)
        r->rows[i].kind = ROW_DATA;
    classify_bottom(r);
    for (size_t i = r->body; i < r->records.n; i++) {
        struct row *row = &r->rows[i];
        if (row->kind != ROW_DATA)
            continue;
        if (r->records.items[i].fault != FAULT_NONE)
            row->kind = ROW_BROKEN;
        else if (i == r->units)
            row->kind = ROW_UNITS;
        else if (record_is_empty(&r->records.items[i]))
            row->kind = ROW_BLANK;
        else
            classify_row(r, i);
        data = data || row->kind == ROW_DATA;
        broken = broken || row->kind == ROW_BROKEN;
    }
    note_passed_over(r);
    if (data || broken)
        return;
    struct complaint c = {DIAG_ERROR,
                          "no-rows",
                          NULL,
                          "there is a header but no row below it",
                          "a row for each shot",
                          "Enter the shots, or take the file out of the folder."};
    complain_line(r, &c, r->header);
}

/* ---- merged cells --------------------------------------------------------------------------- */

static bool may_fill(const struct reading *r, const struct column *c)
{
    if (c->want == NULL)
        return false;
    return (c->want->spec->flags & (COLUMN_SETTING | COLUMN_CONSTANT_LABEL)) != 0 ||
           (c->want->role == ROLE_SHOT && r->cavity_column >= 0);
}

/* A row behind a blank one starts something new: what has no setting there (an average without a
 * label, say) gets none. */
static bool continues(const struct reading *r, size_t i)
{
    return i > r->body && r->rows[i - 1].kind != ROW_BLANK;
}

/* True when the column looks like merged cells: a value on top of each block and blanks below it.
 * Equal values below each other, or blanks in less than half of the blocks, are not that. */
static bool is_merged(const struct reading *r, size_t k)
{
    const char *above = NULL;
    size_t blocks = 0, with_blanks = 0;
    bool blank_seen = false, explicit_above = false;
    for (size_t i = r->body; i < r->records.n; i++) {
        if (r->rows[i].kind != ROW_DATA)
            continue;
        const char *s = record_cell(&r->records.items[i], k);
        if (s[0] == '\0') {
            if (above == NULL)
                return false;
            with_blanks += !blank_seen && continues(r, i);
            blank_seen = true;
            explicit_above = false;
            continue;
        }
        if (explicit_above && strcmp(above, s) == 0)
            return false;
        above = s;
        explicit_above = true;
        blank_seen = false;
        blocks++;
    }
    return with_blanks > 0 && 2 * with_blanks >= blocks;
}

static void fill_cell(struct reading *r, size_t i, size_t k, const char *s)
{
    struct row *row = &r->rows[i];
    if (row->filled == NULL) {
        row->filled = ARENA_ARRAY(r->arena, const char *, r->n_columns);
        for (size_t j = 0; j < r->n_columns; j++)
            row->filled[j] = record_cell(&r->records.items[i], j);
    }
    row->filled[k] = s;
    note_cell(r, "filled-down", i, k,
              "blank cells below a value (merged cells) were filled with it");
}

void rows_fill_down(struct reading *r)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        if (!may_fill(r, &r->columns[k]) || !is_merged(r, k))
            continue;
        const char *above = "";
        for (size_t i = r->body; i < r->records.n; i++) {
            if (r->rows[i].kind != ROW_DATA)
                continue;
            const char *s = record_cell(&r->records.items[i], k);
            if (s[0] != '\0')
                above = s;
            else if (!continues(r, i))
                above = "";
            else if (above[0] != '\0')
                fill_cell(r, i, k, above);
        }
    }
}
