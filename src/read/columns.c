/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Header cells -> columns. A header that is none of ours is kept and listed, never guessed at. */
#include <string.h>

#include "fold.h"
#include "limits.h"
#include "reading.h"

int reading_role(const struct reading *r, enum role role)
{
    for (size_t k = 0; k < r->n_columns; k++)
        if (r->columns[k].want != NULL && r->columns[k].want->role == role)
            return (int)k;
    return -1;
}

static bool has_invisible(const char *s)
{
    for (size_t i = 0, n = strlen(s), size; i<n; i += size> 0 ? size : 1) {
        unsigned cp = 0;
        size = utf8_next(s + i, n - i, &cp);
        if ((cp >= 0x200B && cp <= 0x200F) || (cp >= 0x2060 && cp <= 0x2064) || cp == 0xFEFF ||
            (cp >= 0x202A && cp <= 0x202E) || cp == 0xAD)
            return true;
    }
    return false;
}

/* The record whose cells name the columns: the second of two joined rows. */
static size_t name_record(const struct reading *r)
{
    return r->joined ? r->header + 1 : r->header;
}

static void read_headers(struct reading *r)
{
    size_t width = reading_header_width(r, r->header, r->joined);
    while (width > 0 &&
           fold_line(r->arena, reading_header_cell(r, r->header, r->joined, width - 1),
                     strlen(reading_header_cell(r, r->header, r->joined, width - 1)))[0] == '\0')
        width--;
    r->columns = ARENA_ARRAY(r->arena, struct column, width);
    r->n_columns = width;
    r->source->header_cells = ARENA_ARRAY(r->arena, const char *, width);
    r->source->n_header_cells = width;
    long line = r->records.items[name_record(r)].line;
    for (size_t k = 0; k < width; k++) {
        const char *cell = reading_header_cell(r, r->header, r->joined, k);
        struct column *c = &r->columns[k];
        header_read(r->arena, &r->wants, cell, false, &c->head);
        c->want = c->head.want;
        r->source->header_cells[k] = c->head.shown;
        if (strchr(cell, '\n') != NULL || strchr(cell, '\r') != NULL)
            note_repair(r, "header-line-break", NULL, line,
                        "a line break inside a header was read as a blank");
        if (has_invisible(cell))
            note_repair(r, "invisible-characters", NULL, line, "invisible characters were dropped");
        if (strstr(cell, "\xEF\xBF\xBD") != NULL) {
            struct complaint x = {
                DIAG_ERROR,
                "mixed-encodings",
                NULL,
                "a header holds a byte that is no UTF-8, in a file that otherwise is",
                "one encoding for the whole file",
                "Type the character again and save the file as UTF-8."};
            complain_cell(r, &x, name_record(r), k);
        }
    }
}

/* Names whose bracket holds something that is no unit count where nothing better is there. */
static void read_loosely(struct reading *r)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        struct header_name h;
        bool taken = false;
        if (r->columns[k].want != NULL)
            continue;
        header_read(r->arena, &r->wants, r->columns[k].head.shown, true, &h);
        for (size_t j = 0; j < r->n_columns; j++)
            taken = taken || (h.want != NULL && r->columns[j].want == h.want);
        if (h.want == NULL || taken)
            continue;
        r->columns[k].head = h;
        r->columns[k].want = h.want;
    }
}

/* ---- [columns] ------------------------------------------------------------------------------ */

