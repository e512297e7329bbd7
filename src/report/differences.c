/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two records side by side: what the one says and the other does not. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "report/layout.h"

#define SHOWN 120 /* characters of a value */

struct comparison {
    struct arena *arena;
    struct record_differences *out;
    size_t capacity;
};

/* A list's item by what it is called, so that a person finds it. */
static const char *label_of(json_t *item)
{
    static const char *const keys[] = {"study", "setting", "name", "code", "file", "key"};
    for (size_t i = 0; i < PL_COUNT(keys); i++) {
        const char *s = json_string_value(json_object_get(item, keys[i]));
        if (s != NULL && *s != '\0')
            return s;
    }
    return NULL;
}

static const char *shown(struct comparison *c, json_t *v)
{
    if (v == NULL)
        return "nothing";
    const size_t flags = JSON_ENCODE_ANY | JSON_SORT_KEYS | JSON_REAL_PRECISION(10);
    size_t n = json_dumpb(v, NULL, 0, flags);
    char *s = arena_array(c->arena, n + 1, 1);
    (void)json_dumpb(v, s, n, flags);
    if (n > SHOWN)
        return layout_safe(c->arena,
                           arena_printf(c->arena, "%s ...", arena_copy_n(c->arena, s, SHOWN)));
    return layout_safe(c->arena, s);
}

static void differ(struct comparison *c, const char *where, json_t *recorded, json_t *now)
{
    struct record_differences *o = c->out;
    o->total++;
    if (o->n == RECORD_DIFFERENCES_LISTED)
        return;
    *ARENA_PUSH(c->arena, o->items, o->n, c->capacity) =
        (struct record_difference){layout_safe(c->arena, where), shown(c, recorded), shown(c, now)};
}

/* Of numbers that are written with ten digits: at most one unit in the last of them. What is zero
 * but for the rounding of the arithmetic (a covariance) has no digits to compare. */
static bool rounding_apart(double a, double b)
{
    double largest = fmax(fabs(a), fabs(b));
    return largest < 1e-15 || fabs(a - b) <= 1.5 * pow(10.0, floor(log10(largest)) - 9.0);
}

static void compare(struct comparison *c, const char *where, json_t *recorded, json_t *now);

static void compare_arrays(struct comparison *c, const char *where, json_t *recorded, json_t *now)
{
    size_t n = json_array_size(recorded), m = json_array_size(now), alike = 0;
    const char *last = "";
    for (size_t i = 0; i < n || i < m; i++) {
        json_t *a = json_array_get(recorded, i), *b = json_array_get(now, i);
        const char *label = label_of(a != NULL ? a : b);
        const char *at = arena_printf(c->arena, "%s[%zu]", where, i);
        if (label != NULL) {
            alike = strcmp(label, last) == 0 ? alike + 1 : 1; /* several of one name in a row */
            at = alike == 1 ? arena_printf(c->arena, "%s[%s]", where, label)
                            : arena_printf(c->arena, "%s[%s, %zu]", where, label, alike);
            last = label;
        }
        compare(c, at, a, b);
    }
}

static void compare_objects(struct comparison *c, const char *where, json_t *recorded, json_t *now)
{
    const char *dot = *where != '\0' ? "." : "";
    for (void *at = json_object_iter(recorded); at != NULL;
         at = json_object_iter_next(recorded, at)) {
        const char *key = json_object_iter_key(at);
        compare(c, arena_printf(c->arena, "%s%s%s", where, dot, key), json_object_iter_value(at),
                json_object_get(now, key));
    }
    for (void *at = json_object_iter(now); at != NULL; at = json_object_iter_next(now, at)) {
        const char *key = json_object_iter_key(at);
        if (json_object_get(recorded, key) == NULL)
            compare(c, arena_printf(c->arena, "%s%s%s", where, dot, key), NULL,
                    json_object_iter_value(at));
    }
}

/* As deep as the parser lets a text be. */
static void compare(struct comparison *c, const char *where, json_t *recorded, json_t *now)
{
    if (json_is_object(recorded) && json_is_object(now)) {
        compare_objects(c, where, recorded, now);
    } else if (json_is_array(recorded) && json_is_array(now)) {
        compare_arrays(c, where, recorded, now);
    } else if (recorded == NULL || now == NULL) {
        differ(c, where, recorded, now);
    } else if (json_is_number(recorded) && json_is_number(now)) {
        double a = json_number_value(recorded), b = json_number_value(now);
        if (rounding_apart(a, b))
            c->out->rounding += !json_equal(recorded, now);
        else
            differ(c, where, recorded, now);
    } else if (!json_equal(recorded, now)) {
        differ(c, where, recorded, now);
    }
}

static enum errc parse(struct arena *a, const struct record_bytes *r, json_t **out, struct error *e)
{
    json_error_t why;
    *out = json_loadb(r->bytes, r->n, JSON_REJECT_DUPLICATES, &why);
    if (*out != NULL)
        return ERR_NONE;
    return ERR_AT(e, ERR_INPUT, r->name, why.line > 0 ? why.line : 1, "this is not JSON: %s",
                  layout_safe(a, why.text));
}

enum errc report_record_compare(struct arena *arena, const struct record_bytes *recorded,
                                const struct record_bytes *now, struct record_differences *out,
                                struct error *e)
{
    *out = (struct record_differences){.n = 0};
    json_t *a = NULL, *b = NULL;
    enum errc failed = parse(arena, recorded, &a, e);
    if (failed == ERR_NONE)
        failed = parse(arena, now, &b, e);
    if (failed == ERR_NONE)
        compare(&(struct comparison){.arena = arena, .out = out}, "", a, b);
    json_decref(a);
    json_decref(b);
    return failed;
}
