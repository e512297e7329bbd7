/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Diagnostics in the way of a good compiler: place, what, the line with a caret, how to mend it. */
#include <string.h>

#include "report/layout.h"

struct sheet {
    struct text *out;
    struct arena *arena;
    int width;
    bool color;
};

static const char *severity_word(enum severity s)
{
    static const char *const words[] = {"note", "warning", "error"};
    return words[s];
}

/* "gate-freeze.csv:14:9-12 (D14)" */
static const char *place_text(struct sheet *g, const struct diag *d, const struct diag_place *p)
{
    struct text t;
    text_init(&t, g->arena);
    text_add(&t, layout_safe(g->arena, d->file));
    if (p != NULL && p->line > 0)
        text_addf(&t, "%s%ld", t.length > 0 ? ":" : "line ", p->line);
    if (p != NULL && p->line > 0 && p->column_from > 0) {
        text_addf(&t, ":%d", p->column_from);
        if (p->column_to > p->column_from)
            text_addf(&t, "-%d", p->column_to);
    }
    if (p != NULL && p->address[0] != '\0')
        text_addf(&t, " (%s)", layout_safe(g->arena, p->address));
    return t.s;
}

/* ---- the line and its caret ------------------------------------------------------------------ */

/* Bytes of one character of the line as it was. In the harmless text a control character is
 * spelled, so `\t`, `\n`, `\x1B` and `\u202E` count as the one character they were. */
static size_t character_bytes(const char *s)
{
    static const char hex[] = "0123456789ABCDEF";
    if (s[0] == '\\' && (s[1] == 't' || s[1] == 'n'))
        return 2;
    if (s[0] == '\\' && s[1] == 'x' && strspn(s + 2, hex) >= 2)
        return 4;
    if (s[0] == '\\' && s[1] == 'u' && strspn(s + 2, hex) >= 4)
        return 6;
    unsigned cp = 0;
    size_t n = utf8_next(s, strlen(s), &cp);
    return n == 0 ? 1 : n;
}

/* Byte offset of the character with this number (1-based), at most the end. */
static size_t offset_of(const char *s, int character)
{
    size_t at = 0;
    for (int i = 1; i < character && s[at] != '\0'; i++)
        at += character_bytes(s + at);
    return at;
}

static size_t columns_between(struct sheet *g, const char *s, size_t from, size_t to)
{
    return to > from ? utf8_columns(arena_copy_n(g->arena, s + from, to - from)) : 0;
}

#define LESS_AROUND "..."

/* The part of the line around the cell that fits. */
static void cut_line(struct sheet *g, const char *s, size_t room, size_t cell, size_t *from,
                     size_t *to)
{
    size_t end = strlen(s);
    *from = 0;
    *to = end;
    if (columns_between(g, s, 0, end) <= room)
        return;
    size_t inside = room > 2 * strlen(LESS_AROUND) + 8 ? room - 2 * strlen(LESS_AROUND) : 8;
    while (*from < cell && columns_between(g, s, *from, cell) > inside / 3)
        *from += character_bytes(s + *from);
    *to = *from;
    while (*to < end && columns_between(g, s, *from, *to + character_bytes(s + *to)) <= inside)
        *to += character_bytes(s + *to);
}

static void source_line(struct sheet *g, const struct diag_place *p)
{
    if (p->source == NULL || p->line <= 0)
        return;
    const char *s = layout_safe(g->arena, p->source);
    const char *number = arena_printf(g->arena, "%5ld | ", p->line);
    size_t margin = strlen(number);
    size_t width = g->width < LAYOUT_NARROWEST ? LAYOUT_NARROWEST : (size_t)g->width;
    size_t cell = offset_of(s, p->column_from), last = offset_of(s, p->column_to + 1);
    size_t from, to;
    cut_line(g, s, width > margin ? width - margin : 8, cell, &from, &to);
    text_add(g->out, number);
    text_add(g->out, from > 0 ? LESS_AROUND : "");
    text_add_n(g->out, s + from, to - from);
    text_addf(g->out, "%s\n", s[to] != '\0' ? LESS_AROUND : "");
    if (p->column_from <= 0)
        return;
    layout_spaces(g->out, margin - 2);
    text_add(g->out, "| ");
    layout_spaces(g->out, (from > 0 ? strlen(LESS_AROUND) : 0) + columns_between(g, s, from, cell));
    size_t carets = columns_between(g, s, cell, last < to ? last : to);
    layout_begin(g->out, LAYOUT_BOLD, g->color);
    for (size_t i = 0; i < (carets > 0 ? carets : 1); i++)
        text_add_char(g->out, '^');
    layout_end(g->out, LAYOUT_BOLD, g->color);
    text_add_char(g->out, '\n');
}