static void prefer_mapped(struct reading *r)
{
    for (size_t i = 0; i < r->wants.n; i++) {
        const struct want *w = &r->wants.items[i];
        bool mapped = false, found = false;
        if (w->mapped == NULL)
            continue;
        for (size_t k = 0; k < r->n_columns; k++) {
            found = found || r->columns[k].want == w;
            mapped = mapped || (r->columns[k].want == w && r->columns[k].head.mapped);
        }
        for (size_t k = 0; mapped && k < r->n_columns; k++)
            if (r->columns[k].want == w && !r->columns[k].head.mapped)
                r->columns[k].want = NULL;
        if (found)
            continue;
        const char *near = text_nearest(w->mapped, r->source->header_cells, r->n_columns);
        struct complaint x = {
            DIAG_ERROR,
            "mapped-column-missing",
            w->spec->name,
            arena_printf(r->arena, "trial.ini says that %s is called %s here, and no column is",
                         w->spec->name, quoted(r, w->mapped)),
            near != NULL ? arena_printf(r->arena, "perhaps %s", quoted(r, near)) : NULL,
            "Write the header under [columns] letter for letter as it stands in the file."};
        complain_line(r, &x, name_record(r));
    }
}

/* ---- what cannot be ------------------------------------------------------------------------- */

static void refuse_duplicates(struct reading *r)
{
    size_t record = name_record(r);
    for (size_t k = 0; k < r->n_columns; k++) {
        struct column *c = &r->columns[k];
        for (size_t j = 0; j < k; j++) {
            const struct column *d = &r->columns[j];
            if (c->want == NULL && d->want == NULL && c->head.shown[0] != '\0' &&
                strcmp(c->head.shown, d->head.shown) == 0) {
                note_repair(r, "duplicate-unused", NULL, r->records.items[record].line,
                            "two columns that nobody reads have one name");
                break;
            }
            if (c->want == NULL || c->want != d->want || c->head.cavity != d->head.cavity)
                continue;
            bool cavities = (c->want->spec->flags & COLUMN_PER_CAVITY) != 0;
            struct complaint x = {
                DIAG_ERROR,
                "duplicate-column",
                c->want->spec->name,
                arena_printf(r->arena, "two columns are %s: %s and %s", c->want->spec->name,
                             quoted(r, d->head.shown), quoted(r, c->head.shown)),
                "one column for each name",
                cavities
                    ? arena_printf(r->arena,
                                   "Give the one that is not meant another name. One column for "
                                   "each cavity is written `%s c1`, `%s c2`.",
                                   c->want->spec->name, c->want->spec->name)
                    : "Give the one that is not meant another name."};
            complain_cell(r, &x, record, k);
            c->hopeless = true;
            break;
        }
    }
}

static void refuse_cavity_headers(struct reading *r)
{
    size_t record = name_record(r);
    double most = facts_number(r->facts, "mold", "cavities", (double)LIMIT_CAVITIES);
    for (size_t k = 0; k < r->n_columns; k++) {
        struct column *c = &r->columns[k];
        if (c->head.cavity_without_name) {
            struct complaint x = {DIAG_ERROR,
                                  "cavity-without-name",
                                  NULL,
                                  arena_printf(r->arena,
                                               "%s names a cavity, but not what was measured there",
                                               quoted(r, c->head.shown)),
                                  "a name and the cavity, such as `weight c1 [g]`",
                                  "Put the name of the column in front of the cavity."};
            complain_cell(r, &x, record, k);
            c->hopeless = true;
        } else if (c->want != NULL && c->head.cavity > 0 && r->cavity_column >= 0) {
            struct complaint x = {DIAG_ERROR,
                                  "long-and-wide",
                                  c->want->spec->name,
                                  "there is a `cavity` column and a column for one cavity too",
                                  "either a row for each cavity or a column for each cavity",
                                  "Take one of the two out."};
            complain_cell(r, &x, record, k);
        } else if (c->want != NULL && (double)c->head.cavity > most) {
            struct complaint x = {DIAG_ERROR,
                                  "cavity-beyond-mold",
                                  c->want->spec->name,
                                  arena_printf(r->arena, "cavity %d, but [mold] cavities = %.0f",
                                               c->head.cavity, most),
                                  "cavity numbers the mold has",
                                  "Correct the header, or the number of cavities in trial.ini."};
            complain_cell(r, &x, record, k);
        }
    }
}

