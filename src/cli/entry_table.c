/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Entry tables as `new` writes them. Semicolons with a line that says so on top open in columns
 * whatever decimal mark and list separator the spreadsheet is set to; one that does not know that
 * line guesses from the others, so each has the same number of cells and no comma outside quotes;
 * plain ASCII needs no character set. */
#include <string.h>

#include "commands.h"

#define SEPARATOR ';'
#define GUIDANCE_WIDTH 110

static const struct column_spec *spec_of(const struct study *s, const char *header, size_t n)
{
    for (size_t i = 0; i < s->n_columns; i++) {
        size_t length = strlen(s->columns[i].name);
        bool fits = n >= length && strncmp(s->columns[i].name, header, length) == 0;
        if (fits && (n == length || header[length] == ' '))
            return &s->columns[i];
    }
    for (size_t length = n; length > 0; length--)
        if (length == n || header[length] == ' ') {
            char name[32];
            if (length >= sizeof name)
                continue;
            memcpy(name, header, length);
            name[length] = '\0';
            if (read_common_column(name) != NULL)
                return read_common_column(name);
        }
    return NULL;
}

void entry_table_begin(struct text *t)
{
    text_addf(t, "sep=%c\n", SEPARATOR);
}

/* A separator inside a guidance line would break it over two cells. */
void entry_table_guidance(struct text *t, const char *sentence)
{
    struct text wrapped;
    text_init(&wrapped, t->arena);
    text_add_wrapped(&wrapped, sentence, 2, 0, GUIDANCE_WIDTH);
    const char *lead = "# ";
    for (const char *p = wrapped.s; *p != '\0'; p++) {
        text_add(t, lead);
        text_add_char(t, *p == SEPARATOR ? ',' : *p);
        lead = *p == '\n' ? "# " : "";
    }
}

static void add_purpose(struct text *t, const struct column_spec *c)
{
    entry_table_guidance(t, arena_printf(t->arena, "%s: %s%s", c->name, c->purpose,
                                         c->flags & COLUMN_REQUIRED ? " (needed)" : ""));
}

/* The header line of the built-in table: the first that is no guidance. */
static const char *header_of(const struct study *s)
{
    const char *p = s->entry_table;
    while (*p == '#') {
        p = strchr(p, '\n');
        if (p == NULL)
            return "";
        p++;
    }
    return p;
}

/* One line for all cavities. */
static void add_columns(struct text *t, const struct study *s)
{
    const struct column_spec *last = NULL;
    text_add(t, "# The columns:\n");
    for (const char *p = header_of(s); *p != '\0' && *p != '\n';) {
        size_t n = strcspn(p, ";\n");
        const struct column_spec *c = spec_of(s, p, n);
        if (c != NULL && c != last)
            add_purpose(t, c);
        last = c;
        p += n + (p[n] == SEPARATOR);
    }
}

const char *entry_table_text(struct arena *a, const struct study *s)
{
    struct text t;
    text_init(&t, a);
    const char *header = header_of(s);
    entry_table_begin(&t);
    text_addf(&t, "%.*s", (int)(header - s->entry_table), s->entry_table);
    add_columns(&t, s);
    text_add(&t, header);
    return t.s;
}

/* ---- rows of a short trial ------------------------------------------------------------------ */

static bool is_per_cavity(const struct study *s, const char *header, size_t n)
{
    const struct column_spec *c = spec_of(s, header, n);
    return c != NULL && (c->flags & COLUMN_PER_CAVITY) != 0;
}

/* The header, or the units under it, with a column for each cavity where there are several. */
static void add_head_line(struct text *t, const struct entry_rows *r, const char *line,
                          bool numbered)
{
    bool first = true;
    for (const char *head = header_of(r->study), *p = line; *head != '\0' && *head != '\n';) {
        size_t n = strcspn(p, ";\n"), in_head = strcspn(head, ";\n");
        bool each = r->cavities > 1 && is_per_cavity(r->study, head, in_head);
        for (size_t i = 1; i <= (each ? r->cavities : 1); i++) {
            if (!first)
                text_add_char(t, SEPARATOR);
            first = false;
            text_add_n(t, p, n);
            if (each && numbered)
                text_addf(t, " c%zu", i);
        }
        p += n + (p[n] == SEPARATOR);
        head += in_head + (head[in_head] == SEPARATOR);
    }
    text_add_char(t, '\n');
}

void entry_table_head(struct text *t, const struct entry_rows *r)
{
    const char *header = header_of(r->study);
    add_columns(t, r->study);
    add_head_line(t, r, header, true);
    const char *units = header + strcspn(header, "\n");
    add_head_line(t, r, units + (*units == '\n'), false);
}

static const char *cell_of(const struct entry_cell *cells, size_t n_cells, const char *name,
                           size_t n)
{
    for (size_t i = 0; i < n_cells; i++)
        if (strlen(cells[i].column) == n && strncmp(name, cells[i].column, n) == 0)
            return cells[i].text;
    return NULL;
}

void entry_table_row(struct text *t, const struct entry_rows *r, const struct entry_cell *cells,
                     size_t n_cells)
{
    bool first = true;
    for (const char *p = header_of(r->study); *p != '\0' && *p != '\n';) {
        size_t n = strcspn(p, ";\n");
        size_t times = r->cavities > 1 && is_per_cavity(r->study, p, n) ? r->cavities : 1;
        for (size_t i = first ? 1 : 0; i < times; i++)
            text_add_char(t, SEPARATOR);
        first = false;
        const char *text = cell_of(cells, n_cells, p, n);
        if (text != NULL)
            text_add(t, text);
        p += n + (p[n] == SEPARATOR);
    }
    text_add_char(t, '\n');
}

/* ---- rows of one width ---------------------------------------------------------------------- */

static size_t count_separators(const char *s, size_t n)
{
    size_t found = 0;
    for (size_t i = 0; i < n; i++)
        found += s[i] == SEPARATOR;
    return found;
}

static void add_quoted(struct text *t, const char *s, size_t n)
{
    text_add_char(t, '"');
    for (size_t i = 0; i < n; i++) {
        if (s[i] == '"')
            text_add_char(t, '"');
        text_add_char(t, s[i]);
    }
    text_add_char(t, '"');
}

const char *entry_table_rectangle(struct arena *a, const char *table)
{
    struct text t;
    text_init(&t, a);
    size_t width = 0, n;
    for (const char *p = table; *p != '\0'; p += n + (p[n] == '\n')) {
        n = strcspn(p, "\n");
        if (*p != '#' && p != table && width == 0)
            width = count_separators(p, n); /* the header, behind `sep=` */
    }
    for (const char *p = table; *p != '\0'; p += n + (p[n] == '\n')) {
        n = strcspn(p, "\n");
        if (*p != '#')
            text_add_n(&t, p, n);
        else if (memchr(p, ',', n) != NULL || memchr(p, '"', n) != NULL)
            add_quoted(&t, p, n);
        else
            text_add_n(&t, p, n);
        for (size_t i = 0; *p == '#' && i < width; i++)
            text_add_char(&t, SEPARATOR);
        text_add_char(&t, '\n');
    }
    return t.s;
}