/* ---- one diagnostic ----------------------------------------------------------------------------
 */

static void labelled(struct sheet *g, const char *label, const char *s)
{
    if (s == NULL || *s == '\0')
        return;
    layout_paragraph(g->out, arena_printf(g->arena, "%s%s", label, layout_safe(g->arena, s)),
                     g->width, 2, 4);
}

static void other_places(struct sheet *g, const struct diag *d)
{
    if (d->count < 2)
        return;
    struct text t;
    text_init(&t, g->arena);
    text_addf(&t, "found %zu times", d->count);
    for (size_t i = 1; i < d->count && i < PL_COUNT(d->places); i++)
        text_addf(&t, "%s%s", i == 1 ? "; also " : ", ", place_text(g, d, &d->places[i]));
    if (d->count > PL_COUNT(d->places))
        text_addf(&t, " and %zu more", d->count - PL_COUNT(d->places));
    layout_paragraph(g->out, t.s, g->width, 2, 4);
}

static void full_form(struct sheet *g, const struct diag *d)
{
    const struct diag_place *p = d->count > 0 ? &d->places[0] : NULL;
    const char *place = place_text(g, d, p);
    const char *first = arena_printf(g->arena, "%s%s%s: %s", place, *place != '\0' ? ": " : "",
                                     severity_word(d->severity), layout_safe(g->arena, d->message));
    layout_emphasized(g->out, LAYOUT_BOLD, g->color, first, g->width, 0, 4);
    if (p != NULL)
        source_line(g, p);
    labelled(g, "expected: ", d->expected);
    labelled(g, "to mend it: ", d->remedy);
    other_places(g, d);
    if (d->code != NULL)
        labelled(g, "more: plateau explain ", d->code);
}

static void short_form(struct sheet *g, const struct diag *d)
{
    const struct diag_place *p = d->count > 0 ? &d->places[0] : NULL;
    const char *place = place_text(g, d, p);
    struct text t;
    text_init(&t, g->arena);
    text_addf(&t, "%s%s%s: %s", place, *place != '\0' ? ": " : "", severity_word(d->severity),
              layout_safe(g->arena, d->message));
    if (d->count > 1)
        text_addf(&t, " (%zu times)", d->count);
    if (d->remedy != NULL && *d->remedy != '\0')
        text_addf(&t, "; %s", layout_safe(g->arena, d->remedy));
    if (d->code != NULL)
        text_addf(&t, " [%s]", layout_safe(g->arena, d->code));
    layout_paragraph(g->out, t.s, g->width, 0, 4);
}

static void add_count(struct text *t, size_t n, const char *word)
{
    if (n > 0)
        text_addf(t, "%s%zu %s%s", t->length > 0 ? ", " : "", n, word, n == 1 ? "" : "s");
}

static void summary(struct sheet *g, const struct diag_list *l)
{
    struct text t;
    text_init(&t, g->arena);
    add_count(&t, l->errors, "error");
    add_count(&t, l->warnings, "warning");
    add_count(&t, l->notes, "note");
    size_t kinds = l->errors + l->warnings + l->notes;
    if (kinds > l->n)
        text_addf(&t, "; %zu of them are not shown", kinds - l->n);
    text_add_char(&t, '.');
    layout_paragraph(g->out, t.s, g->width, 0, 2);
}

void report_diagnostics(struct text *out, const struct diag_list *l, const struct terminal_style *s)
{
    struct sheet g = {out, out->arena, s->width, s->color};
    if (l->n == 0)
        return;
    for (size_t i = 0; i < l->n; i++)
        if (l->items[i].severity != DIAG_NOTE) {
            full_form(&g, &l->items[i]);
            text_add_char(out, '\n');
        }
    bool notes = false;
    for (size_t i = 0; i < l->n; i++)
        if (l->items[i].severity == DIAG_NOTE) {
            short_form(&g, &l->items[i]);
            notes = true;
        }
    if (notes)
        text_add_char(out, '\n');
    summary(&g, l);
}
