/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A second tokenizer, written from RFC 4180 section 2 and nothing else of ours: records end with a
 * line end; fields may be enclosed in double quotes, then hold separators and line ends; a quote
 * inside is written twice; a field without enclosing quotes holds none. Beyond the RFC: LF and CR
 * end a line too, blanks and tabs around a field do not belong to it, another separator may stand
 * for the comma. One record at a time, by a table of states. */
#ifndef TESTS_RFC4180_H
#define TESTS_RFC4180_H

#include <stdbool.h>
#include <stddef.h>

#define RFC_MOST_FIELDS 600

struct rfc_field {
    size_t from, to; /* bytes of the text, quotes included, blanks around it not */
    bool quoted;
    size_t line_ends; /* inside the quotes */
};

struct rfc_record {
    struct rfc_field fields[RFC_MOST_FIELDS];
    size_t n;    /* 0: nothing but blanks */
    size_t end;  /* where the line end behind it begins */
    size_t next; /* where the next record begins */
    bool broken; /* not of the RFC; end and next are those of its first physical line */
};

/* The record at `from` of a text of n bytes. */
void rfc_read(const char *s, size_t n, size_t from, char separator, struct rfc_record *out);
/* What the field holds: quotes undone. Returns its length, at most that of the field. */
size_t rfc_content(const char *s, const struct rfc_field *f, char *out);

#endif
