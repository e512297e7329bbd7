/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How each file was read: nothing is changed, assumed or left out silently. */
#include <string.h>

#include "report/layout.h"

#define UNREAD_NAMED 20 /* the record names all */

#define ROWS_LISTED 10
#define TEXTS_LISTED 10

struct sheet {
    struct text *out;
    struct arena *arena;
    int width;
    bool color;
    const struct facts *facts;
};

static void paragraph(struct sheet *g, const char *s)
{
    layout_paragraph(g->out, s, g->width, 2, 4);
}

static void add_part(struct text *t, const char *label, const char *s)
{
    if (s != NULL && *s != '\0')
        text_addf(t, "%s%s%s", t->length > 0 ? ", " : "", label, layout_safe(t->arena, s));
}

static void how(struct sheet *g, const struct premises_file *f)
{
    struct text t;
    text_init(&t, g->arena);
    add_part(&t, "", f->encoding);
    add_part(&t, "separator ", f->separator);
    add_part(&t, "decimal mark ", f->decimal);
    add_part(&t, "", f->layout);
    if (f->header_line > 0)
        text_addf(&t, "%sheader in line %ld", t.length > 0 ? ", " : "", f->header_line);
    if (f->units_line > 0)
        text_addf(&t, ", units in line %ld", f->units_line);
    paragraph(g, t.s);
    if (f->units != NULL && *f->units != '\0')
        paragraph(g, arena_printf(g->arena, "units: %s", layout_safe(g->arena, f->units)));
}

static void rows(struct sheet *g, const struct premises_file *f)
{
    if (*f->study == '\0')
        return;
    if (f->refused)
        paragraph(g, arena_printf(g->arena, "%zu row%s read, none analyzed because of the errors",
                                  f->rows_read, f->rows_read == 1 ? "" : "s"));
    else
        paragraph(g, arena_printf(g->arena, "%zu row%s read, %zu kept, %zu left out", f->rows_read,
                                  f->rows_read == 1 ? "" : "s", f->rows_used, f->rows_left_out));
}

static void texts(struct sheet *g, const char *label, const char *const *items, size_t n)
{
    if (n == 0)
        return;
    struct text t;
    text_init(&t, g->arena);
    text_add(&t, label);
    for (size_t i = 0; i < n && i < TEXTS_LISTED; i++)
        text_addf(&t, "%s\"%s\"", i > 0 ? ", " : "", layout_safe(g->arena, items[i]));
    if (n > TEXTS_LISTED)
        text_addf(&t, " and %zu more", n - TEXTS_LISTED);
    paragraph(g, t.s);
}

static void one_repair(struct sheet *g, const struct premises_repair *r)
{
    struct text t;
    text_init(&t, g->arena);
    text_add(&t, layout_safe(g->arena, r->text));
    if (r->column != NULL && *r->column != '\0')
        text_addf(&t, ", column %s", layout_safe(g->arena, r->column));
    if (r->count > 1)
        text_addf(&t, ", %zu times", r->count);
    size_t listed = 0;
    while (listed < PL_COUNT(r->lines) && r->lines[listed] > 0)
        listed++;
    for (size_t i = 0; i < listed; i++)
        text_addf(&t, "%s%ld", i == 0 ? (listed == 1 ? " (line " : " (lines ") : ", ", r->lines[i]);
    if (listed > 0)
        text_add(&t, r->count > listed ? ", ...)" : ")");
    text_addf(&t, " [%s]", layout_safe(g->arena, r->code));
    layout_paragraph(g->out, t.s, g->width, 4, 6);
}

static void repairs(struct sheet *g, const struct premises_file *f)
{
    if (f->n_repairs == 0)
        return;
    paragraph(g, "changed or assumed to read it:");
    for (size_t i = 0; i < f->n_repairs; i++)
        one_repair(g, &f->repairs[i]);
}

static bool is_listed(const struct premises_file *f, long line)
{
    for (size_t i = 0; i < f->n_excluded; i++)
        if (f->excluded[i].line == line)
            return true;
    return false;
}

/* Rows one below the other that were left out for one reason are one line of the answer. */
struct left_rows {
    long first, last;
    const char *reason;
    size_t listed, n;
};

static void say_rows(struct sheet *g, struct left_rows *l)
{
    if (l->first > 0 && l->listed < ROWS_LISTED) {
        const char *lines = l->first == l->last
                                ? arena_printf(g->arena, "line %ld", l->first)
                                : arena_printf(g->arena, "lines %ld to %ld", l->first, l->last);
        layout_paragraph(g->out, arena_printf(g->arena, "%s: %s", lines, l->reason), g->width, 4,
                         6);
        l->listed++;
        l->n = 0;
    }
    l->first = 0;
}

