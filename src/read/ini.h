/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * trial.ini: what its parts share. ini_keys.c holds the table of keys, ini_value.c reads a value
 * without knowing where it stands, ini.c knows the places.
 *
 * What the facts hold where a text stands for something:
 * - words (`pressure_basis`, [files]) in the spelling of the key's purpose: "melt", "semicolon",
 *   "Windows-1252";
 * - `equal_paths` as "1 3 ; 2 4": blanks inside a set, " ; " between sets;
 * - [columns], [units], [files], [studies] keys as "STUDY.COLUMN", "STUDY", "decimal" or
 *   "STUDY.decimal" with the names of the request;
 * - a [dimensions] text ends in ", not at ejection" where that was asked, whatever its letter case.
 */
#ifndef READ_INI_H
#define READ_INI_H

#include <string.h>

#include "plateau/read.h"

/* ---- keys ------------------------------------------------------------------------------------ */

struct ini_rule {
    const char *section, *key;
    const char
        *words; /* "point=.|comma=,": the words allowed, each with other spellings; or NULL */
    bool whole; /* a whole number */
};

/* NULL when the key has no rule. */
const struct ini_rule *ini_rule_find(const char *section, const char *key);
/* Names of studies and criteria that trials may have, read by this version or not. */
bool ini_is_study_word(const char *s);
bool ini_is_criterion_word(const char *s);
/* Equal but for ASCII letter case, blanks, `_` and `-`. */
bool ini_same_name(const char *a, const char *b);
/* The name's length, so that `[columns]` keys can be compared piecewise. */
bool ini_same_name_n(const char *a, size_t a_length, const char *b);

/* ---- values ---------------------------------------------------------------------------------- */

/* What is wrong with a value, in bytes from its start. */
struct ini_trouble {
    const char *code, *message, *expected, *remedy;
    size_t from, to;
};

struct ini_value {
    double low, high;        /* canonical; infinite where a limit is open; NAN where not given */
    double relative;         /* criteria: fraction, NAN when not given */
    enum dimension found;    /* of the unit: differs from the one asked for speeds only */
    const struct unit *unit; /* as typed; NULL for plain numbers */
    const char *text;        /* the value without a comment behind it */
    const char *note;        /* something was changed to read it, or NULL */
};

/* One value to read: the key's name and example for messages, the text, where strings go. */
struct ini_ask {
    struct arena *arena;
    const char *key, *example, *value;
};

/* All return false and fill `t` when the value cannot be read. Speeds may come in units of volume
 * rate or in %: `found` then tells, and the caller, who knows screw and press, converts. */
bool ini_read_quantity(const struct ini_ask *ask, enum dimension d, struct ini_value *out,
                       struct ini_trouble *t);
bool ini_read_range(const struct ini_ask *ask, enum dimension d, struct ini_value *out,
                    struct ini_trouble *t);
/* Limits of a characteristic, in any unit with a dimension. */
bool ini_read_limits(const struct ini_ask *ask, struct ini_value *out, struct ini_trouble *t);
bool ini_read_criterion(const struct ini_ask *ask, const struct criterion_spec *spec,
                        struct ini_value *out, struct ini_trouble *t);
/* "45 EUR/h": an amount per hour; *currency gets the word, "" when there is none. */
bool ini_read_rate(const struct ini_ask *ask, struct ini_value *out, const char **currency,
                   struct ini_trouble *t);
/* One of the rule's words, in its first spelling. */
bool ini_read_word(const struct ini_ask *ask, const struct ini_rule *rule, struct ini_value *out,
                   struct ini_trouble *t);
/* Sets of cavity numbers; `cavities` 0 when their number is not known. */
bool ini_read_paths(const struct ini_ask *ask, int cavities, struct ini_value *out,
                    struct ini_trouble *t);

/* The parts between `;`, trimmed, without quotes around them; empty parts are dropped. */
const char **ini_split_list(struct arena *a, const char *s, size_t *n);

/* ---- lines ----------------------------------------------------------------------------------- */

/* "key = value" with its place; columns in characters from 1, both ends included. */
struct ini_entry {
    const char *section; /* as ini_keys spells it */
    const char *key, *value;
    const char *source; /* the line, harmless */
    long line;
    int key_from, key_to, value_from, value_to;
    const char *raw; /* the line as it stands, to find columns inside the value */
    size_t value_at; /* byte in `raw` */
};

struct ini_entries {
    struct ini_entry *items;
    size_t n, capacity;
};

/* Cuts decoded text into entries. Lines that are none, and unknown sections, land in `diags`. */
void ini_read_lines(struct arena *a, const char *file, const char *text, size_t length,
                    struct ini_entries *out, struct diag_list *diags);
/* Column, in characters from 1, of the byte `at` of a line. */
int ini_column(const char *line, size_t at);

/* ---- facts ----------------------------------------------------------------------------------- */

/* The defaults of the criteria, for a trial without trial.ini. */
void ini_default_facts(struct arena *a, const struct read_request *request, struct facts *out);

/* "cavity-balance, gate-freeze": the studies of the request, for messages. */
const char *ini_study_list(struct arena *a, const struct read_request *request);
/* The study of that name (letter case, `_`, `-` and blanks do not count), or NULL. */
const struct study_input *ini_study_find(const struct read_request *request, const char *name,
                                         size_t length);

#endif
