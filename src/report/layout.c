/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "report/layout.h"

const char *layout_safe(struct arena *a, const char *s)
{
    return s == NULL ? "" : text_harmless(a, s, strlen(s));
}

const char *layout_words(struct arena *a, const char *name)
{
    char *s = arena_copy(a, layout_safe(a, name));
    for (char *p = s; *p != '\0'; p++)
        if (*p == '_')
            *p = ' ';
    return s;
}

void layout_spaces(struct text *out, size_t n)
{
    while (n-- > 0)
        text_add_char(out, ' ');
}

void layout_begin(struct text *out, enum layout_emphasis e, bool color)
{
    if (color && e != LAYOUT_PLAIN)
        text_add(out, e == LAYOUT_BOLD ? "\x1b[1m" : "\x1b[2m");
}

void layout_end(struct text *out, enum layout_emphasis e, bool color)
{
    if (color && e != LAYOUT_PLAIN)
        text_add(out, "\x1b[0m");
}

/* Bytes of `s` that fill at most `columns` columns, at least one character. */
static size_t bytes_of_columns(const char *s, size_t length, size_t columns)
{
    size_t used = 0, at = 0;
    while (at < length) {
        unsigned cp = 0;
        size_t n = utf8_next(s + at, length - at, &cp);
        n = n == 0 ? 1 : n;
        char one[5] = {0};
        memcpy(one, s + at, n);
        size_t wide = utf8_columns(one);
        if (at > 0 && used + wide > columns)
            break;
        used += wide;
        at += n;
    }
    return at;
}

struct lines {
    struct arena *arena;
    const char **items;
    size_t n, capacity;
    struct text now; /* the line being filled */
    size_t columns;  /* of it */
};

static void end_line(struct lines *l)
{
    *ARENA_PUSH(l->arena, l->items, l->n, l->capacity) = arena_copy(l->arena, l->now.s);
    text_clear(&l->now);
    l->columns = 0;
}

static void add_word(struct lines *l, const char *word, size_t length, size_t first, size_t width)
{
    while (length > 0) {
        size_t columns = utf8_columns(arena_copy_n(l->arena, word, length));
        size_t room = l->n == 0 ? first : width;
        size_t gap = l->columns > 0 ? 1 : 0;
        if (l->columns + gap + columns <= room) {
            if (gap > 0)
                text_add_char(&l->now, ' ');
            text_add_n(&l->now, word, length);
            l->columns += gap + columns;
            return;
        }
        if (gap > 0 || (columns <= width && l->n == 0 && room < width)) {
            end_line(l);
            continue;
        }
        size_t part = bytes_of_columns(word, length, room);
        text_add_n(&l->now, word, part);
        end_line(l);
        word += part;
        length -= part;
    }
}

/* A unit directly behind a number: the two are not parted at the end of a line. */
static bool is_unit(const char *s, size_t length)
{
    static const char *const units[] = {"%",  "bar", "cm3", "degC", "degF", "g",    "h",
                                        "in", "K",   "kN",  "MPa",  "mm",   "mm/s", "ms",
                                        "N",  "oz",  "psi", "in/s", "mg",   "s",    "tonf",
                                        "um", "kg",  "lb",  "min",  "1/s",  "MPa.s"};
    while (length > 1 && strchr(".,;:)", s[length - 1]) != NULL)
        length--;
    for (size_t i = 0; i < PL_COUNT(units); i++)
        if (strlen(units[i]) == length && memcmp(units[i], s, length) == 0)
            return true;
    return false;
}

/* Bytes of the next word; a number takes its unit along. */
static size_t word_length(const char *s)
{
    size_t length = strcspn(s, " ");
    if (length == 0 || s[length] == '\0' || s[length - 1] < '0' || s[length - 1] > '9')
        return length;
    size_t next = strcspn(s + length + 1, " ");
    return next > 0 && is_unit(s + length + 1, next) ? length + 1 + next : length;
}

size_t layout_lines(struct arena *a, const char *s, size_t first, size_t width,
                    const char *const **lines)
{
    struct lines l = {.arena = a};
    text_init(&l.now, a);
    width = width == 0 ? 1 : width;
    first = first == 0 ? 1 : first;
    while (*s != '\0') {
        size_t spaces = strspn(s, " ");
        s += spaces;
        size_t length = word_length(s);
        add_word(&l, s, length, first, width);
        s += length;
    }
    if (l.now.length > 0 || l.n == 0)
        end_line(&l);
    *lines = l.items;
    return l.n;
}

