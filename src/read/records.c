/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include <csv.h>

#include "limits.h"
#include "records.h"
#include "text_decode.h"

/* ---- where a record ends ------------------------------------------------------------------------
 */

struct scanner {
    const char *s;
    size_t n;
    char separator;
    size_t widest; /* most cells of a record so far: what a swallowed row looks like */
};

static bool is_end(const struct scanner *c, size_t i)
{
    return i >= c->n || c->s[i] == '\n' || c->s[i] == '\r';
}

static bool is_space(const struct scanner *c, size_t i)
{
    return i < c->n && (c->s[i] == ' ' || c->s[i] == '\t') && c->s[i] != c->separator;
}

static void fault(struct record *r, enum record_fault f, size_t at, long line, size_t start)
{
    if (r->fault != FAULT_NONE)
        return;
    r->fault = f;
    r->fault_at = at;
    r->fault_line = line;
    r->fault_start = start;
}

/* Where the scan stands: byte, physical line, start of that line. */
struct spot {
    size_t i, start;
    long line;
};

static void step_over_line_end(const struct scanner *c, struct spot *p)
{
    bool pair = c->s[p->i] == '\r' && p->i + 1 < c->n && c->s[p->i + 1] == '\n';
    p->i += pair ? 2 : 1;
    p->start = p->i;
    p->line++;
}

/* From the opening quote to behind the closing one. False with a fault. */
static bool scan_quoted(const struct scanner *c, struct spot *p, struct record *r)
{
    const struct spot open = *p;
    size_t separators = 0;
    long rows = 0; /* lines inside that look like rows of this file */
    for (p->i++; p->i < c->n;) {
        char ch = c->s[p->i];
        if (p->i - open.i >= LIMIT_CELL_BYTES) {
            fault(r, FAULT_CELL_TOO_LONG, open.i, open.line, open.start);
            return false;
        }
        if (ch == '"' && p->i + 1 < c->n && c->s[p->i + 1] == '"') {
            p->i += 2;
        } else if (ch == '"') {
            p->i++;
            return true;
        } else if (ch == '\n' || ch == '\r') {
            rows += c->widest > 1 && separators + 1 >= c->widest;
            separators = 0;
            if (rows > LIMIT_QUOTED_LINES)
                break;
            step_over_line_end(c, p);
        } else {
            separators += ch == c->separator;
            p->i++;
        }
    }
    fault(r, FAULT_OPEN_QUOTE, open.i, open.line, open.start);
    return false;
}

/* One cell; p->i stands at the separator or line end behind it. False with a fault. */
static bool scan_cell(const struct scanner *c, struct spot *p, struct record *r)
{
    struct spot from = *p;
    while (is_space(c, p->i))
        p->i++;
    if (p->i < c->n && c->s[p->i] == '"') {
        struct spot open = *p;
        if (!scan_quoted(c, p, r))
            return false;
        while (is_space(c, p->i))
            p->i++;
        if (is_end(c, p->i) || c->s[p->i] == c->separator)
            return true;
        if (p->line > open.line) /* the quote that closed it was meant to open another cell */
            fault(r, FAULT_OPEN_QUOTE, open.i, open.line, open.start);
        else if (p->i >= 2 && c->s[p->i - 2] == '\\')
            fault(r, FAULT_BACKSLASH_QUOTE, p->i - 2, p->line, p->start);
        else
            fault(r, FAULT_TEXT_AFTER_QUOTE, p->i, p->line, p->start);
        return false;
    }
    for (; !is_end(c, p->i) && c->s[p->i] != c->separator; p->i++) {
        if (c->s[p->i] == '"') {
            fault(r, FAULT_STRAY_QUOTE, p->i, p->line, p->start);
            return false;
        }
        if (p->i - from.i >= LIMIT_CELL_BYTES) {
            fault(r, FAULT_CELL_TOO_LONG, from.i, from.line, from.start);
            return false;
        }
    }
    return true;
}

