/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * fold: header names in the form in which they are compared.
 */
#ifndef READ_FOLD_H
#define READ_FOLD_H

#include "plateau/base.h"

/* Lower case, accents dropped, and without blanks, `_ - .` and invisible characters: "Hold time",
 * "hold_time" and "HOLD-TIME" are all "holdtime". */
char *fold_name(struct arena *a, const char *s, size_t length);

/* The same cut into words: runs of letters, runs of digits; all else only separates. Words come
 * with a blank between them, and `~` instead where a digit follows a letter directly: "cav. 12" is
 * "cav 12", "weight_c1" is "weight c~1". */
char *fold_words(struct arena *a, const char *s, size_t length);

/* One line for people and messages: line breaks and runs of blanks become one blank, invisible
 * characters go, ends are trimmed. */
char *fold_line(struct arena *a, const char *s, size_t length);

#endif
