/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CLI_EXPLAIN_WORDS_H
#define CLI_EXPLAIN_WORDS_H

#include <stddef.h>

/* Words of the report that are no flag, key or column: criteria that have no key, settings,
 * verdicts, quantities. */
struct explain_word {
    const char *word, *kind, *meaning, *remedy;
};

const struct explain_word *explain_words(size_t *n);

#endif