static size_t columns_left(int width, size_t indent)
{
    size_t all = width < LAYOUT_NARROWEST ? LAYOUT_NARROWEST : (size_t)width;
    return all > indent ? all - indent : 1;
}

void layout_paragraph(struct text *out, const char *s, int width, size_t indent, size_t hang)
{
    if (s[strspn(s, " ")] == '\0')
        return;
    const char *const *lines = NULL;
    size_t n =
        layout_lines(out->arena, s, columns_left(width, indent), columns_left(width, hang), &lines);
    for (size_t i = 0; i < n; i++) {
        layout_spaces(out, i == 0 ? indent : hang);
        text_add(out, lines[i]);
        text_add_char(out, '\n');
    }
}

void layout_emphasized(struct text *out, enum layout_emphasis e, bool color, const char *s,
                       int width, size_t indent, size_t hang)
{
    struct text t;
    text_init(&t, out->arena);
    layout_paragraph(&t, s, width, indent, hang);
    if (t.length == 0)
        return;
    layout_begin(out, e, color);
    text_add_n(out, t.s, t.length - 1);
    layout_end(out, e, color);
    text_add_char(out, '\n');
}

/* ---- rows of cells --------------------------------------------------------------------------- */

#define GAP 2

static size_t longest_word(struct arena *a, const char *s)
{
    size_t longest = 0;
    while (*s != '\0') {
        s += strspn(s, " ");
        size_t length = word_length(s);
        size_t columns = utf8_columns(arena_copy_n(a, s, length));
        longest = columns > longest ? columns : longest;
        s += length;
    }
    return longest;
}

bool layout_fit(struct arena *a, struct layout_column *columns, size_t n, const char *const *cells,
                size_t n_rows, size_t width)
{
    size_t least[LAYOUT_COLUMNS_MAX] = {0}, total = GAP * (n - 1);
    for (size_t c = 0; c < n; c++) {
        columns[c].width = 0;
        for (size_t r = 0; r < n_rows; r++) {
            const char *s = cells[r * n + c];
            size_t natural = utf8_columns(s);
            /* a number and its unit stay together */
            size_t smallest = columns[c].right ? natural : longest_word(a, s);
            columns[c].width = natural > columns[c].width ? natural : columns[c].width;
            least[c] = smallest > least[c] ? smallest : least[c];
        }
        total += columns[c].width;
    }
    while (total > width) {
        size_t widest = n;
        for (size_t c = 0; c < n; c++)
            if (columns[c].width > least[c] &&
                (widest == n || columns[c].width > columns[widest].width))
                widest = c;
        if (widest == n)
            return false;
        columns[widest].width--;
        total--;
    }
    return true;
}

void layout_row(struct text *out, const struct layout_column *columns, size_t n,
                const char *const *cells, bool color)
{
    const char *const *lines[LAYOUT_COLUMNS_MAX] = {0};
    size_t count[LAYOUT_COLUMNS_MAX] = {0}, tallest = 1;
    for (size_t c = 0; c < n; c++) {
        count[c] =
            layout_lines(out->arena, cells[c], columns[c].width, columns[c].width, &lines[c]);
        tallest = count[c] > tallest ? count[c] : tallest;
    }
    for (size_t i = 0; i < tallest; i++) {
        size_t owed = 0; /* spaces not written yet, so that no line ends in one */
        for (size_t c = 0; c < n; c++) {
            const char *s = i < count[c] ? lines[c][i] : "";
            size_t fill = columns[c].width - utf8_columns(s);
            if (*s != '\0') {
                layout_spaces(out, owed + (columns[c].right ? fill : 0));
                layout_begin(out, columns[c].emphasis, color);
                text_add(out, s);
                layout_end(out, columns[c].emphasis, color);
                owed = columns[c].right ? 0 : fill;
            } else {
                owed += fill;
            }
            owed += GAP;
        }
        text_add_char(out, '\n');
    }
}

const char *layout_more_shots(struct arena *a, const struct criterion *c)
{
    if (c->shots_to_decide == SHOTS_NOT_KNOWN)
        return " How many more shots would decide this is not known before shots are repeated.";
    if (c->shots_to_decide < 0)
        return " No number of further shots at the same settings promises to decide this; move the "
               "setting or mend the cause.";
    if (c->shots_to_decide == 0)
        return "";
    return arena_printf(a, " %d more shot%s per condition would probably decide this.",
                        c->shots_to_decide, c->shots_to_decide == 1 ? "" : "s");
}
