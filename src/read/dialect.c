/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The separator is found by exclusion over the whole file and never by counting which character is
 * the most frequent: decimal commas outnumber separators in half of the world's files. A candidate
 * stays when some row holds the names of all needed columns, no later row has more cells than that
 * one, and at least one row has readings in all needed columns. */
#include <string.h>

#include "limits.h"
#include "reading.h"

struct candidate {
    char separator;
    const char *word;
    size_t header; /* record, or NO_RECORD */
    bool joined;
    size_t required, known; /* names of needed and of any of our columns in it */
    bool overlong, has_reading;
    bool transposed; /* no header, but our names below each other in the first column */
};

static const struct candidate candidates[] = {{.separator = ',', .word = "comma"},
                                              {.separator = ';', .word = "semicolon"},
                                              {.separator = '\t', .word = "tab"},
                                              {.separator = '|', .word = "bar"}};

const char *reading_files_fact(const struct reading *r, const char *key)
{
    const char *own = arena_printf(r->arena, "%s.%s", r->study->name, key);
    const char *s = facts_text(r->facts, "files", own);
    return s != NULL ? s : facts_text(r->facts, "files", key);
}

/* ---- the header row ------------------------------------------------------------------------- */

const char *reading_header_cell(const struct reading *r, size_t header, bool joined, size_t k)
{
    const struct record *rec = &r->records.items[header];
    const char *name = record_cell(rec, k);
    if (!joined)
        return name[0] == '#' && k == 0 && name[1] != '\0' ? name + 1 : name;
    size_t g =
        k < rec->n_cells ? k : rec->n_cells - 1; /* a merged cell stands in its first column */
    while (g > 0 && record_cell(rec, g)[0] == '\0')
        g--;
    name = record_cell(&r->records.items[header + 1], k);
    return arena_printf(r->arena, "%s %s", record_cell(rec, g), name);
}

size_t reading_header_width(const struct reading *r, size_t header, bool joined)
{
    size_t n = r->records.items[header].n_cells;
    if (joined && r->records.items[header + 1].n_cells > n)
        n = r->records.items[header + 1].n_cells;
    return n;
}

/* Which columns of ours the row names; column[k] gets the want's index or -1 where not NULL. */
static void count_names(struct reading *r, size_t header, bool joined, struct candidate *c,
                        int *column)
{
    bool *seen = ARENA_ARRAY(r->arena, bool, r->wants.n);
    size_t width = reading_header_width(r, header, joined);
    c->required = c->known = 0;
    for (size_t k = 0; k < width; k++) {
        struct header_name h;
        struct arena_mark mark = arena_mark(r->arena);
        header_read(r->arena, &r->wants, reading_header_cell(r, header, joined, k), true, &h);
        size_t want = h.want != NULL ? (size_t)(h.want - r->wants.items) : 0;
        bool ours = h.want != NULL;
        arena_reset(r->arena, mark);
        if (column != NULL)
            column[k] = ours ? (int)want : -1;
        if (!ours || seen[want])
            continue;
        seen[want] = true;
        c->known++;
        c->required += (r->wants.items[want].spec->flags & COLUMN_REQUIRED) != 0;
    }
    c->header = header;
    c->joined = joined;
}

size_t reading_count_required(struct reading *r)
{
    struct candidate c;
    count_names(r, r->header, r->joined, &c, NULL);
    return c.required;
}

static bool may_be_header(const struct reading *r, size_t i, bool joined, bool comments)
{
    const struct record *rec = &r->records.items[i];
    if (rec->n_cells == 0 || rec->fault != FAULT_NONE)
        return false;
    if ((record_cell(rec, 0)[0] == '#') != comments)
        return false;
    return !joined || (i + 1 < r->records.n && r->records.items[i + 1].n_cells > 1 &&
                       r->records.items[i + 1].fault == FAULT_NONE && rec->n_cells > 1);
}

