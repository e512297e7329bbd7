/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads tests/faults/NAME.cases; what may stand there is told in tests/faults/README. */
#ifndef TESTS_FAULT_CASES_H
#define TESTS_FAULT_CASES_H

#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "plateau/base.h"

struct fault_file {
    const char *name;
    struct text bytes;
};

struct fault_told { /* a diagnostic, a repair or a left-out row that must be told */
    const char *line;
    const char *message, *expected, *mend;
};

struct fault_row {
    long line;
    const char *values; /* blank between them */
    char file;          /* 'b' for the second file of the study; 'a' */
};

struct fault_case {
    const char *name; /* "1 byte-order-mark" */
    const char *source;
    long line;
    const char *study;
    char outcome; /* A, N, R, T */
    struct text ini;
    struct fault_file files[5];
    size_t n_files;
    struct fault_told *told;
    size_t n_told, cap_told;
    const char **how;
    size_t n_how, cap_how;
    const char *columns;
    struct fault_row *rows;
    size_t n_rows, cap_rows;
};

struct fault_kind { /* a line of tests/faults/kinds */
    long number;
    const char *outcomes;
};

struct fault_cases {
    struct fault_kind *kinds;
    size_t n_kinds, cap_kinds;
    struct arena *arena;
    struct fault_case *items;
    size_t n, capacity;
};

/* ---- bytes ---------------------------------------------------------------------------------- */