/* Counts cells up to the record's end. */
static void scan_record(const struct scanner *c, struct spot *p, struct record *r)
{
    struct spot begin = *p;
    size_t j = p->i;
    while (is_space(c, j))
        j++;
    r->n_cells = 0;
    if (is_end(c, j)) { /* blank */
        p->i = r->to = j;
        return;
    }
    for (;;) {
        if (!scan_cell(c, p, r))
            break;
        if (++r->n_cells > LIMIT_ROW_CELLS) {
            fault(r, FAULT_ROW_TOO_LONG, begin.i, begin.line, begin.start);
            break;
        }
        if (is_end(c, p->i)) {
            r->to = p->i;
            return;
        }
        p->i++;
    }
    /* broken: take the physical line alone and go on behind it, so that what is wrong further down
     * is found too */
    size_t next;
    *p = begin;
    p->i = r->to = text_line_end(c->s, c->n, begin.i, &next);
    r->n_cells = 0;
}

/* ---- cells -------------------------------------------------------------------------------------
 */

struct feed {
    struct arena *arena;
    struct csv_parser parser;
    size_t chunk;
    char *buffer; /* room for the cells of one record and their NULs */
    size_t used, size;
    const char **cells;
    size_t n, capacity;
    bool odd_blanks;
};

/* Blanks that libcsv leaves: no-break and other Unicode spaces at both ends. */
static size_t blank_at(const char *s, size_t n)
{
    unsigned cp = 0;
    size_t size = utf8_next(s, n, &cp);
    bool blank = cp == ' ' || cp == '\t' || cp == '\n' || cp == '\r' || cp == 0xA0 ||
                 (cp >= 0x2000 && cp <= 0x200A) || cp == 0x202F || cp == 0x205F || cp == 0x3000;
    return size > 0 && blank ? size : 0;
}

static void trim(const char **s, size_t *n, bool *odd)
{
    for (size_t k; (k = blank_at(*s, *n)) > 0;) {
        *odd = *odd || k > 1;
        *s += k;
        *n -= k;
    }
    while (*n > 0) {
        size_t k = 1;
        while (k < 4 && k < *n && ((unsigned char)(*s)[*n - k] & 0xC0) == 0x80)
            k++;
        if (blank_at(*s + *n - k, k) != k)
            return;
        *odd = *odd || k > 1;
        *n -= k;
    }
}

static void take_cell(void *field, size_t n, void *data)
{
    struct feed *f = data;
    const char *s = field != NULL ? field : "";
    trim(&s, &n, &f->odd_blanks);
    if (f->n >= f->capacity || f->used + n + 1 > f->size) {
        f->n = f->capacity + 1; /* more than the scanner saw: told by the caller */
        return;
    }
    memcpy(f->buffer + f->used, s, n);
    f->cells[f->n++] = f->buffer + f->used;
    f->used += n + 1;
}

static enum errc feed_record(struct feed *f, const char *s, struct record *r, struct error *e)
{
    size_t length = r->to - r->from;
    f->size = length + r->n_cells + 1;
    f->buffer = arena_alloc(f->arena, f->size);
    f->cells = ARENA_ARRAY(f->arena, const char *, r->n_cells);
    f->used = f->n = 0;
    f->odd_blanks = false;
    f->capacity = r->n_cells;
    size_t chunk = f->chunk > 0 ? f->chunk : length;
    for (size_t done = 0; done < length;) {
        size_t n = length - done < chunk ? length - done : chunk;
        if (csv_parse(&f->parser, s + r->from + done, n, take_cell, NULL, f) != n)
            return ERR_SET(e, ERR_INTERNAL, "line %ld: %s", r->line,
                           csv_strerror(csv_error(&f->parser)));
        done += n;
    }
    if (csv_fini(&f->parser, take_cell, NULL, f) != 0)
        return ERR_SET(e, ERR_INTERNAL, "line %ld: %s", r->line,
                       csv_strerror(csv_error(&f->parser)));
    if (f->n != r->n_cells)
        return ERR_SET(e, ERR_INTERNAL, "line %ld: %zu cells were seen, %zu read", r->line,
                       r->n_cells, f->n);
    r->cells = f->cells;
    r->odd_blanks = f->odd_blanks;
    return ERR_NONE;
}