/* The first row with all needed names; else the one with the most names of ours. */
static void find_header(struct reading *r, struct candidate *c)
{
    struct candidate best = *c;
    best.header = NO_RECORD;
    best.known = best.required = 0;
    for (int turn = 0; turn < 3; turn++) { /* plain rows, two rows joined, rows that start with # */
        size_t tried = 0;
        for (size_t i = 0; i < r->records.n && tried < LIMIT_HEADER_ROWS; i++) {
            if (!may_be_header(r, i, turn == 1, turn == 2))
                continue;
            tried++;
            struct arena_mark mark = arena_mark(r->arena);
            count_names(r, i, turn == 1, c, NULL);
            arena_reset(r->arena, mark);
            if (c->required == r->wants.n_required && c->known > 0)
                return;
            bool wider = best.header != NO_RECORD && c->known == best.known &&
                         r->records.items[i].n_cells > r->records.items[best.header].n_cells;
            if ((c->known > best.known || (c->known > 0 && wider)) && turn != 1)
                best = *c;
        }
    }
    *c = best;
}

/* ---- one candidate -------------------------------------------------------------------------- */

static bool row_has_readings(const struct reading *r, const struct record *rec, const int *column,
                             size_t width, bool *seen)
{
    size_t n = 0;
    memset(seen, 0, r->wants.n * sizeof *seen);
    for (size_t k = 0; k < width; k++) {
        if (column[k] < 0 || seen[column[k]])
            continue;
        const struct column_spec *spec = r->wants.items[column[k]].spec;
        const char *s = record_cell(rec, k);
        if (!(spec->flags & COLUMN_REQUIRED) || s[0] == '\0')
            continue;
        if (spec->dimension == DIM_TEXT || cell_is_number(s)) {
            seen[column[k]] = true;
            n++;
        }
    }
    return n == r->wants.n_required;
}

static void judge_rows(struct reading *r, struct candidate *c)
{
    size_t width = reading_header_width(r, c->header, c->joined);
    int *column = ARENA_ARRAY(r->arena, int, width);
    bool *seen = ARENA_ARRAY(r->arena, bool, r->wants.n);
    count_names(r, c->header, c->joined, c, column);
    for (size_t i = c->header + (c->joined ? 2 : 1); i < r->records.n; i++) {
        const struct record *rec = &r->records.items[i];
        if (rec->n_cells == 0 || record_cell(rec, 0)[0] == '#')
            continue;
        for (size_t k = width; k < rec->n_cells; k++)
            c->overlong = c->overlong || rec->cells[k][0] != '\0';
        c->has_reading = c->has_reading || row_has_readings(r, rec, column, width, seen);
    }
}

static bool try_candidate(struct reading *r, size_t from, long line, struct candidate *c,
                          struct error *e, enum errc *code)
{
    *code = records_read(r->arena, r->text.s, r->text.length, from, line, c->separator, 0,
                         &r->records, e);
    if (*code != ERR_NONE)
        return false;
    c->header = NO_RECORD;
    find_header(r, c);
    if (c->header != NO_RECORD)
        judge_rows(r, c);
    c->transposed = c->required < r->wants.n_required && reading_is_transposed(r);
    return true;
}

/* ---- the choice ----------------------------------------------------------------------------- */

static bool is_whole(const struct reading *r, const struct candidate *c)
{
    return c->header != NO_RECORD && c->required == r->wants.n_required;
}

static size_t keep(struct candidate *c, size_t n, const struct reading *r, int stage)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        bool stays =
            is_whole(r, &c[i]) && (stage > 1 || !c[i].overlong) && (stage > 0 || c[i].has_reading);
        if (stays)
            c[kept++] = c[i];
    }
    return kept;
}

static void refuse_tie(struct reading *r, const struct candidate *c, size_t n)
{
    struct text t;
    text_init(&t, r->arena);
    for (size_t i = 0; i < n; i++)
        text_addf(&t, "%s%s", i == 0 ? "" : i + 1 == n ? " and " : ", ", c[i].word);
    struct complaint x = {
        DIAG_ERROR,
        "separator-undecided",
        NULL,
        arena_printf(r->arena, "the cells could be separated by %s: both give a table", t.s),
        "one separator that fits",
        "Name it under [files] in trial.ini (separator = semicolon), or put `sep=;` on the first "
        "line."};
    complain_file(r, &x);
}

