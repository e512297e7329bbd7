/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What ini.c and ini_names.c share: the reader at one entry of trial.ini, its messages.
 */
#ifndef READ_INI_FACTS_H
#define READ_INI_FACTS_H

#include "ini.h"

struct ini_reader {
    struct arena *arena;
    const char *file;
    const struct read_request *request;
    struct facts *out;
    struct diag_list *diags;
    const struct ini_entry *entry;
};

/* Columns that every study takes beside its own. */
#define INI_COMMON_COLUMNS 6
extern const char *const ini_common_columns[INI_COMMON_COLUMNS];

void ini_value_trouble(struct ini_reader *r, const struct ini_trouble *t);
void ini_key_trouble(struct ini_reader *r, const char *code, const char *message,
                     const char *expected, const char *remedy);
void ini_whole_value_trouble(struct ini_reader *r, const char *code, const char *message,
                             const char *expected, const char *remedy);
/* "did you mean `x`?", or NULL when no word is near. */
const char *ini_did_you_mean(struct ini_reader *r, const char *name, const char *const *words,
                             size_t n);
const char *ini_word_list(struct arena *a, const char *const *words, size_t n);

struct ini_ask ini_ask_for(struct ini_reader *r, const char *key, const char *example);
void ini_add_text(struct ini_reader *r, const char *key, const char *text);
/* True, with a message, when the key stands in the section already. */
bool ini_is_duplicate(struct ini_reader *r, const char *key);

/* Entries of [studies], [files] with a study's name before the dot, [columns] and [units]. */
void ini_read_study_files(struct ini_reader *r);
void ini_read_study_dialect(struct ini_reader *r, const char *dot);
void ini_read_column_key(struct ini_reader *r, const char *dot);
/* A key of [approved] with a dot; false, with a message, where there is none of that name. */
bool ini_approved_key(struct ini_reader *r, const char *dot, struct ini_key *out);

#endif
