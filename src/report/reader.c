/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <limits.h>
#include <math.h>
#include <string.h>

#include "report/reader.h"

#define PATH_SHOWN 200 /* bytes */

enum errc reader_complain(struct reader *r, const char *what)
{
    const char *path = place_path(r->arena, r->path, r->depth);
    return ERR_AT(r->error, ERR_INPUT, r->name, place_line(r->bytes, r->n, r->path, r->depth),
                  "%.*s: %s", (int)utf8_prefix(path, PATH_SHOWN), path, what);
}

void reader_enter_key(struct reader *r, const char *key)
{
    r->path[r->depth++] = (struct place_step){key, 0};
}

void reader_enter_index(struct reader *r, size_t i)
{
    r->path[r->depth++] = (struct place_step){NULL, i};
}

void reader_leave(struct reader *r)
{
    r->depth--;
}

/* A member that is there and is not null, else NULL. */
json_t *reader_member(json_t *o, const char *key)
{
    json_t *v = json_object_get(o, key);
    return v == NULL || json_is_null(v) ? NULL : v;
}

/* ---- fields ---------------------------------------------------------------------------------- */

enum errc reader_number(struct reader *r, json_t *o, const char *key, double *out)
{
    json_t *v = reader_member(o, key);
    if (v == NULL) {
        const char *side = json_string_value(json_object_get(json_object_get(o, "open"), key));
        *out = PL_NAN;
        if (side != NULL && strcmp(side, "above") == 0)
            *out = PL_INF;
        else if (side != NULL && strcmp(side, "below") == 0)
            *out = -PL_INF;
        return ERR_NONE;
    }
    if (!json_is_number(v))
        return reader_complain(r, "a number or null is expected");
    *out = json_number_value(v);
    return ERR_NONE;
}

enum errc reader_text(struct reader *r, json_t *v, const char **out)
{
    *out = NULL;
    if (v == NULL || json_is_null(v))
        return ERR_NONE;
    if (!json_is_string(v))
        return reader_complain(r, "a text or null is expected");
    *out = arena_copy_n(r->arena, json_string_value(v), json_string_length(v));
    return ERR_NONE;
}

enum errc reader_integer(struct reader *r, json_t *v, long long low, long long high, long long *out)
{
    *out = 0;
    if (v == NULL)
        return ERR_NONE;
    if (!json_is_integer(v) || json_integer_value(v) < low || json_integer_value(v) > high)
        return reader_complain(r, low == 0 ? "a whole number from 0 on is expected"
                                           : "a whole number is expected");
    *out = json_integer_value(v);
    return ERR_NONE;
}

enum errc reader_bool(struct reader *r, json_t *v, bool *out)
{
    *out = false;
    if (v == NULL)
        return ERR_NONE;
    if (!json_is_boolean(v))
        return reader_complain(r, "true or false is expected");
    *out = json_is_true(v);
    return ERR_NONE;
}

enum errc reader_word(struct reader *r, json_t *v, enum field_type type, unsigned *out)
{
    const char *const *words = field_words(type);
    *out = 0;
    if (v == NULL)
        return ERR_NONE;
    struct text known;
    text_init(&known, r->arena);
    for (unsigned i = 0; words[i] != NULL; i++) {
        if (json_is_string(v) && strcmp(json_string_value(v), words[i]) == 0) {
            *out = i;
            return ERR_NONE;
        }
        text_addf(&known, "%s\"%s\"", i > 0 ? ", " : "", words[i]);
    }
    return reader_complain(r, arena_printf(r->arena, "one of %s is expected", known.s));
}

static enum errc get_origin(struct reader *r, json_t *v, char *out)
{
    const char *s = NULL;
    *out = '\0';
    TRY(reader_text(r, v, &s));
    if (s == NULL)
        return ERR_NONE;
    for (size_t i = 0; i < n_field_origins; i++)
        if (strcmp(s, field_origins[i].words) == 0)
            *out = field_origins[i].origin;
    if (*out != '\0')
        return ERR_NONE;
    return reader_complain(
        r, "\"common practice\", \"given\", \"our convention\", \"standard\" or null "
           "is expected");
}

/* The dimension with this canonical unit; DIM_N when there is none. */
static enum dimension dimension_of(const char *unit)
{
    if (unit == NULL)
        return DIM_TEXT;
    for (int d = DIM_COUNT; d < DIM_N; d++)
        if (strcmp(dimension_unit((enum dimension)d), unit) == 0)
            return (enum dimension)d;
    return DIM_N;
}