static inline int fault_hex(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* Adds the text with \n \r \t \s \0 \\ and \xHH read; false behind \c: no line end. */
static inline bool fault_add_bytes(struct text *t, const char *s)
{
    for (; *s != '\0'; s++) {
        if (*s != '\\') {
            text_add_char(t, *s);
            continue;
        }
        s++;
        if (*s == 'c')
            return false;
        static const char letters[] = "nrts0", bytes[] = "\n\r\t \0";
        const char *letter = strchr(letters, *s);
        int value = *s != '\0' && letter != NULL ? bytes[letter - letters] : '\\';
        if (*s == 'x') {
            value = fault_hex(s[1]) * 16 + fault_hex(s[2]);
            s += 2;
        }
        char byte = (char)value;
        text_add_n(t, &byte, 1);
    }
    return true;
}

/* UTF-8 to UTF-16 for characters below U+10000. */
static inline void fault_code_utf16(struct text *t, bool little)
{
    struct text out;
    text_init(&out, t->arena);
    for (size_t i = 0; i < t->length;) {
        unsigned cp = 0;
        i += utf8_next(t->s + i, t->length - i, &cp);
        char high = (char)(cp >> 8), low = (char)(cp & 0xFF);
        char pair[2] = {little ? low : high, little ? high : low};
        text_add_n(&out, pair, 2);
    }
    *t = out;
}

/* ---- lines of a case ------------------------------------------------------------------------ */

static inline bool fault_word(const char *line, const char *word, const char **rest)
{
    size_t n = strlen(word);
    if (strncmp(line, word, n) != 0 || (line[n] != ' ' && line[n] != '\0'))
        return false;
    *rest = line + n + (line[n] == ' ');
    return true;
}

static inline struct fault_file *fault_file_of(struct fault_case *c, struct arena *a,
                                               const char *name)
{
    if (name == NULL && c->n_files > 0)
        return &c->files[c->n_files - 1];
    struct fault_file *f = &c->files[c->n_files++];
    f->name = name != NULL ? name : arena_printf(a, "%s.csv", c->study);
    text_init(&f->bytes, a);
    return f;
}

static inline void fault_repeat(struct text *t, const char *s)
{
    char *rest;
    long n = strtol(s, &rest, 10);
    for (long i = 0; i < n; i++)
        fault_add_bytes(t, rest + (*rest == ' '));
}

static inline void fault_take_row(struct fault_cases *all, struct fault_case *c, const char *s)
{
    char *rest;
    struct fault_row *r = ARENA_PUSH(all->arena, c->rows, c->n_rows, c->cap_rows);
    r->line = strtol(s, &rest, 10);
    r->file = *rest == 'b' ? *rest++ : 'a';
    r->values = rest + strspn(rest, " ");
}

/* False for a line that is none of ours. */
static inline bool fault_take_line(struct fault_cases *all, struct fault_case *c, const char *s)
{
    const char *rest;
    struct arena *a = all->arena;
    if (s[0] == '|') {
        struct fault_file *f = fault_file_of(c, a, NULL);
        if (fault_add_bytes(&f->bytes, s + 1))
            text_add_char(&f->bytes, '\n');
    } else if (fault_word(s, "study", &rest)) {
        c->study = rest;
    } else if (fault_word(s, "file", &rest)) {
        fault_file_of(c, a, rest);
    } else if (fault_word(s, "repeat", &rest)) {
        fault_repeat(&fault_file_of(c, a, NULL)->bytes, rest);
    } else if (fault_word(s, "coded", &rest)) {
        fault_code_utf16(&fault_file_of(c, a, NULL)->bytes, strcmp(rest, "UTF-16LE") == 0);
    } else if (fault_word(s, "ini", &rest)) {
        if (fault_add_bytes(&c->ini, rest))
            text_add_char(&c->ini, '\n');
    } else if (fault_word(s, "ini-repeat", &rest)) {
        fault_repeat(&c->ini, rest);
    } else if (fault_word(s, "outcome", &rest)) {
        c->outcome = rest[0];
    } else if (fault_word(s, "note", &rest) || fault_word(s, "error", &rest) ||
               fault_word(s, "warning", &rest) || fault_word(s, "out", &rest)) {
        ARENA_PUSH(a, c->told, c->n_told, c->cap_told)->line = s;
    } else if (fault_word(s, "  message", &rest) && c->n_told > 0) {
        c->told[c->n_told - 1].message = rest;
    } else if (fault_word(s, "  expected", &rest) && c->n_told > 0) {
        c->told[c->n_told - 1].expected = rest;
    } else if (fault_word(s, "  mend", &rest) && c->n_told > 0) {
        c->told[c->n_told - 1].mend = rest;
    } else if (fault_word(s, "how", &rest)) {
        *ARENA_PUSH(a, c->how, c->n_how, c->cap_how) = rest;
    } else if (fault_word(s, "columns", &rest)) {
        c->columns = rest;
    } else if (fault_word(s, "row", &rest)) {
        fault_take_row(all, c, rest);
    } else {
        return s[0] == '\0' || s[0] == '#';
    }
    return true;
}

/* N <tab> outcomes <tab> the kind in words */
static inline void fault_kinds_read(struct fault_cases *all, const char *path)
{
    FILE *f = fopen(path, "rb");
    char line[512];
    if (f == NULL)
        fail_msg("cannot open %s", path);
    while (f != NULL && fgets(line, sizeof line, f) != NULL) {
        char *rest;
        if (line[0] == '#')
            continue;
        struct fault_kind *k = ARENA_PUSH(all->arena, all->kinds, all->n_kinds, all->cap_kinds);
        k->number = strtol(line, &rest, 10);
        char *words = *rest == '\t' ? strchr(rest + 1, '\t') : NULL;
        if (k->number <= 0 || words == NULL || strlen(words) < 8)
            fail_msg("%s: no line of a kind: %s", path, line);
        k->outcomes = arena_copy_n(all->arena, rest + 1, (size_t)(words - rest) - 1);
    }
    if (f != NULL)
        fclose(f);
}

static inline void fault_cases_read(struct fault_cases *all, const char *path)
{
    FILE *f = fopen(path, "rb");
    char line[4096];
    const char *rest;
    struct fault_case *c = NULL;
    if (f == NULL)
        fail_msg("cannot open %s", path);
    for (long n = 1; f != NULL && fgets(line, sizeof line, f) != NULL; n++) {
        line[strcspn(line, "\r\n")] = '\0';
        const char *s = arena_copy(all->arena, line);
        if (fault_word(s, "case", &rest)) {
            c = ARENA_PUSH(all->arena, all->items, all->n, all->capacity);
            *c = (struct fault_case){
                .name = rest, .source = path, .line = n, .study = "gate-freeze"};
            text_init(&c->ini, all->arena);
        } else if (c == NULL ? s[0] != '\0' && s[0] != '#' : !fault_take_line(all, c, s)) {
            fail_msg("%s:%ld: no line of a case: %s", path, n, s);
        }
    }
    if (f != NULL)
        fclose(f);
}

#endif
