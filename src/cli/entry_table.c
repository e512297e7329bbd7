/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Entry tables as `new` writes them. Semicolons with a line that says so on top open in columns
 * whatever decimal mark and list separator the spreadsheet is set to; plain ASCII needs no
 * character set. */
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

void entry_table_columns(struct text *t, const struct study *s)
{
    const struct column_spec *last = NULL;
    text_add(t, "# The columns:\n");
    for (const char *p = header_of(s); *p != '\0' && *p != '\n';) {
        size_t n = strcspn(p, ";\n");
        const struct column_spec *c = spec_of(s, p, n);
        if (c != NULL && c != last) /* one line for all cavities */
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
    entry_table_columns(&t, s);
    text_add(&t, header);
    return t.s;
}

/* ---- rows of a short trial ------------------------------------------------------------------ */

static void add_line(struct text *t, const char *from)
{
    text_addf(t, "%.*s\n", (int)strcspn(from, "\n"), from);
}

void entry_table_head(struct text *t, const struct study *s)
{
    const char *header = header_of(s);
    add_line(t, header);
    const char *units = header + strcspn(header, "\n");
    add_line(t, units + (*units == '\n'));
}

/* `value` stands in the column of the varied setting, `shot` in the first. */
void entry_table_row(struct text *t, const struct study *s, int shot, const char *value)
{
    size_t column = 0;
    for (const char *p = header_of(s); *p != '\0' && *p != '\n'; column++) {
        size_t n = strcspn(p, ";\n");
        if (column > 0)
            text_add_char(t, SEPARATOR);
        if (n == strlen("shot") && strncmp(p, "shot", n) == 0)
            text_addf(t, "%d", shot);
        else if (n == strlen(s->setting) && strncmp(p, s->setting, n) == 0)
            text_add(t, value);
        p += n + (p[n] == SEPARATOR);
    }
    text_add_char(t, '\n');
}
