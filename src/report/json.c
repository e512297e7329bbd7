/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/json.h"

#define LINE_WIDTH 100

enum node_kind { NODE_PLAIN, NODE_OBJECT, NODE_ARRAY };

struct node {
    struct arena *arena;
    enum node_kind kind;
    const char *key;   /* of this node in its object */
    const char *plain; /* NODE_PLAIN: as printed */
    struct node **items;
    size_t n, capacity;
    struct node *open; /* object: the member of that name */
};

static struct node *new_node(struct arena *a, enum node_kind kind, const char *plain)
{
    struct node *v = ARENA_NEW(a, struct node);
    v->arena = a;
    v->kind = kind;
    v->plain = plain;
    return v;
}

struct node *node_new_object(struct arena *a)
{
    return new_node(a, NODE_OBJECT, NULL);
}

struct node *node_new_array(struct arena *a)
{
    return new_node(a, NODE_ARRAY, NULL);
}

void node_add(struct node *array, struct node *v)
{
    *ARENA_PUSH(array->arena, array->items, array->n, array->capacity) = v;
}

void node_put(struct node *o, const char *key, struct node *v)
{
    v->key = arena_copy(o->arena, key);
    node_add(o, v);
}

/* ---- leaves ---------------------------------------------------------------------------------- */

/* False for control characters, bidi marks and the like: escaped, so that the record does no harm
 * on a terminal either. */
static bool is_plain(struct arena *a, const char *s, size_t n)
{
    return strncmp(text_harmless(a, s, n), s, n) == 0;
}

static const char *quoted(struct arena *a, const char *s)
{
    struct text t;
    text_init(&t, a);
    text_add_char(&t, '"');
    size_t length = strlen(s);
    while (length > 0) {
        unsigned cp = 0;
        size_t n = utf8_next(s, length, &cp);
        if (n == 0) {
            text_addf(&t, "\\\\x%02X", (unsigned)(unsigned char)*s);
            n = 1;
        } else if (cp == '"' || cp == '\\') {
            text_addf(&t, "\\%c", (char)cp);
        } else if (cp < 0x20 || (cp >= 0x7F && cp <= 0xFFFF && !is_plain(a, s, n))) {
            text_addf(&t, "\\u%04x", cp);
        } else {
            text_add_n(&t, s, n);
        }
        s += n;
        length -= n;
    }
    text_add_char(&t, '"');
    return t.s;
}

static struct node *text_node(struct arena *a, const char *s)
{
    return new_node(a, NODE_PLAIN, s == NULL ? "null" : quoted(a, s));
}

static struct node *integer_node(struct arena *a, long long v)
{
    return new_node(a, NODE_PLAIN, arena_printf(a, "%lld", v));
}

struct node *node_new_number(struct arena *a, double v)
{
    if (!isfinite(v))
        return new_node(a, NODE_PLAIN, "null");
    return new_node(a, NODE_PLAIN, v == 0.0 ? "0" : arena_printf(a, "%.10g", v));
}

void node_put_text(struct node *o, const char *key, const char *s)
{
    node_put(o, key, text_node(o->arena, s));
}

void node_put_bool(struct node *o, const char *key, bool v)
{
    node_put(o, key, new_node(o->arena, NODE_PLAIN, v ? "true" : "false"));
}

void node_put_integer(struct node *o, const char *key, long long v)
{
    node_put(o, key, integer_node(o->arena, v));
}

void node_put_number(struct node *o, const char *key, double v)
{
    node_put(o, key, node_new_number(o->arena, v));
    if (!isinf(v))
        return;
    if (o->open == NULL) {
        o->open = node_new_object(o->arena);
        node_put(o, "open", o->open);
    }
    node_put_text(o->open, key, v > 0.0 ? "above" : "below");
}

void node_add_text(struct node *array, const char *s)
{
    node_add(array, text_node(array->arena, s));
}

void node_add_integer(struct node *array, long long v)
{
    node_add(array, integer_node(array->arena, v));
}

void node_add_number(struct node *array, double v)
{
    node_add(array, node_new_number(array->arena, v));
}

/* ---- printing -------------------------------------------------------------------------------- */

static int compare_keys(const void *a, const void *b)
{
    const struct node *const *x = a;
    const struct node *const *y = b;
    return strcmp((*x)->key, (*y)->key);
}

static struct node **sorted_items(const struct node *v)
{
    struct node **items = ARENA_ARRAY(v->arena, struct node *, v->n);
    if (v->n > 0)
        memcpy(items, v->items, v->n * sizeof *items);
    if (v->kind == NODE_OBJECT && v->n > 1)
        qsort(items, v->n, sizeof *items, compare_keys);
    return items;
}

static enum errc print_node(struct text *out, const struct node *v, int depth, struct error *e);

static void new_line(struct text *out, int depth)
{
    text_add_char(out, '\n');
    for (int i = 0; i < depth; i++)
        text_add(out, "  ");
}

static enum errc print_items(struct text *out, const struct node *v, int depth, bool one_line,
                             struct error *e)
{
    struct node **items = sorted_items(v);
    text_add_char(out, v->kind == NODE_OBJECT ? '{' : '[');
    for (size_t i = 0; i < v->n; i++) {
        if (i > 0)
            text_add(out, one_line ? ", " : ",");
        if (!one_line)
            new_line(out, depth + 1);
        if (v->kind == NODE_OBJECT) {
            if (i > 0 && strcmp(items[i]->key, items[i - 1]->key) == 0)
                return ERR_SET(e, ERR_INTERNAL, "the record would hold \"%s\" twice in one object",
                               items[i]->key);
            text_add(out, quoted(out->arena, items[i]->key));
            text_add(out, ": ");
        }
        TRY(print_node(out, items[i], depth + 1, e));
    }
    if (!one_line && v->n > 0)
        new_line(out, depth);
    text_add_char(out, v->kind == NODE_OBJECT ? '}' : ']');
    return ERR_NONE;
}

/* Only leaves inside, so that it may stand on one line. */
static bool is_flat(const struct node *v)
{
    for (size_t i = 0; i < v->n; i++)
        if (v->items[i]->kind != NODE_PLAIN && v->items[i]->n > 0)
            return false;
    return true;
}

static enum errc print_node(struct text *out, const struct node *v, int depth, struct error *e)
{
    if (v->kind == NODE_PLAIN) {
        text_add(out, v->plain);
        return ERR_NONE;
    }
    if (is_flat(v)) {
        struct text line;
        text_init(&line, out->arena);
        TRY(print_items(&line, v, depth, true, e));
        if (line.length + 2 * (size_t)depth <= LINE_WIDTH) {
            text_add_n(out, line.s, line.length);
            return ERR_NONE;
        }
    }
    return print_items(out, v, depth, false, e);
}

enum errc node_print(struct text *out, const struct node *v, struct error *e)
{
    return print_node(out, v, 0, e);
}
