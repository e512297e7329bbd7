/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records and cells, against two other readers: libcsv's own events and the tokenizer of
 * rfc4180.c. On what all accept: the same records, on the same lines, with the same cells. What is
 * broken for one is broken for all, save the rule that a quoted cell which swallowed rows is an
 * open quote. The first byte chooses the separator and how libcsv is fed. */
#include <string.h>

#include <csv.h>

#include "fuzz.h"
#include "read/limits.h"
#include "read/records.h"
#include "rfc4180.h"

#define LONGEST 2048

struct input {
    const char *s;
    size_t n;
    char separator;
    struct arena *arena;
};

/* ---- helpers --------------------------------------------------------------------------------- */

static bool is_blank(unsigned cp)
{
    static const unsigned blanks[] = {' ', '\t', '\n', '\r', 0xA0, 0x202F, 0x205F, 0x3000};
    for (size_t i = 0; i < PL_COUNT(blanks); i++)
        if (cp == blanks[i])
            return true;
    return cp >= 0x2000 && cp <= 0x200A;
}

/* Drops the blanks of any kind at both ends of valid UTF-8. */
static void trim(const char **s, size_t *n)
{
    size_t first = *n, last = 0, size;
    for (size_t i = 0; i < *n; i += size) {
        unsigned cp = 0xFFFD;
        size = utf8_next(*s + i, *n - i, &cp);
        size = size > 0 ? size : 1;
        if (is_blank(cp))
            continue;
        first = first < i ? first : i;
        last = i + size;
    }
    *s += first < last ? first : 0;
    *n = first < last ? last - first : 0;
}

static void check_cell(const struct rfc_field *f, const struct input *in, const char *got,
                       const char *whose)
{
    char content[LONGEST];
    size_t n = rfc_content(in->s, f, content);
    const char *want = content;
    trim(&want, &n);
    FUZZ_CHECK(strlen(got) == n && memcmp(got, want, n) == 0, "%s: '%s', but the cell is '%.*s'",
               whose, got, (int)n, want);
}

/* ---- libcsv against the second tokenizer ----------------------------------------------------- */

struct events {
    const struct input *in;
    struct rfc_record record; /* the one whose cells are awaited */
    size_t field, at, to;
};

static void next_record(struct events *e)
{
    do {
        FUZZ_CHECK(e->at < e->to, "libcsv sees a record too many");
        rfc_read(e->in->s, e->to, e->at, e->in->separator, &e->record);
        e->at = e->record.next;
    } while (e->record.n == 0);
    e->field = 0;
}

static void take_cell(void *cell, size_t n, void *data)
{
    struct events *e = data;
    const char *s = cell != NULL ? cell : "";
    if (e->field == e->record.n)
        next_record(e);
    trim(&s, &n);
    check_cell(&e->record.fields[e->field++], e->in, arena_copy_n(e->in->arena, s, n), "libcsv");
}

static void take_row(int end, void *data)
{
    (void)end;
    struct events *e = data;
    FUZZ_CHECK(e->field == e->record.n, "libcsv: %zu cells, but there are %zu", e->field,
               e->record.n);
}

/* Up to the first record that is broken or a comment. */
static void check_libcsv(const struct input *in)
{
    static struct rfc_record r;
    static struct events e;
    size_t at = 0;
    bool broken = false;
    while (at < in->n && in->s[at] != '#') {
        rfc_read(in->s, in->n, at, in->separator, &r);
        broken = r.broken;
        if (broken)
            break;
        at = r.next;
    }
    struct csv_parser p;
    FUZZ_CHECK(csv_init(&p, CSV_STRICT | CSV_STRICT_FINI) == 0, "libcsv");
    csv_set_delim(&p, (unsigned char)in->separator);
    e.in = in;
    e.at = e.field = e.record.n = 0;
    e.to = at;
    FUZZ_CHECK(csv_parse(&p, in->s, at, take_cell, take_row, &e) == at &&
                   csv_fini(&p, take_cell, take_row, &e) == 0,
               "libcsv refuses the first %zu bytes", at);
    FUZZ_CHECK(e.field == e.record.n, "libcsv stopped inside a record");
    while (e.at < e.to) { /* only blank ones may be left */
        rfc_read(in->s, e.to, e.at, in->separator, &r);
        FUZZ_CHECK(r.n == 0, "libcsv sees a record too few");
        e.at = r.next;
    }
    if (broken)
        FUZZ_CHECK(csv_parse(&p, in->s + at, in->n - at, NULL, NULL, NULL) != in->n - at ||
                       csv_fini(&p, NULL, NULL, NULL) != 0,
                   "libcsv accepts what is broken at byte %zu", at);
    csv_free(&p);
}

