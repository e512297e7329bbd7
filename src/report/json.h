/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Private to report: a JSON tree in an arena, printed with sorted keys and always the same bytes.
 */
#ifndef REPORT_JSON_H
#define REPORT_JSON_H

#include "plateau/base.h"

struct node;

struct node *node_new_object(struct arena *a);
struct node *node_new_array(struct arena *a);
/* A number as a value of its own; not finite gives null. */
struct node *node_new_number(struct arena *a, double v);
/* Members of an object; the key is copied. NULL text gives null. Text that is not UTF-8 has its
 * broken bytes spelled `\x9B`; control characters are escaped and come back as they were. */
void node_put_text(struct node *o, const char *key, const char *s);
void node_put_bool(struct node *o, const char *key, bool v);
void node_put_integer(struct node *o, const char *key, long long v);
/* At most 10 significant digits, as short as that allows. NAN gives null. Infinite gives null and
 * the member `open` of the object, which says for each such key "above" or "below". */
void node_put_number(struct node *o, const char *key, double v);
void node_put(struct node *o, const char *key, struct node *v);
/* Elements of an array. Infinite numbers are null here. */
void node_add_text(struct node *array, const char *s);
void node_add_integer(struct node *array, long long v);
void node_add_number(struct node *array, double v);
void node_add(struct node *array, struct node *v);

/* Prints with sorted keys; what fits stands on one line. No newline at the end. ERR_INTERNAL when
 * an object has one key twice. */
enum errc node_print(struct text *out, const struct node *v, struct error *e) PL_MUST_CHECK;

#endif
