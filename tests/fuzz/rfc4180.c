/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "rfc4180.h"

enum state { BEFORE, PLAIN, QUOTED, QUOTE_SEEN, AFTER, STATES };
enum letter { SEPARATOR, LINE_END, QUOTE, BLANK, OTHER, LETTERS };
/* What a letter does in a state: the next state, or these. */
enum { FIELD_ENDS = STATES, RECORD_ENDS, BROKEN };

static const int automaton[STATES][LETTERS] = {
    /*               separator   line end     quote       blank   other */
    [BEFORE] = {FIELD_ENDS, RECORD_ENDS, QUOTED, BEFORE, PLAIN},
    [PLAIN] = {FIELD_ENDS, RECORD_ENDS, BROKEN, PLAIN, PLAIN},
    [QUOTED] = {QUOTED, QUOTED, QUOTE_SEEN, QUOTED, QUOTED},
    [QUOTE_SEEN] = {FIELD_ENDS, RECORD_ENDS, QUOTED, AFTER, BROKEN},
    [AFTER] = {FIELD_ENDS, RECORD_ENDS, BROKEN, AFTER, BROKEN},
};

static enum letter letter_of(char c, char separator)
{
    if (c == separator)
        return SEPARATOR;
    switch (c) {
    case '\n':
    case '\r':
        return LINE_END;
    case '"':
        return QUOTE;
    case ' ':
    case '\t':
        return BLANK;
    default:
        return OTHER;
    }
}

static size_t behind_line_end(const char *s, size_t n, size_t i)
{
    if (i >= n)
        return n;
    return s[i] == '\r' && i + 1 < n && s[i + 1] == '\n' ? i + 2 : i + 1;
}

static void break_off(const char *s, size_t n, size_t from, struct rfc_record *out)
{
    size_t i = from;
    while (i < n && s[i] != '\n' && s[i] != '\r')
        i++;
    out->broken = true;
    out->n = 0;
    out->end = i;
    out->next = behind_line_end(s, n, i);
}

static void open_field(struct rfc_record *out, size_t at)
{
    out->fields[out->n] = (struct rfc_field){.from = at, .to = at};
}

void rfc_read(const char *s, size_t n, size_t from, char separator, struct rfc_record *out)
{
    enum state state = BEFORE;
    out->n = 0;
    out->broken = false;
    open_field(out, from);
    for (size_t i = from;; i++) {
        struct rfc_field *f = &out->fields[out->n];
        enum letter l = i < n ? letter_of(s[i], separator) : LINE_END;
        int next = i >= n && state == QUOTED ? (int)BROKEN : automaton[state][l];
        if (state == BEFORE && (next == PLAIN || next == QUOTED || next >= STATES)) {
            f->from = f->to = i;
            f->quoted = next == QUOTED;
        }
        if (next == BROKEN || (next >= STATES && out->n + 1 >= RFC_MOST_FIELDS)) {
            break_off(s, n, from, out);
            return;
        }
        if (next == RECORD_ENDS || next == FIELD_ENDS)
            out->n++;
        if (next == RECORD_ENDS) {
            out->end = i;
            out->next = behind_line_end(s, n, i);
            if (out->n == 1 && !out->fields[0].quoted && out->fields[0].from == out->fields[0].to)
                out->n = 0;
            return;
        }
        if (next == FIELD_ENDS) {
            open_field(out, i + 1);
            state = BEFORE;
            continue;
        }
        if (l != BLANK || next == QUOTED)
            f->to = i + 1;
        if (next == QUOTED && l == LINE_END)
            f->line_ends += s[i] == '\n' || i + 1 >= n || s[i + 1] != '\n';
        state = (enum state)next;
    }
}

size_t rfc_content(const char *s, const struct rfc_field *f, char *out)
{
    size_t n = 0;
    for (size_t i = f->from + f->quoted; i < f->to - f->quoted; i++) {
        out[n++] = s[i];
        i += f->quoted && s[i] == '"';
    }
    return n;
}