/* ---- our reader against the second tokenizer ------------------------------------------------- */

static long lines_between(const struct input *in, size_t from, size_t to)
{
    long lines = 0;
    for (size_t i = from; i < to; i++)
        lines += in->s[i] == '\n' || (in->s[i] == '\r' && (i + 1 >= in->n || in->s[i + 1] != '\n'));
    return lines;
}

static bool swallows_rows(const struct rfc_record *r)
{
    for (size_t i = 0; i < r->n; i++)
        if (r->fields[i].line_ends > LIMIT_QUOTED_LINES)
            return true;
    return false;
}

static void check_record(const struct input *in, const struct record *our,
                         const struct rfc_record *r)
{
    FUZZ_CHECK(our->n_cells == r->n, "line %ld: %zu cells, but there are %zu", our->line,
               our->n_cells, r->n);
    FUZZ_CHECK(our->to == r->end, "line %ld: ends at %zu, not %zu", our->line, our->to, r->end);
    for (size_t i = 0; i < r->n; i++) {
        check_cell(&r->fields[i], in, record_cell(our, i), "our reader");
        struct cell_span span = record_span(in->s, our, in->separator, i);
        FUZZ_CHECK(span.from == r->fields[i].from && span.to == r->fields[i].to,
                   "line %ld: cell %zu spans %zu to %zu, not %zu to %zu", our->line, i, span.from,
                   span.to, r->fields[i].from, r->fields[i].to);
    }
}

/* Blank lines below each other are one record of ours; `r` becomes the last of them. */
static void check_blank(const struct input *in, const struct record *our, struct rfc_record *r)
{
    long lines = 1;
    static struct rfc_record next;
    while (r->next < in->n && in->s[r->next] != '#') {
        rfc_read(in->s, in->n, r->next, in->separator, &next);
        if (next.broken || next.n > 0)
            break;
        *r = next;
        lines++;
    }
    FUZZ_CHECK(our->n_cells == 0 && our->lines == lines && our->to == r->end,
               "line %ld: %ld blank lines, but there are %ld", our->line, our->lines, lines);
}

/* One record; false when the comparison ends here. */
static bool check_next(const struct input *in, const struct record *our, size_t *at, long *line,
                       size_t *broken)
{
    static struct rfc_record r;
    size_t end = in->n;
    bool comment = in->s[*at] == '#';
    if (comment)
        end = *at + strcspn(in->s + *at, "\n\r");
    rfc_read(in->s, end, *at, in->separator, &r);
    if (comment)
        r.next = end + (end < in->n) + (end + 1 < in->n && memcmp(in->s + end, "\r\n", 2) == 0);
    FUZZ_CHECK(our->line == *line && our->from == *at, "line %ld at %zu, but our reader: %ld, %zu",
               *line, *at, our->line, our->from);
    if (comment && r.broken) {
        FUZZ_CHECK(our->fault == FAULT_NONE && our->n_cells == 1 &&
                       strlen(our->cells[0]) == end - *at,
                   "line %ld: the comment is not whole", *line);
    } else if (r.broken) {
        FUZZ_CHECK(our->fault != FAULT_NONE, "line %ld: broken, but read", *line);
        FUZZ_CHECK(our->fault_at >= our->fault_start && our->fault_at <= in->n &&
                       our->fault_line >= our->line,
                   "line %ld: the fault is elsewhere", *line);
        ++*broken;
    } else if (our->fault != FAULT_NONE) {
        FUZZ_CHECK(our->fault == FAULT_OPEN_QUOTE && swallows_rows(&r),
                   "line %ld: fault %d, but it is well formed", *line, (int)our->fault);
        return false;
    } else if (r.n == 0) {
        check_blank(in, our, &r);
    } else {
        check_record(in, our, &r);
    }
    *line += lines_between(in, *at, r.next);
    *at = r.next;
    return true;
}

