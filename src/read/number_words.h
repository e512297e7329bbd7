/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The words that stand where a number should: missing readings, errors of a spreadsheet, months.
 */
#ifndef READ_NUMBER_WORDS_H
#define READ_NUMBER_WORDS_H

#include <stdbool.h>
#include <stddef.h>

/* Lists end in NULL; words in lower case. */
extern const char *const number_infinite_words[];
extern const char *const number_over_words[];

/* True when the n bytes are one of the words, ASCII letter case aside. */
bool number_word_find(const char *s, size_t n, const char *const *words);
/* 04.03.2026, 2026-03-04, 2-Jan, 04. März, Jan 02; with or without a time of day behind it. */
bool number_is_date(const char *s, size_t n);
/* Day (or whatever the number was) and month of a date of these two alone: 2-Jan, 04.Mrz. */
bool number_date_parts(const char *s, size_t n, int *day, int *month);
/* ~12, ca. 12 */
bool number_starts_approximate(const char *s, size_t n);

#endif