/* Picks among n tried candidates; false after a tie. */
static bool choose(struct reading *r, struct candidate *c, size_t n, struct candidate *out)
{
    for (int stage = 0; stage < 3; stage++) {
        struct candidate left[PL_COUNT(candidates)];
        memcpy(left, c, n * sizeof *c);
        size_t kept = keep(left, n, r, stage);
        if (kept == 1) {
            *out = left[0];
            return true;
        }
        if (kept > 1) {
            refuse_tie(r, left, kept);
            return false;
        }
    }
    /* no table in any reading: take the one to tell about */
    *out = c[0];
    for (size_t i = 1; i < n; i++)
        if (c[i].transposed > out->transposed ||
            (c[i].transposed == out->transposed && c[i].known > out->known))
            *out = c[i];
    return true;
}

/* `sep=;`, in quotes or not, on the first line. A spreadsheet that follows it drops it, and its
 * first row is the line below; one that wrote quotes or empty cells keeps it as a row. */
static char separator_line(const struct reading *r, size_t *next, bool *kept)
{
    size_t end = text_line_end(r->text.s, r->text.length, 0, next), i = 0;
    const char *s = r->text.s;
    bool quote = end > 0 && s[0] == '"';
    i += quote;
    if (end < i + 5 || (s[i] | 32) != 's' || (s[i + 1] | 32) != 'e' || (s[i + 2] | 32) != 'p' ||
        s[i + 3] != '=')
        return '\0';
    char separator = s[i + 4];
    *kept = quote || end > i + 5;
    i += 5;
    i += quote && i < end && s[i] == '"';
    /* A spreadsheet adds empty cells. One that does not know the line keeps it as a cell and writes
     * its own separator behind it, here and in all rows below. */
    if (i < end && s[i] != separator && strchr(",;\t|", s[i]) != NULL)
        separator = s[i];
    while (i < end && strchr(",;\t| ", s[i]) != NULL)
        i++;
    return i == end && strchr(",;\t|", separator) != NULL ? separator : '\0';
}

static const struct candidate *candidate_find(char separator, const char *word)
{
    for (size_t i = 0; i < PL_COUNT(candidates); i++)
        if (word != NULL ? strcmp(candidates[i].word, word) == 0
                         : candidates[i].separator == separator)
            return &candidates[i];
    return NULL;
}

/* The candidates that are left before looking at rows. */
static size_t list_candidates(struct reading *r, struct candidate *out, size_t *from, long *line)
{
    size_t next = 0, n = 0;
    bool kept = false;
    char given = separator_line(r, &next, &kept);
    const char *word = reading_files_fact(r, "separator");
    *from = 0;
    *line = 1;
    if (given != '\0') {
        *from = next;
        *line = 2;
        r->rows_above = kept;
        note_repair(r, "separator-line", NULL, 1,
                    "the first line says what stands between the cells");
    }
    const struct candidate *fixed = word != NULL    ? candidate_find('\0', word)
                                    : given != '\0' ? candidate_find(given, NULL)
                                                    : NULL;
    if (fixed != NULL) {
        out[0] = *fixed;
        return 1;
    }
    for (size_t i = 0; i < PL_COUNT(candidates); i++)
        if (memchr(r->text.s + *from, candidates[i].separator, r->text.length - *from) != NULL)
            out[n++] = candidates[i];
    if (n == 0)
        out[n++] = candidates[0]; /* one column: nothing to separate */
    return n;
}

bool dialect_choose(struct reading *r, struct error *e, enum errc *code)
{
    struct candidate c[PL_COUNT(candidates)], best;
    size_t from;
    long line;
    size_t n = list_candidates(r, c, &from, &line);
    char last = c[n - 1].separator;
    struct arena_mark mark = arena_mark(r->arena);
    for (size_t i = 0; i < n; i++) {
        arena_reset(r->arena, mark);
        if (!try_candidate(r, from, line, &c[i], e, code))
            return false;
    }
    if (!choose(r, c, n, &best))
        return false;
    r->separator = best.separator;
    r->source->separator = best.word;
    r->header = best.header;
    r->joined = best.header != NO_RECORD && best.joined;
    if (best.separator == last) /* its records are there still */
        return true;
    arena_reset(r->arena, mark);
    *code = records_read(r->arena, r->text.s, r->text.length, from, line, r->separator, 0,
                         &r->records, e);
    return *code == ERR_NONE;
}