/* A comment may hold any quotes: its line is kept whole where its cells cannot be read. */
static void take_comment(struct feed *f, const char *s, struct record *r)
{
    r->fault = FAULT_NONE;
    r->cells = ARENA_ARRAY(f->arena, const char *, 1);
    r->cells[0] = arena_copy_n(f->arena, s + r->from, r->to - r->from);
    r->n_cells = 1;
}

static bool is_blank_record(const struct record *r)
{
    return r->n_cells == 0 && r->fault == FAULT_NONE;
}

/* A file may hold millions of blank lines: those below each other are one record. */
static void keep_record(struct feed *f, struct records *out, struct record *r)
{
    struct record *above = out->n > 0 ? &out->items[out->n - 1] : NULL;
    r->row = 1;
    if (above != NULL)
        r->row = above->row + (is_blank_record(above) ? above->lines : 1);
    if (above != NULL && is_blank_record(above) && is_blank_record(r)) {
        above->to = r->to;
        above->lines += r->lines;
        return;
    }
    *ARENA_PUSH(f->arena, out->items, out->n, out->capacity) = *r;
}

static enum errc read_all(struct feed *f, struct scanner *c, struct spot p, struct records *out,
                          struct error *e)
{
    size_t broken = 0;
    while (p.i < c->n) {
        struct record r = {.line = p.line, .start = p.i, .from = p.i};
        p.start = p.i;
        struct scanner one_line = *c;
        bool comment = c->s[p.i] == '#';
        if (comment)
            text_line_end(c->s, c->n, p.i, &one_line.n);
        scan_record(comment ? &one_line : c, &p, &r);
        r.lines = p.line - r.line + 1;
        if (comment && r.fault != FAULT_NONE)
            take_comment(f, c->s, &r);
        else if (r.n_cells > 0)
            TRY(feed_record(f, c->s, &r, e));
        if (r.n_cells > c->widest && !comment)
            c->widest = r.n_cells;
        if (p.i < c->n)
            step_over_line_end(c, &p);
        keep_record(f, out, &r);
        if (out->n >= LIMIT_RECORDS && p.i < c->n) {
            out->too_many = true;
            return ERR_NONE;
        }
        if (r.fault != FAULT_NONE && ++broken >= LIMIT_OPEN_QUOTES) {
            out->given_up = p.i < c->n;
            return ERR_NONE;
        }
    }
    return ERR_NONE;
}

enum errc records_read(struct arena *a, const char *text, size_t length, size_t from, long line,
                       char separator, size_t chunk, struct records *out, struct error *e)
{
    *out = (struct records){.n = 0};
    struct feed f = {.arena = a, .chunk = chunk};
    if (csv_init(&f.parser, CSV_STRICT | CSV_STRICT_FINI) != 0)
        return ERR_SET(e, ERR_INTERNAL, "the CSV parser could not be set up");
    csv_set_delim(&f.parser, (unsigned char)separator);
    struct scanner c = {text, length, separator, 0};
    enum errc code = read_all(&f, &c, (struct spot){from, from, line}, out, e);
    csv_free(&f.parser);
    return code;
}

/* ---- questions ---------------------------------------------------------------------------------
 */

struct cell_span record_span(const char *text, const struct record *r, char separator, size_t k)
{
    struct scanner c = {text, r->to, separator, 0};
    struct record ignored = {.line = 0};
    struct spot p = {r->from, r->start, r->line};
    struct cell_span span;
    for (size_t i = 0;; i++) {
        while (is_space(&c, p.i))
            p.i++;
        span = (struct cell_span){p.i, p.i, p.start, p.line};
        if (!scan_cell(&c, &p, &ignored) || i == k || p.i >= c.n || is_end(&c, p.i))
            break;
        p.i++;
    }
    span.to = p.i > span.from ? p.i : span.from;
    while (span.to > span.from && (text[span.to - 1] == ' ' || text[span.to - 1] == '\t'))
        span.to--;
    return span;
}

const char *record_cell(const struct record *r, size_t k)
{
    return k < r->n_cells ? r->cells[k] : "";
}

bool record_is_empty(const struct record *r)
{
    for (size_t i = 0; i < r->n_cells; i++)
        if (r->cells[i][0] != '\0')
            return false;
    return true;
}