static enum errc get_unit(struct reader *r, json_t *v, const struct field *f, char *base)
{
    const char *unit = NULL;
    TRY(reader_text(r, v, &unit));
    enum dimension d = dimension_of(unit);
    if (f->type == FIELD_UNIT) {
        const char *override = d == DIM_N ? unit : NULL;
        memcpy(base + f->offset, &override, sizeof override);
        d = d == DIM_N ? DIM_COUNT : d;
    } else if (d == DIM_N) {
        return reader_complain(
            r, "this is not a unit of the record (s, mm, mm/s, MPa, kN, degC, ...)");
    }
    memcpy(base + (f->type == FIELD_UNIT ? f->other : f->offset), &d, sizeof d);
    return ERR_NONE;
}

static enum errc get_field(struct reader *r, json_t *o, const struct field *f, char *base)
{
    void *at = base + f->offset;
    json_t *v = reader_member(o, f->key);
    long long whole = 0;
    if (f->required && json_object_get(o, f->key) == NULL)
        return reader_complain(r, "this is missing");
    switch (f->type) {
    case FIELD_TEXT:
    case FIELD_FILE:
        if (f->required && v == NULL)
            return reader_complain(r, "a text is expected");
        return reader_text(r, v, at);
    case FIELD_NUMBER:
        return reader_number(r, o, f->key, at);
    case FIELD_SIZE:
        TRY(reader_integer(r, v, 0, LLONG_MAX, &whole));
        *(size_t *)at = (size_t)whole;
        return ERR_NONE;
    case FIELD_LONG:
        TRY(reader_integer(r, v, 0, LONG_MAX, &whole));
        *(long *)at = (long)whole;
        return ERR_NONE;
    case FIELD_INT:
        TRY(reader_integer(r, v, INT_MIN, INT_MAX, &whole));
        *(int *)at = (int)whole;
        return ERR_NONE;
    case FIELD_BOOL:
        return reader_bool(r, v, at);
    case FIELD_ORIGIN:
        return get_origin(r, v, at);
    case FIELD_DIMENSION:
    case FIELD_UNIT:
        return get_unit(r, v, f, base);
    case FIELD_VERDICT:
    case FIELD_FLAG_GRADE:
    case FIELD_BOUND_SIDE:
    case FIELD_BOUND_GRADE:
    case FIELD_FACT_KIND:
    case FIELD_OTHER_SHOTS:
        return reader_word(r, v, f->type, at);
    }
    return ERR_SET(r->error, ERR_INTERNAL, "unknown kind of field");
}

enum errc reader_item(struct reader *r, json_t *o, const struct field_table *t, void *item)
{
    if (!json_is_object(o))
        return reader_complain(r, "an object is expected");
    for (size_t i = 0; i < t->n; i++) {
        reader_enter_key(r, t->fields[i].key);
        TRY(get_field(r, o, &t->fields[i], item));
        reader_leave(r);
    }
    return ERR_NONE;
}

/* The array under a key; NULL (no elements) when it is missing or null. */
enum errc reader_elements(struct reader *r, json_t *o, const char *key, json_t **out)
{
    *out = reader_member(o, key);
    if (*out != NULL && !json_is_array(*out)) {
        reader_enter_key(r, key);
        return reader_complain(r, "an array is expected");
    }
    return ERR_NONE;
}

enum errc reader_array(struct reader *r, json_t *o, const char *key, const struct field_table *t,
                       void *items_pointer, size_t *n, reader_more_fn *more)
{
    json_t *array = NULL;
    TRY(reader_elements(r, o, key, &array));
    *n = json_array_size(array);
    char *items = arena_array(r->arena, *n, t->size);
    memcpy(items_pointer, &items, sizeof items);
    reader_enter_key(r, key);
    for (size_t i = 0; i < *n; i++) {
        json_t *v = json_array_get(array, i);
        reader_enter_index(r, i);
        TRY(reader_item(r, v, t, items + i * t->size));
        if (more != NULL)
            TRY(more(r, v, items + i * t->size));
        reader_leave(r);
    }
    reader_leave(r);
    return ERR_NONE;
}

enum errc reader_texts(struct reader *r, json_t *o, const char *key, const char ***out, size_t *n)
{
    json_t *array = NULL;
    TRY(reader_elements(r, o, key, &array));
    *n = json_array_size(array);
    *out = ARENA_ARRAY(r->arena, const char *, *n);
    reader_enter_key(r, key);
    for (size_t i = 0; i < *n; i++) {
        reader_enter_index(r, i);
        TRY(reader_text(r, json_array_get(array, i), &(*out)[i]));
        if ((*out)[i] == NULL)
            return reader_complain(r, "a text is expected");
        reader_leave(r);
    }
    reader_leave(r);
    return ERR_NONE;
}

enum errc reader_object(struct reader *r, json_t *o, const char *key, json_t **out)
{
    *out = reader_member(o, key);
    if (*out != NULL && !json_is_object(*out)) {
        reader_enter_key(r, key);
        return reader_complain(r, "an object is expected");
    }
    return ERR_NONE;
}