static void check_ours(const struct input *in, const struct records *all)
{
    size_t at = 0, broken = 0;
    long line = 1;
    for (size_t i = 0; i < all->n; i++) {
        FUZZ_CHECK(at < in->n, "a record too many");
        if (!check_next(in, &all->items[i], &at, &line, &broken))
            return;
    }
    FUZZ_CHECK(all->given_up == (broken >= LIMIT_OPEN_QUOTES && at < in->n), "given up: %d",
               (int)all->given_up);
    FUZZ_CHECK(all->given_up || at == in->n, "the reader stopped at byte %zu of %zu", at, in->n);
}

/* ---- the target ------------------------------------------------------------------------------ */

static void check_same(const struct records *x, const struct records *y)
{
    FUZZ_CHECK(x->n == y->n && x->given_up == y->given_up, "other records in other chunks");
    for (size_t i = 0; i < x->n; i++) {
        FUZZ_CHECK(x->items[i].n_cells == y->items[i].n_cells &&
                       x->items[i].fault == y->items[i].fault,
                   "another record in other chunks");
        for (size_t k = 0; k < x->items[i].n_cells; k++)
            FUZZ_CHECK(strcmp(x->items[i].cells[k], y->items[i].cells[k]) == 0,
                       "another cell in other chunks");
    }
}

void fuzz_run_cells(const char *bytes, size_t n)
{
    static const size_t chunks[] = {1, 2, 3, 7};
    unsigned choice = n > 0 ? (unsigned char)bytes[0] : 0;
    n = n > LONGEST ? LONGEST : n;
    struct arena *a = fuzz_begin();
    struct input in = {.n = n > 0 ? n - 1 : 0, .separator = ",;\t|"[choice % 4], .arena = a};
    char *s = arena_copy_n(a, n > 0 ? bytes + 1 : "", in.n);
    fuzz_make_text(s, in.n);
    in.s = s;
    struct records whole, pieces;
    struct error e = {.code = ERR_NONE};
    enum errc code = records_read(a, s, in.n, 0, 1, in.separator, 0, &whole, &e);
    FUZZ_CHECK(code == ERR_NONE, "%s", e.message);
    code = records_read(a, s, in.n, 0, 1, in.separator, chunks[choice / 4 % 4], &pieces, &e);
    FUZZ_CHECK(code == ERR_NONE, "%s", e.message);
    check_same(&whole, &pieces);
    check_ours(&in, &whole);
    check_libcsv(&in);
    fuzz_end(a);
}

/* ---- generated inputs ------------------------------------------------------------------------ */

/* Rows of cells with quotes, blanks and line ends in all the places where they matter. */
size_t fuzz_generate_cells(char *out, size_t room, uint64_t *random)
{
    static const char *const words[] = {"1",
                                        "2.5",
                                        "abc",
                                        "\"a\"",
                                        "\"a,b\"",
                                        "\"a\"\"b\"",
                                        "\"\"",
                                        " \"x\" ",
                                        "a\"b",
                                        "\"a\"b",
                                        "\"",
                                        "\"a\nb\"",
                                        "\"a\r\nb;c\"",
                                        "#",
                                        "#a\"b",
                                        " ",
                                        "",
                                        "",
                                        "\t",
                                        "\xC2\xA0",
                                        "\xC2\xB0",
                                        "\\\"",
                                        "\"\\\"a\"",
                                        "\"\n\n\n\n\""};
    static const char *const ends[] = {"\n", "\n", "\n", "\r\n", "\r", "\n\n", "\n\r", ""};
    size_t n = 0, rows = fuzz_random_below(random, 8);
    char head = (char)fuzz_random_below(random, 16);
    const char separator[] = {",;\t|"[(unsigned char)head % 4], '\0'};
    bool wild = fuzz_random_below(random, 3) == 0;
    out[n++] = head;
    for (size_t i = 0; i < rows; i++) {
        size_t cells = 1 + fuzz_random_below(random, 5);
        for (size_t k = 0; k < cells; k++) {
            const char *w = words[fuzz_random_below(random, wild ? PL_COUNT(words) : 8)];
            size_t length = strlen(w);
            if (n + length + 4 > room)
                return n;
            memcpy(out + n, w, length);
            n += length;
            if (k + 1 < cells)
                out[n++] = separator[0];
        }
        const char *end = ends[fuzz_random_below(random, PL_COUNT(ends))];
        memcpy(out + n, end, strlen(end));
        n += strlen(end);
    }
    return n;
}