static bool is_there(const struct reading *r, const struct want *w)
{
    for (size_t k = 0; k < r->n_columns; k++)
        if (r->columns[k].want == w)
            return true;
    return false;
}

/* The header whose name, without its unit, is nearest to `word`; or NULL. */
static const char *nearest_of(const char *word, const char *const *names,
                              const char *const *headers, size_t n)
{
    const char *near = text_nearest(word, names, n);
    for (size_t i = 0; near != NULL && i < n; i++)
        if (names[i] == near)
            return headers[i];
    return NULL;
}

static const char *nearest_header(struct reading *r, const struct want *w)
{
    const char **unused = ARENA_ARRAY(r->arena, const char *, r->n_columns);
    const char **names = ARENA_ARRAY(r->arena, const char *, r->n_columns);
    size_t n = 0;
    for (size_t k = 0; k < r->n_columns; k++) {
        const char *shown = r->columns[k].head.shown;
        if (r->columns[k].want != NULL || shown[0] == '\0')
            continue;
        size_t length = strcspn(shown, "[(,/");
        while (length > 0 && shown[length - 1] == ' ')
            length--;
        names[n] = arena_copy_n(r->arena, shown, length > 0 ? length : strlen(shown));
        unused[n++] = shown;
    }
    const char *near = nearest_of(w->spec->name, names, unused, n);
    for (const char *s = w->spec->synonyms; near == NULL && s != NULL && *s != '\0';) {
        size_t length = strcspn(s, "|");
        near = nearest_of(arena_copy_n(r->arena, s, length), names, unused, n);
        s += length + (s[length] == '|');
    }
    return near;
}

/* The only column that nobody reads and whose unit is of this kind: `Gewicht [g]`. Advice, and
 * never taken as a reading. */
static const char *only_header_of_kind(const struct reading *r, const struct want *w)
{
    const char *found = NULL;
    for (size_t k = 0; k < r->n_columns; k++) {
        const struct column *c = &r->columns[k];
        const struct unit *u = c->want == NULL ? column_unit_of_header(r, k) : NULL;
        if (u == NULL || u->dimension != w->spec->dimension)
            continue;
        if (found != NULL)
            return NULL;
        found = c->head.shown;
    }
    return found;
}

static void refuse_missing(struct reading *r)
{
    struct text headers;
    text_init(&headers, r->arena);
    for (size_t k = 0; k < r->n_columns && headers.length < 300; k++)
        if (r->columns[k].head.shown[0] != '\0')
            text_addf(&headers, "%s%s", headers.length > 0 ? ", " : "", r->columns[k].head.shown);
    for (size_t i = 0; i < r->wants.n; i++) {
        const struct want *w = &r->wants.items[i];
        if (!(w->spec->flags & COLUMN_REQUIRED) || is_there(r, w) || w->mapped != NULL)
            continue;
        const char *near = nearest_header(r, w);
        near = near != NULL ? near : only_header_of_kind(r, w);
        struct complaint x = {
            DIAG_ERROR,
            "missing-column",
            w->spec->name,
            arena_printf(r->arena, "no column is called %s; the headers are: %s", w->spec->name,
                         text_harmless(r->arena, headers.s, headers.length)),
            arena_printf(r->arena, "%s: %s%s%s", w->spec->name, w->spec->purpose,
                         near != NULL ? "; perhaps it is " : "",
                         near != NULL ? quoted(r, near) : ""),
            arena_printf(
                r->arena,
                "Name the column so, or say under [columns] in trial.ini what it is called "
                "here: %s.%s = %s",
                r->study->name, w->spec->name,
                near != NULL ? text_harmless(r->arena, near, strlen(near)) : "...")};
        complain_line(r, &x, name_record(r));
    }
}

/* ---- what is told of it --------------------------------------------------------------------- */

