/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * trial.ini as lines: sections, keys, values, each with its place. What a key means is not known
 * here.
 */
#include "ini.h"
#include "text_decode.h"

/* No trial needs more; each key is compared with those before it. */
#define KEYS_MAX 4000

struct reader {
    struct arena *arena;
    const char *file;
    struct ini_entries *out;
    struct diag_list *diags;
    const char *section; /* NULL: before the first one */
    bool skip;           /* inside an unknown section */
    long line;
};

int ini_column(const char *line, size_t at)
{
    size_t length = strlen(line), byte = 0;
    int column = 1;
    while (byte < at && byte < length) {
        unsigned cp;
        size_t n = utf8_next(line + byte, length - byte, &cp);
        byte += n > 0 ? n : 1;
        column++;
    }
    return column;
}

static void complain(struct reader *r, const char *line, size_t from, size_t to, const char *code,
                     const char *column, const char *message, const char *expected,
                     const char *remedy)
{
    struct diag_place place = {
        .line = r->line,
        .column_from = ini_column(line, from),
        .column_to = ini_column(line, to > from ? to - 1 : from),
        .source = text_harmless(r->arena, line, strlen(line)),
    };
    struct diag d = {.severity = DIAG_ERROR,
                     .code = code,
                     .file = r->file,
                     .column = column,
                     .message = message,
                     .expected = expected,
                     .remedy = remedy};
    diag_add(r->diags, &d, &place);
}

/* Bytes of the blank at s: space, tab, no-break space; 0 when there is none. */
static size_t blank_at(const char *s)
{
    if (*s == ' ' || *s == '\t')
        return 1;
    return strncmp(s, "\xC2\xA0", 2) == 0 ? 2 : 0;
}

static size_t skip_blanks(const char *s, size_t at)
{
    for (size_t n = blank_at(s + at); n > 0; n = blank_at(s + at))
        at += n;
    return at;
}

static size_t trim_end(const char *s, size_t from, size_t to)
{
    for (;;) {
        if (to > from && blank_at(s + to - 1) == 1)
            to--;
        else if (to > from + 1 && blank_at(s + to - 2) == 2)
            to -= 2;
        else
            return to;
    }
}

/* The section names of the table of keys, each once. */
static size_t section_names(const char **names, size_t max)
{
    size_t n_keys, n = 0;
    const struct ini_key *keys = ini_keys(&n_keys);
    for (size_t i = 0; i < n_keys && n < max; i++)
        if (n == 0 || strcmp(names[n - 1], keys[i].section) != 0)
            names[n++] = keys[i].section;
    return n;
}

static void read_section(struct reader *r, const char *line, size_t from)
{
    const char *names[32];
    size_t n = section_names(names, PL_COUNT(names));
    size_t to = trim_end(line, from, strlen(line));
    r->section = NULL;
    r->skip = true;
    if (line[to - 1] != ']') {
        complain(r, line, from, to, "section-not-closed", NULL, "the section has no `]`",
                 "`[trial]`, nothing behind it", "put a `]` behind the section's name");
        return;
    }
    size_t name_from = skip_blanks(line, from + 1), name_to = trim_end(line, name_from, to - 1);
    if (name_to < name_from)
        name_to = name_from;
    const char *name = arena_copy_n(r->arena, line + name_from, name_to - name_from);
    for (size_t i = 0; i < n; i++)
        if (ini_same_name(names[i], name)) {
            r->section = names[i];
            r->skip = false;
            return;
        }
    struct text known;
    text_init(&known, r->arena);
    for (size_t i = 0; i < n; i++)
        text_addf(&known, "%s[%s]", i > 0 ? ", " : "", names[i]);
    const char *near = text_nearest(name, names, n);
    const char *shown = text_harmless(r->arena, name, strlen(name));
    complain(r, line, from, to, "unknown-section", shown,
             arena_printf(r->arena, "[%s] is not a section of trial.ini", shown), known.s,
             near != NULL ? arena_printf(r->arena, "did you mean [%s]?", near)
                          : "take the section out, or put its keys under one of these");
}

/* Where the key ends: at `=`, `>=`, `<=` or their one-character forms. `*value` gets the byte where
 * the value begins: for the comparisons that is the sign itself. */
static bool find_value(const char *line, size_t from, size_t *key_to, size_t *value)
{
    for (size_t i = from; line[i] != '\0'; i++) {
        bool sign = line[i] == '>' || line[i] == '<' || strncmp(line + i, "\xE2\x89\xA5", 3) == 0 ||
                    strncmp(line + i, "\xE2\x89\xA4", 3) == 0;
        if (line[i] != '=' && !sign)
            continue;
        *key_to = trim_end(line, from, i);
        *value = skip_blanks(line, sign ? i : i + 1);
        return true;
    }
    return false;
}

static void read_entry(struct reader *r, const char *line, size_t from)
{
    size_t end = trim_end(line, from, strlen(line)), key_to, value;
    if (!find_value(line, from, &key_to, &value)) {
        complain(r, line, from, end, "no-equals-sign", NULL, "this line has no `=`",
                 "`key = value`, `[section]`, or a comment that begins with `#` or `;`",
                 "a value stands on one line with its key; put `#` before a remark");
        return;
    }
    if (key_to == from) {
        complain(r, line, from, end, "no-key", NULL, "no key stands before the sign",
                 "`key = value`", "write the key before the sign");
        return;
    }
    if (r->section == NULL) {
        if (!r->skip)
            complain(r, line, from, key_to, "key-outside-section", NULL,
                     "this key stands before the first section", "a section such as `[press]`",
                     "put the section's name in brackets on a line above the key");
        return;
    }
    value = value > end ? end : value;
    struct ini_entry *e = ARENA_PUSH(r->arena, r->out->items, r->out->n, r->out->capacity);
    *e = (struct ini_entry){
        .section = r->section,
        .key = arena_copy_n(r->arena, line + from, key_to - from),
        .value = arena_copy_n(r->arena, line + value, end - value),
        .source = text_harmless(r->arena, line, strlen(line)),
        .line = r->line,
        .key_from = ini_column(line, from),
        .key_to = ini_column(line, key_to - 1),
        .value_from = ini_column(line, value),
        .value_to = ini_column(line, end > value ? end - 1 : value),
        .raw = line,
        .value_at = value,
    };
}

void ini_read_lines(struct arena *a, const char *file, const char *text, size_t length,
                    struct ini_entries *out, struct diag_list *diags)
{
    struct reader r = {.arena = a, .file = file, .out = out, .diags = diags};
    *out = (struct ini_entries){.n = 0};
    for (size_t at = 0, next; at < length; at = next) {
        size_t end = text_line_end(text, length, at, &next);
        r.line++;
        const char *line = arena_copy_n(a, text + at, end - at);
        size_t from = skip_blanks(line, 0);
        if (out->n == KEYS_MAX) {
            complain(&r, line, from, strlen(line), "too-many-keys", NULL,
                     arena_printf(a, "more than %d keys; the rest is not read", KEYS_MAX), NULL,
                     "is this the right file?");
            return;
        }
        if (line[from] == '[')
            read_section(&r, line, from);
        else if (line[from] != '\0' && line[from] != '#' && line[from] != ';')
            read_entry(&r, line, from);
    }
}
