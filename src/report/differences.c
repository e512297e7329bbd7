/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Two records side by side: what the one says and the other does not. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "report/layout.h"

#define SHOWN 120 /* characters of a value */
#define BEFORE 24 /* of them in front of the place where two texts part */

struct comparison {
    struct arena *arena;
    struct record_differences *out;
    size_t capacity;
};

/* ---- what an item of a list is called -------------------------------------------------------- */

static void add_name(struct text *t, const char *s)
{
    if (s != NULL && *s != '\0')
        text_addf(t, "%s%s", t->length > 0 ? ", " : "", s);
}

/* An item by its name keys and its place in the file, never by its place in the list: one that is
 * missing must not set all that follow it against the wrong ones. NULL: nothing names it. */
static const char *label_of(struct arena *a, json_t *item)
{
    static const char *const keys[] = {"study", "section", "key",  "setting", "name", "criterion",
                                       "side",  "series",  "code", "column",  "file", "which"};
    struct text t;
    text_init(&t, a);
    for (size_t i = 0; i < PL_COUNT(keys); i++)
        add_name(&t, json_string_value(json_object_get(item, keys[i])));
    json_t *line = json_object_get(item, "line");
    bool has_file = json_is_string(json_object_get(item, "file"));
    if (line == NULL && has_file)
        line = json_object_get(item, "first_line");
    if (json_is_integer(line) && json_integer_value(line) > 0)
        add_name(&t, arena_printf(a, "line %lld", (long long)json_integer_value(line)));
    else if (json_is_number(json_object_get(item, "setting")))
        add_name(&t, arena_printf(a, "%.10g", json_number_value(json_object_get(item, "setting"))));
    return t.length > 0 ? t.s : NULL;
}

/* The labels of a list, each once: alike ones are numbered, what nothing names is called by its
 * place. */
static const char **labels_of(struct arena *a, json_t *list)
{
    size_t n = json_array_size(list);
    const char **labels = ARENA_ARRAY(a, const char *, n);
    json_t *times = json_object(); /* how often a name was given */
    for (size_t i = 0; i < n; i++) {
        const char *name = label_of(a, json_array_get(list, i));
        name = name != NULL ? name : arena_printf(a, "%zu", i);
        labels[i] = name;
        while (json_object_get(times, labels[i]) != NULL) {
            json_int_t again = json_integer_value(json_object_get(times, name)) + 1;
            json_object_set_new(times, name, json_integer(again));
            labels[i] = arena_printf(a, "%s, %lld", name, (long long)again);
        }
        json_object_set_new(times, labels[i], json_integer(1));
    }
    json_decref(times);
    return labels;
}

/* ---- what is shown ----------------------------------------------------------------------------
 */

static const char *as_text(struct arena *a, json_t *v)
{
    if (v == NULL)
        return "nothing";
    const size_t flags = JSON_ENCODE_ANY | JSON_SORT_KEYS | JSON_REAL_PRECISION(10);
    size_t n = json_dumpb(v, NULL, 0, flags);
    char *s = arena_array(a, n + 1, 1);
    (void)json_dumpb(v, s, n, flags);
    return s;
}

static const char *shown_from(struct arena *a, const char *s, size_t from)
{
    size_t n = strlen(s + from);
    size_t cut = n > SHOWN ? SHOWN : n;
    while (cut < n && cut > 0 && ((unsigned char)s[from + cut] & 0xC0) == 0x80)
        cut--; /* no half of a character */
    const char *piece = arena_copy_n(a, s + from, cut);
    return layout_safe(
        a, arena_printf(a, "%s%s%s", from > 0 ? "... " : "", piece, n > SHOWN ? " ..." : ""));
}

/* Where two long texts begin to be different, at the start of a word if one is near. */
static size_t parting(const char *x, const char *y)
{
    size_t i = 0;
    while (x[i] != '\0' && x[i] == y[i])
        i++;
    if (i < SHOWN - BEFORE || (strlen(x) <= SHOWN && strlen(y) <= SHOWN))
        return 0;
    size_t from = i - BEFORE;
    while (from < i && x[from - 1] != ' ')
        from++;
    if (from == i) /* no word's start: at least no half of a character */
        while (((unsigned char)x[from] & 0xC0) == 0x80)
            from--;
    return from;
}

static void differ(struct comparison *c, const char *where, json_t *recorded, json_t *now)
{
    struct arena *a = c->arena;
    const char *x = as_text(a, recorded), *y = as_text(a, now);
    size_t from = json_is_string(recorded) && json_is_string(now) ? parting(x, y) : 0;
    *ARENA_PUSH(a, c->out->items, c->out->n, c->capacity) = (struct record_difference){
        layout_safe(a, where), shown_from(a, x, from), shown_from(a, y, from)};
}

/* ---- side by side ------------------------------------------------------------------------------
 */

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
    size_t n = json_array_size(recorded), m = json_array_size(now);
    const char **was = labels_of(c->arena, recorded), **is = labels_of(c->arena, now);
    json_t *by_label = json_object(); /* what `now` has and `recorded` has not been asked for yet */
    for (size_t i = 0; i < m; i++)
        json_object_set(by_label, is[i], json_array_get(now, i));
    for (size_t i = 0; i < n; i++) {
        compare(c, arena_printf(c->arena, "%s[%s]", where, was[i]), json_array_get(recorded, i),
                json_object_get(by_label, was[i]));
        json_object_del(by_label, was[i]);
    }
    for (size_t i = 0; i < m; i++)
        if (json_object_get(by_label, is[i]) != NULL)
            compare(c, arena_printf(c->arena, "%s[%s]", where, is[i]), NULL,
                    json_array_get(now, i));
    json_decref(by_label);
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

/* ---- in the order of their weight --------------------------------------------------------------
 */

static bool begins(const char *s, const char *with)
{
    return strncmp(s, with, strlen(with)) == 0;
}

static bool ends(const char *s, const char *with)
{
    size_t n = strlen(s), m = strlen(with);
    return n >= m && strcmp(s + n - m, with) == 0;
}

/* The window and the verdicts, then what they rest on, then the rest, then means and curves. */
static int weight_of(const char *where)
{
    if (begins(where, "verdict") || begins(where, "window") || begins(where, "no_window"))
        return 0;
    if (begins(where, "checks") || ends(where, "verdict") || ends(where, "decision"))
        return 1;
    if (strstr(where, "].criteria[") != NULL || strstr(where, "].quantities[") != NULL)
        return 2;
    if (strstr(where, "].conditions[") != NULL || strstr(where, "].models[") != NULL ||
        strstr(where, "].tables[") != NULL)
        return 4;
    return 3;
}

static void sort_by_weight(struct arena *a, struct record_differences *d)
{
    struct record_difference *sorted = ARENA_ARRAY(a, struct record_difference, d->n);
    size_t n = 0;
    for (int weight = 0; weight <= 4; weight++)
        for (size_t i = 0; i < d->n; i++)
            if (weight_of(d->items[i].where) == weight)
                sorted[n++] = d->items[i];
    d->items = sorted;
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
    sort_by_weight(arena, out);
    json_decref(a);
    json_decref(b);
    return failed;
}