static void note_names(struct reading *r)
{
    const struct record *rec = &r->records.items[name_record(r)];
    for (size_t k = 0; k < r->n_columns; k++) {
        const struct column *c = &r->columns[k];
        if (c->want != NULL && c->head.other_name)
            note_repair(r, "other-name", c->want->spec->name, rec->line,
                        arena_printf(r->arena, "%s was read as %s", quoted(r, c->head.shown),
                                     c->want->spec->name));
    }
    if (rec->odd_blanks)
        note_repair(r, "no-break-blanks", NULL, rec->line,
                    "no-break blanks around cells were dropped");
}

/* A column that has a name and not one value. For remarks and the like that is how it should be. */
void columns_note_empty(struct reading *r)
{
    for (size_t k = 0; k < r->n_columns; k++) {
        struct column *c = &r->columns[k];
        bool any = false, rows = false;
        if (c->head.shown[0] == '\0' || (c->want != NULL && c->want->spec->dimension == DIM_TEXT))
            continue;
        for (size_t i = r->body; i < r->records.n && !any; i++)
            if (r->rows[i].kind == ROW_DATA) {
                rows = true;
                any = record_cell(&r->records.items[i], k)[0] != '\0';
            }
        c->empty = rows && !any;
        if (c->empty)
            note_repair(r, "empty-column", column_name(c), r->records.items[name_record(r)].line,
                        arena_printf(r->arena, "the column %s has a name and no value",
                                     quoted(r, c->head.shown)));
    }
}

static void list_unused(struct reading *r)
{
    struct source *s = r->source;
    s->unused = ARENA_ARRAY(r->arena, const char *, r->n_columns);
    for (size_t k = 0; k < r->n_columns && s->n_unused < LIMIT_UNUSED_LISTED; k++)
        if (r->columns[k].want == NULL && r->columns[k].head.shown[0] != '\0')
            s->unused[s->n_unused++] =
                text_harmless(r->arena, r->columns[k].head.shown, strlen(r->columns[k].head.shown));
}

static void list_preamble(struct reading *r)
{
    struct source *s = r->source;
    s->preamble = ARENA_ARRAY(r->arena, const char *, LIMIT_UNUSED_LISTED);
    for (size_t i = 0; i < r->header && s->n_preamble < LIMIT_UNUSED_LISTED; i++) {
        const struct record *rec = &r->records.items[i];
        bool comment = r->text.s[rec->from] == '#' || record_cell(rec, 0)[0] == '#';
        if (comment || (rec->fault == FAULT_NONE && record_is_empty(rec)))
            continue;
        size_t to = rec->to; /* a spreadsheet fills the row up with separators */
        while (to > rec->from && (r->text.s[to - 1] == r->separator || r->text.s[to - 1] == ' '))
            to--;
        s->preamble[s->n_preamble++] =
            text_harmless(r->arena, r->text.s + rec->from, to - rec->from);
    }
}

void columns_match(struct reading *r)
{
    read_headers(r);
    read_loosely(r);
    prefer_mapped(r);
    r->cavity_column = reading_role(r, ROLE_CAVITY);
    refuse_duplicates(r);
    refuse_cavity_headers(r);
    refuse_missing(r);
    note_names(r);
    list_unused(r);
    list_preamble(r);
    long line = r->records.items[r->header].line;
    r->source->header_line = line;
    bool wide = false;
    for (size_t k = 0; k < r->n_columns; k++)
        wide = wide || (r->columns[k].want != NULL && r->columns[k].head.cavity > 0);
    r->source->layout = r->cavity_column >= 0 ? "long (cavity column)"
                        : wide                ? "wide (a column per cavity)"
                                              : "one column";
    if (r->joined)
        note_repair(r, "header-in-two-rows", NULL, line,
                    "two rows were read together as the header: group above, name below");
    else if (record_cell(&r->records.items[r->header], 0)[0] == '#' &&
             record_cell(&r->records.items[r->header], 0)[1] != '\0')
        note_repair(r, "header-behind-hash", NULL, line,
                    "the header starts with #, as a comment does; it was read as the header");
}
