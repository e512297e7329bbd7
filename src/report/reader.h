/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: values out of a JSON tree, each checked, with a path to say where. After an
 * error the reader is of no further use. */
#ifndef REPORT_READER_H
#define REPORT_READER_H

#include <jansson.h>

#include "report/fields.h"
#include "report/place.h"

#define READER_DEPTH 16

struct reader {
    struct arena *arena;
    const char *name, *bytes; /* the record, for the line of an error */
    size_t n;
    struct error *error;
    struct place_step path[READER_DEPTH];
    size_t depth;
};

/* Fails at the place of the path. */
enum errc reader_complain(struct reader *r, const char *what);
void reader_enter_key(struct reader *r, const char *key);
void reader_enter_index(struct reader *r, size_t i);
void reader_leave(struct reader *r);

/* A member that is there and is not null, else NULL. */
json_t *reader_member(json_t *o, const char *key);
/* The array (the object) under a key; NULL, which counts as empty, when it is missing or null. */
enum errc reader_elements(struct reader *r, json_t *o, const char *key, json_t **out);
enum errc reader_object(struct reader *r, json_t *o, const char *key, json_t **out);

/* One value; what is missing or null is NAN (or infinite where the object's `open` says so), NULL,
 * 0, false, the first word. */
enum errc reader_number(struct reader *r, json_t *o, const char *key, double *out);
enum errc reader_text(struct reader *r, json_t *v, const char **out);
enum errc reader_integer(struct reader *r, json_t *v, long long low, long long high,
                         long long *out);
enum errc reader_bool(struct reader *r, json_t *v, bool *out);
enum errc reader_word(struct reader *r, json_t *v, enum field_type type, unsigned *out);

/* All fields of a table into a struct. */
enum errc reader_item(struct reader *r, json_t *o, const struct field_table *t, void *item);
/* An array of such structs into the pointer at `items_pointer`; `more` reads what the fields do not
 * say, or is NULL. */
typedef enum errc reader_more_fn(struct reader *r, json_t *o, void *item);
enum errc reader_array(struct reader *r, json_t *o, const char *key, const struct field_table *t,
                       void *items_pointer, size_t *n, reader_more_fn *more);
enum errc reader_texts(struct reader *r, json_t *o, const char *key, const char ***out, size_t *n);

#endif