static void add_row(struct sheet *g, struct left_rows *l, long line, const char *reason)
{
    reason = reason == NULL || *reason == '\0' ? "no reason given" : layout_safe(g->arena, reason);
    if (l->first > 0 && line == l->last + 1 && strcmp(reason, l->reason) == 0) {
        l->last = line;
    } else {
        say_rows(g, l);
        l->first = l->last = line;
        l->reason = reason;
    }
    l->n++;
}

static void end_rows(struct sheet *g, struct left_rows *l)
{
    say_rows(g, l);
    if (l->n > 0)
        layout_paragraph(g->out, arena_printf(g->arena, "and %zu more", l->n), g->width, 4, 6);
}

static void left_out(struct sheet *g, const struct premises_file *f)
{
    struct left_rows l = {.first = 0};
    if (f->n_excluded > 0)
        paragraph(g, "left out by the author of the file:");
    for (size_t i = 0; i < f->n_excluded; i++)
        add_row(g, &l, f->excluded[i].line, f->excluded[i].reason);
    end_rows(g, &l);
    l = (struct left_rows){.first = 0};
    bool said = false;
    for (size_t i = 0; i < f->n_records; i++) {
        const struct premises_record *r = &f->records[i];
        if (!r->left_out || is_listed(f, r->line))
            continue;
        if (!said)
            paragraph(g, "left out by the reader:");
        said = true;
        add_row(g, &l, r->line, r->reason);
    }
    end_rows(g, &l);
}

static size_t given_keys(const struct facts *facts)
{
    size_t n = 0;
    for (size_t i = 0; facts != NULL && i < facts->n; i++)
        n += facts->items[i].given;
    return n;
}

static void one_file(struct sheet *g, const struct premises_file *f)
{
    text_add_char(g->out, '\n');
    const char *name = layout_safe(g->arena, f->name);
    if (*f->study != '\0')
        name = arena_printf(g->arena, "%s: study %s", name, layout_safe(g->arena, f->study));
    layout_emphasized(g->out, LAYOUT_BOLD, g->color, name, g->width, 0, 4);
    if (f->refused && f->header_line == 0) {
        paragraph(g, "no table was found in it, see the errors");
        return;
    }
    how(g, f);
    if (*f->study == '\0') {
        size_t n = given_keys(g->facts);
        paragraph(g, n == 0 ? "no key is set: defaults stand everywhere"
                            : arena_printf(g->arena, "%zu key%s set", n, n == 1 ? " is" : "s are"));
    }
    rows(g, f);
    texts(g, "above the header: ", f->preamble, f->n_preamble);
    texts(g, "columns that no study reads: ", f->unused, f->n_unused);
    repairs(g, f);
    left_out(g, f);
}

static bool is_new_study(const struct premises *p, size_t i)
{
    if (*p->files[i].study == '\0' || p->files[i].refused)
        return false;
    for (size_t k = 0; k < i; k++)
        if (strcmp(p->files[k].study, p->files[i].study) == 0)
            return false;
    return true;
}

void report_reading(struct text *out, const struct premises *p, const struct terminal_style *s)
{
    struct sheet g = {out, out->arena, s->width, s->color, p->facts};
    layout_emphasized(out, LAYOUT_BOLD, s->color, "How each file was read", s->width, 0, 2);
    for (size_t i = 0; i < p->n_files; i++)
        one_file(&g, &p->files[i]);
    struct text t;
    text_init(&t, g.arena);
    for (size_t i = 0; i < p->n_files; i++)
        if (is_new_study(p, i))
            add_part(&t, "", p->files[i].study);
    text_add_char(out, '\n');
    layout_paragraph(out,
                     t.length == 0 ? "There is no study to analyze."
                                   : arena_printf(g.arena, "To be analyzed: %s.", t.s),
                     s->width, 0, 2);
    if (p->n_unread > 0) {
        text_clear(&t);
        for (size_t i = 0; i < p->n_unread && i < UNREAD_NAMED; i++)
            add_part(&t, "", p->unread[i]);
        if (p->n_unread > UNREAD_NAMED)
            text_addf(&t, " and %zu more", p->n_unread - UNREAD_NAMED);
        layout_paragraph(
            out, arena_printf(g.arena, "CSV files of the folder that no study reads: %s.", t.s),
            s->width, 0, 2);
    }
}
